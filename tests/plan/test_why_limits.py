"""What one more of a limit is said to be worth, against the plan made again with one more."""

from __future__ import annotations

import pytest

from tests.plan.doubts import Typical, told
from tests.plan.farms import MONDAY, farm, order, recipe
from trayward.farm.state import FarmState
from trayward.plan.told import Told
from trayward.plan.why import Why
from trayward.plan.why_limits import limit_worths


def knowing(state: FarmState) -> Told:
    return told(state, biology=Typical(state.recipes))


def binding(lit: int) -> FarmState:
    """One week of orders that wants more lit spots than there are: small trays, so that one more is a small step."""
    orders = [order(number, 400, price=0.1, name=f"o{number}") for number in (6, 7, 8, 9)]
    return farm(*orders, recipes=(recipe(window=0, keeps=0, medium=1.0),), lit=lit)


@pytest.mark.parametrize("lit", [3, 5, 8])
def test_one_more_of_a_limit_betters_the_plan_by_no_more_than_is_said(lit: int) -> None:
    """
    What one more spot all week is said to be worth, against the plan made again with one more.

    Prices of a linear model say what the first part of a unit brings, so a whole one brings that much at most; here a
    spot more is a tray more, so it brings about as much. (The objective counts what letting down costs, too.)
    """
    made, more = knowing(binding(lit)), knowing(binding(lit + 1))
    worth = sum(limit.worth for limit in limit_worths(Why(made)) if limit.limit == "lit spots")
    gain = made.decision.cost - more.decision.cost
    assert gain > 0
    assert gain <= worth + 0.05
    assert gain >= 0.4 * worth


def test_a_limit_with_room_left_is_worth_nothing() -> None:
    assert limit_worths(Why(knowing(binding(40)))) == []


def test_a_binding_limit_says_its_days_and_its_worth() -> None:
    found = [limit for limit in limit_worths(Why(knowing(binding(3)))) if limit.limit == "lit spots"]
    assert all(limit.has == 3.0 and limit.lines == () and limit.worth > 0 for limit in found)
    assert all(MONDAY <= limit.first <= limit.last for limit in found)
    assert all(f"one more would bring {limit.worth:.2f}" in limit.message for limit in found)
    assert all(limit.first.isocalendar()[:2] == limit.last.isocalendar()[:2] for limit in found)
