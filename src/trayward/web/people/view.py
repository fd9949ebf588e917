"""What the pages about people show, worked out from what is kept of them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import msgspec
from markupsafe import Markup

from trayward.store.people import SETTINGS, Change, Paired, Person, Session, SqlPeople, Token
from trayward.web.look.square import square_of
from trayward.web.shield import LOOPBACK, host_of


class AtLock(msgspec.Struct, frozen=True, kw_only=True):
    """Somebody whom a locked phone asks for."""

    id: str
    name: str
    by_pin: bool
    """Whether a PIN will do; else the password is asked for."""


class Tab(msgspec.Struct, frozen=True, kw_only=True):
    """A device on a list, and whether it is the one that asks."""

    session: Session
    here: bool


class Everybody(msgspec.Struct, frozen=True, kw_only=True):
    """The owner's page."""

    people: tuple[Person, ...]
    tokens: tuple[Token, ...]
    tabs: tuple[Tab, ...]
    changes: tuple[Change, ...]
    settings: dict[str, int]
    owners: int


class OnePage(msgspec.Struct, frozen=True, kw_only=True):
    """One person, as an owner sees them."""

    person: Person
    tabs: tuple[Tab, ...]
    last_owner: bool


class Code(msgspec.Struct, frozen=True, kw_only=True):
    """A pairing code to be held before a phone."""

    person: Person
    address: str
    svg: Markup
    ends: datetime
    only_here: bool
    """Whether the address is one that only this machine understands."""


def everybody(kept: SqlPeople, at: datetime, here: str) -> Everybody:
    """All there is of people, for an owner."""
    people = tuple(kept.persons.all())
    return Everybody(
        people=people,
        tokens=tuple(kept.tokens.all()),
        tabs=tabs(kept.sessions.all(at), here),
        changes=tuple(kept.changes(30)),
        settings={name: kept.setting(name) for name in SETTINGS},
        owners=sum(one.role == "owner" for one in people),
    )


def one_page(kept: SqlPeople, identity: str, at: datetime, here: str) -> OnePage:
    """One person with their devices."""
    person = kept.persons.get(identity)
    owners = [one.id for one in kept.persons.all() if one.role == "owner"]
    found = kept.sessions.all(at, person=identity)
    return OnePage(person=person, tabs=tabs(found, here), last_owner=owners == [identity])


def tabs(sessions: Sequence[Session], here: str) -> tuple[Tab, ...]:
    """Devices, the one that asks first."""
    found = [Tab(session=each, here=each.id == here) for each in sessions]
    return tuple(sorted(found, key=lambda tab: not tab.here))


def at_lock(paired: Sequence[Paired], tries: int) -> tuple[AtLock, ...]:
    """Whom a locked phone asks for, by name."""
    return tuple(
        AtLock(id=one.person.id, name=one.person.name, by_pin=one.person.has_pin and one.wrong < tries)
        for one in paired
    )


def code_of(person: Person, address: str, ends: datetime) -> Code:
    """A pairing code as a picture, and whether a phone can reach what it says."""
    host = host_of(address.split("/")[2])
    return Code(person=person, address=address, svg=square_of(address), ends=ends, only_here=host in LOOPBACK)
