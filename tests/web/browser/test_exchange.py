"""The pages of exchange on a phone and at a desk: a calendar is made, its square shown."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.web.browser.conftest import assert_fits, axe, shot

WIDTHS = ("phone", "desk")


@pytest.mark.parametrize("width", WIDTHS)
def test_a_calendar_is_made_and_its_square_shown(page_at: Callable[..., Page], width: str) -> None:
    page = page_at("/calendar", width)
    shot(page, f"calendar-{width}")
    assert axe(page) == []
    assert_fits(page)
    page.get_by_role("button", name="Make").click()
    expect(page.get_by_role("heading", name="Your calendar")).to_be_visible()
    expect(page.get_by_role("img", name="Code with the address of your calendar")).to_be_visible()
    shot(page, f"calendar-made-{width}")
    assert axe(page) == []
    assert_fits(page)
    page.get_by_role("link", name="Calendar", exact=True).first.click()
    expect(page.get_by_text("You have one, since")).to_be_visible()


@pytest.mark.parametrize("width", WIDTHS)
def test_tracing_events_are_saved_as_a_file(page_at: Callable[..., Page], width: str) -> None:
    page = page_at("/exchange", width)
    shot(page, f"exchange-{width}")
    assert axe(page) == []
    assert_fits(page)
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save the file").click()
    assert saved.value.suggested_filename.endswith(".jsonld")
