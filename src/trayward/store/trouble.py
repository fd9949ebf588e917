"""What the databases say when something is wrong, once more in plain words and with a way out."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from trayward.errors import BookError

RESTORE = "Restore the newest backup; until then keep the damaged one, much of it can still be read."

SAYINGS = (
    (
        ("database or disk is full", "No space left on device", "could not extend file"),
        "the disk is full. Nothing of this was kept and the book is whole. Make room and say it again.",
    ),
    (
        ("disk I/O error",),
        "the disk does not take or give what is asked (full, at a size limit, or failing). Nothing of this was kept. "
        "Make room, look after the disk, and say it again.",
    ),
    (
        ("malformed", "not a database", "database corruption", "missing chunk", "invalid page"),
        f"the file is damaged or cut short. {RESTORE}",
    ),
    (
        ("readonly database", "read-only transaction", "permission denied"),
        "it may not be written to. Give yourself the right to write to it and to its folder.",
    ),
    (
        ("unable to open database file",),
        "the file cannot be opened. Look whether it and its folder are there and yours to write to.",
    ),
    (
        ("append-only",),
        "the database refused to break the log. If this comes back, look it through with: trayward book verify",
    ),
    (
        ("no such table", "no such column", "does not exist"),
        f"something of what a book is made of is missing. {RESTORE}",
    ),
)

UNREACHABLE = (
    "connection to server",
    "connection is bad",
    "connection failed",
    "closed the connection",
    "terminating connection",
    "connection is closed",
    "connection timeout",
    "consuming input failed",
    "resolve host",
)

MOVED = "this book has moved"
"""What the guards of a book say that was moved away from."""

BUSY = ("database is locked", "lock timeout", "database table is locked")


class BusyError(BookError):
    """Somebody else has been writing to the book for too long."""


@contextmanager
def plain_words(name: str) -> Iterator[None]:
    """Turn what a database raises inside into a `BookError` about the book of that name."""
    try:
        yield
    except DBAPIError as err:
        raise _translated(name, str(err.orig)) from err
    except (sqlite3.Error, SQLAlchemyError) as err:
        raise _translated(name, str(err)) from err


def _translated(name: str, said: str) -> BookError:
    if any(word in said for word in BUSY):
        return BusyError(f"Book {name}: somebody else has been writing for too long. Nothing was kept; try again.")
    first_line = said.strip().partition("\n")[0]
    if MOVED in first_line:
        there = first_line.partition(f"{MOVED} to ")[2]
        return BookError(f"Book {name}: it has moved to {there}. Nothing was kept here; say it there.")
    if any(word in said for word in UNREACHABLE):
        # The answer to the last thing said may be what was lost; ids make saying it again safe.
        way_out = "Look whether it runs and the address is right, and say it again: nothing is kept twice"
        return BookError(f"Book {name}: the database cannot be reached ({first_line}). {way_out}.")
    for words, saying in SAYINGS:
        if any(word in said for word in words):
            return BookError(f"Book {name}: {saying}")
    return BookError(f"Book {name}: the database says: {first_line}. Nothing of this was kept.")
