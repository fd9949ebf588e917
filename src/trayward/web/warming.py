"""The farm made ready while the pages open, so that the first round finds what it needs worked out."""

from __future__ import annotations

import gc
import logging
from collections.abc import Callable, Iterator
from datetime import date, datetime
from itertools import chain
from threading import Event, Thread

from trayward.bootstrap import Farm
from trayward.errors import TraywardError
from trayward.farm.calendar import local_day
from trayward.web.office import Office

EVERY_S = 300.0
"""How often it is looked whether another day has begun. [s]"""
PAUSE_S = 0.002
"""So long the farm is free between two parts: whoever waits for it gets it. [s]"""

END_S = 5.0
"""So long the part that is being worked out is waited for: reading a long book the first time may take longer. [s]"""

YOUNG, OLDER, ALL = 20_000, 20, 20
"""So many values more than were let go, the collector looks through the new ones; through all every 400th time."""

log = logging.getLogger("trayward.web")


def settle() -> None:
    """
    Leave what was read so far alone for good, and look less often for what the pages leave behind.

    A page makes some ten thousand values and lets nearly all of them go by itself. By Python's own measure every fifth
    page of a large farm waited 50 ms for a look through all that is kept.
    """
    gc.freeze()
    gc.set_threshold(YOUNG, OLDER, ALL)


class Warming:
    """
    A thread that works out a part at a time what the first round, the first look at money and at the seed ask for.

    The age of the seed is worked out again at the turn of the day; for that the thread stays.

    Parameters
    ----------
    office : Office
        Where the farm is. One that is lent is left alone: its owner may be using it.
    now : callable
        The clock of the pages.
    """

    def __init__(self, office: Office, now: Callable[[], datetime]) -> None:
        self._office, self._now = office, now
        self._over, self._ready = Event(), Event()
        self._thread: Thread | None = None
        self._day: date | None = None
        """The day that all is worked out for."""

    def begin(self, made_ready: Callable[[], object] | None = None) -> None:
        """Begin; comes back at once. Once all is ready, `made_ready` is called in the thread."""
        if not self._office.lent:
            self._thread = Thread(target=self._run, args=(made_ready,), name="trayward-warming", daemon=True)
            self._thread.start()

    def wait(self, seconds: float) -> bool:
        """Wait until all is ready, or nothing is to be made so; False where that took longer."""
        return self._thread is None or self._ready.wait(seconds)

    def end(self) -> None:
        """End after the part that is being worked out, and wait for that a while."""
        self._over.set()
        if self._thread is not None:
            self._thread.join(END_S)

    def _run(self, made_ready: Callable[[], object] | None) -> None:
        try:
            # Loading these takes a while, and nobody needs to wait for that.
            import trayward.outlook.kept
            import trayward.outlook.memory
            import trayward.outlook.times  # noqa: F401

            self._work_out(lambda farm, at: chain(farm.get_ready(at), farm.costs_ready(at), farm.seed_ready(at)))
            if made_ready is not None and not self._over.is_set():
                made_ready()
            self._ready.set()
            while not self._over.wait(EVERY_S):
                if self._today() != self._day:
                    self._work_out(lambda farm, at: farm.seed_ready(at))
        except TraywardError as error:
            # Whoever asks for a page is told so, in words.
            log.info("the farm could not be made ready: %s", error)
        except Exception:
            log.exception("the farm could not be made ready")
        finally:
            self._ready.set()

    def _work_out(self, what: Callable[[Farm, datetime], Iterator[None]]) -> None:
        day, parts = self._today(), None
        while not self._over.is_set():
            parts = self._part(parts, what)
            if parts is None:
                self._day = day
                break
            self._over.wait(PAUSE_S)

    def _today(self) -> date | None:
        """The farm's day."""
        self._office.take()
        try:
            return local_day(self._now(), self._office.settings(self._now())) if self._office.has_farm else None
        finally:
            self._office.give_back()

    def _part(
        self, parts: Iterator[None] | None, what: Callable[[Farm, datetime], Iterator[None]]
    ) -> Iterator[None] | None:
        """Work out one part; gives what is left, None where there is nothing."""
        self._office.take()
        try:
            if parts is None and self._office.has_farm:
                parts = what(self._office.farm, self._office.seen_at(self._now()))
            if parts is None or next(parts, self) is self:
                return None
            return parts
        finally:
            self._office.give_back()
