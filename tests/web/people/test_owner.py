"""What owners do: let in, change, pair a phone by its camera, tokens, and the record of it."""

from __future__ import annotations

import io
import re
from collections.abc import Callable

import pytest
import zxingcpp
from PIL import Image, ImageDraw
from starlette.applications import Starlette
from starlette.testclient import TestClient

from tests.web.people.conftest import GOOD, OTHER, PIN, Browser, Clock, word_of
from trayward.store.people import Person, SqlPeople

New = Callable[..., Browser]

PATH = re.compile(r'<path[^>]*class="[^"]*"[^>]*d="([^"]+)"|<path[^>]*stroke="#000"[^>]*d="([^"]+)"')


def picture_of(page: str) -> Image.Image:
    """The code's drawing as a phone's camera sees it: segno draws each row of dark modules as strokes of width one."""
    svg = re.search(r'<svg[^>]*viewBox="0 0 (\d+) (\d+)"[^>]*>.*?</svg>', page, re.S)
    assert svg is not None
    size, scale = int(svg[1]), 8
    strokes = re.findall(r'<path[^>]*stroke[^>]*d="([^"]+)"', svg[0]) or re.findall(r'd="([^"]+)"[^>]*stroke', svg[0])
    image = Image.new("L", (size * scale, size * scale), 255)
    draw = ImageDraw.Draw(image)
    x = y = 0.0
    for command, numbers in re.findall(r"([Mmh])([-\d. ,]+)", strokes[-1]):
        given = [float(number) for number in re.findall(r"-?\d*\.?\d+", numbers)]
        if command == "M":
            x, y = given
        elif command == "m":
            x, y = x + given[0], y + given[1]
        else:
            box = [x * scale, (y - 0.5) * scale, (x + given[0]) * scale - 1, (y + 0.5) * scale - 1]
            draw.rectangle(box, fill=0)
            x += given[0]
    return image


def pair_page(desk: Browser, person: Person) -> str:
    """The page with a fresh code for somebody's phone."""
    answer = desk.post(f"/people/{person.id}/pair")
    assert answer.status_code == 200
    return str(answer.text)


def path_of(page: str) -> str:
    """The path that the code on a page opens."""
    (read,) = zxingcpp.read_barcodes(picture_of(page))
    assert read.format == zxingcpp.BarcodeFormat.QRCode
    assert read.text.startswith("http://127.0.0.1/pair/")
    return read.text.removeprefix("http://127.0.0.1")


# Pairing --------------------------------------------------------------------------------------------------------------


def test_a_phones_camera_reads_the_code_and_the_phone_is_in(desk: Browser, browser: New, mira: Person) -> None:
    path = path_of(pair_page(desk, mira))
    phone = browser("Mozilla/5.0 (Linux; Android 15) Chrome/140.0 Mobile")
    assert "Is this phone for Mira?" in phone.see(path)
    answer = phone.post(path)
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert "<dd>Mira</dd>" in phone.see("/about")
    assert "Chrome on Android" in desk.see(f"/people/{mira.id}")
    assert browser().get(path).status_code == 410


def test_looking_at_a_code_does_not_use_it_up(desk: Browser, browser: New, mira: Person) -> None:
    path = path_of(pair_page(desk, mira))
    for _ in range(3):
        assert browser().get(path).status_code == 200
    assert browser().post(path).status_code == 303
    late = browser().post(path)
    assert late.status_code == 410
    assert "opens nothing any more" in late.text


def test_a_code_lives_for_ten_minutes(desk: Browser, browser: New, mira: Person, clock: Clock) -> None:
    path = path_of(pair_page(desk, mira))
    clock.on(minutes=10)
    assert browser().post(path).status_code == 410


def test_a_hand_without_a_password_chooses_a_pin_while_pairing(desk: Browser, browser: New, people: SqlPeople) -> None:
    answer = desk.post("/people/add", {"_from": "/people", "name": "Noor", "role": "hand"})
    noor = people.persons.named("Noor")
    assert answer.headers["location"] == f"/people/{noor.id}"
    path = path_of(pair_page(desk, noor))
    phone = browser()
    refused = phone.post(path, {"pin": "1234"})
    assert refused.status_code == 422
    assert "one of the first that anybody would try" in refused.text
    assert phone.post(path, {"pin": PIN}).status_code == 303
    phone.post("/lock")
    assert phone.post("/unlock", {"who": noor.id, "pin": PIN}).status_code == 303
    assert "<dd>Noor</dd>" in phone.see("/about")


def test_a_second_person_on_the_same_phone_shares_it(desk: Browser, browser: New, mira: Person, ada: Person) -> None:
    phone = browser()
    phone.log_in("Mira", OTHER)
    path = path_of(pair_page(desk, ada))
    assert "It stays Mira's phone too" in phone.see(path)
    phone.post(path)
    assert "<dd>Ada</dd>" in phone.see("/about")
    phone.post("/lock")
    page = phone.see("/lock")
    assert "Ada" in page
    assert "Mira" in page


def test_on_a_shared_phone_who_has_neither_password_nor_pin_must_choose_one(
    desk: Browser, browser: New, mira: Person, people: SqlPeople, clock: Clock
) -> None:
    phone = browser()
    phone.log_in("Mira", OTHER)
    noor = people.persons.add("Noor", "hand", password=None, at=clock.now, by="Ada")
    path = path_of(pair_page(desk, noor))
    answer = phone.post(path)
    assert answer.status_code == 422
    assert "others use this phone too" in answer.text
    assert phone.post(path, {"pin": PIN}).status_code == 303


def test_a_code_is_for_its_phone_alone_and_kept_nowhere(desk: Browser, mira: Person) -> None:
    answer = desk.post(f"/people/{mira.id}/pair")
    assert answer.headers["cache-control"] == "no-store"
    assert "only this machine knows" in answer.text
    assert "/pair/" not in desk.see("/people")


def test_at_the_address_phones_use_the_code_says_that_address(app: Starlette, ada: Person) -> None:
    one = TestClient(app, base_url="https://loft.example", follow_redirects=False)
    key = re.search(r'name="_key" value="([^"]+)', one.get("/login").text)
    assert key is not None
    one.post("/login", data={"_key": key[1], "name": "Ada", "password": GOOD})
    page = one.post(f"/people/{ada.id}/pair", data={"_key": key[1]}).text
    (read,) = zxingcpp.read_barcodes(picture_of(page))
    assert read.text.startswith("https://loft.example/pair/")
    assert "only this machine knows" not in page


# People ---------------------------------------------------------------------------------------------------------------


def test_an_owner_lets_in_changes_and_lets_go(desk: Browser, browser: New, people: SqlPeople) -> None:
    fields = {"_from": "/people", "_form": "add", "name": "Mira", "role": "reader", "password": OTHER}
    assert desk.post("/people/add", fields).status_code == 303
    mira = people.persons.named("Mira")
    phone = browser()
    phone.log_in("Mira", OTHER)
    assert phone.get("/people").status_code == 403
    assert desk.post(f"/people/{mira.id}/role", {"role": "owner"}).status_code == 303
    assert phone.see("/people")
    assert desk.post(f"/people/{mira.id}/name", {"name": "Mira Sol"}).status_code == 303
    assert "<dd>Mira Sol</dd>" in phone.see("/about")
    assert word_of(desk.post(f"/people/{mira.id}/remove")) == "Mira Sol is out, on every device."
    assert phone.where("/about") == "/login?next=/about"
    assert phone.log_in("Mira Sol", OTHER).status_code == 401
    page = desk.see("/people")
    assert "removed Mira Sol" in page
    assert "renamed Mira to Mira Sol" in page


def test_what_will_not_do_is_said_beside_the_field_and_stays_typed(desk: Browser) -> None:
    fields = {"_from": "/people", "_form": "add", "name": "Mira", "role": "hand", "password": "wet trays"}
    answer = desk.post("/people/add", fields)
    assert answer.status_code == 422
    assert "it must have 10 to 200 characters" in answer.text
    assert 'value="Mira"' in answer.text
    assert "wet trays" not in answer.text


def test_the_last_owner_stays(desk: Browser, ada: Person) -> None:
    assert "The last owner stays" in desk.see(f"/people/{ada.id}")
    for act, fields in (("remove", {}), ("role", {"role": "hand"})):
        answer = desk.post(f"/people/{ada.id}/{act}", {"_from": f"/people/{ada.id}", **fields})
        assert answer.status_code == 422
        assert "the last owner cannot be removed" in answer.text


def test_a_lost_phone_is_logged_out_by_the_owner(
    desk: Browser, browser: New, mira: Person, people: SqlPeople, clock: Clock
) -> None:
    phone = browser()
    phone.log_in("Mira", OTHER)
    (session,) = people.sessions.all(clock.now, person=mira.id)
    assert desk.post("/people/end", {"session": session.id}).status_code == 303
    assert phone.where("/about") == "/login?next=/about"
    again = desk.post("/people/end", {"_from": "/people", "session": session.id})
    assert again.status_code == 422
    phone.log_in("Mira", OTHER)
    assert word_of(desk.post(f"/people/{mira.id}/end-all")) == "Logged out on 1 device."
    assert phone.where("/about") == "/login?next=/about"


def test_a_forgotten_password_and_pin_are_helped_with(
    desk: Browser, browser: New, mira: Person, people: SqlPeople, clock: Clock
) -> None:
    people.persons.set_pin(mira.id, PIN, at=clock.now, by="Mira")
    assert desk.post(f"/people/{mira.id}/pin").status_code == 303
    assert not people.persons.get(mira.id).has_pin
    assert desk.post(f"/people/{mira.id}/password", {"password": "nine cold lamps hum"}).status_code == 303
    assert browser().log_in("Mira", "nine cold lamps hum").status_code == 303


def test_an_owner_who_sets_their_own_password_here_stays_logged_in(desk: Browser, ada: Person) -> None:
    assert desk.post(f"/people/{ada.id}/password", {"password": OTHER}).status_code == 303
    assert desk.see("/people")


def test_after_how_long_devices_lock_is_the_owners_to_say(desk: Browser, people: SqlPeople) -> None:
    fields = {"lock_minutes": "2", "idle_days": "14", "most_days": "60"}
    assert desk.post("/people/settings", fields).status_code == 303
    assert [people.setting(name) for name in fields] == [2, 14, 60]
    answer = desk.post("/people/settings", {**fields, "lock_minutes": "999", "_from": "/people", "_form": "settings"})
    assert answer.status_code == 422
    assert "must lie in [0, 240]" in answer.text
    assert people.setting("lock_minutes") == 2


@pytest.mark.parametrize("nobody", ["0000000000000000", "%00", "%2e%2e%2fabout"])
def test_a_person_who_is_not_there_is_not_found(desk: Browser, nobody: str) -> None:
    assert desk.get(f"/people/{nobody}").status_code == 404


# Tokens ---------------------------------------------------------------------------------------------------------------


def test_a_token_is_shown_once_and_lets_a_program_in(desk: Browser, app: Starlette) -> None:
    answer = desk.post("/people/tokens/add", {"name": "Packing scale", "role": "reader"})
    assert answer.headers["cache-control"] == "no-store"
    found = re.search(r"trayward_[\w-]{43}", answer.text)
    assert found is not None
    assert found[0] not in desk.see("/people")
    program = TestClient(app, base_url="http://127.0.0.1", follow_redirects=False)
    bearer = {"Authorization": f"Bearer {found[0]}", "Accept": "application/json"}
    assert program.get("/live/now", headers=bearer).status_code == 200
    assert program.get("/about", headers=bearer).status_code == 200
    assert program.get("/people", headers=bearer).status_code == 403
    assert program.get("/about", headers=bearer | {"Authorization": f"Bearer {found[0]}x"}).status_code == 401
    page = desk.see("/people")
    token = re.search(r'name="token" value="(\w+)"', page)
    assert token is not None
    assert "Used" in page
    assert desk.post("/people/tokens/end", {"token": token[1]}).status_code == 303
    assert program.get("/about", headers=bearer).status_code == 401


def test_a_wrong_token_beside_a_good_cookie_is_refused(desk: Browser) -> None:
    assert desk.get("/about", Authorization="Bearer nonsense").status_code == 303
    assert desk.get("/about", Authorization="Basic QWRhOg==").status_code == 303


def test_a_picture_of_the_code_is_drawn_without_anything_the_policy_forbids(desk: Browser, mira: Person) -> None:
    page = pair_page(desk, mira)
    assert "style=" not in page
    assert "<script>" not in page
    assert "data:" not in page
    buffer = io.BytesIO()
    picture_of(page).save(buffer, "PNG")
    assert buffer.tell() > 300
