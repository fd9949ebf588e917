"""Whoever waits for the farm gets it in turn, and is let go when the pages close."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from threading import Event
from time import sleep

import pytest

from trayward.errors import BookError
from trayward.web.office import Office
from trayward.web.turns import Turns


def waiting(turns: Turns, count: int) -> None:
    """Until so many wait."""
    while len(turns._waiting) < count:
        sleep(0.001)


def in_a_row(pool: ThreadPoolExecutor, turns: Turns, deed: Callable[[int], object], count: int) -> list[Future[object]]:
    """So many ask for it, one after the other."""
    asked = []
    for number in range(count):
        asked.append(pool.submit(deed, number))
        waiting(turns, number + 1)
    return asked


def test_those_who_wait_have_it_in_the_order_in_which_they_came() -> None:
    turns, had = Turns(), list[int]()

    def deed(number: int) -> None:
        assert turns.take()
        had.append(number)
        turns.give_back()

    with ThreadPoolExecutor(12) as pool:
        assert turns.take()
        asked = in_a_row(pool, turns, deed, 12)
        turns.give_back()
        for each in asked:
            each.result(20)
    assert had == list(range(12))


def test_who_has_just_given_it_back_waits_behind_those_who_wait() -> None:
    turns, had = Turns(), list[str]()

    def another() -> None:
        assert turns.take()
        had.append("the other")
        turns.give_back()

    with ThreadPoolExecutor(1) as pool:
        assert turns.take()
        other = pool.submit(another)
        waiting(turns, 1)
        turns.give_back()
        assert turns.take()
        had.append("again")
        turns.give_back()
        other.result(20)
    assert had == ["the other", "again"]


def test_no_two_have_it_at_once() -> None:
    turns, inside, most = Turns(), [0], [0]

    def deed(number: int) -> None:
        del number
        for _ in range(50):
            turns.take()
            inside[0] += 1
            most[0] = max(most[0], inside[0])
            sleep(0)
            inside[0] -= 1
            turns.give_back()

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(deed, range(8)))
    assert most == [1]


def test_when_the_pages_close_those_who_wait_are_told_and_who_has_it_goes_on() -> None:
    turns = Turns()
    with ThreadPoolExecutor(4) as pool:
        assert turns.take()
        asked = in_a_row(pool, turns, lambda _: turns.take(), 3)
        turns.shut()
        assert [each.result(20) for each in asked] == [False, False, False]
        assert not turns.take()
        assert not turns.take_last(0.01), "somebody has it still"


def test_the_last_one_has_it_when_it_is_given_back() -> None:
    turns = Turns()
    with ThreadPoolExecutor(1) as pool:
        assert turns.take()
        last = pool.submit(turns.take_last, 20.0)
        waiting(turns, 1)
        turns.give_back()
        assert last.result(20)
    assert Turns().take_last(0.01)


def test_an_office_that_closes_does_not_keep_anybody_waiting(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("trayward.web.office.CLOSE_S", 0.01)
    office, busy, over = Office(str(tmp_path / "farm.book")), Event(), Event()

    def long_work() -> None:
        office.take()
        busy.set()
        over.wait(20)
        office.give_back()

    with ThreadPoolExecutor(2) as pool:
        first = pool.submit(long_work)
        busy.wait(20)
        second = pool.submit(office.take)
        waiting(office._turns, 1)
        office.close()
        with pytest.raises(BookError, match="The pages are being closed, and nothing of this was kept"):
            second.result(20)
        over.set()
        first.result(20)


def test_an_office_that_was_closed_is_had_again_once_the_pages_open_again(tmp_path: Path) -> None:
    office = Office(str(tmp_path / "farm.book"))
    for _ in range(2):
        office.open()
        office.take()
        office.give_back()
        office.close()
        with pytest.raises(BookError, match="being closed"):
            office.take()


def test_who_waited_too_long_for_the_last_turn_is_not_given_it_later() -> None:
    turns = Turns()
    assert turns.take()
    assert not turns.take_last(0.01)
    turns.give_back()
    turns.open()
    assert turns.take(), "nobody has it"
