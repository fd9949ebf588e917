"""Words for room and hands: shelves, kit, days off, hours more or less."""

from __future__ import annotations

import re

from trayward.desk.wonder.reading import COUNT, Asked, Span, count_of, day_of, direction, found, take_span, weekdays_in
from trayward.errors import InputError, require_between
from trayward.farm.places import Shelf, ShelfKind
from trayward.plan.suppose_space import usual_shelf
from trayward.plan.supposed import Supposition
from trayward.plan.what_if import DaysOff, MoreHands, MoreKit, MoreShelves, ShelfGone
from trayward.units import parse_minutes

_SHELVES = re.compile(
    rf"(?P<count>{COUNT})?\s*(?P<kind>dark|lit)\s+shel(?:f|ves|fs)"
    rf"(?:\s+(?:of|with)\s+(?P<spots>{COUNT})(?:\s+(?:spots?|trays?))?(?:\s+each)?)?"
    r"(?:,?\s*(?:stacked\s+)?(?P<stack>\d+)(?:\s+high)?)?",
    re.IGNORECASE,
)
_SHELF = re.compile(r"\bshel(?:f|ves|fs)\b", re.IGNORECASE)
_EXAMPLE = '"2 more lit shelves of 4 spots"'
_KIT = re.compile(rf"(?P<count>{COUNT})\s+(?P<pool>.+)", re.IGNORECASE)
_TIME = re.compile(
    r"(?P<time>\d+(?:[.,]\d+)?\s*(?:h|hrs?|hours?|min|mins|minutes?)(?:\s*\d+(?:\s*min\w*)?)?)(?:\s+of)?"
    r"(?:\s+(?:work|hands))?(?:\s+(?P<when>.*))?",
    re.IGNORECASE,
)
_OFF = re.compile(r"(?:days?\s+off|closed|shut|off|holidays?)(?:\s+(?P<when>.+))?", re.IGNORECASE)


def read_shelves(asked: Asked) -> list[Supposition] | None:
    """Shelves more or fewer: "2 more lit shelves of 4 spots", "1 lit shelf less from 2026-12-08"."""
    if not _SHELF.search(asked.text):
        return None
    rest, span = take_span(asked.text, asked.today)
    plain, sign = direction(rest)
    matched = _SHELVES.fullmatch(plain.strip())
    if matched is None and sign:
        raise InputError("shelves", repr(plain), "a shelf more or less is a dark or a lit one", f"Say {_EXAMPLE}.")
    if matched is None:
        return None
    if not sign:
        raise InputError("shelves", repr(plain), "it is not said whether more or less", f"Say {_EXAMPLE}.")
    kind: ShelfKind = "dark" if matched["kind"].casefold() == "dark" else "lit"
    count = count_of(matched["count"])
    require_between("shelves", count, 1, 1000, "shelves")
    if sign < 0:
        return _fewer_shelves(asked, kind, count, span)
    usual = usual_shelf(asked.state, kind)
    if usual is None and not matched["spots"]:
        raise InputError("shelves", repr(plain), f"there is no {kind} shelf to be like", 'Say "of 4 spots".')
    spots = count_of(matched["spots"], usual.spots if usual else 0)
    stack = int(matched["stack"] or (usual.stack if usual and not matched["spots"] else 1))
    require_between("spots of a shelf", spots, 1, 10_000, "spots")
    require_between("trays on each other", stack, 1, 26, "trays")
    return [MoreShelves(count=count, kind=kind, spots=spots, stack=stack, first=span.first, last=span.last)]


def _fewer_shelves(asked: Asked, kind: ShelfKind, count: int, span: Span) -> list[Supposition]:
    """The shelves that are emptiest now; of these the last in the walk."""
    shelves = [shelf for shelf in asked.state.shelves.values() if shelf.kind == kind and shelf.spots]
    if count > len(shelves):
        remedy = f"Say {len(shelves)} or fewer." if shelves else "Leave it out."
        raise InputError(f"{kind} shelves less", count, f"the farm has only {len(shelves)}", remedy)
    order = sorted(shelves, key=lambda shelf: (_taken(asked, shelf), -shelf.order, shelf.name))
    return [ShelfGone(shelf=shelf.name, first=span.first, last=span.last) for shelf in order[:count]]


def _taken(asked: Asked, shelf: Shelf) -> int:
    return sum(spot in asked.state.spots for spot in shelf.spot_names())


def read_shelf_gone(asked: Asked) -> list[Supposition] | None:
    """One shelf: "shelf F2 out of use until 2026-12-20"."""
    if not _SHELF.search(asked.text):
        return None
    rest, span = take_span(asked.text, asked.today)
    matched = re.fullmatch(
        r"(?:no\s+)?shelf\s+(?P<name>\S+)(?P<out>\s+(?:out of use|out|gone|closed|broken|away))?", rest, re.IGNORECASE
    )
    if matched is None or not (matched["out"] or rest.casefold().startswith("no ")):
        return None
    return [ShelfGone(shelf=found(matched["name"], asked.state.shelves, "shelf"), first=span.first, last=span.last)]


def read_kit(asked: Asked) -> list[Supposition] | None:
    """Kit: "10 more mesh mats", "4 covers less until 2026-12-20"."""
    plain, sign = direction(asked.text)
    if not sign or _KIT.fullmatch(plain) is None:
        return None
    rest, span = take_span(plain, asked.today)
    matched = _KIT.fullmatch(rest)
    if matched is None:
        return None
    pool = found(matched["pool"], asked.state.kit, "kit")
    count = count_of(matched["count"])
    require_between("count", count, 1, 1_000_000, "pieces")
    return [MoreKit(pool=pool, count=sign * count, first=span.first, last=span.last)]


def read_hands(asked: Asked) -> list[Supposition] | None:
    """Hands: "2 h more every Tue", "30 min less on 2026-12-08", "1 h more a day from 2026-12-07 to 2026-12-12"."""
    plain, sign = direction(asked.text)
    matched = _TIME.fullmatch(plain)
    if matched is None or not sign:
        return None
    minutes = parse_minutes(matched["time"].replace(",", "."))
    require_between("time", minutes, 1, 24 * 60 * 100, "min", "Say how much more a day.")
    rest, span = take_span(matched["when"] or "", asked.today) if not _each(matched["when"]) else ("", Span())
    weekdays = _each(rest) if rest else _each(matched["when"] or "")
    if rest and not weekdays and not re.fullmatch(r"(?:a|each|every|per)\s+(?:working\s+)?day", rest, re.IGNORECASE):
        rule = "it is not a day, a weekday or every day"
        raise InputError("when", repr(rest), rule, 'Say "every Tue", "on 2026-12-08" or "a day".')
    return [MoreHands(minutes=sign * minutes, weekdays=weekdays, first=span.first, last=span.last)]


def _each(text: str | None) -> tuple[int, ...]:
    """Weekdays said for good: "every Tue", "on Tue and Fri", "Saturdays"."""
    return weekdays_in(re.sub(r"^(?:every|each|on)\s+", "", (text or "").strip(), flags=re.IGNORECASE))


def read_days_off(asked: Asked) -> list[Supposition] | None:
    """Days off: "day off on 2026-12-08", "closed from 2026-12-08 to 2026-12-10", "closed every Mon"."""
    text = re.sub(r"^(?:a|the|two|three)\s+(?=days?\s+off)", "", asked.text, flags=re.IGNORECASE)
    matched = _OFF.fullmatch(text)
    if matched is None:
        return _day_off_after(asked)
    when = matched["when"] or ""
    if not when:
        raise InputError("day off", "no day", "it has to be said when", 'Say "day off on 2026-12-08".')
    rest, span = take_span(when, asked.today)
    every = re.fullmatch(r"(?:every|each)\s+(.+)", rest, re.IGNORECASE)
    weekdays = weekdays_in(every[1]) if every else ()
    if weekdays:
        return [DaysOff(weekdays=weekdays, first=span.first, last=span.last)]
    if not rest and span.first:
        return [DaysOff(first=span.first, last=span.last)]
    return _days_listed(rest or when, asked)


def _days_listed(text: str, asked: Asked) -> list[Supposition]:
    """Single days, one after the other: "on 2026-12-08 and 2026-12-10"."""
    words = re.sub(r"^on\s+", "", text, flags=re.IGNORECASE)
    days = [day_of(word, asked.today) for word in re.split(r"\s*(?:,|\band\b)\s*", words)]
    if None in days or any(day < asked.today for day in days if day):
        remedy = "Write 2026-12-08, 8 Dec or every Mon."
        raise InputError("day off", repr(words), "it is not a day still to come", remedy)
    return [DaysOff(first=day, last=day) for day in days]


def _day_off_after(asked: Asked) -> list[Supposition] | None:
    """A day before the word: "2026-12-08 off"."""
    matched = re.fullmatch(r"(?P<day>.+?)\s+(?:off|closed)", asked.text, re.IGNORECASE)
    if matched is None or day_of(matched["day"], asked.today) is None:
        return None
    return _days_listed(matched["day"], asked)
