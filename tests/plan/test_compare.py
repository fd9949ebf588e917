"""Two plans side by side: what a change is worth, and what it does to lines, crops and limits."""

from __future__ import annotations

import msgspec
import pytest

from tests.plan.farms import NOW, day, farm, order, recipe
from tests.plan.test_what_if import NEW_ORDER, lantern
from trayward.farm.places import Shelf
from trayward.farm.settings import Money
from trayward.farm.state import FarmState
from trayward.outlook.ahead import look_ahead
from trayward.plan.compare import compare
from trayward.plan.compare_types import Comparison, Side
from trayward.plan.make import make_plan
from trayward.plan.types import LineOutlook, Plan
from trayward.plan.what_if import DaysOff, MoreShelves, NewOrder, ShelfGone, Supposition, as_it_might_be, same_lessons


def told(state: FarmState, *what: Supposition, weeks: int = 3) -> Comparison:
    """Both plans, compared."""
    other, ahead = as_it_might_be(state, what, NOW), look_ahead(state, NOW)
    return compare(
        Side(state, make_plan(state, ahead, NOW, weeks=weeks, effort=None)),
        Side(other, make_plan(other, same_lessons(ahead, other), NOW, weeks=weeks, effort=None)),
        what,
    )


def rack_bound() -> FarmState:
    """Two lit spots; every third day wants four trays of radish, which stand three days in the light and keep one."""
    wants = [order(number, 400.0, name=f"W{number}", customer=f"guest {number % 2}") for number in (6, 9, 12, 15, 18)]
    return farm(*wants, recipes=(recipe(keeps=1),), lit=2, money=Money(shortfall=0.5))


def test_a_lit_shelf_more_is_worth_what_it_lets_be_sold_where_the_rack_binds() -> None:
    found = told(rack_bound(), MoreShelves(count=1, kind="lit", spots=2))
    money = {row.what: row for row in found.money}
    # By hand: two spots give two trays of 100 g for each of the five days, four spots all four; 0.10 a gram.
    assert (money["sales"].as_it_is, money["sales"].with_it) == (100.0, 200.0)
    # Ten trays more take 10 g of seed each, at 0.01 a gram; what was short cost half its price on top.
    assert money["seed"].difference == pytest.approx(1.0)
    assert money["letting down"].difference == pytest.approx(-50.0)
    assert money["worth"].difference == pytest.approx(149.0)
    assert found.told_apart
    assert found.worth_a_week == pytest.approx(149.0 / 3, abs=0.005)
    assert found.margin_a_week == pytest.approx(99.0 / 3, abs=0.005)
    assert found.verdict == (
        "Better by 50 EUR a week: the margin is 33 EUR more and letting customers down costs 17 EUR less. "
        "5 of 5 order lines met in full instead of 0."
    )


def test_what_no_longer_stands_in_the_way_is_told() -> None:
    found = told(rack_bound(), MoreShelves(count=1, kind="lit", spots=2))
    lit = next(limit for limit in found.limits if limit.limit == "lit spots")
    assert lit.short_as_it_is > 0
    assert lit.weeks_as_it_is > 0
    assert (lit.short_with_it, lit.weeks_with_it) == (0.0, 0)


def test_service_is_told_by_customer_and_lines_that_turned_by_name() -> None:
    found = told(rack_bound(), MoreShelves(count=1, kind="lit", spots=2))
    assert {(one.customer, one.lines_as_it_is, one.met_as_it_is, one.met_with_it) for one in found.customers} == {
        ("guest 0", 3, 0, 3),
        ("guest 1", 2, 0, 2),
    }
    assert found.newly_met == ("W6/1", "W9/1", "W12/1", "W15/1", "W18/1")
    assert found.no_longer_met == ()
    short = next(row for row in found.service if row.what == "cut short")
    assert (short.as_it_is, short.with_it, short.unit) == (1000.0, 0.0, "g")
    assert found.crops[-1].difference == 10.0


def test_a_lit_shelf_less_is_worse() -> None:
    state = rack_bound()
    state.shelves["M"] = Shelf(name="M", rack="M", room="loft", kind="lit", spots=2)
    found = told(state, ShelfGone(shelf="M"))
    assert found.told_apart
    assert found.worth_a_week == pytest.approx(-149.0 / 3, abs=0.005), "what the same shelf more was worth"
    assert found.verdict.startswith("Worse by 50 EUR a week: the margin is 33 EUR less")


def test_what_changes_nothing_is_called_no_difference() -> None:
    found = told(rack_bound(), MoreShelves(count=1, kind="dark", spots=4))
    assert not found.told_apart
    assert found.worth_a_week == 0.0
    assert found.verdict.startswith("No difference in money")
    assert found.verdict.endswith("0 of 5 order lines met in full either way.")


def gapped(found: Comparison, gap: float | None) -> Comparison:
    """The same two plans, had the search left so much open in each."""
    state = rack_bound()
    before, after = (Side(state, msgspec.structs.replace(plan, gap=gap)) for plan in (found.as_it_is, found.with_it))
    return compare(before, after, [])


def test_a_difference_smaller_than_what_both_searches_left_open_is_not_told_apart() -> None:
    found = told(rack_bound(), MoreShelves(count=1, kind="lit", spots=2))
    # 200 is asked for in all, and the objective lies between: each side leaves gap x 200 open.
    assert gapped(found, 0.3).told_apart
    close = gapped(found, 0.4)
    assert not close.told_apart
    assert close.doubt_a_week == pytest.approx(2 * 0.4 * 200 / 3, abs=0.005)
    assert close.verdict.startswith(
        "No difference in money that can be told for sure: 50 EUR more a week by these two plans, which together may "
        "lie 53 EUR a week from their best."
    )


def test_where_nobody_looked_how_good_the_plans_are_nothing_is_told_apart() -> None:
    """With a gap of 0.3 the same two plans are told apart."""
    found = told(rack_bound(), MoreShelves(count=1, kind="lit", spots=2))
    unknown = gapped(found, None)
    assert not unknown.told_apart
    assert unknown.verdict.startswith("By these two plans 50 EUR more a week; how good either is was not looked into.")


def test_every_money_line_adds_up_to_the_margin() -> None:
    state = lantern()
    found = told(state, MoreShelves(count=1, kind="lit", spots=4))
    for side in ("as_it_is", "with_it"):
        money = {row.what: getattr(row, side) for row in found.money}
        costs = sum(money[name] for name in ("seed", "medium", "hands", "energy", "packaging", "disposal"))
        assert money["sales"] - costs == pytest.approx(money["margin"], abs=0.011)
        assert money["margin"] - money["letting down"] == pytest.approx(money["worth"], abs=0.011)


def test_lines_of_a_new_customer_count_with_it_only() -> None:
    found = told(lantern(), NewOrder(order=NEW_ORDER))
    new = next(one for one in found.customers if one.customer == "Thimble Corner")
    assert (new.lines_as_it_is, new.lines_with_it, new.met_with_it) == (0, 1, 1)
    assert "what-if-1/1" not in found.newly_met, "it is in one plan only"


def test_nobody_sows_or_cuts_on_a_day_off_that_is_supposed() -> None:
    found = told(rack_bound(), DaysOff(first=day(1), last=day(1)))
    assert day(1) in {sowing.sow_on for sowing in found.as_it_is.sowings}
    assert day(1) not in {sowing.sow_on for sowing in found.with_it.sowings}


def test_chances_and_expected_margins_are_compared_once_plans_say_them() -> None:
    class Foretold(LineOutlook, frozen=True, kw_only=True):
        chance: float

    class Foreseen(Plan, frozen=True, kw_only=True):
        expected_margin: float

    def foreseen(chance: float, margin: float) -> Plan:
        lines = [
            Foretold(line=n, customer="c", crop="pea", due=day(5), grams=9.0, met_grams=9.0, chance=chance)
            for n in "ab"
        ]
        return Foreseen(
            made_at=NOW, first=day(0), last=day(20), lines=tuple(lines), expected_margin=margin, objective=margin
        )

    state = rack_bound()
    found = compare(Side(state, foreseen(0.5, 60.0)), Side(state, foreseen(0.9, 90.0)), [])
    likely = next(row for row in found.service if row.what == "lines likely to be met in full")
    assert (likely.as_it_is, likely.with_it) == (1.0, 1.8)
    assert found.margin_a_week == 10.0
