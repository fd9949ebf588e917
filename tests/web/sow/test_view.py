"""The plan as the page shows it."""

from __future__ import annotations

from msgspec.structs import replace

from tests.web.sow.conftest import TODAY, day
from trayward.farm.state import FarmState, Sowing
from trayward.plan.types import Plan, Serve
from trayward.web.sow.view import changes_by_day, plan_shown, together


def test_today_comes_first_and_days_a_week_off_are_folded(plan: Plan) -> None:
    shown = plan_shown(plan, FarmState(), TODAY)
    assert [one.recipe for one in shown.today.sowings] == ["broccoli on mesh mat", "radish on mesh mat"]
    assert shown.today.trays == 3
    assert shown.today.seed_g == 60.0
    assert shown.near == ()
    assert [one.day for one in shown.later] == [day(9)]
    assert shown.later_trays == 3


def test_of_two_trays_of_which_one_goes_out_live_both_are_told(plan: Plan) -> None:
    radish = plan_shown(plan, FarmState(), TODAY).today.sowings[1]
    assert (radish.cut_trays, radish.grams, radish.live_trays, radish.spare_trays) == (1, 100.0, 1, 0)


def test_a_sowing_not_done_on_its_day_is_late_the_day_after(plan: Plan) -> None:
    shown = plan_shown(plan, FarmState(), day(1))
    assert all(one.late for one in shown.today.sowings)
    assert len(shown.today.sowings) == 2


def test_what_is_sown_is_taken_off_and_told(plan: Plan) -> None:
    done = Sowing(
        sowing="261125A",
        recipe="radish on mesh mat",
        crop="radish",
        trays=("261125A.1",),
        lots=(),
        sown_at=plan.made_at,
    )
    shown = plan_shown(plan, FarmState(sowings={"261125A": done}), TODAY)
    radish = shown.today.sowings[1]
    assert (radish.left, radish.sown, radish.seed_g) == (1, ("261125A.1",), 20.0)
    assert [one.recipe for one in shown.done] == ["radish on mesh mat"]


def test_a_limit_with_a_price_binds_and_one_without_is_only_told(plan: Plan) -> None:
    shown = plan_shown(plan, FarmState(), TODAY)
    assert [(one.limit, one.worth) for one in shown.binding] == [("lit spots", 2.5)]
    assert shown.barred == ("Too late for basil.",)


def test_a_plan_whose_last_day_is_past_says_so(plan: Plan) -> None:
    assert not plan_shown(plan, FarmState(), day(20)).over
    assert plan_shown(plan, FarmState(), day(21)).over


def test_changes_stand_by_the_day_they_are_about(plan: Plan) -> None:
    more = replace(plan.changes[0], message="No longer: basil.", day=day(1))
    told = changes_by_day((*plan.changes, more), TODAY)
    assert told == ((day(1), ("No longer: basil.",)), (day(9), ("New: 1 tray of pea.",)))


def test_lines_of_a_customer_on_a_day_are_told_together_and_live_trays_apart() -> None:
    serves = tuple(
        Serve(line=f"{who}/{number}", customer=who, due=day(10), grams=grams, trays=trays)
        for number, (who, grams, trays) in enumerate(
            [("our table", 30.0, 0), ("Copper Ladle", 40.0, 0), ("our table", 30.0, 0), ("our table", 0.0, 1)]
        )
    )
    told = [(one.customer, one.grams, one.trays) for one in together(serves)]
    assert told == [("our table", 0.0, 1), ("our table", 60.0, 0), ("Copper Ladle", 40.0, 0)]
