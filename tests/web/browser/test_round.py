"""A whole day on the round, in a real browser: look, turn, cut with the pad, strip, wash, sanitise, pack, deliver."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from math import log
from pathlib import Path
from random import Random
from urllib.request import urlopen

import msgspec
import pytest
from playwright.sync_api import Locator, Page, expect

from tests.web.browser.conftest import PATIENCE_MS, PageAt, Server, assert_fits, assert_for_everyone, axe, shot
from tests.web.conftest import MORNING, Clock
from trayward import Farm
from trayward.farm.entries import Cut, Delivered, Packed, Sanitised, SowingMade, StageChanged, Stripped, Washed
from trayward.outlook.doubt import OF_WEIGHT, bounds_of, suspect
from trayward.outlook.types import Range

MINUTE = timedelta(minutes=1)


@pytest.fixture
def book(lantern_loft: Path, tmp_path: Path) -> Path:
    """Lantern Loft on a day with everything: two trays side by side to cut, a plan with sowings, kit to sanitise."""
    import shutil

    copied = tmp_path / "lantern-loft.sqlite"
    shutil.copyfile(lantern_loft, copied)
    with Farm.open(str(copied)) as farm:
        at = MORNING - 10 * MINUTE
        farm.begin(["261117B.1", "261117B.2"], "ready", at=at, sure=True)
        cover = farm.state(at).kit["cover"].pool
        farm.set_kit(msgspec.structs.replace(cover, sanitise=True), at=at)
    return copied


@pytest.fixture(autouse=True)
def learned(server: Server) -> None:
    """The first look at the round learns from all trays there were, which takes seconds; tests need not wait for it."""
    with urlopen(server.url + "/round", timeout=180) as page:
        assert page.status == 200


def row(page: Page, name: str) -> Locator:
    return page.locator(f'li.row:has(form[data-row^="{name}"])').first


def tap(page: Page, name: str, answer: str, clock: Clock) -> None:
    """Tap an answer of a row, and wait until the row is gone or told to be kept."""
    clock.forward(minutes=1)
    found = row(page, name)
    found.locator(f'button[value="{answer}"]').first.click()
    page.wait_for_load_state("networkidle")


def said(server: Server, kind: type, since: datetime) -> list[object]:
    with Farm.open(str(server.book)) as farm:
        head = farm.book.head().seq
        entries = [kept.entry for kept in farm.book.entries(after=head - 60)]
    return [entry.body for entry in entries if isinstance(entry.body, kind) and entry.at >= since]


def landed(server: Server, kind: type, since: datetime, page: Page, count: int = 1) -> list[object]:
    """What was said of a kind since; waits until it is in the book, as a phone sends by itself."""
    for _ in range(PATIENCE_MS // 100):
        found = said(server, kind, since)
        if len(found) >= count:
            return found
        page.wait_for_timeout(100)
    pytest.fail(f"no {kind.__name__} was kept")


def test_a_day_on_the_round(page_at: PageAt, server: Server, clock: Clock) -> None:
    began = clock.at
    page = page_at("/round", has_touch=True)
    expect(page.locator("h1")).to_contain_text("Round")
    assert_fits(page)
    assert axe(page) == []
    shot(page, "round-phone")

    tap(page, "look-261121A", "ready", clock)  # the morning's look: broccoli goes to the light
    changed = landed(server, StageChanged, began, page)[0]
    assert changed.stage == "light"  # type: ignore[attr-defined]
    expect(row(page, "look-261121A").locator('button[value="ready"]:visible')).to_have_count(0)

    tap(page, "turn-261124E", "done", clock)  # soaked sunflower goes under its cover
    assert landed(server, StageChanged, began, page, 2)[1].stage == "germinate"  # type: ignore[attr-defined]

    weigh(page, clock)
    cut = landed(server, Cut, began, page)[0]
    assert [tray.grams for tray in cut.trays] == [171.5, 160.0]  # type: ignore[attr-defined]

    for name, answer, kind in (("strip-261117B", "done", Stripped), ("wash-", "done", Washed)):
        page.goto(server.url + "/round")
        tap(page, name, answer, clock)
        landed(server, kind, began, page)

    page.goto(server.url + "/round")
    sanitising = row(page, "sanitise-cover")
    sanitising.get_by_label("With what, by its label").fill("peroxyacetic acid")
    sanitising.get_by_label(re.compile("Strength")).fill("80")
    tap(page, "sanitise-cover", "done", clock)
    kept = landed(server, Sanitised, began, page)[0]
    assert (kept.agent, kept.strength_ppm) == ("peroxyacetic acid", 80.0)  # type: ignore[attr-defined]

    page.goto(server.url + "/round")
    tap(page, "deliver-moth", "done", clock)
    assert landed(server, Delivered, began, page)[0].customer == "Moth & Marrow"  # type: ignore[attr-defined]

    strike(page, server)
    shot(page, "round-phone-evening")


def weigh(page: Page, clock: Clock) -> None:
    """Two trays on the scale, with the keys under the thumb; the first weight is mistyped at first."""
    clock.forward(minutes=1)
    pad = page.locator('li.row:has(form[data-row^="cut-261117B"]) [data-pad]')
    inputs, keys = pad.locator(".scale input"), page.locator(".keys button")

    def type_figures(figures: str) -> None:
        for figure in figures:
            keys.get_by_text(figure, exact=True).tap()

    inputs.first.tap()
    type_figures("1715")
    keys.get_by_text("Next", exact=True).tap()
    expect(pad.locator(".doubt").first).to_contain_text("Did you mean 171.5 g?")
    shot(page, "round-pad-phone")
    inputs.first.tap()
    page.get_by_role("button", name="Take the last figure away").tap()
    type_figures(".5")
    keys.get_by_text("Next", exact=True).tap()
    expect(pad.locator(".doubt").first).to_be_hidden()
    type_figures("160")
    expect(pad.locator("[data-total]")).to_have_text("331.5 g")
    page.reload()  # the phone was put away: what was weighed is still there
    expect(inputs.first).to_have_value("171.5")
    expect(pad.locator("[data-total]")).to_have_text("331.5 g")
    pad.locator('button[value="cut"]').tap()


def strike(page: Page, server: Server) -> None:
    """The wrong entry of the day, taken back."""
    page.goto(server.url + "/round")
    page.locator("#done-list > summary").click()
    done = page.locator("#done-list .done-row").filter(has_text="261121A.2 and 261121A.1 looked at: ready")
    done.get_by_role("button", name="Take back").click()
    page.wait_for_load_state("networkidle")
    for _ in range(PATIENCE_MS // 100):
        with Farm.open(str(server.book)) as farm:
            if farm.state(server.clock.at).trays["261121A.1"].stage == "blackout":
                return
        page.wait_for_timeout(100)
    pytest.fail("the answer was not taken back")


def test_what_is_planned_is_sown_and_what_is_cut_is_packed(page_at: PageAt, server: Server, clock: Clock) -> None:
    """The kept plan has something to sow; a punnet is filled from what was cut."""
    began = clock.at
    with Farm.open(str(server.book)) as farm:
        farm.keep_plan(farm.plan(clock.at), at=clock.at)
        sow = next((row for row in farm.round(clock.at).rows if row.kind == "sow"), None)
        pack = next((row for row in farm.round(clock.at).rows if row.kind == "pack"), None)
    page = page_at("/round")
    if sow is not None:
        tap(page, sow.row, "done", clock)
        body = landed(server, SowingMade, began, page)[0]
        assert [tray.spot for tray in body.trays] == list(sow.spots)  # type: ignore[attr-defined]
    if pack is not None:
        page.goto(server.url + "/round")
        tap(page, pack.row, "done", clock)
        assert landed(server, Packed, began, page)[0].packs == pack.count  # type: ignore[attr-defined]
    assert sow is not None or pack is not None


@pytest.mark.parametrize("wide", ["phone", "desk"])
def test_the_round_fits_the_screen_and_passes_axe_with_all_of_it_open(page_at: PageAt, wide: str) -> None:
    page = page_at("/round", wide)
    shot(page, f"round-{wide}")
    page.evaluate("document.querySelectorAll('details').forEach((each, n) => { if (n < 12) each.open = true })")
    assert_for_everyone(page, "round-open", ((wide, "light"), (wide, "dark")))


def test_the_pad_in_spanish_types_and_shows_a_comma_and_its_keys_hold_their_words(page_at: PageAt) -> None:
    page = page_at("/round", has_touch=True, locale="es-ES")
    pad = page.locator('li.row:has(form[data-row^="cut-261117B"]) [data-pad]')
    pad.locator(".scale input").first.tap()
    keys = page.locator(".keys button")
    narrow = "all => all.filter((each) => each.scrollWidth > each.clientWidth).map((each) => each.textContent)"
    assert keys.evaluate_all(narrow) == []
    for figure in "17,5":
        keys.get_by_text(figure, exact=True).tap()
    keys.get_by_text("Siguiente", exact=True).tap()
    expect(pad.locator("[data-total]")).to_have_text("17,5 g")
    expect(pad.locator(".doubt").first).to_contain_text("17,5 g")


def test_a_row_answered_on_another_phone_goes_from_this_one(page_at: PageAt, server: Server, clock: Clock) -> None:
    page = page_at("/round")
    expect(row(page, "look-261121A")).to_be_visible()
    with Farm.open(str(server.book)) as farm:
        farm.answer_row(farm.row("look-261121A-D1", clock.at), cue="not yet", at=clock.at, by="Ada")
    expect(page.locator('form[data-row="look-261121A-D1"]')).to_have_count(0, timeout=PATIENCE_MS)
    expect(page.locator("#done-list")).to_contain_text("Ada, 07:30")


def test_without_scripts_a_row_is_answered_by_its_form(page_at: PageAt, server: Server, clock: Clock) -> None:
    began = clock.at
    page = page_at("/round", java_script_enabled=False)
    row(page, "look-261121A").locator('button[value="ready"]').click()
    expect(page.locator(".said")).to_contain_text("now light, to E4.1 and E4.4")
    page.locator('.said button:has-text("Undo")').click()
    expect(page.locator(".said")).to_contain_text("Taken back")
    cut = row(page, "cut-261113A")
    cut.locator(".scale input").fill("166")
    cut.locator('button[value="cut"]').click()
    assert said(server, Cut, began)


def test_the_page_doubts_a_weight_as_the_desk_does(page_at: PageAt) -> None:
    """The rule is written twice, as a page without signal has no desk to ask: a thousand weights say that it is one."""
    page, chance = page_at("/round"), Random(7)
    expected = [
        Range(low=70.0, likely=95.0, high=130.0),
        Range(low=140.0, likely=165.0, high=200.0, most=(90.0, 290.0)),
    ]
    weights = [round(95.0 * 10 ** chance.uniform(-3, 3), 2) for _ in range(400)] + [0.0, 94.0, 950.0, 9.5, 2693.0]
    for one in expected:
        for only_above, least in ((False, 2.0), (True, 4.0)):
            bounds = bounds_of(one, only_above=only_above, least_factor=least)
            assert bounds is not None
            told = {
                "likely": bounds.expected.likely, "below": bounds.sd_below, "above": bounds.sd_above,
                "least": bounds.least_factor, **({"onlyAbove": ""} if only_above else {}),
            }  # fmt: skip
            found = page.evaluate(
                """async ([weights, told]) => {
                    const source = [...document.scripts].find((each) => each.src.includes("round.js")).src;
                    const { doubted } = await import(source.replace("round.js", "weights.js"));
                    return weights.map((each) => doubted(each, told));
                }""",
                [weights, told],
            )
            for weight, answer in zip(weights, found, strict=True):
                mine = suspect(weight, one, OF_WEIGHT, only_above=only_above, least_factor=least)
                assert (answer is None) == (mine is None), weight
                if mine is not None and answer is not None:
                    assert (answer["perhaps"] is None) == (mine.perhaps is None), weight
                    if mine.perhaps is not None:
                        assert abs(log(answer["perhaps"] / mine.perhaps)) < 1e-9
