"""Thermal time of days, schedules and logs."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science.degree_days import (
    Days,
    degree_days_mean,
    degree_days_triangle,
    degrees_of_day,
    mean_of_log,
    thermal_time_of_log,
)
from trayward.science.growth import degree_days, degrees_above

BASE = st.floats(-5.0, 12.0)


# Days -----------------------------------------------------------------------------------------------------------------


@given(st.floats(-10, 30), st.floats(0, 20), BASE)
def test_sine_and_triangle_lie_close_and_never_below_the_mean(low: float, swing: float, base: float) -> None:
    high = low + swing
    triangle, sine = degree_days_triangle(low, high, base), degree_days(low, high, base)
    assert triangle >= degree_days_mean((low + high) / 2, base) - 1e-9
    assert abs(triangle - sine) <= 0.1 * swing + 1e-9  # the sine stays longer at its ends


def test_a_day_above_the_base_is_its_mean_less_the_base_and_one_below_it_nothing() -> None:
    assert degree_days_triangle(15, 25, 4) == pytest.approx(16)
    assert degree_days_triangle(-3, 2, 4) == 0.0


def test_a_day_whose_lowest_is_above_its_highest_is_refused() -> None:
    with pytest.raises(InputError, match=r"high_c = 10 °C: must lie in \[20, 60\] °C. The day's highest comes second"):
        degree_days_triangle(20, 10, 4)


@given(st.floats(5, 35), BASE)
def test_a_steady_schedule_is_the_steady_temperature(temp: float, base: float) -> None:
    assert degrees_of_day(Days.steady(temp), base) == pytest.approx(degrees_above(temp, base))


def test_a_schedule_counts_its_day_and_its_night_each() -> None:
    """A night below the base brings nothing and takes nothing away: more than the mean says."""
    days = Days(day_c=20.0, night_c=0.0, day_hours=12.0)
    assert degrees_of_day(days, 5.0) == pytest.approx(7.5)
    assert days.mean_c - 5.0 == pytest.approx(5.0)


@given(st.floats(0, 24), st.floats(0.1, 5))
def test_a_warmer_day_never_brings_less(hours: float, more: float) -> None:
    cool, warm = (Days(day_c=temp, night_c=12.0, day_hours=hours) for temp in (18.0, 18.0 + more))
    assert degrees_of_day(warm, 4.0) >= degrees_of_day(cool, 4.0)


def test_a_day_of_25_hours_is_refused() -> None:
    with pytest.raises(InputError, match=r"day_hours = 25 h: must lie in \[0, 24\] h"):
        degrees_of_day(Days(day_c=20.0, night_c=16.0, day_hours=25.0), 4.0)


# Logs -----------------------------------------------------------------------------------------------------------------

TEMPS = st.lists(st.floats(-5, 40), min_size=3, max_size=30)


@given(TEMPS, BASE)
def test_a_log_split_in_two_brings_the_same(temps: list[float], base: float) -> None:
    hours = np.arange(len(temps)) * 1.5
    whole = thermal_time_of_log(hours, temps, base).total_c_d
    cut = len(temps) // 2
    parts = [(hours[: cut + 1], temps[: cut + 1]), (hours[cut:], temps[cut:])]
    split = sum(thermal_time_of_log(*part, base).total_c_d for part in parts if len(part[0]) > 1)
    assert whole == pytest.approx(split, rel=1e-9, abs=1e-9)


@given(TEMPS, BASE)
def test_readings_put_between_two_on_their_line_change_nothing(temps: list[float], base: float) -> None:
    hours = np.arange(len(temps)) * 2.0
    fine = np.unique(np.concatenate([hours, hours[:-1] + 0.7, hours[:-1] + 1.3]))
    between = np.interp(fine, hours, temps)
    plain, closer = (thermal_time_of_log(at, read, base).total_c_d for at, read in ((hours, temps), (fine, between)))
    assert closer == pytest.approx(plain, rel=1e-7, abs=1e-7)


@given(TEMPS, BASE, st.floats(0.1, 3))
def test_a_lower_base_never_brings_less(temps: list[float], base: float, less: float) -> None:
    hours = np.arange(len(temps)) * 1.0
    here, lower = (thermal_time_of_log(hours, temps, each).total_c_d for each in (base, base - less))
    assert lower >= here - 1e-9


def test_a_line_through_the_base_and_the_top_is_broken_there() -> None:
    # From 0 to 30 °C in a day over a base of 10: a third below, half rising to 25, a sixth flat: 15 (1/2 1/2 + 1/6).
    log = thermal_time_of_log([0, 24], [0.0, 30.0], 10.0, gap_h=24)
    assert log.total_c_d == pytest.approx(15 * (1 / 4 + 1 / 6))


def test_a_gap_is_named_and_not_counted() -> None:
    log = thermal_time_of_log([0, 1, 20, 21], [14.0, 14.0, 14.0, 14.0], 4.0)
    assert log.total_c_d == pytest.approx(10 * 2 / 24)
    assert log.gaps.tolist() == [[1.0, 20.0]]
    assert log.gap_c_d == pytest.approx(10 * 19 / 24)
    assert log.logged_h == 2.0


def test_what_was_not_reached_is_never_made_a_time() -> None:
    log = thermal_time_of_log([0, 6, 12], [14.0, 14.0, 14.0], 4.0)
    assert log.reached_h(2.5) == pytest.approx(6.0)
    assert log.reached_h(0.0) == 0.0
    assert log.reached_h(5.1) == math.inf


def test_the_mean_of_a_log_weighs_its_uneven_steps() -> None:
    assert mean_of_log([0, 1, 10], [10.0, 20.0, 20.0]) == pytest.approx((15 + 9 * 20) / 10)


@pytest.mark.parametrize(
    ("hours", "temps", "message"),
    [
        ([0.0], [20.0], "readings = 1: there must be two or more"),
        ([0.0, 2.0, 1.0], [20.0, 20.0, 20.0], r"hours\[2\] = 1 h: must come after the one before"),
        ([0.0, 1.0], [20.0, 70.0], r"temps_c\[1\] = 70 °C: must lie in \[-20, 60\] °C. Drop the reading"),
        ([0.0, 1.0], [20.0, math.nan], r"temps_c\[1\] = nan °C"),
    ],
)
def test_a_log_that_is_none_is_refused(hours: list[float], temps: list[float], message: str) -> None:
    with pytest.raises(InputError, match=message):
        thermal_time_of_log(hours, temps, 4.0)
