"""A book made by an older Trayward is brought up to date; one made by a newer is left alone."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from random import Random
from typing import Any

import pytest
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, make_url

from tests.contract.telling import every_kind, note, tamper
from tests.postgres import postgres, postgres_url
from trayward.errors import BookError
from trayward.store import SqlBook, open_book
from trayward.store.engine import postgres_engine, sqlite_engine, writing
from trayward.store.migrate import alembic_config, upgrade
from trayward.store.schema import APPLICATION_ID, BOOK_HEAD, CURRENT, ENTRY, PEOPLE, PEOPLE_SETTING, REVISIONS

__all__ = ["postgres", "postgres_url"]


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A place for a book, on each kind of database."""
    if request.param == "sqlite":
        return str(tmp_path / "farm.book")
    address: str = request.getfixturevalue("postgres_url")
    return address


@contextmanager
def _engine(url: str) -> Iterator[Engine]:
    if not url.startswith("postgresql:"):
        Path(url).touch()
    engine = postgres_engine(make_url(url)) if url.startswith("postgresql:") else sqlite_engine(Path(url))
    try:
        yield engine
    finally:
        engine.dispose()


def _migrate(url: str, revision: str) -> None:
    """An empty book of a revision, made by the revisions alone."""
    with _engine(url) as engine, writing(engine, url) as connection:
        upgrade(connection, revision)
        if connection.dialect.name == "sqlite":
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")


def _older_book(url: str, book: SqlBook, revision: str = REVISIONS[0]) -> None:
    """The entries of a book in a book of an older schema, its look-ups left empty."""
    with book.reading() as connection:
        rows = [dict(row._mapping) for row in connection.execute(ENTRY.select().order_by(ENTRY.c.seq))]
    _migrate(url, revision)
    with _engine(url) as engine, writing(engine, url) as connection:
        connection.execute(ENTRY.insert(), rows)
        connection.execute(BOOK_HEAD.update().values(seq=rows[-1]["seq"], hash=rows[-1]["hash"]))


@pytest.fixture
def model(tmp_path: Path) -> Iterator[SqlBook]:
    """A book with every kind of entry, made by today's code."""
    with open_book(tmp_path / "model.book", create=True) as book:
        book.append(every_kind(Random(3), times=2))
        yield book


def _shape(url: str) -> Any:
    """Everything about a database's tables that a program could notice."""
    if not url.startswith("postgresql:"):
        with closing(sqlite3.connect(url)) as connection:
            made = connection.execute("SELECT type, name, tbl_name, sql FROM sqlite_master").fetchall()
        return sorted((kind, name, table, " ".join((sql or "").split())) for kind, name, table, sql in made)
    import psycopg

    queries = (
        "SELECT table_name, column_name, data_type, is_nullable, column_default FROM information_schema.columns "
        "WHERE table_schema = 'public' ORDER BY table_name, ordinal_position",
        "SELECT indexdef FROM pg_indexes WHERE schemaname = 'public' ORDER BY indexname",
        "SELECT conname, pg_get_constraintdef(oid) FROM pg_constraint WHERE connamespace = 'public'::regnamespace "
        "ORDER BY conname",
        "SELECT pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal ORDER BY tgname",
        "SELECT proname, prosrc FROM pg_proc WHERE pronamespace = 'public'::regnamespace ORDER BY proname",
    )
    with psycopg.connect(url) as connection:
        return [connection.execute(query).fetchall() for query in queries]


def test_the_revisions_known_are_the_revisions_there_are() -> None:
    script = ScriptDirectory.from_config(alembic_config())
    found = [revision.revision for revision in script.walk_revisions()]
    assert tuple(reversed(found)) == REVISIONS


def test_a_new_books_tables_are_those_the_revisions_give(url: str, tmp_path: Path) -> None:
    open_book(url, create=True).close()
    made_at_once = _shape(url)
    if url.startswith("postgresql:"):
        import psycopg

        with psycopg.connect(url, autocommit=True) as connection:
            connection.execute("DROP SCHEMA public CASCADE")
            connection.execute("CREATE SCHEMA public")
    else:
        url = str(tmp_path / "by-revisions.book")
    _migrate(url, "head")
    assert _shape(url) == made_at_once


@pytest.mark.parametrize("revision", REVISIONS[:-1])
def test_an_older_book_is_brought_up_to_date_and_is_the_same_book(url: str, model: SqlBook, revision: str) -> None:
    _older_book(url, model, revision)
    with open_book(url) as book:
        assert list(book.rows()) == list(model.rows())
        assert book.projection_bytes() == model.projection_bytes()
        assert book.verify() == []
        assert book.append([note("afterwards")])[0].seq == model.head().seq + 1
        book.keep_worked_out("spreads", b"figures")
        assert book.worked_out("spreads") == b"figures"
        with book.writing() as connection:
            for table in PEOPLE:
                assert connection.execute(table.select()).all() == []
            connection.execute(PEOPLE_SETTING.insert().values(name="lock_minutes", value=3))


def test_a_copy_of_the_older_book_is_kept_beside_it(tmp_path: Path, model: SqlBook) -> None:
    path = tmp_path / "farm.book"
    _older_book(str(path), model)
    (tmp_path / "farm.book.schema-0001").write_text("of an earlier try")
    open_book(path).close()
    with closing(sqlite3.connect(tmp_path / "farm.book.schema-0001-2")) as copy:
        assert copy.execute("SELECT version_num FROM alembic_version").fetchall() == [("0001",)]
        assert copy.execute("SELECT count(*) FROM entry").fetchone() == (model.head().seq,)
    assert (tmp_path / "farm.book.schema-0001").read_text() == "of an earlier try"


def test_a_migration_that_fails_leaves_the_older_book_as_it_was(
    url: str, model: SqlBook, monkeypatch: pytest.MonkeyPatch
) -> None:
    _older_book(url, model)
    before = _shape(url)

    def fail(connection: object) -> None:
        raise BookError("the lights went out")

    with monkeypatch.context() as patched:
        patched.setattr("trayward.store.opening.rebuild_projections", fail)
        with pytest.raises(BookError, match="the lights went out"):
            open_book(url)
    assert _shape(url) == before
    with open_book(url) as book:
        assert list(book.rows()) == list(model.rows())


def test_a_newer_book_is_refused_and_not_touched(url: str) -> None:
    with open_book(url, create=True) as book:
        book.append([note("a")])
    tamper(url, "UPDATE alembic_version SET version_num = '0099'")
    with pytest.raises(BookError, match=rf"a newer Trayward made it \(schema 0099; this one knows up to {CURRENT}\)"):
        open_book(url)
    tamper(url, f"UPDATE alembic_version SET version_num = '{CURRENT}'")
    with open_book(url) as book:
        assert book.head().seq == 1


def test_opening_a_current_book_loads_neither_alembic_nor_the_mapper(tmp_path: Path) -> None:
    """Start-up stays light: `trayward round` is asked for in the morning, at the rack."""
    open_book(tmp_path / "farm.book", create=True).close()
    program = (
        "import sys; from trayward.store import open_book; book = open_book(sys.argv[1]); book.head(); book.close(); "
        "print([name for name in ('alembic', 'sqlalchemy.orm', 'psycopg', 'numpy') if name in sys.modules])"
    )
    command = [sys.executable, "-c", program, str(tmp_path / "farm.book")]
    assert subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip() == "[]"
