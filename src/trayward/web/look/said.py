"""Sentences of the rooms below, said in the language of the page.

Those rooms speak English, and their sentences also stand in kept plans and in the book. So a sentence is translated
where it is shown: it is matched against the *shapes* of the catalogue `words/LANGUAGE-said.po` (`{trays:g} of {recipe}
sown`), what stands in its slots is said in turn, and the shape's translation is filled with it. A sentence may be read
in several ways; the one that leaves least of it unknown is taken. Names from the book stay as they are, and what has no
shape stays English.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from functools import lru_cache
from math import inf
from pathlib import Path
from typing import NamedTuple

import msgspec
from jinja2 import pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from trayward.farm.settings import METRIC, ShownUnits
from trayward.farm.state import FarmState
from trayward.rounds.words import MONTHS, WEEKDAYS
from trayward.web.look.measures import in_units

NAMES = frozenset((
    "batch", "crop", "customer", "document", "entry", "harvest", "id", "lot", "mix", "note", "order", "pack", "person",
    "product", "rack", "recipe", "room", "shelf", "sowing", "spot", "standing",
    "supplier", "supplier_lot", "text", "tray", "trial", "variety", "who",
))  # fmt: skip
"""Slots in which a name stands that somebody gave: it is theirs, whatever it says."""

DAYS = frozenset((
    "and", "best_before", "begins", "day", "day_of", "day_words", "days_words", "due", "expected_on", "first", "last",
    "latest", "ready", "rest",
    "today", "until", "when",
))  # fmt: skip
"""Slots in which a day or a moment stands."""

KEPT = 20_000
"""So many sentences are remembered with their translation."""
DEEPEST = 24
"""Sentences within sentences are followed so far."""

MOST_UNKNOWN = 0.5
"""A sentence of which more than this stays unknown is left in English whole. [-]"""
PRICE_OF_A_SHAPE, PRICE_OF_FEW_LETTERS, FEW_LETTERS = 0.25, 0.25, 3
PRICE_OF_A_JOINT, PRICE_OF_A_HEAD, PRICE_OF_A_NAME_BETWEEN = 0.2, 0.6, 0.8
"""Of readings that leave as much unknown, that of the fewest pieces is taken. [letters]"""
MANY_LETTERS, WELL_READ = 10, 4.0
"""A shape with so many letters of its own that leaves less than this unknown is the one that was meant. [letters]"""
NOT_MEANT, HARDLY_MEANT = 2.0, 0.3
"""What a day counts where a name is expected, and no day where one is; and a day where anything may be. [letters]"""
PRICE_OF_A_NAME = 0.1
PRICE_OF_A_NAME_IN_PLACE = 0.08
"""What a letter of a name counts against one of an unknown word; where names are expected a little less. [-]"""

_LETTERS = re.compile(r"[A-Za-z]")
_SLOT = re.compile(r"\{(\w+)(:g)?\}")
_WORD = re.compile(r"[^\W\d_]+")
_ENDS = re.compile(r"(?<=[.?!])(\s+)(?=[A-Z“0-9]|[a-z][a-z ]{1,24}: all |days off: )")
_DAY = re.compile(rf"({'|'.join(WEEKDAYS)}) (\d{{1,2}}) ({'|'.join(MONTHS)})(?: (\d{{4}}))?")
_ON_WEEKDAY = re.compile(rf"({'|'.join(WEEKDAYS)}) (\d[\d.]*)")
LONG_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
"""English writes them with a capital wherever they stand; languages that write the short ones small do not."""
_OF_WEEK = tuple(date(2026, 1, 5 + number) for number in range(7))
_OF_DAYS = re.compile(
    rf"\b(?:{'|'.join((*WEEKDAYS, *MONTHS))})|\d{{4}}-\d\d|\d\d:\d\d|\d(?:st|nd|rd|th)|\bdays?\b"
    "|today|tomorrow|yesterday"
)
_MEASURED = re.compile(
    r"(.*?[A-Za-z:,)]) ([-+−]?\d[\d.,/ ½¼¾]*(?: to [-+−]?\d[\d.,/ ½¼¾]*)? ?"
    r"(?:%|°?[CF]\b|kg\b|g\b|mg\b|ml\b|l\b|mm\b|cm\b|h\b|min\b|W\b|oz\b|lb\b|in\b|ppm\b|d\b)?)(.*)"
)
_FIGURE = re.compile(r"(?<![\w.,-])([-+−]?\d+)\.(\d+)(?![\w]|[.-]\d)")
_QUANTITY = re.compile(
    r"[-+−]?[\d.,/ \u00a0½¼¾x×-]+(?:\s?(?:%|°?[CF]|k?g|mg|ml|l|mm|cm|m|h|min|W|oz|lb|in|ft|d|ppm|[A-Z]{3}))?"
)
_NUMBER = r"([-+−]?\d(?:[\d.,/ \u00a0]*[\d])?(?:e[-+]?\d+)?)"
_IN_TEN = re.compile(r"([\d.,]+) in (10+|20|5)")
_SPAN = re.compile(r"([-+−]?[\d.,/ ½¼¾]+(?: ?[%\w°/²µ]+)?) to ([-+−]?[\d.,/ ½¼¾]+(?: ?[%\w°/²µ]+(?: \w+)?)?)")
_MORE = re.compile(r"(.+) and (\d+) more")


class Reading(NamedTuple):
    """A text as it may be said, and how much of it is not known: letters, names counting little."""

    made: str
    unknown: float


class Shape(msgspec.Struct, frozen=True, kw_only=True):
    """A sentence's shape and what it is in another language; both without a full stop at their end."""

    said: str
    source: str
    slots: tuple[str, ...]
    translated: str
    price: float
    """What using it counts: of readings that leave as much unknown, that of the fewest and wordiest shapes is taken."""
    wordy: bool

    @property
    def patterns(self) -> tuple[re.Pattern[str], ...]:
        """What it matches, compiled when first asked for; several where neighbouring slots can share words."""
        return _compiled(self.source)


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
    """

    def __init__(
        self,
        catalogue: Mapping[str, str],
        words: Mapping[str, str],
        *,
        number: Callable[[str], str],
        day: Callable[[date], str],
        weekday: Callable[[date], str],
    ) -> None:
        self._number, self._day, self._weekday = number, day, weekday
        self._exact = {_key(one): other for one, other in words.items() if not _SLOT.search(one)}
        self._exact |= {_key(one): other for one, other in catalogue.items() if not _SLOT.search(one)}
        self._upper = {_key(one): one for one in (*words, *catalogue)}
        self._by_word = _indexed(_alike_once(_shape(*each) for each in catalogue.items() if _SLOT.search(each[0])))
        self._readings: dict[str, tuple[Reading, bool]] = {}
        self.said = lru_cache(KEPT)(self._said)
        self.missed: set[str] | None = None
        """Where tests want to know them: sentences that have no shape."""

    def unknown_in(self, text: str) -> float:
        """How much of a text is not known. [letters]"""
        sentences = (piece.strip() for piece in _ENDS.split(text))
        return sum(self._read(_begun_lower(piece), DEEPEST).unknown for piece in sentences if piece)

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
        made = _as(core, shape.said, _SLOT.sub(lambda slot: values[slot[1]], shape.translated))
        return Reading(made + ("" if made.endswith(("?", "!", ".")) else stop), unknown)

    def _value(self, text: str, name: str, depth: int) -> Reading:
        """What stands in a slot."""
        inner = text.strip()
        if not inner:
            return Reading(text, 0.0)
        begun, ended = text[: len(text) - len(text.lstrip())], text[len(text.rstrip()) :]
        base, of_days = name.rstrip("0123456789"), bool(_OF_DAYS.search(inner))
        if base in NAMES and not begun:
            return Reading(text, _unknown_of_name(inner) + (NOT_MEANT if of_days else 0))
        reading = self._read(inner, depth)
        misread = NOT_MEANT if base in DAYS and not of_days else 0.0
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
            if text in LONG_WEEKDAYS and self._weekday(_OF_WEEK[0]).islower():
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
        return sorted(found, key=_rank)

    def _joined(self, core: str, stop: str, depth: int) -> Iterator[Reading]:
        """A text of several: joined by semicolons, colons, commas, `and`, or with something in brackets."""
        bracket = re.fullmatch(r"(.+?)( ?\()([^()]+)\)", core)
        quoted = re.fullmatch(r"[“\"](.+)[”\"]", core)
        more = _MORE.fullmatch(core)
        if quoted:
            reading = self._read(quoted[1], depth - 1)
            yield Reading(f"“{reading.made}”{stop}", reading.unknown)
        for between in ("; ", ": ", " = ", " + ", " · ", ", "):
            if between in core:
                one, other = core.split(between, 1)
                price = PRICE_OF_A_HEAD if between == ": " and " " not in one else PRICE_OF_A_JOINT
                yield self._both(one, between, other, stop, depth, price)
        squared = re.fullmatch(r"(.+?) (\[[^\]]+\])", core)
        if squared:
            reading = self._read(squared[1], depth - 1)
            yield Reading(f"{reading.made} {squared[2]}{stop}", reading.unknown + PRICE_OF_A_JOINT)
        named = re.fullmatch("(.*?)([,;:]? ?[\ue000-\uf8ff],? ?)(.*)", core)
        if named and len(core) > 1:
            before, after = self._value(named[1], "", depth - 1), self._value(named[3], "", depth - 1)
            unknown = before.unknown + after.unknown + PRICE_OF_A_NAME_BETWEEN
            yield Reading(f"{before.made}{named[2]}{after.made}{stop}", unknown)
        if bracket:
            yield self._both(bracket[1], bracket[2], bracket[3], ")" + stop, depth)
        if more:
            reading = self._read(more[1], depth - 1)
            yield Reading(
                f"{reading.made} {self._and(more[2])} {more[2]} {self._word('more')}{stop}", reading.unknown + 0.1
            )
        counted = re.fullmatch(r"([-+−]?\d[\d.,]*) ([a-z].+)", core)
        if counted:
            after = self._read(counted[2], depth - 1)
            yield Reading(f"{self._figures(counted[1])} {after.made}{stop}", after.unknown + 2 * PRICE_OF_A_JOINT)
        measured = _MEASURED.fullmatch(core)
        if measured and not _OF_DAYS.search(measured[1][-3:]) and (measured[3] == "" or measured[3][:1] in " ,"):
            before, after = self._read(measured[1], depth - 1), self._value(measured[3], "", depth - 1)
            figures = self._read(measured[2].strip(), depth - 1).made
            unknown = before.unknown + after.unknown + 2 * PRICE_OF_A_JOINT
            yield Reading(f"{before.made} {figures}{after.made}{stop}", unknown)
        for between, word in ((" and ", self._and), (" or ", self._or)):
            if between in core:
                one, other = core.split(between, 1)
                before, after = self._read(one, depth - 1), self._read(other, depth - 1)
                made = f"{before.made} {word(after.made)} {after.made}{stop}"
                yield Reading(made, before.unknown + after.unknown + PRICE_OF_A_JOINT)

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
    return text[0].lower() + text[1:] if re.match(r"[A-Z][a-z]*(?!\w)", text) and not _DAY.match(text) else text


def _capital(text: str) -> str:
    """A text with a capital, behind a mark it may begin with."""
    at = next((at for at, letter in enumerate(text) if letter.isalpha()), 0)
    return text[:at] + text[at].upper() + text[at + 1 :] if text and at <= 1 else text


def _shape(said: str, translated: str) -> Shape:
    core = said.removesuffix(".")
    pattern, last, slots = "", 0, []
    for found in _SLOT.finditer(core):
        before = core[last : found.start()]
        pattern += _literal(before, first=last == 0)
        beside = core[max(found.start() - 1, 0) : found.start()] + core[found.end() : found.end() + 1]
        glued = any(each.isalnum() or each in "{}" for each in beside)
        pattern += _NUMBER if found[2] else "(.*?)" if glued else "(.+?)"
        slots.append(found[1])
        last = found.end()
    pattern += _literal(core[last:], first=last == 0)
    letters = sum(letter.isalpha() for letter in _SLOT.sub("", core))
    price = PRICE_OF_A_SHAPE + (PRICE_OF_FEW_LETTERS if letters <= FEW_LETTERS else 0)
    return Shape(
        said=core, source=pattern, slots=tuple(slots), translated=_plain(translated.removesuffix(".")), price=price,
        wordy=letters >= MANY_LETTERS,
    )  # fmt: skip


FREE_NEIGHBOURS = r"(.+?)\ (.+?)"
"""Two slots with nothing but a space between them."""


@lru_cache(None)
def _compiled(pattern: str) -> tuple[re.Pattern[str], ...]:
    ways = [pattern]
    if FREE_NEIGHBOURS in pattern:
        ways += [pattern.replace(FREE_NEIGHBOURS, rf"((?:\S+ ){{{more}}}\S+)\ (.+?)", 1) for more in range(1, 4)]
    return tuple(re.compile(way, re.DOTALL) for way in ways)


def _plain(translated: str) -> str:
    return _SLOT.sub(lambda found: "{" + found[1] + "}", translated)


def _literal(text: str, *, first: bool) -> str:
    if first and text[:1].isalpha():
        return f"(?i:{re.escape(text[0])}){re.escape(text[1:])}"
    return re.escape(text)


def _alike_once(shapes: Iterable[Shape]) -> list[Shape]:
    """Shapes that match and say the same, whatever their slots are called, once each."""
    found: dict[object, Shape] = {}
    for shape in shapes:
        at = {name: str(place) for place, name in enumerate(shape.slots)}
        kinds = tuple((name.rstrip("0123456789") in NAMES, name.rstrip("0123456789") in DAYS) for name in shape.slots)
        said = _SLOT.sub(lambda slot, at=at: f"{{{at[slot[1]]}}}", shape.translated)  # type: ignore[misc]
        found.setdefault((shape.source, kinds, said), shape)
    return list(found.values())


def _indexed(shapes: list[Shape]) -> dict[str, list[Shape]]:
    """Shapes by the rarest of their own words; those whose words are all glued to slots stand under no word."""
    own = {shape.said: _own_words(shape.said) for shape in shapes}
    often = Counter(word for words in own.values() for word in words)
    found: dict[str, list[Shape]] = {}
    for shape in shapes:
        word = min(own[shape.said], key=lambda one: (often[one], -len(one), one), default="")
        found.setdefault(word, []).append(shape)
    return found


def _own_words(said: str) -> set[str]:
    marked = _SLOT.sub("0", said)
    return {found[0].lower() for found in re.finditer(r"(?<![\w])[^\W\d_]+(?![\w])", marked)}


def _rank(shape: Shape) -> tuple[int, int, str]:
    return _ranked(shape.said)


@lru_cache(KEPT)
def _ranked(said: str) -> tuple[int, int, str]:
    """The most of its own letters first: such a shape says most of a sentence."""
    letters = sum(letter.isalpha() for letter in _SLOT.sub("", said))
    return -letters, len(_SLOT.findall(said)), said


def read_shapes(path: Path) -> dict[str, str]:
    """The words of a catalogue that have one translation; none where there is no catalogue."""
    if not path.is_file():
        return {}
    found: dict[str, str] = {}
    for block in path.read_text(encoding="utf-8").split("\n\n"):
        words = {key: "".join(map(json.loads, _QUOTED.findall(value))) for key, value in _ENTRY.findall(block)}
        # A word with a context says that only there.
        if words.get("msgid") and words.get("msgstr") and "\nmsgctxt " not in f"\n{block}":
            found[words["msgid"]] = words["msgstr"]
    return found


_ENTRY = re.compile(r'^(msgid|msgstr) ("[^\n]*"(?:\n"[^\n]*")*)', re.MULTILINE)
_QUOTED = re.compile(r'"(?:[^"\\]|\\.)*"')


def plain_words(path: Path) -> dict[str, str]:
    """The pages' own words that have nothing to fill in, with their translation."""
    return {one: other for one, other in read_shapes(path).items() if "%" not in one and "{" not in one}


class Names:
    """
    Names that a farm's people gave, taken out of a sentence before it is translated, and put back after.

    Only those that could be taken for words of ours: of several words, or with a capital in front; of crops all.

    Examples
    --------
    >>> names = Names(["Salt and Copper", "radish"])
    >>> names.kept("for Salt and Copper and 2 more", lambda words: words.replace("and", "y"))
    'for Salt and Copper y 2 more'
    """

    def __init__(self, names: Iterable[str], crops: Iterable[str] = ()) -> None:
        wordy = {name for name in names if len(name) > 2 and (" " in name or name[:1].isupper())} | set(crops)
        longest = sorted(wordy, key=len, reverse=True)[:MOST_NAMES]
        found = "|".join(map(re.escape, longest))
        self._pattern = re.compile(rf"(?<!\w)(?:{found})(?!\w)") if longest else None
        self.made: dict[tuple[str, str], str] = {}
        """By locale and sentence, what was made of it; let go with these names when the book moves."""

    def kept(self, text: str, said: Callable[[str], str], unknown_in: Callable[[str], float] = lambda _: inf) -> str:
        """
        A sentence as `said` says it, with these names as they were.

        `unknown_in`: how much of a text is not known. A sentence of ours may speak of a crop in an example; it is then
        said whole.
        """
        if self._pattern is None or self._pattern.search(text) is None:
            return said(text)
        taken: list[str] = []

        def stands(found: re.Match[str]) -> str:
            taken.append(found[0])
            return chr(STANDS_FOR_A_NAME + len(taken) - 1)

        without = self._pattern.sub(stands, text)
        if unknown_in(text) < 1 <= unknown_in(without):
            return said(text)
        made = said(without)
        return _STANDING.sub(lambda found: taken[ord(found[0]) - STANDS_FOR_A_NAME], made)

    def sayer(self, sayings: Sayings | None, locale: str) -> Callable[[str], str]:
        """What says sentences in a locale's language with these names as they were, and remembers what it said."""
        if sayings is None:
            return str

        def say(sentence: str) -> str:
            key = locale, sentence
            if key not in self.made:
                self.made[key] = self.kept(sentence, sayings.said, sayings.unknown_in)
            return self.made[key]

        return say


def names_of(state: FarmState) -> Names:
    """The names that stand in a farm's sentences."""
    grown = (recipe.crop for recipe in state.recipes.values())
    return Names(_names_given(state), crops={*grown, *(lot.crop for lot in state.seed.values())} - {""})


def _names_given(state: FarmState) -> Iterator[str]:
    yield from state.customers
    yield from state.products
    yield from state.recipes
    yield from state.standing
    yield from state.trials
    yield from state.orders
    yield from (lot.supplier for lot in state.seed.values())
    yield from (lot.variety for lot in state.seed.values())


MOST_NAMES = 2000
STANDS_FOR_A_NAME = 0xE000
"""Letters of Unicode's private use, from here on, stand for names while a sentence is translated."""
_STANDING = re.compile("[\ue000-\uf8ff]")


def filter_of(said: Callable[[str], str] | None, units: ShownUnits) -> Callable[[Context, object], object]:
    """The filter `said` of the templates, in a reader's language and units. Markup of ours is no sentence."""
    as_it_is = said is None and units == METRIC

    @pass_context
    def filtered(context: Context, value: object) -> object:
        if as_it_is or not isinstance(value, str) or isinstance(value, Markup):
            return value
        ask = context.get("ask")
        if ask is None:
            found = in_units(value, units)
            return found if said is None else said(found)
        return ask.say(ask.measured(value))

    return filtered
