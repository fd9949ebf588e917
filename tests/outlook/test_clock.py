"""How calendar time becomes warmth: hand-worked spans, and what must hold whatever was measured."""

from __future__ import annotations

import math
import subprocess
import sys
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trayward.farm.places import Shelf
from trayward.farm.state import FarmState, Reading, Sowing
from trayward.outlook.clock import Climate
from trayward.science.growth import pace

MONDAY = datetime(2026, 11, 2, 6, 0, tzinfo=UTC)
DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
BASE, AT = 3.0, 21.0
"""Lengths hold at 21 °C, above a base of 3 °C: 12 °C is half the pace."""
LOFT = (
    Shelf(name="A1", rack="A", room="loft", kind="dark", spots=4),
    Shelf(name="A2", rack="A", room="loft", kind="lit", spots=4),
)
CELLAR = Shelf(name="C1", rack="C", room="cellar", kind="dark", spots=4)


def farm(*readings: tuple[float, float], where: str = "loft", shelves: tuple[Shelf, ...] = LOFT) -> FarmState:
    """A farm whose thermometer said so many °C so many days after Monday."""
    taken = [Reading(MONDAY + DAY * days, "temperature", temp, where) for days, temp in readings]
    return FarmState(shelves={shelf.name: shelf for shelf in shelves}, readings=taken)


def days(climate: Climate, start: float, end: float, room: str = "loft") -> float:
    return climate.standard_days(room, BASE, AT, MONDAY + DAY * start, MONDAY + DAY * end)


# Worked by hand -------------------------------------------------------------------------------------------------------


def test_without_readings_a_day_is_a_day():
    climate = Climate(farm())
    assert climate.logs_nothing
    assert days(climate, 0, 2.5) == 2.5
    assert climate.mean_pace("loft", BASE, AT, MONDAY, MONDAY + DAY) == 1.0


def test_without_readings_no_numpy_is_loaded():
    words = (
        "import sys; from datetime import datetime; from trayward.farm.state import FarmState;"
        "from trayward.outlook.clock import Climate;"
        "Climate(FarmState()).standard_days('loft', 3.0, 21.0, datetime(2026, 3, 1), datetime(2026, 3, 2));"
        "print('numpy' in sys.modules)"
    )
    told = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "False"


def test_a_stage_whose_temperatures_nobody_knows_runs_on_calendar_time():
    climate = Climate(farm((0, 12.0), (1, 12.0)))
    assert climate.standard_days("loft", None, AT, MONDAY, MONDAY + DAY) == 1.0
    assert climate.standard_days("loft", BASE, None, MONDAY, MONDAY + DAY) == 1.0


def test_a_room_at_the_midpoint_between_base_and_usual_runs_at_half_the_pace():
    climate = Climate(farm((0, 12.0), (1, 12.0), (2, 12.0)))
    assert days(climate, 0.25, 1.75) == pytest.approx(0.75, rel=1e-12)


def test_between_two_readings_a_day_apart_the_temperature_runs_straight():
    # 12 °C to 21 °C: pace 1/2 to 1. Whole day: 3/4. First half: from 1/2 to 3/4, mean 5/8, so 5/16.
    climate = Climate(farm((0, 12.0), (1, 21.0)))
    assert days(climate, 0, 1) == pytest.approx(0.75, rel=1e-12)
    assert days(climate, 0, 0.5) == pytest.approx(5 / 16, rel=1e-12)


def test_a_line_through_the_base_counts_only_its_part_above():
    # -3 °C to 9 °C crosses the base of 3 °C at half time; then 0 to 6 of 18 degrees: mean pace 1/6 for half a day.
    climate = Climate(farm((0, -3.0), (1, 9.0)))
    assert days(climate, 0, 1) == pytest.approx(1 / 12, rel=1e-9)
    assert days(climate, 0, 0.5) == pytest.approx(0.0, abs=1e-9)


def test_warmth_above_the_straight_part_of_the_line_counts_no_more():
    # 21 °C to 29 °C: half the day from 18 to 22 degrees above the base, then 22 for the other half; all over 18.
    climate = Climate(farm((0, 21.0), (1, 29.0)))
    assert days(climate, 0, 1) == pytest.approx((20 / 18 + 22 / 18) / 2, rel=1e-9)


def test_before_the_first_reading_time_passes_as_the_calendar_says():
    climate = Climate(farm((0, 12.0), (1, 12.0)))
    assert days(climate, -3, 0) == pytest.approx(3.0, rel=1e-12)
    assert days(climate, -1, 1) == pytest.approx(1.5, rel=1e-12)


def test_after_the_last_reading_the_mean_pace_of_seven_days_holds():
    # Days 0 to 3 at 21 °C, then a straight day down, days 4 to 10 at 12 °C. The last seven days hold that fall (3/4)
    # and six days at half pace: 3.75 / 7.
    readings = [(day, 21.0 if day <= 3 else 12.0) for day in range(11)]
    climate = Climate(farm(*readings))
    assert days(climate, 10, 14) == pytest.approx(4 * 3.75 / 7, rel=1e-12)


def test_after_a_single_reading_its_own_pace_holds():
    climate = Climate(farm((0, 12.0)))
    assert days(climate, 0, 2) == pytest.approx(1.0, rel=1e-12)


def test_over_a_gap_the_pace_from_before_holds_whatever_was_read_after_it():
    climate = Climate(farm((0, 12.0), (1, 12.0), (4, 21.0), (5, 21.0)))
    assert days(climate, 1, 4) == pytest.approx(1.5, rel=1e-12)
    assert days(climate, 4, 5) == pytest.approx(1.0, rel=1e-12)


def test_thirty_six_hours_are_no_gap_and_a_minute_more_is_one():
    assert days(Climate(farm((0, 12.0), (1.5, 21.0))), 0, 1.5) == pytest.approx(1.5 * 0.75, rel=1e-12)
    longer = 1.5 + 1 / 1440
    assert days(Climate(farm((0, 12.0), (longer, 21.0))), 0, 1.5) == pytest.approx(0.75, rel=1e-12)


def test_two_thermometers_read_at_once_count_as_their_mean():
    climate = Climate(farm((0, 10.0), (0, 14.0), (1, 12.0)))
    assert days(climate, 0, 1) == pytest.approx(0.5, rel=1e-12)


def test_the_pace_of_a_span_is_standard_days_a_calendar_day():
    climate = Climate(farm((0, 12.0), (1, 21.0)))
    assert climate.mean_pace("loft", BASE, AT, MONDAY, MONDAY + DAY) == pytest.approx(0.75, rel=1e-12)
    assert climate.mean_pace("loft", BASE, AT, MONDAY, MONDAY) == 1.0


def test_calendar_days_until_a_stage_is_done():
    # 12 °C to 21 °C in a day, then the mean pace of that day, 3/4, for ever.
    climate = Climate(farm((0, 12.0), (1, 21.0)))
    took = climate.calendar_days("loft", BASE, AT, MONDAY, np.array([0.0, 5 / 16, 0.75, 1.5, 3.75]))
    assert took == pytest.approx([0.0, 0.5, 1.0, 2.0, 5.0], abs=1e-9)


def test_in_a_room_below_the_base_a_stage_never_ends():
    climate = Climate(farm((0, 2.0), (1, 2.0)))
    took = climate.calendar_days("loft", BASE, AT, MONDAY + DAY, np.array([0.0, 0.5]))
    assert took[0] == 0.0
    assert took[1] == math.inf


def test_calendar_days_without_readings_are_the_standard_days():
    took = Climate(farm()).calendar_days("loft", BASE, AT, MONDAY, np.array([0.5, 3.0]))
    assert took.tolist() == [0.5, 3.0]


# Which room -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("where", ["loft", "Loft", "A", "a2", "A2.3"])
def test_a_reading_counts_for_the_room_its_place_is_in(where: str):
    climate = Climate(farm((0, 12.0), where=where, shelves=(*LOFT, CELLAR)))
    assert climate.logged("loft")
    assert days(climate, 0, 1) == pytest.approx(0.5)
    assert days(climate, 0, 1, room="cellar") == 1.0


def test_a_reading_of_no_place_is_the_room_of_a_farm_that_has_one():
    assert days(Climate(farm((0, 12.0), where="")), 0, 1) == pytest.approx(0.5)


def test_a_reading_of_no_place_on_a_farm_of_two_rooms_is_left_out_and_named():
    climate = Climate(farm((0, 12.0), where="", shelves=(*LOFT, CELLAR)))
    assert climate.logs_nothing
    (finding,) = climate.findings
    assert finding.code == "reading-nowhere"
    assert "2026-11-02 06:00 UTC = 12 °C" in finding.message


def test_the_water_in_the_tank_is_no_room():
    climate = Climate(farm((0, 12.0), where="tank"))
    assert climate.logs_nothing
    assert climate.findings == []


def test_only_temperatures_count():
    state = farm()
    state.readings.append(Reading(MONDAY, "humidity", 12.0, "loft"))
    assert Climate(state).logs_nothing


def test_a_spot_is_in_the_room_of_its_shelf_and_an_unknown_one_in_the_only_room():
    one, two = Climate(farm()), Climate(farm(shelves=(*LOFT, CELLAR)))
    assert two.room_of("C1.3") == "cellar"
    assert one.room_of(None) == one.room_of("Z9.1") == "loft"
    assert two.room_of(None) == ""


# Odd readings ---------------------------------------------------------------------------------------------------------


def test_absurd_readings_are_left_out_and_named_once_a_place():
    climate = Climate(farm((0, 12.0), (0.5, 70.0), (0.75, 71.0), (1, 12.0)))
    assert days(climate, 0, 1) == pytest.approx(0.5, rel=1e-12)
    (finding,) = climate.findings
    assert finding.code == "reading-absurd"
    assert "temperature at loft, 2026-11-02 18:00 UTC = 70 °C (and 1 more like it)" in finding.message


@pytest.mark.parametrize("temp", [math.nan, math.inf, -60.0])
def test_what_is_no_room_temperature_never_gets_into_the_clock(temp: float):
    climate = Climate(farm((0, 12.0), (0.5, temp), (1, 12.0)))
    assert days(climate, 0, 1) == pytest.approx(0.5, rel=1e-12)
    assert [finding.code for finding in climate.findings] == ["reading-absurd"]


def test_a_reading_from_the_future_comes_from_a_clock_set_wrong():
    climate = Climate(farm((0, 12.0), (1, 12.0), (400, 21.0)), at=MONDAY + 2 * DAY)
    assert [finding.code for finding in climate.findings] == ["reading-clock"]
    assert days(climate, 1, 3) == pytest.approx(1.0, rel=1e-12)


def test_a_reading_from_long_before_the_first_sowing_comes_from_a_clock_set_wrong():
    state = farm((-20_000, 21.0), (0, 12.0), (1, 12.0))
    state.sowings["s"] = Sowing(sowing="s", recipe="r", crop="c", sown_at=MONDAY, trays=("s.1",), lots={})
    climate = Climate(state)
    assert [finding.code for finding in climate.findings] == ["reading-clock"]
    assert days(climate, -3, 0) == pytest.approx(3.0, rel=1e-12)


def test_a_recipe_whose_temperatures_make_no_sense_runs_on_calendar_time_and_is_named():
    climate = Climate(farm((0, 12.0), (1, 12.0)))
    assert climate.standard_days("loft", 20.0, 18.0, MONDAY, MONDAY + DAY) == 1.0
    assert [finding.code for finding in climate.findings] == ["stage-warmth"]


# What must hold whatever was measured ---------------------------------------------------------------------------------

readings = st.lists(
    st.tuples(st.integers(0, 40 * 24), st.floats(-5, 50, allow_nan=False)), min_size=1, max_size=40
).map(lambda pairs: tuple(sorted((hours / 24, temp) for hours, temp in pairs)))
moments = st.floats(-5, 60, allow_nan=False)
examples = settings(max_examples=200, deadline=None)


@examples
@given(readings, moments, moments, moments)
def test_the_parts_of_a_span_add_up(taken: tuple[tuple[float, float], ...], first: float, second: float, third: float):
    climate = Climate(farm(*taken))
    start, middle, end = sorted((first, second, third))
    parts = days(climate, start, middle) + days(climate, middle, end)
    assert parts == pytest.approx(days(climate, start, end), abs=1e-6)
    assert parts >= 0


@examples
@given(readings, moments, st.lists(st.floats(0, 40, allow_nan=False), min_size=1, max_size=5))
def test_calendar_days_turn_standard_days_back(
    taken: tuple[tuple[float, float], ...], start: float, wanted: list[float]
):
    climate, begin = Climate(farm(*taken)), MONDAY + DAY * start
    took = climate.calendar_days("loft", BASE, AT, begin, np.array(wanted))
    for standard, calendar in zip(wanted, took.tolist(), strict=True):
        assert calendar >= 0
        if calendar < 1e6:
            # datetime keeps microseconds, and no pace is above 22/18.
            assert climate.standard_days("loft", BASE, AT, begin, begin + DAY * calendar) == pytest.approx(
                standard, abs=1e-6
            )


@examples
@given(readings, st.lists(st.tuples(moments, moments), min_size=1, max_size=5))
def test_many_spans_at_once_are_as_one_by_one(taken: tuple[tuple[float, float], ...], spans: list[tuple[float, float]]):
    climate = Climate(farm(*taken))
    start, end = (np.array([(MONDAY + DAY * span[side]).timestamp() for span in spans]) for side in (0, 1))
    together = climate.standard_days_many("loft", BASE, AT, start, end)
    assert together == pytest.approx([days(climate, *span) for span in spans], abs=1e-6)


@examples
@given(readings, readings, moments, moments)
def test_later_readings_leave_the_past_as_it_was(
    taken: tuple[tuple[float, float], ...], later: tuple[tuple[float, float], ...], first: float, second: float
):
    last = taken[-1][0]
    more = tuple((last + day + 1 / 24, temp) for day, temp in later)
    start, end = sorted((min(first, last), min(second, last)))
    assert days(Climate(farm(*taken, *more)), start, end) == pytest.approx(
        days(Climate(farm(*taken)), start, end), abs=1e-9
    )


@examples
@given(readings, moments)
def test_the_climate_known_by_a_moment_is_that_of_the_readings_taken_by_then(
    taken: tuple[tuple[float, float], ...], moment: float
):
    at = MONDAY + DAY * moment
    earlier = Climate(farm(*taken)).known_by(at)
    only = Climate(farm(*(pair for pair in taken if MONDAY + DAY * pair[0] <= at)))
    assert days(earlier, -5, 60) == days(only, -5, 60)


@examples
@given(st.floats(-5, 50), st.floats(-10, 19), st.floats(0.5, 10))
def test_a_steady_room_goes_at_the_pace_of_the_science(temp: float, base: float, above: float):
    climate = Climate(farm((0, temp), (1, temp)))
    gone = climate.standard_days("loft", base, base + above, MONDAY, MONDAY + DAY)
    assert gone == pytest.approx(pace(temp, base, base + above), rel=1e-9, abs=1e-12)
