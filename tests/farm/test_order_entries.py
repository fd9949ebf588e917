"""Orders in the book."""

from __future__ import annotations

from datetime import date

import pytest
from msgspec.structs import replace

from tests.farm.told import codes, lantern_loft
from trayward.farm.entries import (
    OrderCancelled,
    OrderChanged,
    OrderPlaced,
    ProductSet,
    StandingOrderPaused,
    StandingOrderSet,
)
from trayward.farm.orders import LineAsked, Order, Part, Pause, Product, StandingOrder
from trayward.farm.transitions.orders import line_known

LINE = LineAsked(line="1", product="radish", quantity=200.0)
ORDER = Order(order="O1", customer="Kite Cafe", due=date(2026, 12, 4), lines=(LINE,))
STANDING = StandingOrder(
    standing="Kite weekly", customer="Kite Cafe", start=date(2026, 12, 1), rule="FREQ=WEEKLY;BYDAY=FR", lines=(LINE,)
)


def test_an_order_is_placed_changed_and_cancelled():
    told = lantern_loft()
    assert told.say(OrderPlaced(order=ORDER)) == ()
    more = replace(ORDER, lines=(replace(LINE, quantity=300.0),))
    assert told.say(OrderChanged(order=more)) == ()
    assert told.state.orders == {"O1": more}
    assert told.say(OrderCancelled(order="O1")) == ()
    assert told.state.orders == {}
    assert told.state.cancelled_orders == {"O1"}


def test_the_moment_an_order_was_first_placed_is_kept_until_it_is_cancelled():
    told = lantern_loft()
    told.say(OrderPlaced(order=ORDER))
    placed = told.now
    told.say(OrderChanged(order=replace(ORDER, due=date(2026, 12, 11))), hours=30)
    told.say(OrderPlaced(order=replace(ORDER, note="again")), hours=5)
    assert told.state.order_placed == {"O1": placed}
    told.say(OrderCancelled(order="O1"))
    assert told.state.order_placed == {}
    told.say(OrderPlaced(order=ORDER), hours=2)
    assert told.state.order_placed == {"O1": told.now}, "placed anew, it counts from then"


def test_a_name_is_used_once_and_the_first_order_stays():
    told = lantern_loft()
    told.say(OrderPlaced(order=ORDER))
    assert codes(told.say(OrderPlaced(order=replace(ORDER, note="again")))) == [("wrong", "order-twice")]
    assert told.state.orders == {"O1": ORDER}


@pytest.mark.parametrize("body", [OrderChanged(order=ORDER), OrderCancelled(order="O1")])
def test_changing_or_cancelling_what_nobody_ordered_is_wrong(body):
    told = lantern_loft()
    assert codes(told.say(body)) == [("wrong", "order-unknown")]
    assert told.state.orders == {}


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({"customer": "Nobody"}, ("odd", "customer-unknown")),
        ({"due": date(2025, 12, 4)}, ("odd", "due-over")),
        ({"lines": ()}, ("wrong", "nothing-named")),
        ({"lines": (LINE, LINE)}, ("wrong", "named-twice")),
        ({"lines": (replace(LINE, line="1/2"),)}, ("wrong", "line-name")),
        ({"lines": (replace(LINE, quantity=0.0),)}, ("wrong", "line-amount")),
        ({"lines": (replace(LINE, unit="packs"),)}, ("wrong", "line-amount")),
        ({"lines": (replace(LINE, product="moonflower"),)}, ("odd", "product-unknown")),
    ],
)
def test_an_order_that_cannot_be_or_is_unusual_is_found(changed, expected):
    found = lantern_loft().check(OrderPlaced(order=replace(ORDER, **changed)))
    assert codes(found) == [expected]
    assert "O1" in found[0].message or expected[1] == "named-twice"


def test_a_crop_that_is_grown_and_a_product_that_is_sold_are_both_known():
    told = lantern_loft()
    told.say(ProductSet(product=Product(name="spicy mix", parts=(Part(crop="radish"),), pack_g=50.0)))
    lines = (LINE, LineAsked(line="2", product="spicy mix", quantity=3, unit="packs"))
    assert told.check(OrderPlaced(order=replace(ORDER, lines=lines))) == ()


def test_a_standing_order_is_set_paused_and_set_again():
    told = lantern_loft()
    pause = Pause(first=date(2026, 12, 21), last=date(2027, 1, 3))
    assert told.say(StandingOrderSet(standing=STANDING), StandingOrderPaused(standing="Kite weekly", pause=pause)) == ()
    assert told.state.standing["Kite weekly"].pauses == (pause,)
    told.say(StandingOrderSet(standing=replace(STANDING, ended=True)))
    assert told.state.standing["Kite weekly"].ended


def test_a_rule_that_cannot_be_read_does_not_get_in():
    told = lantern_loft()
    found = told.say(StandingOrderSet(standing=replace(STANDING, rule="every friday")))
    assert ("wrong", "standing-rule") in codes(found)
    assert told.state.standing == {}


def test_a_pause_needs_a_standing_order_and_an_end_after_its_beginning():
    told = lantern_loft()
    pause = Pause(first=date(2027, 1, 3), last=date(2026, 12, 21))
    body = StandingOrderPaused(standing="Kite weekly", pause=pause)
    assert codes(told.check(body)) == [("wrong", "order-unknown")]
    told.say(StandingOrderSet(standing=STANDING))
    assert codes(told.check(body)) == [("wrong", "pause")]


@pytest.mark.parametrize(
    ("line", "known"),
    [
        ("O1/1", True),
        ("O1/2", False),
        ("O2/1", False),
        ("O1", False),
        ("Kite weekly@2026-12-04/1", True),
        ("Kite weekly@2026-12-04/2", False),
        ("Kite weekly@soon/1", False),
        ("Kite weekly/1", False),
    ],
)
def test_a_line_is_known_by_its_order_or_its_standing_order_and_day(line, known):
    told = lantern_loft()
    told.say(OrderPlaced(order=ORDER), StandingOrderSet(standing=STANDING))
    assert line_known(told.state, line) is known
