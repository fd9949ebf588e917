"""Repeats against the examples of RFC 5545 (B. Desruisseaux, ed., 2009), section 3.8.5.3, doi 10.17487/RFC5545.

The examples are quoted from memory; the RFC itself was not read for this. Delivery days are whole days, so the time of
day in the examples is left out.
"""

from __future__ import annotations

from datetime import date

import pytest

from trayward.farm.repeats import occurrences


def days(start: date, rule: str, *, last: date = date(1998, 6, 30)) -> list[tuple[int, int]]:
    """Month and day of every occurrence."""
    return [(day.month, day.day) for day in occurrences(rule, start, start, last)]


def test_daily_ten_times():
    assert days(date(1997, 9, 2), "FREQ=DAILY;COUNT=10") == [(9, day) for day in range(2, 12)]


def test_every_other_day():
    found = days(date(1997, 9, 2), "FREQ=DAILY;INTERVAL=2")
    assert found[:5] == [(9, 2), (9, 4), (9, 6), (9, 8), (9, 10)]
    # Whole days know nothing of the change of clocks on 26 October 1997: the step stays two days.
    assert [day for day in found if (10, 24) <= day <= (10, 28)] == [(10, 24), (10, 26), (10, 28)]


def test_weekly_on_tuesday_and_thursday_ten_times_with_the_week_starting_on_sunday():
    found = days(date(1997, 9, 2), "FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH")
    assert found == [(9, 2), (9, 4), (9, 9), (9, 11), (9, 16), (9, 18), (9, 23), (9, 25), (9, 30), (10, 2)]


@pytest.mark.parametrize(
    ("week_start", "expected"),
    [("MO", [(8, 5), (8, 10), (8, 19), (8, 24)]), ("SU", [(8, 5), (8, 17), (8, 19), (8, 31)])],
)
def test_the_day_a_week_starts_on_matters(week_start: str, expected: list[tuple[int, int]]):
    rule = f"FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST={week_start}"
    assert days(date(1997, 8, 5), rule) == expected
