"""Copies of a book, made while others use it."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Engine

from trayward.errors import BookError
from trayward.store.projections import PAGE
from trayward.store.trouble import plain_words

if TYPE_CHECKING:
    from trayward.store.book import SqlBook


def copy_book(book: SqlBook, engine: Engine, target: Path) -> None:
    """Copy a book to a new SQLite file that can be opened and verified like any other."""
    with new_file(target) as part:
        if engine.dialect.name == "sqlite":
            copy_sqlite(engine, book.name, part)
        else:
            _write_out(book, part)
        _make_one_file(part)


def copy_sqlite(engine: Engine, name: str, part: Path) -> None:
    """The whole database in one look, by SQLite's own backup; writers go on meanwhile."""
    with plain_words(name), engine.connect() as connection, closing(sqlite3.connect(part)) as copy:
        source: Any = connection.connection.dbapi_connection
        source.backup(copy)


def _write_out(book: SqlBook, part: Path) -> None:
    """A PostgreSQL book said again, entry by entry, into an SQLite book: the same numbers and hashes."""
    from trayward.store.opening import open_book
    from trayward.store.pen import Pen, prepare_canonical

    rows = book.rows()
    with open_book(part, create=True) as copy, copy.writing() as connection:
        pen = Pen(connection)
        while page := list(islice(rows, PAGE)):
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


@contextmanager
def new_file(target: Path) -> Iterator[Path]:
    """A file to write into, that becomes `target` when all went well. Refuses a target that is there already."""
    try:
        target.open("xb").close()
    except FileExistsError:
        raise BookError(f"{target}: there is something already. Name a file that does not exist.") from None
    except OSError as err:
        raise BookError(
            f"{target}: cannot be made ({err.strerror}). Name a file in a folder you may write to."
        ) from err
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=target.name, suffix=".part")
    os.close(handle)
    part = Path(name)
    part.chmod(target.stat().st_mode)
    try:
        yield part
        part.replace(target)
        sync(target.parent)
    except BaseException as err:
        for left in (target, part, *(part.with_name(part.name + more) for more in ("-wal", "-shm", "-journal"))):
            left.unlink(missing_ok=True)
        if isinstance(err, OSError):
            raise BookError(f"{target}: cannot be written ({err.strerror}). Make room, or name another.") from err
        raise


def sync(path: Path) -> None:
    """Wait until the disk has it."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
