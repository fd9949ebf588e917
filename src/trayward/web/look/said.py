"""Sentences of the rooms below, said in the language of the page.

Those rooms speak English, and their sentences also stand in kept plans and in the book. So a sentence is translated
where it is shown: it is matched against the *shapes* of the catalogue `words/LANGUAGE-said.po` (`{trays:g} of {recipe}
sown`), what stands in its slots is said in turn, and the shape's translation is filled with it. A sentence may be read
in several ways; the one that leaves least of it unknown is taken. Names from the book stay as they are, and what has no
shape stays English.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from functools import lru_cache
from math import inf
from typing import NamedTuple

from jinja2 import pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from trayward.dates import LONG_WEEKDAYS, MONTHS, WEEKDAYS
from trayward.farm.repeats import MONTH_NAMES
from trayward.farm.settings import METRIC, ShownUnits
from trayward.rounds.measures import in_one, in_units
from trayward.web.look.shapes import (
    DAYS,
    KEPT,
    NAMES,
    PRICE_OF_A_SHAPE,
    SLOT,
    Shape,
    alike_once,
    indexed,
    rank,
    shape_of,
)

A_DAY_COMES = 12
"""Within so many letters of a day in words something tells that it is one. [letters]"""
DEEPEST = 24
"""Sentences within sentences are followed so far."""

MOST_UNKNOWN = 0.5
"""A sentence of which more than this stays unknown is left in English whole. [-]"""
PRICE_OF_A_JOINT, PRICE_OF_A_HEAD, PRICE_OF_A_NAME_BETWEEN = 0.2, 0.6, 0.8
"""Of readings that leave as much unknown, that of the fewest pieces is taken. [letters]"""
WELL_READ = 4.0
"""A wordy shape that leaves less than this unknown is the one that was meant. [letters]"""
NOT_MEANT, HARDLY_MEANT = 2.0, 0.3
"""What a day counts where a name is expected, and no day where one is; and a day where anything may be. [letters]"""
PRICE_OF_A_NAME = 0.1
PRICE_OF_A_NAME_IN_PLACE = 0.08
"""What a letter of a name counts against one of an unknown word; where names are expected a little less. [-]"""

_WORD = re.compile(r"[^\W\d_]+")
_LETTERS = re.compile(r"[A-Za-z]")
_ENDS = re.compile(r"(?<=[.?!])(\s+)(?=[A-Z“0-9]|[a-z][a-z ]{1,24}: all |days off: )")
_DAY = re.compile(rf"({'|'.join(WEEKDAYS)}) (\d{{1,2}}) ({'|'.join(MONTHS)})(?: (\d{{4}}))?")
_ON_WEEKDAY = re.compile(rf"({'|'.join(WEEKDAYS)}) (\d[\d.]*)")
CAPITALS_OF_ENGLISH = (*LONG_WEEKDAYS, *MONTH_NAMES)
_OF_WEEK = tuple(date(2026, 1, 5 + number) for number in range(7))
_OF_DAYS = re.compile(
    rf"\b(?:{'|'.join((*WEEKDAYS, *MONTHS))})|\d{{4}}-\d\d|\d\d:\d\d|\d(?:st|nd|rd|th)|\bdays?\b"
    "|today|tomorrow|yesterday"
)
_MEASURED = re.compile(
    r"(.*?[A-Za-z:,)]) ([-+−]?\d[\d.,/ ½¼¾]*(?: to [-+−]?\d[\d.,/ ½¼¾]*)? ?"
    r"(?:%|°?[CF]\b|kg\b|g\b|mg\b|ml\b|l\b|mm\b|cm\b|h\b|min\b|W\b|oz\b|lb\b|in\b|ppm\b|d\b"
    r"|tsp\b|tbsp\b|fl oz\b|cups?\b|gal\b)?)(.*)"
)
_FIGURE = re.compile(r"(?<![\w.,-])([-+−]?\d+)\.(\d+)(?![\w]|[.-]\d)")
_QUANTITY = re.compile(
    r"[-+−]?[\d.,/ \u00a0½¼¾x×-]+(?:\s?(?:%|°?[CF]|k?g|mg|ml|l|mm|cm|m|h|min|W|oz|lb|in|ft|d|ppm"
    r"|tsp|tbsp|fl oz|cups?|gal|[A-Z]{3}))?"
)
_IN_TEN = re.compile(r"([\d.,]+) in (10+|20|5)")
_SPAN = re.compile(r"([-+−]?[\d.,/ ½¼¾]+(?: ?[%\w°/²µ]+)?) to ([-+−]?[\d.,/ ½¼¾]+(?: ?[%\w°/²µ]+(?: \w+)?)?)")
_MORE = re.compile(r"(.+) and (\d+) more")


class Reading(NamedTuple):
    """A text as it may be said, and how much of it is not known: letters, names counting little."""

    made: str
    unknown: float


class Sayings:
    """
    The sentences of one language.

    Parameters
    ----------
    catalogue : mapping of str to str
        Shapes with their translations.
    words : mapping of str to str
        Plain words of the pages with theirs: what stands in a slot may be one of them.
    number, day, weekday : callable
        How figures, a day, and a day of the week in three letters are written.
    parts : mapping of str to str
        Shapes that only those sentences find that know their parts (`trayward.words.Filled`).
    """

    def __init__(
        self,
        catalogue: Mapping[str, str],
        words: Mapping[str, str],
        *,
        number: Callable[[str], str],
        day: Callable[[date], str],
        weekday: Callable[[date], str],
        parts: Mapping[str, str] | None = None,
    ) -> None:
        self._number, self._day, self._weekday = number, day, weekday
        self._exact = {_key(one): other for one, other in words.items() if not SLOT.search(one)}
        self._exact |= {_key(one): other for one, other in catalogue.items() if not SLOT.search(one)}
        self._upper = {_key(one): one for one in (*words, *catalogue)}
        self._by_word = indexed(alike_once(shape_of(*each) for each in catalogue.items() if SLOT.search(each[0])))
        filled = (*catalogue.items(), *(parts or {}).items())
        self._templates = {_key(_plain_slots(one)): other for one, other in filled if SLOT.search(one)}
        self._readings: dict[str, tuple[Reading, bool]] = {}
        self.said = lru_cache(KEPT)(self._said)
        self.missed: set[str] | None = None
        """Where tests want to know them: sentences that have no shape."""

    def unknown_in(self, text: str) -> float:
        """How much of a text is not known. [letters]"""
        sentences = (piece.strip() for piece in _ENDS.split(text))
        return sum(self._read(_begun_lower(piece), DEEPEST).unknown for piece in sentences if piece)

    def template(self, shape: str) -> str | None:
        """A shape of the catalogue in this language, its slots still empty; None where it is not there."""
        found = self._templates.get(_key(shape))
        if found is None:
            return None if _LETTERS.search(SLOT.sub("", shape)) else shape
        return _as(shape, shape, _plain_slots(found))

    def joint(self, between: str, after: str) -> str:
        """What stands between two parts: marks as they are, and the words for `and` and `or`."""
        word = between.strip()
        if word not in ("and", "or"):
            return between
        return between.replace(word, self._and(after) if word == "and" else self._or(after))

    def knows(self, text: str) -> bool:
        """Whether a text is words of ours as a whole."""
        return self._known(_begun_lower(text.strip())) is not None if text.strip() else True

    def _said(self, text: str) -> str:
        """A text in this language, sentence by sentence; what is not known stays as it is."""
        pieces = _ENDS.split(text)
        return "".join(piece if at % 2 else self._sentence(piece) for at, piece in enumerate(pieces))

    def _sentence(self, text: str) -> str:
        inner = text.strip()
        if not inner:
            return text
        # A capital at the beginning is no sign of a name.
        begun = _begun_lower(inner)
        reading = self._read(begun, DEEPEST)
        if self.missed is not None and reading.unknown >= 3:
            self.missed.add(inner)
        if reading.unknown > MOST_UNKNOWN * _unknown(begun):
            return text
        return text.replace(inner, reading.made if begun == inner else _capital(reading.made))

    def _read(self, text: str, depth: int, most: float = inf) -> Reading:
        """The reading of a text that leaves least of it unknown; any, where that is more than `most`."""
        known = self._known(text)
        if known is not None:
            return Reading(known, 0.0)
        best = Reading(text, _unknown(text))
        if depth <= 0 or best.unknown <= PRICE_OF_A_SHAPE:
            return best
        kept = self._readings.get(text)
        if kept is not None and (kept[1] or kept[0].unknown >= most):
            return kept[0]
        whole = True
        for reading, plain in self._readings_of(text, depth, min(most, best.unknown)):
            if reading.unknown < best.unknown:
                best = reading
            if plain and reading.unknown < WELL_READ:
                break
        else:
            whole = most == inf
        if len(self._readings) > KEPT:
            self._readings.clear()
        self._readings[text] = best, whole
        return best

    def _readings_of(self, text: str, depth: int, most: float) -> Iterator[tuple[Reading, bool]]:
        """Readings of some promise, each with whether a shape of many words of its own gave it."""
        core, stop = (text[:-1], ".") if text.endswith(".") else (text, "")
        for shape in self._candidates(core):
            if shape.price >= most:
                continue
            for pattern in shape.patterns:
                found = pattern.fullmatch(core)
                if found is None:
                    continue
                reading = self._filled(shape, found, core, stop, depth, most)
                most = min(most, reading.unknown)
                yield reading, shape.wordy
        for reading in self._joined(core, stop, depth):
            yield reading, False

    def _filled(self, shape: Shape, found: re.Match[str], core: str, stop: str, depth: int, most: float) -> Reading:
        """A shape's translation with what stands in its slots; given up where it leaves more unknown than `most`."""
        values, unknown = {}, shape.price
        for at, name in enumerate(shape.slots, 1):
            if unknown >= most:
                return Reading(core + stop, inf)
            reading = self._value(found[at], name, depth - 1)
            values[name], unknown = reading.made, unknown + reading.unknown
        made = _as(core, shape.said, SLOT.sub(lambda slot: values[slot[1]], shape.translated))
        return Reading(made + ("" if made.endswith(("?", "!", ".")) else stop), unknown)

    def _value(self, text: str, name: str, depth: int) -> Reading:
        """What stands in a slot."""
        inner = text.strip()
        if not inner:
            return Reading(text, 0.0)
        begun, ended = text[: len(text) - len(text.lstrip())], text[len(text.rstrip()) :]
        base, of_days = name.rstrip("0123456789"), bool(_OF_DAYS.search(inner))
        if base in NAMES and not begun:
            # Two sentences joined are no name, however well the shape fits the rest.
            several = WELL_READ if "; " in inner and base not in ("note", "text") else 0.0
            return Reading(text, _unknown_of_name(inner) + (NOT_MEANT if of_days else 0) + several)
        reading = self._read(inner, depth)
        # A day said in words comes first: `from 38.5 g of H1, best before Tue 1 Dec` is not from a day.
        begins = base != "day_words" or bool(_OF_DAYS.search(inner[:A_DAY_COMES]))
        misread = NOT_MEANT if base in DAYS and not (of_days and begins) else 0.0
        if base not in DAYS and _DAY.match(inner):
            misread = HARDLY_MEANT
        return Reading(begun + reading.made + ended, reading.unknown + misread)

    def _known(self, text: str) -> str | None:
        """A text that is a figure, a day or a word; None for one that is none of them."""
        if not _LETTERS.search(text) or _QUANTITY.fullmatch(text):
            return self._figures(text)
        day = _DAY.fullmatch(text)
        if day:
            return self._day_of(day)
        if text in WEEKDAYS:
            return self._weekday(_OF_WEEK[WEEKDAYS.index(text)])
        counted = _ON_WEEKDAY.fullmatch(text)
        if counted:
            return f"{self._weekday(_OF_WEEK[WEEKDAYS.index(counted[1])])} {self._figures(counted[2])}"
        exact = self._exact.get(_key(text))
        if exact is not None:
            # English writes them with a capital wherever they stand; languages that write the short ones small do not.
            if text in CAPITALS_OF_ENGLISH and self._weekday(_OF_WEEK[0]).islower():
                return exact.lower()
            return _as(text, self._upper[_key(text)], exact)
        span = _SPAN.fullmatch(text) or _IN_TEN.fullmatch(text)
        if span:
            between = self._word("to") if span.re is _SPAN else self._word("in")
            return f"{self._figures(span[1])} {between} {self._figures(span[2])}"
        return None

    def _candidates(self, text: str) -> list[Shape]:
        words = {word.lower() for word in _WORD.findall(text)}
        found = [shape for word in words for shape in self._by_word.get(word, ())] + self._by_word.get("", [])
        return sorted(found, key=rank)

    def _joined(self, core: str, stop: str, depth: int) -> Iterator[Reading]:
        """A text of several: joined by semicolons, colons, commas, `and`, or with something in brackets."""
        yield from self._quoted(core, stop, depth)
        yield from self._in_a_row(core, stop, depth)
        yield from self._with_brackets(core, stop, depth)
        yield from self._with_figures(core, stop, depth)
        for between, word in ((" and ", self._and), (" or ", self._or)):
            if between in core:
                one, other = core.split(between, 1)
                before, after = self._read(one, depth - 1), self._read(other, depth - 1)
                made = f"{before.made} {word(after.made)} {after.made}{stop}"
                yield Reading(made, before.unknown + after.unknown + PRICE_OF_A_JOINT)

    def _quoted(self, core: str, stop: str, depth: int) -> Iterator[Reading]:
        if quoted := re.fullmatch(r"[“\"](.+)[”\"]", core):
            reading = self._read(quoted[1], depth - 1)
            yield Reading(f"“{reading.made}”{stop}", reading.unknown)

    def _in_a_row(self, core: str, stop: str, depth: int) -> Iterator[Reading]:
        for between in ("; ", ": ", " = ", " + ", " · ", ", "):
            if between in core:
                one, other = core.split(between, 1)
                price = PRICE_OF_A_HEAD if between == ": " and " " not in one else PRICE_OF_A_JOINT
                yield self._both(one, between, other, stop, depth, price)

    def _with_brackets(self, core: str, stop: str, depth: int) -> Iterator[Reading]:
        """Something in brackets behind, or a name between two texts."""
        if squared := re.fullmatch(r"(.+?) (\[[^\]]+\])", core):
            reading = self._read(squared[1], depth - 1)
            yield Reading(f"{reading.made} {squared[2]}{stop}", reading.unknown + PRICE_OF_A_JOINT)
        named = re.fullmatch("(.*?)([,;:]? ?[\ue000-\uf8ff],? ?)(.*)", core)
        if named and len(core) > 1:
            before, after = self._value(named[1], "", depth - 1), self._value(named[3], "", depth - 1)
            unknown = before.unknown + after.unknown + PRICE_OF_A_NAME_BETWEEN
            yield Reading(f"{before.made}{named[2]}{after.made}{stop}", unknown)
        if bracket := re.fullmatch(r"(.+?)( ?\()([^()]+)\)", core):
            yield self._both(bracket[1], bracket[2], bracket[3], ")" + stop, depth)

    def _with_figures(self, core: str, stop: str, depth: int) -> Iterator[Reading]:
        """A list cut short (`and 3 more`), something counted, or something with a measure in it."""
        if more := _MORE.fullmatch(core):
            reading = self._read(more[1], depth - 1)
            yield Reading(
                f"{reading.made} {self._and(more[2])} {more[2]} {self._word('more')}{stop}", reading.unknown + 0.1
            )
        if counted := re.fullmatch(r"([-+−]?\d[\d.,]*) ([a-z].+)", core):
            after = self._read(counted[2], depth - 1)
            yield Reading(f"{self._figures(counted[1])} {after.made}{stop}", after.unknown + 2 * PRICE_OF_A_JOINT)
        measured = _MEASURED.fullmatch(core)
        if measured and not _OF_DAYS.search(measured[1][-3:]) and (measured[3] == "" or measured[3][:1] in " ,"):
            before, after = self._read(measured[1], depth - 1), self._value(measured[3], "", depth - 1)
            figures = self._read(measured[2].strip(), depth - 1).made
            unknown = before.unknown + after.unknown + 2 * PRICE_OF_A_JOINT
            yield Reading(f"{before.made} {figures}{after.made}{stop}", unknown)

    def _both(
        self, one: str, between: str, other: str, stop: str, depth: int, price: float = PRICE_OF_A_JOINT
    ) -> Reading:
        before, after = self._read(one, depth - 1), self._read(other, depth - 1)
        return Reading(f"{before.made}{between}{after.made}{stop}", before.unknown + after.unknown + price)

    def _figures(self, text: str) -> str:
        return _FIGURE.sub(lambda found: self._number(found[0]), text)

    def _day_of(self, found: re.Match[str]) -> str:
        weekday, day, month = WEEKDAYS.index(found[1]), int(found[2]), MONTHS.index(found[3]) + 1
        years = [int(found[4])] if found[4] else range(2024, 2052)
        for year in years:
            try:
                named = date(year, month, day)
            except ValueError:
                continue
            if named.weekday() == weekday or found[4]:
                shown = self._day(named)
                return f"{shown} {found[4]}" if found[4] else shown
        return found[0]

    def _word(self, word: str) -> str:
        return self._exact.get(word, word)

    def _and(self, after: str) -> str:
        """`y`, and `e` before the same sound; other languages have one word in their catalogue."""
        word = self._word("and")
        return "e" if word == "y" and re.match(r"(?i)h?i(?![aeou])", after) else word

    def _or(self, after: str) -> str:
        word = self._word("or")
        return "u" if word == "o" and re.match(r"(?i)h?o", after) else word


_SAYS = re.compile(
    r"(?<![\w-])(?:the|is|are|was|of|to|by|for|it|its|must|with|not|has|no|be|a)(?![\w-])|[:;=,]| (?:on|in|at|and|or)$"
)
"""What names do not hold."""


def _unknown(text: str) -> float:
    """How many letters of a text would stay in English; words with a capital or a figure are likely names."""
    return sum(
        PRICE_OF_A_NAME * len(word) if word[:1].isupper() or re.search(r"\d|[-/]", word) else 2 + len(word)
        for word in text.split()
        if _LETTERS.search(word)
    )


def _unknown_of_name(text: str) -> float:
    """The same of what stands where a name is expected."""
    return _unknown(text) + NOT_MEANT if len(text) > 60 or _SAYS.search(text) else PRICE_OF_A_NAME_IN_PLACE * len(text)


def _plain_slots(shape: str) -> str:
    return SLOT.sub(lambda slot: f"{{{slot[1]}}}", shape)


def _key(text: str) -> str:
    """What a text is looked up by: its capital and its full stop depend on where it stands."""
    core = text.removesuffix(".")
    return core[:1].lower() + core[1:]


def _as(text: str, said: str, made: str) -> str:
    """A translation with the capital and the full stop that the text had."""
    made = made.removesuffix(".")
    if text.endswith(".") and not made.endswith(("?", "!", "º")):
        made += "."
    first = re.search(r"[^\W\d_]", text)
    if first is None or first.start() > 1 or said[:1] == "{":
        capital = text[:1].isupper() and said[:1] == "{"
    else:
        capital = text[:1].isupper()
        if text[:1].islower() and said[:1].isupper():
            return made[:1].lower() + made[1:]
    return _capital(made) if capital else made


def _begun_lower(text: str) -> str:
    if _DAY.match(text) or _ON_WEEKDAY.match(text) or text in WEEKDAYS or text in CAPITALS_OF_ENGLISH:
        return text
    return text[0].lower() + text[1:] if re.match(r"[A-Z][a-z]*(?!\w)", text) else text


def _capital(text: str) -> str:
    """A text with a capital, behind a mark it may begin with."""
    at = next((at for at, letter in enumerate(text) if letter.isalpha()), 0)
    return text[:at] + text[at].upper() + text[at + 1 :] if text and at <= 1 else text


def filter_of(said: Callable[[str], str] | None, units: ShownUnits) -> Callable[[Context, object], object]:
    """
    The filter `said` of the templates, in a reader's language and units. Markup of ours is no sentence.

    A sentence that tells entries of the book is given their ids: what their tellers typed stays as it was.
    """
    as_it_is = said is None and units == METRIC

    @pass_context
    def filtered(context: Context, value: object, *entries: str) -> object:
        if not isinstance(value, str) or isinstance(value, Markup):
            return value
        return in_one(value if as_it_is else _told(context, value, entries))

    def _told(context: Context, value: str, entries: tuple[str, ...]) -> str:
        ask = context.get("ask")
        if ask is None:
            return in_units(value if said is None else said(value), units)
        told: str = ask.told(value, *entries)
        return told

    return filtered
