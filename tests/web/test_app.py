"""How a request is answered: the farm behind the lock, what was typed, what went wrong, what was kept on a phone."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from starlette.responses import Response
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, Clock, Pages, words_of
from trayward import Farm
from trayward.errors import ConflictError, NotFoundError
from trayward.web.app import ROUTES, create_app
from trayward.web.ask import Ask
from trayward.web.guard import OnePerson
from trayward.web.routing import Way, act, page

UUID = "0f5c1c3e-7d2b-4a57-9d3f-6a1f0c9b8e11"


def note(ask: Ask) -> Response:
    """Keep a note about a place."""
    receipt = ask.farm.note(ask.form.need("words"), ["place:D1"], **ask.said)
    return ask.go("/about", "Noted.", findings=receipt.findings, undo=[kept.entry.id for kept in receipt.kept])


def reading(ask: Ask) -> Response:
    """Take a reading, which may look mistyped."""
    ask.farm.take_reading("temperature", ask.form.temperature("degrees"), "Loft", **ask.said)
    return ask.go("/about", "Taken.")


def note_form(ask: Ask) -> Response:
    """A page with a form, as a feature has it."""
    source = (
        '{% extends "base.html" %}{% block title %}Note{% endblock %}{% block main %}<h1>Note</h1>'
        '<form method="post" action="/try/note">{{ parts.form_keys("one") }}'
        '{{ parts.field("words", "Words", form="one") }}{{ parts.field("degrees", "Degrees", form="one") }}'
        "</form>{% endblock %}"
    )
    environment = ask._house.look.environment(ask.tongue, ask.units)
    made = environment.from_string(source).render(ask=ask, clock=lambda _: "", when=lambda _: "")
    return Response(made, media_type="text/html")


def crash(ask: Ask) -> Response:
    """A view with a fault of ours."""
    raise ZeroDivisionError(f"at {ask.at}")


def lost(ask: Ask) -> Response:
    """A page about a thing that is not there."""
    raise NotFoundError("tray", "Z9", ("A1", "A2"))


def busy(ask: Ask) -> Response:
    """An act that others got in the way of."""
    raise ConflictError("Others write to the book.")


TRY: tuple[Way, ...] = (
    page("/try", note_form, may="look"),
    act("/try/note", note, may="answer"),
    act("/try/reading", reading, may="answer"),
    page("/try/crash", crash, may="look"),
    page("/try/tray", lost, may="look"),
    act("/try/busy", busy, may="answer"),
)


@pytest.fixture
def tried(book: Path, clock: Clock) -> Iterator[Pages]:
    app = create_app(str(book), now=clock, people=OnePerson("Maren"), routes=(*ROUTES, *TRY))
    with TestClient(app, base_url=ADDRESS) as client:
        yield Pages(client, book, clock)


def newest(pages: Pages) -> Any:
    with pages.farm() as farm:
        seq = farm.book.head().seq
        return next(iter(farm.book.entries(after=seq - 1)))


def entries(pages: Pages) -> int:
    with pages.farm() as farm:
        return farm.book.head().seq


# What is shown --------------------------------------------------------------------------------------------------------


def test_the_first_page_is_the_round_of_the_farm_at_this_moment(pages: Pages) -> None:
    first = pages.get("/")
    assert first.url.path == "/round"
    assert "Lantern Loft" in words_of(first)
    assert "07:30" in words_of(first)


def test_a_page_shows_what_another_process_wrote(pages: Pages) -> None:
    before = words_of(pages.get("/"))
    with pages.farm() as farm:
        tray = farm.state(pages.clock.at).growing()[0].tray
        farm.discard([tray], "dropped", at=pages.clock.at, by="Ada")
    assert words_of(pages.get("/")) != before


def test_an_unknown_page_says_so_with_a_way_back(pages: Pages) -> None:
    found = pages.get("/nowhere")
    assert found.status_code == 404
    assert "There is no such page." in words_of(found)
    assert 'href="/"' in found.text


def test_a_thing_that_is_not_there_is_a_404_with_names_that_are(tried: Pages) -> None:
    found = tried.get("/try/tray")
    assert found.status_code == 404
    assert "the farm has none of that name" in words_of(found)


def test_a_crash_says_a_plain_sentence_and_logs_where(tried: Pages, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.ERROR, "trayward.web"):
        found = tried.get("/try/crash")
    assert found.status_code == 500
    assert "the fault is ours" in words_of(found)
    assert "ZeroDivisionError" not in found.text
    assert "ZeroDivisionError" in caplog.text


def test_after_a_crash_the_farm_is_free_again(tried: Pages) -> None:
    tried.get("/try/crash")
    assert tried.get("/").status_code == 200


def test_many_threads_share_the_one_farm(tried: Pages) -> None:
    before = entries(tried)
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda number: tried.send("/try/note", {"words": f"number {number}"}), range(40)))
    assert {answer.json()["landed"] for answer in answers} == {True}
    assert entries(tried) == before + 40


# What is said ---------------------------------------------------------------------------------------------------------


def test_an_act_records_who_and_when_and_says_so_on_the_next_page(tried: Pages) -> None:
    gone = tried.post("/try/note", {"words": "front corner thin"})
    assert (gone.status_code, gone.headers["location"]) == (303, "/about")
    entry = newest(tried).entry
    assert (entry.by, entry.at, entry.recorded) == ("Maren", tried.clock.at, tried.clock.at)
    shown = tried.get("/about")
    assert "Noted." in words_of(shown)
    assert "Undo" in words_of(shown)
    assert "Noted." not in words_of(tried.get("/about")), "the word is shown once"


def test_what_was_just_said_is_taken_back_by_a_strike(tried: Pages) -> None:
    tried.post("/try/note", {"words": "wrong shelf"})
    said = newest(tried).entry.id
    gone = tried.post("/undo", {"entry": said})
    assert gone.headers["location"] == "/about"
    with tried.farm() as farm:
        assert said in farm.book.struck()


def test_a_refused_form_comes_back_with_its_words_and_the_sentence_at_the_field(tried: Pages) -> None:
    form = {"_form": "one", "degrees": "warm", "words": "kept as typed"}
    back = tried.post("/try/reading", form, page="/try")
    assert back.status_code == 422
    assert 'value="kept as typed"' in back.text
    assert 'value="warm"' in back.text
    assert 'aria-invalid="true"' in back.text
    assert "must be one number with C or F" in words_of(back)


def test_what_looks_mistyped_is_asked_and_kept_on_a_yes(tried: Pages) -> None:
    before = entries(tried)
    back = tried.post("/try/reading", {"degrees": "52 C"}, page="/try")
    assert back.status_code == 422
    assert "Keep it as it is" in words_of(back)
    assert entries(tried) == before
    assert tried.post("/try/reading", {"degrees": "52 C", "sure": "1"}).status_code == 303
    assert entries(tried) == before + 1


def test_a_program_is_told_the_fault_in_the_one_shape(tried: Pages) -> None:
    told = tried.post("/try/reading", {"degrees": "warm"}, headers={"Accept": "application/json"})
    assert told.status_code == 422
    error = told.json()["error"]
    assert (error["kind"], error["thing"], error["value"]) == ("input", "degrees", "'warm'")
    assert set(error) == {"kind", "thing", "value", "unit", "rule", "remedy", "sentence", "doubts"}


def test_a_program_is_told_the_doubts(tried: Pages) -> None:
    told = tried.post("/try/reading", {"degrees": "52 C"}, headers={"Accept": "application/json"}).json()["error"]
    assert told["kind"] == "doubt"
    assert told["doubts"][0]["said"] == "52 C"
    assert told["doubts"][0]["sentence"] in told["sentence"]


def test_a_conflict_may_be_tried_again(tried: Pages) -> None:
    assert tried.post("/try/busy", headers={"Accept": "application/json"}).status_code == 409


# What a phone kept ----------------------------------------------------------------------------------------------------


def test_what_a_phone_kept_lands_on_its_own_time(tried: Pages) -> None:
    said = tried.clock.at - timedelta(minutes=40)
    told = tried.send("/try/note", {"words": "moist"}, said=said, name=UUID)
    assert told.json() == {"landed": True, "say": "Noted.", "findings": [], "undo": [UUID], "where": "/about"}
    entry = newest(tried).entry
    assert (entry.id, entry.at, entry.recorded) == (UUID, said, tried.clock.at)


def test_the_same_sending_twice_changes_nothing(tried: Pages) -> None:
    tried.send("/try/note", {"words": "moist"}, name=UUID)
    before = entries(tried)
    tried.clock.forward(seconds=20)
    again = tried.send("/try/note", {"words": "moist"}, said=tried.clock.at - timedelta(seconds=20), name=UUID)
    assert again.json()["landed"] is True
    assert entries(tried) == before


@pytest.mark.parametrize("wrong_by", [timedelta(hours=-5), timedelta(days=400), timedelta(minutes=3)])
def test_a_phone_whose_clock_is_wrong_is_put_right(tried: Pages, wrong_by: timedelta) -> None:
    happened = tried.clock.at - timedelta(minutes=10)
    tried.send("/try/note", {"words": "moist"}, said=happened + wrong_by, now=tried.clock.at + wrong_by)
    assert newest(tried).entry.at == happened


def test_nothing_a_phone_says_lies_ahead_of_now(tried: Pages) -> None:
    tried.send("/try/note", {"words": "moist"}, said=tried.clock.at + timedelta(hours=3))
    assert newest(tried).entry.at == tried.clock.at


def test_what_a_phone_kept_is_sure(tried: Pages) -> None:
    assert tried.send("/try/reading", {"degrees": "52 C"}).json()["landed"] is True


@pytest.mark.parametrize(("header", "value"), [("name", "no-uuid"), ("name", "1")])
def test_a_sending_without_a_good_id_is_not_accepted(tried: Pages, header: str, value: str) -> None:
    told = tried.send("/try/note", {"words": "moist"}, **{header: value})  # type: ignore[arg-type]
    assert told.status_code == 422
    assert told.json()["error"]["thing"] == "id"


# A clock behind the book ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["/round", "/racks", "/stores", "/orders", "/book"])
def test_a_machine_that_lost_its_time_says_so_on_every_page(pages: Pages, path: str) -> None:
    """Racks said that there are no shelves yet, and to set them up, to who had two months of records."""
    behind = "The clock of this machine is behind the book."
    assert behind not in pages.client.get(path).text
    pages.clock.forward(minutes=-30)
    assert behind not in pages.client.get(path).text, "two clocks never agree to the minute"
    pages.clock.forward(days=-20)
    text = words_of(pages.client.get(path).text)
    assert behind in text
    assert "It says Thu, 5 Nov 2026 07:00; the book goes on to Tue, 24 Nov 2026 20:30." in text


def test_before_the_farm_began_there_is_only_the_clock_to_be_set(pages: Pages) -> None:
    pages.clock.forward(days=-400)
    said = words_of(pages.client.get("/round").text)
    assert "this farm was set up only at 2026-10-26T05:00:00+00:00. Set the machine" in said
    assert "clock, or say a later moment." in said
    assert "The clock of this machine is behind the book." in words_of(pages.client.get("/racks").text)


def test_what_is_said_by_a_clock_behind_the_book_is_asked_about(pages: Pages, farm: Farm) -> None:
    before = farm.book.head().seq
    pages.clock.forward(days=-3)
    answer = pages.client.post("/api/1/note", json={"text": "moist"})
    assert (answer.status_code, answer.json()["error"]["kind"]) == (422, "doubt")
    assert "the book goes on to 2026-11-24 20:30" in answer.json()["error"]["sentence"]
    assert farm.book.head().seq == before


# Without a farm, and in memory ----------------------------------------------------------------------------------------


def test_before_there_is_a_farm_the_pages_say_how_to_make_one(tmp_path: Path, clock: Clock) -> None:
    app = create_app(str(tmp_path / "new.sqlite"), now=clock)
    with TestClient(app, base_url=ADDRESS) as client:
        assert client.get("/about").status_code == 200
        assert client.get("/more").status_code in (200, 409)


def test_a_farm_in_memory_has_pages_too(clock: Clock) -> None:
    with Farm.create(":memory:", "shelf", at=clock.at) as farm:
        with TestClient(create_app(farm, now=clock), base_url=ADDRESS) as client:
            assert client.get("/").status_code == 200
        assert farm.state(clock.at).settings is not None, "a farm that was lent stays open"


def test_a_form_too_large_is_refused_in_words(tried: Pages) -> None:
    told = tried.post("/try/note", {"words": "x" * 300_000})
    assert told.status_code == 413
    assert "too large" in words_of(told)


def test_a_body_that_does_not_say_its_length_is_cut_off_all_the_same(tried: Pages) -> None:
    def endless() -> Iterator[bytes]:
        for _ in range(40):
            yield b"x" * 10_000

    told = tried.client.post("/try/note", content=endless(), headers={"Trayward-Script": "1"})
    assert told.status_code == 413
