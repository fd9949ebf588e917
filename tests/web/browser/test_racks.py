"""The racks and a tray's page in a real browser."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.web.browser.conftest import PageAt, Server, assert_for_everyone, shot
from trayward import Farm
from trayward.farm.spots import free_spots, stage_of
from trayward.farm.state import FarmState, Tray

PATIENCE_MS = 60_000
"""The first round of a fresh server holds the farm while it learns; on a busy machine that takes its time."""


def state_of(server: Server) -> FarmState:
    with Farm.open(str(server.book)) as farm:
        return farm.state(server.clock.at)


def lit_tray(server: Server) -> Tray:
    return next(tray for tray in state_of(server).growing() if tray.stage == "light" and tray.spot)


def test_the_racks_fit_the_screen_and_pass_axe(page_at: PageAt, server: Server) -> None:
    tray = lit_tray(server)
    for path, name in (
        ("/racks", "racks"),
        ("/racks?as=list", "racks-list"),
        ("/racks?on=2026-12-05", "racks-ahead"),
        (f"/racks?move={tray.tray}", "racks-move"),
        (f"/tray/{tray.tray}", "tray"),
    ):
        assert_for_everyone(page_at(path), name)


def test_a_tray_moves_by_two_taps(page_at: PageAt, server: Server) -> None:
    state, tray = state_of(server), lit_tray(server)
    stage = stage_of(state, tray)
    assert stage is not None
    spot = free_spots(state, "lit", stage.stack)[0]
    page = page_at("/racks")
    page.set_default_timeout(PATIENCE_MS)
    page.get_by_role("button", name="Move trays").click()
    page.locator(f'[data-tray="{tray.tray}"]').click()
    expect(page.locator("#move-tool [role=status]")).to_contain_text(tray.tray)
    dark = page.locator('[data-kind="dark"][data-spot].suits')
    assert dark.count() == 0
    assert page.locator('[data-kind="lit"][data-spot].suits').count() == len(free_spots(state, "lit", 1))
    shot(page, "racks-tapped-phone")
    page.locator(f'[data-spot="{spot}"]').click()
    expect(page.locator(f'[data-tray="{tray.tray}"]')).to_contain_text(spot, timeout=PATIENCE_MS)
    assert state_of(server).trays[tray.tray].spot == spot


def test_a_second_tap_and_escape_let_go(page_at: PageAt, server: Server) -> None:
    tray = lit_tray(server)
    page = page_at("/racks")
    page.set_default_timeout(PATIENCE_MS)
    page.get_by_role("button", name="Move trays").click()
    cell = page.locator(f'[data-tray="{tray.tray}"]')
    cell.click()
    assert page.locator(".suits").count() > 0
    cell.click()
    assert page.locator(".suits").count() == 0
    cell.click()
    page.keyboard.press("Escape")
    assert page.locator(".suits, .chosen").count() == 0
    cell.click()
    expect(page).to_have_url(f"{server.url}/tray/{tray.tray}")


def test_a_tray_moves_without_scripts(page_at: PageAt, server: Server) -> None:
    tray = lit_tray(server)
    page = page_at(f"/tray/{tray.tray}", java_script_enabled=False)
    page.get_by_text("Move it", exact=True).first.click()
    page.get_by_role("link", name="Choose on the racks").click()
    button = page.locator("button.suits").first
    spot = button.get_attribute("value")
    button.click()
    expect(page.get_by_text(f"stands on {spot} now")).to_be_visible()
    assert state_of(server).trays[tray.tray].spot == spot


def test_another_phones_move_shows_by_itself(page_at: PageAt, server: Server) -> None:
    state, tray = state_of(server), lit_tray(server)
    spot = free_spots(state, "lit", 1)[0]
    page = page_at("/racks")
    page.set_default_timeout(PATIENCE_MS)
    with Farm.open(str(server.book)) as farm:
        farm.move({tray.tray: spot}, at=server.clock.at, by="Ada", sure=True)
    expect(page.locator(f'[data-tray="{tray.tray}"]')).to_contain_text(spot, timeout=PATIENCE_MS)


def test_a_note_on_a_tray_and_its_strike(page_at: PageAt, server: Server) -> None:
    tray = lit_tray(server)
    page = page_at(f"/tray/{tray.tray}")
    page.set_default_timeout(PATIENCE_MS)
    page.get_by_text("Say what you see").click()
    page.get_by_label("Note").fill("leans to the lamp")
    page.get_by_role("button", name="Keep", exact=True).click()
    line = page.locator(".story li", has_text="leans to the lamp")
    expect(line).to_have_count(1, timeout=PATIENCE_MS)
    line.locator("summary").click()
    line.get_by_label("What was wrong").fill("it was its neighbour")
    line.get_by_role("button", name="Strike it").click()
    expect(page.locator(".story li.struck", has_text="leans to the lamp")).to_have_count(1, timeout=PATIENCE_MS)
