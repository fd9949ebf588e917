"""Tracing in a real browser: from a code to the customers, and a recall kept."""

from __future__ import annotations

import pytest

from tests.web.browser.conftest import PageAt, Server, assert_fits, axe, shot
from trayward import Farm
from trayward.codes.lot import coded


@pytest.fixture
def sold(server: Server) -> str:
    """A harvest lot of which something went to a customer."""
    with Farm.open(str(server.book)) as farm:
        names = reversed(farm.state(server.clock.at).harvests)
        return next(n for n in names if farm.trace(f"harvest:{n}", at=server.clock.at).names("customer"))


@pytest.mark.parametrize(("wide", "scheme"), [("phone", "light"), ("phone", "dark"), ("desk", "light")])
def test_a_code_leads_to_its_trace_and_to_a_recall_that_is_kept(
    page_at: PageAt, sold: str, wide: str, scheme: str
) -> None:
    page = page_at("/trace", wide, color_scheme=scheme)
    page.get_by_label("Code or name").fill(coded(sold))
    page.get_by_role("button", name="Trace").click()
    page.get_by_role("heading", name="Where the amounts are").wait_for()
    page.get_by_text("What the trays went through").click()
    shot(page, f"trace-{wide}-{scheme}")
    assert_fits(page)
    assert axe(page) == []
    page.get_by_role("link", name="Recall sheet").click()
    page.get_by_role("heading", name="Whom to call").wait_for()
    for folded in page.locator("details > summary").all():
        folded.click()
    shot(page, f"recall-{wide}-{scheme}")
    assert_fits(page)
    assert axe(page) == []
    page.get_by_label("Why").fill("yearly exercise")
    page.get_by_role("button", name="Keep it in the book").click()
    page.get_by_text("Recalls tried out").wait_for()
    assert page.get_by_text("yearly exercise").count()
