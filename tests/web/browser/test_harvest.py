"""The harvest in a real browser."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.web.browser.conftest import PageAt, Server, assert_for_everyone, shot
from trayward import Farm

PATIENCE_MS = 60_000
"""The first round of a fresh server holds the farm while it learns; on a busy machine that takes its time."""


def test_the_harvest_fits_the_screen_and_passes_axe(page_at: PageAt, server: Server) -> None:
    page = page_at("/harvest")
    assert server.app.state.house.work.wait(300)
    page.reload()
    assert_for_everyone(page, "harvest")
    page.goto(page.locator("#cuts .row-link").first.evaluate("each => each.href"))
    assert_for_everyone(page, "harvest-lot")


def test_a_tray_is_cut_beside_the_round(page_at: PageAt, server: Server) -> None:
    at = server.clock.at
    with Farm.open(str(server.book)) as farm:
        state = farm.state(at)
        tray = next(tray for tray in state.growing() if tray.stage == "light")
        grams = farm.outlook(at).standing(tray).grams
        farm.begin([tray.tray], "ready", at=at, sure=True)
    assert grams is not None
    page = page_at(f"/harvest?cut={tray.tray}")
    page.set_default_timeout(PATIENCE_MS)
    page.get_by_label(tray.tray).fill(f"{grams.likely:.0f}")
    page.locator(f"#cut-{tray.sowing}").get_by_role("button", name="Cut", exact=True).click()
    expect(page.locator("#cold")).to_contain_text(f"{grams.likely:.0f} g", timeout=PATIENCE_MS)
    with Farm.open(str(server.book)) as farm:
        cut = farm.state(at).tray(tray.tray)
    assert cut is not None
    assert cut.fate == "cut"


def test_an_odd_weight_is_asked_about_before_it_is_kept(page_at: PageAt, server: Server) -> None:
    at = server.clock.at
    with Farm.open(str(server.book)) as farm:
        tray = next(tray for tray in farm.state(at).growing() if tray.stage == "light")
        grams = farm.outlook(at).standing(tray).grams
        farm.begin([tray.tray], "ready", at=at, sure=True)
    assert grams is not None
    page = page_at(f"/harvest?cut={tray.tray}")
    page.set_default_timeout(PATIENCE_MS)
    assert server.app.state.house.work.wait(300)
    page.reload()
    form = page.locator(f"#cut-{tray.sowing}")
    page.get_by_label(tray.tray).fill(f"{grams.likely * 10:.0f}")
    form.get_by_role("button", name="Cut", exact=True).click()
    expect(form.locator(".doubt")).to_contain_text("Did you mean")
    expect(page.locator(".kept-mark")).to_have_count(0)
    shot(page, "harvest-odd-phone")
    form.get_by_role("button", name="Keep it as it is").click()
    expect(page.locator("#cold")).to_contain_text(f"{grams.likely * 10:.0f}"[-3:], timeout=PATIENCE_MS)
