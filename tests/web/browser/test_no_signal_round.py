"""The round of Lantern Loft answered with no signal, by one phone and by two; how soon it can be answered."""

from __future__ import annotations

import gzip
from collections.abc import Iterator
from pathlib import Path
from urllib.request import urlopen

import pytest
from playwright.sync_api import Page, expect

from tests.web.browser.conftest import PageAt, Server, assert_fits, axe, shot
from tests.web.browser.no_signal import Line, RunningClock, holds, kept_on
from tests.web.browser.test_no_signal import clock, complaints, ready
from trayward import Farm
from trayward.web.guard import People

__all__ = ["clock", "complaints"]

FIRST_PAGE_KB = 150
"""What a first page may weigh, squeezed: issue 6."""
READY_MS = 1000
"""How soon it may take answers, slowed four times: issue 6. A loaded test machine gets three times that."""


@pytest.fixture
def server(book: Path, clock: RunningClock, people: People | None) -> Iterator[Server]:
    served = Server(book, clock, people)
    served.start()
    with urlopen(served.url + "/round", timeout=120) as first:  # the book is folded before a browser waits
        assert first.status == 200
    line = Line(served.port)
    served.url, served.line = line.url, line  # type: ignore[attr-defined]
    yield served
    line.close()
    served.stop()


@pytest.fixture
def line(server: Server) -> Line:
    found: Line = server.line  # type: ignore[attr-defined]
    return found


def entries(book: Path) -> int:
    with Farm.open(str(book)) as farm:
        return farm.book.head().seq


def answer_first(page: Page, what: str = "") -> str:
    """Answer the first row that is open, of those that say so, by its big button; gives its id."""
    form = page.locator("#round-rows form[data-send]:visible", has_text=what).first
    row = form.locator("xpath=..").get_attribute("id") or ""
    form.locator("button.first:visible").first.click()
    expect(page.locator(f"[id='{row}'] .kept-mark")).to_be_visible()
    return row


def test_the_morning_round_with_no_signal_lands_once_and_in_order(page_at: PageAt, line: Line, book: Path) -> None:
    page = ready(page_at("/round"))
    before = entries(book)
    line.down()
    answered = [answer_first(page) for _ in range(3)]
    assert len(set(answered)) == 3
    expect(page.locator("#unsent")).to_contain_text("not sent yet: 3")
    page.reload()
    expect(page.locator("#kept-page")).to_contain_text("No signal. This is the page as of")
    for row in answered:
        expect(page.locator(f"[id='{row}'] .kept-mark")).to_contain_text("not sent yet")
    assert_fits(page)
    assert axe(page) == []
    shot(page, "round-no-signal-phone")
    assert entries(book) == before
    line.up()
    holds(page, "async () => (await trayward.kept.waiting()).length === 0", 40)
    items = kept_on(page)
    assert [item["state"] for item in items] == ["landed"] * 3
    for row in answered:
        expect(page.locator(f"[id='{row}']")).to_have_count(0)
    with Farm.open(str(book)) as farm:
        fresh = [kept.entry for kept in farm.book.entries(after=before)]
    heads = [entry.id for entry in fresh if entry.id.count("-") == 4]
    assert heads == [item["id"] for item in items], "each answer once, in the order in which it was said"
    assert [entry.at for entry in fresh] == sorted(entry.at for entry in fresh)


PRESS_TWO = """async () => {
    const open = [...document.querySelectorAll("#round-rows form[data-send] button.first")];
    const [one, two] = open.map((button) => button.closest("li"));
    const press = (row) => {
        const button = row.querySelector("button.first");
        button.dispatchEvent(new PointerEvent("pointerdown", { pointerType: "touch", bubbles: true }));
        button.dispatchEvent(new MouseEvent("click", { detail: 1, bubbles: true, cancelable: true }));
    };
    const marked = new Promise((done) => {
        const seen = new MutationObserver(() => one.querySelector(".kept-mark") && done());
        seen.observe(one, { childList: true, subtree: true });
    });
    const answers = async () => (await trayward.kept.all()).length;
    press(one);
    await marked;
    press(two);
    await new Promise((done) => setTimeout(done, 500));
    const soon = await answers();
    press(two);
    await new Promise((done) => setTimeout(done, 500));
    return [soon, await answers()];
}"""


def test_a_tap_on_a_row_that_has_just_moved_up_under_the_finger_is_not_taken(page_at: PageAt, line: Line) -> None:
    """A row folds up as it is answered: a second touch, on its way already, would answer the one below it."""
    page = ready(page_at("/round", has_touch=True))
    line.down()
    assert page.evaluate(PRESS_TWO) == [1, 2], "a touch that sees the row where it stands is taken"


def test_an_answer_that_wants_a_word_asks_for_it_and_where_it_was_given_stays_in_view(
    page_at: PageAt, line: Line
) -> None:
    page = ready(page_at("/round"))
    line.down()
    form = page.locator("#round-rows form[data-send]", has_text="Look:").first
    row = form.locator("xpath=..").get_attribute("id") or ""
    form.locator("details.more > summary").click()
    form.get_by_role("button", name="Throw away, for this problem").click()
    expect(form.locator(".wrong-words")).to_contain_text("Say what is wrong, in a word")
    expect(form.get_by_label("Problem")).to_be_focused()
    expect(form.get_by_text("Water given to each tray ml")).to_be_visible()
    assert kept_on(page) == []
    assert axe(page) == []
    page.keyboard.type("fallen")
    expect(form.locator(".wrong-words")).to_have_count(0)
    form.get_by_label("Height").fill("30")
    form.get_by_role("button", name="Throw away, for this problem").click()
    mark = page.locator(f"[id='{row}'] .kept-mark")
    expect(mark).to_contain_text("Throw away, for this problem · Problem: fallen · Height: 30 mm")
    expect(mark).to_be_in_viewport()


def test_two_phones_answer_the_same_row_and_the_round_says_so(page_at: PageAt, line: Line, book: Path) -> None:
    one, other = ready(page_at("/round")), page_at("/round")
    one.context.set_offline(True)
    row = answer_first(one, "Look:")
    form = other.locator(f"[id='{row}'] form")
    form.locator("button.first:visible").first.click()
    expect(other.locator(f"[id='{row}']")).to_have_count(0)
    one.context.set_offline(False)
    holds(one, "async () => (await trayward.kept.waiting()).length === 0", 40)
    [item] = kept_on(one)
    assert item["state"] == "landed"
    assert item["odd"], "the server says that somebody else answered it, too"
    expect(one.locator("#kept-strip .odd").first).to_be_visible()
    expect(other.locator("#round-done .twice")).to_be_visible(timeout=15_000)
    shot(one, "round-two-phones-phone")


def test_the_round_takes_answers_soon_on_a_slow_phone_and_is_light(page_at: PageAt, line: Line) -> None:
    page = page_at("/about")
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": 4})
    page.goto(line.url + "/round")
    holds(page, "performance.getEntriesByName('trayward-ready').length > 0")
    soon = page.evaluate("performance.getEntriesByName('trayward-ready')[0].startTime")
    assert soon < 3 * READY_MS, f"it took {soon:.0f} ms"


def test_a_first_page_weighs_little(page_at: PageAt, server: Server) -> None:
    page = page_at("/round")
    names = page.evaluate("performance.getEntriesByType('resource').map((each) => each.name)")
    statics = server.app.state.house.look.statics
    files = {name.split("/static/")[1].split("/", 1)[1] for name in names if "/static/" in name and "icon" not in name}
    assert {"app.js", "queue.js", "kept.js", "look.css"} <= files
    weight = len(gzip.compress(page.content().encode(), 5)) + sum(
        len(statics.files[name].squeezed or statics.files[name].plain) for name in files
    )
    assert weight < FIRST_PAGE_KB * 1000, f"{weight} bytes"
