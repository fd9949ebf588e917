"""Rules in a real browser, at a phone's width and a desk's."""

from __future__ import annotations

import pytest

from tests.web.browser.conftest import PageAt, assert_fits, axe, shot


@pytest.mark.parametrize("device", ["phone", "desk"])
def test_it_works(page_at: PageAt, device: str) -> None:
    page = page_at("/rules", device)
    page.get_by_label("Where is the farm?").select_option("US")
    page.get_by_text("Sales and buyers").click()
    page.get_by_label("Produce sold a year").fill("30000")
    page.get_by_role("button", name="Show what follows").click()
    page.get_by_role("heading", name="What follows").wait_for()
    assert axe(page) == []
    assert_fits(page)
    shot(page, f"rules-{device}")
