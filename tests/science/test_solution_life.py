"""A bucket of sanitiser through the morning: still good, to be measured, to be made new."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science.solution_life import check_solution


def test_a_fresh_strip_in_range_is_good() -> None:
    check = check_solution([(0, 200)], 30, 100, 200)
    assert (check.verdict, check.last_ppm, check.since_min, check.weak_at_min) == ("good", 200, 30, None)


def test_without_a_strip_nobody_knows() -> None:
    assert check_solution([], 10, 100).verdict == "measure"


def test_a_weak_strip_means_a_new_bucket_and_a_strong_one_more_water() -> None:
    assert check_solution([(0, 80)], 10, 100).verdict == "new"
    assert check_solution([(0, 300)], 10, 100, 200).verdict == "thin"


def test_an_old_bucket_is_made_new_whatever_the_strip_says() -> None:
    # Purdue Extension's vegetable page: bleach in use is changed about every 2 hours (start of the page seen).
    assert check_solution([(115, 200)], 120, 100).verdict == "new"
    assert check_solution([(115, 200)], 120, 100, change_after_min=240).verdict == "good"


def test_a_bucket_that_must_have_fallen_by_now_is_measured_first() -> None:
    check = check_solution([(0, 200), (30, 120)], 60, 100)
    assert check.verdict == "measure"
    assert "below 100 ppm by now" in check.words


@given(st.floats(150, 1000), st.floats(0.02, 0.9), st.floats(20, 100))
def test_the_pace_of_a_bucket_that_loses_the_same_share_every_hour_is_found_again(
    start: float, fall: float, least: float
) -> None:
    ages = [0.0, 20.0, 40.0, 60.0]
    strips = [(age, start * (1 - fall) ** (age / 60)) for age in ages]
    check = check_solution(strips, 60, min(least, strips[-1][1] / 2))
    assert check.fall_per_h == pytest.approx(fall, rel=1e-6)
    assert check.weak_at_min is not None
    assert start * (1 - fall) ** (check.weak_at_min / 60) == pytest.approx(min(least, strips[-1][1] / 2), rel=1e-6)


@given(st.lists(st.tuples(st.integers(0, 100), st.floats(1, 500)), max_size=6, unique_by=lambda strip: strip[0]))
def test_the_order_in_which_strips_are_told_does_not_matter(strips: list[tuple[int, float]]) -> None:
    assert check_solution(strips, 100, 100, 200) == check_solution(strips[::-1], 100, 100, 200)


@pytest.mark.parametrize(
    ("call", "rule"),
    [
        (lambda: check_solution([(50, 200)], 40, 100), r"age of a strip = 50 min: .* later than now"),
        (lambda: check_solution([], 40, 0), r"least ppm = 0 ppm: must be above 0"),
        (lambda: check_solution([], 40, 200, 100), r"most ppm = 100 ppm: must be above the least, 200"),
        (lambda: check_solution([(1, -5)], 40, 100), r"strip = -5 ppm"),
        (lambda: check_solution([(1, 5), (1, 6)], 40, 100), r"strips = twice at one age"),
        (lambda: check_solution([], math.nan, 100), r"age = nan min"),
    ],
)
def test_logs_that_cannot_be_are_refused(call, rule: str) -> None:
    with pytest.raises(InputError, match=rule):
        call()
