"""A book that one process opens twice keeps its locks, so that what others do beside it damages nothing."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from trayward.errors import BookError
from trayward.farm.entries import Entry, Note
from trayward.store import open_book

START = datetime(2026, 11, 25, 7, tzinfo=UTC)


def note(number: int) -> Entry:
    at = START + timedelta(seconds=number)
    return Entry(id=f"note-{number:06d}", at=at, recorded=at, by="ida", body=Note(text=f"Note {number}."))


def another_process_looks(book: Path) -> int:
    """Open the book elsewhere as a command does, and close it again; gives how many entries it saw."""
    code = (
        "import sys; from trayward.store import open_book; b = open_book(sys.argv[1]); print(b.head().seq); b.close()"
    )
    done = subprocess.run([sys.executable, "-c", code, str(book)], check=True, capture_output=True, text=True)
    return int(done.stdout)


def test_a_book_opened_twice_here_and_once_elsewhere_stays_whole(tmp_path: Path) -> None:
    # The pages open the book for the farm and for its people; a command beside them opens and closes it.
    path = tmp_path / "farm.sqlite"
    with open_book(path, create=True) as farm:
        farm.append([note(1)])
        with open_book(path) as people:
            people.head()
            for number in range(2, 30):
                if number % 9 == 2:
                    assert another_process_looks(path) == number - 1
                farm.append([note(number)])
                assert path.with_name("farm.sqlite-wal").exists(), "the other process took the log away"
            people.append([note(30)])
        assert another_process_looks(path) == 30
        assert farm.verify() == []
    with closing(sqlite3.connect(path)) as plain:
        assert plain.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert plain.execute("SELECT count(*) FROM entry").fetchone() == (30,)


def test_a_file_is_looked_at_again_once_nobody_here_has_it_open(tmp_path: Path) -> None:
    path = tmp_path / "farm.sqlite"
    with open_book(path, create=True) as book:
        book.append([note(1)])
    with path.open("r+b") as file:
        file.truncate(5000)
    with pytest.raises(BookError, match="cut short"):
        open_book(path)
    with pytest.raises(BookError, match="cut short"):
        open_book(path)
