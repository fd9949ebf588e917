"""The farm's own day, over clock changes.

Checked against the IANA tz database: New York goes to daylight saving time on 2026-03-08 at 02:00 and back on
2026-11-01; Cairo 2026-04-24 has no midnight (its clocks go from 00:00 to 01:00).
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest

from trayward.errors import InputError
from trayward.farm.calendar import (
    day_start,
    is_work_day,
    local_day,
    moment,
    present_round,
    rounds_of,
    work_minutes,
)
from trayward.farm.settings import FarmSettings, RoundTime

NEW_YORK = FarmSettings(
    name="Lantern Loft",
    timezone="America/New_York",
    rounds=(RoundTime(name="evening", at=time(19, 0)), RoundTime(name="morning", at=time(9, 0))),
    work_minutes=(240.0, 240.0, 240.0, 240.0, 240.0, 120.0, 0.0),
    days_off=(date(2026, 12, 25),),
)


def test_a_round_keeps_its_wall_clock_time_when_summer_time_begins():
    """09:00 in New York is 14:00 UTC on 2026-03-07 and 13:00 UTC on 2026-03-08. Source: IANA tz database."""
    assert rounds_of(date(2026, 3, 7), NEW_YORK)[0] == (datetime(2026, 3, 7, 14, tzinfo=UTC), "2026-03-07 morning")
    assert rounds_of(date(2026, 3, 8), NEW_YORK)[0] == (datetime(2026, 3, 8, 13, tzinfo=UTC), "2026-03-08 morning")


def test_days_are_23_and_25_hours_long_where_the_clock_changes():
    """Source: IANA tz database."""
    short = day_start(date(2026, 3, 9), NEW_YORK) - day_start(date(2026, 3, 8), NEW_YORK)
    long = day_start(date(2026, 11, 2), NEW_YORK) - day_start(date(2026, 11, 1), NEW_YORK)
    assert (short, long) == (timedelta(hours=23), timedelta(hours=25))


def test_a_day_whose_midnight_is_skipped_begins_when_the_clock_goes_on():
    """Source: IANA tz database, Africa/Cairo, 2026-04-24."""
    cairo = FarmSettings(name="Lantern Loft", timezone="Africa/Cairo")
    start = day_start(date(2026, 4, 24), cairo)
    assert start == datetime(2026, 4, 23, 22, tzinfo=UTC)
    assert local_day(start, cairo) == date(2026, 4, 24)
    assert local_day(start - timedelta(seconds=1), cairo) == date(2026, 4, 23)


def test_a_late_evening_is_still_today_on_the_farm():
    assert local_day(datetime(2026, 11, 26, 3, 30, tzinfo=UTC), NEW_YORK) == date(2026, 11, 25)


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        (datetime(2026, 3, 8, 11, 59, tzinfo=UTC), "2026-03-07 evening"),
        (datetime(2026, 3, 8, 12, 0, tzinfo=UTC), "2026-03-08 morning"),
        (datetime(2026, 3, 8, 21, 59, tzinfo=UTC), "2026-03-08 morning"),
        (datetime(2026, 3, 8, 22, 0, tzinfo=UTC), "2026-03-08 evening"),
        (datetime(2026, 3, 9, 4, 30, tzinfo=UTC), "2026-03-08 evening"),
    ],
)
def test_the_present_round_is_the_last_one_that_has_begun(at, expected):
    name, began = present_round(NEW_YORK, at)
    assert name == expected
    assert began <= at


def test_moments_come_in_utc_so_that_their_differences_are_real_hours():
    before, after = moment(date(2026, 3, 7), time(9), NEW_YORK), moment(date(2026, 3, 8), time(9), NEW_YORK)
    assert after - before == timedelta(hours=23)


def test_a_farm_without_rounds_is_told_to_set_one():
    with pytest.raises(InputError, match="at least one round a day"):
        present_round(FarmSettings(name="Lantern Loft", rounds=()), datetime(2026, 3, 8, tzinfo=UTC))


def test_work_minutes_follow_the_weekday_and_are_none_on_days_off():
    assert work_minutes(NEW_YORK, date(2026, 11, 27)) == 240.0  # Friday
    assert work_minutes(NEW_YORK, date(2026, 11, 28)) == 120.0  # Saturday
    assert work_minutes(NEW_YORK, date(2026, 12, 25)) == 0.0  # a Friday off
    assert not is_work_day(NEW_YORK, date(2026, 11, 29))  # Sunday
    assert is_work_day(NEW_YORK, date(2026, 11, 30))


@pytest.mark.parametrize("name", ["Europe/Nowhere", "", "../etc/passwd"])
def test_an_unknown_time_zone_is_refused_by_name(name):
    with pytest.raises(InputError, match="must be a name of the IANA time zone database"):
        local_day(datetime(2026, 3, 8, tzinfo=UTC), FarmSettings(name="Lantern Loft", timezone=name))
