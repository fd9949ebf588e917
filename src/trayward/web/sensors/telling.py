"""Alarms told at night: each way in a thread of its own, tried until it is heard, once and once when it is over."""

from __future__ import annotations

import json
import logging
import urllib.error
import urllib.request
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from queue import Empty, Queue
from threading import Event, Lock, Thread
from typing import Any, Final, Protocol
from urllib.parse import urlsplit

import msgspec

from trayward.errors import InputError
from trayward.farm.calendar import zone
from trayward.farm.sensors import AlarmHeld
from trayward.farm.settings import FarmSettings
from trayward.sensors.alarms import LOOK_BACK
from trayward.sensors.words import alarm_title, alarm_words, do_words

log = logging.getLogger("trayward.sensors")

TRIES_S: Final = (0.0, 2.0, 10.0, 60.0, 300.0, *(900.0,) * 95)
"""How long before each try: soon at first, then every quarter of an hour for a day. [s]"""
PATIENCE_S = 10.0
"""How long an answer is waited for. [s]"""

Tell = Callable[[dict[str, Any]], None]


def alarm_told(alarm: AlarmHeld, settings: FarmSettings) -> dict[str, Any]:
    """What is sent about an alarm: words for people, and the same in fields."""
    over = alarm.until is not None
    return {
        "alarm": alarm.alarm, "over": over, "farm": settings.name, "title": alarm_title(alarm),
        "text": alarm_words(alarm, settings.units, zone(settings)),
        "do": "" if over else do_words(alarm.what, alarm.trouble),
        "sensor": alarm.sensor, "place": alarm.place, "what": alarm.what, "trouble": alarm.trouble,
        "since": alarm.since.isoformat(), "until": alarm.until.isoformat() if alarm.until is not None else None,
        "value": alarm.value, "limit": alarm.limit,
    }  # fmt: skip


class Hopeless(str):
    """What was wrong, where trying again does not mend it."""


class Way(Protocol):
    """One way by which alarms reach somebody."""

    @property
    def name(self) -> str:
        """What it is called in what is kept of it; never changes."""

    @property
    def shown(self) -> str:
        """Where it leads, without secrets."""

    @property
    def ready(self) -> bool:
        """Whether there is anybody to tell; of what happened while there was not nothing is told later."""

    def addressed(self, settings: FarmSettings, say: Callable[[str], Callable[[str], str]]) -> None:
        """Whom to tell from now on, and who says a sentence in a language."""

    def send(self, told: dict[str, Any]) -> str:
        """Send once; what was wrong, in words, or nothing."""


class Post:
    """
    An HTTP POST to an address that the farm's machine is given.

    Parameters
    ----------
    url : str
        http or https.
    """

    name, ready = "post", True

    def __init__(self, url: str) -> None:
        if urlsplit(url).scheme not in ("http", "https") or not urlsplit(url).netloc:
            rule = "it must be an address that takes a POST"
            raise InputError("alarm address", urlsplit(url).netloc or "none", rule, "Give https://host/path.")
        self._url = url

    @property
    def shown(self) -> str:
        """Never the whole address: its path may be the secret."""
        return urlsplit(self._url).hostname or ""

    def addressed(self, settings: FarmSettings, say: Callable[[str], Callable[[str], str]]) -> None:
        """It leads where it leads."""

    def send(self, told: dict[str, Any]) -> str:
        """Send once; what was wrong, in words, or nothing."""
        request = urllib.request.Request(
            self._url, data=json.dumps(told).encode(), headers={"Content-Type": "application/json"}, method="POST"
        )
        try:
            with urllib.request.urlopen(request, timeout=PATIENCE_S):
                return ""
        except urllib.error.HTTPError as error:
            return f"it answered {error.code}"
        except (OSError, ValueError) as error:
            return f"it is not reached ({getattr(error, 'reason', error)})"


class Teller:
    """
    Sends what it is given, in order, from a thread of its own.

    Parameters
    ----------
    way : Way or str
        By which; an address that takes a POST.
    tries_s : sequence of float
        How long before each try. [s]
    heard : callable, optional
        Called, from that thread, with what was sent, or given up as hopeless.
    """

    def __init__(
        self,
        way: Way | str,
        *,
        tries_s: Sequence[float] = TRIES_S,
        heard: Callable[[dict[str, Any]], None] | None = None,
    ) -> None:
        self.way: Way = Post(way) if isinstance(way, str) else way
        self._tries, self._heard = tries_s, heard
        self._waiting: Queue[dict[str, Any]] = Queue()
        self._over = Event()
        self._thread = Thread(target=self._run, name=f"trayward-alarms-{self.way.name}", daemon=True)
        self._thread.start()

    def tell(self, told: dict[str, Any]) -> None:
        """Send this as soon as can be; comes back at once."""
        self._waiting.put(told)

    def end(self) -> None:
        """Stop trying, and wait for the thread."""
        self._over.set()
        self._thread.join(PATIENCE_S + 1)

    def _run(self) -> None:
        while not self._over.is_set():
            try:
                told = self._waiting.get(timeout=0.2)
            except Empty:
                continue
            if self._sent(told) and self._heard is not None:
                self._heard(told)

    def _sent(self, told: dict[str, Any]) -> bool:
        """Whether it need not be sent any more; not where we end meanwhile."""
        problem = ""
        for number, wait in enumerate(self._tries):
            if self._over.wait(wait):
                return False
            problem = self._tried(told)
            if not problem or isinstance(problem, Hopeless):
                break
            if number == 0:
                log.warning("alarm %s is not told to %s yet: %s", told["alarm"], self.way.shown, problem)
        if problem:
            log.error("alarm %s could not be told to %s: %s", told["alarm"], self.way.shown, problem)
        return True

    def _tried(self, told: dict[str, Any]) -> str:
        try:
            return self.way.send(told)
        except Exception as error:
            # Whatever a server or a command comes up with: the next alarm has to be told all the same.
            log.exception("an alarm could not be told")
            return f"{type(error).__name__}"


# Once, and once when it is over ---------------------------------------------------------------------------------------

TELLING: Final = "alarms told"
"""The name under which the book keeps which alarm was told by which way."""
Marks = dict[str, dict[str, bool]]
"""Way -> alarm -> whether it was told that it is over, too."""


class Tellers:
    """
    Every way by which alarms are told, and what was told by each: kept beside the book, so that nothing is told twice.

    What could not be told before the pages closed is told once they are open again, if it is not older than a day.

    Parameters
    ----------
    ways : iterable of Way
        One that is gone keeps no other waiting.
    tries_s : sequence of float
        How long before each try. [s]
    """

    def __init__(self, ways: Iterable[Way], *, tries_s: Sequence[float] = TRIES_S) -> None:
        self._tellers = {way.name: Teller(way, tries_s=tries_s, heard=self._heard(way.name)) for way in ways}
        self._lock = Lock()
        self._done: Marks = {}
        self._given: Marks = {}
        self._news = False
        self.begun = False

    @property
    def names(self) -> tuple[str, ...]:
        """The ways there are."""
        return tuple(self._tellers)

    @property
    def ways(self) -> tuple[Way, ...]:
        """The same, themselves."""
        return tuple(teller.way for teller in self._tellers.values())

    def once(self, way: Way, told: dict[str, Any]) -> str:
        """Tell by one way now and once; what was wrong, in words, or nothing."""
        return way.send(told) if way.ready else "nobody is named: trayward sensors mail ADDRESS"

    def begin(self, kept: bytes | None) -> None:
        """Take up what was told before; none where nothing was kept, or another version wrote it."""
        try:
            self._done = msgspec.json.decode(kept, type=Marks) if kept is not None else {}
        except msgspec.DecodeError:
            self._done = {}
        self.begun = True

    def addressed(self, settings: FarmSettings, say: Callable[[str], Callable[[str], str]]) -> None:
        """Whom to tell from now on."""
        for teller in self._tellers.values():
            teller.way.addressed(settings, say)

    def news(self, alarms: Iterable[AlarmHeld], now: datetime) -> list[tuple[str, AlarmHeld]]:
        """What is to be told by which way; a way that is new is told nothing of what was there before it."""
        late = [each for each in alarms if each.until is None or now - each.until <= LOOK_BACK]
        with self._lock:
            return [(name, each) for name, teller in self._tellers.items() for each in self._of(name, teller.way, late)]

    def _of(self, name: str, way: Way, alarms: list[AlarmHeld]) -> list[AlarmHeld]:
        there = {each.alarm: each.until is not None for each in alarms}
        if name not in self._done or not way.ready:
            self._news = self._news or self._done.get(name) != there
            self._done[name], self._given[name] = dict(there), dict(there)
            return []
        done, given = self._done[name], self._given.setdefault(name, dict(self._done[name]))
        for old in [each for each in done if each not in there]:
            del done[old]
        news = [each for each in alarms if given.get(each.alarm) != there[each.alarm] and not given.get(each.alarm)]
        self._given[name] = {each: given.get(each, False) for each in there if each in given} | {
            each.alarm: there[each.alarm] for each in news
        }
        return news

    def tell(self, name: str, told: dict[str, Any]) -> None:
        """Tell by one way; comes back at once."""
        self._tellers[name].tell(told)

    def _heard(self, name: str) -> Callable[[dict[str, Any]], None]:
        def heard(told: dict[str, Any]) -> None:
            with self._lock:
                self._done.setdefault(name, {})[told["alarm"]] = bool(told["over"])
                self._news = True

        return heard

    def to_keep(self) -> bytes | None:
        """What is to be kept now; None where nothing was told since."""
        with self._lock:
            if not self._news:
                return None
            self._news = False
            return msgspec.json.encode(self._done)

    def end(self) -> None:
        """Stop trying, and wait for the threads."""
        for teller in self._tellers.values():
            teller.end()
