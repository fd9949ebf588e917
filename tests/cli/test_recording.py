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
    assert told["files"] == ["records.pdf", "read-me.txt", "cold-room.csv"]
    with (out / "cold-room.csv").open(encoding="utf-8-sig", newline="") as sheet:
        row = next(csv.DictReader(sheet))
    assert (row["initials"], row["temperature [C]"], row["reviewed by"]) == ("AR", "3.89", "Bo Hale")


def test_the_kinds_say_where_they_come_from(cold: Typed) -> None:
    said = " ".join(cold("record", "kinds", "water test").split())
    assert "e. coli [in 100 ml]: Generic E. coli found, required, at most 0" in said
    assert "21 CFR 112.50(b)(5)" in said
    assert "Never mix chlorine" in cold("record", "kinds", "cleaning")


def test_a_record_is_read_on_the_round_and_its_printed_sheet(cold: Typed, tmp_path: Path) -> None:
    at = ("--at", "2026-11-21 08:00")
    shown = " ".join(cold("round", *at).split())
    assert "1 Write down: Cold room temperature, Cold room 1. Temperature, at most 5 C." in shown
    number = next(row["number"] for row in cold.json("round", *at)["rows"] if row["kind"] == "record")
    assert number == 1
    printed = cold.json("paper", "round", "--out", str(tmp_path / "round.pdf"), *at)
    warm = cold.run("round", "answer", "1", "read", "9", "C", *at)
    assert warm.exit_code == 2
    assert "lies beyond the limit, at most 5 C" in warm.output
    cold("round", "answer", "1", "read", "9", "C", "--did", "moved the crates", "--by", "Ada Reed", *at)
    # The sheet on the wall still has its row, and lands at the time that was written beside it.
    said = ("round", "answer", "1", "read", "temperature=39 F", "thermometer=T1", "--sheet", printed["sheet"])
    cold(*said, "--by", "Bo Hale", "--at", "2026-11-21 08:05")
    found = cold.json("record", "--at", "2026-11-21 09:00")["records"]
    assert {(each["by"], each["record"]["values"][0]["value"]) for each in found} == {
        ("Ada Reed", 9.0),
        ("Bo Hale", 3.89),
    }
