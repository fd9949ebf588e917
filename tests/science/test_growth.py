"""Thermal time and the pace of stages."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science.growth import days_to_emergence, degree_days, pace, stage_days


def test_at_its_own_temperature_a_stage_keeps_its_length() -> None:
    assert stage_days(3.0, 21.0, 2.6, 21.0) == pytest.approx(3.0)


def test_half_the_degrees_above_the_base_take_twice_as_long() -> None:
    assert stage_days(3.0, 11.0, 1.0, 21.0) == pytest.approx(6.0)


def test_nothing_moves_at_or_below_the_base() -> None:
    assert stage_days(3.0, 2.0, 2.6, 21.0) == math.inf
    assert days_to_emergence(2.6, 2.6, 110.0) == math.inf
    assert pace(0.0, 2.6, 21.0) == 0.0


def test_without_a_base_a_stage_runs_on_calendar_time() -> None:
    assert stage_days(3.0, 5.0, None, 21.0) == 3.0
    assert stage_days(3.0, 5.0, 2.6, None) == 3.0


def test_warmth_beyond_the_straight_part_is_not_counted() -> None:
    assert stage_days(3.0, 35.0, 2.6, 21.0) == stage_days(3.0, 25.0, 2.6, 21.0)


@given(st.floats(5, 30), st.floats(0.1, 5))
def test_warmer_is_never_slower(temp: float, more: float) -> None:
    assert stage_days(3.0, temp + more, 2.6, 21.0) <= stage_days(3.0, temp, 2.6, 21.0)


def test_degree_days_of_a_day_that_crosses_the_base_match_a_published_example() -> None:
    # GERM-07: TrenchR package reference, degree_days() example, single sine: 7 to 14 C, base 12 C gives 0.47.
    assert degree_days(7, 14, 12) == pytest.approx(0.47, abs=0.005)


def test_degree_days_of_a_day_above_the_base_are_its_mean_less_the_base() -> None:
    # GERM-09: University of California IPM, "A simple way to calculate degree-days": 64 F mean, 53 F base, 11 F days.
    base, low, high = (53 - 32) / 1.8, (58 - 32) / 1.8, (70 - 32) / 1.8
    assert degree_days(low, high, base) == pytest.approx(11 / 1.8)


def test_a_day_below_the_base_counts_nothing() -> None:
    assert degree_days(2, 8, 8) == 0.0
    assert degree_days(5, 5, 5) == 0.0


@given(st.floats(-5, 20), st.floats(0, 15), st.floats(0, 15))
def test_degree_days_lie_between_nothing_and_the_days_highest(low: float, swing: float, base: float) -> None:
    counted = degree_days(low, low + swing, base)
    assert -1e-9 <= counted <= max(low + swing - base, 0) + 1e-9


@pytest.mark.parametrize(
    ("call", "rule"),
    [
        (lambda: pace(70, 2, 21), r"temp_c = 70 °C: must lie in \[-20, 60\] °C. If this is Fahrenheit"),
        (lambda: pace(math.nan, 2, 21), r"temp_c = nan °C"),
        (lambda: pace(20, 2, 2), r"at_c = 2 °C: must lie above the base temperature, 2 °C"),
        (lambda: stage_days(-1, 20, None, None), r"days = -1 d: must not be below zero"),
        (lambda: days_to_emergence(20, 2, 0), r"thermal_time_c_d = 0 °C d: must be above zero"),
        (lambda: degree_days(10, 5, 2), r"high_c = 5 °C: must lie in \[10, 60\]"),
    ],
)
def test_values_out_of_range_are_refused_with_the_way_out(call, rule: str) -> None:
    with pytest.raises(InputError, match=rule):
        call()
