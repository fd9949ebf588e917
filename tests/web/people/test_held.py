"""A form filled in while the session ran out: what was typed goes through the log-in and stands on its page again."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape

from tests.web.people.conftest import GOOD, OTHER, PIN, Browser, Clock
from trayward.bootstrap import Farm
from trayward.store.people import Person, SqlPeople

New = Callable[..., Browser]
NEW_CUSTOMER = {"_from": "/orders/customers", "_form": "customer", "name": "Thimble Row Grocer", "note": "rear door"}


def held_in(page: str) -> str:
    """What the log-in page carries along."""
    found = re.search(r'name="held" value="([^"]*)"', page)
    assert found is not None
    return unescape(found[1])


def lapsed(one: Browser, people: SqlPeople, person: Person, clock: Clock) -> None:
    """Everybody's devices are logged out, as from another one."""
    people.sessions.end_all(person.id, at=clock(), by="Ada")


def customers(book: str, clock: Clock) -> tuple[str, ...]:
    with Farm.open(book) as farm:
        return tuple(farm.state(clock()).customers)


def test_what_was_typed_stands_on_its_page_again_after_the_log_in(
    desk: Browser, people: SqlPeople, ada: Person, clock: Clock, book: str
) -> None:
    desk.see("/orders/customers")
    lapsed(desk, people, ada, clock)
    answer = desk.post("/orders/customer", NEW_CUSTOMER)
    assert answer.status_code == 401
    assert "What you typed is not lost" in answer.text
    wrong = desk.log_in("Ada", OTHER, held=held_in(answer.text), next="/orders/customers")
    assert wrong.status_code == 401
    shown = desk.log_in("Ada", held=held_in(wrong.text), next="/orders/customers")
    assert shown.status_code == 200
    assert "You were logged out when this was sent. Look it over, then send it again." in shown.text
    assert 'value="Thimble Row Grocer"' in shown.text
    assert "Thimble Row Grocer" not in customers(book, clock)
    assert desk.post("/orders/customer", NEW_CUSTOMER).status_code == 303
    assert "Thimble Row Grocer" in customers(book, clock)


def test_a_shared_phone_that_locked_itself_asks_for_a_pin_and_shows_the_form_again(
    desk: Browser, people: SqlPeople, ada: Person, mira: Person, clock: Clock
) -> None:
    people.persons.set_pin(ada.id, PIN, at=clock(), by="Ada")
    desk.log_in("Mira", OTHER)
    desk.log_in("Ada")
    clock.on(minutes=20)
    names = desk.post("/orders/customer", NEW_CUSTOMER)
    assert "Who are you?" in names.text
    asked = desk.post("/unlock", {"held": held_in(names.text), "next": "/orders/customers", "who": ada.id})
    assert (asked.status_code, "Your PIN" in asked.text) == (200, True)
    shown = desk.post("/unlock", {"held": held_in(asked.text), "who": ada.id, "pin": PIN})
    assert 'value="Thimble Row Grocer"' in shown.text


def test_who_may_not_send_it_sees_what_was_typed_and_no_more(
    desk: Browser, people: SqlPeople, ada: Person, mira: Person, clock: Clock
) -> None:
    lapsed(desk, people, ada, clock)
    answer = desk.post("/orders/customer", NEW_CUSTOMER)
    shown = desk.log_in("Mira", OTHER, held=held_in(answer.text))
    assert "rear door" in shown.text
    assert 'action="/orders/customer"' not in shown.text


def test_no_secret_goes_along_and_a_form_of_another_site_neither(
    desk: Browser, people: SqlPeople, ada: Person, clock: Clock
) -> None:
    lapsed(desk, people, ada, clock)
    answer = desk.post("/people/add", {"_from": "/people", "name": "Juno", "role": "hand", "password": OTHER})
    assert "Juno" in held_in(answer.text)
    assert OTHER not in answer.text
    elsewhere = desk.post("/orders/customer", NEW_CUSTOMER, Origin="https://other.example")
    assert (elsewhere.status_code, elsewhere.headers["location"]) == (303, "/login")


def test_a_form_without_words_leads_back_to_its_page(
    desk: Browser, people: SqlPeople, ada: Person, clock: Clock
) -> None:
    lapsed(desk, people, ada, clock)
    answer = desk.post("/logout", {"_from": "/me"}, Referer="http://127.0.0.1/me")
    assert (answer.status_code, answer.headers["location"]) == (303, "/login?next=/me")
    assert desk.log_in("Ada", GOOD, next="/me").headers["location"] == "/me"


def test_what_a_stranger_made_up_opens_nothing(browser: New, ada: Person) -> None:
    one = browser()
    for held in ("{", '{"action": "/login", "words": []}', '{"action": "https://other.example/", "words": []}'):
        answer = one.log_in("Ada", held=held, next="/about")
        assert (answer.status_code, answer.headers["location"]) == (303, "/about")
