"""Entries about kit: washed, sanitised, counted, back, marked."""

from __future__ import annotations

from typing import Literal

from trayward.farm.entries.body import Body


class KitBody(Body, frozen=True, kw_only=True):
    """An entry about some of a kit pool."""

    pool: str
    count: int

    def subjects(self) -> tuple[str, ...]:
        return (f"kit:{self.pool}", *_mark_subjects(getattr(self, "marks", ())))


def _mark_subjects(marks: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f"mark:{mark}" for mark in dict.fromkeys(marks))


class Washed(KitBody, frozen=True, kw_only=True):
    """Kit washed; it dries from now."""

    KIND = "washed"
    VERSION = 2
    soap: str = ""
    rinse_c: float | None = None
    note: str = ""
    marks: tuple[str, ...] = ()
    """Which ones, where they carry marks; empty: nobody said, or all that were dirty."""
    left_out: tuple[str, ...] = ()
    """Steps of the farm's washing that were left out."""


class Sanitised(KitBody, frozen=True, kw_only=True):
    """Kit sanitised. Defer to the label, local codes and licensed practice for agent, strength and time."""

    KIND = "sanitised"
    VERSION = 2
    agent: str
    strength_ppm: float | None = None
    contact_min: float | None = None
    water_c: float | None = None
    note: str = ""
    marks: tuple[str, ...] = ()
    """Which ones, where they carry marks; empty: nobody said, or all that waited for it."""


class KitCounted(KitBody, frozen=True, kw_only=True):
    """How many of a pool there are in all, as counted; the pool holds that many from now on."""

    KIND = "kit counted"
    reason: str = ""


class KitReturned(KitBody, frozen=True, kw_only=True):
    """Kit back from customers who bought live trays; it comes back dirty."""

    KIND = "kit returned"
    VERSION = 2
    marks: tuple[str, ...] = ()
    """Which ones, where they carry marks; empty: nobody said, or all that were away."""


class KitMarked(Body, frozen=True, kw_only=True):
    """Things of a pool carry these marks from now on; they are things the pool counts already."""

    KIND = "kit marked"
    pool: str
    marks: tuple[str, ...]
    uses: int = 0
    """Uses that each has had so far. [-]"""

    def subjects(self) -> tuple[str, ...]:
        return (f"kit:{self.pool}", *_mark_subjects(self.marks))


class KitUsed(Body, frozen=True, kw_only=True):
    """Which marked kit a standing tray is on, where its sowing did not say or said others."""

    KIND = "kit used"
    tray: str
    marks: tuple[str, ...]

    def subjects(self) -> tuple[str, ...]:
        return (f"tray:{self.tray}", *_mark_subjects(self.marks))


class KitRetired(Body, frozen=True, kw_only=True):
    """Marked things are used no more, and others may take their place; the pool holds so many less, or more."""

    KIND = "kit retired"
    pool: str
    marks: tuple[str, ...]
    fate: Literal["retired", "lost"] = "retired"
    reason: str = ""
    replaced_by: tuple[str, ...] = ()
    """Marks of new things that take their place."""

    def subjects(self) -> tuple[str, ...]:
        return (f"kit:{self.pool}", *_mark_subjects((*self.marks, *self.replaced_by)))
