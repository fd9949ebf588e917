"""Every table of a book streamed from one database to another, and the marks by which two books are found the same."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from hashlib import sha256
from typing import Any

import msgspec
from sqlalchemy import Connection, LargeBinary, Select, Table, func, select

from trayward.errors import BookError
from trayward.store.bulk import add_rows
from trayward.store.chain import link
from trayward.store.projections import PAGE
from trayward.store.schema import BOOK_HEAD, ENTRY, METADATA

Watch = Callable[[str, int], None]
"""Told after each page: the table, and how many of its rows are done."""

SPEED = ("checkpoint", "worked_out")
"""What any program may throw away and make again; copied and compared all the same, unless a book was given away."""


class TableMark(msgspec.Struct, frozen=True, kw_only=True):
    """How many rows a table has, and a mark over all of them."""

    table: str
    rows: int
    sha256: str
    """The sum of the SHA-256 of every row, to 256 bits: whatever order a database sorts letters in, the same rows give
    the same mark, and one row that differs in one letter gives another."""


class BookMark(msgspec.Struct, frozen=True, kw_only=True):
    """What a whole book is known by: its last entry's number and hash, and a mark for each table."""

    entries: int
    hash: str
    tables: tuple[TableMark, ...]

    def of(self, table: str) -> TableMark | None:
        """The mark of one table."""
        return next((mark for mark in self.tables if mark.table == table), None)


def tables() -> list[Table]:
    """Every table there is of a book, those first that others point to: the schema says which, no list does."""
    return list(METADATA.sorted_tables)


def stream(connection: Connection, table: Table) -> Iterator[Sequence[tuple[Any, ...]]]:
    """All rows of a table, a page at a time; entries by their number. Pictures and states come one at a time."""
    query: Select[Any] = select(table)
    if table is ENTRY:
        query = query.order_by(ENTRY.c.seq)
    heavy = any(isinstance(column.type, LargeBinary) for column in table.columns)
    # Said for this query alone: on the connection it would hold for what is written there as well.
    found = connection.execute(query, execution_options={"stream_results": True})
    try:
        for page in found.partitions(1 if heavy else PAGE):
            yield [tuple(_plain(value) for value in row) for row in page]
    finally:
        found.close()


def _plain(value: Any) -> Any:
    return bytes(value) if isinstance(value, memoryview) else value


def copy_tables(source: Connection, target: Connection, watch: Watch | None = None) -> None:
    """Copy every row of every table into a book that holds none yet; `BookError` where the chain does not hold."""
    target.execute(BOOK_HEAD.delete())
    for table in tables():
        done = 0
        seq, before = 0, ""
        for page in stream(source, table):
            if table is ENTRY:
                seq, before = follow(page, seq, before)
            add_rows(target, table, page)
            done += len(page)
            if watch is not None:
                watch(str(table.name), done)


def follow(page: Sequence[tuple[Any, ...]], seq: int, before: str) -> tuple[int, str]:
    """Recompute the chain over a page of entries, from the number and hash before it; gives those of its last."""
    text, kept = ENTRY.columns.keys().index("canonical"), ENTRY.columns.keys().index("hash")
    for row in page:
        seq += 1
        if row[0] != seq or row[kept] != link(before, seq, row[text].encode()):
            raise BookError(f"Entry {row[0]}: its hash is not right, so no copy was made. See: book verify")
        before = row[kept]
    return seq, before


def mark_of(connection: Connection, watch: Watch | None = None) -> BookMark:
    """The marks of a book, every row read once."""
    head = connection.execute(select(BOOK_HEAD.c.seq, BOOK_HEAD.c.hash)).first()
    marks = tuple(_mark(connection, table, watch) for table in tables())
    return BookMark(entries=head.seq if head else 0, hash=head.hash if head else "", tables=marks)


def _mark(connection: Connection, table: Table, watch: Watch | None) -> TableMark:
    rows = total = 0
    encode = msgspec.msgpack.Encoder().encode
    for page in stream(connection, table):
        for row in page:
            total += int.from_bytes(sha256(encode(row)).digest(), "big")
        rows += len(page)
        if watch is not None:
            watch(str(table.name), rows)
    return TableMark(table=str(table.name), rows=rows, sha256=f"{total % (1 << 256):064x}")


def differences(one: BookMark, other: BookMark, *, leave_out: Sequence[str] = ()) -> list[str]:
    """What differs between two books, in words; empty where nothing does."""
    found = []
    if (one.entries, one.hash) != (other.entries, other.hash):
        found.append(
            f"one ends at entry {one.entries} ({one.hash[:12]}), the other at {other.entries} ({other.hash[:12]})"
        )
    for mark in one.tables:
        beside = other.of(mark.table)
        if mark.table in leave_out:
            continue
        if beside is None or beside.rows != mark.rows:
            found.append(f"{mark.table}: {mark.rows} rows in one, {beside.rows if beside else 0} in the other")
        elif beside.sha256 != mark.sha256:
            found.append(f"{mark.table}: a row differs")
    return found


def holds_nothing(connection: Connection) -> bool:
    """Whether a book was begun and nothing at all was ever put into it, by people or by programs."""
    counted = (
        connection.scalar(select(func.count()).select_from(table)) for table in tables() if table is not BOOK_HEAD
    )
    return not any(counted)
