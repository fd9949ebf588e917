"""The server side of what a phone keeps: measured clocks, a sending heard twice, and what can be taken back."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from starlette.responses import Response
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, Clock, Pages
from trayward import Farm
from trayward.farm.entries import Note
from trayward.web.app import ROUTES, create_app
from trayward.web.ask import Ask
from trayward.web.routing import Way, act
from trayward.web.send import read_send

ID = "0f5c1c3e-7d2b-4a57-9d3f-6a1f0c9b8e11"
SECOND = "1f5c1c3e-7d2b-4a57-9d3f-6a1f0c9b8e12"


def note(ask: Ask) -> Response:
    """Keep a note."""
    receipt = ask.farm.note(ask.form.need("words"), **ask.said)
    return ask.go("/about", "Noted.", undo=[kept.entry.id for kept in receipt.kept])


def two_notes(ask: Ask) -> Response:
    """Keep two notes with one call, as many acts keep several entries."""
    receipt = ask.farm.record(Note(text="one"), Note(text="two"), **ask.said)
    return ask.go("/about", "Both noted.", undo=[kept.entry.id for kept in receipt.kept])


TRY: tuple[Way, ...] = (act("/try/note", note, may="answer"), act("/try/two", two_notes, may="answer"))


@pytest.fixture
def book(tmp_path: Path, clock: Clock) -> Path:
    path = tmp_path / "farm.sqlite"
    with Farm.create(path, "shelf", at=clock.at - timedelta(days=1)):
        return path


@pytest.fixture
def tried(book: Path, clock: Clock) -> Iterator[Pages]:
    app = create_app(str(book), now=clock, routes=(*ROUTES, *TRY))
    with TestClient(app, base_url=ADDRESS) as client:
        yield Pages(client, book, clock)


def struck(pages: Pages) -> set[str]:
    with pages.farm() as farm:
        return set(farm.book.struck())


def entries(pages: Pages) -> int:
    with pages.farm() as farm:
        return farm.book.head().seq


def happened(clock: Clock, *, said: timedelta, now: timedelta, off: str) -> datetime:
    """When a thing happened that a phone says so: its clock against ours."""
    headers = {
        "trayward-id": ID,
        "trayward-said": (clock.at + said).isoformat(),
        "trayward-now": (clock.at + now).isoformat(),
        "trayward-off": off,
    }
    return read_send(headers, clock.at).happened


def seconds(number: float) -> timedelta:
    return timedelta(seconds=number)


def test_the_clock_can_be_asked_for(tried: Pages) -> None:
    told = tried.get("/live/now").json()
    assert datetime.fromisoformat(told["now"]) == tried.clock.at


def test_a_long_way_through_a_weak_signal_does_not_move_what_was_said(clock: Clock) -> None:
    # The phone's clock is right; its request took 40 s to get here.
    found = happened(clock, said=seconds(-100), now=seconds(-40), off="0")
    assert found == clock.at + seconds(-100)


def test_without_a_measured_difference_the_request_itself_has_to_tell(clock: Clock) -> None:
    assert happened(clock, said=seconds(-100), now=seconds(-40), off="") == clock.at + seconds(-60)


@pytest.mark.parametrize("off", ["7200000", "-7200000", "nan", "1e300", "soon"])
def test_a_measured_difference_that_the_request_contradicts_is_not_believed(clock: Clock, off: str) -> None:
    assert happened(clock, said=seconds(-3700), now=seconds(-3600), off=off) == clock.at + seconds(-100)


def test_a_clock_hours_behind_is_put_right_by_what_was_measured(clock: Clock) -> None:
    found = happened(clock, said=seconds(-7300), now=seconds(-7203), off="7200000")
    assert found == clock.at + seconds(-100)


def test_what_landed_can_be_taken_back_also_when_its_answer_was_lost(tried: Pages) -> None:
    first = tried.send("/try/two", {}, name=ID).json()
    again = tried.send("/try/two", {}, name=ID).json()
    assert again["landed"] is True
    assert again["undo"] == first["undo"]
    assert len(first["undo"]) == 2


def _undo(tried: Pages, names: list[str], name: str = SECOND) -> Any:
    return tried.send("/undo", {"entry": names}, name=name)


def test_several_entries_are_taken_back_by_one_sending_once(tried: Pages) -> None:
    landed = tried.send("/try/two", {}, name=ID).json()
    told = _undo(tried, landed["undo"])
    assert told.json()["landed"] is True
    assert struck(tried) == set(landed["undo"])
    before = entries(tried)
    assert _undo(tried, landed["undo"]).json()["landed"] is True
    assert entries(tried) == before


def test_what_is_taken_back_already_is_refused_and_nothing_of_it_kept(tried: Pages) -> None:
    landed = tried.send("/try/two", {}, name=ID).json()
    _undo(tried, landed["undo"][:1])
    before = entries(tried)
    told = _undo(tried, landed["undo"], "2f5c1c3e-7d2b-4a57-9d3f-6a1f0c9b8e13")
    assert told.status_code == 422
    assert "struck already" in told.json()["error"]["sentence"]
    assert entries(tried) == before
