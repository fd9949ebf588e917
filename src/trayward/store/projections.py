"""What can be made again from the entries at any time: which entry is about which subject."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import msgspec
from sqlalchemy import Connection, select

from trayward.farm.codec import decode_entry
from trayward.farm.entries import Entry
from trayward.store.bulk import add_rows
from trayward.store.schema import CHECKPOINT, ENTRY, ENTRY_SUBJECT, set_guards
from trayward.store.worked_out import forget_worked_out

PAGE = 2000
"""Rows read at a time: enough to be quick, few enough to stay small in memory."""


def subjects_of(entry: Entry) -> list[str]:
    """What an entry is about, each subject once, sorted."""
    return sorted(set(entry.body.subjects()))


def subject_rows(seq: int, subjects: Iterable[str]) -> list[tuple[str, int]]:
    """The rows that file entry number `seq` under its subjects."""
    return [(subject, seq) for subject in subjects]


def pages(connection: Connection) -> Iterator[list[Any]]:
    """All of `entry`, by number, a page at a time."""
    after = -1
    while page := list(
        connection.execute(select(ENTRY).where(ENTRY.c.seq > after).order_by(ENTRY.c.seq).limit(PAGE)).all()
    ):
        yield page
        after = page[-1].seq


def rebuild_projections(connection: Connection) -> None:
    """Throw away all that is kept for speed, make the projections again, and set the guards afresh."""
    connection.execute(CHECKPOINT.delete())
    forget_worked_out(connection)
    ENTRY_SUBJECT.drop(connection, checkfirst=True)
    ENTRY_SUBJECT.create(connection)
    for page in pages(connection):
        rows = [
            filed for row in page for filed in subject_rows(row.seq, subjects_of(decode_entry(row.canonical.encode())))
        ]
        add_rows(connection, ENTRY_SUBJECT, rows)
    set_guards(connection)


def dump(connection: Connection) -> Iterator[bytes]:
    """The projections as JSON lines, one an entry, in an order that no database's sorting rules can change."""
    after = -1
    while numbers := connection.scalars(
        select(ENTRY.c.seq).where(ENTRY.c.seq > after).order_by(ENTRY.c.seq).limit(PAGE)
    ).all():
        filed = subjects_between(connection, after + 1, numbers[-1])
        for seq in numbers:
            yield msgspec.json.encode({"seq": seq, "subjects": filed.get(seq, [])}) + b"\n"
        after = numbers[-1]


def subjects_between(connection: Connection, first: int, last: int) -> dict[int, list[str]]:
    """The subjects that entries `first` to `last` are filed under, sorted, by entry number."""
    column = ENTRY_SUBJECT.c
    filed: dict[int, list[str]] = {}
    query = select(column.seq, column.subject).where(column.seq >= first, column.seq <= last)
    for seq, subject in connection.execute(query):
        filed.setdefault(seq, []).append(subject)
    return {seq: sorted(subjects) for seq, subjects in filed.items()}
