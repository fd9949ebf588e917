"""Figures kept for speed, each under a name, so that a new process need not work them out again."""

from __future__ import annotations

from sqlalchemy import Connection, select

from trayward.desk.backups import NAME
from trayward.store.schema import WORKED_OUT


def find_worked_out(connection: Connection, name: str) -> bytes | None:
    """What was kept under the name; None where nothing was."""
    found = connection.scalar(select(WORKED_OUT.c.value).where(WORKED_OUT.c.name == name))
    return None if found is None else bytes(found)


def replace_worked_out(connection: Connection, name: str, value: bytes) -> None:
    """Keep it in place of what was there; the caller holds the writers' lock, so nobody comes in between."""
    connection.execute(WORKED_OUT.delete().where(WORKED_OUT.c.name == name))
    connection.execute(WORKED_OUT.insert().values(name=name, value=value))


def forget_worked_out(connection: Connection) -> None:
    """Throw all of it away but what is known of backups, which no program can work out again."""
    connection.execute(WORKED_OUT.delete().where(WORKED_OUT.c.name != NAME))
