"""Who said what a shared phone kept: taken for those who share it, and never for more than who is at it may."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from starlette.applications import Starlette
from starlette.testclient import TestClient

from tests.web.people.conftest import GOOD, OTHER, PIN, Browser, Clock
from trayward.bootstrap import Farm
from trayward.store.people import Hasher, Person, SqlPeople
from trayward.web.app import create_app
from trayward.web.ask import Ask
from trayward.web.people.keeper import FarmPeople
from trayward.web.people.routes import ROUTES as PEOPLE_ROUTES
from trayward.web.routing import act

New = Callable[..., Browser]


def _note(ask: Ask) -> Any:
    ask.farm.note(ask.form.need("text"), (), **ask.said)
    return ask.go("/about", "Noted.")


@pytest.fixture
def app(book: str, keeper: FarmPeople, clock: Clock) -> Any:
    """The pages with two acts of this test's own: a note that a hand may write, and one that only an owner may."""
    routes = (*PEOPLE_ROUTES, act("/note", _note, may="answer"), act("/owners-note", _note, may="run"))
    made = create_app(book, now=clock, people=keeper, routes=routes)
    with TestClient(made):
        yield made


@pytest.fixture
def phone(browser: New, ada: Person, mira: Person, people: SqlPeople, clock: Clock) -> Browser:
    """A phone that Ada and Mira share; Mira is at it."""
    people.persons.set_pin(ada.id, PIN, at=clock.now, by="Ada")
    people.persons.set_pin(mira.id, "918273", at=clock.now, by="Mira")
    found = browser()
    found.log_in("Ada")
    found.log_in("Mira", OTHER)
    return found


def send(phone: Browser, text: str, clock: Clock, who: str = "", path: str = "/note", name: str = "") -> Any:
    """What the phone's queue sends."""
    headers = {
        "Trayward-Id": name or str(uuid.uuid4()),
        "Trayward-Said": clock.now.isoformat(),
        "Trayward-Now": clock.now.isoformat(),
    }
    return phone.client.post(path, data={"text": text}, headers=headers | ({"Trayward-Who": who} if who else {}))


def said(book: str) -> list[tuple[str, str]]:
    """Who noted what, as the book has it."""
    with Farm.open(book) as farm:
        kept = [one.entry for one in farm.book.entries() if one.entry.kind == "note"]
    return [(entry.by, entry.body.text) for entry in kept]  # type: ignore[attr-defined]


def test_what_is_said_stands_under_who_is_at_the_phone(phone: Browser, clock: Clock, book: str) -> None:
    assert send(phone, "fan was off", clock).status_code == 200
    assert send(phone, "fan is on", clock, who="Mira").status_code == 200
    assert said(book) == [("Mira", "fan was off"), ("Mira", "fan is on")]


def test_what_the_other_said_without_signal_stands_under_theirs(
    phone: Browser, ada: Person, clock: Clock, book: str
) -> None:
    phone.post("/lock")
    phone.post("/unlock", {"who": ada.id, "pin": PIN})
    name = str(uuid.uuid4())
    for _ in range(2):
        assert send(phone, "fan was off", clock, who="Mira", name=name).status_code == 200
    assert said(book) == [("Mira", "fan was off")]


def test_a_hand_does_not_do_what_only_an_owner_may_by_naming_one(phone: Browser, clock: Clock, book: str) -> None:
    """It waits on the phone until the owner is at it."""
    for path in ("/note", "/owners-note"):
        answer = send(phone, "fan was off", clock, who="Ada", path=path)
        assert answer.status_code == 401
        assert answer.json()["error"]["kind"] == "shut"
    assert send(phone, "fan was off", clock, path="/owners-note").status_code == 403
    assert said(book) == []


def test_an_owner_at_the_phone_sends_what_a_hand_said_with_the_hands_rights(
    phone: Browser, ada: Person, clock: Clock, book: str
) -> None:
    phone.post("/lock")
    phone.post("/unlock", {"who": ada.id, "pin": PIN})
    assert send(phone, "fan was off", clock, who="Mira", path="/owners-note").status_code == 403
    assert said(book) == []


def test_who_does_not_share_the_phone_cannot_be_named(
    phone: Browser, people: SqlPeople, clock: Clock, book: str
) -> None:
    people.persons.add("Noor", "hand", password=GOOD + "!", at=clock.now, by="Ada")
    for who in ("Noor", "Nobody", "%00", "Mira%20"):
        assert send(phone, "fan was off", clock, who=who).status_code == 401
    assert said(book) == []


def test_who_was_taken_off_the_phone_cannot_be_named_any_more(
    phone: Browser, ada: Person, mira: Person, people: SqlPeople, clock: Clock, book: str
) -> None:
    people.persons.remove(mira.id, at=clock.now, by="Ada")
    phone.post("/unlock", {"who": ada.id, "pin": PIN})
    assert send(phone, "fan was off", clock, who="Mira").status_code == 401
    assert send(phone, "fan is on", clock, who="Ada").status_code == 200
    assert said(book) == [("Ada", "fan is on")]


def test_what_was_said_under_a_name_since_changed_is_not_lost(
    phone: Browser, mira: Person, people: SqlPeople, clock: Clock, book: str
) -> None:
    people.persons.rename(mira.id, "Mira Sol", at=clock.now, by="Ada")
    assert send(phone, "fan was off", clock, who="Mira").status_code == 200
    assert send(phone, "fan is on", clock, who="Mira%20Sol").status_code == 200
    assert said(book) == [("Mira", "fan was off"), ("Mira Sol", "fan is on")]


def test_a_person_may_be_named_by_id(phone: Browser, ada: Person, mira: Person, clock: Clock, book: str) -> None:
    phone.post("/lock")
    phone.post("/unlock", {"who": ada.id, "pin": PIN})
    assert send(phone, "fan was off", clock, who=mira.id).status_code == 200
    assert send(phone, "fan is on", clock, who=ada.id).status_code == 200
    assert said(book) == [("Mira", "fan was off"), ("Ada", "fan is on")]


def test_what_this_machine_kept_before_there_were_people_is_not_lost(phone: Browser, clock: Clock, book: str) -> None:
    assert send(phone, "fan was off", clock, who="grower").status_code == 200
    assert said(book) == [("Mira", "fan was off")]


def test_a_locked_phone_sends_nothing_until_somebody_gives_a_pin(
    phone: Browser, mira: Person, clock: Clock, book: str
) -> None:
    clock.on(minutes=6)
    name = str(uuid.uuid4())
    assert send(phone, "fan was off", clock, who="Mira", name=name).status_code == 401
    assert send(phone, "fan was off", clock, who="Mira", name=name).json()["error"]["rule"] == "Nobody is logged in."
    phone.post("/unlock", {"who": mira.id, "pin": "918273"})
    assert send(phone, "fan was off", clock, who="Mira", name=name).status_code == 200
    assert said(book) == [("Mira", "fan was off")]


def test_a_queue_that_empties_itself_does_not_keep_the_phone_open(phone: Browser, clock: Clock) -> None:
    said_at = clock.now
    for _ in range(4):
        clock.on(minutes=1.5)
        headers = {"Trayward-Id": str(uuid.uuid4()), "Trayward-Said": said_at.isoformat()}
        phone.client.post("/note", data={"text": "x"}, headers=headers | {"Trayward-Now": clock.now.isoformat()})
    assert phone.where("/me") == "/lock?next=/me"


def test_a_token_speaks_for_itself_alone(
    app: Starlette, people: SqlPeople, ada: Person, clock: Clock, book: str
) -> None:
    _, key = people.tokens.add("Packing scale", "hand", at=clock.now, by="Ada")
    program = TestClient(app, base_url="http://127.0.0.1", follow_redirects=False)
    bearer = {"Authorization": f"Bearer {key}", "Accept": "application/json"}
    assert program.post("/note", data={"text": "weighed"}, headers=bearer).status_code == 200
    times = {"Trayward-Id": str(uuid.uuid4()), "Trayward-Said": clock.now.isoformat()}
    named = program.post("/note", data={"text": "as Ada"}, headers=bearer | times | {"Trayward-Who": "Ada"})
    assert named.status_code == 401
    assert program.post("/owners-note", data={"text": "no"}, headers=bearer).status_code == 403
    assert said(book) == [("Packing scale", "weighed")]


def test_the_hasher_of_these_tests_is_not_the_farms() -> None:
    """A farm's takes what RFC 9106 recommends (tests/store/test_people.py); here only the rules are looked at."""
    assert Hasher()._parameters is None
