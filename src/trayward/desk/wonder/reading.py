"""What every form of a what-if needs: days and spans of days, numbers in words, and names the farm has."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from typing import NamedTuple

from trayward.dates import LONG_WEEKDAYS
from trayward.desk.sheets.order_words import plain_name
from trayward.desk.sheets.words import read_day
from trayward.errors import InputError
from trayward.farm.calendar import local_day
from trayward.farm.state import FarmState

NUMBERS = {
    "a": 1, "an": 1, "another": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7,
    "eight": 8, "nine": 9, "ten": 10,
}  # fmt: skip
MINUS = ("-", "−", "–")
DAY_REMEDY = "Write 2026-12-08, 8 Dec, tomorrow or a weekday."
COUNT = rf"(?:\d+|{'|'.join(NUMBERS)})"
MONEY = r"[-−–]?\s*[^\d\s]?\s*\d+(?:[.,]\d+)?"
"""An amount of money, with or without its currency's sign before it; one below nothing is read, to be refused."""


class Asked(NamedTuple):
    """What is wondered about, and the farm it is asked of."""

    text: str
    state: FarmState
    at: datetime
    number: int = 1
    """Which of the changes asked about it is, for names that have to be made up."""

    @property
    def today(self) -> date:
        """The farm's own day."""
        return local_day(self.at, self.state.settings_or_usual)


class Span(NamedTuple):
    """Days from the first to the last, both included; None: without end."""

    first: date | None = None
    last: date | None = None


# Numbers and names ----------------------------------------------------------------------------------------------------


def count_of(word: str | None, usual: int = 1) -> int:
    """A count in digits or words; `usual` where there is none."""
    if not word:
        return usual
    return int(word) if word.isdigit() else NUMBERS[word.casefold()]


def number_of(text: str) -> float:
    """A number in which a comma may mark the decimals, below zero with any dash before it."""
    number = float(re.sub(r"[^\d.]", "", text.replace(",", ".")))
    return -number if text.strip()[:1] in MINUS else number


def singular(name: str) -> str:
    """The plain name of one thing, for comparing."""
    plain = plain_name(name)
    return plain[:-1] if plain.endswith("s") and not plain.endswith("ss") else plain


def find(text: str, known: Iterable[str]) -> str | None:
    """The name among `known` that is meant, whatever its capitals, signs and plural; None: there is none."""
    names = list(known)
    exact = {plain_name(name): name for name in names}
    return exact.get(plain_name(text)) or {singular(name): name for name in names}.get(singular(text))


def found(text: str, known: Iterable[str], kind: str) -> str:
    """The name that is meant. Raises `InputError` with the nearest ones where there is none."""
    names = list(known)
    name = find(text, names)
    if name is None:
        raise InputError(kind, repr(text.strip()), "the farm has none of that name", nearest(text, names))
    return name


def nearest(text: str, known: Iterable[str]) -> str:
    """A hint at the names nearest to one that is not known."""
    names = {plain_name(name): name for name in known}
    plain = plain_name(text)
    near = difflib.get_close_matches(plain, names, n=3, cutoff=0.5 if len(plain) <= 3 else 0.6)
    if near:
        return f"Did you mean {' or '.join(names[name] for name in near)}?"
    listed = list(names.values())
    more = ", ..." if len(listed) > 8 else ""
    return f"Known: {', '.join(listed[:8])}{more}." if listed else "There are none yet."


def customers_of(state: FarmState) -> dict[str, None]:
    """Every customer set up or named by an order, in that order."""
    standing = (one.customer for one in state.standing.values())
    return dict.fromkeys((*state.customers, *standing, *(one.customer for one in state.orders.values())))


def crops_of(state: FarmState) -> dict[str, None]:
    """The crops the farm has recipes for."""
    return dict.fromkeys(recipe.crop for recipe in state.recipes.values())


# Days -----------------------------------------------------------------------------------------------------------------


def weekdays_in(text: str) -> tuple[int, ...]:
    """The weekdays that some words list ("Tue and Fri", "Mondays"), Monday being 0; empty where they say anything else.

    Examples
    --------
    >>> weekdays_in("Tue and Fridays"), weekdays_in("Tue 8 Dec")
    ((1, 4), ())
    """
    words = [word for word in re.split(r"[,\s&]+|\band\b", text.casefold()) if word]
    numbers = [_weekday(word) for word in words]
    if not numbers or None in numbers:
        return ()
    return tuple(sorted({number for number in numbers if number is not None}))


def _weekday(word: str) -> int | None:
    plain = word.rstrip(".").removesuffix("s") if len(word) > 4 else word.rstrip(".")
    for number, name in enumerate(LONG_WEEKDAYS):
        if len(plain) >= 3 and name.lower().startswith(plain):
            return number
    return {"tues": 1, "thurs": 3}.get(word)


def day_of(text: str, today: date) -> date | None:
    """The day that some words mean, the next one where they leave the year or the date out; None: it is no day."""
    words = " ".join(text.casefold().replace(",", " ").split())
    if words in ("today", "tomorrow"):
        return today + timedelta(days=words == "tomorrow")
    alone = weekdays_in(words.removeprefix("next "))
    if len(alone) == 1:
        return today + timedelta(days=(alone[0] - today.weekday() - 1) % 7 + 1)
    known = read_day(words)
    if known is not None:
        return known
    thisyear = read_day(f"{words} {today.year}")
    return read_day(f"{words} {today.year + 1}") if thisyear is not None and thisyear < today else thisyear


def need_day(text: str, today: date) -> date:
    """The day that is meant. Raises `InputError` where it is none, or is over."""
    day = day_of(text, today)
    if day is None:
        raise InputError("day", repr(text.strip()), "it is not a day", DAY_REMEDY)
    if day < today:
        raise InputError("day", day.isoformat(), f"it is over; today is {today}", "Name a day that is still to come.")
    return day


_FROM = re.compile(r"(?:^|\s+)from\s+(?P<first>.+?)(?:\s+on)?(?:\s+(?:to|until|till)\s+(?P<last>.+))?$", re.IGNORECASE)
_UNTIL = re.compile(r"(?:^|\s+)(?:until|till)\s+(?P<last>.+)$", re.IGNORECASE)
_WEEK = re.compile(r"(?:^|\s+)next\s+week$", re.IGNORECASE)
_ON = re.compile(r"(?:^|\s+)on\s+(?P<day>.+)$", re.IGNORECASE)


def take_span(text: str, today: date) -> tuple[str, Span]:
    """
    Words less the days at their end, and these days.

    `from DAY`, `from DAY to DAY`, `until DAY`, `next week` and `on DAY` are taken; what follows an `on` that is no day
    stays, for recipes are called "pea on coir".

    Raises
    ------
    InputError
        If what stands after `from` or `until` is no day, or the last comes before the first.
    """
    if matched := _FROM.search(text):
        first = need_day(matched["first"], today)
        last = need_day(matched["last"], today) if matched["last"] else None
        if last is not None and last < first:
            raise InputError("last day", last.isoformat(), f"it comes before the first, {first}", "Swap the two.")
        return text[: matched.start()].strip(), Span(first, last)
    if matched := _UNTIL.search(text):
        return text[: matched.start()].strip(), Span(None, need_day(matched["last"], today))
    if matched := _WEEK.search(text):
        monday = today + timedelta(days=7 - today.weekday())
        return text[: matched.start()].strip(), Span(monday, monday + timedelta(days=6))
    matched = _ON.search(text)
    if matched and day_of(matched["day"], today) is not None:
        day = need_day(matched["day"], today)
        return text[: matched.start()].strip(), Span(day, day)
    return text.strip(), Span()


def direction(text: str) -> tuple[str, int]:
    """Words less the one that says more or less, and 1 for more, -1 for less, 0 where neither is said."""
    matched = re.search(r"\b(more|extra|additional|another|less|fewer)\b", text, re.IGNORECASE)
    if matched is None:
        return text, 0
    word = matched[1].casefold()
    instead = " 1 " if word == "another" else " "
    rest = " ".join((text[: matched.start()] + instead + text[matched.end() :]).split())
    return rest, -1 if word in ("less", "fewer") else 1


def known_names(state: FarmState) -> Mapping[str, Iterable[str]]:
    """The names a what-if may say, by the word for their kind; where two kinds share one, the first is meant."""
    return {
        "standing order": [name for name, one in state.standing.items() if not one.ended],
        "order": list(state.orders),
        "customer": list(customers_of(state)),
        "crop": list(crops_of(state)),
        "recipe": [recipe.name for recipe in state.recipes_in_use()],
        "product": list(state.products),
        "shelf": list(state.shelves),
        "seed lot": list(state.seed),
        "tray": [tray.tray for tray in state.growing()],
    }
