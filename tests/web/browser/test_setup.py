"""First run in a real browser: from nothing to the first tray, on a phone, with a reload and a way back."""

from __future__ import annotations

from pathlib import Path
from time import monotonic

import pytest
from playwright.sync_api import Page, expect

from tests.web.browser.conftest import PageAt, Server, assert_fits, axe, shot
from trayward import Farm


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """Where a book will be; there is none yet."""
    return tmp_path / "new.sqlite"


def onward(page: Page, heading: str) -> None:
    page.get_by_role("button", name="Next").click()
    expect(page.locator("h1")).to_have_text(heading)


def looks_well(page: Page, name: str) -> None:
    assert_fits(page)
    assert axe(page) == []
    shot(page, f"setup-{name}")


def test_first_run_to_first_sowing_in_under_five_minutes(page_at: PageAt, server: Server) -> None:
    begun = monotonic()
    page = page_at("/")
    expect(page.locator("h1")).to_have_text("What do you have?")
    looks_well(page, "1-kind-phone")
    page.get_by_role("button", name="I have one shelf").click()
    page.get_by_label("Name of the farm").fill("Kitchen shelf")
    onward(page, "Units, time and money")
    # The browser's own zone is proposed.
    assert page.get_by_label("Time zone").input_value() == "Europe/Berlin"
    looks_well(page, "3-habits-phone")
    onward(page, "How many trays fit?")
    page.get_by_label("Trays side by side").fill("6")
    page.get_by_label("Daylight only").check()
    assert not page.get_by_label("Lamps over a shelf").is_visible()
    page.reload()
    assert page.get_by_label("Trays side by side").input_value() == "6"
    assert page.get_by_label("Daylight only").is_checked()
    page.get_by_label("Lamps", exact=True).check()
    looks_well(page, "4-places-phone")
    onward(page, "What do the seeds lie on?")
    onward(page, "What kit do you have?")
    page.get_by_role("button", name="Back").click()
    expect(page.locator("h1")).to_have_text("What do the seeds lie on?")
    onward(page, "What kit do you have?")
    onward(page, "What do you grow?")
    looks_well(page, "7-crops-phone")
    page.get_by_label("radish").uncheck()
    page.get_by_label("pea").check()
    onward(page, "What seed do you have?")
    page.get_by_label("Seed of pea").fill("2 kg")
    looks_well(page, "8-seed-phone")
    onward(page, "When do you look?")
    onward(page, "Who is it for?")
    onward(page, "Is it like this?")
    assert "6 trays have room in the light" in page.locator("main").inner_text()
    looks_well(page, "11-summary-phone")
    page.get_by_role("button", name="Begin").click()
    expect(page.locator("h1")).to_have_text("The first sowing")
    expect(page.get_by_role("link", name="pea")).to_have_attribute("aria-current", "page")
    looks_well(page, "12-first-phone")
    page.get_by_label("Trays", exact=True).fill("2")
    page.get_by_role("button", name="Done: sown").click()
    expect(page.get_by_text("2 trays sown.")).to_be_visible()
    assert monotonic() - begun < 300
    with Farm.open(str(server.book)) as farm:
        state = farm.state(server.clock.at)
        assert [tray.recipe for tray in state.growing()] == ["pea on mesh mat"] * 2
        assert state.settings is not None
        assert state.settings.timezone == "Europe/Berlin"


def test_without_scripts_it_goes_as_well(page_at: PageAt, server: Server) -> None:
    page = page_at("/setup", "desk", java_script_enabled=False)
    page.get_by_role("button", name="I have racks").click()
    page.get_by_label("Name of the farm").fill("Lantern Annex")
    for _ in range(8):
        page.get_by_role("button", name="Next").click()
    page.get_by_role("button", name="Next").click()
    expect(page.locator("h1")).to_have_text("Is it like this?")
    page.get_by_role("button", name="Begin").click()
    expect(page.locator("h1")).to_have_text("The first sowing")
    with Farm.open(str(server.book)) as farm:
        assert len(farm.state(server.clock.at).shelves) == 5


class TestLater:
    """Changes of the farm that is there."""

    @pytest.fixture
    def book(self, lantern_loft: Path, tmp_path: Path) -> Path:
        """A copy of Lantern Loft."""
        import shutil

        copied = tmp_path / "lantern-loft.sqlite"
        shutil.copyfile(lantern_loft, copied)
        return copied

    @pytest.mark.parametrize(
        "path",
        ["", "/farm", "/day", "/money", "/water", "/places", "/shelf/E1", "/kit", "/crops", "/crop/broccoli", "/file"],
    )
    def test_every_page_fits_and_is_for_everyone(self, page_at: PageAt, path: str) -> None:
        name = path.strip("/").replace("/", "-") or "overview"
        page = page_at("/setup" + path)
        looks_well(page, f"{name}-phone")
        page.set_viewport_size({"width": 1280, "height": 900})
        looks_well(page, f"{name}-desk")
        page.emulate_media(color_scheme="dark")
        looks_well(page, f"{name}-desk-dark")

    def test_a_shelf_is_changed_and_taken_back_at_once(self, page_at: PageAt, server: Server) -> None:
        page = page_at("/setup/places")
        page.get_by_role("link", name="E1").click()
        page.get_by_label("Trays side by side").fill("5")
        page.get_by_role("button", name="Keep").click()
        expect(page.get_by_text("Shelf E1 is kept.")).to_be_visible()
        page.get_by_role("button", name="Undo").click()
        expect(page.get_by_text("Taken back.")).to_be_visible()
        with Farm.open(str(server.book)) as farm:
            assert farm.state(server.clock.at).shelves["E1"].spots == 4
