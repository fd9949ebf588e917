"""What is known of people: plain values, without any secret in them."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

import msgspec

from trayward.errors import InputError, TraywardError

Role = Literal["owner", "hand", "reader", "sensor"]
ROLES: tuple[Role, ...] = ("owner", "hand", "reader")
"""owner: keeps the farm and its people. hand: does the rounds. reader: only looks."""
TOKEN_ROLES: tuple[Role, ...] = (*ROLES, "sensor")
"""A program may be a sensor, too: it hands in readings and may do nothing else. A person cannot."""

ShownUnits = Literal["", "metric", "us"]


class Person(msgspec.Struct, frozen=True, kw_only=True):
    """Somebody who may use the pages."""

    id: str
    name: str
    role: Role
    since: datetime
    has_password: bool
    has_pin: bool
    language: str = ""
    """The language they chose; empty: as their browser asks."""
    units: ShownUnits = ""
    """The units they chose; empty: the farm's."""
    removed: datetime | None = None
    """When they were let go. Their name stays theirs, for the book speaks of them."""


class Paired(msgspec.Struct, frozen=True, kw_only=True):
    """A person who may use a device, and how they show that it is them."""

    person: Person
    wrong: int
    """Wrong PINs in a row on this device; from `PIN_TRIES` on only the password counts. [-]"""


class Session(msgspec.Struct, frozen=True, kw_only=True):
    """A browser or phone that is logged in; listed without what proves it."""

    id: str
    device: str
    """What it says it is, in words: `Firefox on Android`."""
    person: str
    """Name of who is at it now."""
    people: tuple[str, ...]
    """Names of all who may use it."""
    since: datetime
    used: datetime
    """When somebody last did something with it, to about a minute."""
    ends: datetime
    locked: bool


class Seen(msgspec.Struct, frozen=True, kw_only=True):
    """What a device's secret leads to: who is at it, and whether it waits for a PIN."""

    session: str
    person: str
    """Id of who is at it."""
    name: str
    role: Role
    language: str
    units: ShownUnits
    locked: bool
    due: bool
    """Whether its use should be written down (`Sessions.touch`): not at every request, for that waits for the disk."""


class CalendarKey(msgspec.Struct, frozen=True, kw_only=True):
    """That somebody has a calendar to subscribe to; the key itself is shown once."""

    person: str
    """Id of whose; empty where the pages know no people."""
    since: datetime
    used: datetime | None
    """When a phone last asked."""


class Token(msgspec.Struct, frozen=True, kw_only=True):
    """A key for a program: shown once when it was made, and known by its name since."""

    id: str
    name: str
    """Stands beside what the program writes into the book."""
    role: Role
    made_by: str
    since: datetime
    used: datetime | None


class Change(msgspec.Struct, frozen=True, kw_only=True):
    """A line of the record of changes to people."""

    at: datetime
    by: str
    words: str


class LogInError(InputError):
    """Name and password, or PIN, do not fit; says the same whichever of them is wrong."""


class WaitError(TraywardError):
    """Too many tries: the next one is let through after so many seconds."""

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        minutes = -(-seconds // 60)
        words = f"{seconds:.0f} seconds" if seconds < 90 else f"{minutes:.0f} minutes"
        super().__init__(f"Too many tries that were wrong. Wait {words}, then try again.")
