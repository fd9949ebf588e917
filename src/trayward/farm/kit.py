"""Kit: pools of mesh trays, solid trays, covers and mats that are in use, dirty, drying or ready."""

from __future__ import annotations

from datetime import datetime

import msgspec


class Pool(msgspec.Struct, frozen=True, kw_only=True):
    """A pool of like things. `dry_hours` is the time from washing until one may be used again. [h]"""

    name: str
    count: int
    dry_hours: float = 12.0
    minutes_wash: float = 0.0
    """Hands' work to wash one, where the recipe does not count it. [min]"""
    sanitise: bool = False
    """Whether this farm wants it sanitised, not only washed, before its next use."""
    wear: float = 0.0
    """Cost of one use. [farm's currency]"""


class Drying(msgspec.Struct, frozen=True):
    """Some of a pool, washed and not yet dry."""

    ready_at: datetime
    count: int


class PoolState(msgspec.Struct, kw_only=True):
    """Where the things of one pool are now. What is not in use, dirty, away, lost or drying is ready."""

    pool: Pool
    in_use: int = 0
    dirty: int = 0
    away: int = 0
    lost: int = 0
    washed: int = 0
    """Washed but not yet sanitised, on a farm that wants both."""
    drying: list[Drying] = []
    uses: int = 0

    def still_drying(self, at: datetime) -> int:
        """How many are still drying at that moment."""
        return sum(batch.count for batch in self.drying if batch.ready_at > at)

    def ready(self, at: datetime) -> int:
        """How many are clean, dry and free at that moment; negative when the record does not add up."""
        gone = self.in_use + self.dirty + self.away + self.lost + self.washed
        return self.pool.count - gone - self.still_drying(at)
