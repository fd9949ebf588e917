"""Tracing events and the calendar typed at a terminal."""

from __future__ import annotations

import json
from pathlib import Path

import icalendar
import pytest

from tests.cli.conftest import Typed
from tests.exchange.epcis_schema import problems


@pytest.fixture
def lived(bare: Typed) -> Typed:
    """A farm with a tray that was cut and delivered, and one that stands."""
    bare("init", "--setup", "loft", "--at", "2026-11-01 07:00")
    bare("order", "customer", "Corner Cafe", "--at", "2026-11-01 08:00")
    bare("sow", "radish", "--trays", "1", "--at", "2026-11-12 08:00", "--sure")
    bare("stage", "261112A", "ready", "--at", "2026-11-20 08:00", "--sure")
    bare("cut", "261112A.1=200g", "--at", "2026-11-20 09:00", "--sure")
    bare("order", "add", "Corner Cafe", "2026-11-20", "150 g radish", "--at", "2026-11-20 09:30")
    bare("deliver", "Corner Cafe", "--at", "2026-11-20 10:00", "--sure")
    bare("sow", "radish", "--trays", "2", "--at", "2026-11-24 08:00", "--sure")
    return bare


def test_events_of_some_days_are_written_to_a_file(lived: Typed, tmp_path: Path) -> None:
    kept = tmp_path / "november.jsonld"
    days = ("--from", "2026-11-10", "--to", "2026-11-21", "-o", str(kept), "--at", "2026-11-25 07:30")
    said = lived("exchange", "events", *days)
    assert "Written to" in said
    told = json.loads(kept.read_text("utf-8"))
    assert problems(told) == []
    steps = [event["bizStep"] for event in told["epcisBody"]["eventList"]]
    assert steps == ["commissioning", "creating_class_instance", "shipping"]
    again = lived.refused("exchange", "events", *days, code=2)
    assert "there is one of that name already" in " ".join(again.split())
    assert json.loads(kept.read_text("utf-8")) == told


def test_events_without_a_file_stand_on_the_screen(lived: Typed) -> None:
    told = json.loads(lived("exchange", "events", "--at", "2026-11-25 07:30"))
    assert told["type"] == "EPCISDocument"


def test_days_the_wrong_way_round_leave_no_file(lived: Typed, tmp_path: Path) -> None:
    kept = tmp_path / "e.jsonld"
    lived.refused(
        "exchange", "events", "--from", "2026-11-20", "--to", "2026-11-01", "-o", str(kept), "--at",
        "2026-11-25 07:30", code=2,
    )  # fmt: skip
    assert not kept.exists()


def test_the_calendar_is_a_file_that_another_library_reads(lived: Typed, tmp_path: Path) -> None:
    kept = tmp_path / "farm.ics"
    said = lived("calendar", "-o", str(kept), "--at", "2026-11-25 07:30")
    found = icalendar.Calendar.from_ical(kept.read_bytes()).walk("VEVENT")
    assert f"{len(found)} events" in " ".join(said.split())
    assert any("Cut 2 trays: radish" in str(event["SUMMARY"]) for event in found)
    fewer = lived("calendar", "--without", "round", "--json", "--at", "2026-11-25 07:30")
    told = json.loads(fewer)
    assert told["events"] == len(found) - 2
    assert "RRULE" not in told["calendar"]


def test_a_sort_that_is_none_is_refused_with_those_there_are(lived: Typed) -> None:
    said = lived.refused("calendar", "--without", "walks", "--at", "2026-11-25 07:30", code=2)
    assert "sow, cut, turn, deliver, wash, record and round" in " ".join(said.split())


def test_exchange_alone_lists_what_there_is(lived: Typed) -> None:
    assert "EPCIS 2.0" in lived("exchange")
