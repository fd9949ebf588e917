"""The book has moved: one watcher looks, every open page is told, and pages of two phones agree within seconds."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import AsyncIterator, Callable
from contextlib import suppress

from starlette.concurrency import run_in_threadpool

LOOK_EVERY_S = 2.0
"""How often the book is looked at for what other processes wrote. [s]"""
KEEP_ALIVE_S = 20.0
"""A line goes out at least so often, or what stands between closes the connection. [s]"""

log = logging.getLogger("trayward.web")


class Live:
    """
    Tells every listener when the version has moved.

    Parameters
    ----------
    version : callable
        The version now; may look into the database, so it is called in a worker thread.
    """

    def __init__(self, version: Callable[[], str]) -> None:
        self._version = version
        self.version = ""
        self._loop: asyncio.AbstractEventLoop | None = None
        self._moved = asyncio.Event()
        self._nudged = asyncio.Event()
        self._watching: asyncio.Task[None] | None = None
        self.closed = False
        self.listeners = 0

    async def begin(self) -> None:
        """Start to watch."""
        self._loop = asyncio.get_running_loop()
        self._watching = asyncio.create_task(self._watch())

    async def end(self) -> None:
        """Stop watching, and let every listener go."""
        self.let_go()
        if self._watching is not None:
            # Not cancelled: in Python 3.11 `wait_for` may swallow that, and the watcher would watch for ever.
            await self._watching

    def let_go(self) -> None:
        """Let every listener go; safe from any thread and from a signal."""
        self.closed = True
        self.nudge()

    def nudge(self) -> None:
        """Look at once, as somebody here has just written; safe from any thread."""
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._nudged.set)

    async def _watch(self) -> None:
        while not self.closed:
            self._nudged.clear()
            try:
                await self._look()
            except Exception:
                log.exception("the book could not be looked at")
            if not self.closed:
                with suppress(TimeoutError):
                    await asyncio.wait_for(self._nudged.wait(), LOOK_EVERY_S)
        self._moved.set()

    async def _look(self) -> None:
        found = await run_in_threadpool(self._version)
        if found != self.version:
            self.version = found
            self._moved.set()
            self._moved = asyncio.Event()

    async def told(self, still_known: Callable[[], bool]) -> AsyncIterator[bytes]:
        """What one listener hears, as server-sent events (WHATWG HTML, section 9.2, from memory)."""
        self.listeners += 1
        said = None
        try:
            yield b"retry: 3000\n\n"
            while not self.closed:
                moved = self._moved
                if said != self.version and self.version:
                    said = self.version
                    yield f"data: {said}\n\n".encode()
                try:
                    await asyncio.wait_for(moved.wait(), KEEP_ALIVE_S)
                except TimeoutError:
                    if not await run_in_threadpool(still_known):
                        return
                    yield b": still here\n\n"
        finally:
            self.listeners -= 1
