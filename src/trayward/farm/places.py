"""Places: room > rack > shelf > spot. A shelf is dark or lit; a spot holds one tray.

A dark shelf may take stacks. Its spots are then named by floor position and level: `A1.3a` stands on the shelf, `A1.3b`
on it, and so on. A shelf that takes no stacks names its spots `A2.1`, `A2.2`, ...
"""

from __future__ import annotations

import string
from typing import Literal

import msgspec

ShelfKind = Literal["dark", "lit"]


class Lamp(msgspec.Struct, frozen=True, kw_only=True):
    """The light over one shelf. Mains power near water: defer to the label, local codes and licensed practice."""

    count: int = 1
    watts: float = 0.0
    """Power of one lamp. [W]"""
    umol_s: float | None = None
    """Photon output of one lamp. [umol/s]"""
    hours: float = 16.0
    """Hours of light a day. [h]"""


class Shelf(msgspec.Struct, frozen=True, kw_only=True):
    """One shelf of a rack. `spots` counts floor positions, `stack` how many trays high each may stand."""

    name: str
    """Rack and shelf together, unique on the farm, for instance `A1`."""
    rack: str
    room: str
    kind: ShelfKind
    spots: int
    stack: int = 1
    order: int = 0
    """Place in the walking order of the round, low first."""
    lamp: Lamp | None = None

    def spot_names(self) -> tuple[str, ...]:
        """Every spot of the shelf, floor position first, then level."""
        return tuple(
            spot_name(self.name, position, level, self.stack)
            for position in range(1, self.spots + 1)
            for level in range(self.stack)
        )


def spot_name(shelf: str, position: int, level: int, stack: int) -> str:
    """Name of the spot at a floor `position` (from 1) and `level` (from 0) of a shelf that takes `stack` high."""
    letter = string.ascii_lowercase[level] if stack > 1 else ""
    return f"{shelf}.{position}{letter}"


def floor_position(spot: str) -> str:
    """The floor position a spot stands on: the spot's name without its level letter."""
    return spot.rstrip(string.ascii_lowercase)


def shelf_of(spot: str) -> str:
    """The shelf a spot belongs to."""
    return spot.partition(".")[0]
