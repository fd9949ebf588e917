"""What the desk asks of a store: the book, and what is kept beside it for speed.

The promises below are tested once, for every database, in `tests/contract`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import Protocol

import msgspec

from trayward.errors import Finding
from trayward.farm.entries import Entry
from trayward.sensors.types import Reading, ReadingsKept, Taken


class Kept(msgspec.Struct, frozen=True, kw_only=True):
    """An entry as the book keeps it: with its number in the book and the hash that chains it to the one before."""

    seq: int
    """1, 2, 3, ... without gaps, in the order of keeping."""
    entry: Entry
    hash: str
    """SHA-256, hex, over the hash before it and the entry's canonical JSON."""


class Head(msgspec.Struct, frozen=True, kw_only=True):
    """The end of the book."""

    seq: int = 0
    hash: str = ""
    horizon: datetime | None = None
    """The latest `at` of any entry."""


class Checkpoint(msgspec.Struct, frozen=True, kw_only=True):
    """A folded state kept for speed; can always be thrown away.

    It holds the fold, in time order, of every entry with `seq` <= `seq` here; `horizon` is the latest `at` among them
    that counts (the end of the book may be struck). Entries kept later may be folded on top as long as none of them
    happened before `horizon` and none strikes an entry that is folded in; the store sees to that.
    """

    seq: int
    horizon: datetime
    state: bytes


class Place(msgspec.Struct, frozen=True, kw_only=True, order=True):
    """Where an entry stands in the order of happening."""

    at: datetime
    seq: int


class Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """Which entries are looked for; what is left out keeps none away."""

    kinds: tuple[str, ...] = ()
    """Any of these kinds."""
    by: str = ""
    """Said by that person."""
    about: tuple[str, ...] = ()
    """About any of these subjects (`kind:name`)."""
    since: datetime | None = None
    """Happened then or later."""
    until: datetime | None = None
    """Happened before."""
    words: tuple[str, ...] = ()
    """Every one of these stands in what was written freely, small letters or capital."""


class Found(msgspec.Struct, frozen=True, kw_only=True):
    """Entries that were looked for, the newest first."""

    kept: tuple[Kept, ...] = ()
    older: Place | None = None
    """Where to go on from for older ones (`before`); None where the book was looked through to its beginning."""
    full: bool = True
    """False: the search for words stopped at `older` although it found fewer than asked, so as not to take too long."""


class Book(Protocol):
    """The append-only record. Thread-safe; two processes may use it at once."""

    def head(self) -> Head:
        """The end of the book."""

    def append(self, entries: Sequence[Entry], *, expected_seq: int | None = None) -> list[Kept]:
        """Keep entries, all or none, durably, and return them as kept.

        An entry whose id is already kept with the same content is returned as it was kept and changes nothing; with
        other content it is refused with `BookError`. With `expected_seq`, raises `ConflictError` if the book does not
        end there (unless every entry is already kept). Waits, within bounds, while others write.
        """

    def entries(self, *, after: int = 0, until_seq: int | None = None) -> Iterator[Kept]:
        """Entries in the order of keeping, `seq` > `after`; the book as it is at the call, read in small pieces."""

    def timeline(
        self, *, later_than: datetime | None = None, until: datetime | None = None, kinds: Collection[str] = ()
    ) -> Iterator[Entry]:
        """Entries in the order of happening (`at`, then `seq`), those after one moment, up to and including `until`.

        The book as it is at the call, read in small pieces; of some kinds alone, where any are named.
        """

    def timeline_after(self, checkpoint: Checkpoint, *, until: datetime | None = None) -> Iterator[Entry]:
        """Entries kept after the checkpoint, in the order of happening, up to and including `until`.

        For a checkpoint that `checkpoint` has just given: folding these on top of its state gives the fold of
        `timeline(until=until)`.
        """

    def about(self, *subjects: str) -> list[Kept]:
        """Entries about any of the subjects (`kind:name`), each once, in the order of happening."""

    def get(self, entry_id: str) -> Kept | None:
        """The entry with that id."""

    def search(self, wanted: Wanted, *, before: Place | None = None, limit: int = 50) -> Found:
        """Entries that are wanted, the newest first in the order of happening, from `before` backwards.

        Never reads the whole book: every look goes along an index. A search for words alone looks at so many entries
        with words and then says how far it came (`Found.full`); from there it can be gone on with.
        """

    def known(self, subjects: Sequence[str]) -> tuple[str, ...]:
        """Those of the subjects that any entry is about."""

    def people(self) -> tuple[str, ...]:
        """Everybody who ever said anything, sorted."""

    def struck(self) -> frozenset[str]:
        """Ids of the entries that are struck by another that is not itself struck.

        A strike counts whenever it was said and whichever of the two reached the book first.
        """

    def verify(self) -> list[Finding]:
        """Recompute the chain and compare; an empty list means the book is whole."""

    def checkpoint(self, *, until: datetime | None = None) -> Checkpoint | None:
        """The newest checkpoint whose horizon is not after `until` and which no later-kept entry invalidates."""

    def save_checkpoint(self, checkpoint: Checkpoint) -> None:
        """Keep a checkpoint, dropping old ones as it sees fit; one that is already out of date is not kept."""

    def keep_photo(self, picture: bytes) -> str:
        """Keep the bytes of a picture, durably, and give the SHA-256 it is called by; the same bytes are kept once."""

    def photo(self, name: str) -> bytes | None:
        """The bytes of a picture by its SHA-256; None where there is none of that name."""

    def keep_readings(self, taken: Sequence[Taken], at: datetime) -> ReadingsKept:
        """Keep readings of sensors that came in at a moment, durably, beside the entries.

        The same sensor and moment is kept once, and the first value stays: sent again they change nothing. They are
        never changed or removed, and backups, exports and `verify` hold them.
        """

    def readings(self, sensor: str, since: datetime, until: datetime) -> list[Reading]:
        """Readings of a sensor from one moment up to, not including, another, oldest first."""

    def last_readings(self, sensors: Sequence[str]) -> dict[str, Reading]:
        """The newest reading of each sensor that has any."""

    def reading_hours(self, sensor: str, since: datetime, until: datetime) -> list[datetime]:
        """Beginnings of the hours in which a sensor told anything, oldest first."""

    def worked_out(self, name: str) -> bytes | None:
        """What was worked out before and kept for speed; None where nothing was, or it was thrown away.

        Entries kept since leave it as it is, and a backup may carry it along: the value itself must say what it was
        worked out from, so that who reads it can tell whether it still holds.
        """

    def keep_worked_out(self, name: str, value: bytes) -> None:
        """Keep it, in place of what was kept under that name before.

        Never waits long: where others are writing it may not be kept. Where the book cannot be written to, it is not,
        and nothing is raised.
        """

    def rebuild(self) -> None:
        """Throw away every projection, every checkpoint and all that was worked out; build the projections again.

        To the same bytes as before.
        """

    def backup(self, target: Path) -> None:
        """Copy the whole book to a new SQLite file while others go on using it; never onto an existing file."""

    def close(self) -> None:
        """Let go of the database."""
