"""Entries that say something: a reading, words, a photo, a kept plan, a mistake taken back."""

from __future__ import annotations

from typing import Literal

import msgspec

from trayward.farm.entries.body import Body


class ReadingTaken(Body, frozen=True, kw_only=True):
    """A reading of an instrument, at a place or of a water. Units: C, % RH, pH, dS/m, umol/m2/s."""

    KIND = "reading taken"
    what: Literal["temperature", "humidity", "ph", "ec", "ppfd"]
    value: float
    where: str = ""

    def subjects(self) -> tuple[str, ...]:
        return (f"place:{self.where}",) if self.where else ()


class Note(Body, frozen=True, kw_only=True):
    """Words, about anything."""

    KIND = "note"
    text: str
    about: tuple[str, ...] = ()
    """Subjects as `kind:name`."""

    def subjects(self) -> tuple[str, ...]:
        return self.about


class Photo(Body, frozen=True, kw_only=True):
    """A photo taken of something; the picture itself stands beside the book under its hash."""

    KIND = "photo"
    sha256: str
    """Of the picture's bytes as they are kept, in hex."""
    about: tuple[str, ...] = ()
    """Subjects as `kind:name`."""
    note: str = ""

    def subjects(self) -> tuple[str, ...]:
        return (*self.about, f"photo:{self.sha256}")


class PlanKept(Body, frozen=True, kw_only=True):
    """A plan the grower looked at and kept, so the next one can say what changed."""

    KIND = "plan kept"
    plan: msgspec.Raw
    """The plan as JSON, in the form of `trayward plan --json`."""


class Struck(Body, frozen=True, kw_only=True):
    """An earlier entry is taken back; it stays in the book, and the state is as if it had never been said."""

    KIND = "struck"
    entry: str
    reason: str

    def subjects(self) -> tuple[str, ...]:
        return (f"entry:{self.entry}",)
