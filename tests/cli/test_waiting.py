"""A book that another process writes to: a command says soon what it waits for, and goes on waiting."""

from __future__ import annotations

import sqlite3

import pytest

from tests.cli.conftest import Typed
from trayward.cli.given import Given
from trayward.store import waiting


def test_a_command_says_that_it_waits_for_another_writer_and_then_does_its_work(
    shelf: Typed, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = sqlite3.connect(shelf.book, isolation_level=None, check_same_thread=False)
    other.execute("BEGIN IMMEDIATE")
    says = Given._waits

    def says_and_the_other_is_done(given: Given, book: str) -> None:
        says(given, book)
        other.execute("COMMIT")

    monkeypatch.setattr(waiting, "TOLD_AFTER_S", 0.05)
    monkeypatch.setattr(Given, "_waits", says_and_the_other_is_done)
    found = shelf.run("note", "front corner thin")
    other.close()
    assert found.exit_code == 0, found.stderr
    assert "somebody else is writing to it just now. This waits for them" in found.stderr
    assert "Noted" in found.stdout


def test_nobody_is_told_where_nobody_waits(shelf: Typed) -> None:
    assert "waits" not in shelf.run("note", "front corner thin").stderr
