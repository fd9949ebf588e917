"""No signal, and who: log-in, log-out and another person while answers wait, and what pages are kept of whom."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from argon2.profiles import CHEAPEST
from playwright.sync_api import Page, expect

from tests.web.browser.conftest import PageAt, assert_fits, axe, shot
from tests.web.browser.no_signal import ROWS, Line, RunningClock, holds, kept_on, said_in, tap, texts, waits_until
from tests.web.browser.test_no_signal import all_landed, book, clock, complaints, line, ready, server
from trayward.store.people import Hasher
from trayward.web.people.keeper import FarmPeople

__all__ = ["book", "clock", "complaints", "line", "server"]

PASSWORDS = {"Ada": "seven wet trays drip", "Mira": "eleven dry mats hang"}


@pytest.fixture
def people(book: Path, clock: RunningClock) -> Iterator[FarmPeople]:
    keeper = FarmPeople(str(book), hasher=Hasher(CHEAPEST))
    keeper.needed.persons.add("Ada", "owner", password=PASSWORDS["Ada"], at=clock.at, by="Ada")
    keeper.needed.persons.add("Mira", "hand", password=PASSWORDS["Mira"], at=clock.at, by="Ada")
    yield keeper
    keeper.close()


def log_in(page: Page, name: str) -> None:
    page.goto(page.url.split("/", 3)[0] + "//" + page.url.split("/")[2] + f"/login?next={ROWS}")
    page.get_by_label("Your name").fill(name)
    page.get_by_label("Password").fill(PASSWORDS[name])
    page.get_by_role("button", name="Log in").click()
    expect(page.locator("h1")).to_have_text("Rows")


def kept_pages(page: Page) -> list[str]:
    script = (
        """async () => (await (await caches.open("trayward-pages")).keys()).map((key) => new URL(key.url).pathname)"""
    )
    found: list[str] = page.evaluate(script)
    return sorted(found)


@pytest.fixture
def phone(page_at: PageAt) -> Page:
    page = page_at("/login")
    log_in(page, "Ada")
    return ready(page)


def test_logged_out_it_waits_and_says_so_and_goes_out_after_the_log_in(phone: Page, line: Line, book: Path) -> None:
    line.down()
    for row in (1, 2, 3):
        tap(phone, row)
        expect(phone.locator(f"#row-{row} .kept-mark")).to_be_visible()
    phone.context.clear_cookies(name="trayward")  # the session has ended meanwhile
    line.up()
    phone.evaluate("dispatchEvent(new Event('online'))")
    expect(phone.locator("#unsent")).to_contain_text("Log in to send 3 answers")
    assert texts(book) == []
    phone.goto(line.url + ROWS)
    expect(phone).to_have_url(line.url + f"/login?next={ROWS}")
    expect(phone.locator("#unsent")).to_contain_text("not sent yet: 3")
    assert axe(phone) == []
    shot(phone, "no-signal-log-in-phone")
    log_in(phone, "Ada")
    all_landed(phone, book, 3)
    assert texts(book) == ["row 1: moist", "row 2: moist", "row 3: moist"]
    assert {entry.by for entry in said_in(book)} == {"Ada"}


def test_another_person_sends_their_own_and_what_was_said_before_waits_for_who_said_it(
    phone: Page,
    line: Line,
    book: Path,
) -> None:
    line.down()
    tap(phone, 1)
    expect(phone.locator("#row-1 .kept-mark")).to_be_visible()
    phone.context.clear_cookies(name="trayward")
    line.up()
    phone.goto(line.url + "/login")
    log_in(phone, "Mira")
    expect(phone.locator("#unsent")).to_contain_text("Waits until Ada is at this phone")
    tap(phone, 2)
    waits_until(lambda: texts(book) == ["row 2: moist"])
    phone.goto(line.url + "/unsent")
    row = phone.locator("#kept-waiting .row")
    expect(row).to_have_count(1)
    expect(row).to_contain_text("Ada")
    assert_fits(phone)
    assert axe(phone) == []
    shot(phone, "unsent-waits-for-ada-phone")
    log_in(phone, "Ada")
    all_landed(phone, book, 2)
    assert texts(book) == ["row 2: moist", "row 1: moist"]
    assert [entry.by for entry in said_in(book)] == ["Mira", "Ada"]


def test_logging_out_takes_the_kept_pages_but_not_what_waits(phone: Page, line: Line, book: Path) -> None:
    assert ROWS in kept_pages(phone)
    line.swallow = True
    tap(phone, 1)
    expect(phone.locator("#unsent")).to_contain_text("not sent yet: 1")
    phone.goto(line.url + "/me")
    phone.get_by_role("button", name="Log out here").click()
    phone.wait_for_url("**/login**")
    waits_until(lambda: kept_pages(phone) == [])
    line.down()
    phone.goto(line.url + ROWS)
    expect(phone.locator("h1")).to_have_text("This page needs a signal")
    expect(phone.locator("#row-1")).to_have_count(0)
    row = phone.locator("#kept-waiting .row")
    expect(row).to_contain_text("Row 1")
    expect(row).to_contain_text("Ada")
    assert axe(phone) == []
    shot(phone, "no-signal-needs-signal-phone")
    line.up()


def test_pages_of_who_was_here_before_are_not_shown_to_the_next(phone: Page, line: Line) -> None:
    phone.goto(line.url + "/unsent")
    ready(phone)
    assert {ROWS, "/unsent"} <= set(kept_pages(phone))
    phone.context.clear_cookies(name="trayward")
    log_in(phone, "Mira")
    ready(phone)
    whose = """async () => {
        const pages = await caches.open("trayward-pages");
        const kept = await Promise.all((await pages.keys()).map((key) => pages.match(key, { ignoreVary: true })));
        return kept.map((each) => each.headers.get("trayward-kept-who"));
    }"""
    waits_until(lambda: set(phone.evaluate(whose)) == {"Mira"})


def test_the_log_in_is_never_kept(phone: Page, line: Line) -> None:
    phone.context.clear_cookies(name="trayward")
    phone.goto(line.url + "/login")
    holds(phone, "async () => Boolean(await navigator.serviceWorker.ready)")
    line.down()
    phone.goto(line.url + "/login")
    expect(phone.locator("h1")).to_have_text("This page needs a signal")
    every = """async () => (await Promise.all((await caches.keys()).map(async (name) =>
        (await (await caches.open(name)).keys()).map((key) => new URL(key.url).pathname)))).flat()"""
    assert not [path for path in phone.evaluate(every) if path in ("/login", "/lock", "/me", "/people")]
    assert kept_on(phone) == []
