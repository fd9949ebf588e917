"""What was said on a round so far: each answer with who and when, and which rows were answered twice."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

import msgspec

from trayward.desk.core import call_of
from trayward.desk.ports import Kept
from trayward.farm.entries import (
    Body,
    Cut,
    Delivered,
    Discarded,
    Moved,
    Note,
    Packed,
    Photo,
    RecordWritten,
    RoundAnswered,
    Sanitised,
    SowingMade,
    StageChanged,
    Stripped,
    Washed,
    Watered,
)
from trayward.farm.settings import ShownUnits
from trayward.rounds.entries.words import entry_words
from trayward.rounds.words import sentence
from trayward.words import in_a_row

NEWEST = 600
"""So many of the newest entries of a round are shown; the book has them all. [-]"""

JOBS: tuple[type[Body], ...] = (SowingMade, Cut, Discarded, Stripped, Packed, Delivered, Washed, Sanitised,
                                RecordWritten)  # fmt: skip
SAID: tuple[type[Body], ...] = (RoundAnswered, StageChanged, Note, Photo, *JOBS)
"""What an answer on the round says first."""
WITH_IT: tuple[type[Body], ...] = (Watered, Moved, StageChanged)
"""What comes along with it."""
KINDS = tuple(dict.fromkeys(body.KIND for body in (*SAID, *WITH_IT)))
"""Kinds of entries that a round's answers are made of."""


class DoneRow(msgspec.Struct, frozen=True, kw_only=True):
    """One answer."""

    id: str
    by: str
    at: datetime
    words: str
    entries: tuple[str, ...]
    """Ids of what it said, for taking it back."""
    kind: str
    """Of its first entry."""
    trays: tuple[str, ...]
    struck: bool
    photo: str = ""
    """The hash of a photo."""
    twice: bool = False
    """Somebody else answered for some of the same trays, too."""


def done_rows(said: Iterable[Kept], struck: frozenset[str], units: ShownUnits) -> tuple[DoneRow, ...]:
    """
    The answers of one round, the newest first.

    Parameters
    ----------
    said : iterable of Kept
        The round's entries, of `KINDS`.
    struck : frozenset of str
        Ids of entries taken back.
    """
    calls: dict[str, list[Kept]] = {}
    for kept in sorted(said, key=lambda kept: kept.seq):
        calls.setdefault(call_of(kept.entry), []).append(kept)
    rows = [_row(call, struck, units) for call in calls.values() if isinstance(call[0].entry.body, SAID)]
    rows.sort(key=lambda row: row.at, reverse=True)
    return _marked(rows)


def _row(call: Sequence[Kept], struck: frozenset[str], units: ShownUnits) -> DoneRow:
    first = call[0].entry
    words = in_a_row((entry_words(kept.entry.body, units) for kept in call), "; ")
    return DoneRow(
        id=f"done-{first.id}",
        by=first.by,
        at=first.at,
        words=sentence(words),
        entries=tuple(kept.entry.id for kept in call),
        kind=first.body.KIND,
        trays=_trays(first.body),
        struck=first.id in struck,
        photo=first.body.sha256 if isinstance(first.body, Photo) else "",
    )


def _trays(body: Body) -> tuple[str, ...]:
    return tuple(subject.partition(":")[2] for subject in body.subjects() if subject.startswith("tray:"))


QUIET = (StageChanged.KIND, Note.KIND, Photo.KIND)
"""Of these a tray may well have two."""


def _marked(rows: Sequence[DoneRow]) -> tuple[DoneRow, ...]:
    """Marks answers about trays for which another answer says the same kind of thing."""
    seen: dict[tuple[str, str], int] = {}
    for row in rows:
        if not row.struck and row.kind not in QUIET:
            for tray in row.trays:
                seen[row.kind, tray] = seen.get((row.kind, tray), 0) + 1

    def twice(row: DoneRow) -> bool:
        return not row.struck and any(seen.get((row.kind, tray), 0) > 1 for tray in row.trays)

    return tuple(msgspec.structs.replace(row, twice=twice(row)) for row in rows)
