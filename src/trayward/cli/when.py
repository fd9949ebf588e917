"""Moments and days the way people say them: `07:00`, `yesterday 19:00`, `2026-11-25 07:00`, `friday`."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from trayward.dates import LONG_WEEKDAYS, day_words
from trayward.errors import InputError

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

DAY_WORDS = {"yesterday": -1, "today": 0, "tomorrow": 1}
WHEN_REMEDY = "Write 2026-11-25 07:00, 07:00, today 07:00 or yesterday 19:00."
DAY_REMEDY = "Write 2026-11-25, today, tomorrow or a weekday."

_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2}))?")


def parse_when(text: str, now: datetime, zone: ZoneInfo, first_round: time = time(7, 0)) -> datetime:
    """
    The moment that `text` means on the farm's own clock.

    Parameters
    ----------
    text : str
        An ISO date and time with or without offset, a time of today, or `today`, `yesterday` or `tomorrow` or a date
        with or without a time. `now` and `today` alone mean now; any other day alone means its first round.
    now : datetime
        The present moment, with offset.
    zone : ZoneInfo
        The farm's time zone, for what is said without an offset.
    first_round : time
        When the first round of a day begins.

    Raises
    ------
    InputError
        If it is no moment, or falls into the hour that a clock change skips.
    """
    words = text.strip().lower()
    if words in ("now", "today"):
        return now
    exact = _iso_moment(text.strip())
    if exact is not None:
        return exact if exact.utcoffset() is not None else _on_clock(text, exact, zone)
    day_word, _, clock = words.partition(" ")
    if _CLOCK.fullmatch(day_word) and not clock:
        day_word, clock = "today", day_word
    day = _day(day_word, now.astimezone(zone).date())
    if day is None:
        raise InputError("when", text, "it is not a moment", WHEN_REMEDY)
    return _on_clock(text, datetime.combine(day, _clock(text, clock) if clock else first_round), zone)


def parse_day(text: str, today: date, name: str = "day") -> date:
    """The day that `text` means: an ISO date, `today`, `tomorrow`, or the next day of that name after today."""
    words = text.strip().lower()
    found = _day(words, today)
    if found is None and len(words) >= 3:
        found = _next_weekday(words, today)
    if found is None:
        raise InputError(name, text, "it is not a day", DAY_REMEDY)
    return found


def day_said(day: date, today: date) -> str:
    """
    A day in words, with its year where it is far off: there a mistyped year would show nowhere else.

    Examples
    --------
    >>> day_said(date(2027, 1, 4), date(2026, 11, 28)), day_said(date(2035, 1, 1), date(2026, 11, 28))
    ('Mon 4 Jan', 'Mon 1 Jan 2035')
    """
    return day_words(day) if abs((day - today).days) < FAR_DAYS else f"{day_words(day)} {day.year}"


FAR_DAYS = 180


def _iso_moment(text: str) -> datetime | None:
    if len(text) <= len("2026-11-25"):
        return None
    try:
        return datetime.fromisoformat(text.replace("Z", "+00:00"))
    except ValueError:
        return None


def _day(word: str, today: date) -> date | None:
    if word in DAY_WORDS:
        return today + timedelta(days=DAY_WORDS[word])
    try:
        return date.fromisoformat(word)
    except ValueError:
        return None


def _next_weekday(word: str, today: date) -> date | None:
    for number, name in enumerate(LONG_WEEKDAYS):
        if name.lower().startswith(word):
            return today + timedelta(days=(number - today.weekday() - 1) % 7 + 1)
    return None


def _clock(text: str, clock: str) -> time:
    match = _CLOCK.fullmatch(clock.strip())
    try:
        if match is None:
            raise ValueError(clock)
        return time(int(match[1]), int(match[2]), int(match[3] or 0))
    except ValueError as error:
        raise InputError("when", text, "its time of day is not one", WHEN_REMEDY) from error


def _on_clock(text: str, naive: datetime, zone: ZoneInfo) -> datetime:
    at = naive.replace(tzinfo=zone)
    # An hour skipped when clocks go forward exists on no clock: there and back again lands elsewhere.
    if at.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != naive:
        raise InputError("when", text, f"clocks in {zone.key} skip that hour", "Give the time the clock showed.")
    return at
