"""Who is served first when there is too little for all."""

from __future__ import annotations

from datetime import date

import pytest

from tests.plan.farms import farm
from trayward.farm.orders import Customer, LineDue, Part
from trayward.farm.served_first import Turns, gains, served_first

FRIDAY = date(2026, 3, 6)


def line(
    name: str, grams: float, value: float, *, who: str = "Inn", weight: float = 1.0, due: date = FRIDAY, trays: int = 0
) -> LineDue:
    return LineDue(
        line=name, customer=who, product="radish", due=due, parts=(Part(crop="radish"),), live=trays > 0,
        grams=grams, trays=trays, value=value, weight=weight,
    )  # fmt: skip


def names(*lines: LineDue) -> list[str]:
    return [one.line for one in served_first(lines, farm())]


def test_who_pays_most_by_the_gram_comes_first_and_not_who_comes_first_in_the_alphabet() -> None:
    assert names(line("a", 100, 3.0), line("b", 100, 6.0)) == ["b", "a"]


def test_an_earlier_day_comes_before_a_dearer_later_one() -> None:
    assert names(line("a", 100, 9.0, due=date(2026, 3, 7)), line("b", 100, 3.0)) == ["b", "a"]


def test_what_letting_down_costs_counts_like_money() -> None:
    """3 a 100 g and a price of letting down of once the value: weight 3 makes it 3 x (1 + 3), against 5 x (1 + 1)."""
    state = farm()
    assert state.settings is not None
    assert state.settings.money.shortfall == 1.0
    assert names(line("a", 100, 5.0), line("b", 100, 3.0, weight=3.0)) == ["b", "a"]
    assert names(line("a", 100, 7.0), line("b", 100, 3.0, weight=3.0)) == ["a", "b"]


def test_of_equals_the_heavier_customer_and_then_the_small_line_comes_first() -> None:
    free = [line("a", 90, 0.0), line("b", 30, 0.0), line("c", 60, 0.0, weight=2.0)]
    assert names(*free) == ["c", "b", "a"]
    assert names(line("a", 90, 9.0), line("b", 30, 3.0)) == ["b", "a"]


def test_a_line_without_a_price_is_not_starved_for_it() -> None:
    """It counts as what the others bring in the mean: 5 a 100 g."""
    lines = [line("cheap", 100, 2.0), line("no price", 100, 0.0), line("dear", 100, 8.0)]
    assert names(*lines) == ["dear", "no price", "cheap"]


def test_what_is_eaten_at_home_comes_last() -> None:
    state = farm(customers=(Customer(name="home", home=True),))
    lines = [line("ours", 10, 0.0, who="home", weight=9.0), line("sold", 100, 1.0)]
    assert [one.line for one in served_first(lines, state)] == ["sold", "ours"]
    assert gains(lines, state)[0] == 0.0


def test_live_trays_and_grams_are_each_held_against_their_like() -> None:
    """A tray at 12 is no dearer than grams for being one of a kind: no price is taken over from grams to trays."""
    lines = [line("grams", 100, 4.0), line("tray", 0, 0.0, trays=1)]
    assert gains(lines, farm()) == pytest.approx([0.08, 0.0])


@pytest.mark.parametrize(
    ("first", "second", "why"),
    [
        (line("a", 100, 6.0), line("b", 100, 3.0), "brings more by the gram"),
        (line("a", 0, 6.0, trays=1), line("b", 0, 3.0, trays=1), "brings more by the tray"),
        (line("a", 100, 3.0, weight=3.0), line("b", 100, 5.0), "costs more to let down"),
        (line("a", 100, 0.0, weight=2.0), line("b", 100, 0.0), "matters more"),
        (line("a", 30, 3.0), line("b", 90, 9.0), "smaller line"),
        (line("a", 30, 3.0), line("b", 30, 3.0), "alike, by the order's name"),
        (line("a", 30, 0.0, weight=2.0), line("b", 30, 3.0), "costs more to let down"),
        (line("a", 100, 1.0), line("b", 10, 0.0, who="home", weight=9.0), "sold, not eaten at home"),
    ],
)
def test_it_is_said_why_one_comes_before_another(first: LineDue, second: LineDue, why: str) -> None:
    state = farm(customers=(Customer(name="home", home=True),))
    lines = served_first([second, first], state)
    assert lines == [first, second]
    assert Turns(lines, state).why_before(first, second) == why
