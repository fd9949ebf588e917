"""When it was said, with a phone's clock that is wrong, is put right, or is put back while answers wait."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.web.browser.conftest import PageAt
from tests.web.browser.no_signal import ROWS, Line, RunningClock, holds, said_in, tap
from tests.web.browser.test_no_signal import all_landed, book, clock, complaints, line, ready, server

__all__ = ["book", "clock", "complaints", "line", "server"]

CLOSE = timedelta(seconds=4)
"""What a slow test machine may take between a tap and its moment's noting."""

SKEW = """(() => {
    const real = Date.now, RealDate = Date, steady = performance.now.bind(performance);
    let passed = 0;
    const off = () => Number(localStorage.getItem("skew") || 0) + Number(localStorage.getItem("passed") || 0);
    globalThis.Date = class extends RealDate {
        constructor(...given) { super(...(given.length ? given : [real() + off()])); }
        static now() { return real() + off(); }
    };
    performance.now = () => steady() + passed;
    globalThis.timePasses = (by) => {
        passed += by;
        localStorage.setItem("passed", String(Number(localStorage.getItem("passed") || 0) + by));
    };
})()"""
"""
The phone's own clock, off by what a test says; the steady clock (`performance.now`) runs on, as on a phone.

Time can be let pass at once on both: a page that is loaded begins its steady clock anew, its own clock does not.
"""

PASSING = timedelta(minutes=1)
"""What passes between two answers: far more than `CLOSE`, so that a moment put in another's place is seen."""


def hours(number: float) -> timedelta:
    return timedelta(hours=number)


def turn(page: Page, by: timedelta) -> None:
    """Put the phone's clock elsewhere."""
    page.evaluate("by => localStorage.setItem('skew', String(by))", by / timedelta(milliseconds=1))


def time_passes(page: Page, clock: RunningClock, by: timedelta = PASSING) -> None:
    """Let time pass for the phone and the farm alike, without waiting for it."""
    clock.forward(seconds=by.total_seconds())
    page.evaluate("by => timePasses(by)", by / timedelta(milliseconds=1))


@pytest.fixture
def phone(page_at: PageAt, line: Line) -> Page:
    page = page_at("/about")
    page.context.add_init_script(SKEW)
    page.goto(line.url + ROWS)
    return ready(page)


def answered(page: Page, clock: RunningClock, row: int, **fields: str) -> datetime:
    """Answer a row; gives the true moment."""
    at = clock()
    tap(page, row, **fields)
    holds(page, f"async () => (await trayward.kept.all()).some((item) => item.what === 'Row {row}')")
    return at


def moments(book: Path) -> list[datetime]:
    return [entry.at for entry in said_in(book)]


def assert_near(found: list[datetime], true: list[datetime]) -> None:
    assert len(found) == len(true)
    for each, other in zip(found, true, strict=True):
        assert abs(each - other) <= CLOSE, f"{each} is not {other}"


@pytest.mark.parametrize("wrong_by", [hours(-30), hours(-2), hours(5), hours(24 * 400)])
def test_a_clock_wrong_by_hours_or_days_does_not_move_what_was_said(
    phone: Page, line: Line, book: Path, clock: RunningClock, wrong_by: timedelta
) -> None:
    turn(phone, wrong_by)
    phone.reload()
    line.down()
    true = [answered(phone, clock, 1)]
    time_passes(phone, clock)
    true.append(answered(phone, clock, 2))
    line.up()
    all_landed(phone, book, 2)
    assert_near(moments(book), true)


def test_a_clock_put_back_while_answers_wait_moves_none_of_them(
    phone: Page, line: Line, book: Path, clock: RunningClock
) -> None:
    line.down()
    true = [answered(phone, clock, 1)]
    time_passes(phone, clock)
    turn(phone, hours(-2))
    true.append(answered(phone, clock, 2))
    line.up()
    all_landed(phone, book, 2)
    assert_near(moments(book), true)
    assert moments(book) == sorted(moments(book))


def test_a_clock_put_back_on_a_page_that_never_had_a_signal_moves_none_of_them(
    phone: Page, line: Line, book: Path, clock: RunningClock
) -> None:
    line.down()
    phone.reload()
    true = [answered(phone, clock, 1)]
    time_passes(phone, clock)
    turn(phone, hours(-2))
    true.append(answered(phone, clock, 2))
    line.up()
    all_landed(phone, book, 2)
    assert_near(moments(book), true)


def test_a_clock_put_right_by_the_signal_itself_puts_what_was_said_before_right(
    phone: Page, line: Line, book: Path, clock: RunningClock
) -> None:
    # A phone that was empty begins in 1970; the network puts its clock right before anything is sent.
    line.down()
    turn(phone, -(timedelta(days=20_000)))
    phone.reload()
    true = [answered(phone, clock, 1)]
    time_passes(phone, clock)
    turn(phone, hours(0))
    time_passes(phone, clock)
    line.up()
    all_landed(phone, book, 1)
    assert_near(moments(book), true)


def test_a_phone_that_lost_its_clock_and_was_restarted_says_nothing_earlier_than_it_can_have_been(
    phone: Page, line: Line, book: Path, clock: RunningClock
) -> None:
    # Nothing is left to tell how wrong the clock was: then the last contact is the earliest it can have been.
    holds(phone, "async () => Boolean(await trayward.kept.known('contact'))")
    before = clock()
    line.down()
    turn(phone, -(timedelta(days=20_000)))
    phone.reload()
    said = answered(phone, clock, 1)
    turn(phone, hours(0))
    phone.reload()
    said_next = answered(phone, clock, 2)
    line.up()
    all_landed(phone, book, 2)
    first, second = moments(book)
    assert before - timedelta(seconds=30) <= first <= said + CLOSE
    assert first <= second
    assert_near([second], [said_next])


CASES: list[tuple[str, dict[str, Any], Any, float]] = [
    ("its stretch had a contact", {"true": 5_000_000}, None, 5_000_000),
    ("asleep: the clock is as before", {"maybe": 3_600_000}, {"offset": 0}, 1_000_000),
    ("put ahead by an hour: the difference shows it", {"maybe": 3_600_000}, {"offset": 3_600_000}, 4_600_000),
    ("no contact ever before: asleep is likelier", {"maybe": 3_600_000}, None, 1_000_000),
    ("it cannot have been before the last contact", {"maybe": 3_600_000, "after": 4_000_000}, {"offset": 0}, 4_600_000),
]


@pytest.mark.parametrize(("what", "item", "before", "true"), CASES, ids=[case[0] for case in CASES])
def test_how_a_moment_is_placed(page_at: PageAt, what: str, item: dict[str, Any], before: Any, true: float) -> None:
    page = page_at("/about")
    whole = {"wall": 1_000_000, "true": None, "maybe": 0, "after": None, "order": 1} | item
    assert page.evaluate("([item, before]) => trayward.moments.placed(item, 0, before)", [whole, before]) == true, what


@pytest.mark.parametrize(
    ("item", "floor", "sent"),
    [
        ({"wall": 1000, "order": 2}, {"order": 1, "true": 5000}, 5000),
        ({"wall": 1000, "order": 1}, {"order": 2, "true": 5000}, 1000),
        ({"wall": 1000, "order": 2, "after": 3000}, None, 3000),
        ({"wall": 99_000, "order": 2}, None, 10_000),
    ],
    ids=["not before what was kept before it", "mended: in its old place", "not before the last contact", "not ahead"],
)
def test_what_is_sent_never_goes_back_nor_ahead(page_at: PageAt, item: dict[str, Any], floor: Any, sent: float) -> None:
    page = page_at("/about")
    whole = {"true": None, "maybe": 0, "after": None} | item
    script = "([item, floor]) => trayward.moments.sendable(item, 0, null, floor, 10000)"
    assert page.evaluate(script, [whole, floor]) == sent


def test_ids_are_made_where_the_page_came_over_plain_http(page_at: PageAt) -> None:
    page = page_at("/about")
    page.evaluate("() => { crypto.randomUUID = undefined; }")
    ids = page.evaluate("Array.from({ length: 200 }, trayward.kept.newId)")
    import uuid

    assert {uuid.UUID(each).version for each in ids} == {4}
    assert len(set(ids)) == 200
