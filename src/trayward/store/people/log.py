"""The record of who changed what about people, and the few settings of theirs."""

from __future__ import annotations

from datetime import datetime
from typing import NamedTuple

from sqlalchemy import Connection, func, select

from trayward.errors import InputError
from trayward.store.chain import from_microseconds, to_microseconds
from trayward.store.people.types import Change
from trayward.store.schema import PEOPLE_LOG, PEOPLE_SETTING


class Setting(NamedTuple):
    """A whole number the owner may set."""

    usual: int
    low: int
    high: int
    unit: str


SETTINGS = {
    "lock_minutes": Setting(5, 0, 240, "min"),
    "idle_days": Setting(30, 1, 365, "d"),
    "most_days": Setting(90, 1, 365, "d"),
}
"""lock_minutes: a device left alone waits for a PIN; 0: never. idle_days: one not used is logged out. most_days: so is
any, and has to be paired or logged in again.

Our choice. NIST SP 800-63B-4 (draft text read), section 2.1.3, advises 30 days or fewer overall for a single proof; a
hand at a rack who has to fetch the owner every month would rather share a phone that is logged in for ever.
"""


def note_change(connection: Connection, at: datetime, by: str, words: str) -> None:
    """Add a line to the record; the caller holds the writers' lock, so the numbers have no gaps."""
    number = (connection.scalar(select(func.max(PEOPLE_LOG.c.number))) or 0) + 1
    connection.execute(PEOPLE_LOG.insert().values(number=number, at=to_microseconds(at), by_whom=by, words=words))


def changes(connection: Connection, last: int) -> list[Change]:
    """The newest lines of the record, newest first."""
    query = select(PEOPLE_LOG).order_by(PEOPLE_LOG.c.number.desc()).limit(last)
    return [Change(at=from_microseconds(row.at), by=row.by_whom, words=row.words) for row in connection.execute(query)]


def setting(connection: Connection, name: str) -> int:
    """A setting's value, the usual one where none was set."""
    value = connection.scalar(select(PEOPLE_SETTING.c.value).where(PEOPLE_SETTING.c.name == name))
    return SETTINGS[name].usual if value is None else int(value)


def set_setting(connection: Connection, name: str, value: int) -> None:
    """Keep a setting. Raises `InputError` for a value out of its span."""
    known = SETTINGS[name]
    if not known.low <= value <= known.high:
        span = f"must lie in [{known.low}, {known.high}] {known.unit}"
        raise InputError(name, value, span, "Give a whole number in that span.", known.unit)
    connection.execute(PEOPLE_SETTING.delete().where(PEOPLE_SETTING.c.name == name))
    connection.execute(PEOPLE_SETTING.insert().values(name=name, value=value))
