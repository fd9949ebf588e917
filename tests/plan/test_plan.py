"""What a plan says: every line, why, when each stage is expected, and what changed."""

from __future__ import annotations

from datetime import timedelta

import msgspec
import numpy as np
import pytest

from tests.plan.farms import MONDAY, NOW, big_farm, day, farm, line, lot, order, plan, recipe, trays
from trayward.dates import day_words
from trayward.errors import InputError, PlanError
from trayward.farm.orders import Customer, LineAsked, Part, Product, StandingOrder
from trayward.farm.places import Shelf
from trayward.farm.state import FarmState
from trayward.outlook.ahead import look_ahead
from trayward.plan.days import Days
from trayward.plan.limits import Limits
from trayward.plan.make import make_plan
from trayward.plan.types import Plan
from trayward.plan.ways import stage_days
from trayward.plan.words import FEW, amount_words
from trayward.words import listed


def keep(state: FarmState, made: Plan) -> FarmState:
    """The farm after it kept a plan."""
    state.last_plan = msgspec.json.encode(made).decode()
    return state


def test_every_line_due_in_the_weeks_is_in_the_plan_met_or_not() -> None:
    state = farm(order(0, 50), order(8, 150), order(20, 50), order(21, 50))
    state.standing["home"] = StandingOrder(
        standing="home",
        customer="our table",
        start=MONDAY,
        rule="FREQ=WEEKLY;BYDAY=WE",
        lines=(LineAsked(line="1", product="radish", quantity=95.0),),
    )
    state.customers["our table"] = Customer(name="our table", home=True)
    made = plan(state)
    assert [one.line for one in made.lines] == [
        "radish-0/1",
        "home@2026-12-02/1",
        "radish-8/1",
        "home@2026-12-09/1",
        "home@2026-12-16/1",
        "radish-20/1",
    ]
    assert (made.first, made.last) == (MONDAY, day(20))
    assert [one.met for one in made.lines] == [False, False, True, True, True, True]


def test_what_is_delivered_already_is_not_grown_again() -> None:
    state = farm(order(8, 150))
    state.delivered["radish-8/1"] = 100.0
    made = plan(state)
    assert trays(made) == 1
    assert line(made, "radish-8/1").met_grams == 150.0
    assert "100 g delivered already" in line(made, "radish-8/1").why


def test_a_sowing_says_whom_it_serves_and_when_each_stage_is_expected() -> None:
    made = plan(farm(order(5, 100), recipes=(recipe(window=0, keeps=0),)))
    (sowing,) = made.sowings
    assert (sowing.sow_on, sowing.cut_on, sowing.trays, sowing.seed_g) == (MONDAY, day(5), 1, 10.0)
    assert [(stage.stage, stage.first, stage.last) for stage in sowing.stages] == [
        ("germinate", day(0), day(1)),
        ("light", day(2), day(4)),
        ("ready", day(5), day(5)),
    ]
    assert [(serve.line, serve.customer, serve.grams) for serve in sowing.serves] == [
        ("radish-5/1", "Copper Ladle", pytest.approx(100.0, abs=0.1))
    ]
    assert sowing.why == "For Copper Ladle 100 g on Sat 5 Dec; ready by Sat 5 Dec, counted with caution."
    assert sowing.grams_expected == pytest.approx(100.0)
    assert line(made, "radish-5/1").why == "From radish sown Mon 30 Nov, cut Sat 5 Dec."


def test_caution_asks_for_more_trays_and_earlier_sowing() -> None:
    """The cautious weight lies below the likely one, so the plan counts on less than it expects."""
    bold, careful = farm(order(12, 480)), farm(order(12, 480))
    assert careful.settings is not None
    careful.settings = msgspec.structs.replace(careful.settings, caution=0.9)
    assert trays(plan(bold)) == 5
    assert trays(plan(careful)) == 6


def test_the_dearer_recipe_of_a_crop_is_used_only_where_the_other_is_too_slow() -> None:
    quick = recipe(name="quick radish", dark=1, light=2, medium=1.0, window=0, keeps=0)
    slow = recipe(window=0, keeps=0)
    made = plan(farm(order(3, 100), order(9, 100), recipes=(slow, quick)))
    assert [(sowing.recipe, sowing.cut_on) for sowing in made.sowings] == [("quick radish", day(3)), ("radish", day(9))]


def test_a_dropped_recipe_is_not_sown() -> None:
    state = farm(order(9, 100))
    state.dropped_recipes.add("radish")
    assert plan(state).sowings == ()


@pytest.mark.parametrize("weeks", [2, 9])
def test_a_plan_runs_three_to_eight_weeks(weeks: int) -> None:
    with pytest.raises(InputError, match=rf"weeks = {weeks} weeks: must lie in \[3, 8\]"):
        plan(farm(), weeks=weeks)


def test_a_farm_without_settings_cannot_be_planned() -> None:
    state = FarmState()
    with pytest.raises(PlanError, match="no settings yet"):
        make_plan(state, look_ahead(state, NOW), NOW)


def test_a_farm_without_orders_has_an_empty_plan() -> None:
    made = plan(farm())
    assert (made.sowings, made.lines, made.limits, made.objective) == ((), (), (), 0.0)


# Changes --------------------------------------------------------------------------------------------------------------


def test_the_first_plan_has_no_changes_and_the_same_again_has_none_either() -> None:
    state = farm(order(8, 150))
    first = plan(state)
    assert first.changes == ()
    assert plan(keep(state, first)).changes == ()


def test_a_new_order_shows_as_a_sowing_of_another_size_or_an_added_one() -> None:
    state = farm(order(8, 100), recipes=(recipe(window=0, keeps=0),))
    keep(state, plan(state))
    state.orders["more"] = order(8, 100, name="more")
    state.orders["later"] = order(12, 100, name="later")
    said = {(change.what, change.message) for change in plan(state).changes}
    assert ("trays changed", "radish on Thu 3 Dec: 2 trays instead of 1.") in said
    assert ("sowing added", "New: 1 tray of radish on Mon 7 Dec.") in said


def test_a_cancelled_and_a_moved_order_show_as_a_sowing_gone_and_one_moved() -> None:
    state = farm(order(8, 100), order(12, 200, name="b"), recipes=(recipe(window=0, keeps=0),))
    keep(state, plan(state))
    del state.orders["radish-8"]
    state.orders["b"] = order(13, 200, name="b")
    said = {(change.what, change.message) for change in plan(state).changes}
    assert ("sowing gone", "No longer: 1 tray of radish on Thu 3 Dec.") in said
    assert ("sowing moved", "2 trays of radish moved from Mon 7 Dec to Tue 8 Dec.") in said


def test_a_line_no_longer_met_and_one_newly_met_show() -> None:
    state = farm(order(8, 100), recipes=(recipe(window=0, keeps=0),))
    keep(state, plan(state))
    full = dict(state.shelves)
    state.shelves["L"] = Shelf(name="L", rack="L", room="loft", kind="lit", spots=0)
    worse = plan(state)
    assert "No longer met: Copper Ladle, radish on Tue 8 Dec, 100 g short." in [c.message for c in worse.changes]
    state.shelves = full
    better = plan(keep(state, worse))
    assert "Now met: Copper Ladle, radish on Tue 8 Dec." in [c.message for c in better.changes]


# Parts ----------------------------------------------------------------------------------------------------------------


def test_unlike_dark_shelves_count_by_their_mean_stack() -> None:
    """4 positions two high and 2 positions one high hold 10 trays: each takes 0.6 of a position."""
    state = farm(dark=4, dark_stack=2)
    state.shelves["D2"] = Shelf(name="D2", rack="D", room="loft", kind="dark", spots=2)
    assert state.settings is not None
    limits = Limits(state, state.settings, Days(state.settings, MONDAY, 21), NOW)
    assert limits.position_share("dark", 5) == pytest.approx(6 / 10)
    assert limits.position_share("dark", 1) == pytest.approx(1.0)


def test_todays_work_done_already_is_off_todays_minutes() -> None:
    state = farm(recipes=(recipe(minutes=(30, 0, 0, 0)),), work=(60.0,) * 7)
    assert state.settings is not None
    days = Days(state.settings, MONDAY, 21)
    from tests.plan.test_limits import stand

    stand(state, 1, days_ago=-2.0)  # sown this very moment
    assert list(Limits(state, state.settings, days, NOW).has[2][:2]) == [30.0, 60.0]


def test_days_off_pass_their_work_on_and_back() -> None:
    state = farm(days_off=(day(2), day(3)))
    assert state.settings is not None
    days = Days(state.settings, MONDAY, 21)
    assert list(days.next_open(np.array([1, 2, 3, 4]))) == [1, 4, 4, 4]
    assert [days.last_open(number) for number in (1, 2, 3, 4)] == [1, 1, 1, 4]


def test_stages_are_stretched_to_the_cautious_day_and_short_ones_may_take_no_night() -> None:
    assert stage_days([0.3, 3.3, 8.0], 9) == (0, 0, 4, 9)


def test_words() -> None:
    assert day_words(MONDAY) == "Mon 30 Nov"
    assert listed(["a", "b", "c", "d", "e"], most=FEW) == "a, b, c, d and 1 more"
    assert (amount_words(12.4, "g"), amount_words(2.5, "spots"), amount_words(3.0, "min")) == (
        "12 g",
        "2.5 spots",
        "3 min",
    )


# A whole farm ---------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def loft() -> tuple[FarmState, Plan]:
    state = big_farm(spots=96, crops=14, lines=60)
    return state, plan(state, weeks=4)


def test_a_loft_is_planned_to_a_proven_gap_with_every_line_answered(loft: tuple[FarmState, Plan]) -> None:
    _, made = loft
    assert made.gap <= 0.006
    assert len(made.lines) == 4 * 60
    assert all(one.why for one in made.lines)
    assert not any("Stopped after" in note for note in made.notes)


def test_a_lofts_plan_gives_away_no_more_than_it_grows_and_keeps_its_days_off(loft: tuple[FarmState, Plan]) -> None:
    state, made = loft
    outlook = look_ahead(state, NOW)
    for sowing in made.sowings:
        cautious = outlook.cautious_grams(state.recipes[sowing.recipe])
        assert cautious is not None
        served = sum(serve.grams for serve in sowing.serves)
        assert served <= cautious * sum(cut.trays for cut in sowing.cuts) + 1.0
        assert sowing.sow_on.weekday() != 6
        assert all(cut.cut_on.weekday() != 6 for cut in sowing.cuts)
        for serve in sowing.serves:
            assert min(cut.cut_on for cut in sowing.cuts) <= serve.due
            assert serve.due <= max(cut.cut_on for cut in sowing.cuts) + timedelta(days=5)


def test_a_lofts_plan_stays_within_its_lit_spots_every_night(loft: tuple[FarmState, Plan]) -> None:
    _, made = loft
    for number in range(28):
        night = day(number)
        lit = sum(
            cut.trays for sowing in made.sowings for cut in sowing.cuts if sowing.stages[1].first <= night < cut.cut_on
        )
        assert lit <= 96


def test_a_lofts_lines_get_what_the_sowings_give(loft: tuple[FarmState, Plan]) -> None:
    _, made = loft
    given: dict[str, float] = {}
    for sowing in made.sowings:
        for serve in sowing.serves:
            given[serve.line] = given.get(serve.line, 0.0) + serve.grams
    for one in made.lines:
        assert one.met_grams == pytest.approx(given.get(one.line, 0.0), abs=1.0)


def test_a_priced_pack_pays_for_its_packaging() -> None:
    punnet = Product(name="punnet", parts=(Part(crop="radish"),), pack_g=50.0, price=3.0, price_per="pack")
    state = farm(order(8, 2, product="punnet", unit="packs", price=3.0), products=(punnet,), lots=(lot(),))
    assert state.settings is not None
    state.settings = msgspec.structs.replace(
        state.settings, money=msgspec.structs.replace(state.settings.money, packaging=0.2)
    )
    assert plan(state).money.packaging == pytest.approx(0.4)
