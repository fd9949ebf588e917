"""The short word after an answer, in a real browser."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from tests.web.browser.conftest import PageAt, shot


def test_a_count_that_was_kept_is_not_said_twice(page_at: PageAt) -> None:
    page = page_at("/round")
    row = page.locator('article:has(button:text-is("Washed")), li:has(button:text-is("Washed"))').last
    row.locator("button", has_text=re.compile("^Washed$")).first.click()
    strip = page.locator("#kept-strip .said p").first
    expect(strip).to_contain_text(re.compile(r"\d+ x .+ washed"))
    expect(strip).not_to_contain_text("Washed")
    shot(page, "word-after-washing-phone")
