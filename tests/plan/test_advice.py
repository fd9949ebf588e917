"""What to do with ready trays, and what crops earn of the places they stand in."""

from __future__ import annotations

import pytest

from tests.plan.doubts import certain, cost_of, doubtful, told
from tests.plan.farms import MONDAY, day, farm, lot, order, recipe, trays
from tests.plan.test_rules import some_farm
from tests.plan.test_under_doubt import LIVE, MIX, live, stand
from trayward.farm.settings import Money
from trayward.farm.state import FarmState
from trayward.plan.advice import earnings
from trayward.plan.decide import Effort
from trayward.plan.told_money import read_money
from trayward.plan.types import CutAdvice
from trayward.plan.why import Why

WAITS = recipe(window=3, keeps=0)
"""Ready trays may stand for three days; what is cut must go out that day."""
SOME = Effort(scenarios=12, checked=48, proof_seconds=0)


def ready(*orders: object, count: int = 1, **more: object) -> FarmState:
    """A farm with trays that became ready an hour ago."""
    return stand(farm(*orders, recipes=(WAITS,), **more), count, stage="ready", days_ago=1 / 24)  # type: ignore[arg-type]


def only(advice: tuple[CutAdvice, ...]) -> CutAdvice:
    (one,) = advice
    return one


def test_a_ready_tray_that_is_due_today_is_cut_today() -> None:
    one = only(certain(ready(order(0, 90))).advice)
    assert (one.do, one.trays, one.until) == ("cut", ("s.1",), MONDAY)
    assert one.message.startswith("Cut s.1 of radish today, for Copper Ladle 90 g")
    assert [(serve.customer, serve.grams) for serve in one.serves] == [("Copper Ladle", 90.0)]


def test_a_ready_tray_that_is_due_in_two_days_is_held_until_then() -> None:
    one = only(certain(ready(order(2, 90))).advice)
    assert (one.do, one.until) == ("hold", day(2))
    assert one.message.startswith("Hold s.1 of radish until Wed 2 Dec, for Copper Ladle 90 g on Wed 2 Dec")


def test_a_ready_tray_nobody_wants_in_its_window_may_go() -> None:
    one = only(certain(ready(order(9, 90))).advice)
    assert (one.do, one.serves) == ("let go", ())
    assert one.message.startswith("No order has a use for s.1 of radish")


def test_of_several_ready_trays_as_many_are_cut_as_today_takes_and_the_rest_is_held() -> None:
    advice = certain(ready(order(0, 150), order(2, 90), count=3)).advice
    assert sorted((one.do, len(one.trays)) for one in advice) == [("cut", 2), ("hold", 1)]
    named = [name for one in advice for name in one.trays]
    assert sorted(named) == ["s.1", "s.2", "s.3"]


def test_a_live_tray_is_held_for_its_customer() -> None:
    one = only(certain(ready(live(2, 1), products=(LIVE,))).advice)
    assert (one.do, one.until) == ("hold", day(2))
    assert one.serves[0].trays == 1


def test_trays_that_are_not_ready_get_no_advice() -> None:
    made = certain(stand(farm(order(2, 90), recipes=(WAITS,)), 1, stage="light", days_ago=1.0))
    assert made.advice == ()


def test_a_tray_for_a_day_off_is_cut_before_it() -> None:
    state = stand(farm(order(1, 90), recipes=(recipe(window=3, keeps=1),), days_off=(day(1),)), 1, stage="ready",
                  days_ago=1 / 24)  # fmt: skip
    assert only(certain(state).advice).until == MONDAY


# Earnings -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(4))
def test_what_crops_earn_adds_up_to_the_plans_money(seed: int) -> None:
    """Sales less packaging and costs. What throwing crop away costs is of no crop, and is left out of theirs."""
    made = told(some_farm(seed), effort=SOME)
    whole = sum(one.margin for one in earnings(Why(made)))
    money = read_money(made)
    assert whole == pytest.approx(money.margin + money.disposal, abs=0.02 * max(1.0, money.sales))


def test_a_lit_spots_day_earns_what_a_tray_brings_over_its_nights_in_the_light() -> None:
    """100 g at 0.10, less 0.10 of seed: 9.90 over three nights."""
    (one,) = certain(farm(order(5, 100), recipes=(recipe(window=0, keeps=0),))).earnings
    assert (one.crop, one.trays, one.spot_days, one.margin) == ("radish", 1, 3.0, 9.9)
    assert one.a_spot_day == pytest.approx(3.3)
    assert one.message.startswith("radish: 3.30 a lit spot and day")


def test_the_crop_that_earns_most_comes_first() -> None:
    made = certain(farm(order(5, 100, price=0.05), order(5, 100, product="pea", price=0.2),
                        recipes=(recipe(), recipe("pea"))))  # fmt: skip
    assert [one.crop for one in made.earnings] == ["pea", "radish"]


@pytest.mark.parametrize("seed", range(4))
def test_a_tray_more_or_less_is_worth_what_the_plan_says_with_it(seed: int) -> None:
    made = told(some_farm(seed), effort=SOME)
    found = {one.crop: one for one in earnings(Why(made))}
    for number, plot in enumerate(made.decision.plots):
        take, choices = made.decision.takes[number], plot.choices
        if plot.crop not in found:
            continue
        less = [cost_of(made.decision, _with(made.decision.takes, number, one, -1)) - made.decision.cost
                for one in range(len(take)) if take[one] > 0 and choices.way[one] >= 0]  # fmt: skip
        assert found[plot.crop].one_less == pytest.approx(min(less), abs=0.006)
        assert (found[plot.crop].one_more or 0.0) <= 0.005  # else the plan would have it


def _with(takes: list, number: int, one: int, change: int) -> list:  # type: ignore[type-arg]
    after = [take.copy() for take in takes]
    after[number][one] += change
    return after


def test_nobody_is_told_to_grow_more_of_what_there_is_no_seed_for() -> None:
    """Three trays wanted, seed for one."""
    made = certain(farm(order(5, 300), recipes=(recipe(window=0, keeps=0),), lots=(lot(grams=15.0),)))
    assert trays(made) == 1
    assert "grow more" not in made.earnings[0].message
    assert made.earnings[0].one_more is None


def test_sales_of_a_mix_are_shared_by_weight() -> None:
    made = certain(farm(order(5, 200, product="mix", price=0.1), products=(MIX,), money=Money(),
                        recipes=(recipe(window=0, keeps=0), recipe("pea", window=0, keeps=0))))  # fmt: skip
    assert [one.margin for one in made.earnings] == [pytest.approx(9.9), pytest.approx(9.9)]
    assert doubtful(farm()).earnings == ()


def in_the_dark(spots: int) -> FarmState:
    """A radish tray nobody wants in the dark, and kale due on the first day it can be, if it is sown today."""
    recipes = recipe("kale", window=0, keeps=0), recipe(window=0, keeps=0)
    state = farm(order(5, 90, product="kale"), recipes=recipes, dark=spots)
    return stand(state, 1, stage="germinate", days_ago=0.1)


def test_a_tray_in_the_place_of_one_that_is_wanted_is_to_be_cleared() -> None:
    one = only(certain(in_the_dark(spots=1)).advice)
    assert (one.do, one.trays, one.until, one.serves) == ("clear", ("s.1",), MONDAY, ())
    assert one.message == "Clear s.1 of radish today: no order has a use for it, and its place is wanted."


def test_where_there_is_room_a_tray_nobody_wants_yet_grows_on() -> None:
    assert certain(in_the_dark(spots=2)).advice == ()
