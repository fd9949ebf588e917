"""Every way in, whatever features there are, asked by everybody there can be: it does as its declared right says.

Ways added later are asked by themselves. Each is asked with an empty form and with names that nothing has, so what is
looked at is the door, not what is behind it: who may gets through to the view (which may then find nothing, or want its
fields), who may not gets 403, who is not known the log-in, or 401 in JSON.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from argon2.profiles import CHEAPEST
from starlette.routing import Route
from starlette.testclient import TestClient

from tests.web.people.conftest import AT, GOOD, Clock, every_way
from trayward.bootstrap import Farm
from trayward.store.people import ROLES, Hasher, SqlPeople
from trayward.web.app import create_app
from trayward.web.guard import MAY, Role
from trayward.web.people.keeper import FarmPeople
from trayward.web.routing import Way

WAYS = every_way()
NAMES = [f"{way.method} {way.path}" for way in WAYS]

OWN_ROUTES = {"/live", "/live/now", "/static/{hash}/{name:path}", "/sw.js"}
"""What the house answers beside the features' ways; looked at by hand below."""

FOR_PEOPLE = frozenset(
    ("/logout", "/lock", "/me/pin", "/me/password", "/me/taste", "/me/end", "/me/end-others", "/calendar/make",
     "/calendar/end")
)  # fmt: skip
"""Acts on one's own session or account: a program has neither, so a token is refused whatever its role."""

JSON = {"Accept": "application/json"}
PAGE = {"Accept": "text/html"}
OURS = {"Trayward-Script": "1"}
"""What our own scripts send in place of a form's key."""


class World:
    """A farm with somebody of every role, and a token of each."""

    def __init__(self, running: TestClient, people: SqlPeople, clock: Clock) -> None:
        self.app, self.people, self.clock = running.app, people, clock
        self._running = running
        self.ids: dict[Role, str] = {}
        self.tokens: dict[Role, str] = {}
        for role in ROLES:
            person = people.persons.add(f"the {role}", role, password=GOOD, at=AT, by="tests")
            self.ids[role] = person.id
            self.tokens[role] = people.tokens.add(f"program {role}", role, at=AT, by="tests")[1]

    def asks(self, way: Way, *, role: Role | None = None, token: Role | None = None, **headers: str) -> Any:
        """Ask one way in: as somebody freshly logged in, as a program, or as a stranger."""
        client = self.client(raise_server_exceptions=False)
        if role is not None:
            client.cookies.set("trayward", self.people.sessions.begin(self.ids[role], "a phone", at=AT))
        more = {"Authorization": f"Bearer {self.tokens[token]}"} if token is not None else {}
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        return client.request(way.method, path_of(way), headers={**PAGE, **OURS, **more, **named})

    def client(self, **words: Any) -> TestClient:
        """A browser without cookies. All ask in one event loop: one for each request takes three times as long."""
        client = TestClient(self.app, base_url="http://127.0.0.1", follow_redirects=False, **words)
        client.portal = self._running.portal
        return client


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    book = str(tmp_path_factory.mktemp("every-route") / "farm.sqlite")
    Farm.create(Path(book), "shelf", at=AT).close()
    keeper, clock = FarmPeople(book, hasher=Hasher(CHEAPEST)), Clock()
    app = create_app(book, now=clock, people=keeper, routes=WAYS)
    with TestClient(app) as running:
        yield World(running, keeper.needed, clock)
    keeper.close()


def path_of(way: Way) -> str:
    """The way's path with a name in every part that nothing has."""
    return re.sub(r"\{[^}]+\}", "nothing-of-that-name", way.path)


def got_in(answer: Any) -> bool:
    """Whether the view was reached: it may then find nothing, or want its fields."""
    sent_away = answer.headers.get("location", "").startswith(("/login", "/lock"))
    return answer.status_code not in (401, 403) and answer.status_code < 500 and not sent_away


@pytest.mark.parametrize("way", WAYS, ids=NAMES)
@pytest.mark.parametrize("role", ROLES)
def test_each_role_gets_in_where_it_may_and_nowhere_else(world: World, way: Way, role: Role) -> None:
    answer = world.asks(way, role=role)
    if way.may == "anyone":
        assert answer.status_code < 500
    elif way.may in MAY[role]:
        leaves = way.path in ("/logout", "/lock") and answer.status_code == 303
        assert got_in(answer) or leaves, f"{answer.status_code} {answer.text[:300]}"
    else:
        assert answer.status_code == 403
        assert "Ask who keeps the farm" in answer.text


@pytest.mark.parametrize("way", WAYS, ids=NAMES)
@pytest.mark.parametrize("role", ROLES)
def test_a_token_of_each_role_gets_in_where_it_may_and_nowhere_else(world: World, way: Way, role: Role) -> None:
    answer = world.asks(way, token=role, Accept="application/json")
    if way.may == "anyone":
        assert answer.status_code < 500
    elif way.may in MAY[role] and not (way.method != "GET" and way.path in FOR_PEOPLE):
        assert got_in(answer), f"{answer.status_code} {answer.text[:300]}"
    else:
        assert answer.status_code == 403
        assert answer.json()["error"]["kind"] == "shut"


@pytest.mark.parametrize(
    "way", [way for way in WAYS if way.may != "anyone"], ids=lambda way: f"{way.method} {way.path}"
)
def test_a_stranger_gets_the_log_in_and_a_program_401(world: World, way: Way) -> None:
    page = world.asks(way)
    if way.asking == "json":
        assert page.status_code == 401
    else:
        assert page.status_code == 303
        assert page.headers["location"].startswith("/login")
        assert page.text == ""
    send = {"Trayward_Id": str(uuid.uuid4()), "Trayward_Said": AT.isoformat()}
    for headers in ({"Accept": "application/json"}, send, {"Authorization": "Bearer trayward_none", **send}):
        answer = world.asks(way, **headers)
        assert answer.status_code == 401
        assert answer.json()["error"]["kind"] == "shut"


@pytest.mark.parametrize(
    "way", [way for way in WAYS if way.may != "anyone"], ids=lambda way: f"{way.method} {way.path}"
)
def test_a_locked_phone_gets_the_lock(world: World, way: Way) -> None:
    key = world.people.sessions.begin(world.ids["owner"], "a phone", at=AT)
    seen = world.people.sessions.seen(key, AT)
    assert seen is not None
    world.people.sessions.lock(seen.session)
    client = world.client(cookies={"trayward": key})
    page = client.request(way.method, path_of(way), headers={**PAGE, **OURS})
    if way.asking == "json":
        assert page.status_code == 401
    else:
        assert (page.status_code, page.headers["location"].split("?")[0]) == (303, "/lock")
    assert client.request(way.method, path_of(way), headers={**JSON, **OURS}).status_code == 401


@pytest.mark.parametrize(
    "way", [way for way in WAYS if way.method != "GET"], ids=lambda way: f"{way.method} {way.path}"
)
def test_nothing_is_done_that_another_site_sends(world: World, way: Way) -> None:
    """Should the browser send our cookie along all the same, the origin or the missing key gives it away."""
    key = world.people.sessions.begin(world.ids["owner"], "a phone", at=AT)
    client = world.client(cookies={"trayward": key})
    elsewhere = {"Origin": "http://elsewhere.example", "Sec-Fetch-Site": "cross-site"}
    for headers in ({**PAGE}, {**PAGE, **OURS, **elsewhere}, {**JSON, **elsewhere}):
        answer = client.request(way.method, path_of(way), headers=headers)
        assert answer.status_code == 403, f"{headers}: {answer.status_code}"


def test_the_house_answers_nothing_else_that_nobody_looked_at(world: World) -> None:
    declared = {way.path for way in WAYS}
    routes = {route.path for route in world.app.routes if isinstance(route, Route)}
    assert len(routes) == len({getattr(route, "path", None) for route in world.app.routes})
    assert routes - declared == OWN_ROUTES


@pytest.mark.parametrize("path", ["/live", "/live/now"])
def test_strangers_hear_nothing_of_the_book(world: World, path: str) -> None:
    client = world.client()
    answer = client.get(path)
    assert (answer.status_code, answer.text) == (401, "")


def test_a_reader_hears_that_the_book_has_moved(world: World) -> None:
    client = TestClient(world.app, base_url="http://127.0.0.1")
    client.cookies.set("trayward", world.people.sessions.begin(world.ids["reader"], "a phone", at=AT))
    assert client.get("/live/now").status_code == 200


def test_static_files_say_nothing_of_the_farm(world: World) -> None:
    client = world.client()
    statics = world.app.state.house.look.statics
    for name in statics.files:
        answer = client.get(statics.address(name))
        assert answer.status_code == 200
        assert b"Kitchen Shelf" not in answer.content
