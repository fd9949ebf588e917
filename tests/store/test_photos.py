"""Photos beside the book: kept once, carried by backups and exports, and missed where they are lost."""

from __future__ import annotations

from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

import pytest
from sqlalchemy import text

from tests.contract.telling import entry, note
from tests.postgres import postgres, postgres_url
from trayward.errors import BookError
from trayward.farm.entries import Photo
from trayward.store import SqlBook, open_book
from trayward.store.export import export_csv, export_lines
from trayward.store.importing import import_book

__all__ = ["postgres", "postgres_url"]

PICTURE = b"\xff\xd8\xff" + bytes(range(256)) * 4
"""Bytes like those of a picture; the store does not look into them."""
NAME = sha256(PICTURE).hexdigest()


@pytest.fixture(params=["sqlite", "postgresql"])
def book(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[SqlBook]:
    """A book with a photo of a tray, on each kind of database."""
    url = str(tmp_path / "farm.book") if request.param == "sqlite" else request.getfixturevalue("postgres_url")
    with open_book(url, create=True) as opened:
        opened.append([note("a")])
        assert opened.keep_photo(PICTURE) == NAME
        opened.append([entry("b", Photo(sha256=NAME, about=("tray:S.1",), note="pale"))])
        yield opened


@pytest.fixture
def other(tmp_path: Path) -> Iterator[SqlBook]:
    with open_book(tmp_path / "other.book", create=True) as opened:
        yield opened


def test_a_photo_is_kept_once_and_found_by_its_hash_and_its_tray(book: SqlBook) -> None:
    assert book.keep_photo(PICTURE) == NAME
    assert book.photos() == [NAME]
    assert book.photo(NAME) == PICTURE
    assert book.photo("0" * 64) is None
    assert [kept.entry.body for kept in book.about("tray:S.1")] == [
        kept.entry.body for kept in book.about(f"photo:{NAME}")
    ]
    assert book.verify() == []


def test_a_backup_carries_the_photos(book: SqlBook, tmp_path: Path) -> None:
    book.backup(tmp_path / "copy.book")
    with open_book(tmp_path / "copy.book") as copy:
        assert copy.photo(NAME) == PICTURE
        assert copy.verify() == []


def test_json_lines_and_their_photos_come_back(book: SqlBook, other: SqlBook, tmp_path: Path) -> None:
    assert export_lines(book, tmp_path / "farm.jsonl") == 2
    assert (tmp_path / "farm.jsonl-photos" / f"{NAME}.jpg").read_bytes() == PICTURE
    import_book(other, tmp_path / "farm.jsonl")
    assert other.photo(NAME) == PICTURE
    assert other.verify() == []


def test_sheets_and_their_photos_come_back(book: SqlBook, other: SqlBook, tmp_path: Path) -> None:
    export_csv(book, tmp_path / "sheets")
    assert (tmp_path / "sheets" / "photos" / f"{NAME}.jpg").read_bytes() == PICTURE
    import_book(other, tmp_path / "sheets")
    assert other.photo(NAME) == PICTURE
    assert other.verify() == []


def test_an_export_never_writes_into_photos_that_are_there(book: SqlBook, tmp_path: Path) -> None:
    (tmp_path / "farm.jsonl-photos").mkdir()
    (tmp_path / "farm.jsonl-photos" / "mine.jpg").write_bytes(b"mine")
    with pytest.raises(BookError, match="there is something already"):
        export_lines(book, tmp_path / "farm.jsonl")
    assert not (tmp_path / "farm.jsonl").exists()
    assert [path.name for path in (tmp_path / "farm.jsonl-photos").iterdir()] == ["mine.jpg"]


def test_a_book_without_photos_is_exported_as_one_file(other: SqlBook, tmp_path: Path) -> None:
    other.append([note("a")])
    export_lines(other, tmp_path / "farm.jsonl")
    assert not (tmp_path / "farm.jsonl-photos").exists()


def test_a_photo_that_was_changed_beside_an_export_is_not_taken_for_it(
    book: SqlBook, other: SqlBook, tmp_path: Path
) -> None:
    export_lines(book, tmp_path / "farm.jsonl")
    (tmp_path / "farm.jsonl-photos" / f"{NAME}.jpg").write_bytes(PICTURE + b"!")
    import_book(other, tmp_path / "farm.jsonl")
    assert other.photo(NAME) is None
    assert [finding.code for finding in other.verify()] == ["book-photo"]


def test_looking_the_book_through_finds_a_photo_lost_or_damaged(book: SqlBook) -> None:
    with book.writing() as connection:
        connection.execute(text("UPDATE photo SET picture = :other"), {"other": b"\xff\xd8\xffother"})
    assert [finding.message for finding in book.verify()] == [f"The photo {NAME[:12]} is damaged."]
    with book.writing() as connection:
        connection.execute(text("DELETE FROM photo"))
    assert [finding.message for finding in book.verify()] == [f"Entry 2: its photo {NAME[:12]} is missing."]
