"""The stores in a real browser."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.web.browser.conftest import THREE_LOOKS, PageAt, Server, Shown, assert_for_everyone, shot
from trayward import Farm


def test_the_stores_fit_the_screen_and_pass_axe(page_at: PageAt) -> None:
    page = page_at("/stores")
    shot(page, "stores-phone")
    for folded in page.locator("details > summary").all():
        folded.click()
    assert_for_everyone(page, "stores-open", THREE_LOOKS)
    page.locator(".lotlist a").first.click()
    expect(page.get_by_role("heading", name="Weigh it")).to_be_visible()
    assert_for_everyone(page, "stores-lot", THREE_LOOKS)
    page.goto(page.url.partition("/stores")[0] + "/stores/receive")
    assert_for_everyone(page, "stores-receive", THREE_LOOKS)


def test_a_mistyped_weight_is_asked_about_mended_and_taken_back(
    page_at: PageAt, server: Server, complaints: Shown
) -> None:
    with Farm.open(str(server.book)) as farm:
        lot = next(lot for lot in farm.state(server.clock.at).seed.values() if lot.left_g > 100)
    page = page_at("/stores")
    page.locator(".lotlist a", has_text=lot.lot).click()
    page.get_by_label("Left, on the scale").fill(f"{10 * lot.left_g:.0f}")
    page.get_by_role("button", name="Weighed").click()
    expect(page.get_by_role("heading", name="Is this right?")).to_be_visible()
    assert all("422" in each for each in complaints)
    complaints.clear()
    page.get_by_label("Left, on the scale").fill(f"{lot.left_g - 2:.0f}")
    page.get_by_role("button", name="Weighed").click()
    expect(page.locator(".said")).to_contain_text(f"Weighed: {lot.lot}")
    with Farm.open(str(server.book)) as farm:
        assert farm.state(server.clock.at).seed[lot.lot].left_g == round(lot.left_g - 2)
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(".said")).to_contain_text("Taken back")
    with Farm.open(str(server.book)) as farm:
        assert farm.state(server.clock.at).seed[lot.lot].left_g == lot.left_g
