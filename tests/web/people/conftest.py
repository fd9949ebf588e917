"""A farm's pages with people, a clock that the tests turn, and browsers that keep their cookies."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from argon2.profiles import CHEAPEST
from starlette.applications import Starlette
from starlette.testclient import TestClient

from trayward.bootstrap import Farm
from trayward.store.people import Hasher, Person, SqlPeople
from trayward.web.app import ROUTES, create_app
from trayward.web.people.keeper import FarmPeople
from trayward.web.people.routes import ROUTES as PEOPLE_ROUTES
from trayward.web.routing import Way

AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
GOOD = "seven wet trays drip"
OTHER = "eleven dry mats hang"
PIN = "7305"


def every_way() -> tuple[Way, ...]:
    """All that the pages answer, with people among them."""
    return tuple(dict.fromkeys((*ROUTES, *PEOPLE_ROUTES)))


class Clock:
    """Shows the moment the tests set."""

    def __init__(self) -> None:
        self.now = AT

    def __call__(self) -> datetime:
        return self.now

    def on(self, **span: float) -> None:
        self.now += timedelta(**span)


class Browser:
    """One device: asks for pages, fills in their forms, and keeps its cookies."""

    def __init__(self, app: Starlette, agent: str = "Firefox/140 Android") -> None:
        self.client = TestClient(
            app,
            base_url="http://127.0.0.1",
            follow_redirects=False,
            headers={"User-Agent": agent, "Accept": "text/html"},
        )

    def get(self, path: str, **headers: str) -> Any:
        return self.client.get(path, headers={name.replace("_", "-"): value for name, value in headers.items()})

    def see(self, path: str) -> str:
        """A page that must be there."""
        answer = self.get(path)
        assert answer.status_code == 200, f"{path}: {answer.status_code} {answer.headers.get('location')}"
        return str(answer.text)

    def where(self, path: str) -> str:
        """Where a page sends on to; empty where it answers itself."""
        answer = self.get(path)
        return str(answer.headers.get("location", "")) if answer.status_code == 303 else ""

    def post(self, path: str, fields: dict[str, str] | None = None, **headers: str) -> Any:
        """Send a form, with the key a page of ours would have put into it."""
        if "trayward-key" not in self.client.cookies:
            self.get("/login")
        key = self.client.cookies.get("trayward-key", "")
        return self.client.post(
            path,
            data={"_key": key, **(fields or {})},
            headers={name.replace("_", "-"): value for name, value in headers.items()},
        )

    def log_in(self, name: str, password: str = GOOD, **fields: str) -> Any:
        return self.post("/login", {"name": name, "password": password, **fields})


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def book(tmp_path: Path) -> str:
    """A shelf with something sown."""
    path = tmp_path / "farm.sqlite"
    with Farm.create(path, "shelf", at=AT - timedelta(days=1)) as farm:
        farm.sow("broccoli", 1, at=AT - timedelta(hours=1))
    return str(path)


@pytest.fixture
def keeper(book: str) -> Iterator[FarmPeople]:
    keeper = FarmPeople(book, hasher=Hasher(CHEAPEST))
    yield keeper
    keeper.close()


@pytest.fixture
def people(keeper: FarmPeople) -> SqlPeople:
    return keeper.needed


@pytest.fixture
def ada(people: SqlPeople) -> Person:
    """The owner."""
    return people.persons.add("Ada", "owner", password=GOOD, at=AT, by="Ada")


@pytest.fixture
def mira(people: SqlPeople, ada: Person) -> Person:
    """A hand."""
    return people.persons.add("Mira", "hand", password=OTHER, at=AT, by="Ada")


@pytest.fixture
def app(book: str, keeper: FarmPeople, clock: Clock) -> Iterator[Starlette]:
    app = create_app(book, now=clock, people=keeper, routes=every_way())
    with TestClient(app):
        yield app


@pytest.fixture
def browser(app: Starlette) -> Callable[..., Browser]:
    return lambda agent="Firefox/140 Android": Browser(app, agent)


@pytest.fixture
def desk(browser: Callable[..., Browser], ada: Person) -> Browser:
    """Ada's computer, logged in."""
    found = browser("Firefox/140 Linux")
    assert found.log_in("Ada").status_code == 303
    return found


def word_of(answer: Any) -> str:
    """The short word that an act leaves for the next page."""
    from urllib.parse import unquote

    found = re.search(r"trayward-say=([^;]+)", " ".join(answer.headers.get_list("set-cookie")))
    return "" if found is None else str(json.loads(unquote(found[1]))["say"])
