"""The plan's parts against the whole problem, solved by others: two solvers, and by trying everything."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from tests.plan.plain_model import Farm, Plain, plain, random_farm, random_takes, with_highs, with_others
from trayward.plan.crop_model import CropModel
from trayward.plan.crop_search import CropWorth, rounded
from trayward.plan.days import Floats
from trayward.plan.farm_search import FarmSearch
from trayward.plan.joint import begin
from trayward.plan.plots import Plot
from trayward.plan.prices import find_prices
from trayward.plan.uses import CUT, LIVE

SAME = 1e-5
"""Two solvers that both call an answer best may differ by their own tolerances. [currency]"""


LOST = 0.04
"""The search may be so much dearer than the best plan served as well as can be; 0.022 as measured. [-]"""


def _models(farm: Farm) -> list[CropModel]:
    return [CropModel(plot, asked, farm.disposal) for plot, asked in zip(farm.plots, farm.asked, strict=True)]


def _searched(farm: Farm) -> FarmSearch:
    models = _models(farm)
    starts = [rounded(model, part) for model, part in zip(models, begin(farm.shared, models).parts, strict=True)]
    search = FarmSearch(farm.shared, [CropWorth(model) for model in models], starts)
    search.run(lambda: False)
    return search


# Two solvers ----------------------------------------------------------------------------------------------------------


def _plain_farms(**size: int) -> list[Plain]:
    return [plain(random_farm(np.random.default_rng(seed), **size)) for seed in range(8)]


def test_another_modelling_library_and_solver_find_the_same_best() -> None:
    """HiGHS by its own arrays beside SCIP by OR-tools' modelling, on the same eight farms in the plain form."""
    models = _plain_farms(crops=3, scenarios=4, dues=4, choices=6)
    theirs = with_others("scip", models)
    assert [one.status for one in theirs] == ["optimal"] * 8
    assert [one.cost for one in theirs] == pytest.approx([with_highs(model).cost for model in models], abs=SAME)


def test_they_agree_without_whole_numbers_too() -> None:
    """GLOP beside HiGHS; parts of trays are never dearer."""
    models = _plain_farms(crops=3, scenarios=4, dues=4, choices=6)
    parts = [with_highs(model, whole=False).cost for model in models]
    assert [one.cost for one in with_others("glop", models)] == pytest.approx(parts, abs=SAME)
    assert all(part <= with_highs(model).cost + SAME for part, model in zip(parts, models, strict=True))


def test_a_solver_of_whole_numbers_alone_comes_as_near_as_its_grain_lets_it() -> None:
    """CP-SAT counts grams in tens here, as all figures of these farms are; money to a hundredth of a cent a column."""
    models = _plain_farms(scenarios=2)
    theirs = with_others("cp_sat", models, grain=10.0)
    assert [one.status for one in theirs] == ["optimal"] * 8
    assert [one.cost for one in theirs] == pytest.approx([with_highs(model).cost for model in models], abs=0.05)


# Trying everything ----------------------------------------------------------------------------------------------------


def _all_takes(plot: Plot) -> list[Floats]:
    choices = plot.choices
    lots = plot.seed.lots if plot.seed is not None else []
    found = []
    for trays in itertools.product(*(range(int(upper) + 1) for upper in choices.upper)):
        take = np.array(trays, dtype=float)
        groups = all(take[own].sum() == size for _, own, size in plot.groups)
        seed = all(
            (take * choices.seed_g)[choices.sow <= day].sum() <= sum(lot.left_g for lot in lots if lot.day <= day)
            for day in choices.sow
        )
        if groups and seed:
            found.append(take)
    return found


def _own_cost(farm: Farm, number: int, take: Floats) -> float:
    """What trays of one crop cost and let down. All cut grams are worth the same, so what spoils first goes first."""
    plot, asked, total = farm.plots[number], farm.asked[number], 0.0
    for scenario in range(farm.shared.scenarios):
        total += _let_down(plot, asked.amount[scenario], asked.worth, asked.due, asked.live, take, scenario, farm)
    return float(plot.choices.cost @ take) + total / farm.shared.scenarios


def _let_down(
    plot: Plot, amount: Floats, worth: Floats, due: Floats, live: Floats, take: Floats, scenario: int, farm: Farm
) -> float:
    choices, cost = plot.choices, 0.0
    lots = [[0, sum(day <= item.last for day in plot.demand.days) - 1, item.grams] for item in plot.stock]
    lots += [
        [int(choices.first[scenario, one]), int(choices.last[scenario, one]), choices.grams[scenario, one] * take[one]]
        for one in np.flatnonzero(choices.how == CUT)
    ]
    lots = sorted((one for one in lots if one[0] <= one[1]), key=lambda one: one[1])
    for number in range(len(plot.demand.days)):
        own = np.flatnonzero((live == 0) & (due == number))
        open_ = float(amount[own].sum())
        for one in lots:
            if one[0] <= number <= one[1]:
                part = min(open_, one[2])
                open_, one[2] = open_ - part, one[2] - part
        cost += open_ * float(worth[own[0]])
    cost += farm.disposal * sum(one[2] for one in lots)
    for want in np.flatnonzero(live == 1):
        there = sum(
            take[one] * choices.grams[scenario, one]
            for one in np.flatnonzero((choices.how == LIVE) & (choices.due == due[want]))
        )
        cost += max(0.0, float(amount[want]) - there) * float(worth[want])
    return cost


def _over(farm: Farm, takes: tuple[Floats, ...]) -> float:
    shared, total = farm.shared, 0.0
    for place, number in enumerate(shared.numbers):
        for scenario, day in itertools.product(range(shared.scenarios), range(shared.has.shape[1])):
            used = sum(
                float(plot.uses[number][:, scenario, day] @ take) for plot, take in zip(farm.plots, takes, strict=True)
            )
            total += max(0.0, used - float(shared.has[place, day])) * float(shared.beyond[place])
    return total / shared.scenarios


@pytest.mark.parametrize("seed", range(8))
def test_trying_every_whole_tray_finds_no_better_plan_than_the_plain_form_says_and_the_bound_holds(seed: int) -> None:
    """Served by hand, day after day, what spoils first going first: best of all where all grams are worth the same."""
    farm = random_farm(np.random.default_rng(seed), choices=4, scenarios=2, most=1, tiers=1)
    each = [
        [(take, _own_cost(farm, number, take)) for take in _all_takes(plot)] for number, plot in enumerate(farm.plots)
    ]
    best = min(
        sum(cost for _, cost in pick) + _over(farm, tuple(take for take, _ in pick))
        for pick in itertools.product(*each)
    )
    assert with_highs(plain(farm)).cost == pytest.approx(best, abs=SAME)
    assert find_prices(farm.shared, _models(farm), enough=0.0).bound <= best + SAME
    assert _searched(farm).cost() >= best - SAME


# The bound and the search ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(12))
def test_no_plan_costs_less_than_the_bound_whenever_the_proof_stops(seed: int) -> None:
    """Cut short after so many looks at the clock, from none to many; beside the best plan and 20 plans by chance."""
    rng = np.random.default_rng(seed)
    farm = random_farm(rng, crops=3, scenarios=4, dues=4, choices=6, tiers=1 + seed % 3)
    best = with_highs(plain(farm)).cost
    for patience in (0, 2, 10, 10_000):
        looks = itertools.count()
        priced = find_prices(farm.shared, _models(farm), enough=0.0, late=lambda n=patience, c=looks: next(c) >= n)
        assert priced.bound <= best + SAME
    for _ in range(20):
        assert with_highs(plain(farm, fixed=random_takes(rng, farm)), whole=False).cost >= priced.bound - SAME


@pytest.mark.parametrize("seed", range(8))
def test_where_no_limit_binds_the_proof_ends_at_the_best_plan_itself(seed: int) -> None:
    """Each crop is then alone, and branching leaves nothing open; due days served in the order they are cut."""
    farm = random_farm(np.random.default_rng(seed), crops=2, scenarios=3, choices=5)
    farm = farm._replace(
        shared=farm.shared._replace(has=np.full(farm.shared.has.shape, 1e6)),
        plots=[_in_turn(plot) for plot in farm.plots],
    )
    best = with_highs(plain(farm)).cost
    assert find_prices(farm.shared, _models(farm), enough=1e-9, known=lambda: best).bound == pytest.approx(
        best, abs=1e-3
    )


def _in_turn(plot: Plot) -> Plot:
    """Every tray keeps for one due day beyond its first, so that none spoils before one that was cut sooner."""
    choices = plot.choices
    serves = choices.first <= choices.last
    last = np.where(serves, np.minimum(choices.first + 1, len(plot.demand.days) - 1), choices.first - 1)
    return plot._replace(choices=choices._replace(last=last), stock=[])


def test_the_search_comes_near_the_best_on_farms_of_any_kind() -> None:
    """Over 24 farms without sense, as a share of all that is asked for; what serving by a rule loses included."""
    lost, asked = [], []
    for seed in range(24):
        farm = random_farm(np.random.default_rng(seed), crops=3, scenarios=4, dues=4, choices=6)
        lost.append(_searched(farm).cost() - with_highs(plain(farm)).cost)
        asked.append(sum(float((one.amount * one.worth).sum(axis=1).mean()) for one in farm.asked))
    assert min(lost) >= -SAME
    assert sum(lost) / sum(asked) < LOST
