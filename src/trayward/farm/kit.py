"""Kit: pools of mesh trays, solid trays, covers and mats that are in use, dirty, drying or ready.

The things of a pool may carry marks (M1, M2, ...); the counts go on as before, and each mark has a state of its own.
"""

from __future__ import annotations

from datetime import datetime
from typing import Literal

import msgspec

WASH_STEPS = ("scrape", "rinse warm", "wash with food-safe soap", "rinse hot")
"""What washing is, in order, where a farm says nothing else. Common practice, no source."""

Where = Literal["ready", "in use", "dirty", "washed", "away", "retired", "lost"]
"""Where a marked thing is. `ready` may still dry; `washed` waits to be sanitised."""
GONE: tuple[Where, ...] = ("retired", "lost")


class Clearing(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What must happen to a thing of a pool before its next use, by the farm's own word.

    The label, local codes and licensed practice go before these figures.
    """

    steps: tuple[str, ...] = ()
    """Steps of a washing, in order; none of them may be left out. Empty: as common practice has them."""
    rinse_c: float | None = None
    """The rinse is at least this warm. [C]"""
    ppm_least: float | None = None
    """The agent is measured at least this strong. [ppm]"""
    ppm_most: float | None = None
    """And no stronger than this. [ppm]"""
    contact_min: float | None = None
    """It stays on at least this long. [min]"""
    water_least_c: float | None = None
    """The agent's water is at least this warm. [C]"""
    water_most_c: float | None = None
    """And no warmer than this. [C]"""
    after_mould: bool = False
    """True: a thing that held a tray with suspected mould is sanitised before its next use, whatever the pool wants."""
    refuse: bool = False
    """True: nothing is sown on what is not cleared; False: it is said, and kept."""


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
    lasts_uses: int = 0
    """Uses that one is expected to last; 0: not said. [-]"""
    clearing: Clearing = Clearing()

    @property
    def wash_steps(self) -> tuple[str, ...]:
        """The steps of a washing, the farm's own or those of common practice."""
        return self.clearing.steps or WASH_STEPS


class Mark(msgspec.Struct, kw_only=True, omit_defaults=True):
    """A thing of a pool that carries a mark, as it is now. Its history is in the book (`mark:NAME`)."""

    where: Where = "ready"
    since: datetime | None = None
    """Of one that is ready: since when it is dry, or when it will be."""
    tray: str = ""
    """The tray it is under, or was last."""
    uses: int = 0
    suspect: bool = False
    """It held a tray with suspected mould, and was not sanitised since."""
    replaces: str = ""
    reason: str = ""
    """Why it is retired or lost."""


class Drying(msgspec.Struct, frozen=True):
    """Some of a pool, washed and not yet dry."""

    ready_at: datetime
    count: int


class Owner(msgspec.Struct, frozen=True, array_like=True):
    """Some pieces of a pool that were under one tray."""

    tray: str
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
    suspect: int = 0
    """Of the dirty ones, those that held a tray with suspected mould."""
    marks: dict[str, Mark] = {}
    """Things that carry a mark, those that are gone among them."""
    on: dict[str, tuple[str, ...]] = {}
    """Tray -> the marks it holds now."""
    owners: dict[Where, list[Owner]] = {}
    """Whose the dirty, washed and lent pieces are, the first in line first."""
    cleaned: list[Owner] = []
    """Whose those were that were washed last."""

    def still_drying(self, at: datetime) -> int:
        """How many are still drying at that moment."""
        return sum(batch.count for batch in self.drying if batch.ready_at > at)

    def ready(self, at: datetime) -> int:
        """How many are clean, dry and free at that moment; negative when the record does not add up."""
        gone = self.in_use + self.dirty + self.away + self.lost + self.washed
        return self.pool.count - gone - self.still_drying(at)
