"""What every page has around it, in a real browser."""

from __future__ import annotations

import subprocess
import sys
from datetime import timedelta

import pytest
from playwright.sync_api import expect

from tests.web.browser.conftest import PageAt, Server, Shown, assert_for_everyone
from tests.web.conftest import Clock


@pytest.mark.parametrize("path", ["/more", "/about", "/nowhere"])
def test_the_first_pages_fit_the_screen_and_pass_axe(page_at: PageAt, complaints: Shown, path: str) -> None:
    assert_for_everyone(page_at(path), f"home-{path.strip('/')}")
    if path == "/nowhere":
        complaints.clear()  # the browser's own words about a 404


def test_a_page_shows_within_seconds_what_another_process_wrote(page_at: PageAt, server: Server, clock: Clock) -> None:
    page = page_at("/about")
    expect(page.locator("#page-moment")).to_contain_text("07:30")
    clock.forward(minutes=9)  # the page is fetched anew because of the entry alone, and is then of this moment
    words = f"""
from datetime import datetime
from trayward import Farm
at = datetime.fromisoformat({clock.at.isoformat()!r})
with Farm.open({str(server.book)!r}) as farm:
    farm.discard([farm.state(at).growing()[0].tray], "dropped", at=at, by="Ada", sure=True)
"""
    subprocess.run([sys.executable, "-c", words], check=True)
    expect(page.locator("#page-moment")).to_contain_text("07:39", timeout=8_000)


def test_the_page_says_when_the_server_is_gone_and_when_it_is_back(
    page_at: PageAt, server: Server, clock: Clock, complaints: Shown
) -> None:
    page = page_at("/about")
    server.stop()
    expect(page.locator("#connection")).to_contain_text("No signal", timeout=8_000)
    clock.at += timedelta(minutes=3)
    server.start()
    expect(page.locator("#connection")).to_have_text("", timeout=15_000)
    complaints.clear()  # the browser's own words about the lost connection


def test_a_keyboard_reaches_the_page_first(page_at: PageAt) -> None:
    page = page_at("/about")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the page"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
