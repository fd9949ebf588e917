"""Served as well as can be: what the plain form of the whole problem says of the same trays, and never less."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from tests.plan.plain_model import Farm, mixed_farm, plain, random_farm, with_highs
from trayward.plan.best_served import best_brought, cost_best_served
from trayward.plan.crop_model import CropModel
from trayward.plan.crop_search import CropWorth, rounded
from trayward.plan.farm_search import FarmSearch
from trayward.plan.joint import begin, few_scenarios
from trayward.plan.prices import find_prices, over_cost

SAME = 1e-5


def _found(farm: Farm) -> FarmSearch:
    """Trays as the search finds them; its models hold two scenarios only."""
    both = zip(farm.plots, farm.asked, strict=True)
    models = [CropModel(plot, asked, farm.disposal, few_scenarios(plot, 2)) for plot, asked in both]
    starts = [rounded(model, part) for model, part in zip(models, begin(farm.shared, models).parts, strict=True)]
    search = FarmSearch(farm.shared, [CropWorth(model) for model in models], starts)
    search.settle(lambda: False)
    return search


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("made", [mixed_farm, random_farm])
def test_trays_served_best_cost_what_the_whole_problem_says_and_never_more_than_by_the_rule(
    made: Callable[[np.random.Generator], Farm], seed: int
) -> None:
    farm = made(np.random.default_rng(seed))
    search = _found(farm)
    assert any(take.any() for take in search.takes)
    best = cost_best_served(search)
    whole = with_highs(plain(farm, fixed=search.takes), whole=False).cost
    # Limits in the mean are the search's alone: both are counted without.
    over = float(over_cost(search.shared, search.use))
    assert best - search.taken.cost() == pytest.approx(whole - over, abs=SAME)
    assert best <= search.cost() + SAME
    models = [CropModel(plot, asked, farm.disposal) for plot, asked in zip(farm.plots, farm.asked, strict=True)]
    assert find_prices(farm.shared, models, enough=0.0).bound <= best + SAME


def test_somewhere_the_rule_costs_something() -> None:
    """Who follows a rule serves today's order with crop that tomorrow's would have paid more for."""
    searches = [_found(mixed_farm(np.random.default_rng(seed))) for seed in range(4)]
    assert max(search.cost() - cost_best_served(search) for search in searches) > 0.001


def test_no_crop_brings_nothing() -> None:
    assert best_brought([], []) == 0.0
