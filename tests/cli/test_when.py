"""Moments and days as people say them."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from trayward.cli import clock
from trayward.cli.when import parse_day, parse_when
from trayward.errors import InputError

BERLIN = ZoneInfo("Europe/Berlin")
NOW = datetime(2026, 11, 25, 6, 40, tzinfo=UTC)
"""07:40 in Berlin, a Wednesday."""


@pytest.mark.parametrize(
    ("text", "local"),
    [
        ("now", "2026-11-25T07:40"),
        ("today", "2026-11-25T07:40"),
        ("07:00", "2026-11-25T07:00"),
        ("today 19:00", "2026-11-25T19:00"),
        ("yesterday 19:00", "2026-11-24T19:00"),
        ("Yesterday", "2026-11-24T06:30"),
        ("tomorrow 7:05", "2026-11-26T07:05"),
        ("2026-11-20", "2026-11-20T06:30"),
        ("2026-11-20 18:15", "2026-11-20T18:15"),
        ("2026-11-20T18:15:30", "2026-11-20T18:15:30"),
        ("2026-11-20T18:15:00+00:00", "2026-11-20T19:15"),
        ("2026-11-20T18:15:00Z", "2026-11-20T19:15"),
    ],
)
def test_a_moment_is_read_on_the_farms_own_clock(text: str, local: str) -> None:
    """A day alone means its first round, here half past six; today alone means now."""
    found = parse_when(text, NOW, BERLIN, time(6, 30))
    assert found == datetime.fromisoformat(local).replace(tzinfo=BERLIN)


@pytest.mark.parametrize("text", ["soon", "", "25:00", "2026-13-01", "tomorrow at 7", "2026-11-25 7h"])
def test_what_is_no_moment_is_refused_with_a_way_out(text: str) -> None:
    with pytest.raises(InputError, match=r"Write 2026-11-25 07:00, 07:00, today 07:00 or yesterday 19:00\."):
        parse_when(text, NOW, BERLIN)


def test_an_hour_that_the_clock_skips_is_no_moment() -> None:
    """Summer time in Germany began on 29 March 2026, from 02:00 to 03:00."""
    with pytest.raises(InputError, match=r"clocks in Europe/Berlin skip that hour"):
        parse_when("2026-03-29 02:30", NOW, BERLIN)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-12-04", date(2026, 12, 4)),
        ("today", date(2026, 11, 25)),
        ("tomorrow", date(2026, 11, 26)),
        ("friday", date(2026, 11, 27)),
        ("Fri", date(2026, 11, 27)),
        ("wednesday", date(2026, 12, 2)),
        ("tue", date(2026, 12, 1)),
    ],
)
def test_a_weekday_means_the_next_one_after_today(text: str, day: date) -> None:
    assert parse_day(text, date(2026, 11, 25)) == day


@pytest.mark.parametrize("text", ["fr", "someday", "27", ""])
def test_what_is_no_day_is_refused_with_a_way_out(text: str) -> None:
    with pytest.raises(InputError, match=r"it is not a day\. Write 2026-11-25, today, tomorrow or a weekday\."):
        parse_day(text, date(2026, 11, 25))


def test_the_clock_can_be_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TRAYWARD_NOW", "2026-11-25T07:00:00+01:00")
    assert clock.now() == datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


def test_a_running_clock_carries_its_offset(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("TRAYWARD_NOW", raising=False)
    first = clock.now()
    assert first.utcoffset() is not None
    assert first <= clock.now()


@pytest.mark.parametrize(("text", "rule"), [("2026-11-25T07:00", "must carry its offset"), ("dawn", "not a date")])
def test_a_clock_stopped_at_no_moment_says_so(monkeypatch: pytest.MonkeyPatch, text: str, rule: str) -> None:
    monkeypatch.setenv("TRAYWARD_NOW", text)
    with pytest.raises(InputError, match=rule):
        clock.now()
