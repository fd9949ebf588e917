"""How often something is written down: the days of a repeat rule, and times of the day where once a day is too seldom.

A rule of days stays a rule of days (RFC 5545, see `repeats`). Times are those of the farm's wall clock, so that a
reading at 07:00 stays at 07:00 when summer time begins.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

import msgspec

from trayward.errors import InputError
from trayward.farm.calendar import moment
from trayward.farm.repeats import occurrences, rule_from_words, rule_in_words
from trayward.farm.settings import FarmSettings
from trayward.words import filled

DAY_MIN = 24 * 60
USUAL_FIRST = time(7, 0)
"""Where a farm has no walks: our choice."""
USUAL_SPAN_MIN = 12 * 60
"""Where a farm has one walk, readings of a day are spread over so long from it: our choice. [min]"""
EARLY_MOST = timedelta(hours=2)
"""So long before its time a reading counts for it at most; else a quarter of the time between two: our choice."""
MOST_TIMES = 24
TIMES_EXAMPLE = (
    'Say for instance "2 a day", "every 12 h", "every round", "at 7:00 and 19:00", "every Mon at 8:00", "daily" or '
    '"every Mon and Thu".'
)
_DAILY = "FREQ=DAILY"
_NUMBERS = {"once": 1, "one": 1, "twice": 2, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "eight": 8}
_A_DAY = re.compile(r"\b(\d{1,3}|[a-z]+)(?: ?x| times)? (?:a|per|each|every) day\b|\b(once|twice) daily\b")
_EVERY_H = re.compile(r"\b(?:every|each) (\d{1,3}) ?(?:h|hours?)\b|\b(?:every hour|hourly)\b")
_ROUND = re.compile(r"\b(?:every|each|at every|at each) (?:round|walk)\b")
_AT = re.compile(r"\bat ((?:\d{1,2}(?::\d\d)?(?: ?[ap]\.?m\.?)?(?:,? and |, ?| )?)+)$")
_TIME = re.compile(r"(\d{1,2})(?::(\d\d))?(?: ?([ap])\.?m\.?)?")


class Often(msgspec.Struct, frozen=True, kw_only=True):
    """The days, and the times of such a day; no time: once that day, whenever it is."""

    rule: str
    """RFC 5545 RRULE value; empty: whenever it happens."""
    times: tuple[time, ...] = ()
    """On the farm's wall clock, in the order of the day."""


def often_from_words(text: str, settings: FarmSettings) -> Often:
    """
    How often some plain words mean.

    Parameters
    ----------
    text : str
        `daily`, `every Mon and Thu`, `2 a day`, `every 12 h`, `every round`, `at 7:00 and 19:00`, `every weekday at
        8:00`, or an RFC 5545 rule; empty: whenever it happens.
    settings : FarmSettings
        Readings of a day are spread over its walks: two a day are at its first and its last one. Hours count from the
        first walk, all around the clock.

    Raises
    ------
    InputError
        If the words are not understood; the message says what would be.

    Examples
    --------
    >>> often_from_words("every 8 h", FarmSettings(name="Loft"))
    Often(rule='FREQ=DAILY', times=(datetime.time(7, 0), datetime.time(15, 0), datetime.time(23, 0)))
    """
    if not text.strip():
        return Often(rule="")
    words = " ".join(text.casefold().replace("&", " and ").split())
    days, times = _taken(words, text, settings)
    if times is None:
        return Often(rule=_days((words,), text))
    # Words that only say until when, or how many times, are about every day.
    return Often(rule=_days((days, " ".join(("daily", days))), text) if days else _DAILY, times=times)


def _taken(words: str, text: str, settings: FarmSettings) -> tuple[str, tuple[time, ...] | None]:
    """What is left of the words when those of the times are taken out, and the times."""
    walks = sorted(walk.at for walk in settings.rounds)
    if found := _AT.search(words):
        return _rest(words, found), _clock_times(found[1], text)
    if found := _ROUND.search(words):
        return _rest(words, found), tuple(walks) or (USUAL_FIRST,)
    if found := _EVERY_H.search(words):
        return _rest(words, found), _around(int(found[1] or 1), text, walks)
    found = _A_DAY.search(words)
    number = _number(found[1] or found[2]) if found else None
    if found is None or number is None:
        return words, None
    return _rest(words, found), _spread(number, text, walks)


def _rest(words: str, found: re.Match[str]) -> str:
    return " ".join((words[: found.start()] + " " + words[found.end() :]).replace(",", " ").split())


def _number(word: str) -> int | None:
    return int(word) if word.isdigit() else _NUMBERS.get(word)


def _days(ways: Sequence[str], text: str) -> str:
    """The rule of the days: the first of some ways to say it that is understood."""
    if "=" in ways[0]:
        return rule_from_words(ways[0])
    for said in ways:
        try:
            return rule_from_words(said)
        except InputError:
            continue
    raise InputError("repeat", repr(text), "these words are not understood", TIMES_EXAMPLE)


def _clock_times(words: str, text: str) -> tuple[time, ...]:
    found = set()
    for hour, minute, half in _TIME.findall(words):
        hours = int(hour) % 12 + (12 if half == "p" else 0) if half else int(hour)
        if hours > 23 or int(minute or 0) > 59 or (half and not 1 <= int(hour) <= 12):
            rule = "there is no such time of the day"
            raise InputError("repeat", repr(text), rule, "Say it as 7:00, 19:30 or 7 pm.")
        found.add(time(hours, int(minute or 0)))
    return tuple(sorted(found))


def _around(hours: int, text: str, walks: Sequence[time]) -> tuple[time, ...]:
    """All around the clock from the first walk on."""
    if hours == 0 or 24 % hours:
        rule = "so many hours do not go into a day, and the times would move from day to day"
        raise InputError("repeat", repr(text), rule, "Say every 1, 2, 3, 4, 6, 8, 12 or 24 h.")
    first = _minute(walks[0] if walks else USUAL_FIRST)
    return tuple(sorted(_time((first + turn * hours * 60) % DAY_MIN) for turn in range(24 // hours)))


def _spread(number: int, text: str, walks: Sequence[time]) -> tuple[time, ...]:
    """From the first walk of the day to its last; of one a day the time does not matter."""
    if not 1 <= number <= MOST_TIMES:
        rule = f"must be 1 to {MOST_TIMES} times a day"
        raise InputError("repeat", repr(text), rule, "A sensor reads more often: see trayward sensor.")
    if number == 1:
        return ()
    if number == len(walks):
        return tuple(walks)
    first = _minute(walks[0] if walks else USUAL_FIRST)
    last = _minute(walks[-1]) if len(walks) > 1 else min(first + USUAL_SPAN_MIN, DAY_MIN - 1)
    return tuple(_time(first + (last - first) * turn // (number - 1)) for turn in range(number))


def _minute(at: time) -> int:
    return at.hour * 60 + at.minute


def _time(minute: int) -> time:
    return time(minute // 60, minute % 60)


def often_words(rule: str, times: Sequence[time]) -> str:
    """
    How often, in plain words, for the grower to check.

    Raises
    ------
    InputError
        If the rule is no good.

    Examples
    --------
    >>> often_words("FREQ=DAILY", (time(7, 0), time(19, 0)))
    'every day at 07:00 and 19:00'
    """
    if not rule:
        return "whenever it happens"
    repeat = rule_in_words(rule)
    return filled("{repeat} at {time}", repeat=repeat, time=clock_words(times)) if times else repeat


def clock_words(times: Sequence[time]) -> str:
    """Times of a day in a row."""
    words = [f"{at:%H:%M}" for at in times]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def due_moments(often: Often, start: date, first: date, last: date, settings: FarmSettings) -> list[datetime]:
    """When it is due on the days from `first` to `last`, both included, in UTC."""
    days = occurrences(often.rule, start, first, last) if often.rule and first <= last else []
    return [moment(day, at, settings) for day in days for at in often.times]


def early(times: Sequence[time]) -> timedelta:
    """
    How long before its time a reading counts for it already.

    Examples
    --------
    >>> early((time(7), time(19))), early((time(7), time(9)))
    (datetime.timedelta(seconds=7200), datetime.timedelta(seconds=1800))
    """
    minutes = [_minute(at) for at in times]
    gaps = [after - before for before, after in zip(minutes, [*minutes[1:], minutes[0] + DAY_MIN], strict=True)]
    return min(EARLY_MOST, timedelta(minutes=min(gaps) / 4))
