"""Keys of calendars that phones subscribe to: they open the calendar alone, until they are ended."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime
from typing import Any

from sqlalchemy import func, select

from trayward.errors import BookError
from trayward.store.book import SqlBook
from trayward.store.chain import from_microseconds, to_microseconds
from trayward.store.people.log import note_change
from trayward.store.people.proofs import kept_of, new_key
from trayward.store.people.types import CalendarKey
from trayward.store.schema import CALENDAR_KEY, PERSON

HOUR = 3_600_000_000


class Calendars:
    """One key for each person, of 256 bits; only its hash is kept. A new one ends the one before."""

    def __init__(self, book: SqlBook) -> None:
        self._book = book

    def make(self, person: str, *, at: datetime, by: str) -> str:
        """A new key for somebody (by id; empty where there are no people); shown now and never again."""
        key, table = new_key(), CALENDAR_KEY
        with self._book.writing() as connection:
            connection.execute(table.delete().where(table.c.person == person))
            row = {"person": person, "hash": kept_of(key), "since": to_microseconds(at), "used": None}
            connection.execute(table.insert().values(**row))
            note_change(connection, at, by, "made a calendar to subscribe to")
        return key

    def end(self, person: str, *, at: datetime, by: str) -> bool:
        """Make somebody's key worthless; whether there was one."""
        with self._book.writing() as connection:
            gone = connection.execute(CALENDAR_KEY.delete().where(CALENDAR_KEY.c.person == person)).rowcount
            if gone:
                note_change(connection, at, by, "ended the calendar to subscribe to")
        return bool(gone)

    def of(self, person: str) -> CalendarKey | None:
        """That somebody has one; None where they have not."""
        with self._book.reading() as connection:
            row = connection.execute(select(CALENDAR_KEY).where(CALENDAR_KEY.c.person == person)).first()
        return None if row is None else _key(row)

    def check(self, key: str, at: datetime) -> CalendarKey | None:
        """
        Whose key that is; None where it opens nothing.

        One that was made while there were no people opens nothing any more once there are. Use is written down once an
        hour at most: phones ask all day long.
        """
        table = CALENDAR_KEY
        there = select(func.count()).select_from(PERSON).where(PERSON.c.removed.is_(None)).scalar_subquery()
        query = select(table, PERSON.c.id.label("known"), there.label("people")).outerjoin(
            PERSON, (PERSON.c.id == table.c.person) & PERSON.c.removed.is_(None)
        )
        with self._book.reading() as connection:
            row = connection.execute(query.where(table.c.hash == kept_of(key))).first()
        if row is None or (row.known is None and (row.person or row.people)):
            return None
        moment = to_microseconds(at)
        if row.used is None or moment - row.used > HOUR:
            with suppress(BookError), self._book.writing_shortly() as connection:
                connection.execute(table.update().where(table.c.person == row.person).values(used=moment))
        return _key(row)


def _key(row: Any) -> CalendarKey:
    used = None if row.used is None else from_microseconds(row.used)
    return CalendarKey(person=row.person, since=from_microseconds(row.since), used=used)
