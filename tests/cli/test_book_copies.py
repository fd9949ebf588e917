"""Copies of the book typed as a grower types them: planned, proven, restored, moved, compared."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.cli.conftest import Typed
from tests.postgres import postgres, postgres_url

__all__ = ["postgres", "postgres_url"]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "disk").mkdir()
    return tmp_path / "disk"


def test_a_planned_backup_is_made_proven_and_shown(shelf: Typed, folder: Path) -> None:
    said = shelf("book", "schedule", str(folder), "--at-time", "03:15", "--days", "5")
    assert "Every day at 03:15" in said
    assert "newest of 5 days" in said
    assert "found whole" in shelf("book", "backup")
    assert "No backup is due" in shelf("book", "backup", "--if-due")
    assert "Last sound backup" in shelf("book", "schedule")
    assert "sound" in shelf("book", "backups", "--check")
    assert "No backups are planned" in shelf("book", "schedule", "--off")


def test_without_a_plan_a_folder_must_be_named(shelf: Typed, folder: Path) -> None:
    assert "no backups are planned" in shelf.refused("book", "backup", code=2)
    assert "no backups are planned" in shelf.refused("book", "schedule", "--days", "3", code=2)
    assert "no such folder" in shelf.refused("book", "schedule", str(folder / "gone"), code=2)
    assert "no time of day" in shelf.refused("book", "schedule", str(folder), "--at-time", "25:00", code=2)
    assert "found whole" in shelf("book", "backup", str(folder))


def test_the_round_says_that_the_last_backup_is_old(shelf: Typed, folder: Path) -> None:
    shelf("book", "schedule", str(folder), "--at", "2026-11-01")
    assert "No sound backup of the book was made yet" in " ".join(shelf("round").split())
    shelf("book", "backup")
    assert "backup" not in shelf("round")


def test_a_torn_backup_is_told_and_not_restored(shelf: Typed, folder: Path, tmp_path: Path) -> None:
    shelf("book", "backup", str(folder))
    (file,) = folder.glob("*.sqlite")
    os.truncate(file, 20_000)
    listed = shelf.run("book", "backups", str(folder))
    assert listed.exit_code == 1
    assert "cut short" in listed.stdout
    refused = shelf.refused("book", "restore", str(file), "--book", str(tmp_path / "new.sqlite"), code=1)
    assert "cut short" in " ".join(refused.split())
    assert not (tmp_path / "new.sqlite").exists()


def test_a_backup_is_restored_with_proof(shelf: Typed, folder: Path, tmp_path: Path) -> None:
    shelf("book", "backup", str(folder))
    (file,) = folder.glob("*.sqlite")
    new = tmp_path / "new.sqlite"
    assert "Nothing differs" in shelf("book", "restore", str(file), "--book", str(new))
    assert "The book is whole" in shelf("book", "verify", "--book", str(new))
    assert "something already" in " ".join(
        shelf.refused("book", "restore", str(file), "--book", str(new), code=1).split()
    )


def test_a_farm_moves_to_a_database_and_back(shelf: Typed, tmp_path: Path, postgres_url: str) -> None:
    old, back = str(shelf.book), str(tmp_path / "back.sqlite")
    told = shelf.json("book", "move", old, postgres_url)
    assert told["same"]
    assert told["old_closed"]
    assert "it has moved to" in " ".join(shelf.refused("note", "too late", code=1).split())
    shelf("note", "here now", "--book", postgres_url)
    said = " ".join(shelf("book", "move", postgres_url, back).split())
    assert "Nothing differs" in said
    assert "each with its hash" in said
    compared = shelf.run("book", "compare", old, back)
    assert compared.exit_code == 1
    assert "They differ" in compared.stdout
    assert "takes entries again" in shelf("book", "reopen")
    shelf("note", "the old one once more")


def test_a_copy_leaves_both_open(shelf: Typed, tmp_path: Path) -> None:
    shelf("book", "move", str(shelf.book), str(tmp_path / "copy.sqlite"), "--copy")
    assert "Nothing differs" in shelf("book", "compare", str(shelf.book), str(tmp_path / "copy.sqlite"))
    shelf("note", "still here")
