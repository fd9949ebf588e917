"""Looking a book through: is every entry there, as it was kept, where it was kept?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from hashlib import sha256
from itertools import islice
from typing import Any

import msgspec
from sqlalchemy import Connection, Engine, select

from trayward.errors import BookError, Finding, TraywardError
from trayward.farm.codec import decode_entry
from trayward.farm.entries import Entry, Photo
from trayward.store.chain import link, to_microseconds
from trayward.store.engine import reading
from trayward.store.photos import find_picture, picture_names
from trayward.store.projections import pages, subjects_between, subjects_of, words_between, words_of
from trayward.store.readings import changed_hours
from trayward.store.schema import BOOK_HEAD, ENTRY, missing_guards

ENOUGH = 200
"""More findings than this help nobody."""

RESTORE = (
    "Restore the newest backup that verifies clean; what was kept since can be brought over by exporting this book and "
    "importing the file there."
)
REBUILD = "Rebuild the look-ups from the entries: trayward book rebuild"


def look_through(engine: Engine, name: str) -> list[Finding]:
    """Findings about a book, in the order of its entries; the book is only read."""
    found: list[Finding] = []
    try:
        with reading(engine, name) as connection:
            # Extended one by one: what was found before the file turned out unreadable is worth saying, too.
            for finding in islice(_findings(connection), ENOUGH):
                found.append(finding)  # noqa: PERF402
    except BookError as err:
        found.append(_wrong("book-unreadable", str(err)))
    if len(found) == ENOUGH:
        found.append(_wrong("book-more", f"There is more; looking stopped after {ENOUGH} findings."))
    return found


def _findings(connection: Connection) -> Iterator[Finding]:
    if connection.dialect.name == "postgresql":
        # One snapshot for all the looks below, although others go on writing.
        connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
    yield from _file(connection)
    chain = _Chain()
    for page in pages(connection):
        filed = subjects_between(connection, page[0].seq, page[-1].seq)
        worded = words_between(connection, page[0].seq, page[-1].seq)
        for row in page:
            odd = list(chain.follow(row))
            yield from odd
            yield from _text(row, filed.get(row.seq, []))
            if not odd:  # of a text that was changed its words are no news
                yield from _words(row, worded.get(row.seq, ""))
    yield from chain.end(connection.execute(select(BOOK_HEAD)).all())
    yield from _pictures(connection)
    for seq, entry, rule in changed_hours(connection):
        yield _wrong("book-readings", f"Entry {seq}: {rule}.", entry)
    for guard in missing_guards(connection):
        message = f"The guard {guard}, which keeps the database from changing entries, is missing or switched off."
        yield Finding(
            code="book-guard", severity="odd", message=message, remedy="Rebuild sets it: trayward book rebuild"
        )


def _file(connection: Connection) -> Iterator[Finding]:
    if connection.dialect.name == "sqlite":
        for said in connection.exec_driver_sql("PRAGMA quick_check(20)").scalars():
            if said != "ok":
                yield _wrong("book-file", f"The file is damaged: {said}.")


def _pictures(connection: Connection) -> Iterator[Finding]:
    """Every picture must be what it is called by, and be there where an entry names it."""
    kept = set(picture_names(connection))
    for name in sorted(kept):
        if sha256(find_picture(connection, name) or b"").hexdigest() != name:
            yield _wrong("book-photo", f"The photo {name[:12]} is damaged.")
    for row in connection.execute(select(ENTRY.c.seq, ENTRY.c.id, ENTRY.c.canonical).where(ENTRY.c.kind == "photo")):
        entry = decode_entry(row.canonical.encode())
        # What is no name at all the fold finds; here it is asked whether what is named is there.
        if isinstance(entry.body, Photo) and len(entry.body.sha256) == 64 and entry.body.sha256 not in kept:
            yield _wrong("book-photo", f"Entry {row.seq}: its photo {entry.body.sha256[:12]} is missing.", row.id)


class _Chain:
    """Follows the entries from the first on and says where one does not fit."""

    def __init__(self) -> None:
        self.seq = 0
        self.hash = ""

    def follow(self, row: Any) -> Iterator[Finding]:
        expected = self.seq + 1
        if row.seq > expected:
            yield _missing(expected, row.seq - 1)
        elif row.seq < expected:
            yield _wrong("book-order", f"Entry {row.seq}: no entry can have that number.", row.id)
        if row.hash != link(self.hash, row.seq, row.canonical.encode()):
            message = (
                f"Entry {row.seq}: its hash does not fit its text and the entry before it; one was changed or moved."
            )
            yield _wrong("book-hash", message, row.id)
        self.seq, self.hash = row.seq, row.hash

    def end(self, heads: Iterable[Any]) -> Iterator[Finding]:
        """Compare with where the book says that it ends."""
        head = next(iter(heads), None)
        if head is None:
            yield _wrong("book-end", "The book does not say where it ends.")
        elif head.seq > self.seq:
            yield _missing(self.seq + 1, head.seq)
        elif (head.seq, head.hash) != (self.seq, self.hash):
            message = f"The book says it ends at entry {head.seq}, but it goes on to entry {self.seq}."
            if head.seq == self.seq:
                message = f"Entry {self.seq}: it is not the one the book says it ends with."
            yield _wrong("book-end", message)


class _Form(msgspec.Struct):
    version: int


def _text(row: Any, filed: list[str]) -> Iterator[Finding]:
    """The columns and look-ups used for finding an entry must say what its text says."""
    try:
        entry = decode_entry(row.canonical.encode())
        version = msgspec.json.decode(row.canonical, type=_Form).version
    except (TraywardError, msgspec.DecodeError) as err:
        yield _wrong("book-text", f"Entry {row.seq}: its text cannot be read: {err}", row.id)
        return
    yield from _columns(row, entry, version)
    wanted = subjects_of(entry)
    if filed != wanted:
        message = f"Entry {row.seq}: it is filed under {_listed(filed)}, but it is about {_listed(wanted)}."
        yield Finding(code="book-look-up", severity="odd", message=message, remedy=REBUILD, entries=(row.id,))


def _words(row: Any, worded: str) -> Iterator[Finding]:
    try:
        wanted = words_of(decode_entry(row.canonical.encode()))
    except TraywardError:
        return
    if worded != wanted:
        message = f"Entry {row.seq}: it is not found by the words that it holds."
        yield Finding(code="book-look-up", severity="odd", message=message, remedy=REBUILD, entries=(row.id,))


def _columns(row: Any, entry: Entry, version: int) -> Iterator[Finding]:
    text = {
        "id": entry.id,
        "at": to_microseconds(entry.at),
        "recorded": to_microseconds(entry.recorded),
        "by_whom": entry.by,
        "kind": entry.kind,
        "version": version,
    }
    for column, value in text.items():
        if getattr(row, column) != value:
            message = f"Entry {row.seq}: column {column} = {getattr(row, column)}, but its text says {value}."
            yield _wrong("book-column", message, row.id)


def _listed(subjects: list[str]) -> str:
    return ", ".join(subjects) or "nothing"


def _missing(first: int, last: int) -> Finding:
    which = f"Entry {first} is" if first == last else f"Entries {first} to {last} are"
    return _wrong("book-missing", f"{which} missing.")


def _wrong(code: str, message: str, *entries: str) -> Finding:
    return Finding(code=code, severity="wrong", message=message, remedy=RESTORE, entries=entries)
