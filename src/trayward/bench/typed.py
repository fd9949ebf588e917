"""What people type, read: names with amounts, weights, lengths, shares, how many of how many."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from typing import TypeVar

from trayward.errors import InputError
from trayward.farm.settings import ShownUnits
from trayward.units import (
    OF,
    parse_length,
    parse_mass,
    parse_share,
    parse_temperature,
    parse_volume,
    require_one_meaning,
)

T = TypeVar("T")

_PAIR = re.compile(r"\s*([^=\s]+)\s*=\s*(.+?)\s*")
_SPACED_PAIR = re.compile(r"\s*([^=\s](?:[^=]*[^=\s])?)\s*=\s*(\S.*?)\s*", re.DOTALL)


def pairs(words: Sequence[str], example: str, *, spaced: bool = False) -> dict[str, str]:
    """Words of the form NAME=VALUE, each name once. `spaced`: a name may have spaces in it, as products have."""
    found: dict[str, str] = {}
    for word in words:
        match = (_SPACED_PAIR if spaced else _PAIR).fullmatch(word)
        if match is None:
            raise InputError("pair", word, "it must be a name, =, and what it gets", f"For instance {example}.")
        if match[1] in found:
            raise InputError("pair", word, f"{match[1]} is named twice", "Name each once.")
        found[match[1]] = match[2]
    return found


def grams_of(words: Sequence[str], units: ShownUnits, example: str) -> dict[str, float]:
    """Words of the form NAME=WEIGHT. [g]"""
    return {name: mass(text, units, name=f"weight of {name}") for name, text in pairs(words, example).items()}


def mass(text: str, units: ShownUnits, *, density: float | None = None, name: str = "weight") -> float:
    """A weight; a bare number is in the farm's unit, spoons need a bulk density. [g]"""
    return parse_mass(text, density_g_per_ml=density, default=units.mass, name=name)


def volume(text: str, units: ShownUnits) -> float:
    """A volume; a bare number is in the farm's unit. [ml]"""
    return parse_volume(text, default=units.volume)


def length(text: str, units: ShownUnits) -> float:
    """A length; a bare number is in the farm's unit. [mm]"""
    return parse_length(text, default=units.length, name="height")


def temperature(text: str, units: ShownUnits) -> float:
    """A temperature; a bare number is in the farm's unit. [C]"""
    return parse_temperature(text, default=units.temperature)


def maybe(read: Callable[[str, ShownUnits], T], text: str | None, units: ShownUnits) -> T | None:
    """Read an option that may have been left out."""
    return read(text, units) if text is not None else None


def share(text: str | None, name: str) -> float | None:
    """A share of a whole that may have been left out: `80 %`, `0.8`, `43 of 50`. [-]"""
    return parse_share(text, name=name) if text is not None else None


def counted(text: str) -> tuple[int, int]:
    """How many of how many: `43 of 50` or `43/50`."""
    match = re.fullmatch(rf"\s*(\d+)\s*(?:{OF}|/)\s*(\d+)\s*", text, re.IGNORECASE)
    if match is None:
        raise InputError("sprouted", text, "it must say how many of how many", 'For instance "43 of 50".')
    some, whole = int(match[1]), int(match[2])
    if whole < 1 or some > whole:
        raise InputError("sprouted", text, "it cannot be more than were tested", "Count again.")
    return some, whole


def number(text: str, name: str, unit: str = "") -> float:
    """A bare number, with a decimal point or comma."""
    require_one_meaning(text, name=name)
    remedy = f"For instance 5.8 {unit}".strip() + "."
    try:
        found = float(text.strip().replace(",", "."))
    except ValueError as error:
        raise InputError(name, text, "it must be a number", remedy) from error
    if not math.isfinite(found):  # Python reads `nan` and `inf` as numbers; no scale shows them
        raise InputError(name, text, "it must be a number", remedy)
    return found


def whole(text: str, name: str) -> int:
    """A count of things."""
    if not text.strip().isdecimal():
        raise InputError(name, text, "it must be a whole number", "For instance 2.")
    return int(text)


def names(text: str | None) -> list[str] | None:
    """Names with commas between them, of an option that may have been left out."""
    return [name.strip() for name in text.split(",") if name.strip()] if text is not None else None
