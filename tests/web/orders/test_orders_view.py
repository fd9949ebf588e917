"""Orders as the page shows them."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from trayward.farm.orders import Customer, LineAsked, Order, Part, Product, StandingOrder
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.plan.types import LineOutlook, Plan
from trayward.web.orders.view import MOST_LINES, orders_shown, standing_shown, week_of

TODAY = date(2026, 11, 25)
AT = datetime(2026, 11, 25, 7, tzinfo=UTC)


def day(number: int) -> date:
    return TODAY + timedelta(days=number)


def order(name: str, due: date, *lines: tuple[str, float], customer: str = "Corner Cafe") -> Order:
    asked = tuple(LineAsked(line=product, product=product, quantity=grams) for product, grams in lines)
    return Order(order=name, customer=customer, due=due, lines=asked)


@pytest.fixture
def state() -> FarmState:
    found = FarmState(settings=FarmSettings(name="Lantern Loft"), began=AT - timedelta(days=10))
    found.customers = {"Corner Cafe": Customer(name="Corner Cafe", note="back door")}
    found.products = {"broccoli": Product(name="broccoli", parts=(Part(crop="broccoli"),), price=4.0)}
    found.orders = {
        "past": order("past", day(-2), ("broccoli", 100.0)),
        "soon": order("soon", day(1), ("broccoli", 200.0), ("radish", 60.0)),
        "later": order("later", day(20), ("broccoli", 80.0)),
    }
    return found


def plan_with(*lines: LineOutlook) -> Plan:
    return Plan(made_at=AT, first=TODAY, last=day(20), lines=lines)


def told(line: str, grams: float, chance: float) -> LineOutlook:
    return LineOutlook(
        line=line, customer="Corner Cafe", crop="", due=day(1), grams=grams, met_grams=0, chance=chance, sure=0.8
    )


def test_lines_stand_by_day_and_customer_with_their_chance(state: FarmState) -> None:
    plan = plan_with(told("soon/broccoli", 200.0, 0.9), told("soon/radish", 60.0, 0.4))
    shown = orders_shown(state, plan, TODAY, TODAY)
    (soon,) = shown.days[0].customers
    assert [(line.product, line.asked, line.chance, line.sure) for line in soon.lines] == [
        ("broccoli", "200 g", 0.9, True),
        ("radish", "60 g", 0.4, False),
    ]
    assert soon.note == "back door"
    assert shown.days[0].likely == pytest.approx(1.3)


def test_lines_are_shown_in_the_unit_of_who_reads(state: FarmState) -> None:
    shown = orders_shown(state, None, TODAY, TODAY, "oz")
    assert [line.asked for line in shown.days[0].lines] == ["7.05 oz", "2.12 oz"]  # 28.3495 g an ounce


def test_a_line_changed_since_the_plan_has_no_chance_yet(state: FarmState) -> None:
    shown = orders_shown(state, plan_with(told("soon/broccoli", 150.0, 0.9)), TODAY, TODAY)
    assert [line.chance for line in shown.days[0].lines] == [None, None]
    assert shown.days[0].likely is None
    assert shown.days[0].unknown == 2


def test_what_went_out_is_done_and_what_did_not_is_told(state: FarmState) -> None:
    state.delivered = {"soon/broccoli": 200.0, "soon/radish": 20.0}
    shown = orders_shown(state, None, TODAY, TODAY)
    broccoli, radish = shown.days[0].lines
    assert broccoli.delivered
    assert (radish.delivered, radish.begun, radish.left_g) == (False, True, 40.0)
    assert [line.product for each in shown.past for line in each.lines] == ["broccoli"]
    assert shown.missed == 1


def test_prices_add_up_to_the_customers_week_as_far_as_they_are_known(state: FarmState) -> None:
    (week,) = week_of(state, TODAY)
    assert (week.customer, week.lines, week.unpriced) == ("Corner Cafe", 3, 1)
    assert week.value == pytest.approx(4.0 + 8.0)  # 100 g and 200 g at 4.00 per 100 g; radish has no price


def test_a_page_ends_with_a_whole_day_and_says_where_the_next_begins(state: FarmState) -> None:
    shown = orders_shown(state, None, TODAY, TODAY)
    assert [each.day for each in shown.days] == [day(1)]
    assert shown.next_first == day(20)
    assert orders_shown(state, None, day(20), TODAY).next_first is None


def test_a_day_of_very_many_lines_is_a_page_of_its_own(state: FarmState) -> None:
    for number in range(MOST_LINES):
        state.orders[f"o{number}"] = order(f"o{number}", day(2), ("broccoli", 50.0))
    shown = orders_shown(state, None, TODAY, TODAY)
    assert [each.day for each in shown.days] == [day(1)]
    assert shown.next_first == day(2)
    assert len(orders_shown(state, None, day(2), TODAY).days[0].lines) == MOST_LINES


def test_packed_lines_say_so(state: FarmState) -> None:
    from trayward.farm.state import PackLot

    pack = PackLot(
        pack="P1", product="broccoli", packs=4, pack_g=50.0, left=4, packed_at=AT, best_before=day(5), parts={}
    )
    state.packs = {"P1": pack}
    broccoli, radish = orders_shown(state, None, TODAY, TODAY).days[0].lines
    assert broccoli.packed
    assert not radish.packed


def test_a_repeating_order_tells_its_next_days_and_pauses() -> None:
    from trayward.farm.orders import Pause

    one = StandingOrder(
        standing="cafe", customer="Corner Cafe", start=day(-100), rule="FREQ=WEEKLY;BYDAY=TU",
        lines=(LineAsked(line="1", product="pea", quantity=2, unit="packs"),),
        pauses=(Pause(first=day(5), last=day(9)), Pause(first=day(-9), last=day(-5))),
    )  # fmt: skip
    shown = standing_shown(one, TODAY, "g")
    assert shown.repeats == "every Tuesday"
    assert shown.lines == ("2 packs pea",)
    assert shown.next_days[0] == date(2026, 12, 8)  # Tuesday 1 December is paused
    assert shown.pauses == ((day(5), day(9)),)
