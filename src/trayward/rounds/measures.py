"""Measures within sentences of the rooms below, in the units of who reads them.

Recipes, guides and kept plans speak of grams, millilitres and millimetres. Who reads ounces, cups and inches gets
those. Temperatures stay, but for those of guides (`rounds.guide`): of `2 C more` nobody can tell by its form whether it
is one or a difference of two. So do
measures of a sheet or a tray (`52 x 27 x 3 cm`), rates (`5 ml/l`), prices of 100 g and the weight of a thousand seeds,
which seed bags give in grams everywhere.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from trayward.farm.settings import ShownUnits
from trayward.rounds.types import RoundRow
from trayward.units import show_length, show_mass, show_volume

_BASE = {"g": 1.0, "kg": 1000.0, "ml": 1.0, "l": 1000.0, "mm": 1.0, "cm": 10.0}
"""How many [g], [ml] or [mm] one of each is."""
_NUMBER = r"\d+(?:[.,]\d+)?"
_MEASURE = re.compile(
    rf"(?<![\w.,/-])(?<! x )(?<!per )(?<!por )(?<!of a )({_NUMBER})(?: (to|a) ({_NUMBER}))? ?(kg|g|ml|l|mm|cm)"
    r"(?![\w/²³-])(?! x )(?! a thousand)(?! for 1000)(?! the thousand)(?! las mil)"
    r"(?: \([^()]*(?:cup|taza|tbsp|tsp|oz|lb|in|gal)\))?"
)
_SKIPPED_BEFORE = re.compile(r"(?:\b(?:oz|lb|in|cup|gal|tbsp|tsp) \(|\b(?:1000|thousand|mil)\b[^.;]{0,24})$")
"""Behind a measure in the reader's own units stands the same once more; of a thousand seeds, see above."""


_THOUSANDS = re.compile(r"(?<=\d) (?=\d{3}(?!\w))")


def in_one(words: str) -> str:
    """
    Words in which a number stays in one line: the space between its thousands does not break.

    Examples
    --------
    >>> in_one("would lose 1 492.26 EUR, 3 trays")
    'would lose 1\\xa0492.26 EUR, 3 trays'
    """
    return _THOUSANDS.sub("\u00a0", words)


NAMES_IN_IT = ("pack", "deliver")
"""Kinds of rows whose *how* holds names that somebody gave; its amounts are in their units already."""


def how_in_units(row: RoundRow, how: str, units: ShownUnits, number: Callable[[str], str] = str) -> str:
    """How a row is done, in whatever language it is said, with the recipe's measures in a reader's units."""
    return how if row.kind in NAMES_IN_IT else in_units(how, units, number)


def in_units(sentence: str, units: ShownUnits, number: Callable[[str], str] = str) -> str:
    """
    A sentence with its measures in a reader's units; unchanged where those are grams, millilitres and millimetres.

    It may have been said in the reader's language already: `number` writes figures as that does, with a decimal comma.

    Examples
    --------
    >>> from trayward.farm.settings import US
    >>> in_units("A tray with 2.3 kg on top; only if it feels dry: 60 ml (1/4 cup) of water.", US)
    'A tray with 5.07 lb on top; only if it feels dry: 1/4 cup of water.'
    >>> in_units("190 to 270 g on a tray of 52 x 27 x 3 cm, 4.60 EUR per 100 g", US)
    '6.7 to 9.52 oz on a tray of 52 x 27 x 3 cm, 4.60 EUR per 100 g'
    """

    def shown(found: re.Match[str]) -> str:
        show = _shower(found[4], units)
        if show is None or _SKIPPED_BEFORE.search(sentence[: found.start()]):
            return found[0]
        one = show(float(found[1].replace(",", ".")))
        if not found[3]:
            return number(one)
        other = show(float(found[3].replace(",", ".")))
        same = one.rpartition(" ")[2] == other.rpartition(" ")[2]
        return number(f"{one.rpartition(' ')[0] if same else one} {found[2]} {other}")

    return _MEASURE.sub(shown, sentence)


def _shower(unit: str, units: ShownUnits) -> Callable[[float], str] | None:
    """What shows a number of that unit to the reader; None where it stays as it is."""
    base = _BASE[unit]
    if unit in ("g", "kg"):
        return None if units.mass == "g" else lambda number: show_mass(number * base, units.mass)
    if unit in ("ml", "l"):
        return None if units.volume == "ml" else lambda number: show_volume(number * base, units.volume)
    return None if units.length == "mm" else lambda number: show_length(number * base, units.length)
