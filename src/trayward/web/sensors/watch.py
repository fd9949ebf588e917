"""The watch over sensors while the pages or the listener run: hours summed, silence noticed, alarms told on."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime
from functools import cache
from threading import Event, Thread
from typing import Any

from trayward.bootstrap import Farm
from trayward.errors import BookError, TraywardError
from trayward.farm.sensors import AlarmHeld
from trayward.web.look.locales import Tongues
from trayward.web.look.own_names import names_of
from trayward.web.office import Office
from trayward.web.sensors.telling import TELLING, Tell, Tellers, alarm_told

EVERY_S = 30.0
"""How often it looks. [s]"""
END_S = 5.0
"""So long the look that is going on is waited for at the end. [s]"""

log = logging.getLogger("trayward.sensors")


@cache
def _tongues() -> Tongues:
    return Tongues()


class Watch:
    """
    A thread that looks at the sensors every half minute, and when it is nudged.

    Parameters
    ----------
    office : Office
        Where the farm is. One that is lent is left alone: its owner may be using it.
    now : callable
        The clock.
    moved : callable, optional
        Called when the book has moved by it, so that open pages hear of it.
    tell : callable or Tellers, optional
        Told of every alarm that is raised or over from now on, whoever noticed it.
    """

    def __init__(
        self,
        office: Office,
        now: Callable[[], datetime],
        *,
        moved: Callable[[], object] | None = None,
        tell: Tell | Tellers | None = None,
        every_s: float = EVERY_S,
    ) -> None:
        self._office, self._now, self._moved, self._every = office, now, moved, every_s
        self._tellers = tell if isinstance(tell, Tellers) else None
        self._tell = None if isinstance(tell, Tellers) else tell
        self._over, self._woken = Event(), Event()
        self._thread: Thread | None = None
        self._begun: datetime | None = None
        self._known: dict[str, bool] | None = None
        """Alarm -> whether it was over, of those told on or there before the watch began."""

    def begin(self) -> None:
        """Begin; comes back at once."""
        if not self._office.lent:
            self._thread = Thread(target=self._run, name="trayward-watch", daemon=True)
            self._thread.start()

    def nudge(self) -> None:
        """Look at once: something was heard that moved the book, and an alarm should not wait for the half minute."""
        self._woken.set()

    def end(self) -> None:
        """End, and wait a while for the look that is going on."""
        self._over.set()
        self._woken.set()
        if self._thread is not None:
            self._thread.join(END_S)

    def look(self) -> None:
        """Look once."""
        now = self._now()
        self._begun = self._begun or now
        self._office.take()
        try:
            if not self._office.has_farm:
                return
            farm, before = self._office.farm, self._office.version
            at = self._office.seen_at(now)
            if self._known is None:
                self._known = {each.alarm: each.until is not None for each in farm.state(at).alarms.values()}
            farm.look_at_sensors(at=at, listening=self._begun)
            news = [each for each in farm.state(at).alarms.values() if self._is_news(each)]
            told = [alarm_told(each, self._office.settings(now)) for each in news] if self._tell is not None else []
            by_ways = self._by_ways(farm, at, now)
            moved = self._office.look().seq != before
        finally:
            self._office.give_back()
        if moved and self._moved is not None:
            self._moved()
        for name, one in by_ways:
            assert self._tellers is not None
            self._tellers.tell(name, one)
        for each in told:
            assert self._tell is not None
            self._tell(each)

    def _by_ways(self, farm: Farm, at: datetime, now: datetime) -> list[tuple[str, dict[str, Any]]]:
        """What each way is to tell now; what was told since the last look is kept beside the book."""
        if self._tellers is None:
            return []
        if not self._tellers.begun:
            self._tellers.begin(farm.book.worked_out(TELLING))
        settings = self._office.settings(now)
        self._tellers.addressed(settings, lambda language: self._sayer(farm, at, language))
        news = self._tellers.news(farm.state(at).alarms.values(), at)
        self._write_told(farm)
        return [(name, alarm_told(each, settings)) for name, each in news]

    def _sayer(self, farm: Farm, at: datetime, language: str) -> Callable[[str], str]:
        """What says a sentence in a language, and leaves the names that the farm's people gave alone."""
        if language == "en":
            return str
        tongue = _tongues().choose(language, "")
        names = self._office.kept("names-given", lambda: names_of(farm.state(at)))
        return names.sayer(tongue.sayings, tongue.locale)

    def _keep_told(self) -> None:
        """Keep what was told since the last look."""
        if self._tellers is None:
            return
        try:
            self._office.take()
        except BookError:
            return
        try:
            if self._office.has_farm:
                self._write_told(self._office.farm)
        finally:
            self._office.give_back()

    def _write_told(self, farm: Farm) -> None:
        assert self._tellers is not None
        kept = self._tellers.to_keep()
        if kept is not None:
            farm.book.keep_worked_out(TELLING, kept)

    def _is_news(self, alarm: AlarmHeld) -> bool:
        assert self._known is not None
        over = alarm.until is not None
        news = self._known.get(alarm.alarm) != over
        self._known[alarm.alarm] = over
        return news

    def _run(self) -> None:
        while True:
            self._woken.clear()
            try:
                self.look()
            except TraywardError as error:
                log.warning("the sensors could not be looked at: %s", error)
            except Exception:
                log.exception("the sensors could not be looked at")
            if not self._over.is_set():
                self._woken.wait(self._every)
            if self._over.is_set():
                self._keep_told()
                return
