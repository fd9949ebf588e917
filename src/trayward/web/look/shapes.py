"""The shapes of sentences in a catalogue: what each matches, and how those that may fit are found."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

import msgspec

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
PRICE_OF_A_SHAPE, PRICE_OF_FEW_LETTERS, FEW_LETTERS = 0.25, 0.25, 3
"""What it counts to use a shape, and one of so few letters of its own more. [letters]"""
MANY_LETTERS = 10
"""A shape with so many letters of its own is wordy. [letters]"""

SLOT = re.compile(r"\{(\w+)(:g)?\}")
_NUMBER = r"([-+−]?\d(?:[\d.,/ \u00a0]*[\d])?(?:e[-+]?\d+)?)"


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


def shape_of(said: str, translated: str) -> Shape:
    """The shape of a sentence of the catalogue."""
    core = said.removesuffix(".")
    pattern, last, slots = "", 0, []
    for found in SLOT.finditer(core):
        before = core[last : found.start()]
        pattern += _literal(before, first=last == 0)
        beside = core[max(found.start() - 1, 0) : found.start()] + core[found.end() : found.end() + 1]
        glued = any(each.isalnum() or each in "{}" for each in beside)
        pattern += _NUMBER if found[2] else "(.*?)" if glued else "(.+?)"
        slots.append(found[1])
        last = found.end()
    pattern += _literal(core[last:], first=last == 0)
    letters = sum(letter.isalpha() for letter in SLOT.sub("", core))
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
    return SLOT.sub(lambda found: "{" + found[1] + "}", translated)


def _literal(text: str, *, first: bool) -> str:
    if first and text[:1].isalpha():
        return f"(?i:{re.escape(text[0])}){re.escape(text[1:])}"
    return re.escape(text)


def alike_once(shapes: Iterable[Shape]) -> list[Shape]:
    """Shapes that match and say the same, whatever their slots are called, once each."""
    found: dict[object, Shape] = {}
    for shape in shapes:
        at = {name: str(place) for place, name in enumerate(shape.slots)}
        kinds = tuple((name.rstrip("0123456789") in NAMES, name.rstrip("0123456789") in DAYS) for name in shape.slots)
        said = SLOT.sub(lambda slot, at=at: f"{{{at[slot[1]]}}}", shape.translated)  # type: ignore[misc]
        found.setdefault((shape.source, kinds, said), shape)
    return list(found.values())


def indexed(shapes: list[Shape]) -> dict[str, list[Shape]]:
    """Shapes by the rarest of their own words; those whose words are all glued to slots stand under no word."""
    own = {shape.said: _own_words(shape.said) for shape in shapes}
    often = Counter(word for words in own.values() for word in words)
    found: dict[str, list[Shape]] = {}
    for shape in shapes:
        word = min(own[shape.said], key=lambda one: (often[one], -len(one), one), default="")
        found.setdefault(word, []).append(shape)
    return found


def _own_words(said: str) -> set[str]:
    marked = SLOT.sub("0", said)
    return {found[0].lower() for found in re.finditer(r"(?<![\w])[^\W\d_]+(?![\w])", marked)}


def rank(shape: Shape) -> tuple[int, int, str]:
    """Where a shape stands among those that may fit: the wordiest first."""
    return _ranked(shape.said)


@lru_cache(KEPT)
def _ranked(said: str) -> tuple[int, int, str]:
    """The most of its own letters first: such a shape says most of a sentence."""
    letters = sum(letter.isalpha() for letter in SLOT.sub("", said))
    return -letters, len(SLOT.findall(said)), said


# Catalogues -----------------------------------------------------------------------------------------------------------


PART = "part"
"""The context of shapes of few letters, which only those find who name them."""


def read_shapes(path: Path, context: str = "") -> dict[str, str]:
    """The words of a catalogue, those of one context, that have one translation; none where there is no catalogue."""
    if not path.is_file():
        return {}
    found: dict[str, str] = {}
    for block in path.read_text(encoding="utf-8").split("\n\n"):
        words = {key: "".join(map(json.loads, _QUOTED.findall(value))) for key, value in _ENTRY.findall(block)}
        # A word with a context says that only there.
        if words.get("msgid") and words.get("msgstr") and words.get("msgctxt", "") == context:
            found[words["msgid"]] = words["msgstr"]
    return found


_ENTRY = re.compile(r'^(msgctxt|msgid|msgstr) ("[^\n]*"(?:\n"[^\n]*")*)', re.MULTILINE)
_QUOTED = re.compile(r'"(?:[^"\\]|\\.)*"')


def plain_words(path: Path) -> dict[str, str]:
    """The pages' own words that have nothing to fill in, with their translation."""
    return {one: other for one, other in read_shapes(path).items() if "%" not in one and "{" not in one}
