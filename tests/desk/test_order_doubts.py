"""Days, amounts and prices of an order that look mistyped. The bounds are our choice; growers meet each case."""

from __future__ import annotations

from datetime import date

import pytest

from trayward.desk.order_doubts import day_doubts, order_doubts, start_doubts
from trayward.farm.orders import LineAsked, Order, Part, Product
from trayward.farm.state import FarmState


@pytest.fixture
def state() -> FarmState:
    found = FarmState()
    found.products = {
        "radish": Product(name="radish", parts=(Part(crop="radish"),), price=5.0),
        "garden mix": Product(
            name="garden mix", parts=(Part(crop="radish"),), pack_g=50.0, price=3.5, price_per="pack"
        ),
    }
    asked = [("Cafe", "radish", 60.0, "g"), ("Cafe", "radish", 100.0, "g"), ("Stall", "garden mix", 8.0, "packs")]
    for number, (customer, product, quantity, unit) in enumerate(asked):
        line = LineAsked(line="1", product=product, quantity=quantity, unit=unit)  # type: ignore[arg-type]
        found.orders[str(number)] = Order(order=str(number), customer=customer, due=date(2026, 12, 1), lines=(line,))
    return found


def said(state: FarmState, customer: str, line: LineAsked) -> list[str]:
    return [doubt.sentence() for doubt in order_doubts(state, customer, [line])]


def test_kilograms_for_grams_are_doubted_and_told_what_was_meant(state: FarmState) -> None:
    (told,) = said(state, "Cafe", LineAsked(line="1", product="radish", quantity=80_000.0))
    assert told == "radish, amount = 80 kg: so far 60 g to 100 g was asked for at a time. Did you mean 80 g?"


@pytest.mark.parametrize("grams", [20.0, 60.0, 150.0, 400.0])
def test_a_large_party_or_a_small_table_is_no_wonder(state: FarmState, grams: float) -> None:
    assert said(state, "Cafe", LineAsked(line="1", product="radish", quantity=grams)) == []


def test_grams_typed_as_packs_are_doubted(state: FarmState) -> None:
    (told,) = said(state, "Stall", LineAsked(line="1", product="garden mix", quantity=400.0, unit="packs"))
    assert told.endswith("Did you mean 8 packs?")


def test_what_nobody_asked_for_before_is_not_doubted(state: FarmState) -> None:
    assert said(state, "Cafe", LineAsked(line="1", product="basil", quantity=9_000.0)) == []


def test_an_order_is_no_witness_for_itself(state: FarmState) -> None:
    line = LineAsked(line="1", product="garden mix", quantity=400.0, unit="packs")
    assert list(order_doubts(state, "Stall", [line], but="2")) == []


def test_a_price_for_a_kilogram_is_doubted_and_an_ordinary_discount_is_not(state: FarmState) -> None:
    (told,) = said(state, "Cafe", LineAsked(line="1", product="radish", quantity=80.0, price=0.5))
    assert told == "radish, price = 50.00 per 100 g: it is sold at 5.00 per 100 g. Did you mean 5.00 per 100 g?"
    assert said(state, "Cafe", LineAsked(line="1", product="radish", quantity=80.0, price=0.04)) == []


# Days -----------------------------------------------------------------------------------------------------------------

WEDNESDAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("due", "told"),
    [
        # Years are counted by a calendar: 400 days from 25 November 2026 is 30 December 2027.
        (date(2026, 11, 25), None),
        (date(2027, 12, 30), None),
        (
            date(2027, 12, 31),
            "order, due = 2027-12-31: that is 401 days ahead. Check the year. Did you mean 2026-12-31?",
        ),
        (date(2036, 2, 29), "order, due = 2036-02-29: that is 3383 days ahead. Check the year."),
        (date(2026, 11, 24), "order, due = 2026-11-24: is past; today is 2026-11-25."),
        (date(2025, 12, 4), "order, due = 2025-12-04: is past; today is 2026-11-25. Did you mean 2026-12-04?"),
    ],
)
def test_a_day_that_is_past_or_of_another_year_is_doubted(due: date, told: str | None) -> None:
    assert [doubt.sentence() for doubt in day_doubts(due, WEDNESDAY)] == ([told] if told else [])


def test_a_repeating_order_may_have_begun_long_ago_and_not_begin_in_ten_years() -> None:
    assert not list(start_doubts(date(2024, 1, 2), WEDNESDAY))
    (told,) = start_doubts(date(2036, 12, 1), WEDNESDAY)
    assert told.sentence().startswith("standing order, start = 2036-12-01: that is 3659 days ahead. Check the year.")
