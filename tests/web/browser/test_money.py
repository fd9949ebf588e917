"""Money in a browser: the glance and an invoice, at both widths."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.web.browser.conftest import LIGHT, PageAt, assert_fits, assert_for_everyone, axe, shot


def test_the_glance_fits_and_can_be_read_by_everyone(page_at: PageAt) -> None:
    page = page_at("/money?by=customer")
    expect(page.locator("#money-sum")).to_contain_text("Left")
    assert_for_everyone(page, "money", LIGHT)


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
