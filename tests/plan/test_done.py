"""What was sown since the plan was kept is done: neither gone nor moved."""

from __future__ import annotations

from datetime import datetime, timedelta

import msgspec

from tests.plan.farms import NOW, day, farm, order, plan, recipe
from trayward.farm.orders import Part, Product
from trayward.farm.state import FarmState, Sowing, StageStep, Tray
from trayward.plan.done import sown_against
from trayward.plan.types import Plan

EXACT = recipe(window=0, keeps=0)
"""Must be cut on the day it is due, five days after sowing."""
LATER = NOW + timedelta(hours=4)


def keep(state: FarmState, made: Plan) -> Plan:
    """The plan, once the farm has kept it."""
    state.last_plan = msgspec.json.encode(made).decode()
    return made


def sow(state: FarmState, count: int, at: datetime, *, name: str = "261130A", kind: str = "radish") -> None:
    """Trays sown to a recipe, as the book would tell it."""
    names = tuple(f"{name}.{number + 1}" for number in range(count))
    one = state.recipes[kind]
    for tray in names:
        state.trays[tray] = Tray(
            tray=tray,
            sowing=name,
            recipe=one.name,
            crop=one.crop,
            sown_at=at,
            seed_g=10.0,
            lots=(f"lot {one.crop}",),
            steps=[StageStep(stage="germinate", since=at)],
        )
    lots = {f"lot {one.crop}": 10.0 * count}
    state.sowings[name] = Sowing(sowing=name, recipe=one.name, crop=one.crop, sown_at=at, trays=names, lots=lots)


def said(state: FarmState, at: datetime = LATER) -> list[str]:
    return [change.message for change in plan(state, at=at).changes]


def test_a_sowing_done_as_planned_is_no_change() -> None:
    state = farm(order(5, 300), order(8, 200), recipes=(EXACT,))
    made = keep(state, plan(state))
    assert [(sowing.sow_on, sowing.trays) for sowing in made.sowings] == [(day(0), 3), (day(3), 2)]
    sow(state, 3, NOW + timedelta(hours=1))
    assert said(state) == []


def test_of_a_sowing_half_done_the_rest_is_still_to_do_and_no_change() -> None:
    state = farm(order(5, 300), recipes=(EXACT,))
    keep(state, plan(state))
    sow(state, 1, NOW + timedelta(hours=1))
    again = plan(state, at=LATER)
    assert [sowing.trays for sowing in again.sowings] == [2]
    assert again.changes == ()


def test_after_half_a_sowing_only_what_truly_changed_is_told() -> None:
    """One of three is sown, then the order falls to 200 g: one tray more and not two; the new line is new."""
    state = farm(order(5, 300), recipes=(EXACT,))
    keep(state, plan(state))
    sow(state, 1, NOW + timedelta(hours=1))
    state.orders["radish-5"] = order(5, 200)
    state.orders["more"] = order(9, 100, name="more")
    assert said(state) == [
        "New: 1 tray of radish on Fri 4 Dec.",
        "radish on Mon 30 Nov: 1 tray instead of 2.",
    ]


def test_a_sowing_done_a_day_early_is_not_told_as_gone_or_moved() -> None:
    state = farm(order(6, 200), order(9, 200), recipes=(recipe(window=1, keeps=0),))
    made = keep(state, plan(state))
    assert made.sowings[0].sow_on == day(1)
    sow(state, 2, NOW + timedelta(hours=1))
    assert said(state) == []


def test_a_sowing_not_yet_done_is_gone_only_once_nobody_wants_it() -> None:
    """Nothing was sown by day 3, the day it is planned for: no change. Then the order is called off."""
    state = farm(order(8, 200), recipes=(EXACT,))
    keep(state, plan(state))
    assert said(state, NOW + timedelta(days=3)) == []
    del state.orders["radish-8"]
    assert said(state) == ["No longer: 2 trays of radish on Thu 3 Dec."]


def test_trays_of_another_recipe_do_not_count_as_the_planned_ones() -> None:
    """A tray of radish on hemp is not the tray on a mesh mat that was planned; but it serves the line."""
    other = recipe(name="radish on hemp", window=0, keeps=0, medium=5.0)
    state = farm(order(5, 100), recipes=(EXACT, other))
    keep(state, plan(state))
    sow(state, 1, NOW + timedelta(hours=1), kind="radish on hemp")
    assert said(state) == ["No longer: 1 tray of radish on Mon 30 Nov."]


def test_live_trays_sown_as_planned_are_no_change() -> None:
    live = Product(name="live radish", parts=(Part(crop="radish"),), live=True, price=12.0, price_per="tray")
    asked = order(5, 2, product="live radish", unit="trays", price=12.0)
    state = farm(asked, recipes=(EXACT,), products=(live,))
    keep(state, plan(state))
    sow(state, 2, NOW + timedelta(hours=1))
    assert said(state) == []


def test_planned_sowings_are_filled_in_the_order_of_their_days() -> None:
    state = farm(order(5, 200), order(6, 200), recipes=(EXACT,))
    made = plan(state)
    sow(state, 3, NOW + timedelta(hours=1))
    sow(state, 2, NOW + timedelta(hours=2), name="261130B")
    done, outside = sown_against(made, state)
    assert [(one.planned.sow_on, one.trays, one.left) for one in done] == [
        (day(0), ("261130A.1", "261130A.2"), 0),
        (day(1), ("261130A.3", "261130B.1"), 0),
    ]
    assert outside == {"261130B.2"}
