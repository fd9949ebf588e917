"""Entries to fill a book with: notes, strikes, and one of every kind made up from its fields."""

from __future__ import annotations

import sqlite3
import types
import typing
from collections.abc import Sequence
from contextlib import closing
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from random import Random
from typing import Any

import msgspec

from trayward.farm.codec import normal
from trayward.farm.entries import KINDS, Body, Entry, Note, Struck

START = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)

AWKWARD = (
    "",
    "plain",
    "12",
    "null",
    '"quoted"',
    "=1+1",
    "-5",
    "'apostrophe",
    "two\nlines",
    "tail\r",
    "comma, semicolon; tab\t",
    "Gemüse, Łódź, 豆苗, 🌱",
    "{}",
    " spaces ",
    "NUL \0 inside",
)
"""Texts that files and databases have been known to change."""


def entry(name: str, body: Body, minutes: float = 0.0, by: str = "Mo") -> Entry:
    """An entry that happened so many minutes after `START` and was said then."""
    at = START + timedelta(minutes=minutes)
    return Entry(id=f"device-{name}", at=at, recorded=at, by=by, body=body)


def note(name: str, minutes: float = 0.0, *about: str, text: str = "looks well") -> Entry:
    return entry(name, Note(text=text, about=about), minutes)


def strike(name: str, target: str, minutes: float = 0.0) -> Entry:
    return entry(name, Struck(entry=f"device-{target}", reason="typed twice"), minutes)


def ids(entries: Sequence[Any] | Any) -> list[str]:
    """The names given to `entry` of entries or kept entries."""
    found = [getattr(one, "entry", one).id for one in entries]
    return [identity.removeprefix("device-") for identity in found]


def every_kind(random: Random, times: int = 1) -> list[Entry]:
    """Entries of every kind there is, with made-up bodies of awkward texts and numbers."""
    bodies = [_made_up(body, random) for _ in range(times) for body in KINDS.values()]
    return [normal(entry(f"{number:06d}", body, random.randint(0, 5000))) for number, body in enumerate(bodies)]


def _made_up(kind: Any, random: Random) -> Any:
    """A value of a type, by looking at the type."""
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if origin is typing.Literal:
        return random.choice(arguments)
    if origin in (typing.Union, types.UnionType):
        return _made_up(random.choice(arguments), random)
    if origin is tuple:
        wanted = arguments[:1] * random.randint(0, 3) if arguments[-1] is Ellipsis else arguments
        return tuple(_made_up(part, random) for part in wanted)
    if origin is dict:
        return {_made_up(arguments[0], random): _made_up(arguments[1], random) for _ in range(2)}
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        return kind(**{field.name: _made_up(field.type, random) for field in msgspec.structs.fields(kind)})
    return _PLAIN[kind](random)


_PLAIN = {
    # A name with NUL cannot be looked up on PostgreSQL and is refused; a text that is no name may hold it.
    str: lambda random: random.choice(AWKWARD[:-1]) + str(random.randint(0, 99)) * random.randint(0, 1),
    int: lambda random: random.randint(-5, 10**9),
    float: lambda random: random.choice([0.0, -0.0, 0.1 + 0.2, 1e-7, 1e22, 20.0, random.random()]),
    Decimal: lambda random: Decimal(
        random.choice(["0", "-0.00", "1.50", "0.1", "1E+3", "12345678901234567890.123456789"])
    ),
    bool: lambda random: random.random() < 0.5,
    type(None): lambda _: None,
    date: lambda random: date(2026, 1, 1) + timedelta(days=random.randint(0, 700)),
    time: lambda random: time(random.randint(0, 23), random.randint(0, 59)),
    datetime: lambda random: START + timedelta(seconds=random.randint(0, 10**6)),
    msgspec.Raw: lambda _: msgspec.Raw(b'{"b": [1, 2.50, "\\u00fc"], "a": null}'),
}


def tamper(url: str, *statements: str) -> None:
    """Do to a book's database what no book does, guards taken away first; on both kinds of database."""
    if url.startswith("postgresql:"):
        import psycopg

        with psycopg.connect(url, autocommit=True) as connection:
            # The role of a replica: neither triggers nor foreign keys are looked at.
            connection.execute("SET session_replication_role = replica")
            for statement in statements:
                connection.execute(statement)
        return
    with closing(sqlite3.connect(url, isolation_level=None)) as connection:
        guards = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        put_back = [sql for _, sql in guards]
        for name, _ in guards:
            connection.execute(f"DROP TRIGGER {name}")
        for statement in (*statements, *put_back):
            connection.execute(statement)


def say(url: str, statement: str) -> None:
    """Run one statement as any program could, with the guards on."""
    if url.startswith("postgresql:"):
        import psycopg

        with psycopg.connect(url, autocommit=True) as connection:
            connection.execute(statement)
        return
    with closing(sqlite3.connect(url, isolation_level=None)) as connection:
        connection.execute(statement)
