"""Open pages are told when the book has moved."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from concurrent.futures import ThreadPoolExecutor
from itertools import islice
from typing import Any

from tests.web.conftest import Pages
from trayward.web.live import Live


class Version:
    """A version that the test moves."""

    def __init__(self) -> None:
        self.now = "1.0"
        self.looks = 0

    def __call__(self) -> str:
        self.looks += 1
        return self.now


async def hear(heard: AsyncIterator[bytes], count: int) -> list[bytes]:
    """So many of the things a listener hears, or what came within five seconds."""
    return [await asyncio.wait_for(anext(heard), 5) for _ in range(count)]


def run(story: Any) -> None:
    """Live a story in a thread of its own: in this one the loop of a browser's driver may be running."""
    with ThreadPoolExecutor(1) as pool:
        pool.submit(asyncio.run, story).result()


def test_a_listener_hears_the_version_at_once_and_when_it_moves() -> None:
    async def story() -> None:
        version = Version()
        live = Live(version)
        await live.begin()
        heard = live.told(lambda: True)
        assert await hear(heard, 2) == [b"retry: 3000\n\n", b"data: 1.0\n\n"]
        version.now = "2.0"
        live.nudge()
        assert await hear(heard, 1) == [b"data: 2.0\n\n"]
        await live.end()

    run(story())


def test_a_hundred_listeners_cost_one_look() -> None:
    async def story() -> None:
        version = Version()
        live = Live(version)
        await live.begin()
        listeners = [live.told(lambda: True) for _ in range(100)]
        for each in listeners:
            await hear(each, 2)
        before = version.looks
        version.now = "2.0"
        live.nudge()
        for each in listeners:
            assert await hear(each, 1) == [b"data: 2.0\n\n"]
        assert version.looks - before <= 2
        await live.end()

    run(story())


def test_every_listener_is_let_go_at_the_end() -> None:
    async def story() -> None:
        live = Live(Version())
        await live.begin()
        heard = live.told(lambda: True)
        await hear(heard, 2)
        waiting = asyncio.ensure_future(anext(heard, b"the end"))
        await asyncio.sleep(0.05)
        await asyncio.wait_for(live.end(), 5)
        assert await asyncio.wait_for(waiting, 5) == b"the end"
        assert live.listeners == 0

    run(story())


def test_the_end_is_never_missed_however_it_falls() -> None:
    async def story() -> None:
        for _ in islice(range(200), 200):
            live = Live(Version())
            await live.begin()
            await asyncio.sleep(0)
            live.nudge()
            await asyncio.wait_for(live.end(), 5)

    run(story())


def test_a_look_that_fails_does_not_end_the_watch() -> None:
    async def story() -> None:
        version = Version()
        failed = False

        def look() -> str:
            nonlocal failed
            if not failed:
                failed = True
                raise OSError("the disk is away")
            return version()

        live = Live(look)
        await live.begin()
        live.nudge()
        assert await hear(live.told(lambda: True), 2) == [b"retry: 3000\n\n", b"data: 1.0\n\n"]
        await live.end()

    run(story())


def test_the_version_moves_with_every_entry(pages: Pages) -> None:
    before = pages.get("/").text.split('data-version="')[1].split('"')[0]
    with pages.farm() as farm:
        farm.note("seen", ["place:D1"], at=pages.clock.at, by="Ada")
    assert pages.get("/").text.split('data-version="')[1].split('"')[0] != before
