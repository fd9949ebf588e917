"""The farm is made ready while the pages open, and whoever asks for a page meanwhile gets in between."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from itertools import count
from pathlib import Path
from threading import Event
from time import sleep
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, Clock
from trayward import Farm
from trayward.farm import use_first
from trayward.outlook.memory import Memory
from trayward.web.app import create_app
from trayward.web.house import House
from trayward.web.warming import Warming


def opened(book: Any, clock: Clock) -> TestClient:
    return TestClient(create_app(book, now=clock, warm=True), base_url=ADDRESS)


def until(so: Callable[[], bool]) -> None:
    """Wait until it is so; half a minute at most."""
    for _ in range(6_000):
        if so():
            return
        sleep(0.005)
    pytest.fail("it is not so")


def house_of(client: TestClient) -> House:
    house: House = client.app.state.house  # type: ignore[attr-defined]
    return house


def test_the_first_round_finds_everything_worked_out(book: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    with opened(str(book), clock) as client:
        assert house_of(client).warming.wait(60)

        def again(*_: object) -> None:
            pytest.fail("the round learns what was to be ready")

        monkeypatch.setattr(Memory, "lessons", again)
        monkeypatch.setattr(Farm, "_folded", again)
        assert client.get("/round").status_code == 200


def test_pages_get_in_between_and_the_end_waits_for_no_more_than_a_part(
    book: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One that is never ready: the pages open, answer and close all the same."""
    parts: list[int] = []

    def never_ready(_: Farm, at: datetime) -> Iterator[None]:
        assert at == clock.at
        for number in count():
            sleep(0.01)
            parts.append(number)
            yield

    monkeypatch.setattr(Farm, "get_ready", never_ready)
    with opened(str(book), clock) as client:
        for path in ("/about", "/racks", "/book"):
            assert client.get(path).status_code == 200
        warming = house_of(client).warming
        before = len(parts)
        until(lambda: len(parts) > before)
        assert not warming.wait(0)
    assert warming.wait(0)
    done = len(parts)
    sleep(0.05)
    assert len(parts) == done


def test_the_round_waits_for_it_and_does_not_keep_the_others_waiting(
    book: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The browser asks for the round by itself, to keep it; whoever looks at another page goes first."""
    go_on, asked = Event(), Event()
    get_ready, wait = Farm.get_ready, Warming.wait

    def held_up(farm: Farm, at: datetime) -> Iterator[None]:
        while not go_on.is_set():
            yield
        yield from get_ready(farm, at)

    def waited(warming: Warming, seconds: float) -> bool:
        asked.set()
        return wait(warming, seconds)

    monkeypatch.setattr(Farm, "get_ready", held_up)
    monkeypatch.setattr(Warming, "wait", waited)
    with opened(str(book), clock) as client, ThreadPoolExecutor(1) as phone:
        shown = phone.submit(client.get, "/round")
        assert asked.wait(30)
        assert client.get("/racks").status_code == 200
        assert not shown.done()
        go_on.set()
        assert shown.result(60).status_code == 200


def test_where_there_is_no_farm_yet_nothing_is_done(tmp_path: Path, clock: Clock) -> None:
    with opened(str(tmp_path / "new.sqlite"), clock) as client:
        assert house_of(client).warming.wait(10)
        assert list(tmp_path.iterdir()) == []
        assert client.get("/round", follow_redirects=False).headers["location"] == "/setup"


def test_a_farm_that_is_lent_is_left_alone(clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its owner may be using it in another thread."""
    touched: list[Any] = []
    monkeypatch.setattr(Farm, "get_ready", lambda *asked: touched.append(asked) or iter(()))
    with Farm.create(":memory:", "shelf", at=clock.at) as farm, opened(farm, clock) as client:
        assert client.get("/round").status_code == 200
        assert house_of(client).warming.wait(10)
    assert touched == []


def test_a_fault_of_it_is_logged_and_the_pages_go_on(
    book: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(*_: object) -> Iterator[None]:
        raise RuntimeError("broken on purpose")
        yield

    monkeypatch.setattr(Farm, "get_ready", broken)
    with caplog.at_level(logging.ERROR, "trayward.web"), opened(str(book), clock) as client:
        assert house_of(client).warming.wait(10)
        assert client.get("/round").status_code == 200
    assert "the farm could not be made ready" in caplog.text


def test_who_asked_is_told_once_all_is_ready_and_never_where_it_failed(
    book: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[str] = []
    app = create_app(str(book), now=clock, warm=True, made_ready=lambda: told.append("ready"))
    with TestClient(app, base_url=ADDRESS) as client:
        assert house_of(client).warming.wait(60)
        assert told == ["ready"]

    def broken(*_: object) -> Iterator[None]:
        raise RuntimeError("broken on purpose")
        yield

    monkeypatch.setattr(Farm, "get_ready", broken)
    app = create_app(str(book), now=clock, warm=True, made_ready=lambda: told.append("again"))
    with TestClient(app, base_url=ADDRESS) as client:
        assert house_of(client).warming.wait(10)
    assert told == ["ready"]


def test_how_old_the_seed_is_has_been_worked_out_also_when_another_day_begins(
    tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first look at the seed on a large farm need not wait for it."""
    monkeypatch.setattr("trayward.web.warming.EVERY_S", 0.005)
    path = tmp_path / "farm.book"
    with Farm.create(path, "loft", at=clock.at - timedelta(days=200)) as farm:
        crop = next(iter(farm.state(clock.at).recipes.values())).crop
        for number in range(3):
            at = clock.at - timedelta(days=150 - 30 * number)
            farm.receive_seed(f"lot {number}", crop, 500.0 + number, germination=0.9, at=at, sure=True)
    with opened(str(path), clock) as client:
        warming = house_of(client).warming
        assert warming.wait(60)
        for _ in range(2):
            until(lambda: warming._day == clock.at.date())
            before = use_first._aged.cache_info()
            assert client.get("/setup/first").status_code == 200
            after = use_first._aged.cache_info()
            assert after.hits > before.hits
            assert after.misses == before.misses
            clock.at += timedelta(days=1)
