"""Copies of a book, made while others use it."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from itertools import islice
from pathlib import Path
from typing import Any

from sqlalchemy import Engine

from trayward.errors import BookError
from trayward.store.engine import sqlite_engine, writing
from trayward.store.files import new_file, sync
from trayward.store.pen import Pen, prepare_canonical
from trayward.store.projections import PAGE
from trayward.store.schema import create_schema
from trayward.store.trouble import plain_words


def copy_book(rows: Callable[[], Iterator[Any]], engine: Engine, name: str, target: Path) -> None:
    """
    Copy a book to a new SQLite file that can be opened and verified like any other.

    Parameters
    ----------
    rows : callable
        Gives the book's rows of (seq, canonical, hash) in order.
    engine, name : Engine, str
        The book's database and what people call it.
    target : Path
        The new file. Raises `BookError` if there is something already.
    """
    with new_file(target) as part:
        if engine.dialect.name == "sqlite":
            copy_sqlite(engine, name, part)
        else:
            _write_out(rows(), part)
        _make_one_file(part)


def copy_sqlite(engine: Engine, name: str, part: Path) -> None:
    """The whole database in one look, by SQLite's own backup; writers go on meanwhile."""
    with plain_words(name), engine.connect() as connection, closing(sqlite3.connect(part)) as copy:
        source: Any = connection.connection.dbapi_connection
        source.backup(copy)


def _write_out(rows: Iterator[Any], part: Path) -> None:
    """A PostgreSQL book said again, entry by entry, into an SQLite book: the same numbers and hashes."""
    engine = sqlite_engine(part)
    try:
        with writing(engine, str(part)) as connection:
            create_schema(connection)
            pen = Pen(connection)
            while page := list(islice(rows, PAGE)):
                _say_again(pen, page)
    finally:
        engine.dispose()


def _say_again(pen: Pen, page: list[Any]) -> None:
    kept = pen.keep([prepare_canonical(row.canonical.encode()) for row in page])
    pen.flush()
    pen.forget_known()
    for row, one in zip(page, kept, strict=True):
        if row.hash != one.hash:
            raise BookError(f"Entry {row.seq}: its hash is not right, so no copy was made. See: book verify")


def _make_one_file(part: Path) -> None:
    """Leave no write-ahead log beside the copy, so that the one file is all of it, and wait for the disk."""
    with plain_words(str(part)), closing(sqlite3.connect(part, isolation_level=None)) as copy:
        copy.execute("PRAGMA journal_mode = DELETE").close()
    sync(part)
