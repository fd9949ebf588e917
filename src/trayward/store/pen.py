"""Writing at the end of the book, inside one transaction that holds the writers' lock."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

import msgspec
from sqlalchemy import Connection, or_, select

from trayward.desk.ports import Kept
from trayward.errors import BookError, ConflictError, InputError
from trayward.farm.codec import decode_entry, encode_entry
from trayward.farm.entries import Entry, Struck
from trayward.store.bulk import add_rows
from trayward.store.chain import link, to_microseconds
from trayward.store.projections import subject_rows, subjects_of, word_rows
from trayward.store.schema import BOOK_HEAD, CHECKPOINT, ENTRY, ENTRY_SUBJECT, ENTRY_WORDS

ENTRY_ID = re.compile(r"[A-Za-z0-9_-]{8,64}")

AT_ONCE = 500
"""Ids asked for in one query; SQLite takes a bounded number of values."""


class Prepared(NamedTuple):
    """An entry made ready to be kept: everything that needs no database is done before the lock is taken."""

    entry: Entry
    canonical: bytes
    version: int
    subjects: list[str]


class _Versioned(msgspec.Struct):
    version: int


def prepare(entry: Entry) -> Prepared:
    """Normalise an entry; `InputError` for what a book cannot hold."""
    return prepare_canonical(encode_entry(entry))


def prepare_canonical(canonical: bytes) -> Prepared:
    """An entry from its canonical JSON, which is kept as it is, also when it was written by an older version."""
    entry = decode_entry(canonical)
    if not ENTRY_ID.fullmatch(entry.id):
        rule = "must be 8 to 64 letters, digits, - or _"
        raise InputError("entry id", repr(entry.id), rule, "Let the device make a longer one.")
    subjects = subjects_of(entry)
    if any("\0" in text for text in (entry.by, *subjects)):
        raise InputError("entry", entry.id, "a name holds the character NUL", "Type the name again.")
    return Prepared(entry, canonical, msgspec.json.decode(canonical, type=_Versioned).version, subjects)


class Pen:
    """Gives numbers and hashes to entries and writes them down; one pen, one transaction."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        last = connection.execute(select(ENTRY.c.seq, ENTRY.c.hash).order_by(ENTRY.c.seq.desc()).limit(1)).first()
        self.seq: int = last.seq if last else 0
        self.hash: str = last.hash if last else ""
        self._written_to = self.seq
        self._rows: list[tuple[Any, ...]] = []
        self._earliest: int | None = None
        self._subjects: list[tuple[str, int]] = []
        self._words: list[tuple[int, int, str]] = []
        self._strikes: list[str] = []
        self._known: dict[str, tuple[int, bytes, str]] = {}

    def look_up(self, ids: Iterable[str]) -> None:
        """Find which of these entries the book has; must be done before `keep` is given them."""
        wanted = [identity for identity in ids if identity not in self._known]
        column = ENTRY.c
        for start in range(0, len(wanted), AT_ONCE):
            query = select(column.id, column.seq, column.canonical, column.hash)
            for row in self._connection.execute(query.where(column.id.in_(wanted[start : start + AT_ONCE]))):
                self._known[row.id] = (row.seq, row.canonical.encode(), row.hash)

    def place_of(self, identity: str) -> tuple[int, str] | None:
        """The number and hash under which the book has an entry that was looked up."""
        known = self._known.get(identity)
        return None if known is None else (known[0], known[2])

    def keep(self, prepared: Sequence[Prepared], expected_seq: int | None = None) -> list[Kept]:
        """Number and chain entries that are new, and give all of them back as kept. All or, if it raises, none."""
        fresh = {one.entry.id: one for one in reversed(prepared) if one.entry.id not in self._known}
        if fresh and expected_seq is not None and expected_seq != self.seq:
            raise ConflictError(
                f"The book ends at entry {self.seq}, not {expected_seq}: somebody else wrote in between. Read it again."
            )
        for one in prepared:
            self._require_same(one, fresh.get(one.entry.id))
        for one in prepared:
            if one.entry.id not in self._known:
                self._take(one)
        return [self._kept(one) for one in prepared]

    def flush(self) -> None:
        """Write down what was kept, and drop the checkpoints that it makes untrue."""
        if not self._rows:
            return
        self._drop_checkpoints()
        add_rows(self._connection, ENTRY, self._rows)
        add_rows(self._connection, ENTRY_SUBJECT, self._subjects)
        if self._words:
            add_rows(self._connection, ENTRY_WORDS, self._words)
        self._connection.execute(BOOK_HEAD.update().values(seq=self.seq, hash=self.hash))
        self._written_to = self.seq
        self._rows, self._subjects, self._words, self._strikes, self._earliest = [], [], [], [], None

    def forget_known(self) -> None:
        """Let go of the entries looked up so far, so that a long import stays small in memory."""
        self._known.clear()

    def _require_same(self, one: Prepared, first: Prepared | None) -> None:
        """Refuse an id that stands for something else, in the book or in the same call."""
        before = first.canonical if first is not None else self._known[one.entry.id][1]
        if before == one.canonical or encode_entry(decode_entry(before)) == encode_entry(one.entry):
            return
        raise BookError(
            f"entry {one.entry.id}: the id is taken by another entry ({decode_entry(before).kind}, "
            f"{decode_entry(before).at.isoformat()}). Nothing was kept; give the new one its own id."
        )

    def _take(self, one: Prepared) -> None:
        entry = one.entry
        self.seq += 1
        self.hash = link(self.hash, self.seq, one.canonical)
        self._known[entry.id] = (self.seq, one.canonical, self.hash)
        at = to_microseconds(entry.at)
        self._earliest = at if self._earliest is None else min(at, self._earliest)
        self._rows.append(
            (
                self.seq,
                entry.id,
                at,
                to_microseconds(entry.recorded),
                entry.by,
                entry.kind,
                one.version,
                one.canonical.decode(),
                self.hash,
            )
        )
        self._subjects += subject_rows(self.seq, one.subjects)
        self._words += word_rows(entry, self.seq)
        if isinstance(entry.body, Struck):
            self._strikes.append(entry.body.entry)

    def _kept(self, one: Prepared) -> Kept:
        seq, canonical, digest = self._known[one.entry.id]
        entry = one.entry if canonical == one.canonical else decode_entry(canonical)
        return Kept(seq=seq, entry=entry, hash=digest)

    def _drop_checkpoints(self) -> None:
        """A checkpoint is untrue once something earlier than its horizon is known, or something in it is struck."""
        column = CHECKPOINT.c
        untrue = [column.horizon > self._earliest]
        if self._strikes:
            struck = select(ENTRY.c.seq).where(ENTRY.c.id.in_(self._strikes), ENTRY.c.seq <= self._written_to)
            numbers = self._connection.scalars(struck).all()
            untrue += [column.seq >= min(numbers)] if numbers else []
        self._connection.execute(CHECKPOINT.delete().where(or_(*untrue)))
