"""Keys that open something: the one-time code that pairs a phone, and tokens for programs."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import select

from trayward.errors import BookError, InputError, NotFoundError
from trayward.store.book import SqlBook
from trayward.store.chain import from_microseconds, to_microseconds
from trayward.store.people.log import note_change
from trayward.store.people.persons import Persons, person_of, require_name, require_role, take_token_name
from trayward.store.people.proofs import kept_of, new_id, new_key
from trayward.store.people.types import TOKEN_ROLES, Person, Role, Token
from trayward.store.schema import PAIRING, PERSON, TOKEN

PAIRING_LIFE = timedelta(minutes=10)
"""How long a pairing code opens something."""

TOKEN_PREFIX = "trayward_"
"""Begins every token, so that one left in a file is recognised for what it is."""

MINUTE = 60_000_000


class Pairings:
    """One-time codes, each for one person's phone. Only their hashes are kept."""

    def __init__(self, book: SqlBook, persons: Persons) -> None:
        self._book = book
        self._persons = persons

    def make(self, person: str, *, at: datetime, by: str) -> str:
        """A code that pairs one phone with somebody within `PAIRING_LIFE`; one not used before is void."""
        code = new_key()
        name = self._persons.get(person).name
        with self._book.writing() as connection:
            moment = to_microseconds(at)
            connection.execute(PAIRING.delete().where((PAIRING.c.person == person) | (PAIRING.c.ends <= moment)))
            ends = to_microseconds(at + PAIRING_LIFE)
            connection.execute(PAIRING.insert().values(hash=kept_of(code), person=person, made_by=by, ends=ends))
            note_change(connection, at, by, f"made a code that pairs a phone with {name}")
        return code

    def whose(self, code: str, at: datetime) -> Person | None:
        """Whom the code would let in; looking does not use it up. None where it is used, too old, or none."""
        with self._book.reading() as connection:
            row = connection.execute(self._good(code, at)).first()
        return None if row is None else person_of(row)

    def use(self, code: str, *, at: datetime) -> Person:
        """Use the code up. Raises `InputError` where it opens nothing, or somebody else was first."""
        with self._book.writing() as connection:
            row = connection.execute(self._good(code, at)).first()
            if row is None:
                rule = "it was used already, or is older than 10 minutes"
                raise InputError("code", "as opened", rule, "Ask for a new one.")
            connection.execute(PAIRING.delete().where(PAIRING.c.hash == kept_of(code)))
            note_change(connection, at, row.name, "paired a phone")
        return person_of(row)

    def _good(self, code: str, at: datetime) -> Any:
        query = select(PERSON).join(PAIRING, PAIRING.c.person == PERSON.c.id).where(PAIRING.c.hash == kept_of(code))
        return query.where(PAIRING.c.ends > to_microseconds(at), PERSON.c.removed.is_(None))


class Tokens:
    """Keys for programs. Each has a name of its own that stands beside what it records, and a role."""

    def __init__(self, book: SqlBook) -> None:
        self._book = book

    def add(self, name: str, role: Role, *, at: datetime, by: str) -> tuple[Token, str]:
        """Make a token; the text is shown now and never again."""
        plain = require_name(name)
        require_role(role, TOKEN_ROLES)
        key, identity = new_key(TOKEN_PREFIX), new_id()
        with self._book.writing() as connection:
            take_token_name(connection, plain, identity)
            row = {"id": identity, "hash": kept_of(key), "name": plain, "role": role, "made_by": by}
            connection.execute(TOKEN.insert().values(**row, since=to_microseconds(at), used=None))
            note_change(connection, at, by, f"made the token {plain}, which may do what a{_n(role)} {role} may")
            return _token(connection.execute(select(TOKEN).where(TOKEN.c.id == identity)).one()), key

    def all(self) -> list[Token]:
        """Every token, the newest first."""
        with self._book.reading() as connection:
            return [_token(row) for row in connection.execute(select(TOKEN).order_by(TOKEN.c.since.desc()))]

    def end(self, identity: str, *, at: datetime, by: str) -> None:
        """Make a token worthless. Raises `NotFoundError` where it is that already."""
        with self._book.writing() as connection:
            name = connection.scalar(select(TOKEN.c.name).where(TOKEN.c.id == identity))
            if name is None:
                raise NotFoundError("token", identity, remedy="It has ended already.")
            connection.execute(TOKEN.delete().where(TOKEN.c.id == identity))
            note_change(connection, at, by, f"ended the token {name}")

    def check(self, key: str, at: datetime) -> Token | None:
        """The token with that text; None where there is none. Its use is written down once a minute at most."""
        with self._book.reading() as connection:
            row = connection.execute(select(TOKEN).where(TOKEN.c.hash == kept_of(key))).first()
        if row is None:
            return None
        moment = to_microseconds(at)
        if row.used is None or moment - row.used > MINUTE:
            with suppress(BookError), self._book.writing_shortly() as connection:
                connection.execute(TOKEN.update().where(TOKEN.c.id == row.id).values(used=moment))
        return _token(row)


def _n(role: str) -> str:
    return "n" if role == "owner" else ""


def _token(row: Any) -> Token:
    return Token(
        id=row.id,
        name=row.name,
        role=row.role,
        made_by=row.made_by,
        since=from_microseconds(row.since),
        used=None if row.used is None else from_microseconds(row.used),
    )
