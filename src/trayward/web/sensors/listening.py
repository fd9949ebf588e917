"""Readings heard from an MQTT broker: kept before they are acknowledged, and heard again when the broker is back.

MQTT 3.1.1 (OASIS standard): with quality of service 1 a message is sent again until it is acknowledged, and a session
that is not clean has the broker keep what came while nobody listened. So a message is acknowledged only once it is on
the disk, and one that comes twice is kept once: by its own time, where it carries one.
"""

from __future__ import annotations

import logging
import os
import ssl
from collections.abc import Callable
from datetime import datetime, timedelta
from hashlib import sha256
from queue import Empty, Queue
from threading import Event, Thread
from typing import Any, Final
from urllib.parse import unquote, urlsplit

import msgspec

from trayward.bootstrap import Farm
from trayward.desk.sensing import MOST, Heard
from trayward.errors import BookError, InputError, TraywardError
from trayward.farm.sensors import Sensor
from trayward.sensors.topics import Message, messages_of, topics_of
from trayward.web.office import Office

log = logging.getLogger("trayward.sensors")

USER, PASSWORD, AUTHORITY = "TRAYWARD_MQTT_USER", "TRAYWARD_MQTT_PASSWORD", "TRAYWARD_MQTT_CA"
"""Name, password and, where the broker's certificate is the farm's own, the file of its authority."""
PORTS: Final = {"mqtt": 1883, "mqtts": 8883}
TOGETHER: Final = 500
"""So many messages are kept in one go."""
SAME: Final = timedelta(minutes=2)
"""One sent again without a time of its own, of the value kept last so shortly before, is that one: our choice."""
WAIT_S: Final = (1, 60)
"""How long after a broker is lost it is tried again: from so long, doubled each time, to so long. [s]"""
REMEMBERED: Final = 200
"""So many different complaints are said once each."""


class Broker(msgspec.Struct, frozen=True, kw_only=True):
    """Where the broker is."""

    host: str
    port: int
    tls: bool
    user: str = ""
    password: str = ""
    authority: str = ""

    @property
    def shown(self) -> str:
        """Its address without secrets."""
        return f"{self.host}:{self.port}"


def broker_of(url: str, environment: dict[str, str] | None = None) -> Broker:
    """
    A broker's address taken apart.

    Parameters
    ----------
    url : str
        `mqtt://host`, `mqtts://host:8883` over TLS.
    environment : dict, optional
        Where name and password stand; that of the process if left out.

    Raises
    ------
    InputError
        If it is no such address, or holds a password: others on the machine could read it there.

    Examples
    --------
    >>> broker_of("mqtts://broker.lantern-loft.example", {}).shown
    'broker.lantern-loft.example:8883'
    """
    told, parts = dict(os.environ) if environment is None else environment, urlsplit(url)
    if parts.scheme not in PORTS or not parts.hostname:
        raise InputError("broker", parts.hostname or url[:40], "it is no broker's address", "Give mqtt://host.")
    if parts.password:
        rule = "a password in an address can be read by others on this machine"
        raise InputError("broker", parts.hostname, rule, f"Put it into the environment as {PASSWORD}.")
    try:
        port = parts.port or PORTS[parts.scheme]
    except ValueError as error:
        raise InputError("broker", parts.hostname, "its port is none", "For instance 1883.") from error
    return Broker(
        host=parts.hostname, port=port, tls=parts.scheme == "mqtts", user=told.get(USER, unquote(parts.username or "")),
        password=told.get(PASSWORD, ""), authority=told.get(AUTHORITY, ""),
    )  # fmt: skip


def called(book: str) -> str:
    """What the listener of a book is called at a broker: the same each time, another for another book."""
    return f"trayward-{sha256(book.encode()).hexdigest()[:12]}"


class Listening:
    """
    Hears a broker and keeps what the farm's sensors tell there.

    Parameters
    ----------
    office : Office
        Where the farm is.
    broker : Broker
        Where the broker is.
    now : callable
        The clock.
    name : str
        What this listener is called at the broker: the same each time, so that the broker knows what it missed.
    moved : callable, optional
        Called when the book has moved by it.
    say : callable, optional
        Told in plain words that the broker is there, gone, or back.
    wait_s : tuple of int
        First and longest wait before the broker is tried again. [s]
    """

    def __init__(
        self,
        office: Office,
        broker: Broker,
        now: Callable[[], datetime],
        *,
        name: str = "trayward",
        moved: Callable[[], object] | None = None,
        say: Callable[[str], object] | None = None,
        wait_s: tuple[int, int] = WAIT_S,
    ) -> None:
        self._office, self._broker, self._now = office, broker, now
        self._moved, self._say = moved, say or (lambda words: log.warning("%s", words))
        self._waiting: Queue[tuple[Any, datetime]] = Queue()
        self._over = Event()
        self._there: bool | None = None
        self._topics: tuple[str, ...] = ()
        self._complained: set[str] = set()
        self.kept = 0
        """Readings kept so far that were new."""
        self._client = self._made(name, wait_s)
        self._thread = Thread(target=self._run, name="trayward-mqtt", daemon=True)

    def _made(self, name: str, wait_s: tuple[int, int]) -> Any:
        try:
            from paho.mqtt.client import Client
            from paho.mqtt.enums import CallbackAPIVersion
        except ImportError as error:
            remedy = 'Install it: pip install "trayward[mqtt]"'
            raise InputError("mqtt", "not installed", "its package is missing", remedy) from error
        client = Client(CallbackAPIVersion.VERSION2, client_id=name, clean_session=False, manual_ack=True)
        if self._broker.user:
            client.username_pw_set(self._broker.user, self._broker.password or None)
        if self._broker.tls:
            client.tls_set(ca_certs=self._broker.authority or None, tls_version=ssl.PROTOCOL_TLS_CLIENT)
        client.reconnect_delay_set(*wait_s)
        client.on_connect, client.on_disconnect = self._connected, self._disconnected
        client.on_connect_fail, client.on_message = self._not_reached, self._came
        return client

    def begin(self) -> None:
        """Begin; comes back at once, also where the broker is not there yet."""
        self._client.connect_async(self._broker.host, self._broker.port, keepalive=30)
        self._client.loop_start()
        self._thread.start()

    def end(self) -> None:
        """Keep what was heard, and end."""
        self._over.set()
        self._thread.join()
        self._client.disconnect()
        self._client.loop_stop()

    # Heard by the client's own thread ---------------------------------------------------------------------------------

    def _connected(self, _client: Any, _data: Any, _flags: Any, reason: Any, _more: Any) -> None:
        if reason.is_failure:
            self._gone(f"The broker {self._broker.shown} does not let us in: {reason}. Check name and password.")
            return
        if self._there is not True:
            back = "is back" if self._there is False else "is there"
            self._say(f"The broker {self._broker.shown} {back}.")
        self._there, self._topics = True, ()
        self._subscribe()

    def _disconnected(self, _client: Any, _data: Any, _flags: Any, reason: Any, _more: Any) -> None:
        if not self._over.is_set():
            self._gone(f"The broker {self._broker.shown} is gone: {reason}. It is tried again until it is back.")

    def _not_reached(self, _client: Any, _data: Any) -> None:
        self._gone(f"The broker {self._broker.shown} is not reached. It is tried again until it is there.")

    def _gone(self, words: str) -> None:
        if self._there is not False:
            self._there = False
            self._say(words)

    def _came(self, _client: Any, _data: Any, message: Any) -> None:
        self._waiting.put((message, self._now()))

    # Kept by a thread of ours -----------------------------------------------------------------------------------------

    def _run(self) -> None:
        last = self._now()
        while not (self._over.is_set() and self._waiting.empty()):
            batch = self._batch()
            if batch:
                self._keep(batch)
            elif self._over.is_set():
                return
            # Sensors set up meanwhile may tell under topics of their own.
            if self._now() - last > timedelta(seconds=30):
                last = self._now()
                self._subscribe()

    def _batch(self) -> list[tuple[Any, datetime]]:
        found = []
        try:
            found.append(self._waiting.get(timeout=0.2))
            while len(found) < TOGETHER:
                found.append(self._waiting.get_nowait())
        except Empty:
            pass
        return found

    def _keep(self, batch: list[tuple[Any, datetime]]) -> None:
        while True:
            try:
                self._kept(batch)
                break
            except BookError as error:
                # Not acknowledged, so not lost: the broker has them still if we end here.
                self._complain(f"The book cannot be written to, it is tried again: {error}")
                if self._over.wait(2.0):
                    return
            except Exception:
                log.exception("messages could not be kept")
                break
        for message, _ in batch:
            self._client.ack(message.mid, message.qos)

    def _kept(self, batch: list[tuple[Any, datetime]]) -> None:
        self._office.take()
        try:
            if not self._office.has_farm:
                return
            farm, before = self._office.farm, self._office.version
            at = self._office.seen_at(self._now())
            sensors = tuple(farm.state(at).sensors.values())
            heard: list[Heard] = []
            for message, came in batch:
                at = max(at, came)
                if message.dup:
                    # Whether it was kept before is looked up: what came before it has to be.
                    self._hear(farm, heard, at)
                    heard = []
                heard += [one for told in self._read(message, sensors) if (one := self._heard(message, told, came))]
            self._hear(farm, heard, at)
            moved = self._office.look().seq != before
        finally:
            self._office.give_back()
        if moved and self._moved is not None:
            self._moved()

    def _hear(self, farm: Farm, heard: list[Heard], at: datetime) -> None:
        """Keep readings together: what a sensor's alarms are is then looked at once, and not for each of them."""
        for begin in range(0, len(heard), MOST):
            some = heard[begin : begin + MOST]
            try:
                self.kept += farm.hear(some, at=at, by="mqtt").kept.new
            except BookError:
                raise
            except TraywardError:
                self._hear_each(farm, some, at)

    def _hear_each(self, farm: Farm, heard: list[Heard], at: datetime) -> None:
        """Keep readings one by one: what cannot be must not keep the others away."""
        for one in heard:
            try:
                self.kept += farm.hear([one], at=at, by="mqtt").kept.new
            except BookError:
                raise
            except TraywardError as error:
                self._complain(str(error))

    def _read(self, message: Any, sensors: tuple[Sensor, ...]) -> list[Message]:
        try:
            return messages_of(message.topic, message.payload, sensors)
        except InputError as error:
            self._complain(str(error))
            return []

    def _heard(self, message: Any, told: Message, came: datetime) -> Heard | None:
        """As a reading; None for one of which nobody can say when it was, and for one that was kept before."""
        if told.at is None and message.retain:
            # The broker keeps the last one for whoever comes: it may be of last week.
            return None
        if told.at is None and message.dup:
            last = self._office.farm.book.last_readings([told.sensor]).get(told.sensor)
            if last is not None and last.value == told.value and came - last.at < SAME:
                return None
        return Heard(sensor=told.sensor, value=told.value, at=told.at or came, unit=told.unit)

    def _subscribe(self) -> None:
        if not self._there:
            return
        self._office.take()
        try:
            farm = self._office.farm if self._office.has_farm else None
            state = farm.state(self._office.seen_at(self._now())) if farm is not None else None
            wanted = topics_of(state.sensors.values() if state is not None else ())
        except TraywardError as error:
            self._complain(str(error))
            return
        finally:
            self._office.give_back()
        fresh = [topic for topic in wanted if topic not in self._topics]
        if fresh:
            self._client.subscribe([(topic, 1) for topic in fresh])
            self._topics = wanted

    def _complain(self, words: str) -> None:
        """Say something once, not with every message."""
        if words not in self._complained and len(self._complained) < REMEMBERED:
            self._complained.add(words)
            self._say(words)
