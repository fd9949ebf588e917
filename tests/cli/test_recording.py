"""Hygiene records typed at a terminal."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from tests.cli.conftest import Typed


@pytest.fixture
def cold(bare: Typed) -> Typed:
    """A farm that reads its cold room every day, at most 5 C."""
    bare("init", "--setup", "loft", "--at", "2026-11-20 07:00")
    said = ("--area", "Cold room 1", "--every", "daily", "--high", "temperature=5", "--review-within", "3")
    bare("record", "set", "cold room", *said, "--at", "2026-11-20 08:00")
    return bare


def test_a_record_is_written_due_reviewed_and_packed(cold: Typed, tmp_path: Path) -> None:
    assert "Cold room temperature" in cold("record", "due", "--at", "2026-11-21 08:00")
    write = ("record", "write", "cold room", "temperature=39 F", "--area", "Cold room 1", "--by", "Ada Reed")
    assert "Temperature 3.9 C" in cold(*write, "--at", "2026-11-21 08:00")
    assert "No record is due." in cold("record", "due", "--at", "2026-11-21 09:00")
    cold("record", "review", "--all", "--by", "Bo Hale", "--at", "2026-11-21 10:00")
    out = tmp_path / "pack"
    told = cold.json("record", "pack", "--from", "2026-11-01", "--out", str(out), "--at", "2026-11-22 08:00")
    assert told["files"] == ["records.pdf", "cold-room.csv"]
    with (out / "cold-room.csv").open(encoding="utf-8-sig", newline="") as sheet:
        row = next(csv.DictReader(sheet))
    assert (row["initials"], row["temperature [C]"], row["reviewed by"]) == ("AR", "3.89", "Bo Hale")


def test_the_kinds_say_where_they_come_from(cold: Typed) -> None:
    said = " ".join(cold("record", "kinds", "water test").split())
    assert "e. coli [in 100 ml]: Generic E. coli found, required, at most 0" in said
    assert "21 CFR 112.50(b)(5)" in said
    assert "Never mix chlorine" in cold("record", "kinds", "cleaning")
