"""Today's and tomorrow's sowings stay as they were planned, unless a change is worth more than the farm says."""

from __future__ import annotations

from datetime import date, timedelta

import msgspec
import pytest

from tests.plan.doubts import QUICK, certain, doubtful, set_farm, told
from tests.plan.farms import NOW, day, farm, lot, order, recipe, trays
from tests.plan.test_rules import some_farm
from trayward.farm.state import FarmState
from trayward.plan.types import Plan, PlannedSowing


def keep(state: FarmState, made: Plan) -> FarmState:
    """The farm with a plan kept, as the book would keep it."""
    state.last_plan = msgspec.json.encode(made)
    return state


def soon(made: Plan, days: int = 2) -> dict[tuple[str, date], int]:
    """What is sown on the first days of the plans here."""
    return {(one.recipe, one.sow_on): one.trays for one in made.sowings if one.sow_on < day(days)}


def kept_sowing(made: Plan, sow: int, count: int, name: str = "radish") -> Plan:
    """A plan that was kept with so many trays on a day and nothing else."""
    sown = PlannedSowing(sow_on=day(sow), crop=name, recipe=name, trays=count, seed_g=10.0 * count, cut_on=day(sow + 5),
                         grams_expected=100.0 * count)  # fmt: skip
    return msgspec.structs.replace(made, sowings=(sown,))


@pytest.mark.parametrize("seed", range(8))
def test_a_small_change_of_a_far_order_changes_today_and_tomorrow_only_for_what_it_is_worth(seed: int) -> None:
    """Nothing, that is; or so much that no plan which keeps them comes as near, by 1.00 for each tray changed."""
    before = doubtful(some_farm(seed))
    state = keep(some_farm(seed), before)
    state.orders["far"] = order(20, 120, price=0.05, name="far", customer="Tin Spoon")
    after = doubtful(state)
    first, then = soon(before), soon(after)
    changed = sum(abs(first.get(key, 0) - then.get(key, 0)) for key in first.keys() | then.keys())
    if changed:
        free = told(state).decision.cost
        held = told(set_farm(state, calm=1e6)).decision.cost
        assert held - free >= 1.0 * changed - 1e-6


def test_far_orders_hardly_ever_touch_today() -> None:
    """The same farms and more: today and tomorrow stay as they were on nearly all of them."""
    alike = 0
    for seed in range(12):
        before = doubtful(some_farm(seed))
        state = keep(some_farm(seed), before)
        state.orders["far"] = order(20, 120, price=0.05, name="far", customer="Tin Spoon")
        alike += soon(doubtful(state)) == soon(before)
    assert alike >= 10


def test_without_calm_the_plan_made_before_weighs_nothing() -> None:
    """Two days are as good as one another; the one the plan kept is taken, unless the farm has no calm."""
    state = farm(order(8, 100), recipes=(recipe(window=0, keeps=3),))
    free = certain(state)
    chosen = {one.sow_on for one in free.sowings}
    other = next(number for number in (0, 1) if day(number) not in chosen)
    calm = certain(keep(state, kept_sowing(free, other, 1)))
    assert {one.sow_on for one in calm.sowings} == {day(other)}
    assert {one.sow_on for one in certain(set_farm(state, calm=0.0)).sowings} == chosen


def test_a_tray_too_many_is_kept_where_leaving_it_out_gains_less_than_the_farms_price() -> None:
    """A tray of radish costs 0.10 of seed and nothing else: nobody changes today's work for that."""
    state = farm(order(5, 100), recipes=(recipe(window=0, keeps=0),))
    free = certain(state)
    assert trays(certain(keep(state, kept_sowing(free, 0, 1)))) == 1
    spare = farm(order(5, 100), order(6, 100), recipes=(recipe(window=1, keeps=1, medium=0.4),))
    kept = kept_sowing(certain(spare), 0, 3)
    assert trays(certain(keep(spare, kept))) >= 2


def test_a_gain_worth_more_than_the_price_changes_today() -> None:
    """Kept: three trays that cost 2.10 each for an order of one. With a price of 1.00 a tray the two too many go."""
    state = farm(order(5, 100), recipes=(recipe(window=0, keeps=0, medium=2.0),))
    kept = keep(state, kept_sowing(certain(state), 0, 3))
    assert trays(certain(kept)) == 1
    assert trays(certain(set_farm(kept, calm=50.0))) == 3


def test_a_plan_before_that_there_is_no_room_for_is_changed_though_the_search_is_out_of_time() -> None:
    """Kept: three trays for an order of one; there is one dark spot now, and a search that has no time at all."""
    free = certain(farm(order(5, 100)))
    crowded = keep(farm(order(5, 100), dark=1), kept_sowing(free, 0, 3))
    hurried = certain(crowded, effort=msgspec.structs.replace(QUICK, search_seconds=0.0))
    assert soon(hurried) == {("radish", day(0)): 1}


def test_a_dear_change_is_left_undone_and_a_cheap_one_made() -> None:
    """Kept: nothing today; an order that wants a tray sown today brings 10 less 0.10."""
    state = farm(order(5, 100), recipes=(recipe(window=0, keeps=0),))
    nothing = msgspec.structs.replace(certain(state), sowings=())
    assert trays(certain(keep(set_farm(state, calm=1.0), nothing))) == 1
    assert trays(certain(keep(set_farm(state, calm=50.0), nothing))) == 0


def test_a_plan_of_last_week_binds_nobody() -> None:
    state = farm(order(8, 100), recipes=(recipe(window=0, keeps=3),))
    free = certain(state)
    old = msgspec.structs.replace(kept_sowing(free, 1, 1), first=day(-7), last=day(14), made_at=NOW - timedelta(days=7))
    assert {one.sow_on for one in certain(keep(state, old)).sowings} == {one.sow_on for one in free.sowings}


def test_yesterdays_plan_binds_what_it_said_of_today_and_tomorrow_only() -> None:
    """Planned yesterday: a tray today and three on Wednesday. Today's is kept, Wednesday's is weighed anew."""
    state = farm(order(8, 100), recipes=(recipe(window=0, keeps=3),))
    free = certain(state)
    yesterday = msgspec.structs.replace(
        kept_sowing(free, 0, 1), first=day(-1), last=day(19), made_at=NOW - timedelta(days=1)
    )
    wednesday = msgspec.structs.replace(yesterday.sowings[0], sow_on=day(2), trays=3, cut_on=day(7))
    both = msgspec.structs.replace(yesterday, sowings=(*yesterday.sowings, wednesday))
    after = certain(keep(state, both))
    assert [(one.sow_on, one.trays) for one in after.sowings] == [(day(0), 1)]


def test_what_changed_is_told() -> None:
    state = farm(order(5, 100), recipes=(recipe(window=0, keeps=0),))
    before = certain(state)
    state = keep(state, before)
    state.orders["more"] = order(5, 200, name="more", customer="Tin Spoon", price=0.5)
    after = certain(state)
    assert any("3 trays instead of 1" in change.message for change in after.changes)


def test_a_sowing_of_a_recipe_that_is_gone_is_forgotten() -> None:
    state = farm(order(8, 100), recipes=(recipe(window=0, keeps=3),))
    free = certain(state)
    assert trays(certain(keep(state, kept_sowing(free, 0, 2, name="a recipe of old")))) == trays(free)


def test_a_kept_sowing_there_is_no_longer_seed_for_is_cut_down() -> None:
    """Kept: three trays; the seed that is left is enough for one."""
    orders = (order(5, 300), order(9, 100, name="later"))
    kept = kept_sowing(certain(farm(*orders)), 0, 3)
    state = keep(set_farm(farm(*orders, lots=(lot(grams=15.0),)), calm=50.0), kept)
    assert trays(certain(state)) == 1


def test_who_needs_no_calm_decides_as_if_no_plan_had_been_kept() -> None:
    """The study's keeper, who weighs out no seed before the morning."""
    state = farm(order(6, 100.0), recipes=(recipe(window=0, keeps=0),), lots=(lot(),))
    fresh = certain(state)
    held = keep(state, kept_sowing(fresh, 1, 3))
    restless = msgspec.structs.replace(QUICK, calm=False)
    assert soon(certain(held)) != soon(certain(held, effort=restless))
    assert soon(certain(held, effort=restless)) == soon(fresh)
