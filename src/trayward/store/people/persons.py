"""Who there is: adding, changing and removing people, and the rule that somebody always keeps the farm."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, select

from trayward.errors import InputError, NotFoundError
from trayward.store.book import SqlBook
from trayward.store.chain import from_microseconds, to_microseconds
from trayward.store.people.log import note_change
from trayward.store.people.proofs import Hasher, new_id, require_password, require_pin
from trayward.store.people.types import ROLES, Person, Role, ShownUnits
from trayward.store.schema import CALENDAR_KEY, PAIRING, PERSON, PERSON_NAME, SESSION, SESSION_PERSON, TOKEN

LONGEST_NAME = 40
LAST_OWNER = "the last owner cannot be removed or become something else"


class Persons:
    """The people of a farm. Every change is one transaction, and says who made it."""

    def __init__(self, book: SqlBook, hasher: Hasher) -> None:
        self._book = book
        self._hasher = hasher

    # Looking ---------------------------------------------------------------------------------------------------------

    def anyone(self) -> bool:
        """Whether there is anybody."""
        with self._book.reading() as connection:
            return (
                connection.execute(select(PERSON.c.id).where(PERSON.c.removed.is_(None)).limit(1)).first() is not None
            )

    def all(self, *, removed: bool = False) -> list[Person]:
        """Everybody, in the order of their names; with those who were let go, if asked for."""
        query = select(PERSON)
        with self._book.reading() as connection:
            rows = connection.execute(query if removed else query.where(PERSON.c.removed.is_(None))).all()
        return sorted(map(person_of, rows), key=lambda person: name_key(person.name))

    def get(self, identity: str) -> Person:
        """Somebody by id. Raises `NotFoundError` for one who is not there, or was let go."""
        with self._book.reading() as connection:
            return person_of(self._row(connection, identity))

    def named(self, name: str) -> Person:
        """Somebody by name, however it is spelt in capitals. Raises `NotFoundError`."""
        everybody = self.all()
        found = [person for person in everybody if name_key(person.name) == name_key(name)]
        if not found:
            raise NotFoundError("person", name, tuple(person.name for person in everybody))
        return found[0]

    # Changing --------------------------------------------------------------------------------------------------------

    def add(self, name: str, role: Role, *, password: str | None, at: datetime, by: str) -> Person:
        """
        Let somebody in; or in again, who was let go and had that name last.

        Parameters
        ----------
        name : str
            Stands beside all that they record. Nobody else may have had it, for the book would confuse the two.
        role : "owner", "hand" or "reader"
            The first of all must be an owner.
        password : str or None
            An owner has one. Others may do with a paired phone.

        Raises
        ------
        InputError
            If the name, the role or the password will not do.
        """
        plain = require_name(name)
        require_role(role)
        hashed = self._hashed(password, plain)
        if role == "owner" and hashed is None:
            raise _without_password()
        with self._book.writing() as connection:
            if role != "owner" and not _owners(connection):
                rule = "the first person must be an owner, or nobody could let others in"
                raise InputError("role", role, rule, "Add the one who keeps the farm first.")
            identity = _take_name(connection, plain, new_id(), returning=True)
            row = {"name": plain, "role": role, "password": hashed, "pin": None, "removed": None}
            if connection.execute(select(PERSON.c.id).where(PERSON.c.id == identity)).first():
                connection.execute(PERSON.update().where(PERSON.c.id == identity).values(**row))
                note_change(connection, at, by, f"let {plain} in again as {role}")
            else:
                begun = {"id": identity, "since": to_microseconds(at), "language": "", "units": ""}
                connection.execute(PERSON.insert().values(**row, **begun))
                note_change(connection, at, by, f"added {plain} as {role}")
            return person_of(self._row(connection, identity))

    def remove(self, identity: str, *, at: datetime, by: str) -> None:
        """Let somebody go: they are logged out everywhere. What they recorded stays, and so does their name."""
        with self._book.writing() as connection:
            row = self._row(connection, identity)
            _require_other_owner(connection, row)
            forget_sessions(connection, identity)
            connection.execute(PAIRING.delete().where(PAIRING.c.person == identity))
            connection.execute(CALENDAR_KEY.delete().where(CALENDAR_KEY.c.person == identity))
            gone = {"removed": to_microseconds(at), "password": None, "pin": None}
            connection.execute(PERSON.update().where(PERSON.c.id == identity).values(**gone))
            note_change(connection, at, by, f"removed {row.name}")

    def rename(self, identity: str, name: str, *, at: datetime, by: str) -> None:
        """Give somebody another name from now on. What the book has under the old one stays as it is."""
        plain = require_name(name)
        with self._book.writing() as connection:
            row = self._row(connection, identity)
            _take_name(connection, plain, identity, returning=False)
            connection.execute(PERSON.update().where(PERSON.c.id == identity).values(name=plain))
            note_change(connection, at, by, f"renamed {row.name} to {plain}")

    def set_role(self, identity: str, role: Role, *, at: datetime, by: str) -> None:
        """Make somebody an owner, a hand or a reader; it counts from their next tap on."""
        require_role(role)
        with self._book.writing() as connection:
            row = self._row(connection, identity)
            if role == row.role:
                return
            if role == "owner" and row.password is None:
                raise _without_password()
            _require_other_owner(connection, row)
            connection.execute(PERSON.update().where(PERSON.c.id == identity).values(role=role))
            note_change(connection, at, by, f"made {row.name} {role}, who was {row.role}")

    def set_password(self, identity: str, password: str, *, at: datetime, by: str, but: str | None = None) -> None:
        """Give somebody a new password. They are logged out everywhere, but not on the session named by `but`."""
        hashed = self._hashed(password, self.get(identity).name)
        with self._book.writing() as connection:
            row = self._row(connection, identity)
            connection.execute(PERSON.update().where(PERSON.c.id == identity).values(password=hashed))
            forget_sessions(connection, identity, but=but)
            connection.execute(PAIRING.delete().where(PAIRING.c.person == identity))
            note_change(connection, at, by, f"set a new password for {row.name}")

    def set_pin(self, identity: str, pin: str | None, *, at: datetime, by: str) -> None:
        """Give somebody a PIN, or take it away. Wrong tries of the old one are forgotten with it."""
        hashed = None if pin is None else self._hasher.hash(require_pin(pin))
        with self._book.writing() as connection:
            row = self._row(connection, identity)
            connection.execute(PERSON.update().where(PERSON.c.id == identity).values(pin=hashed))
            connection.execute(SESSION_PERSON.update().where(SESSION_PERSON.c.person == identity).values(wrong=0))
            note_change(connection, at, by, f"{'took away' if pin is None else 'set'} the PIN of {row.name}")

    def set_taste(self, identity: str, *, language: str, units: ShownUnits) -> None:
        """The language and units somebody wants; not worth a line in the record."""
        with self._book.writing() as connection:
            self._row(connection, identity)
            taste = {"language": language, "units": units}
            connection.execute(PERSON.update().where(PERSON.c.id == identity).values(**taste))

    # Proving ---------------------------------------------------------------------------------------------------------

    def fits_password(self, identity: str | None, password: str) -> bool:
        """Whether it is their password. Takes as long where there is no such person, or none was set."""
        with self._book.reading() as connection:
            query = select(PERSON.c.password).where(PERSON.c.id == (identity or ""), PERSON.c.removed.is_(None))
            kept = connection.scalar(query)
        fits = self._hasher.fits(kept, password)
        if kept is not None and fits and self._hasher.is_old(kept):
            self._renew(str(identity), kept, password)
        return fits

    def fits_pin(self, identity: str, pin: str) -> bool:
        """Whether it is their PIN. Who asks sees to it that tries are counted."""
        with self._book.reading() as connection:
            kept = connection.scalar(select(PERSON.c.pin).where(PERSON.c.id == identity, PERSON.c.removed.is_(None)))
        return self._hasher.fits(kept, pin)

    def find_by_key(self, key: str) -> str | None:
        """Id of the person who goes by that name now; None where nobody does."""
        with self._book.reading() as connection:
            rows = connection.execute(select(PERSON.c.id, PERSON.c.name).where(PERSON.c.removed.is_(None))).all()
        return next((str(row.id) for row in rows if name_key(row.name) == key), None)

    def goes_by(self, identity: str, name: str) -> bool:
        """Whether a name is theirs, or was, spelt as the book has it."""
        column = PERSON_NAME.c
        query = select(column.name).where(column.key == name_key(name), column.whose == identity)
        with self._book.reading() as connection:
            return connection.scalar(query) == name

    def _renew(self, identity: str, kept: str, password: str) -> None:
        hashed = self._hasher.hash(password)
        with self._book.writing() as connection:
            # Not over a password that was changed meanwhile.
            where = (PERSON.c.id == identity) & (PERSON.c.password == kept)
            connection.execute(PERSON.update().where(where).values(password=hashed))

    def _hashed(self, password: str | None, name: str) -> str | None:
        """Worked out before the writers' lock is taken: it takes longer than all the rest."""
        return None if password is None else self._hasher.hash(require_password(password, name))

    def _row(self, connection: Connection, identity: str) -> Any:
        query = select(PERSON).where(PERSON.c.id == identity, PERSON.c.removed.is_(None))
        row = connection.execute(query).first()
        if row is None:
            raise NotFoundError("person", identity, remedy="They may have been removed meanwhile.")
        return row


def person_of(row: Any) -> Person:
    """A row of the table without its secrets."""
    return Person(
        id=row.id,
        name=row.name,
        role=row.role,
        since=from_microseconds(row.since),
        has_password=row.password is not None,
        has_pin=row.pin is not None,
        language=row.language,
        units=row.units,
        removed=None if row.removed is None else from_microseconds(row.removed),
    )


def require_name(name: str) -> str:
    """A name as it is kept: single spaces, nothing that cannot be seen. Raises `InputError`."""
    plain = re.sub(r"\s+", " ", unicodedata.normalize("NFC", name)).strip()
    unseen = any(unicodedata.category(letter) in ("Cc", "Cf", "Co", "Cs", "Cn") for letter in plain)
    if not plain or len(plain) > LONGEST_NAME or unseen:
        raise InputError("name", repr(name), f"it must have 1 to {LONGEST_NAME} letters", "Take what they are called.")
    return plain


def require_role(role: str, known: Sequence[str] = ROLES) -> None:
    """Raise `InputError` for what is no role."""
    if role not in known:
        raise InputError("role", role, f"it must be one of {', '.join(known)}", "Name one of these.")


def name_key(name: str) -> str:
    """What two names have in common that would be taken for one another."""
    return re.sub(r"\s+", " ", unicodedata.normalize("NFKC", name)).strip().casefold()


def take_token_name(connection: Connection, name: str, token: str) -> None:
    """Make a name a token's for good; one that ended may be followed by another. Raises `InputError`."""
    column = PERSON_NAME.c
    ended = column.whose.startswith("token:") & column.whose.not_in(select("token:" + TOKEN.c.id))
    connection.execute(PERSON_NAME.delete().where(column.key == name_key(name), ended))
    _take_name(connection, name, f"token:{token}", returning=False)


def forget_sessions(connection: Connection, person: str, *, but: str | None = None) -> int:
    """Log somebody out everywhere; a device nobody else uses is forgotten, on a shared one the others stay."""
    kept_on = SESSION_PERSON.c.session != (but or "")
    at_it = select(SESSION_PERSON.c.session).where(SESSION_PERSON.c.person == person, kept_on)
    sessions: Sequence[str] = connection.scalars(at_it).all()
    for session in sessions:
        unpair(connection, session, person)
    return len(sessions)


def unpair(connection: Connection, session: str, person: str) -> None:
    """Take somebody off a device. Was it them who is at it, it waits for one of the others, locked."""
    column = SESSION_PERSON.c
    connection.execute(SESSION_PERSON.delete().where(column.session == session, column.person == person))
    left = connection.scalars(select(column.person).where(column.session == session).order_by(column.since)).first()
    here = SESSION.c.id == session
    if left is None:
        connection.execute(SESSION.delete().where(here))
    else:
        connection.execute(SESSION.update().where(here, SESSION.c.person == person).values(person=left, locked=1))


def _take_name(connection: Connection, name: str, whose: str, *, returning: bool) -> str:
    """Whose the name is now. With `returning` that may be somebody who was let go under it, and comes again."""
    key = name_key(name)
    held = connection.scalar(select(PERSON_NAME.c.whose).where(PERSON_NAME.c.key == key))
    if held is None:
        connection.execute(PERSON_NAME.insert().values(key=key, name=name, whose=whose))
        return whose
    if held == whose:
        connection.execute(PERSON_NAME.update().where(PERSON_NAME.c.key == key).values(name=name))
        return whose
    before = connection.execute(select(PERSON.c.name, PERSON.c.removed).where(PERSON.c.id == held)).first()
    if returning and before is not None and before.removed is not None and name_key(before.name) == key:
        connection.execute(PERSON_NAME.update().where(PERSON_NAME.c.key == key).values(name=name))
        return str(held)
    rule = "somebody has that name, or had it, and the book would not tell them apart"
    raise InputError("name", name, rule, "Add a letter: the first of the family name, say.")


def _without_password() -> InputError:
    return InputError("password", "none", "an owner needs one, to come in where no phone is paired", "Set one first.")


def _owners(connection: Connection) -> list[str]:
    query = select(PERSON.c.id).where(PERSON.c.role == "owner", PERSON.c.removed.is_(None))
    return list(connection.scalars(query))


def _require_other_owner(connection: Connection, row: Any) -> None:
    if row.role == "owner" and _owners(connection) == [row.id]:
        raise InputError("person", row.name, LAST_OWNER, "Make somebody else an owner first.")
