"""What kept plans promised of order lines, as the book tells it."""

from __future__ import annotations

from datetime import date, timedelta

import msgspec

from tests.farm.told import START, Told, lantern_loft
from trayward.farm.codec import decode_state, encode_state
from trayward.farm.entries import OrderCancelled, OrderChanged, OrderPlaced, PlanKept, Struck
from trayward.farm.orders import LineAsked, Order
from trayward.farm.promised import KEPT_DAYS

TODAY = START.date()
FRIDAY = TODAY + timedelta(days=2)


def order(grams: float, due: date = FRIDAY) -> Order:
    asked = LineAsked(line="1", product="radish", quantity=grams)
    return Order(order="A", customer="Copper Ladle", due=due, lines=(asked,))


def plan(first: date, chance: float | None, *, grams: float = 100.0, due: date = FRIDAY, **more: object) -> PlanKept:
    line = {"line": "A/1", "customer": "Copper Ladle", "due": due, "grams": grams, "chance": chance, **more}
    return PlanKept(plan=msgspec.Raw(msgspec.json.encode({"first": first, "lines": [line], "sowings": []})))


def loft() -> Told:
    told = lantern_loft()
    told.say(OrderPlaced(order=order(100.0)))
    return told


def test_each_day_a_plan_is_kept_adds_a_promise_and_the_last_of_a_day_counts() -> None:
    told = loft()
    told.say(plan(TODAY, 0.5), plan(TODAY, 0.7, read=0.6), plan(TODAY + timedelta(days=1), 0.8))
    one = told.state.promised["A/1"]
    assert (one.due, one.customer, one.amount, one.live) == (FRIDAY, "Copper Ladle", 100.0, False)
    assert dict(zip(one.ahead, zip(one.told, one.read, strict=True), strict=True)) == {2: (7000, 6000), 1: (8000, 8000)}
    assert one.asked is None
    assert decode_state(encode_state(told.state)).promised == told.state.promised


def test_a_plan_that_is_taken_back_promised_nothing() -> None:
    told = loft()
    told.say(plan(TODAY, 0.5))
    slip = told.entries[-1].id
    told.say(Struck(entry=slip, reason="not mine"))
    assert told.refold(struck=frozenset({slip})).promised == {}


def test_promises_of_another_amount_are_counted_and_let_go() -> None:
    told = loft()
    told.say(plan(TODAY, 0.5), OrderChanged(order=order(300.0)), plan(TODAY + timedelta(days=1), 0.2, grams=300.0))
    one = told.state.promised["A/1"]
    assert (one.amount, one.ahead, one.told, one.changed) == (300.0, (1,), (2000,), 1)


def test_what_was_asked_for_is_noted_once_the_day_is_over_and_stays() -> None:
    told = loft()
    told.say(plan(TODAY, 0.5))
    after = FRIDAY + timedelta(days=1)
    told.say(plan(after, None, due=after))
    assert told.state.promised["A/1"].asked == 100.0
    told.say(OrderChanged(order=order(900.0)), plan(after + timedelta(days=1), None, due=after + timedelta(days=1)))
    assert told.state.promised["A/1"].asked == 100.0


def test_a_line_cancelled_before_its_day_was_asked_for_no_more() -> None:
    told = loft()
    told.say(plan(TODAY, 0.5), OrderCancelled(order="A", reason="closed"))
    told.say(plan(FRIDAY + timedelta(days=1), None, due=FRIDAY + timedelta(days=1)))
    assert told.state.promised["A/1"].asked == 0.0


def test_promises_are_let_go_half_a_year_after() -> None:
    told = loft()
    told.say(plan(TODAY, 0.5))
    last = FRIDAY + timedelta(days=KEPT_DAYS)
    told.say(plan(last, None, due=last))
    assert "A/1" in told.state.promised
    told.say(plan(last + timedelta(days=1), None, due=last + timedelta(days=1)))
    assert told.state.promised == {}


def test_plans_without_chances_or_of_another_shape_promise_nothing() -> None:
    told = loft()
    told.say(plan(TODAY, None), PlanKept(plan=msgspec.Raw(b'{"sowings": [1]}')))
    told.say(PlanKept(plan=msgspec.Raw(b'{"first": "2026-11-25", "lines": 7}')))
    assert told.state.promised == {}
