"""How a round says things: days and amounts in plain words, and names that can be read aloud."""

from __future__ import annotations

import re
from datetime import datetime

from trayward.dates import day_words
from trayward.farm.calendar import local_day
from trayward.farm.settings import FarmSettings
from trayward.units import show_mass
from trayward.words import Filled, counted

LARGE_AMOUNT = 1000.0
"""From so many g or ml on an amount is told in kg or l."""


def day_of(moment: datetime, settings: FarmSettings) -> str:
    """The farm's own day of a moment, in words."""
    return day_words(local_day(moment, settings))


def day_number(sown_at: datetime, at: datetime, settings: FarmSettings) -> int:
    """Which day of a tray's life it is; the day it was sown is day 1."""
    return (local_day(at, settings) - local_day(sown_at, settings)).days + 1


def between(low: str, high: str, words: str = "%(low)s to %(high)s") -> str:
    """
    A range, from two figures that carry their unit; the unit is said once, and one figure if both read the same.

    `words`: how a range is said, in another language than ours.

    Examples
    --------
    >>> between("13 mm", "25 mm"), between("80 g", "80 g"), between("9 oz", "1 lb"), between("1 cup", "1 1/2 cup")
    ('13 to 25 mm', '80 g', '9 oz to 1 lb', '1 to 1 1/2 cup')
    """
    if low == high:
        return low
    figure, _, unit = low.rpartition(" ")
    return words % {"low": figure if unit == high.rpartition(" ")[2] else low, "high": high}


def likely_weight(grams: float, unit: str) -> str:
    """
    A weight that is only likely, in the farm's unit: two figures, never more than are known.

    Examples
    --------
    >>> likely_weight(207.3, "g"), likely_weight(207.3, "oz")
    ('210 g', '7.3 oz')
    """
    return show_mass(grams, unit, figures=2)


def weights_between(low_g: float, high_g: float, unit: str) -> str:
    """
    A range of likely weights, in the farm's unit.

    Examples
    --------
    >>> weights_between(64.2, 131.0, "g")
    '64 to 130 g'
    """
    return between(likely_weight(low_g, unit), likely_weight(high_g, unit))


def sentence(words: str) -> str:
    """
    Words with a capital and a full stop, unless they end in a stop of their own. What knows its parts still does.

    Examples
    --------
    >>> sentence("note: front corner thin"), sentence("looked at: tall?")
    ('Note: front corner thin.', 'Looked at: tall?')
    """
    stop = "" if words.endswith((".", "?", "!", ".)")) else "."
    if isinstance(words, Filled):
        shape = f"{words.shape[:1].upper()}{words.shape[1:]}{stop}"
        return Filled(f"{words[:1].upper()}{words[1:]}{stop}", shape, words.values)
    return f"{words[:1].upper()}{words[1:]}{stop}"


def sentences(*parts: str) -> str:
    """The parts that say something, each with a capital and a full stop, in one line."""
    return " ".join(sentence(part.strip()) for part in parts if part.strip())


def no_spot_words(ground: str, trays: int, spots: int) -> str:
    """
    That trays find no spot, and the way out; empty where there are enough.

    Examples
    --------
    >>> no_spot_words("dark", 2, 1), no_spot_words("lit", 2, 2)
    ('there is no free dark spot for 1 tray: turn, cut or move trays first', '')
    """
    if spots >= trays:
        return ""
    none = f"there is no free {ground} spot" + (f" for {counted(trays - spots, 'tray')}" if spots else "")
    return f"{none}: turn, cut or move trays first"


def slug(text: str) -> str:
    """
    A word for a row's name: letters and digits with single hyphens, as given otherwise.

    Examples
    --------
    >>> slug("Broccoli, mesh mat"), slug("261125A")
    ('broccoli-mesh-mat', '261125a')
    """
    return re.sub(r"[^\w]+", "-", text.strip().lower()).strip("-")


def amount_of(amount: float, unit: str) -> str:
    """
    An amount of a supply, in the larger unit where that reads better.

    Examples
    --------
    >>> amount_of(48.0, "pieces"), amount_of(1.0, "pieces"), amount_of(2500.0, "ml"), amount_of(80.0, "g")
    ('48 pieces', '1 piece', '2.5 l', '80 g')
    """
    if unit == "pieces":
        return f"{amount:.6g} {'piece' if amount == 1 else 'pieces'}"
    if abs(amount) >= LARGE_AMOUNT:
        return f"{amount / LARGE_AMOUNT:.4g} {'kg' if unit == 'g' else 'l'}"
    return f"{amount:.4g} {unit}"
