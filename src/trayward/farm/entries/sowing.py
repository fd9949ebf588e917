"""The entry of a sowing: its trays, its seed, the marked kit each tray got."""

from __future__ import annotations

import msgspec

from trayward.farm.entries.body import Body


class TraySown(msgspec.Struct, frozen=True, kw_only=True):
    """One tray of a sowing and where it went; no spot while it needs none (soaking)."""

    tray: str
    spot: str | None = None


class SeedUsed(msgspec.Struct, frozen=True, kw_only=True):
    """Grams out of one seed lot, for all trays of the sowing together. [g]"""

    lot: str
    grams: float


class MarksOn(msgspec.Struct, frozen=True, kw_only=True):
    """The marked mats, trays or covers that one tray is on, under or in."""

    tray: str
    marks: tuple[str, ...]


class SowingMade(Body, frozen=True, kw_only=True):
    """Trays sown together from the same recipe and seed lots, shared evenly over the trays."""

    KIND = "sowing made"
    VERSION = 2
    sowing: str
    recipe: str
    trays: tuple[TraySown, ...]
    lots: tuple[SeedUsed, ...]
    stage: str = ""
    """Stage they begin in; empty: the recipe's first."""
    trial: str = ""
    marks: tuple[MarksOn, ...] = ()
    """Which marked kit each tray got; only trays that got some."""

    def subjects(self) -> tuple[str, ...]:
        trays = tuple(f"tray:{tray.tray}" for tray in self.trays)
        lots = tuple(f"lot:{used.lot}" for used in self.lots)
        marks = dict.fromkeys(f"mark:{mark}" for on in self.marks for mark in on.marks)
        return (f"sowing:{self.sowing}", f"recipe:{self.recipe}", *trays, *lots, *marks)
