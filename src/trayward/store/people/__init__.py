"""The people who may use the pages, kept beside the book in the same database.

They are no entries: no export holds them, nothing of the farm follows from them, and what proves who somebody is stands
here only as a hash. A backup is the whole database and does hold them.
"""

from __future__ import annotations

from datetime import datetime

from trayward.store.book import SqlBook
from trayward.store.people.calendars import Calendars
from trayward.store.people.keys import PAIRING_LIFE, Pairings, Tokens
from trayward.store.people.log import SETTINGS, changes, note_change, set_setting, setting
from trayward.store.people.persons import Persons, name_key
from trayward.store.people.proofs import PIN_DIGITS, SHORTEST, Hasher
from trayward.store.people.sessions import Sessions
from trayward.store.people.tries import buckets, empty, forget_old, give_back, take
from trayward.store.people.types import (
    ROLES,
    TOKEN_ROLES,
    CalendarKey,
    Change,
    LogInError,
    Paired,
    Person,
    Role,
    Seen,
    Session,
    ShownUnits,
    Token,
    WaitError,
)


class SqlPeople:
    """
    Who may use a farm's pages.

    Parameters
    ----------
    book : SqlBook
        Its database holds them too; closed with it.
    hasher : Hasher, optional
        Tests take one with less to work out.

    Notes
    -----
    Keys, codes and ids come from the system's own source of chance: unlike all else here they must not be told
    beforehand. Times are given, as everywhere below the command line.
    """

    def __init__(self, book: SqlBook, *, hasher: Hasher | None = None) -> None:
        self._book = book
        self._hasher = hasher or Hasher()
        self.persons = Persons(book, self._hasher)
        self.sessions = Sessions(book, self.persons)
        self.pairings = Pairings(book, self.persons)
        self.tokens = Tokens(book)
        self.calendars = Calendars(book)

    def log_in(self, name: str, password: str, *, address: str, at: datetime) -> Person:
        """
        The person of that name, who gave their password.

        Parameters
        ----------
        address : str
            Where the try comes from; tries are held back for it as well as for the name.

        Raises
        ------
        WaitError
            If there were too many wrong tries; the password is not looked at.
        LogInError
            If name and password do not fit: the same words and the same work whether or not there is such a name.
        """
        of_name, of_address = buckets(name_key(name), address)
        with self._book.writing() as connection:
            take(connection, (of_name, of_address), at)
        identity = self.persons.find_by_key(name_key(name))
        if not self.persons.fits_password(identity, password) or identity is None:
            rule = "they do not fit each other"
            raise LogInError("name and password", "as typed", rule, "Type both again; an owner can set a new password.")
        with self._book.writing() as connection:
            empty(connection, of_name)
            give_back(connection, of_address, at)
            forget_old(connection, at)
        return self.persons.get(identity)

    def changes(self, last: int = 50) -> list[Change]:
        """Who changed what about people, the newest first."""
        with self._book.reading() as connection:
            return changes(connection, last)

    def setting(self, name: str) -> int:
        """A setting: `lock_minutes`, `idle_days` or `most_days`."""
        with self._book.reading() as connection:
            return setting(connection, name)

    def set_setting(self, name: str, value: int, *, at: datetime, by: str) -> None:
        """Keep a setting. Raises `InputError` for one out of its span."""
        with self._book.writing() as connection:
            if setting(connection, name) != value:
                set_setting(connection, name, value)
                note_change(connection, at, by, f"set {name.replace('_', ' ')} to {value}")


__all__ = [
    "PAIRING_LIFE",
    "PIN_DIGITS",
    "ROLES",
    "SETTINGS",
    "SHORTEST",
    "TOKEN_ROLES",
    "CalendarKey",
    "Change",
    "Hasher",
    "LogInError",
    "Paired",
    "Person",
    "Role",
    "Seen",
    "Session",
    "ShownUnits",
    "SqlPeople",
    "Token",
    "WaitError",
    "name_key",
]
