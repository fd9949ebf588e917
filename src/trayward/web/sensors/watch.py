"""The watch over sensors while the pages or the listener run: hours summed, silence noticed, alarms told on."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime
from threading import Event, Thread

from trayward.errors import TraywardError
from trayward.farm.sensors import AlarmHeld
from trayward.web.office import Office
from trayward.web.sensors.telling import Tell, alarm_told

EVERY_S = 30.0
"""How often it looks. [s]"""

log = logging.getLogger("trayward.sensors")


class Watch:
    """
    A thread that looks at the sensors every half minute.

    Parameters
    ----------
    office : Office
        Where the farm is. One that is lent is left alone: its owner may be using it.
    now : callable
        The clock.
    moved : callable, optional
        Called when the book has moved by it, so that open pages hear of it.
    tell : callable, optional
        Told of every alarm that is raised or over from now on, whoever noticed it.
    """

    def __init__(
        self,
        office: Office,
        now: Callable[[], datetime],
        *,
        moved: Callable[[], object] | None = None,
        tell: Tell | None = None,
        every_s: float = EVERY_S,
    ) -> None:
        self._office, self._now, self._moved, self._tell, self._every = office, now, moved, tell, every_s
        self._over = Event()
        self._thread: Thread | None = None
        self._begun: datetime | None = None
        self._known: dict[str, bool] | None = None
        """Alarm -> whether it was over, of those told on or there before the watch began."""

    def begin(self) -> None:
        """Begin; comes back at once."""
        if not self._office.lent:
            self._thread = Thread(target=self._run, name="trayward-watch", daemon=True)
            self._thread.start()

    def end(self) -> None:
        """End, and wait for the look that is going on."""
        self._over.set()
        if self._thread is not None:
            self._thread.join()

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
            moved = self._office.look().seq != before
        finally:
            self._office.give_back()
        if moved and self._moved is not None:
            self._moved()
        for each in told:
            assert self._tell is not None
            self._tell(each)

    def _is_news(self, alarm: AlarmHeld) -> bool:
        assert self._known is not None
        over = alarm.until is not None
        news = self._known.get(alarm.alarm) != over
        self._known[alarm.alarm] = over
        return news

    def _run(self) -> None:
        while True:
            try:
                self.look()
            except TraywardError as error:
                log.warning("the sensors could not be looked at: %s", error)
            except Exception:
                log.exception("the sensors could not be looked at")
            if self._over.wait(self._every):
                return
