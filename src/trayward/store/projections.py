"""What can be made again from the entries at any time: which entry is about which subject, and what words it holds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import msgspec
from sqlalchemy import Connection, select

from trayward.farm.codec import decode_entry
from trayward.farm.entries import Entry
from trayward.store.bulk import add_rows
from trayward.store.chain import to_microseconds
from trayward.store.schema import CHECKPOINT, ENTRY, ENTRY_SUBJECT, ENTRY_WORDS, set_guards
from trayward.store.worked_out import forget_worked_out

PAGE = 2000
"""Rows read at a time: enough to be quick, few enough to stay small in memory."""


def subjects_of(entry: Entry) -> list[str]:
    """What an entry is about, each subject once, sorted."""
    return sorted(set(entry.body.subjects()))


def subject_rows(seq: int, subjects: Iterable[str]) -> list[tuple[str, int]]:
    """The rows that file entry number `seq` under its subjects."""
    return [(subject, seq) for subject in subjects]


FREE = ("text", "note", "reason", "problem", "document")
"""Fields of entries that hold what somebody wrote in words of their own."""
HOLDERS = ("order", "standing", "trial")
"""Fields that hold something with a note of its own."""


def words_of(entry: Entry) -> str:
    """
    What was written freely into an entry, small and capital letters made the same; empty where nothing was.

    Examples
    --------
    >>> from datetime import datetime, timezone
    >>> from trayward.farm.entries import Note
    >>> at = datetime(2026, 11, 25, 7, tzinfo=timezone.utc)
    >>> words_of(Entry(id="device-1", at=at, recorded=at, by="Mo", body=Note(text="Fan of A2 was OFF")))
    'fan of a2 was off'
    """
    held = (getattr(entry.body, name, None) for name in HOLDERS)
    texts = (
        getattr(each, name, None) for each in (entry.body, *held) if isinstance(each, msgspec.Struct) for name in FREE
    )
    return folded(" ".join(text for text in texts if isinstance(text, str) and text))


def folded(text: str) -> str:
    """Text as it is compared: no difference of small and capital letters, and nothing a database cannot keep."""
    return text.replace("\0", " ").casefold().strip()


def word_rows(entry: Entry, seq: int) -> list[tuple[int, int, str]]:
    """The row under which entry number `seq` is found by its words; none where it holds no free words."""
    words = words_of(entry)
    return [(to_microseconds(entry.at), seq, words)] if words else []


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
    for table in (ENTRY_SUBJECT, ENTRY_WORDS):
        table.drop(connection, checkfirst=True)
        table.create(connection)
    for page in pages(connection):
        entries = [(row.seq, decode_entry(row.canonical.encode())) for row in page]
        filed = [one for seq, entry in entries for one in subject_rows(seq, subjects_of(entry))]
        worded = [one for seq, entry in entries for one in word_rows(entry, seq)]
        add_rows(connection, ENTRY_SUBJECT, filed)
        add_rows(connection, ENTRY_WORDS, worded)
    set_guards(connection)


def dump(connection: Connection) -> Iterator[bytes]:
    """The projections as JSON lines, one an entry, in an order that no database's sorting rules can change."""
    after = -1
    while numbers := connection.scalars(
        select(ENTRY.c.seq).where(ENTRY.c.seq > after).order_by(ENTRY.c.seq).limit(PAGE)
    ).all():
        filed = subjects_between(connection, after + 1, numbers[-1])
        worded = words_between(connection, after + 1, numbers[-1])
        for seq in numbers:
            told = {"seq": seq, "subjects": filed.get(seq, []), "words": worded.get(seq, "")}
            yield msgspec.json.encode(told) + b"\n"
        after = numbers[-1]


def subjects_between(connection: Connection, first: int, last: int) -> dict[int, list[str]]:
    """The subjects that entries `first` to `last` are filed under, sorted, by entry number."""
    column = ENTRY_SUBJECT.c
    filed: dict[int, list[str]] = {}
    query = select(column.seq, column.subject).where(column.seq >= first, column.seq <= last)
    for seq, subject in connection.execute(query):
        filed.setdefault(seq, []).append(subject)
    return {seq: sorted(subjects) for seq, subjects in filed.items()}


def words_between(connection: Connection, first: int, last: int) -> dict[int, str]:
    """The words that entries are found by, by entry number."""
    column = ENTRY_WORDS.c
    # Through the entries, whose times say where in the look-up the words stand.
    joined = (column.at == ENTRY.c.at) & (column.seq == ENTRY.c.seq)
    query = select(column.seq, column.words).select_from(ENTRY.join(ENTRY_WORDS, joined))
    return {row.seq: row.words for row in connection.execute(query.where(ENTRY.c.seq.between(first, last)))}
