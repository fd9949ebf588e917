"""Log-in tries held back: after some wrong ones the next waits, twice as long each time. A restart forgets none.

A leaking bucket for each name and each address: a try pours one in before it is looked at, so that many at once do not
slip through; every ten quiet minutes let one out again. In a full bucket the next try waits. NIST SP 800-63B asks that
wrong tries in a row be held to 100 at most before something else has to be done (from memory); with the waits below
nobody makes more than about as many in a day against one name.
"""

from __future__ import annotations

from datetime import datetime
from hashlib import sha256
from ipaddress import IPv6Address, ip_address
from typing import NamedTuple

from sqlalchemy import Connection, select

from trayward.store.chain import to_microseconds
from trayward.store.people.types import WaitError
from trayward.store.schema import LOGIN_TRY

SECOND = 1_000_000
FIRST_WAIT_S = 15
"""How long the first try beyond a full bucket waits. [s]"""
LONGEST_WAIT_S = 15 * 60
"""How long any waits at most: nobody can lock somebody else out for good. [s]"""
LEAK_S = 10 * 60
"""Quiet time after which one wrong try is forgotten. [s]"""


class Bucket(NamedTuple):
    """Whose tries are counted together, and how many are free."""

    whose: str
    free: int


def buckets(name_key: str, address: str) -> tuple[Bucket, Bucket]:
    """Those of a name and of an address. Only a hash of the name is kept: a password typed in its place must not be."""
    hashed = sha256(name_key.encode()).hexdigest()[:32]
    # Behind one address of a home or a farm sit many phones.
    return Bucket(f"name:{hashed}", 5), Bucket(f"address:{_network(address)}", 20)


def take(connection: Connection, taken_from: tuple[Bucket, ...], at: datetime) -> None:
    """Count a try before it is looked at. Raises `WaitError`, and counts nothing, where it has to wait."""
    moment = to_microseconds(at)
    levels = [_level(connection, bucket, moment) for bucket in taken_from]
    wait = max(free - moment for _, free in levels)
    if wait > 0:
        raise WaitError(wait / SECOND)
    for bucket, (wrong, _) in zip(taken_from, levels, strict=True):
        _keep(connection, bucket.whose, wrong + 1, moment + _wait(wrong + 1 - bucket.free))


def give_back(connection: Connection, bucket: Bucket, at: datetime) -> None:
    """A try was right: it does not count. What was wrong before still does, or one's own name would wash all tries."""
    where = LOGIN_TRY.c.whose == bucket.whose
    row = connection.execute(select(LOGIN_TRY).where(where)).first()
    if row is not None:
        kept = {"wrong": max(0, row.wrong - 1), "free": min(row.free, to_microseconds(at))}
        connection.execute(LOGIN_TRY.update().where(where).values(**kept))


def empty(connection: Connection, bucket: Bucket) -> None:
    """A name's right password was given: its wrong tries are forgotten."""
    connection.execute(LOGIN_TRY.delete().where(LOGIN_TRY.c.whose == bucket.whose))


def forget_old(connection: Connection, at: datetime) -> None:
    """Throw away buckets that have run empty by now, as most have after a day."""
    connection.execute(LOGIN_TRY.delete().where(LOGIN_TRY.c.free < to_microseconds(at) - 86_400 * SECOND))


def _level(connection: Connection, bucket: Bucket, moment: int) -> tuple[int, int]:
    """Wrong tries that still count, and the moment from which the next is let through. [-], [us]"""
    row = connection.execute(select(LOGIN_TRY).where(LOGIN_TRY.c.whose == bucket.whose)).first()
    if row is None:
        return 0, 0
    leaked = max(0, moment - row.free) // (LEAK_S * SECOND)
    return max(0, row.wrong - leaked), row.free


def _wait(beyond: int) -> int:
    """Microseconds until the next try, with so many beyond the free ones."""
    if beyond < 0:
        return 0
    return min(FIRST_WAIT_S << min(beyond, 20), LONGEST_WAIT_S) * SECOND


def _keep(connection: Connection, whose: str, wrong: int, free: int) -> None:
    connection.execute(LOGIN_TRY.delete().where(LOGIN_TRY.c.whose == whose))
    connection.execute(LOGIN_TRY.insert().values(whose=whose, wrong=wrong, free=free))


def _network(address: str) -> str:
    """An address as tries are counted for it: an IPv6 network of 64 bits is one household."""
    try:
        found = ip_address(address)
    except ValueError:
        return sha256(address.encode()).hexdigest()[:32]
    if isinstance(found, IPv6Address):
        if found.ipv4_mapped is not None:
            return str(found.ipv4_mapped)
        return f"{IPv6Address(int(found) >> 64 << 64)}/64"
    return str(found)
