"""The way in: log-in, sessions, the lock of a shared phone."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from starlette.applications import Starlette
from starlette.testclient import TestClient

from tests.web.people.conftest import GOOD, OTHER, PIN, Browser, Clock
from trayward.store.people import Person, SqlPeople
from trayward.web.people.keeper import local_path

New = Callable[..., Browser]


# Nobody yet -----------------------------------------------------------------------------------------------------------


def test_for_one_person_there_is_no_log_in(browser: New) -> None:
    one = browser()
    assert one.see("/about")
    assert one.where("/login") == "/"
    assert "answer this machine alone" in one.see("/me")


def test_without_people_only_this_machine_is_answered(app: Starlette) -> None:
    away = TestClient(app, base_url="http://192.0.2.7", follow_redirects=False)
    assert away.get("/people").status_code == 403


def test_the_first_becomes_owner_and_is_logged_in(browser: New, people: SqlPeople) -> None:
    one = browser()
    assert "you become the owner" in one.see("/people")
    fields = {"_from": "/people", "name": "Ada", "role": "owner", "password": GOOD, "again": GOOD}
    answer = one.post("/people/add", fields)
    assert (answer.status_code, answer.headers["location"]) == (303, "/people")
    assert "Ada" in one.see("/people")
    assert [person.role for person in people.persons.all()] == ["owner"]
    assert browser().where("/people") == "/login?next=/people"


def test_the_first_types_the_password_twice_the_same(browser: New, people: SqlPeople) -> None:
    fields = {"_from": "/people", "name": "Ada", "role": "owner", "password": GOOD, "again": OTHER}
    answer = browser().post("/people/add", fields)
    assert answer.status_code == 422
    assert "it is not what stands above" in answer.text
    assert 'value="Ada"' in answer.text
    assert GOOD not in answer.text
    assert not people.persons.anyone()


# Log-in ---------------------------------------------------------------------------------------------------------------


def test_a_stranger_is_sent_to_the_log_in_and_back(browser: New, ada: Person) -> None:
    one = browser()
    assert one.where("/about") == "/login?next=/about"
    answer = one.log_in("ada", GOOD, next="/about")
    assert (answer.status_code, answer.headers["location"]) == (303, "/about")
    assert "Ada" in one.see("/about")


def test_the_key_in_the_cookie_is_out_of_reach_of_scripts_and_other_sites(browser: New, ada: Person) -> None:
    set_cookie = browser().log_in("Ada").headers["set-cookie"]
    assert re.match(r"trayward=[\w-]{43}; HttpOnly; Max-Age=7776000; Path=/; SameSite=strict$", set_cookie)


def test_over_tls_the_cookie_is_bound_to_this_host(app: Starlette, ada: Person) -> None:
    one = TestClient(app, base_url="https://loft.example", follow_redirects=False)
    key = re.search(r'name="_key" value="([^"]+)', one.get("/login").text)
    assert key is not None
    answer = one.post("/login", data={"_key": key[1], "name": "Ada", "password": GOOD})
    assert answer.status_code == 303
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith("__Host-trayward=")
    assert "Secure" in cookie
    assert "Domain" not in cookie
    assert one.get("/me").status_code == 200
    # The same key under the name that plain HTTP uses could have been planted by somebody on the way.
    value = cookie.split(";")[0].removeprefix("__Host-trayward=")
    planted = TestClient(app, base_url="https://loft.example", follow_redirects=False, cookies={"trayward": value})
    assert planted.get("/me").status_code == 303


def test_who_comes_in_does_not_wait_for_the_farm(app: Starlette, browser: New, ada: Person, people: SqlPeople) -> None:
    """Somebody else may be having it for a while, for a round of a large farm."""
    people.persons.set_pin(ada.id, PIN, at=ada.since, by="Ada")
    one = browser()
    one.see("/login")
    office = app.state.house.office
    office.take()
    try:
        assert one.log_in("Ada").status_code == 303
        assert one.post("/lock").status_code == 303
        assert one.post("/unlock", {"who": ada.id, "pin": PIN}).status_code == 303
        assert one.post("/logout").status_code == 303
    finally:
        office.give_back()


def test_a_wrong_name_and_a_wrong_password_look_the_same(browser: New, mira: Person) -> None:
    said = []
    for name, password in (("Ada", OTHER), ("Nobody", GOOD)):
        answer = browser().log_in(name, password)
        assert answer.status_code == 401
        said.append(re.sub(r'value="[^"]*"', "", answer.text))
    assert said[0] == said[1]
    assert "do not fit each other" in said[0]


def test_a_wrong_log_in_keeps_the_name_and_never_the_password(browser: New, ada: Person) -> None:
    answer = browser().log_in("Ada", "not my password at all", next="/about")
    assert 'value="Ada"' in answer.text
    assert 'value="/about"' in answer.text
    assert "not my password" not in answer.text


def test_after_five_wrong_tries_the_next_waits_and_says_how_long(browser: New, ada: Person, clock: Clock) -> None:
    one = browser()
    for _ in range(5):
        assert one.log_in("Ada", OTHER).status_code == 401
    held = one.log_in("Ada", GOOD)
    assert (held.status_code, held.headers["retry-after"]) == (429, "15")
    assert "Too many wrong tries" in held.text
    clock.on(seconds=16)
    assert one.log_in("Ada", GOOD).status_code == 303


def test_a_log_in_from_another_site_is_refused(browser: New, ada: Person) -> None:
    one = browser()
    answer = one.post("/login", {"name": "Ada", "password": GOOD}, Origin="http://elsewhere.example")
    assert answer.status_code == 403
    assert one.where("/me") == "/login?next=/me"


@pytest.mark.parametrize(
    "next_", ["//elsewhere.example", "https://elsewhere.example", "/\\elsewhere.example", "javascript:alert(1)", ""]
)
def test_the_log_in_goes_on_to_our_own_pages_only(next_: str) -> None:
    assert local_path(next_) == "/"


def test_logging_out_ends_the_session_not_only_the_cookie(browser: New, desk: Browser, people: SqlPeople) -> None:
    key = desk.client.cookies["trayward"]
    answer = desk.post("/logout")
    assert answer.headers["location"] == "/login"
    assert people.sessions.seen(key, people.changes()[0].at) is None
    thief = browser()
    thief.client.cookies.set("trayward", key)
    assert thief.where("/me") == "/login?next=/me"


def test_an_idle_session_ends(desk: Browser, clock: Clock) -> None:
    clock.on(days=29)
    assert desk.see("/about")
    clock.on(days=29)
    assert desk.see("/about")
    clock.on(days=31)
    assert desk.where("/about") == "/login?next=/about"


def test_the_list_of_my_devices_says_what_each_is(desk: Browser, browser: New, ada: Person) -> None:
    phone = browser("Mozilla/5.0 (iPhone; CPU iPhone OS 19_0 like Mac OS X) AppleWebKit Version/19.0 Safari/604.1")
    phone.log_in("Ada")
    page = desk.see("/me")
    assert "Firefox on Linux" in page
    assert "Safari on iPhone" in page
    answer = desk.post("/me/end-others")
    assert answer.status_code == 303
    assert phone.where("/me") == "/login?next=/me"
    assert desk.see("/me")


def test_nobody_ends_anothers_session_under_their_own_page(
    desk: Browser, browser: New, mira: Person, people: SqlPeople, clock: Clock
) -> None:
    phone = browser()
    phone.log_in("Mira", OTHER)
    adas = people.sessions.all(clock.now, person=people.persons.named("Ada").id)[0]
    answer = phone.post("/me/end", {"session": adas.id})
    assert answer.status_code == 422
    assert desk.see("/me")


# The lock -------------------------------------------------------------------------------------------------------------


@pytest.fixture
def shared(browser: New, ada: Person, mira: Person, people: SqlPeople, clock: Clock) -> Browser:
    """A phone that Ada and Mira share; both have a PIN, and Mira is at it."""
    people.persons.set_pin(ada.id, PIN, at=clock.now, by="Ada")
    people.persons.set_pin(mira.id, "918273", at=clock.now, by="Mira")
    phone = browser()
    phone.log_in("Ada")
    phone.log_in("Mira", OTHER)
    assert "Mira" in phone.see("/me")
    return phone


def test_a_phone_left_alone_asks_who_is_there(shared: Browser, ada: Person, clock: Clock) -> None:
    clock.on(minutes=6)
    assert shared.where("/about") == "/lock?next=/about"
    page = shared.see("/lock?next=/about")
    assert "Who are you?" in page
    assert page.index(">Ada<") < page.index(">Mira<")
    assert 'inputmode="numeric"' in shared.see(f"/lock?who={ada.id}&next=/about")
    answer = shared.post("/unlock", {"who": ada.id, "pin": PIN, "next": "/about"})
    assert answer.headers["location"] == "/about"
    assert "<dd>Ada</dd>" in shared.see("/about")


def test_a_locked_phone_shows_and_takes_nothing(shared: Browser, clock: Clock) -> None:
    shared.post("/lock")
    assert shared.where("/people") == "/lock?next=/people"
    assert shared.post("/me/taste", {"language": "es"}).headers["location"] == "/lock"
    assert shared.get("/me/awake").status_code == 401
    assert shared.get("/live/now").status_code == 401
    clock.on(days=1)
    assert shared.where("/about") == "/lock?next=/about"


def test_looking_by_itself_does_not_keep_a_phone_open(shared: Browser, clock: Clock) -> None:
    """Pages left open look for news every few seconds; somebody's touch is what counts."""
    for _ in range(6):
        clock.on(minutes=1)
        shared.get("/about", Trayward_Live="1")
        shared.get("/about", Sec_Fetch_Mode="cors")
        shared.get("/me/awake", Trayward_Live="1")
    assert shared.where("/about") == "/lock?next=/about"


def test_a_touch_keeps_it_open(shared: Browser, clock: Clock) -> None:
    for _ in range(6):
        clock.on(minutes=1.5)
        answer = shared.client.post("/me/awake", headers={"Trayward-Script": "1", "Trayward-Live": "1"})
        assert answer.status_code == 200
    assert shared.see("/about")


def test_a_wrong_pin_says_so_and_after_five_it_takes_the_password(shared: Browser, ada: Person) -> None:
    shared.post("/lock")
    for _ in range(5):
        answer = shared.post("/unlock", {"who": ada.id, "pin": "0000"})
        assert answer.status_code == 401
        assert "That is not the PIN" in answer.text
    answer = shared.post("/unlock", {"who": ada.id, "pin": PIN})
    assert answer.status_code == 401
    assert 'name="pin"' not in answer.text
    answer = shared.post("/unlock", {"who": ada.id, "password": GOOD, "next": "/about"})
    assert answer.headers["location"] == "/about"
    assert "<dd>Ada</dd>" in shared.see("/about")
    shared.post("/lock")
    assert shared.post("/unlock", {"who": ada.id, "pin": PIN}).status_code == 303


def test_who_does_not_share_the_phone_cannot_unlock_it(shared: Browser, people: SqlPeople, clock: Clock) -> None:
    noor = people.persons.add("Noor", "owner", password=GOOD + "!", at=clock.now, by="Ada")
    people.persons.set_pin(noor.id, "5550", at=clock.now, by="Noor")
    shared.post("/lock")
    answer = shared.post("/unlock", {"who": noor.id, "pin": "5550"})
    assert answer.status_code == 200
    assert "Who are you?" in answer.text
    assert shared.post("/unlock", {"who": noor.id, "password": GOOD + "!"}).status_code == 200
    assert shared.where("/about") == "/lock?next=/about"


def test_logging_out_of_a_shared_phone_leaves_it_to_the_other(shared: Browser, ada: Person) -> None:
    assert shared.post("/logout").headers["location"] == "/lock"
    page = shared.see("/lock")
    assert "Ada" in page
    assert "Mira" not in page
    assert shared.post("/unlock", {"who": ada.id, "pin": PIN}).status_code == 303


def test_a_lock_without_a_session_is_the_log_in(browser: New, ada: Person) -> None:
    assert browser().where("/lock") == "/login"


# A person's own things ------------------------------------------------------------------------------------------------


def test_a_pin_takes_the_password_to_set(desk: Browser, people: SqlPeople, ada: Person) -> None:
    fields = {"_from": "/me", "_form": "pin", "pin": PIN, "current": "not my password"}
    answer = desk.post("/me/pin", fields)
    assert answer.status_code == 422
    assert "it is not your password" in answer.text
    assert not people.persons.get(ada.id).has_pin
    assert desk.post("/me/pin", fields | {"current": GOOD}).status_code == 303
    assert people.persons.get(ada.id).has_pin
    assert desk.post("/me/pin", {"none": "1", "current": GOOD}).status_code == 303
    assert not people.persons.get(ada.id).has_pin


def test_a_new_password_takes_the_old_one_and_logs_out_elsewhere(desk: Browser, browser: New) -> None:
    phone = browser()
    phone.log_in("Ada")
    fields = {"_from": "/me", "_form": "password", "current": OTHER, "password": OTHER}
    assert desk.post("/me/password", fields).status_code == 422
    answer = desk.post("/me/password", fields | {"current": GOOD, "password": "short"})
    assert answer.status_code == 422
    assert "it must have 10 to 200 characters" in answer.text
    assert desk.post("/me/password", fields | {"current": GOOD}).status_code == 303
    assert desk.see("/me")
    assert phone.where("/me") == "/login?next=/me"
    assert browser().log_in("Ada", OTHER).status_code == 303


def test_guessing_the_password_under_you_is_held_back_too(desk: Browser) -> None:
    answers = [desk.post("/me/pin", {"_from": "/me", "pin": PIN, "current": f"guess number {n}"}) for n in range(6)]
    assert "Too many tries" in answers[-1].text


def test_language_and_units_are_ones_own(desk: Browser, browser: New) -> None:
    assert desk.post("/me/taste", {"language": "es", "units": "us"}).status_code == 303
    assert '<html lang="es' in desk.see("/me")
    assert '<html lang="en' in browser().see("/login")
    assert desk.post("/me/taste", {"language": "xx", "_from": "/me"}).status_code == 422
