"""Connections to a book's database, set so that what is acknowledged is on the disk."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.pool import QueuePool

from trayward.errors import BookError
from trayward.store.trouble import plain_words
from trayward.store.waiting import waiting_for

WAIT_S = 30
"""How long a writer waits for another before giving up. [s]"""

SHORTLY_S = 0.2
"""How long a writer waits whose words need not be kept: less than working them out again would take. [s]"""

WRITERS_LOCK = 0x54524159
"""Key of PostgreSQL's advisory lock: one writer at a time, so numbers have no gaps and follow the order of keeping."""

BEGIN = "trayward_begin"
"""Name of the execution option that says how SQLite is to begin."""

PRAGMAS = (
    f"busy_timeout = {WAIT_S * 1000}",
    "foreign_keys = ON",
    # With a write-ahead log FULL makes every commit wait for the disk; NORMAL would lose the last ones to a power cut.
    "synchronous = FULL",
    # Without it INSERT OR REPLACE would remove rows behind the guards' back.
    "recursive_triggers = ON",
)


def sqlite_engine(path: Path) -> Engine:
    """An engine over an existing file; never makes one."""
    return _sqlite_engine(f"{path.absolute().as_uri()}?mode=rw", _pool())


def memory_engine() -> Engine:
    """An engine over a database in memory, gone when it is closed: for a try, a test, or simulated time.

    All share the one connection, each waiting for its turn.
    """
    return _sqlite_engine("file::memory:", {**_pool(), "pool_size": 1, "max_overflow": 0})


def _sqlite_engine(address: str, pool: dict[str, Any]) -> Engine:
    def connect() -> sqlite3.Connection:
        # No isolation level: otherwise the driver would begin and commit where it sees fit, and tables would escape
        # a rollback.
        connection = sqlite3.connect(address, uri=True, isolation_level=None, check_same_thread=False)
        for pragma in PRAGMAS:
            connection.execute(f"PRAGMA {pragma}").close()
        return connection

    engine = create_engine("sqlite://", creator=connect, **pool)
    event.listen(engine, "begin", _begin_as_told)
    return engine


def postgres_engine(url: URL) -> Engine:
    """An engine over a PostgreSQL database; `BookError` if the driver is not installed."""
    try:
        engine = create_engine(url.set(drivername="postgresql+psycopg"), pool_pre_ping=True, **_pool())
    except ImportError as err:
        raise BookError('PostgreSQL needs its driver. Install it: pip install "trayward[postgres]"') from err
    event.listen(engine, "connect", _set_session)
    return engine


@contextmanager
def reading(engine: Engine, name: str) -> Iterator[Connection]:
    """A connection for a short look."""
    with plain_words(name), engine.connect() as connection:
        yield connection


@contextmanager
def writing(engine: Engine, name: str) -> Iterator[Connection]:
    """A transaction that holds the writers' lock from its first moment; kept whole at the end, or not at all."""
    at_once = {BEGIN: "BEGIN IMMEDIATE"}
    with plain_words(name), engine.connect().execution_options(**at_once) as connection:
        with waiting_for(name):
            begun = connection.begin()
        with begun:
            if connection.dialect.name == "postgresql":
                with waiting_for(name):
                    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITERS_LOCK})")
            yield connection


@contextmanager
def writing_shortly(engine: Engine, name: str) -> Iterator[Connection]:
    """As `writing`, but gives up with `BusyError` after `SHORTLY_S` where somebody else holds the lock."""
    at_once = {BEGIN: "BEGIN IMMEDIATE"}
    with plain_words(name), engine.connect().execution_options(**at_once) as connection:
        if connection.dialect.name == "postgresql":
            with connection.begin():
                # LOCAL: gone with the transaction, so the next who takes this connection waits as long as ever.
                connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{SHORTLY_S * 1000:.0f}ms'")
                connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITERS_LOCK})")
                yield connection
        else:
            with _impatient(connection), connection.begin():
                yield connection


@contextmanager
def _impatient(connection: Connection) -> Iterator[None]:
    """SQLite's wait cut short on one connection, and put back, as others take the connection afterwards."""
    raw: Any = connection.connection.dbapi_connection
    (usual,) = raw.execute("PRAGMA busy_timeout").fetchone()
    raw.execute(f"PRAGMA busy_timeout = {SHORTLY_S * 1000:.0f}").close()
    try:
        yield
    finally:
        raw.execute(f"PRAGMA busy_timeout = {usual}").close()


def _pool() -> dict[str, Any]:
    return {"poolclass": QueuePool, "pool_size": 8, "max_overflow": 56, "pool_timeout": 2 * WAIT_S}


def _begin_as_told(connection: Connection) -> None:
    connection.exec_driver_sql(connection.get_execution_options().get(BEGIN, "BEGIN"))


def _set_session(connection: Any, record: object) -> None:
    del record
    with connection.cursor() as cursor:
        cursor.execute(f"SET lock_timeout = '{WAIT_S}s'")
        # A server may be set to acknowledge before the disk has it; a book may not.
        cursor.execute("SET synchronous_commit = on")
        cursor.execute("SET timezone = 'UTC'")
    connection.commit()
