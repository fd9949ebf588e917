"""A whole book moved from one database to another, with proof that nothing differs.

The target is written in one transaction: whatever breaks a move off leaves nothing of it there, so the way on is to
say it again. The old book is held for writing as long as the move takes, and refuses to be written to afterwards, so
that a server that still runs on it cannot go on writing where nobody will look.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import msgspec
from sqlalchemy import URL, Connection

from trayward.errors import BookError, without_password
from trayward.store.backup import make_one_file
from trayward.store.book import SqlBook
from trayward.store.copying import BookMark, Watch, copy_tables, differences, holds_nothing, mark_of
from trayward.store.engine import postgres_engine, sqlite_engine, writing
from trayward.store.files import new_file
from trayward.store.opening import place_of, revision_of
from trayward.store.schema import CURRENT, ENTRY, PERSON, PHOTO, SENSOR_READING, TOKEN, create_schema
from trayward.store.trouble import MOVED

SHUT = (ENTRY, PHOTO, SENSOR_READING, PERSON, TOKEN)
"""Tables that take nothing more once a book has moved. Who is logged in may still look."""


class Proof(msgspec.Struct, frozen=True, kw_only=True):
    """What was compared after a move or of two books, and what differed."""

    source: str
    target: str
    mark: BookMark
    """Of the source."""
    differs: tuple[str, ...] = ()
    closed: bool = False
    """Whether the old book refuses to be written to from now on."""

    @property
    def same(self) -> bool:
        """Whether nothing differs."""
        return not self.differs


def move_book(source: SqlBook, target: str, *, close: bool = True, watch: Watch | None = None) -> Proof:
    """
    Copy all of a book into a new place, compare every row, and then close the old one to writing.

    Parameters
    ----------
    source : SqlBook
        The old book. Others may read it meanwhile; who writes waits, and is told to try again after half a minute.
    target : str
        A file that does not exist, or the address of a PostgreSQL database with no book in it.
    close : bool
        Have the old book refuse whatever is said to it afterwards. False: it stays as it is, and this is a copy.
    watch : callable, optional
        Told after each page.

    Raises
    ------
    BookError
        If there is something in the target, the chain of the old book does not hold, or anything differs afterwards:
        then nothing is left in the target and the old book is as it was.
    """
    shown = without_password(target)
    with source.writing() as old:
        _require_open(old, source.name)
        with _new_place(target) as new:
            copy_tables(old, new, watch)
            mark = mark_of(old, watch)
            differs = tuple(differences(mark, mark_of(new, watch)))
            if differs:
                raise BookError(
                    f"Book {shown}: what was copied differs ({'; '.join(differs)}). Nothing was kept there."
                )
        # Only now, with the new one safe on its disk: between the two both are whole and nothing is lost.
        if close:
            _shut(old, shown)
    return Proof(source=source.name, target=shown, mark=mark, closed=close)


def compare_books(one: SqlBook, other: SqlBook, watch: Watch | None = None) -> Proof:
    """Compare two books row by row; both are only read, each in one look."""
    with _one_look(one) as first, _one_look(other) as second:
        mark = mark_of(first, watch)
        return Proof(
            source=one.name, target=other.name, mark=mark, differs=tuple(differences(mark, mark_of(second, watch)))
        )


@contextmanager
def _one_look(book: SqlBook) -> Iterator[Connection]:
    with book.reading() as connection:
        if connection.dialect.name == "postgresql":
            connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
        yield connection


# The new place --------------------------------------------------------------------------------------------------------


@contextmanager
def _new_place(target: str) -> Iterator[Connection]:
    """A transaction in an empty book; whole at the end or not there at all."""
    path = place_of(target)
    if isinstance(path, URL):
        with _emptied(path, without_password(target)) as connection:
            yield connection
        return
    _sweep(path)
    with new_file(path) as part:
        engine = sqlite_engine(part)
        try:
            with writing(engine, str(path)) as connection:
                create_schema(connection)
                yield connection
        finally:
            engine.dispose()
        make_one_file(part)


@contextmanager
def _emptied(address: URL, name: str) -> Iterator[Connection]:
    engine = postgres_engine(address)
    try:
        with writing(engine, name) as connection:
            revision = revision_of(connection, name)
            if revision is None:
                create_schema(connection)
            elif revision != CURRENT or not holds_nothing(connection):
                raise BookError(f"Book {name}: there is a book already. Nothing was touched; name an empty database.")
            yield connection
    finally:
        engine.dispose()


def _sweep(path: Path) -> None:
    """Take away what a move that was killed left: an empty file of the name, and its unfinished part."""
    if path.is_file() and path.stat().st_size == 0:
        for left in path.parent.glob(f"{path.name}*.part*"):
            left.unlink(missing_ok=True)
        path.unlink()


# The old one ----------------------------------------------------------------------------------------------------------


def _shut(connection: Connection, where: str) -> None:
    told = f"{MOVED} to {where}".replace("'", "''")
    if connection.dialect.name == "postgresql":
        # The driver takes a percent sign for a place to fill in, so each stands twice.
        connection.exec_driver_sql(
            "CREATE OR REPLACE FUNCTION book_moved() RETURNS trigger LANGUAGE plpgsql AS $moved$ "
            f"BEGIN RAISE EXCEPTION USING MESSAGE = '{told.replace('%', '%%')}'; END $moved$"
        )
    for table in SHUT:
        name = f"{table.name}_moved"
        if connection.dialect.name == "postgresql":
            connection.exec_driver_sql(
                f"CREATE TRIGGER {name} BEFORE INSERT ON {table.name} FOR EACH STATEMENT EXECUTE FUNCTION book_moved()"
            )
        else:
            connection.exec_driver_sql(
                f"CREATE TRIGGER {name} BEFORE INSERT ON {table.name} BEGIN SELECT RAISE(ABORT, '{told}'); END"
            )


def _shut_tables(connection: Connection) -> list[str]:
    postgres = connection.dialect.name == "postgresql"
    query = "SELECT tgname FROM pg_trigger" if postgres else "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    there = set(connection.exec_driver_sql(query).scalars())
    return [table.name for table in SHUT if f"{table.name}_moved" in there]


def _require_open(connection: Connection, name: str) -> None:
    if _shut_tables(connection):
        raise BookError(f"Book {name}: it has moved already. Move from where it is now, or say: trayward book reopen")


def reopen_book(book: SqlBook) -> bool:
    """Let a book that has moved be written to again; gives whether it was closed."""
    with book.writing() as connection:
        shut = _shut_tables(connection)
        for table in shut:
            on = f" ON {table}" if connection.dialect.name == "postgresql" else ""
            connection.exec_driver_sql(f"DROP TRIGGER {table}_moved{on}")
    return bool(shut)
