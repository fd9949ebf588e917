"""The book on a database: what the desk's protocol `Book` promises, by SQLAlchemy."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import AbstractContextManager, closing, suppress
from datetime import datetime
from operator import attrgetter
from pathlib import Path
from threading import Lock
from typing import Any, Self

from sqlalchemy import ColumnElement, Connection, Engine, Select, func, select, true, tuple_
from sqlalchemy.dialects import sqlite

from trayward.desk.ports import Checkpoint, Found, Head, Kept, Place, Wanted
from trayward.errors import BookError, Finding, TraywardError
from trayward.farm.codec import decode_entry
from trayward.farm.entries import Entry, Struck
from trayward.sensors.types import Reading, ReadingsKept, Taken
from trayward.store.backup import copy_book
from trayward.store.chain import from_microseconds, to_microseconds
from trayward.store.checkpoints import keep_checkpoint, newest_checkpoint
from trayward.store.engine import reading, writing, writing_shortly
from trayward.store.held import Key, let_go
from trayward.store.pen import Pen, prepare
from trayward.store.photos import find_picture, keep_picture, picture_names
from trayward.store.projections import PAGE, dump, rebuild_projections
from trayward.store.readings import find_readings, hours_with, keep_readings, last_readings
from trayward.store.schema import ENTRY, ENTRY_SUBJECT, STRIKES_ONLY
from trayward.store.search import known_subjects, look, people, place_of, spot_of
from trayward.store.strikes import Strike, struck_ids
from trayward.store.trouble import plain_words
from trayward.store.verify import look_through
from trayward.store.worked_out import find_worked_out, replace_worked_out
from trayward.store.writers import Request, Writers

SUBJECTS_AT_ONCE = 500
"""So many subjects are asked for in one query: SQLite once took no more than 999 values. [-]"""

_LATEST = select(func.max(ENTRY.alias().c.at)).scalar_subquery()
_HEAD = select(ENTRY.c.seq, ENTRY.c.hash, _LATEST).order_by(ENTRY.c.seq.desc()).limit(1)
"""Asked before every answer, so it is put together once."""
_HEAD_TOLD = str(_HEAD.compile(dialect=sqlite.dialect(), compile_kwargs={"literal_binds": True}))
"""The same in SQLite's own words."""


class SqlBook:
    """
    A book on SQLite or PostgreSQL; made by `trayward.store.open_book`. Implements `trayward.desk.ports.Book`.

    Parameters
    ----------
    engine : sqlalchemy.Engine
        Over a database that holds the current schema; the book closes it.
    name : str
        What to call the book in messages: its file, or its address without the password.
    path : Path or None
        The SQLite file; None on PostgreSQL and in memory.
    """

    def __init__(self, engine: Engine, name: str, path: Path | None = None) -> None:
        self.name = name
        self.path = path
        self.held: Key | None = None
        """Its file, as this process holds it open; let go when the book is closed."""
        self._engine = engine
        self._open = True
        self._writers = Writers(self._keep_together)
        self._strikes: list[Strike] = []
        self._strikes_lock = Lock()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *raised: object) -> None:
        self.close()

    # Writing ---------------------------------------------------------------------------------------------------------

    def append(self, entries: Sequence[Entry], *, expected_seq: int | None = None) -> list[Kept]:
        """Keep entries, all or none, durably; see the protocol. Threads that append at once share the disk's wait."""
        self._require_open()
        if not entries:
            return []
        return self._writers.submit(Request([prepare(entry) for entry in entries], expected_seq))

    def _keep_together(self, group: Sequence[Request]) -> None:
        with self.writing() as connection:
            pen = Pen(connection)
            pen.look_up({one.entry.id: None for request in group for one in request.prepared})
            for request in group:
                try:
                    request.kept = pen.keep(request.prepared, request.expected_seq)
                except TraywardError as err:
                    request.error = err
            pen.flush()

    # Reading ---------------------------------------------------------------------------------------------------------

    def head(self) -> Head:
        """The end of the book."""
        last = self._last_row()
        return Head() if last is None else Head(seq=last[0], hash=last[1], horizon=from_microseconds(last[2]))

    def _last_row(self) -> Any:
        if self._engine.dialect.name != "sqlite":
            with self.reading() as connection:
                return connection.execute(_HEAD).first()
        # Asked several times for each answer. One statement needs no transaction, so the driver itself is asked: that
        # takes a sixth of the time.
        self._require_open()
        with plain_words(self.name), closing(self._engine.raw_connection()) as connection:
            return connection.cursor().execute(_HEAD_TOLD).fetchone()

    def entries(self, *, after: int = 0, until_seq: int | None = None) -> Iterator[Kept]:
        """Entries in the order of keeping, `seq` > `after`; the book as it is at the call."""
        return map(_kept, self.rows(after=after, until_seq=until_seq))

    def rows(self, *, after: int = 0, until_seq: int | None = None) -> Iterator[Any]:
        """As `entries`, but as rows of (seq, canonical, hash), for who wants the very bytes."""
        end = self._end()
        column = ENTRY.c
        query = select(column.seq, column.canonical, column.hash).order_by(column.seq)
        query = query.where(column.seq <= (end if until_seq is None else min(until_seq, end)))
        return self._pages(query, column.seq > after, lambda row: column.seq > row.seq)

    def timeline(
        self, *, later_than: datetime | None = None, until: datetime | None = None, kinds: Collection[str] = ()
    ) -> Iterator[Entry]:
        """Entries in the order of happening (`at`, then `seq`), those after one moment, up to and including `until`."""
        start = true() if later_than is None else ENTRY.c.at > to_microseconds(later_than)
        return self._timeline(0, start, until, kinds)

    def timeline_after(self, checkpoint: Checkpoint, *, until: datetime | None = None) -> Iterator[Entry]:
        """Entries kept after the checkpoint, in the order of happening, up to and including `until`."""
        return self._timeline(checkpoint.seq, ENTRY.c.at >= to_microseconds(checkpoint.horizon), until)

    def _timeline(
        self, after: int, start: ColumnElement[bool], until: datetime | None, kinds: Collection[str] = ()
    ) -> Iterator[Entry]:
        column = ENTRY.c
        query = select(column.at, column.seq, column.canonical).order_by(column.at, column.seq)
        # The 0 keeps SQLite from walking along the numbers and sorting: it is to walk along the times.
        query = query.where(column.seq + 0 > after, column.seq + 0 <= self._end())
        if until is not None:
            query = query.where(column.at <= to_microseconds(until))
        if kinds:
            query = query.where(column.kind.in_(kinds))
        rows = self._pages(query, start, lambda row: tuple_(column.at, column.seq) > (row.at, row.seq))
        return (decode_entry(row.canonical.encode()) for row in rows)

    def _pages(
        self, query: Select[Any], start: ColumnElement[bool], beyond: Callable[[Any], ColumnElement[bool]]
    ) -> Iterator[Any]:
        """Rows in short looks, each beginning where the last ended, with nothing held open in between.

        The query is bounded by the number the book ended at, so all looks see one and the same book.
        """
        page = self._page(query.where(start).limit(PAGE))
        while page:
            yield from page
            page = self._page(query.where(beyond(page[-1])).limit(PAGE)) if len(page) == PAGE else []

    def about(self, *subjects: str) -> list[Kept]:
        """Entries about any of the subjects (`kind:name`), each once, in the order of happening."""
        column = ENTRY.c
        found: dict[int, Any] = {}
        for begin in range(0, len(subjects), SUBJECTS_AT_ONCE):
            asked = subjects[begin : begin + SUBJECTS_AT_ONCE]
            theirs = select(ENTRY_SUBJECT.c.seq).where(ENTRY_SUBJECT.c.subject.in_(asked))
            query = select(column.at, column.seq, column.canonical, column.hash).where(column.seq.in_(theirs))
            found.update((row.seq, row) for row in self._page(query))
        return [_kept(row) for row in sorted(found.values(), key=attrgetter("at", "seq"))]

    def get(self, entry_id: str) -> Kept | None:
        """The entry with that id."""
        column = ENTRY.c
        page = self._page(select(column.seq, column.canonical, column.hash).where(column.id == entry_id))
        return _kept(page[0]) if page else None

    def search(self, wanted: Wanted, *, before: Place | None = None, limit: int = 50) -> Found:
        """Entries that are wanted, the newest first, from `before` backwards; see the protocol."""
        column = ENTRY.c
        with self.reading() as connection:
            looked = look(connection, wanted, None if before is None else spot_of(before), limit + 1)
            shown = looked.spots[:limit]
            query = select(column.seq, column.canonical, column.hash)
            rows = connection.execute(query.where(column.seq.in_([spot.seq for spot in shown]))).all()
        by_number = {row.seq: _kept(row) for row in rows}
        kept = tuple(by_number[spot.seq] for spot in shown)
        if len(looked.spots) > limit:
            return Found(kept=kept, older=place_of(shown[-1]))
        return Found(kept=kept, older=place_of(looked.left_off), full=False) if looked.left_off else Found(kept=kept)

    def known(self, subjects: Sequence[str]) -> tuple[str, ...]:
        """Those of the subjects that any entry is about."""
        with self.reading() as connection:
            return known_subjects(connection, subjects)

    def people(self) -> tuple[str, ...]:
        """Everybody who ever said anything, sorted."""
        with self.reading() as connection:
            return people(connection)

    def struck(self) -> frozenset[str]:
        """Ids of the entries that are struck by another that is not itself struck."""
        column = ENTRY.c
        query = select(column.seq, column.canonical).where(STRIKES_ONLY).order_by(column.seq)
        with self._strikes_lock:
            # Entries never change, so only the strikes kept since the last look are read.
            after = self._strikes[-1].seq if self._strikes else 0
            for row in self._page(query.where(column.seq > after)):
                entry = decode_entry(row.canonical.encode())
                if isinstance(entry.body, Struck):
                    self._strikes.append(Strike(row.seq, entry.id, entry.body.entry))
            return struck_ids(self._strikes)

    def _end(self) -> int:
        with self.reading() as connection:
            return connection.scalar(select(func.coalesce(func.max(ENTRY.c.seq), 0))) or 0

    def _page(self, query: Select[Any]) -> Sequence[Any]:
        with self.reading() as connection:
            return connection.execute(query).all()

    # Checkpoints, projections, care ----------------------------------------------------------------------------------

    def checkpoint(self, *, until: datetime | None = None) -> Checkpoint | None:
        """The newest checkpoint whose horizon is not after `until` and which no later-kept entry invalidates."""
        with self.reading() as connection:
            return newest_checkpoint(connection, until)

    def save_checkpoint(self, checkpoint: Checkpoint) -> None:
        """Keep a checkpoint; about eight stay, spread in time. One that is already out of date is not kept."""
        with self.writing() as connection:
            keep_checkpoint(connection, checkpoint)

    def keep_photo(self, picture: bytes) -> str:
        """Keep the bytes of a picture, and give the SHA-256 it is called by; the same bytes are kept once."""
        with self.writing() as connection:
            return keep_picture(connection, picture)

    def photo(self, name: str) -> bytes | None:
        """The bytes of a picture by its SHA-256; None where there is none of that name."""
        with self.reading() as connection:
            return find_picture(connection, name)

    def photos(self) -> list[str]:
        """The names of all pictures."""
        with self.reading() as connection:
            return picture_names(connection)

    def keep_readings(self, taken: Sequence[Taken], at: datetime) -> ReadingsKept:
        """Keep readings of sensors that came in at a moment, durably; the same sensor and moment is kept once."""
        with self.writing() as connection:
            return keep_readings(connection, taken, at)

    def readings(self, sensor: str, since: datetime, until: datetime) -> list[Reading]:
        """Readings of a sensor from one moment up to, not including, another, oldest first."""
        with self.reading() as connection:
            return find_readings(connection, sensor, since, until)

    def last_readings(self, sensors: Sequence[str]) -> dict[str, Reading]:
        """The newest reading of each sensor that has any."""
        with self.reading() as connection:
            return last_readings(connection, sensors)

    def reading_hours(self, sensor: str, since: datetime, until: datetime) -> list[datetime]:
        """Beginnings of the hours in which a sensor told anything, oldest first."""
        with self.reading() as connection:
            return hours_with(connection, sensor, since, until)

    def worked_out(self, name: str) -> bytes | None:
        """What was worked out before and kept for speed; None where nothing was, or it was thrown away."""
        with self.reading() as connection:
            return find_worked_out(connection, name)

    def keep_worked_out(self, name: str, value: bytes) -> None:
        """Keep it, in place of what was kept under that name before, or not: who reads must not fail over it."""
        self._require_open()
        with suppress(BookError), writing_shortly(self._engine, self.name) as connection:
            replace_worked_out(connection, name, value)

    def verify(self) -> list[Finding]:
        """Recompute the chain and compare; an empty list means the book is whole."""
        self._require_open()
        return look_through(self._engine, self.name)

    def rebuild(self) -> None:
        """Throw away all that is kept for speed and build the projections again, to the same bytes."""
        with self.writing() as connection:
            rebuild_projections(connection)

    def projection_bytes(self) -> bytes:
        """The projections as JSON lines; the same entries give the same bytes on every database."""
        with self.reading() as connection:
            return b"".join(dump(connection))

    def backup(self, target: Path) -> None:
        """Copy the whole book to a new SQLite file while others go on using it."""
        self._require_open()
        copy_book(self._engine, self.name, Path(target))

    def close(self) -> None:
        """Let go of the database."""
        self._open = False
        self._engine.dispose()
        held, self.held = self.held, None
        let_go(held)

    def reading(self) -> AbstractContextManager[Connection]:
        """A connection for a short look at the tables; for the store's own use."""
        self._require_open()
        return reading(self._engine, self.name)

    def writing(self) -> AbstractContextManager[Connection]:
        """A transaction that holds the writers' lock; for the store's own use."""
        self._require_open()
        return writing(self._engine, self.name)

    def writing_shortly(self) -> AbstractContextManager[Connection]:
        """As `writing`, but gives up soon where others are writing; for the store's own use."""
        self._require_open()
        return writing_shortly(self._engine, self.name)

    def _require_open(self) -> None:
        if not self._open:
            raise BookError(f"Book {self.name}: it has been closed. Open it again.")


def _kept(row: Any) -> Kept:
    return Kept(seq=row.seq, entry=decode_entry(row.canonical.encode()), hash=row.hash)
