"""Entries of the cut, and of what is left of a tray after it."""

from __future__ import annotations

import msgspec

from trayward.farm.entries.body import Body, TrayBody


class TrayCut(msgspec.Struct, frozen=True, kw_only=True):
    """Grams from one tray. [g]"""

    tray: str
    grams: float


class Cut(Body, frozen=True, kw_only=True):
    """Trays cut together into one harvest lot. `regrow`: the trays stay for another cut."""

    KIND = "cut"
    harvest: str
    crop: str
    trays: tuple[TrayCut, ...]
    height_mm: float | None = None
    regrow: bool = False

    def subjects(self) -> tuple[str, ...]:
        return (f"harvest:{self.harvest}", f"crop:{self.crop}", *(f"tray:{tray.tray}" for tray in self.trays))


class Stripped(TrayBody, frozen=True, kw_only=True):
    """Trays scraped clean of roots; their kit is now dirty."""

    KIND = "stripped"
