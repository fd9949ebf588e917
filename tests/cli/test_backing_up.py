"""Planned backups while the pages are served."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.cli.conftest import Typed
from trayward.cli.backing_up import PlannedBackups
from trayward.desk.backups import Backups, backups_of
from trayward.store import open_book
from trayward.web.office import Office

NOW = datetime(2026, 11, 25, 7, 40, tzinfo=UTC)


@pytest.fixture
def office(shelf: Typed) -> Iterator[Office]:
    found = Office(str(shelf.book))
    yield found
    found.close()


def known(shelf: Typed) -> Backups:
    with open_book(shelf.book) as book:
        return backups_of(book)


def wait_for(shelf: Typed, *, seconds: float = 60.0) -> Backups:
    """What is known once a backup was made or failed."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = known(shelf)
        if found.last is not None or found.failed is not None:
            return found
        time.sleep(0.2)
    raise AssertionError("none was made")


def test_a_planned_backup_is_made_while_the_pages_are_served(shelf: Typed, office: Office, tmp_path: Path) -> None:
    (tmp_path / "disk").mkdir()
    shelf("book", "schedule", str(tmp_path / "disk"))
    planned = PlannedBackups(office, str(shelf.book), lambda: NOW, every_s=0.05)
    planned.begin()
    found = wait_for(shelf)
    planned.end()
    assert found.last is not None
    assert found.last.at == NOW
    assert Path(found.last.file).is_file()
    assert len(list((tmp_path / "disk").glob("*.sqlite"))) == 1


def test_one_that_fails_is_told_and_the_pages_go_on(shelf: Typed, office: Office, tmp_path: Path) -> None:
    (tmp_path / "disk").mkdir()
    shelf("book", "schedule", str(tmp_path / "disk"))
    (tmp_path / "disk").rmdir()
    planned = PlannedBackups(office, str(shelf.book), lambda: NOW, every_s=0.05)
    planned.begin()
    found = wait_for(shelf)
    planned.end()
    assert "Plug the disk in" in found.why


def test_without_a_plan_or_a_farm_nothing_is_made(shelf: Typed, office: Office, tmp_path: Path) -> None:
    nowhere = Office(str(tmp_path / "none.sqlite"))
    for house in (office, nowhere):
        planned = PlannedBackups(house, str(shelf.book), lambda: NOW, every_s=0.01)
        planned.begin()
        time.sleep(0.3)
        planned.end()
    nowhere.close()
    assert known(shelf) == Backups()
