"""People in a real browser: an owner lets a hand in, pairs a phone by its code, and sends it away again."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import zxingcpp
from argon2.profiles import CHEAPEST
from PIL import Image
from playwright.sync_api import Page, expect

from tests.web.browser.conftest import Shown, assert_fits, assert_for_everyone, axe, shot
from tests.web.conftest import MORNING, Clock
from trayward import Farm
from trayward.store.people import Hasher
from trayward.web.people.keeper import FarmPeople

PageAt = Callable[..., Page]

GOOD = "seven wet trays drip"
PIN = "7305"


@pytest.fixture
def people(book: Path) -> Iterator[FarmPeople]:
    """The people of this test's Lantern Loft: nobody yet."""
    kept = FarmPeople(str(book), hasher=Hasher(CHEAPEST))
    yield kept
    kept.close()


def camera(page: Page) -> str:
    """What a phone's camera reads off the screen."""
    seen = Image.open(io.BytesIO(page.locator(".code").screenshot()))
    (read,) = zxingcpp.read_barcodes(seen)
    return str(read.text)


def looks_well(page: Page, name: str) -> None:
    """Nothing for axe to find, nothing too wide or too small to tap; and a picture to look at."""
    shot(page, name)
    assert axe(page) == []
    assert_fits(page)


def opened(page_at: PageAt, path: str, wide: str = "phone", **more: str) -> Page:
    """A page in a browser of its own; the round behind it may take its time on a busy machine."""
    page = page_at(path, wide, **more)
    page.set_default_timeout(60_000)
    page.set_default_navigation_timeout(60_000)
    return page


def begin(page_at: PageAt, wide: str = "desk") -> Page:
    """Ada adds herself on this machine, and is logged in by that."""
    page = opened(page_at, "/people", wide)
    page.get_by_label("Your name").fill("Ada")
    page.get_by_label("Password", exact=True).fill(GOOD)
    page.get_by_label("The same password again").fill(GOOD)
    page.get_by_role("button", name="Add me as owner").click()
    expect(page.get_by_role("heading", name="Let somebody in")).to_be_visible()
    return page


def test_an_owner_pairs_a_hands_phone_and_sends_it_away(
    page_at: PageAt, book: Path, clock: Clock, complaints: Shown
) -> None:
    desk = begin(page_at)
    desk.get_by_label("Name", exact=True).fill("Mira")
    desk.get_by_role("button", name="Let them in").click()
    expect(desk.get_by_role("heading", name="Mira hand")).to_be_visible()
    desk.get_by_role("button", name="Pair a phone").click()
    address = camera(desk)

    phone = opened(page_at, "/about")
    expect(phone.get_by_role("heading", name="Log in")).to_be_visible()
    phone.goto(address)
    expect(phone.get_by_role("heading", name="Is this phone for Mira?")).to_be_visible()
    looks_well(phone, "people-join-390")
    phone.get_by_label("A PIN to choose").fill(PIN)
    phone.get_by_role("button", name="Yes, pair this phone").click()
    phone.wait_for_url(lambda url: "/pair/" not in url)

    with Farm.open(str(book)) as farm:
        noted = farm.note("fan on A2 was off", (), at=MORNING, by="Mira").kept[0].entry.id
    taken_back = phone.evaluate(
        """async (entry) => {
            const form = new FormData();
            form.append("entry", entry);
            const headers = {"Trayward-Script": "1", Accept: "application/json"};
            return (await fetch("/undo", {method: "POST", body: form, headers})).status;
        }""",
        noted,
    )
    assert taken_back == 200
    with Farm.open(str(book)) as farm:
        *_, last = farm.book.entries()
    assert (last.entry.kind, last.entry.by) == ("struck", "Mira")

    phone.goto(phone.url.split("/", 3)[0] + "//" + phone.url.split("/", 3)[2] + "/people")
    expect(phone.get_by_text("This is not yours to do here")).to_be_visible()
    # The page with the code came of a form, so it has no address to open again.
    desk.get_by_role("main").get_by_role("link", name="Mira").click()
    expect(desk.get_by_text("Chrome on Linux").first).to_be_visible()
    desk.get_by_role("button", name="Log out everywhere").click()
    expect(desk.get_by_text("Logged out on 1 device.")).to_be_visible()
    phone.goto(desk.url.split("/people")[0] + "/about")
    expect(phone.get_by_role("heading", name="Log in")).to_be_visible()
    # What the browser says of the page that was not Mira's, and of news that it may not hear any more.
    complaints[:] = [words for words in complaints if not {"401", "403"} & set(words.split())]


def test_a_phone_in_the_hand_is_locked_and_opened_by_a_pin(page_at: PageAt, clock: Clock, complaints: Shown) -> None:
    phone = begin(page_at, "phone")
    phone.goto(phone.url.replace("/people", "/me"))
    phone.get_by_text("Choose a PIN").click()
    phone.get_by_label("New PIN").fill(PIN)
    phone.get_by_label("Your password").fill(GOOD)
    phone.locator("form[action='/me/pin'] button").click()
    expect(phone.get_by_text("The PIN is set.")).to_be_visible()
    clock.forward(minutes=6)
    phone.goto(phone.url.replace("/me", "/about"))
    expect(phone.get_by_label("Your PIN")).to_be_focused()
    looks_well(phone, "people-lock-390")
    phone.get_by_label("Your PIN").fill("0000")
    phone.get_by_role("button", name="Go on").first.click()
    expect(phone.get_by_text("That is not the PIN")).to_be_visible()
    phone.get_by_label("Your PIN").fill(PIN)
    phone.get_by_role("button", name="Go on").first.click()
    expect(phone.get_by_role("heading", name="About Trayward")).to_be_visible()
    complaints[:] = [words for words in complaints if "401" not in words]


def test_a_page_left_open_goes_to_the_lock_by_itself(page_at: PageAt, clock: Clock, complaints: Shown) -> None:
    phone = begin(page_at, "phone")
    phone.goto(phone.url.replace("/people", "/me"))
    phone.get_by_text("Choose a PIN").click()
    phone.get_by_label("New PIN").fill(PIN)
    phone.get_by_label("Your password").fill(GOOD)
    phone.locator("form[action='/me/pin'] button").click()
    expect(phone.get_by_text("The PIN is set.")).to_be_visible()
    phone.goto(phone.url.replace("/me", "/about"))
    clock.forward(minutes=6)
    # As when somebody takes the phone out of a pocket.
    phone.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(phone.get_by_label("Your PIN")).to_be_visible()
    assert phone.url.endswith("/lock?next=%2Fabout")
    complaints[:] = [words for words in complaints if "401" not in words]


@pytest.mark.parametrize("wide", ["phone", "desk"])
def test_the_pages_of_people_read_well(
    page_at: PageAt, people: FarmPeople, clock: Clock, wide: str, complaints: Shown
) -> None:
    looks = ((wide, "light"), (wide, "dark"))
    first = opened(page_at, "/people", wide)
    assert_for_everyone(first, "people-first", looks)
    kept = people.needed
    ada = kept.persons.add("Ada", "owner", password=GOOD, at=clock.at, by="Ada")
    mira = kept.persons.add("Mira", "hand", password=None, at=clock.at, by="Ada")
    kept.tokens.add("Packing scale", "hand", at=clock.at, by="Ada")
    kept.sessions.begin(mira.id, "Firefox on Android", at=clock.at)
    page = opened(page_at, "/about", wide)
    assert_for_everyone(page, "people-login", looks)
    page.get_by_label("Your name").fill("ada")
    page.get_by_label("Password", exact=True).fill("not my password")
    page.get_by_role("button", name="Log in").click()
    expect(page.get_by_text("do not fit each other")).to_be_visible()
    assert_for_everyone(page, "people-login-wrong", looks)
    page.get_by_label("Password", exact=True).fill(GOOD)
    page.get_by_role("button", name="Log in").click()
    expect(page.get_by_role("heading", name="About Trayward")).to_be_visible()
    root = page.url.removesuffix("/about")
    for path, name in (("/people", "all"), (f"/people/{mira.id}", "one"), ("/me", "me")):
        page.goto(root + path)
        assert_for_everyone(page, f"people-{name}", looks)
    page.goto(f"{root}/people/{mira.id}")
    page.get_by_role("button", name="Pair a phone").click()
    expect(page.get_by_role("heading", name="Pair a phone with Mira")).to_be_visible()
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        assert camera(page).startswith(root + "/pair/")
    assert_for_everyone(page, "people-pair", looks)
    (mine,) = kept.sessions.all(clock.at, person=ada.id)
    code = kept.pairings.make(mira.id, at=clock.at, by="Ada")
    page.goto(f"{root}/pair/{code}")
    page.get_by_label("A PIN to choose").fill(PIN)
    page.get_by_role("button", name="Yes, pair this phone").click()
    page.wait_for_url(lambda url: "/pair/" not in url)
    kept.sessions.lock(mine.id)
    page.goto(root + "/about")
    expect(page.get_by_role("heading", name="Who are you?")).to_be_visible()
    assert_for_everyone(page, "people-who", looks)
    # A busy browser may ask once more for the page of the code that it has just used up.
    complaints[:] = [words for words in complaints if "401" not in words and "410" not in words]


def test_a_page_with_something_typed_says_that_nobody_is_logged_in_any_more(
    page_at: PageAt, people: FarmPeople, clock: Clock, complaints: Shown
) -> None:
    phone = begin(page_at, "phone")
    phone.goto(phone.url.replace("/people", "/orders/new"))
    phone.get_by_label("How much").first.fill("80 g")
    (mine,) = people.needed.sessions.all(clock.at)
    people.needed.sessions.end(mine.id, at=clock.at, by="Ada")
    phone.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(phone.locator("#logged-out")).to_contain_text("What you typed is not lost")
    assert phone.url.endswith("/orders/new"), "the half-typed page stays"
    expect(phone.get_by_label("How much").first).to_have_value("80 g")
    phone.evaluate("dispatchEvent(new Event('pagehide')); document.dispatchEvent(new Event('visibilitychange'))")
    expect(phone.locator("#connection")).to_contain_text("Logged out. This is as it was at 07:30.")
    complaints[:] = [words for words in complaints if "401" not in words]
