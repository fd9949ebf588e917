"""Making room by stacking in a real browser: seen at a phone's width, and done with one tap."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.web.browser.conftest import PageAt, Server, assert_for_everyone
from tests.web.racks.test_stacking import full_loft
from trayward import Farm


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return full_loft(tmp_path / "loft.sqlite")


def test_trays_are_stacked_from_the_row_that_finds_no_room(page_at: PageAt, server: Server) -> None:
    page = page_at("/round")
    row = page.locator("li.row", has=page.locator(".no-room"))
    expect(row).to_contain_text("If it is ready, there is too little room.")
    assert_for_everyone(page, "round-no-room", looks=(("phone", "light"), ("desk", "dark")))
    row.get_by_role("button", name="Stack it").click()
    expect(page.locator(".no-room")).to_have_count(0)
    page.locator("li.row", has_text="D1.1a, D1.1b").get_by_role("button", name="Yes, ready").click()
    expect(page.locator("#round-done")).to_contain_text("1 answer in this round")
    with Farm.open(str(server.book)) as farm:
        spots = {tray.spot for tray in farm.state(server.clock.at).growing() if tray.stage == "blackout"}
    assert spots == {"D1.1a", "D1.2a"}
    page.goto(f"{server.url}/racks")
    page.locator("#racks-loose summary").click()
    expect(page.locator("#racks-loose")).to_contain_text("Stack these")
    assert_for_everyone(page, "racks-loose", looks=(("phone", "light"),))
