"""Copies of a book, made while others use it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

from sqlalchemy import Engine

from trayward.store.copying import copy_tables
from trayward.store.engine import sqlite_engine, writing
from trayward.store.files import new_file, sync
from trayward.store.schema import create_schema
from trayward.store.trouble import plain_words


def copy_book(engine: Engine, name: str, target: Path) -> None:
    """
    Copy a book to a new SQLite file that can be opened and verified like any other.

    Parameters
    ----------
    engine, name : Engine, str
        The book's database and what people call it.
    target : Path
        The new file. Raises `BookError` if there is something already, or if an entry's hash is not right.
    """
    with new_file(target) as part:
        if engine.dialect.name == "sqlite":
            copy_sqlite(engine, name, part)
        else:
            _copy_postgres(engine, name, part)
        make_one_file(part)


def copy_sqlite(engine: Engine, name: str, part: Path) -> None:
    """The whole database in one look, by SQLite's own backup; writers go on meanwhile."""
    with plain_words(name), engine.connect() as connection, closing(sqlite3.connect(part)) as copy:
        source: Any = connection.connection.dbapi_connection
        source.backup(copy)


def _copy_postgres(engine: Engine, name: str, part: Path) -> None:
    """Every table there is, all of one moment, row by row; writers go on meanwhile."""
    copy = sqlite_engine(part)
    whole = {"isolation_level": "REPEATABLE READ"}
    try:
        with (
            plain_words(name),
            engine.connect().execution_options(**whole) as connection,
            writing(copy, str(part)) as target,
        ):
            create_schema(target)
            copy_tables(connection, target)
    finally:
        copy.dispose()


def make_one_file(part: Path) -> None:
    """Leave no write-ahead log beside the copy, so that the one file is all of it, and wait for the disk."""
    with plain_words(str(part)), closing(sqlite3.connect(part, isolation_level=None)) as copy:
        copy.execute("PRAGMA journal_mode = DELETE").close()
    sync(part)
