"""Mixes of the crops' answers, against the same mix written out scenario by scenario, and a proof beside a search."""

from __future__ import annotations

import numpy as np
import pytest

from tests.plan.plain_model import Farm, plain, random_farm, random_takes, with_highs
from trayward.plan.crop_model import Answered, CropModel
from trayward.plan.crop_search import CropWorth, rounded
from trayward.plan.days import Floats
from trayward.plan.farm_search import FarmSearch
from trayward.plan.joint import begin
from trayward.plan.mixing import Column, Mixing
from trayward.plan.model import Model, RowName
from trayward.plan.prices import charge_of, find_prices, spread, use_of, use_of_all
from trayward.plan.proof import Proof
from trayward.plan.solve import solve

SAME = 1e-5
NEAR = 0.03
"""Tangents leave each limit and day open to a tenth of a cent; a farm has up to some twenty. [currency]"""


def _farm(seed: int) -> tuple[Farm, list[CropModel]]:
    farm = random_farm(np.random.default_rng(seed), crops=3, scenarios=4, dues=4, choices=6)
    models = [CropModel(plot, asked, farm.disposal) for plot, asked in zip(farm.plots, farm.asked, strict=True)]
    return farm, models


def _columns(farm: Farm, models: list[CropModel], rng: np.random.Generator, often: int = 5) -> list[Column]:
    found = []
    for takes in (random_takes(rng, farm) for _ in range(often)):
        for number, (model, take) in enumerate(zip(models, takes, strict=True)):
            cost = model.forgone - CropWorth(model).of(take) + float(model.plot.choices.cost @ take)
            found.append(Column(number, take, cost, use_of(farm.shared, model, take)))
    return found


def _mixing(farm: Farm, columns: list[Column]) -> Mixing:
    shared = farm.shared
    mixing = Mixing(shared.has, shared.beyond / shared.scenarios, len(farm.plots), shared.scenarios)
    half = len(columns) // 2 // len(farm.plots) * len(farm.plots)
    mixing.add(columns[:half])
    mixing.best()
    mixing.add(columns[half:])
    return mixing


def _written_out(farm: Farm, columns: list[Column]) -> float:
    """The cheapest mix with a column for what is gone beyond each limit in each scenario on each day."""
    shared, model, crops = farm.shared, Model(), len(farm.plots)
    part = model.add_columns(np.array([column.cost for column in columns]), 0.0, np.inf)
    one = model.add_rows(np.ones(crops), np.ones(crops), [RowName("mix", "", 0)] * crops)
    model.add_entries(one[[column.crop for column in columns]], part, 1.0)
    for place, scenario, day in np.ndindex(*columns[0].use.shape):
        if np.isfinite(shared.has[place, day]):
            has = np.array([shared.has[place, day]])
            row = model.add_rows(np.array([-np.inf]), has, [RowName("limit", str(place), day)])
            over = model.add_columns(np.array([shared.beyond[place] / shared.scenarios]), 0.0, np.inf)
            model.add_entries(row, over, -1.0)
            model.add_entries(row[0], part, np.array([column.use[place, scenario, day] for column in columns]))
    return solve(model).cost


@pytest.mark.parametrize("seed", range(6))
def test_the_best_mix_costs_what_it_does_written_out_scenario_by_scenario(seed: int) -> None:
    farm, models = _farm(seed)
    columns = _columns(farm, models, np.random.default_rng(700 + seed))
    mixed = _mixing(farm, columns).best()
    assert mixed.cost == pytest.approx(_written_out(farm, columns), abs=NEAR)
    for take, model in zip(mixed.takes, models, strict=True):
        assert all(take[own].sum() == pytest.approx(size) for _, own, size in model.plot.groups)


@pytest.mark.parametrize("seed", range(6))
def test_at_the_prices_of_the_best_mix_no_answer_is_cheaper_than_those_in_it(seed: int) -> None:
    """Lagrange's promise for linear models: the cheapest answers at its prices, less what limits are paid, cost it."""
    farm, models = _farm(seed)
    columns = _columns(farm, models, np.random.default_rng(700 + seed))
    mixed = _mixing(farm, columns).best()
    costs = [column.cost + float((mixed.price * column.use).sum()) for column in columns]
    cheapest = [min(costs[crop :: len(models)]) for crop in range(len(models))]
    has = np.where(np.isfinite(farm.shared.has), farm.shared.has, 0.0)[:, None, :]
    assert sum(cheapest) - float((mixed.price * has).sum()) == pytest.approx(mixed.cost, abs=NEAR)


@pytest.mark.parametrize("seed", range(2))
def test_a_known_plan_makes_the_mix_no_dearer_than_itself_and_leaves_the_bound_true(seed: int) -> None:
    farm, models = _farm(seed)
    search = _search(farm, models)
    own = [
        m.forgone - brought + float(m.plot.choices.cost @ take)
        for m, brought, take in zip(models, search.brings, search.takes, strict=True)
    ]
    plan = [Answered(take, cost) for take, cost in zip(search.takes, own, strict=True)]
    priced = find_prices(farm.shared, models, enough=0.0, plan=plan)
    assert priced.mixed_cost <= search.cost() + NEAR
    assert priced.bound <= with_highs(plain(farm)).cost + SAME


# Prices to begin with -------------------------------------------------------------------------------------------------


def test_a_day_s_price_is_laid_on_the_scenarios_in_which_most_is_taken_up() -> None:
    """Worth half of what going beyond costs: the fuller half of the scenarios pay, and together they pay just that."""
    farm, models = _farm(2)
    use = use_of_all(farm.shared, models, random_takes(np.random.default_rng(5), farm))
    price = np.repeat(0.5 * farm.shared.beyond[:, None], farm.shared.has.shape[1], axis=1)
    laid = spread(farm.shared, price, use)
    assert laid.sum(axis=1) == pytest.approx(price)
    paying = laid > 0
    assert (paying.sum(axis=1) == farm.shared.scenarios // 2).all()
    least, most = np.where(paying, use, np.inf).min(axis=1), np.where(paying, -np.inf, use).max(axis=1)
    assert (least >= most).all()


def test_no_day_s_price_is_laid_on_higher_than_going_beyond_costs() -> None:
    farm, models = _farm(2)
    use = use_of_all(farm.shared, models, random_takes(np.random.default_rng(5), farm))
    laid = spread(farm.shared, np.full(farm.shared.has.shape, 1e9), use)
    assert laid == pytest.approx(np.broadcast_to(farm.shared.beyond[:, None, None] / farm.shared.scenarios, use.shape))
    assert (charge_of(farm.shared, models[0], laid) >= 0.0).all()


def test_where_no_tray_is_worth_anything_nothing_is_laid_on() -> None:
    """A farm on which every day is off: without a warning of numbers that are none."""
    farm, models = _farm(2)
    nothing = farm.shared._replace(beyond=np.zeros_like(farm.shared.beyond))
    use = use_of_all(farm.shared, models, random_takes(np.random.default_rng(5), farm))
    assert (spread(nothing, np.zeros(farm.shared.has.shape), use) == 0.0).all()


# Beside the search ----------------------------------------------------------------------------------------------------


def _search(farm: Farm, models: list[CropModel]) -> FarmSearch:
    starts = [rounded(model, part) for model, part in zip(models, begin(farm.shared, models).parts, strict=True)]
    return FarmSearch(farm.shared, [CropWorth(model) for model in models], starts)


def _proof(farm: Farm, search: FarmSearch, *, late: bool) -> Proof:
    price: Floats = np.zeros(farm.shared.has.shape)
    return Proof(search, farm.plots, farm.asked, farm.disposal, price, 0.0, lambda: late)


@pytest.mark.parametrize("seed", range(2))
def test_a_proof_beside_the_search_leaves_the_plan_alone_and_no_plan_below_its_bound(seed: int) -> None:
    farm, models = _farm(seed)
    alone, beside = _search(farm, models), _search(farm, models)
    alone.settle(lambda: False)
    with _proof(farm, beside, late=seed % 2 == 0) as proof:
        beside.settle(lambda: False)
    bound = proof.of(beside.cost())
    assert [take.tolist() for take in beside.takes] == [take.tolist() for take in alone.takes]
    assert bound <= with_highs(plain(farm)).cost + SAME


def test_a_search_that_fails_ends_its_proof() -> None:
    farm, models = _farm(1)
    proof = _proof(farm, _search(farm, models), late=False)
    with pytest.raises(KeyError, match="search"), proof:
        raise KeyError("search")
    assert proof._bound.done()
