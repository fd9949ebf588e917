"""Prices on what crops share, and where the search begins, against sums written out in full."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from tests.plan.plain_model import Farm, plain, random_farm, random_takes, with_highs
from trayward.plan import joint
from trayward.plan.crop_model import CropModel
from trayward.plan.days import Floats
from trayward.plan.joint import begin, few_scenarios
from trayward.plan.prices import charge_of, find_prices, over_cost, use_of

SAME = 1e-5


def _farm(seed: int = 0, **size: int) -> tuple[Farm, list[CropModel]]:
    farm = random_farm(np.random.default_rng(seed), **{"crops": 3, "scenarios": 4, "dues": 4, "choices": 6, **size})
    return farm, [CropModel(plot, asked, farm.disposal) for plot, asked in zip(farm.plots, farm.asked, strict=True)]


def _places(farm: Farm) -> list[tuple[int, int, int, int]]:
    """Place and number of each limit, scenario, day."""
    days = range(farm.shared.has.shape[1])
    return [
        (place, number, scenario, day)
        for place, number in enumerate(farm.shared.numbers)
        for scenario, day in itertools.product(range(farm.shared.scenarios), days)
    ]


def _price(farm: Farm) -> Floats:
    """Prices by chance, most of them none."""
    rng, shape = np.random.default_rng(9), (len(farm.shared.numbers), farm.shared.scenarios, farm.shared.has.shape[1])
    return np.where(rng.random(shape) < 0.3, rng.uniform(0, 1, shape), 0.0)


def test_use_charge_and_cost_beyond_are_sums_over_limits_scenarios_and_days() -> None:
    farm, models = _farm()
    takes, price = random_takes(np.random.default_rng(5), farm), _price(farm)
    used = sum(use_of(farm.shared, model, take) for model, take in zip(models, takes, strict=True))
    beyond = 0.0
    for place, number, scenario, day in _places(farm):
        by_hand = sum(
            plot.uses[number][one, scenario, day] * trays
            for plot, take in zip(farm.plots, takes, strict=True)
            for one, trays in enumerate(take)
        )
        assert used[place, scenario, day] == pytest.approx(by_hand)
        beyond += max(0.0, by_hand - farm.shared.has[place, day]) * farm.shared.beyond[place] / 4
    assert over_cost(farm.shared, used) == pytest.approx(beyond)
    for model, plot in zip(models, farm.plots, strict=True):
        charge = charge_of(farm.shared, model, price)
        for one in range(model.count):
            by_hand = sum(plot.uses[n][one, s, d] * price[place, s, d] for place, n, s, d in _places(farm))
            assert charge[one] == pytest.approx(by_hand)


@pytest.mark.parametrize("seed", range(6))
def test_prices_are_never_below_nothing_nor_above_what_going_beyond_costs(seed: int) -> None:
    farm, models = _farm(seed)
    price = find_prices(farm.shared, models, enough=0.0).price
    assert price.min() >= 0.0
    assert (price <= farm.shared.beyond[:, None, None] / farm.shared.scenarios + 1e-12).all()
    assert not price[:, :, ~np.isfinite(farm.shared.has).all(axis=0)][1].any(), "an endless limit has no price"


@pytest.mark.parametrize("seed", range(6))
def test_good_prices_prove_at_least_what_the_whole_problem_in_parts_of_trays_does(seed: int) -> None:
    """That is Lagrange's promise for linear models; rows of whole trays and branching prove more. Within 0.5 %."""
    farm, models = _farm(seed)
    in_parts, best = with_highs(plain(farm), whole=False).cost, with_highs(plain(farm)).cost
    priced = find_prices(farm.shared, models, enough=0.0)
    asked = sum(model.forgone for model in models)
    assert in_parts - 0.005 * asked <= priced.bound <= best + SAME


@pytest.mark.parametrize("seed", range(6))
def test_the_mean_of_the_answers_costs_no_less_than_parts_of_trays_can(seed: int) -> None:
    """Its cost counts service a little too dear, for the mean of two services is not the best for the mean."""
    farm, models = _farm(seed)
    priced = find_prices(farm.shared, models, enough=0.0)
    use = sum(use_of(farm.shared, model, take) for model, take in zip(models, priced.mixed, strict=True))
    trays = sum(float(m.plot.choices.cost @ take) for m, take in zip(models, priced.mixed, strict=True))
    assert priced.mixed_cost >= trays + float(over_cost(farm.shared, use)) - SAME
    for model, take in zip(models, priced.mixed, strict=True):
        assert (take <= model.plot.choices.upper + 1e-6).all()
        assert all(take[own].sum() == pytest.approx(size) for _, own, size in model.plot.groups)


def test_a_proof_that_is_good_enough_stops_there() -> None:
    farm, _ = _farm(2)
    rounds = [find_prices(farm.shared, _farm(2)[1], enough=enough).rounds for enough in (1e9, 0.0)]
    assert rounds[0] == 1
    assert rounds[1] > 5


def test_two_threads_prove_what_one_does() -> None:
    farm, models = _farm(3)
    one = find_prices(farm.shared, models, enough=0.0)
    two = find_prices(farm.shared, _farm(3)[1], enough=0.0, threads=lambda: 2)
    assert two.price == pytest.approx(one.price)
    assert two.bound == pytest.approx(one.bound, abs=1e-3)


def test_no_crops_cost_nothing() -> None:
    farm, _ = _farm()
    assert find_prices(farm.shared, [], enough=1.0).bound == 0.0


# Where the search begins ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_a_limit_has_a_price_only_where_it_is_used_up(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of all crops together, limits kept in the mean over scenarios (no spare here): a price goes with none left."""
    monkeypatch.setattr(joint, "SPARE_ROUNDS", 0)
    farm, models = _farm(seed)
    begun = begin(farm.shared, models)
    used = sum(use_of(farm.shared, model, part) for model, part in zip(models, begun.parts, strict=True)).mean(axis=1)
    priced, has = begun.price > 1e-6, farm.shared.has
    assert (used[priced] >= has[priced] - 1e-6).all()
    beyond = used > has + 1e-6
    assert begun.price[beyond] == pytest.approx(np.broadcast_to(farm.shared.beyond[:, None], has.shape)[beyond])


def test_the_spare_leaves_more_of_each_limit_free(monkeypatch: pytest.MonkeyPatch) -> None:
    farm, models = _farm(1, most=4)
    spare = begin(farm.shared, models)
    monkeypatch.setattr(joint, "SPARE_ROUNDS", 0)
    none = begin(farm.shared, models)
    over = [
        float(over_cost(farm.shared, sum(use_of(farm.shared, m, x) for m, x in zip(models, begun.parts, strict=True))))
        for begun in (spare, none)
    ]
    assert over[0] < over[1]


def test_few_scenarios_stand_for_light_middling_and_heavy_ones() -> None:
    """One from the middle of each part, from the lightest to the heaviest; of nine the second, fifth and eighth."""
    farm, _ = _farm(4, crops=1, scenarios=9)
    plot = farm.plots[0]
    grams = np.arange(9)[::-1, None] * np.ones(len(plot.choices.upper)) * 10.0
    zero = np.zeros_like(plot.choices.first)
    plot = plot._replace(choices=plot.choices._replace(grams=grams, first=zero, last=zero))
    assert few_scenarios(plot, 3).tolist() == [7, 4, 1]
    assert sorted(few_scenarios(plot, 20).tolist()) == list(range(9))
