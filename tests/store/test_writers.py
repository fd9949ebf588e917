"""Threads that write at the same moment share a transaction, and nobody suffers for another."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.contract.telling import note
from trayward.errors import BookError
from trayward.store.pen import prepare
from trayward.store.trouble import BusyError
from trayward.store.writers import Request, Writers


def _request(name: str) -> Request:
    return Request([prepare(note(name))], None)


def _submit_all(writers: Writers, requests: list[Request]) -> list[BaseException | None]:
    def submit(request: Request) -> BaseException | None:
        try:
            writers.submit(request)
        except Exception as err:
            return err
        return None

    with ThreadPoolExecutor(len(requests)) as pool:
        return list(pool.map(submit, requests))


def test_what_comes_in_while_one_writes_is_written_together() -> None:
    groups: list[int] = []
    first, waiting = threading.Event(), threading.Event()

    def keep(group: Sequence[Request]) -> None:
        groups.append(len(group))
        if len(groups) == 1:
            first.set()
            waiting.wait(10)

    writers = Writers(keep)
    with ThreadPoolExecutor(8) as pool:
        leader = pool.submit(writers.submit, _request("first"))
        first.wait(10)
        others = [pool.submit(writers.submit, _request(f"other-{number}")) for number in range(7)]
        while len(writers._waiting) < 7:
            """The others come in."""
        waiting.set()
        for one in (leader, *others):
            one.result(timeout=10)
    assert groups == [1, 7]


def test_one_requests_trouble_with_the_database_is_not_everybodys() -> None:
    def keep(group: Sequence[Request]) -> None:
        if any(request.prepared[0].entry.id == "device-bad" for request in group):
            raise BookError("the database does not like it")

    requests = [_request(name) for name in ("good-1", "bad", "good-2", "good-3")]
    for _ in range(20):
        answers = _submit_all(Writers(keep), requests := [_request(one.prepared[0].entry.id[7:]) for one in requests])
        assert [str(answer or "") for answer in answers] == ["", "the database does not like it", "", ""]


def test_waiting_too_long_is_waited_once_for_all() -> None:
    tries: list[int] = []

    def keep(group: Sequence[Request]) -> None:
        tries.append(len(group))
        raise BusyError("busy")

    answers = _submit_all(Writers(keep), [_request(f"n{number}") for number in range(6)])
    assert [str(answer) for answer in answers] == ["busy"] * 6
    assert sum(tries) == 6


def test_an_interrupted_leader_lets_the_others_go_on() -> None:
    interrupts = iter([True])

    def keep(group: Sequence[Request]) -> None:
        if next(interrupts, False):
            raise KeyboardInterrupt

    writers = Writers(keep)
    with pytest.raises(KeyboardInterrupt):
        writers.submit(_request("first"))
    assert writers.submit(_request("second")) == []


def test_one_who_gives_up_waiting_is_not_given_the_lead() -> None:
    first, go_on = threading.Event(), threading.Event()
    kept: list[str] = []

    def keep(group: Sequence[Request]) -> None:
        first.set()
        go_on.wait(10)
        kept.extend(request.prepared[0].entry.id for request in group)

    class Interrupted(threading.Event):
        def wait(self, timeout: float | None = None) -> bool:
            raise KeyboardInterrupt

    writers = Writers(keep)
    with ThreadPoolExecutor(2) as pool:
        leader = pool.submit(writers.submit, _request("leader"))
        first.wait(10)
        gone = _request("gone")
        gone.wake = Interrupted()
        with pytest.raises(KeyboardInterrupt):
            writers.submit(gone)
        go_on.set()
        leader.result(timeout=10)
        assert pool.submit(writers.submit, _request("next")).result(timeout=10) == []
    assert kept == ["device-leader", "device-next"]
