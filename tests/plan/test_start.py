"""A search that begins from another plan's trays is no worse than they are, and finds again those it still can have."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from tests.plan.doubts import QUICK, told
from tests.plan.farms import NOW, day, farm, order, recipe
from tests.plan.test_beside import doubtful_farm, standing
from trayward.farm.orders import Part, Product
from trayward.farm.state import FarmState
from trayward.outlook.ahead import look_ahead
from trayward.plan.days import Days
from trayward.plan.make import make_plan
from trayward.plan.start import Leaves, SownSo, Start, start_from, start_of, takes_of
from trayward.plan.told import Told
from trayward.plan.under_doubt import weighed_again, weighed_with

LIVE = Product(name="live radish", parts=(Part(crop="radish"),), live=True, price=12.0, price_per="tray")


def mixed_farm(seed: int) -> FarmState:
    """Trays that stand, trays to be cut and live ones."""
    state = standing(doubtful_farm(seed), 3)
    state.products["live radish"] = LIVE
    live = order(9, 2, product="live radish", unit="trays", price=12.0, name="live")
    state.orders["live"] = live
    return state


def taken(made: Told, start: Start) -> list[np.ndarray]:
    return takes_of(start, made.decision.plots, made.ways.ways, made.futures, made.days)


@pytest.mark.parametrize("seed", range(4))
def test_a_decision_is_found_again_tray_by_tray(seed: int) -> None:
    made = told(mixed_farm(seed))
    for before, after in zip(made.decision.takes, taken(made, start_of(made)), strict=True):
        assert np.array_equal(before, after)
    assert weighed_with(made, start_of(made)).decision.cost == pytest.approx(made.decision.cost)


@pytest.mark.parametrize("seed", range(4))
def test_a_plan_as_it_was_told_is_found_again_by_recipe_and_day(seed: int) -> None:
    """How long a tray may stand is not told; the search finds that for itself."""
    state = mixed_farm(seed)
    plan = make_plan(state, look_ahead(state, NOW), NOW, weeks=3, effort=QUICK)
    made = told(state)
    sown: dict[tuple[str, int], float] = {}
    for plot, take in zip(made.decision.plots, taken(made, start_from(plan)), strict=True):
        for one in np.flatnonzero((take > 0) & (plot.choices.way >= 0)):
            key = plot.crop, int(plot.choices.sow[one])
            sown[key] = sown.get(key, 0.0) + float(take[one])
    wanted: dict[tuple[str, int], float] = {}
    for sowing in plan.sowings:
        key = sowing.crop, (sowing.sow_on - day(0)).days
        wanted[key] = wanted.get(key, 0.0) + sowing.trays
    assert sown == wanted


@pytest.mark.parametrize("seed", range(3))
def test_a_search_begun_from_a_plan_is_no_worse_than_it(seed: int) -> None:
    """Begun from nothing at all, the second search has far to go; the first is never given up for a worse one."""
    state = mixed_farm(seed)
    made = told(state)
    assert weighed_again(state, made, Start(), QUICK).decision.cost <= made.decision.cost + 1e-9
    again = make_plan(state, look_ahead(state, NOW), NOW, weeks=3, effort=QUICK, start=start_of(made))
    alone = make_plan(state, look_ahead(state, NOW), NOW, weeks=3, effort=QUICK)
    assert again.objective >= alone.objective - 0.01


def test_yesterdays_plan_serves_today() -> None:
    state, morrow = doubtful_farm(1), NOW + timedelta(days=1)
    yesterdays = make_plan(state, look_ahead(state, NOW), NOW, weeks=3, effort=QUICK)
    alone = make_plan(state, look_ahead(state, morrow), morrow, weeks=3, effort=QUICK)
    start = start_from(yesterdays)
    again = make_plan(state, look_ahead(state, morrow), morrow, weeks=3, effort=QUICK, start=start)
    assert again.objective >= alone.objective - 0.01


def test_every_tray_that_stands_is_in_some_choice_whatever_the_start_says() -> None:
    made = told(mixed_farm(2))
    for start in (Start(), Start(standing={"s.1": Leaves(how=0, on=day(40)), "nobody": Leaves(how=2, on=day(1))})):
        for plot, take in zip(made.decision.plots, taken(made, start), strict=True):
            assert [float(take[own].sum()) for _, own, _ in plot.groups] == [size for _, _, size in plot.groups]


def sown_days(start: Start, state: FarmState) -> list[int]:
    made = told(state)
    return sorted(
        int(plot.choices.sow[one])
        for plot, take in zip(made.decision.plots, taken(made, start), strict=True)
        for one in np.flatnonzero(take)
    )


def one_sowing(number: int, name: str = "radish") -> Start:
    leaves = Leaves(how=0, on=day(number + 5))
    return Start(sown=(SownSo(recipe=name, sow_on=day(number), trays=1, leaves=leaves),))


def test_what_cannot_be_sown_on_its_day_is_sown_a_day_earlier_or_later() -> None:
    wants = [order(number, 100.0) for number in (8, 9, 10, 11)]
    assert sown_days(one_sowing(4), farm(*wants, recipes=(recipe(window=2),))) == [4]
    moved = sown_days(one_sowing(4), farm(*wants, recipes=(recipe(window=2),), days_off=(day(4),)))
    assert len(moved) == 1
    assert abs(moved[0] - 4) == 1


@pytest.mark.parametrize("start", [one_sowing(-1), one_sowing(4, "kale"), one_sowing(19)], ids=["past", "gone", "late"])
def test_what_is_no_choice_any_more_is_left_out(start: Start) -> None:
    assert sown_days(start, farm(order(8, 100.0), order(9, 100.0), recipes=(recipe(window=2),))) == []


def test_no_more_trays_are_taken_over_than_anybody_could_want() -> None:
    many = Start(sown=(SownSo(recipe="radish", sow_on=day(3), trays=50, leaves=Leaves(how=0, on=day(8))),))
    state = farm(order(8, 250.0), recipes=(recipe(window=0, keeps=0),))
    made = told(state)
    for plot, take in zip(made.decision.plots, taken(made, many), strict=True):
        assert (take <= plot.choices.upper).all()
        assert take.sum() > 0
    assert isinstance(made.days, Days)
