"""A terminal to type commands into, with a book and a clock of its own."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from trayward.cli.bench import bench
from trayward.cli.main import cli

MORNING = "2026-11-25T07:30:00+00:00"


def type_bench(name: str, *words: str, book: Path | str, now: str = MORNING, catch_exceptions: bool = True) -> Result:
    """Type a sum of a bench, beside a book or where there is none; all that came of it, errors as they were raised."""
    env = {"TRAYWARD_BOOK": str(book), "TRAYWARD_NOW": now, "TRAYWARD_TRACE": "", "COLUMNS": "80"}
    typed = CliRunner(env=env)
    return typed.invoke(bench, [name, *words], prog_name="trayward bench", catch_exceptions=catch_exceptions)


class Typed:
    """Types commands; `now` stops the clock until it is set anew."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.book = folder / "farm.sqlite"
        self.now = MORNING

    def run(self, *words: str, stdin: str | None = None) -> Result:
        """Type a command and give back all that came of it, whatever its exit code."""
        env = {
            "TRAYWARD_NOW": self.now,
            "TRAYWARD_BOOK": str(self.book),
            "TRAYWARD_BY": "Ada",
            "XDG_CACHE_HOME": str(self.folder / "cache"),
            "TRAYWARD_TRACE": "1",
        }
        return CliRunner(env=env).invoke(cli, list(words), input=stdin, prog_name="trayward")

    def __call__(self, *words: str, stdin: str | None = None) -> str:
        """Type a command that must work; what it says."""
        result = self.run(*words, stdin=stdin)
        assert result.exit_code == 0, f"{words}: {result.stdout}{result.stderr}"
        return result.stdout

    def json(self, *words: str) -> Any:
        """Type a command that must work, with --json; what it answers."""
        return json.loads(self(*words, "--json"))

    def refused(self, *words: str, code: int) -> str:
        """Type a command that must not work; what it says on the error stream."""
        result = self.run(*words)
        assert result.exit_code == code, f"{words}: {result.exit_code} {result.stdout}{result.stderr}"
        assert "Traceback" not in result.stderr
        return result.stderr.strip()


@pytest.fixture
def bare(tmp_path: Path) -> Typed:
    """A terminal in a place where there is no book yet."""
    return Typed(tmp_path)


@pytest.fixture
def shelf(bare: Typed) -> Typed:
    """A terminal at the home shelf, set up on the morning of 25 November 2026."""
    bare("init", "--setup", "shelf")
    return bare
