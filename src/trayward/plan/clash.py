"""A limit that stands in the way of lines, and how much a line lacks."""

from __future__ import annotations

import msgspec

from trayward.plan.demand import OpenLine, Want
from trayward.plan.results import Read

ENOUGH_G = 0.5
"""A line short of less than this counts as met. [g]"""


class Clash(msgspec.Struct, frozen=True, kw_only=True):
    """One limit on one day (or up to it) and how far it would have to stretch."""

    limit: str
    day: int
    has: float
    short: float
    unit: str
    wants: frozenset[int]
    message: str = ""
    kind: str = ""
    """What sort of limit: `limit` is shared by all crops, `keep` and `window` are one crop's own."""


def short_lines(read: Read, want: Want) -> list[int]:
    """The lines of a want that are not met in full."""
    return [number for number in want.lines if short_of(read.lines[number], read, number) > 0]


def short_of(line: OpenLine, read: Read, number: int) -> float:
    """Grams, or live trays, a line is short of; 0 where it is met."""
    if line.line.live:
        return float(line.trays - int(read.given.trays_met[number]))
    short = line.grams - float(read.given.grams_met[number])
    return short if short > ENOUGH_G else 0.0
