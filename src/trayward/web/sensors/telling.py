"""Alarms told at night: an HTTP POST to an address that the farm sets, tried again until it is heard."""

from __future__ import annotations

import json
import logging
import urllib.error
import urllib.request
from collections.abc import Callable
from queue import Empty, Queue
from threading import Event, Thread
from typing import Any
from urllib.parse import urlsplit

from trayward.errors import InputError
from trayward.farm.calendar import zone
from trayward.farm.sensors import AlarmHeld
from trayward.farm.settings import FarmSettings
from trayward.sensors.words import alarm_words, do_words

log = logging.getLogger("trayward.sensors")

TRIES_S = (0.0, 2.0, 10.0, 60.0, 300.0, 900.0)
"""How long before each try. [s]"""
PATIENCE_S = 10.0
"""How long an answer is waited for. [s]"""


def alarm_told(alarm: AlarmHeld, settings: FarmSettings) -> dict[str, Any]:
    """What is sent about an alarm: words for people, and the same in fields."""
    over = alarm.until is not None
    return {
        "alarm": alarm.alarm, "over": over, "farm": settings.name,
        "text": alarm_words(alarm, settings.units, zone(settings)),
        "do": "" if over else do_words(alarm.what, alarm.trouble),
        "sensor": alarm.sensor, "place": alarm.place, "what": alarm.what, "trouble": alarm.trouble,
        "since": alarm.since.isoformat(), "until": alarm.until.isoformat() if alarm.until is not None else None,
        "value": alarm.value, "limit": alarm.limit,
    }  # fmt: skip


class Teller:
    """
    Sends what it is given, in order, from a thread of its own.

    Parameters
    ----------
    url : str
        Where to, http or https.
    tries_s : sequence of float
        How long before each try. [s]
    """

    def __init__(self, url: str, *, tries_s: tuple[float, ...] = TRIES_S) -> None:
        if urlsplit(url).scheme not in ("http", "https") or not urlsplit(url).netloc:
            rule = "it must be an address that takes a POST"
            raise InputError("alarm address", urlsplit(url).netloc or "none", rule, "Give https://host/path.")
        self._url, self._tries = url, tries_s
        self._waiting: Queue[dict[str, Any]] = Queue()
        self._over = Event()
        self._thread = Thread(target=self._run, name="trayward-alarms", daemon=True)
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
            self._send(told)

    def _send(self, told: dict[str, Any]) -> None:
        problem = ""
        for wait in self._tries:
            if self._over.wait(wait):
                return
            problem = _posted(self._url, told)
            if not problem:
                return
        # Never the whole address: its path may be the secret.
        log.error("alarm %s could not be told to %s: %s", told["alarm"], urlsplit(self._url).hostname, problem)


def _posted(url: str, told: dict[str, Any]) -> str:
    """Send once; what was wrong, in words, or nothing."""
    request = urllib.request.Request(
        url, data=json.dumps(told).encode(), headers={"Content-Type": "application/json"}, method="POST"
    )
    try:
        with urllib.request.urlopen(request, timeout=PATIENCE_S):
            return ""
    except urllib.error.HTTPError as error:
        return f"it answered {error.code}"
    except (OSError, ValueError) as error:
        return f"it is not reached ({getattr(error, 'reason', error)})"


Tell = Callable[[dict[str, Any]], None]
