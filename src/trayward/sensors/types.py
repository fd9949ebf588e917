"""A reading of a sensor as it is kept beside the book, and what was done with many of them."""

from __future__ import annotations

from datetime import datetime
from typing import NamedTuple

import msgspec


class Reading(NamedTuple):
    """What a sensor said: in the unit of its measure, without its correction."""

    at: datetime
    value: float


class Taken(NamedTuple):
    """A reading of a named sensor, and when it came in."""

    sensor: str
    at: datetime
    value: float


class ReadingsKept(msgspec.Struct, frozen=True, kw_only=True):
    """What became of readings that came in."""

    new: int = 0
    already: int = 0
    """Kept before: the same sensor and moment."""
    differing: int = 0
    """Of those, how many say another value now; the first one stays."""
