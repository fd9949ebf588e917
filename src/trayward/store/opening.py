"""Opening a book, making a new one, and telling what is no book at all."""

from __future__ import annotations

import os
from itertools import chain, count
from pathlib import Path
from typing import Literal

from sqlalchemy import URL, Connection, Engine, make_url
from sqlalchemy.exc import ArgumentError

from trayward.errors import BookError, without_password
from trayward.store.backup import copy_sqlite
from trayward.store.book import SqlBook
from trayward.store.engine import memory_engine, postgres_engine, reading, sqlite_engine, writing
from trayward.store.files import new_file, sync
from trayward.store.held import hold, let_go
from trayward.store.projections import rebuild_projections
from trayward.store.schema import APPLICATION_ID, CURRENT, REVISIONS, create_schema
from trayward.store.trouble import RESTORE, plain_words

MAGIC = b"SQLite format 3\0"
HEADER = 100
"""What a SQLite file begins with, which says how large it is (its file format, from memory). [byte]"""

IN_MEMORY = (":memory:", "sqlite://", "sqlite:///:memory:")

TABLES = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'",
    "postgresql": "SELECT tablename FROM pg_tables WHERE schemaname = current_schema()",
}


Create = bool | Literal["if missing"]
"""Whether a new book is begun: never, in any case, or where there is none yet."""


def open_book(url: str | Path, *, create: Create = False) -> SqlBook:
    """
    Open a farm's book, or begin a new one.

    Parameters
    ----------
    url : str or Path
        A file, or an address: `sqlite:///farm.book`, `postgresql://user@host/farm`. `:memory:` begins a book that is
        gone when it is closed, for tests and simulated time.
    create : bool or "if missing"
        Begin a new book. A book that holds entries is never touched; one that was begun but is still empty is taken.
        With "if missing" a book that is there is opened.

    Returns
    -------
    SqlBook
        Close it, or use it in a `with`.

    Raises
    ------
    BookError
        If there is no book, or one already; if it is some other file, or damaged, or cannot be reached or written to;
        if a newer Trayward made it. A book made by an older one is brought up to date, after a copy of it was made
        beside it.
    """
    text = str(url)
    if text in IN_MEMORY:
        return _open_engine(memory_engine(), ":memory:", None, create)
    place = place_of(text)
    if isinstance(place, Path):
        return _open_file(place, create)
    return _open_engine(postgres_engine(place), without_password(text), None, create)


def place_of(text: str) -> Path | URL:
    """The file that somebody names, or the database on a server. Raises `BookError` for any other address."""
    if "://" not in text:
        return Path(text)
    address = _address(text)
    backend = address.get_backend_name()
    if backend == "sqlite" and address.database:
        return Path(address.database)
    if backend == "postgresql":
        return address
    rule = "a book is kept in a file or on PostgreSQL. Give postgresql://user@host/database."
    raise BookError(f"Book {without_password(text)}: {rule}")


def _address(text: str) -> URL:
    """An address taken apart. What SQLAlchemy says of a bad one may hold the password, so it goes no further."""
    try:
        address = make_url(text)
        address.get_backend_name()
    except (ArgumentError, ValueError):
        rule = "not an address. Give a file, or postgresql://user@host/database."
        raise BookError(f"Book {without_password(text)}: {rule}") from None
    if "@" in (address.host or ""):
        rule = "more than one @ stands before the host. Write one in a password as %40, or leave the password out."
        raise BookError(f"Book {without_password(text)}: {rule}")
    return address


# Files ----------------------------------------------------------------------------------------------------------------


def _open_file(path: Path, create: Create) -> SqlBook:
    _require_folder(path)
    if create and not path.exists():
        path.touch(exist_ok=True)
        # The folder's mention of the file must survive a power cut as well.
        sync(path.parent)
    held = hold(path, lambda: _require_book_file(path, create))
    try:
        book = _open_engine(sqlite_engine(path), str(path), path, create)
    except BaseException:
        let_go(held)
        raise
    book.held = held
    return book


def _require_folder(path: Path) -> None:
    if not path.parent.is_dir():
        raise BookError(f"Book {path}: there is no folder {path.parent}. Make it first, or name another.")
    if path.is_dir():
        raise BookError(f"Book {path}: this is a folder. Name a file in it.")
    for needed in (path.parent, path):
        # The folder too: SQLite keeps its log beside the file.
        if needed.exists() and not os.access(needed, os.W_OK, effective_ids=os.access in os.supports_effective_ids):
            raise BookError(
                f"Book {path}: {needed} may not be written to. Give yourself the right to write to it, or name another."
            )


def _require_book_file(path: Path, create: Create) -> None:
    """Look at the file itself before SQLite does: SQLite would take much for a database that is not ours."""
    if not path.exists():
        raise BookError(f"Book {path}: there is no such file. Begin one with: trayward init")
    with path.open("rb") as file:
        start = file.read(len(MAGIC))
    if not start and not create:
        raise BookError(f"Book {path}: the file is empty, there is no book in it. {RESTORE}")
    if start and start != MAGIC:
        raise BookError(
            f"Book {path}: this is no book but some other file, or the book is damaged. It was not touched."
        )
    _require_whole_file(path)


def _require_whole_file(path: Path) -> None:
    """Notice a file that was cut short. With a write-ahead log beside it the rest may be in there: SQLite will see."""
    log = path.with_name(path.name + "-wal")
    if path.stat().st_size == 0 or (log.exists() and log.stat().st_size):
        return
    there, wanted = sizes(path)
    if there < wanted:
        raise BookError(f"Book {path}: the file is cut short, {there} of {wanted} bytes are there. {RESTORE}")


def sizes(path: Path) -> tuple[int, int]:
    """How many bytes a SQLite file has, and how many it says it has in its header. [byte]"""
    with path.open("rb") as file:
        header = file.read(HEADER)
    page = int.from_bytes(header[16:18], "big")
    told = int.from_bytes(header[28:32], "big") * (65536 if page == 1 else page)
    return path.stat().st_size, max(told, HEADER)


# Any database ---------------------------------------------------------------------------------------------------------


def _open_engine(engine: Engine, name: str, path: Path | None, create: Create) -> SqlBook:
    try:
        with reading(engine, name) as connection:
            revision = revision_of(connection, name)
            if create is True and revision is not None:
                _require_empty(connection, name)
        if path is not None and (create or revision is not None):
            _turn_on_log(engine, name)
        if revision is None:
            _begin(engine, name, create)
        elif revision != CURRENT:
            _bring_up_to_date(engine, name, path, revision)
        return SqlBook(engine, name, path)
    except BaseException:
        engine.dispose()
        raise


def _require_empty(connection: Connection, name: str) -> None:
    entries = connection.exec_driver_sql("SELECT count(*) FROM entry").scalar()
    if entries:
        raise BookError(f"Book {name}: there is a book already, with {entries} entries. Open it, or name another.")


def _turn_on_log(engine: Engine, name: str) -> None:
    """A write-ahead log: readers and a writer do not wait for each other. Stays set in the file."""
    with plain_words(name):
        connection = engine.raw_connection()
        try:
            connection.cursor().execute("PRAGMA journal_mode = WAL").close()
        finally:
            connection.close()


def _bring_up_to_date(engine: Engine, name: str, path: Path | None, revision: str) -> None:
    """In one transaction; a file is copied first, so that an older Trayward can still read the copy."""
    from trayward.store.migrate import upgrade

    if path is not None:
        with new_file(_free_name(path, revision)) as part:
            copy_sqlite(engine, name, part)
    with writing(engine, name) as connection:
        # Somebody else may have done it while we waited for the lock.
        if revision_of(connection, name) != CURRENT:
            upgrade(connection)
            rebuild_projections(connection)


def _free_name(path: Path, revision: str) -> Path:
    first = path.with_name(f"{path.name}.schema-{revision}")
    names = chain([first], (first.with_name(f"{first.name}-{number}") for number in count(2)))
    return next(name for name in names if not name.exists())


def _tables(connection: Connection) -> set[str]:
    return set(connection.exec_driver_sql(TABLES[connection.dialect.name]).scalars())


def revision_of(connection: Connection, name: str) -> str | None:
    """The schema of the book in this database; None where there is nothing. `BookError` for something else."""
    tables = _tables(connection)
    if not tables:
        return None
    sqlite = connection.dialect.name == "sqlite"
    marked = not sqlite or connection.exec_driver_sql("PRAGMA application_id").scalar() == APPLICATION_ID
    if not marked or not {"alembic_version", "entry", "book_head", "checkpoint"} <= tables:
        raise BookError(f"Book {name}: this database belongs to some other program. It was not touched; name another.")
    revision = str(connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar())
    if revision not in REVISIONS:
        raise BookError(
            f"Book {name}: a newer Trayward made it (schema {revision}; this one knows up to {CURRENT}). "
            "Nothing was changed; use the newer Trayward."
        )
    return revision


def _begin(engine: Engine, name: str, create: Create) -> None:
    if not create:
        raise BookError(f"Book {name}: there is no book in it yet. Begin one with: trayward init")
    with writing(engine, name) as connection:
        # Somebody else may have begun it while we waited for the lock.
        if revision_of(connection, name) is None:
            create_schema(connection)
