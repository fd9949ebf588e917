"""Repeats of standing orders: RFC 5545 recurrence rules on whole days, from and to plain words.

A rule is the value of an RRULE property, for instance `FREQ=WEEKLY;BYDAY=TU,FR`. Its DTSTART is a DATE, so the parts of
RFC 5545 that speak of hours are refused. A start that the rule does not hit is not a delivery day: the RFC leaves that
case open, and a grower who says "every Friday from the 1st" means Fridays.
"""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from itertools import islice
from typing import TYPE_CHECKING

import msgspec

from trayward.dates import LONG_WEEKDAYS
from trayward.errors import InputError
from trayward.words import Filled, counted, filled, in_a_list, in_a_row

if TYPE_CHECKING:
    from collections.abc import Iterable

WEEKDAY_CODES = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
EXAMPLE = 'For instance, every Tuesday and Friday is "FREQ=WEEKLY;BYDAY=TU,FR".'

_FREQUENCIES = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")
_NUMBERS = {"BYMONTHDAY": 31, "BYYEARDAY": 366, "BYWEEKNO": 53, "BYMONTH": 12, "BYSETPOS": 366}
"""Parts that list whole numbers, and the largest size of one."""
_NEVER_WITH: dict[str, tuple[str, ...]] = {
    "BYWEEKNO": ("DAILY", "WEEKLY", "MONTHLY"),
    "BYYEARDAY": ("DAILY", "WEEKLY", "MONTHLY"),
    "BYMONTHDAY": ("WEEKLY",),
}
"""What RFC 5545, 3.3.10, does not allow in a rule of some frequency."""
_TIMED = ("BYHOUR", "BYMINUTE", "BYSECOND")


class Rule(msgspec.Struct, frozen=True, kw_only=True):
    """A recurrence rule taken apart. `days` holds (weekday from Monday 0, which one of the month or 0 for all)."""

    freq: str
    interval: int = 1
    count: int | None = None
    until: date | None = None
    days: tuple[tuple[int, int], ...] = ()
    numbers: dict[str, tuple[int, ...]] = {}
    week_start: int = 0


def parse_rule(text: str) -> Rule:
    """
    Take an RFC 5545 RRULE value apart and check it.

    Parameters
    ----------
    text : str
        The rule, with or without `RRULE:` before it.

    Raises
    ------
    InputError
        If it is no rule, or breaks one of the RFC's own limits; the message shows the rule and an example.
    """
    parts = _split_parts(text)
    days = tuple(_weekday(text, word) for word in parts.get("BYDAY", "").split(",") if word)
    rule = Rule(
        freq=parts["FREQ"],
        interval=_whole(text, "INTERVAL", parts.get("INTERVAL", "1")),
        count=_whole(text, "COUNT", parts["COUNT"]) if "COUNT" in parts else None,
        until=_until(text, parts["UNTIL"]) if "UNTIL" in parts else None,
        days=days,
        numbers={key: _listed(text, key, parts[key]) for key in _NUMBERS if key in parts},
        week_start=_week_start(text, parts.get("WKST", "MO")),
    )
    _check_together(text, rule)
    return rule


def _refuse(text: str, rule: str, remedy: str = EXAMPLE) -> InputError:
    return InputError("repeat rule", repr(text), rule, remedy)


def _split_parts(text: str) -> dict[str, str]:
    parts: dict[str, str] = {}
    for piece in text.strip().upper().removeprefix("RRULE:").rstrip(";").split(";"):
        key, sign, value = (word.strip() for word in piece.partition("="))
        if not sign or not value:
            raise _refuse(text, f"{piece.strip() or 'nothing'!r} is not KEY=VALUE, as RFC 5545 wants each part")
        if key in parts:
            raise _refuse(text, f"{key} is given twice")
        parts[key] = value
    _check_keys(text, parts)
    return parts


def _check_keys(text: str, parts: dict[str, str]) -> None:
    known = {"FREQ", "INTERVAL", "COUNT", "UNTIL", "BYDAY", "WKST", *_NUMBERS}
    for key in parts:
        if key in _TIMED:
            raise _refuse(text, f"{key} speaks of hours, and a delivery day is a whole day", f"Leave {key} out.")
        if key not in known:
            raise _refuse(text, f"{key} is no part of an RFC 5545 rule")
    if parts.get("FREQ") not in _FREQUENCIES:
        raise _refuse(text, f"FREQ must be one of {', '.join(_FREQUENCIES)}")


def _whole(text: str, key: str, value: str) -> int:
    if not value.isdigit() or int(value) < 1:
        raise _refuse(text, f"{key} must be a whole number of 1 or more, not {value!r}")
    return int(value)


def _until(text: str, value: str) -> date:
    try:
        return datetime.strptime(value, "%Y%m%d").date()  # noqa: DTZ007  a day has no zone
    except ValueError as err:
        remedy = 'Write the last day as eight digits, for instance "UNTIL=20270331".'
        raise _refuse(text, f"UNTIL must be a day like the start, not {value!r}", remedy) from err


def _weekday(text: str, word: str) -> tuple[int, int]:
    found = re.fullmatch(r"([+-]?\d{1,2})?(MO|TU|WE|TH|FR|SA|SU)", word.strip())
    which = int(found[1] or 0) if found else 0
    if found is None or (found[1] and not 1 <= abs(which) <= 53):
        raise _refuse(
            text, f"BYDAY has {word.strip()!r}: days are {', '.join(WEEKDAY_CODES)}, as in 1MO for the first Monday"
        )
    return WEEKDAY_CODES.index(found[2]), which


def _week_start(text: str, value: str) -> int:
    if value not in WEEKDAY_CODES:
        raise _refuse(text, f"WKST must be one of {', '.join(WEEKDAY_CODES)}, not {value!r}")
    return WEEKDAY_CODES.index(value)


def _listed(text: str, key: str, value: str) -> tuple[int, ...]:
    top = _NUMBERS[key]
    words = [word.strip() for word in value.split(",")]
    good = all(re.fullmatch(r"[+-]?\d{1,3}", word) and 1 <= abs(int(word)) <= top for word in words)
    if not good or (key == "BYMONTH" and any(int(word) < 0 for word in words)):
        raise _refuse(text, f"{key} must list whole numbers from 1 to {top}, not {value!r}")
    return tuple(int(word) for word in words)


def _check_together(text: str, rule: Rule) -> None:
    """What RFC 5545, 3.3.10, forbids in combination."""
    if rule.count is not None and rule.until is not None:
        raise _refuse(text, "COUNT and UNTIL may not both be given", "Keep one: how many times, or until when.")
    if any(which for _, which in rule.days):
        if rule.freq not in ("MONTHLY", "YEARLY"):
            raise _refuse(text, "a numbered day such as 1MO needs FREQ=MONTHLY or FREQ=YEARLY")
        if rule.freq == "YEARLY" and "BYWEEKNO" in rule.numbers:
            raise _refuse(text, "a numbered day such as 1MO may not stand with BYWEEKNO", "Leave BYWEEKNO out.")
    for key, frequencies in _NEVER_WITH.items():
        if key in rule.numbers and rule.freq in frequencies:
            raise _refuse(text, f"{key} may not stand with FREQ={rule.freq}")
    if set(rule.numbers) == {"BYSETPOS"} and not rule.days:
        raise _refuse(text, "BYSETPOS picks among days, and the rule names none", "Add BYDAY, or leave BYSETPOS out.")


def check_rule(text: str) -> str:
    """The rule in its plain form: upper case, no `RRULE:`, no blanks. Raises `InputError` if it is no good."""
    parse_rule(text)
    return re.sub(r"\s+", "", text).upper().removeprefix("RRULE:").rstrip(";")


# Days -----------------------------------------------------------------------------------------------------------------


BLOCK_DAYS, LONG_DAYS = 64, 800
"""Days are worked out so many at a time and kept, for spans no longer than that. [d]"""


def occurrences(rule: str, start: date, first: date, last: date) -> list[date]:
    """
    The days a rule hits, counted from `start`, that lie from `first` to `last`, both included.

    Raises
    ------
    InputError
        If the rule is no good.
    """
    if not 0 <= (last - first).days <= LONG_DAYS:
        return _between(rule, start, first, last)
    blocks = range(first.toordinal() // BLOCK_DAYS, last.toordinal() // BLOCK_DAYS + 1)
    return [day for block in blocks for day in _in_block(rule, start, block) if first <= day <= last]


@lru_cache(maxsize=8192)
def _in_block(rule: str, start: date, block: int) -> tuple[date, ...]:
    """The days of one block of the calendar, kept: a farm asks for the same weeks again every day."""
    first = date.fromordinal(max(block * BLOCK_DAYS, 1))
    last = date.fromordinal(min((block + 1) * BLOCK_DAYS - 1, date.max.toordinal()))
    return tuple(_between(rule, start, first, last))


def _between(rule: str, start: date, first: date, last: date) -> list[date]:
    parsed = parse_rule(rule)
    stop = last if parsed.until is None else min(last, parsed.until)
    if stop < max(first, start):
        return []
    days = islice(_expanded(parsed, _near_start(parsed, start, first), stop), parsed.count)
    return [day for day in days if day >= first]


def _near_start(rule: Rule, start: date, first: date) -> date:
    """A start nearer to `first` that gives the same days, so that an old weekly order costs no more than a new one."""
    if rule.count is not None or rule.freq != "WEEKLY" or first <= start:
        return start
    weeks = (first - start).days // 7 // rule.interval * rule.interval
    return start + timedelta(weeks=weeks)


def _expanded(rule: Rule, start: date, stop: date) -> Iterable[date]:
    from dateutil import rrule  # heavy; only needed where orders repeat

    weekdays = [rrule.weekday(day, which) if which else rrule.weekday(day) for day, which in rule.days]
    # COUNT is cut off by the caller: here every search ends at `stop`, even for days that never come.
    moments = rrule.rrule(
        getattr(rrule, rule.freq),
        dtstart=datetime.combine(start, time()),
        interval=rule.interval,
        wkst=rule.week_start,
        until=datetime.combine(stop, time()),
        byweekday=weekdays or None,
        bysetpos=rule.numbers.get("BYSETPOS"),
        bymonth=rule.numbers.get("BYMONTH"),
        bymonthday=rule.numbers.get("BYMONTHDAY"),
        byyearday=rule.numbers.get("BYYEARDAY"),
        byweekno=rule.numbers.get("BYWEEKNO"),
    )
    return (moment.date() for moment in moments)


# Plain words ----------------------------------------------------------------------------------------------------------

WORDS_EXAMPLE = (
    'Say for instance "every Tue and Fri", "every other Thursday", "every 3 weeks on Monday", "first Monday of the '
    'month", "monthly on the 15th" or "daily"; or give an RFC 5545 rule such as "FREQ=WEEKLY;BYDAY=TU,FR".'
)
_NTH = {"first": 1, "1st": 1, "second": 2, "2nd": 2, "third": 3, "3rd": 3, "fourth": 4, "4th": 4, "last": -1}
_SMALL = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "other": 2, "second": 2, "third": 3}
_FILLERS = {"", "and", "on", "the", "each", "of", "in", "a", "week", "weeks", "weekly", "every", "month", "monthly"}
_DAY_WORD = r"(mon|tues?|wed(?:nes)?|thu(?:rs?)?|fri|sat(?:ur)?|sun)(?:day)?s?"


def rule_from_words(text: str) -> str:
    """
    The RFC 5545 rule that some plain words mean; a rule given as such comes back checked.

    Raises
    ------
    InputError
        If the words are not understood; the message says what would be.

    Examples
    --------
    >>> rule_from_words("every Tue and Fri")
    'FREQ=WEEKLY;BYDAY=TU,FR'
    >>> rule_from_words("every other Thursday until 2027-03-31")
    'FREQ=WEEKLY;INTERVAL=2;BYDAY=TH;UNTIL=20270331'
    """
    if "=" in text:
        return check_rule(text)
    words, end = _take_end(" ".join(text.casefold().replace(",", " ").replace("&", " and ").split()))
    rule = _daily(words) or _monthly(words) or _weekly(words)
    if rule is None:
        raise InputError("repeat", repr(text), "these words are not understood", WORDS_EXAMPLE)
    return check_rule(rule + end)


def _take_end(words: str) -> tuple[str, str]:
    """Cut `until 2027-03-31` or `10 times` off the end, as the rule part it means."""
    if found := re.search(r"\s*(?:until|till) (\d{4})-(\d\d)-(\d\d)$", words):
        return words[: found.start()], f";UNTIL={found[1]}{found[2]}{found[3]}"
    if found := re.search(r"\s*(?:for )?(\d+) times$", words):
        return words[: found.start()], f";COUNT={found[1]}"
    return words, ""


def _daily(words: str) -> str | None:
    if words in ("daily", "every day", "each day"):
        return "FREQ=DAILY"
    if words in ("every weekday", "weekdays", "each weekday"):
        return "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR"
    found = re.fullmatch(r"every (\w+) days?", words)
    number = _small_number(found[1]) if found else None
    return f"FREQ=DAILY;INTERVAL={number}" if number else None


def _small_number(word: str) -> int | None:
    found = re.fullmatch(r"(\d{1,2})(?:st|nd|rd|th)?", word)
    return int(found[1]) if found else _SMALL.get(word)


def _monthly(words: str) -> str | None:
    if "month" not in words:
        return None
    if found := re.search(rf"\b({'|'.join(_NTH)}) {_DAY_WORD}\b", words):
        left = words.replace(found[0], "")
        rule = f"FREQ=MONTHLY;BYDAY={_NTH[found[1]]}{found[2][:2].upper()}"
    elif found := re.search(r"\b(\d{1,2})(?:st|nd|rd|th)?\b", words):
        left = words.replace(found[0], "")
        rule = f"FREQ=MONTHLY;BYMONTHDAY={found[1]}"
    else:
        return None
    return rule if set(left.split()) <= _FILLERS else None


def _weekly(words: str) -> str | None:
    found_days = [found[0] for found in re.finditer(rf"\b{_DAY_WORD}\b", words)]
    days = sorted({word[:2].upper() for word in found_days}, key=WEEKDAY_CODES.index)
    left = re.sub(rf"\b{_DAY_WORD}\b", "", words)
    interval = 1
    if found := re.search(r"\bfortnightly\b|\b(?:every|each) (\w+)\b", left):
        number = 2 if found[1] is None else _small_number(found[1])
        left = left.replace(found[0], "") if number else left
        interval = number or 1
    if not set(left.split()) <= _FILLERS - {"month", "monthly"} or not (
        days or "week" in words or "fortnight" in words
    ):
        return None
    every = f";INTERVAL={interval}" if interval > 1 else ""
    return f"FREQ=WEEKLY{every}" + (f";BYDAY={','.join(days)}" if days else "")


MANY = 400
"""Days of a rule are told one by one."""
EVERY_OTHER = 2


def rule_in_words(rule: str) -> Filled:
    """
    A rule in plain words, for the grower to check.

    Examples
    --------
    >>> rule_in_words("FREQ=WEEKLY;BYDAY=TU,FR")
    'every Tuesday and Friday'
    """
    parsed = parse_rule(rule)
    days = in_a_list((_day_words(day) for day in parsed.days), most=MANY)
    weekly = parsed.freq == "WEEKLY" and bool(days)
    every = _every_on(parsed.interval, days) if weekly else _every(parsed.freq, parsed.interval)
    on = filled("on {weekdays}", weekdays=days) if days and not weekly else ""
    return in_a_row((every, on, *_number_words(parsed), _end_words(parsed)), " ")


def _every(freq: str, interval: int) -> Filled | str:
    """How often, by days, weeks, months or years."""
    one, other, many = _EVERY[freq]
    return {1: one, 2: other}.get(interval) or filled(many, str(interval))


_EVERY = {
    "DAILY": ("every day", "every other day", "every {} days"),
    "WEEKLY": ("every week", "every other week", "every {} weeks"),
    "MONTHLY": ("every month", "every other month", "every {} months"),
    "YEARLY": ("every year", "every other year", "every {} years"),
}


def _every_on(interval: int, days: str) -> Filled:
    """How often, by days of the week."""
    if interval == 1:
        return filled("every {weekdays}", weekdays=days)
    if interval == EVERY_OTHER:
        return filled("every other {weekdays}", weekdays=days)
    return filled("every {weeks} weeks on {weekdays}", weeks=str(interval), weekdays=days)


def _day_words(day: tuple[int, int]) -> Filled | str:
    weekday, which = day
    named = LONG_WEEKDAYS[weekday]
    if not which:
        return named
    if which == -1:
        return filled("the last {weekday}", weekday=named)
    if which < 0:
        return filled("the {nth} last {weekday}", nth=_ordinal(-which), weekday=named)
    return filled("the {nth} {weekday}", nth=_ordinal(which), weekday=named)


def _ordinal(number: int) -> Filled:
    shown = str(number)
    match 0 if 10 <= number % 100 <= 20 else number % 10:
        case 1:
            return filled("{number}st", number=shown)
        case 2:
            return filled("{number}nd", number=shown)
        case 3:
            return filled("{number}rd", number=shown)
    return filled("{number}th", number=shown)


def _number_words(rule: Rule) -> list[Filled]:
    words = []
    for key, numbers in rule.numbers.items():
        if key == "BYMONTH":
            months = in_a_list((MONTH_NAMES[number - 1] for number in numbers), most=MANY)
            words.append(filled("in {months}", months=months))
        elif key == "BYWEEKNO":
            weeks = in_a_list(map(str, numbers), most=MANY)
            words.append(filled("in week {weeks}", weeks=weeks))
        elif key == "BYYEARDAY":
            days = (filled("{place} day of the year", place=_place(number)) for number in numbers)
            words.append(filled("on {places}", places=in_a_list(days, most=MANY)))
        else:
            places = in_a_list(map(_place, numbers), most=MANY)
            only = key == "BYSETPOS"
            words.append(
                filled("only {places} of these days", places=places) if only else filled("on {places}", places=places)
            )
    return words


def _place(number: int) -> Filled | str:
    if number == -1:
        return "the last day"
    if number < 0:
        return filled("the {nth} day from the end", nth=_ordinal(-number))
    return filled("the {nth}", nth=_ordinal(number))


def _end_words(rule: Rule) -> str:
    if rule.count is not None:
        return counted(rule.count, "time")
    return filled("until {day}", day=rule.until.isoformat()) if rule.until else ""
