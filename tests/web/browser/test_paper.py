"""The page of sheets and labels in Chromium, at a phone's and a desk's width."""

from __future__ import annotations

from typing import Any

import pytest

from tests.web.browser.conftest import assert_fits, axe, shot


@pytest.mark.parametrize("width", ["phone", "desk"])
def test_the_page_fits_and_is_accessible(page_at: Any, width: str) -> None:
    page = page_at("/paper", width)
    page.locator("details").first.locator("summary").click()
    shot(page, f"paper-{width}")
    assert_fits(page)
    assert axe(page) == []


def test_the_round_leads_to_its_sheet(page_at: Any) -> None:
    page = page_at("/round", "phone")
    link = page.get_by_role("link", name="Print the round")
    response = page.request.get(page.url.replace("/round", "") + link.get_attribute("href"))
    assert response.headers["content-type"] == "application/pdf"
    assert response.body().startswith(b"%PDF")


@pytest.mark.parametrize("width", ["phone", "desk"])
def test_a_printed_sheet_is_entered_by_its_numbers(page_at: Any, width: str) -> None:
    page = page_at("/paper", width)
    page.request.get(page.url + "/round.pdf")
    page.get_by_label("Enter a sheet").fill("261125-0730")
    page.get_by_role("button", name="Enter it").click()
    page.get_by_role("heading", name="Sheet 261125-0730").wait_for()
    shot(page, f"paper-sheet-{width}")
    assert_fits(page)
    assert axe(page) == []
    first = page.locator("li.row").first
    words = first.locator("h2").inner_text()
    first.get_by_role("button").first.click()
    page.locator(".said").first.wait_for()
    assert page.url.endswith("name=261125-0730")
    assert page.locator("li.row").first.locator("h2").inner_text() != words
