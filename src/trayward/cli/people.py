"""What people type, read: what the benches read too, lists of rows, and what may be measured."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from trayward.bench.typed import (
    counted,
    grams_of,
    length,
    mass,
    maybe,
    names,
    number,
    pairs,
    share,
    temperature,
    volume,
    whole,
)
from trayward.errors import InputError
from trayward.farm.settings import ShownUnits
from trayward.units import parse_share

__all__ = [
    "MEASURES",
    "counted",
    "grams_of",
    "length",
    "mass",
    "maybe",
    "names",
    "number",
    "pairs",
    "row_numbers",
    "share",
    "temperature",
    "volume",
    "whole",
]

_SPAN = re.compile(r"(\d+)(?:-(\d+))?")


def row_numbers(text: str, there_are: int) -> list[int]:
    """Rows of the round as typed: `3`, `1,2,5-7` or `all`.

    Raises
    ------
    InputError
        If it names no rows, or rows the round does not have.
    """
    if text.strip().lower() == "all":
        return list(range(1, there_are + 1))
    found: dict[int, None] = {}
    for part in text.split(","):
        match = _SPAN.fullmatch(part.strip())
        if match is None:
            raise InputError("rows", text, "they must be numbers of rows", "For instance 3, or 1,2,5-7, or all.")
        found |= dict.fromkeys(range(int(match[1]), int(match[2] or match[1]) + 1))
    unknown = [row for row in found if not 1 <= row <= there_are]
    if unknown or not found:
        rule = {0: "the round has no rows left", 1: "the round has one row"}.get(
            there_are, f"the round has rows 1 to {there_are}"
        )
        raise InputError("row", unknown[0] if unknown else text, rule, "See them with: trayward round")
    return list(found)


MEASURES: Mapping[str, tuple[str, str, Callable[[str, ShownUnits], float]]] = {
    "height": ("height_mm", "mm", length),
    "weight": ("weight_g", "g", mass),
    "temperature": ("temperature_c", "C", temperature),
    "canopy": ("canopy_share", "", lambda text, _: parse_share(text, name="canopy")),
    "emerged": ("emerged_share", "", lambda text, _: parse_share(text, name="emerged")),
}
"""What may be measured of a tray in units people type: its name in the book, the book's unit and how it is read."""
