"""Money in a browser: the glance and an invoice, at both widths."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.web.browser.conftest import PageAt, assert_fits, axe, shot


@pytest.mark.parametrize("width", ["phone", "desk"])
def test_the_glance_fits_and_can_be_read_by_everyone(page_at: PageAt, width: str) -> None:
    page = page_at("/money?by=customer", width)
    expect(page.locator("#money-sum")).to_contain_text("Left")
    assert axe(page) == []
    assert_fits(page)
    shot(page, f"money-{width}")


@pytest.mark.parametrize("width", ["phone", "desk"])
def test_an_invoice_is_made_from_the_first_look_to_the_whole(page_at: PageAt, width: str) -> None:
    page = page_at("/money/billing", width)
    page.get_by_role("button", name="Keep", exact=True).click()
    page.goto(page.url.split("/money")[0] + "/money/invoices")
    page.get_by_role("button", name="Make the invoice").first.click()
    expect(page.locator("h1")).to_contain_text("Invoice 0001")
    assert axe(page) == []
    assert_fits(page)
    shot(page, f"invoice-{width}")
    page.goto(page.url.split("/money")[0] + "/money/invoices")
    assert axe(page) == []
    assert_fits(page)
    shot(page, f"invoices-{width}")
