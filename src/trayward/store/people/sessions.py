"""Where people are logged in: devices, who is at each, and the lock between two of them.

A *session* is one browser or phone. It is known by a random key of 256 bits in its cookie, of which only the SHA-256 is
kept. One or more people are *paired* with it, and one of them is at it. Left alone for a while it is locked: then
whoever comes says who they are and shows it by their PIN, or by their password.
"""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, bindparam, func, select

from trayward.errors import BookError, NotFoundError
from trayward.store.book import SqlBook
from trayward.store.chain import from_microseconds, to_microseconds
from trayward.store.people.log import SETTINGS, note_change, setting
from trayward.store.people.persons import Persons, forget_sessions, person_of, unpair
from trayward.store.people.proofs import PIN_TRIES, kept_of, new_id, new_key
from trayward.store.people.types import LogInError, Paired, Seen, Session
from trayward.store.schema import PEOPLE_SETTING, PERSON, SESSION, SESSION_PERSON

MINUTE = 60_000_000
DAY = 86_400_000_000
WRITE_USE_AFTER = MINUTE
"""Use is written down once a minute at most: pages are asked for more often than the disk likes to be waited for."""


def _set(name: str) -> Any:
    return select(PEOPLE_SETTING.c.value).where(PEOPLE_SETTING.c.name == name).scalar_subquery()


_SHARING = SESSION_PERSON.alias()
_SEEN = (
    select(
        SESSION.c.id,
        SESSION.c.used,
        SESSION.c.ends,
        SESSION.c.locked,
        PERSON.c.id.label("person"),
        PERSON.c.name,
        PERSON.c.role,
        PERSON.c.language,
        PERSON.c.units,
        PERSON.c.pin.is_not(None).label("has_pin"),
        select(func.count()).where(_SHARING.c.session == SESSION.c.id).scalar_subquery().label("sharing"),
        _set("lock_minutes").label("lock_minutes"),
        _set("idle_days").label("idle_days"),
    )
    .join(PERSON, PERSON.c.id == SESSION.c.person)
    .where(SESSION.c.hash == bindparam("hash"), PERSON.c.removed.is_(None))
)
"""Asked at every request, so it is put together once and answers all there is to know."""


class Sessions:
    """The devices people are logged in on."""

    def __init__(self, book: SqlBook, persons: Persons) -> None:
        self._book = book
        self._persons = persons

    # Beginning and asking --------------------------------------------------------------------------------------------

    def begin(self, person: str, device: str, *, at: datetime, key: str | None = None) -> str:
        """
        Log somebody in on a device, and give the key to keep in its cookie.

        Parameters
        ----------
        person : str
            Id of who proved to be them.
        device : str
            What the device says it is, in words.
        key : str, optional
            The key the device had. Is it still good, the person joins those who share the device, and the key is
            changed: a key somebody planted beforehand opens nothing.
        """
        fresh = new_key()
        with self._book.writing() as connection:
            forget_ended(connection, at)
            session = self._shared(connection, key, at)
            if session is None:
                session = _new_session(connection, person, device, fresh, at)
            else:
                now = {"hash": kept_of(fresh), "person": person, "used": to_microseconds(at), "locked": 0}
                connection.execute(SESSION.update().where(SESSION.c.id == session).values(**now))
            _pair(connection, session, person, at)
        return fresh

    def _shared(self, connection: Connection, key: str | None, at: datetime) -> str | None:
        if key is None:
            return None
        row = connection.execute(_SEEN, {"hash": kept_of(key)}).first()
        return None if row is None or _is_over(row, to_microseconds(at)) else str(row.id)

    def seen(self, key: str, at: datetime) -> Seen | None:
        """Who is at the device with that key; None where it is logged in no more."""
        with self._book.reading() as connection:
            row = connection.execute(_SEEN, {"hash": kept_of(key)}).first()
        moment = to_microseconds(at)
        if row is None or _is_over(row, moment):
            return None
        locked = bool(row.locked) or _left_alone(row, moment)
        return Seen(
            session=row.id,
            person=row.person,
            name=row.name,
            role=row.role,
            language=row.language,
            units=row.units,
            locked=locked,
            due=not locked and moment - row.used > WRITE_USE_AFTER,
        )

    def touch(self, session: str, at: datetime) -> None:
        """Write down that somebody used the device; where others are writing, next time will do."""
        with suppress(BookError), self._book.writing_shortly() as connection:
            where = (SESSION.c.id == session) & (SESSION.c.used < to_microseconds(at))
            connection.execute(SESSION.update().where(where).values(used=to_microseconds(at)))

    # Who is at it ----------------------------------------------------------------------------------------------------

    def paired(self, session: str) -> list[Paired]:
        """Everybody who may use the device, in the order of their names."""
        query = (
            select(PERSON, SESSION_PERSON.c.wrong)
            .join(SESSION_PERSON, SESSION_PERSON.c.person == PERSON.c.id)
            .where(SESSION_PERSON.c.session == session, PERSON.c.removed.is_(None))
            .order_by(PERSON.c.name)
        )
        with self._book.reading() as connection:
            rows = connection.execute(query).all()
        return [Paired(person=person_of(row), wrong=row.wrong) for row in rows]

    def lock(self, session: str) -> None:
        """Let the device wait for a PIN now."""
        with self._book.writing() as connection:
            connection.execute(SESSION.update().where(SESSION.c.id == session).values(locked=1))

    def unlock(self, session: str, person: str, pin: str, *, at: datetime) -> None:
        """
        Somebody paired with the device is at it now, and shows it by their PIN.

        Raises `LogInError` where the PIN is wrong, or was wrong too often on this device: then only their password
        helps. The try is counted before it is looked at, so that many at once gain nothing.
        """
        wrong = self._count_pin(session, person)
        if wrong > PIN_TRIES:
            rule = f"it was wrong {PIN_TRIES} times on this phone"
            raise LogInError("pin", "as typed", rule, "Log in with the password, or have the phone paired again.")
        if not self._persons.fits_pin(person, pin):
            left = PIN_TRIES - wrong
            way_out = (
                f"Try again; {left} more." if left else "Log in with the password, or have the phone paired again."
            )
            raise LogInError("pin", "as typed", "it is not the right one", way_out)
        with self._book.writing() as connection:
            here = (SESSION_PERSON.c.session == session) & (SESSION_PERSON.c.person == person)
            connection.execute(SESSION_PERSON.update().where(here).values(wrong=0))
            now = {"person": person, "locked": 0, "used": to_microseconds(at)}
            connection.execute(SESSION.update().where(SESSION.c.id == session).values(**now))

    def _count_pin(self, session: str, person: str) -> int:
        column = SESSION_PERSON.c
        here = (column.session == session) & (column.person == person)
        with self._book.writing() as connection:
            wrong = connection.scalar(select(column.wrong).where(here))
            if wrong is None:
                raise NotFoundError("person", person, remedy="They are not paired with this device.")
            counted = min(int(wrong) + 1, PIN_TRIES + 1)
            connection.execute(SESSION_PERSON.update().where(here).values(wrong=counted))
        return counted

    # Listing and ending ----------------------------------------------------------------------------------------------

    def all(self, at: datetime, *, person: str | None = None) -> list[Session]:
        """Every device that is logged in, or those somebody may use; the last used first."""
        mine = select(SESSION_PERSON.c.session).where(SESSION_PERSON.c.person == person)
        query = select(SESSION, PERSON.c.name).join(PERSON, PERSON.c.id == SESSION.c.person)
        if person is not None:
            query = query.where(SESSION.c.id.in_(mine))
        sharing = select(SESSION_PERSON.c.session, PERSON.c.name).join(PERSON, PERSON.c.id == SESSION_PERSON.c.person)
        with self._book.reading() as connection:
            rows = connection.execute(query.order_by(SESSION.c.used.desc())).all()
            names: dict[str, list[str]] = {}
            for session, name in connection.execute(sharing.order_by(PERSON.c.name)):
                names.setdefault(session, []).append(name)
            idle = setting(connection, "idle_days")
        moment = to_microseconds(at)
        return [_session(row, names) for row in rows if row.ends > moment and moment - row.used <= idle * DAY]

    def end(self, session: str, *, at: datetime, by: str) -> None:
        """Log a device out, with everybody who shares it."""
        with self._book.writing() as connection:
            row = connection.execute(select(SESSION).where(SESSION.c.id == session)).first()
            if row is None:
                raise NotFoundError("session", session, remedy="It has ended already.")
            _forget(connection, session)
            note_change(connection, at, by, f"logged out {row.device}")

    def leave(self, session: str, person: str, *, at: datetime, by: str) -> None:
        """Take one person off a device; the others who share it stay."""
        with self._book.writing() as connection:
            row = connection.execute(select(SESSION.c.device).where(SESSION.c.id == session)).first()
            name = connection.scalar(select(PERSON.c.name).where(PERSON.c.id == person))
            unpair(connection, session, person)
            note_change(connection, at, by, f"logged {name} out of {row.device if row else 'a device'}")

    def end_all(self, person: str, *, at: datetime, by: str, but: str | None = None) -> int:
        """Log somebody out everywhere, but not on the session named by `but`. Returns how many."""
        with self._book.writing() as connection:
            name = connection.scalar(select(PERSON.c.name).where(PERSON.c.id == person))
            count = forget_sessions(connection, person, but=but)
            if count:
                note_change(connection, at, by, f"logged {name} out on {count} {'device' if count == 1 else 'devices'}")
        return count


def forget_ended(connection: Connection, at: datetime) -> None:
    """Throw away what has run out."""
    moment = to_microseconds(at)
    idle = moment - setting(connection, "idle_days") * DAY
    over = select(SESSION.c.id).where((SESSION.c.ends <= moment) | (SESSION.c.used < idle))
    for session in connection.scalars(over).all():
        _forget(connection, session)


def _new_session(connection: Connection, person: str, device: str, key: str, at: datetime) -> str:
    identity, moment = new_id(), to_microseconds(at)
    ends = to_microseconds(at + timedelta(days=setting(connection, "most_days")))
    connection.execute(
        SESSION.insert().values(
            id=identity,
            hash=kept_of(key),
            person=person,
            device=device,
            since=moment,
            used=moment,
            ends=ends,
            locked=0,
        )
    )
    return identity


def _pair(connection: Connection, session: str, person: str, at: datetime) -> None:
    """Put somebody on a device; was it done before, their wrong PINs there are forgotten."""
    if connection.scalar(select(PERSON.c.id).where(PERSON.c.id == person, PERSON.c.removed.is_(None))) is None:
        raise NotFoundError("person", person, remedy="They may have been removed meanwhile.")
    column = SESSION_PERSON.c
    connection.execute(SESSION_PERSON.delete().where(column.session == session, column.person == person))
    row = {"session": session, "person": person, "since": to_microseconds(at), "wrong": 0}
    connection.execute(SESSION_PERSON.insert().values(**row))


def _forget(connection: Connection, session: str) -> None:
    connection.execute(SESSION_PERSON.delete().where(SESSION_PERSON.c.session == session))
    connection.execute(SESSION.delete().where(SESSION.c.id == session))


def _value(row: Row[Any], name: str) -> int:
    found = getattr(row, name)
    return SETTINGS[name].usual if found is None else int(found)


def _is_over(row: Row[Any], moment: int) -> bool:
    return bool(row.ends <= moment or moment - row.used > _value(row, "idle_days") * DAY)


def _left_alone(row: Row[Any], moment: int) -> bool:
    """Whether nobody touched the device for so long that somebody else may have it in their hand.

    One person's own device without a PIN is left to the lock it has itself.
    """
    minutes = _value(row, "lock_minutes")
    lockable = row.sharing > 1 or row.has_pin
    return bool(minutes and lockable and moment - row.used > minutes * MINUTE)


def _session(row: Row[Any], names: dict[str, list[str]]) -> Session:
    return Session(
        id=row.id,
        device=row.device,
        person=row.name,
        people=tuple(names.get(row.id, ())),
        since=from_microseconds(row.since),
        used=from_microseconds(row.used),
        ends=from_microseconds(row.ends),
        locked=bool(row.locked),
    )
