"""How far seed reaches, by hand: small sums on invented days."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import msgspec
import pytest

from tests.plan.farms import NOW, day, farm, order, recipe
from trayward.farm.crops import Fact
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, SeedLot, Sowing
from trayward.plan.seed_reach import (
    LEAD_DAYS,
    SeedReach,
    SeedUse,
    lately_used,
    planned_use,
    seed_reach,
    seed_reaches,
)
from trayward.plan.types import Limit, Plan, PlannedSowing

TODAY = day(0)


def lot(left: float, **fields: object) -> SeedLot:
    plain = SeedLot(lot="PEA-1", crop="pea", received_at=NOW, received_g=left, left_g=left)
    return msgspec.structs.replace(plain, **fields)


def on_order(grams: float, on: date, name: str = "PEA-2") -> SeedLot:
    return lot(grams, lot=name, left_g=0.0, expected_on=on)


def daily(grams: float, *sowings: tuple[int, float]) -> SeedUse:
    """So much on these days, then so many grams a day from the day after the last of them."""
    planned = tuple((day(number), taken) for number, taken in sowings)
    then = planned[-1][0] + timedelta(days=1) if planned else TODAY
    return SeedUse(crop="pea", basis="plan", sowings=planned, a_day_g=grams, then_on=then)


def reach(use: SeedUse | None, *lots: SeedLot, lead: float | None = None) -> SeedReach:
    return seed_reach("pea", use, lots, TODAY, lead)


def sowing(number: int, grams: float, *, trays: int = 2, cut: int = 10) -> PlannedSowing:
    return PlannedSowing(
        sow_on=day(number), crop="radish", recipe="radish", trays=trays, seed_g=grams,
        cut_on=day(number + cut), grams_expected=100.0,
    )  # fmt: skip


def plan_of(*sowings: PlannedSowing, weeks: int = 4, limits: tuple[Limit, ...] = ()) -> Plan:
    return Plan(made_at=NOW, first=day(0), last=day(7 * weeks - 1), sowings=sowings, limits=limits)


# How far --------------------------------------------------------------------------------------------------------------


def test_the_first_sowing_that_finds_too_little_is_the_day_it_runs_out() -> None:
    found = reach(daily(10.0, (1, 40.0), (3, 40.0), (5, 40.0)), lot(100.0))
    assert (found.runs_out, found.days_left, found.reckoned) == (day(5), 5, False)


def test_what_is_just_enough_is_enough() -> None:
    found = reach(daily(10.0, (1, 40.0), (3, 60.0)), lot(100.0))
    assert (found.runs_out, found.reckoned) == (day(4), True)


def test_beyond_what_is_planned_it_goes_on_at_the_same_use() -> None:
    """100 g less 40 g leaves 60 g, six days of 10 g from day 4 on; day 10 finds none."""
    found = reach(daily(10.0, (3, 40.0)), lot(100.0))
    assert (found.runs_out, found.reckoned, found.a_week_g) == (day(10), True, 70.0)


def test_seed_on_order_counts_from_its_day_on() -> None:
    use = daily(10.0, (1, 40.0), (5, 40.0))
    assert reach(use, lot(50.0), on_order(500.0, day(6))).runs_out == day(5)
    assert reach(use, lot(50.0), on_order(30.0, day(5))).runs_out == day(6)


def test_seed_on_order_beyond_the_plan_counts_only_if_it_comes_in_time() -> None:
    """30 g last days 0 to 2; what comes on day 3 goes on from there, what comes on day 4 is too late."""
    assert reach(daily(10.0), lot(30.0), on_order(20.0, day(3))).runs_out == day(5)
    late = reach(daily(10.0), lot(30.0), on_order(20.0, day(4)))
    assert (late.runs_out, late.coming_g, late.coming_on) == (day(3), 20.0, day(4))


def test_seed_that_is_late_is_counted_from_tomorrow() -> None:
    assert reach(daily(10.0), on_order(20.0, day(-3)), lot(10.0)).coming_on == day(1)


def test_treated_seed_is_not_sown_and_does_not_count() -> None:
    found = reach(daily(10.0), lot(30.0), lot(900.0, lot="PEA-9", treated=True))
    assert (found.here_g, found.runs_out) == (30.0, day(3))


@pytest.mark.parametrize(("lead", "by"), [(7.0, -4), (2.5, 0), (None, None)])
def test_more_is_ordered_as_many_days_before_as_it_takes_to_come(lead: float | None, by: int | None) -> None:
    found = reach(daily(10.0), lot(30.0), lead=lead)
    assert found.order_by == (day(by) if by is not None else None)


def test_with_no_use_or_more_than_a_year_of_seed_nothing_runs_out() -> None:
    assert reach(None, lot(30.0)).runs_out is None
    assert reach(daily(0.0), lot(30.0)).runs_out is None
    assert reach(daily(0.01), lot(30.0), lead=7.0).order_by is None


def test_with_none_left_today_finds_none() -> None:
    assert reach(daily(10.0), lot(0.0)).days_left == 0


# What is used ---------------------------------------------------------------------------------------------------------


def test_the_use_of_a_plan_is_reckoned_to_the_last_day_from_which_it_could_still_cut() -> None:
    """Four weeks end on day 27; trays take 10 days, so days 0 to 17 sow: 180 g over 18 days."""
    use = planned_use(plan_of(sowing(0, 60.0), sowing(7, 120.0)), farm(), TODAY)["radish"]
    assert use.sowings == ((day(0), 60.0), (day(7), 120.0))
    assert (use.a_day_g, use.then_on) == (pytest.approx(10.0), day(18))


def test_what_is_sown_already_or_long_past_is_not_counted_again() -> None:
    state = farm(order(9, 100), recipes=(recipe(),))
    state.sowings["s"] = Sowing(
        sowing="s", recipe="radish", crop="radish", sown_at=NOW + timedelta(hours=1), trays=("s.1",), lots={}
    )
    given_up = msgspec.structs.replace(sowing(-9, 500.0), recipe="radish on coir")
    plan = plan_of(given_up, sowing(0, 60.0))
    assert planned_use(plan, state, TODAY)["radish"].sowings == ((day(0), 30.0),)


def test_what_the_plan_missed_for_want_of_seed_is_wanted() -> None:
    limit = Limit(limit="seed of radish", first=day(4), last=day(4), has=0.0, short=25.0, unit="g")
    use = planned_use(plan_of(sowing(2, 60.0), limits=(limit,)), farm(), TODAY)["radish"]
    assert use.sowings == ((day(2), 60.0), (day(4), 25.0))


def settings() -> FarmSettings:
    return FarmSettings(name="Lantern Loft")


def sown(state: FarmState, name: str, ago: float, grams: float) -> None:
    at = NOW - timedelta(days=ago)
    state.sowings[name] = Sowing(sowing=name, recipe="pea", crop="pea", sown_at=at, trays=(), lots={"PEA-1": grams})


def test_without_a_plan_the_last_four_weeks_tell() -> None:
    state = FarmState(settings=settings(), began=datetime(2026, 1, 1, tzinfo=UTC), seed={"PEA-1": lot(100.0)})
    sown(state, "a", 40, 1000.0)
    sown(state, "b", 20, 140.0)
    sown(state, "c", 2, 140.0)
    assert lately_used(state, settings(), NOW)["pea"].a_day_g == pytest.approx(10.0)
    found = seed_reaches(state, settings(), None, NOW)["pea"]
    assert (found.basis, found.runs_out) == ("sown lately", day(10))


def test_a_young_book_is_not_taken_for_four_weeks() -> None:
    state = FarmState(settings=settings(), began=NOW - timedelta(days=14))
    sown(state, "a", 3, 140.0)
    assert lately_used(state, settings(), NOW)["pea"].a_day_g == pytest.approx(10.0)


def test_a_plan_that_is_over_is_not_asked() -> None:
    state = FarmState(settings=settings(), began=NOW - timedelta(days=100), seed={"PEA-1": lot(100.0)})
    old = msgspec.structs.replace(plan_of(sowing(0, 60.0)), first=day(-40), last=day(-1))
    assert seed_reaches(state, settings(), old, NOW)["pea"].basis == "sown lately"
    found = seed_reaches(state, settings(), plan_of(), NOW)["pea"]
    assert (found.basis, found.runs_out) == ("plan", None)


def test_how_long_seed_takes_to_come_is_the_farms_own_word() -> None:
    state = FarmState(settings=settings(), began=NOW - timedelta(days=100), seed={"PEA-1": lot(100.0)})
    state.crop_facts["pea"] = {LEAD_DAYS: Fact(value=4.0)}
    sown(state, "a", 2, 280.0)
    assert seed_reaches(state, settings(), None, NOW)["pea"].order_by == day(6)
