"""Learn in a browser: what was worked out appears by itself, charts fit the screen, a trial is begun."""

from __future__ import annotations

from typing import Any

import pytest

from tests.web.browser.conftest import PageAt, Server, assert_fits, axe, shot
from trayward import Farm

PAGES = ("/learn", "/learn/apart", "/learn/density", "/learn/promises", "/learn/trials")
LONG_MS = 120_000


@pytest.mark.parametrize("path", PAGES)
def test_what_was_worked_out_appears_by_itself_and_can_be_read_by_all(page_at: PageAt, path: str) -> None:
    page = page_at(path)
    page.locator(".working").first.wait_for(state="detached", timeout=LONG_MS)
    for fold in page.locator("details > summary").all():
        fold.click()
    assert axe(page) == []
    assert_fits(page)
    shot(page, f"{path.strip('/').replace('/', '-')}-phone-light")


@pytest.mark.parametrize(("wide", "scheme"), [("phone", "dark"), ("desk", "light"), ("desk", "dark")])
def test_charts_show_the_size_that_fits(page_at: PageAt, wide: str, scheme: Any) -> None:
    page = page_at("/learn", wide, color_scheme=scheme)
    page.locator(".working").first.wait_for(state="detached", timeout=LONG_MS)
    shown = page.locator(".drawn-phone svg" if wide == "phone" else ".drawn-desk svg").first
    other = page.locator(".drawn-desk svg" if wide == "phone" else ".drawn-phone svg").first
    assert shown.is_visible()
    assert not other.is_visible()
    assert axe(page) == []
    assert_fits(page)
    letters = page.evaluate(
        """() => [...document.querySelectorAll(".drawn svg text")].filter((each) => each.checkVisibility())
        .map((each) => each.getBoundingClientRect()).filter((box) => box.left < 0 || box.right > innerWidth).length"""
    )
    assert letters == 0, "every word of the chart is on the screen"
    shot(page, f"learn-{wide}-{scheme}")


def test_a_trial_is_kept_from_the_phone(page_at: PageAt, server: Server) -> None:
    page = page_at("/learn/trials")
    page.get_by_text("A trial of your own").click()
    page.get_by_label("Its name").last.fill("denser radish")
    page.get_by_label("Recipe", exact=True).select_option("radish on mesh mat")
    page.get_by_label("Levels to compare").fill("3; 3.5")
    page.get_by_label("Sowing days").fill("2")
    page.get_by_role("button", name="Keep this trial").click(timeout=LONG_MS)
    page.get_by_role("heading", name="denser radish").wait_for()
    shot(page, "learn-trial-phone")
    with Farm.open(str(server.book)) as farm:
        assert farm.state(server.clock.at).trials["denser radish"].levels == (3.0, 3.5)
