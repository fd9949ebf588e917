"""What one more of a limit is said to be worth, against the plan made again with one more."""

from __future__ import annotations

import pytest

from tests.plan.doubts import Typical, told
from tests.plan.farms import MONDAY, farm, order, pool, recipe
from tests.plan.test_limits import on_mats
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

    It is what the plan made again from its own trays gains; here, where a spot more is a tray more, the plan made from
    nothing with one more gains the same. (The objective counts what letting down costs, too.)
    """
    made, more = knowing(binding(lit)), knowing(binding(lit + 1))
    worth = sum(limit.worth for limit in limit_worths(Why(made)) if limit.limit == "lit spots")
    gain = made.decision.cost - more.decision.cost
    assert gain > 0
    assert worth == pytest.approx(gain, abs=0.01)  # each of the weeks' amounts is rounded to 0.01


def test_one_more_of_one_limit_is_worth_nothing_where_another_is_just_as_short() -> None:
    """
    Three spots and three trays to grow on: one more of either alone lets no tray more in; of both it lets one in.

    The linear model's prices put all of it on one of the two, or some on each; that alone would be untrue.
    """
    recipes = (recipe(window=0, keeps=0, medium=1.0, kit=on_mats(stages=("light",))),)
    orders = [order(number, 400, price=0.1, name=f"o{number}") for number in (6, 7, 8, 9)]
    made = knowing(farm(*orders, recipes=recipes, lit=3, kit=(pool("mat", 3, dry_hours=0),)))
    assert float(made.decision.price.sum()) > 1.0
    assert limit_worths(Why(made)) == []
    mats = knowing(farm(*orders, recipes=recipes, lit=8, kit=(pool("mat", 3, dry_hours=0),)))
    assert {limit.limit for limit in limit_worths(Why(mats))} == {"mat"}


def test_of_hands_one_more_is_an_hour() -> None:
    """Sowing takes 20 minutes and there are 60 a day: an hour more lets three trays more be sown on each day."""
    slow = (recipe(window=0, keeps=0, medium=1.0, minutes=(20.0, 0.0, 0.0, 0.0)),)
    orders = [order(number, 800, price=0.1, name=f"o{number}") for number in (6, 7, 8, 9)]
    hands = [farm(*orders, recipes=slow, work=(minutes,) * 7) for minutes in (60.0, 120.0)]
    made, more = map(knowing, hands)
    found = [limit for limit in limit_worths(Why(made)) if limit.limit == "hands"]
    assert sum(limit.worth for limit in found) == pytest.approx(made.decision.cost - more.decision.cost, abs=0.02)
    assert all("; an hour more a day would bring" in limit.message for limit in found)


def test_a_limit_with_room_left_is_worth_nothing() -> None:
    assert limit_worths(Why(knowing(binding(40)))) == []


def test_a_binding_limit_says_its_days_and_its_worth() -> None:
    found = [limit for limit in limit_worths(Why(knowing(binding(3)))) if limit.limit == "lit spots"]
    assert all(limit.has == 3.0 and limit.lines == () and limit.worth > 0 for limit in found)
    assert all(MONDAY <= limit.first <= limit.last for limit in found)
    assert all(f"one more would bring {limit.worth:.2f}" in limit.message for limit in found)
    assert all(limit.first.isocalendar()[:2] == limit.last.isocalendar()[:2] for limit in found)
