"""Alarms told at night: to a real server that answers, fails, or is not there; and the watch that notices them."""

from __future__ import annotations

import json
import logging
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Any

import pytest

from tests.web.conftest import MORNING, Clock
from trayward.bootstrap import Farm
from trayward.desk.sensing import Heard
from trayward.errors import InputError
from trayward.farm.sensors import Sensor
from trayward.web.office import Office
from trayward.web.sensors.telling import Teller
from trayward.web.sensors.watch import Watch

M = timedelta(minutes=1)
AT_ONCE = (0.0, 0.0, 0.0)
ONE: dict[str, Any] = {"alarm": "cold-1.high.20261125T0730", "text": "Die Kühlkammer ist zu warm."}


class Phone:
    """What takes the alarms: a server that answers as it is told to, and keeps all that came."""

    def __init__(self) -> None:
        self.came: list[tuple[str, str, Any]] = []
        """Path, type and what was sent."""
        self.answers: list[int] = []
        """The next answers; 204 where none is left."""
        phone = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                sent = self.rfile.read(int(self.headers["Content-Length"]))
                phone.came.append((self.path, self.headers["Content-Type"], json.loads(sent)))
                self.send_response(phone.answers.pop(0) if phone.answers else 204)
                self.end_headers()

            def log_message(self, *_: Any) -> None:
                pass

        self._server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.url = f"http://127.0.0.1:{self._server.server_address[1]}/new?secret=drip"
        Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True).start()

    @property
    def told(self) -> list[Any]:
        return [sent for _, _, sent in self.came]

    def hang_up(self) -> None:
        self._server.shutdown()
        self._server.server_close()


def until(holds: Callable[[], bool], seconds: float = 20.0) -> None:
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, "it did not come to that"
        time.sleep(0.02)


@pytest.fixture
def phone() -> Iterator[Phone]:
    made = Phone()
    yield made
    made.hang_up()


@pytest.fixture
def teller(phone: Phone) -> Iterator[Teller]:
    made = Teller(phone.url, tries_s=AT_ONCE)
    yield made
    made.end()


def test_it_works(phone: Phone, teller: Teller):
    teller.tell(ONE)
    until(lambda: bool(phone.came))
    assert phone.came == [("/new?secret=drip", "application/json", ONE)]


def test_it_is_told_again_until_it_is_heard_and_then_no_more(phone: Phone, teller: Teller):
    phone.answers = [500, 503]
    teller.tell(ONE)
    teller.tell({"alarm": "the next"})
    until(lambda: len(phone.came) == 4)
    time.sleep(0.1)
    assert [each["alarm"] for each in phone.told] == [ONE["alarm"]] * 3 + ["the next"]


def test_one_that_nobody_hears_is_given_up_without_its_secret_and_the_next_is_told(
    phone: Phone, teller: Teller, caplog: pytest.LogCaptureFixture
):
    phone.answers = [500] * len(AT_ONCE)
    with caplog.at_level(logging.ERROR, logger="trayward.sensors"):
        teller.tell(ONE)
        teller.tell({"alarm": "the next"})
        until(lambda: len(phone.came) == len(AT_ONCE) + 1)
    (said,) = [record.getMessage() for record in caplog.records]
    assert said == f"alarm {ONE['alarm']} could not be told to 127.0.0.1: it answered 500"


def test_where_nobody_answers_it_is_told_once_somebody_does(phone: Phone, caplog: pytest.LogCaptureFixture):
    phone.hang_up()
    gone = Teller(phone.url, tries_s=AT_ONCE)
    with caplog.at_level(logging.ERROR, logger="trayward.sensors"):
        gone.tell(ONE)
        until(lambda: bool(caplog.records))
    gone.end()
    assert "it is not reached" in caplog.records[0].getMessage()
    assert "drip" not in caplog.text


def test_the_end_does_not_wait_for_the_next_try(phone: Phone):
    phone.answers = [500]
    patient = Teller(phone.url, tries_s=(0.0, 900.0))
    patient.tell(ONE)
    until(lambda: bool(phone.came))
    begun = time.monotonic()
    patient.end()
    assert time.monotonic() - begun < 5
    assert len(phone.came) == 1


@pytest.mark.parametrize("url", ["", "alarm.lantern-loft.example", "file:///etc/hostname", "mqtt://host", "https://"])
def test_what_takes_no_post_is_refused_at_once(url: str):
    with pytest.raises(InputError, match="it must be an address that takes a POST"):
        Teller(url)


# The watch ------------------------------------------------------------------------------------------------------------


class Loft:
    """A farm with a cold room, watched; what it tells, and how often its pages were moved."""

    def __init__(self, book: Path) -> None:
        self.book, self.clock = book, Clock()
        with Farm.create(book, "shelf", at=MORNING - timedelta(days=1)) as farm:
            cold = Sensor(name="cold-1", place="cold room", what="cold room temperature", high=5.0)
            farm.set_sensor(cold, at=MORNING)
        self.office = Office(str(book))
        self.told: list[dict[str, Any]] = []
        self.moves = 0
        self.watch = self.watched()

    def watched(self, tell: Callable[[dict[str, Any]], None] | None = None, every_s: float = 0.02) -> Watch:
        return Watch(self.office, self.clock, moved=self.move, tell=tell or self.told.append, every_s=every_s)

    def move(self) -> None:
        self.moves += 1

    def hear(self, *values: float) -> None:
        """One every five minutes, by another process."""
        with Farm.open(self.book) as farm:
            for value in values:
                farm.hear([Heard(sensor="cold-1", value=value, at=self.clock())], at=self.clock())
                self.clock.forward(minutes=5)


@pytest.fixture
def loft(tmp_path: Path) -> Iterator[Loft]:
    made = Loft(tmp_path / "farm.sqlite")
    yield made
    made.watch.end()
    made.office.close()


def test_the_watch_tells_an_alarm_once_and_once_that_it_is_over(loft: Loft):
    loft.hear(4.0)
    loft.watch.look()
    assert loft.told == []
    loft.hear(*[9.0] * 8)
    loft.watch.look()
    loft.watch.look()
    (told,) = loft.told
    assert (told["over"], told["value"], told["limit"], told["until"]) == (False, 9.0, 5.0, None)
    assert told["text"] == "Cold room temperature at cold room (cold-1) = 9 C: above 5 C since Wed 25 Nov, 07:35."
    assert "Shut the door" in told["do"]
    loft.hear(4.0)
    loft.watch.look()
    loft.watch.look()
    assert [(each["alarm"], each["over"]) for each in loft.told] == [(told["alarm"], False), (told["alarm"], True)]
    assert (loft.told[1]["do"], loft.told[1]["until"]) == ("", (MORNING + 45 * M).isoformat())


def test_what_was_there_before_the_watch_began_is_not_told_again(loft: Loft):
    loft.hear(*[9.0] * 8)
    loft.watch.look()
    assert loft.told == []
    loft.hear(4.0)
    loft.watch.look()
    assert [each["over"] for each in loft.told] == [True]


def test_silence_is_noticed_by_the_clock_alone_and_moves_the_pages(loft: Loft):
    loft.watch.look()
    loft.hear(4.0)
    loft.watch.look()
    moves = loft.moves
    loft.clock.forward(minutes=20)
    loft.watch.look()
    assert [(each["trouble"], each["value"]) for each in loft.told] == [("silent", None)]
    assert loft.moves == moves + 1
    loft.watch.look()
    assert loft.moves == moves + 1


def test_what_was_silent_while_nobody_watched_is_not_told_at_once(loft: Loft):
    loft.hear(4.0)
    loft.clock.forward(minutes=600)
    loft.watch.look()
    assert loft.told == []
    loft.clock.forward(minutes=16)
    loft.watch.look()
    assert [each["trouble"] for each in loft.told] == ["silent"]


def test_the_watch_goes_on_by_itself_until_its_end_and_past_one_who_will_not_hear(
    loft: Loft, caplog: pytest.LogCaptureFixture
):
    told: list[str] = []

    def tell(alarm: dict[str, Any]) -> None:
        told.append(alarm["trouble"])
        if len(told) == 1:
            raise RuntimeError("the phone is in the wash")

    loft.watch = loft.watched(tell)
    loft.watch.begin()
    until(lambda: loft.watch._known is not None)
    loft.hear(4.0)
    loft.clock.forward(minutes=20)
    until(lambda: told == ["silent"])
    loft.hear(4.0)
    until(lambda: told == ["silent", "silent"])
    loft.watch.end()
    assert "could not be looked at" in caplog.text
    loft.clock.forward(minutes=60)
    time.sleep(0.1)
    assert len(told) == 2


def test_a_watch_that_is_nudged_looks_at_once(loft: Loft):
    loft.watch = loft.watched(every_s=600.0)
    loft.watch.begin()
    until(lambda: loft.watch._known is not None)
    loft.hear(*[9.0] * 8)
    loft.watch.nudge()
    until(lambda: [each["over"] for each in loft.told] == [False])
    loft.hear(4.0)
    loft.watch.nudge()
    until(lambda: [each["over"] for each in loft.told] == [False, True])


def test_a_farm_that_is_lent_is_left_alone(tmp_path: Path):
    with Farm.create(tmp_path / "farm.sqlite", "shelf", at=MORNING) as farm:
        office = Office(farm)
        watch = Watch(office, Clock(), every_s=0.02)
        watch.begin()
        time.sleep(0.1)
        assert watch._begun is None
        watch.end()


def test_an_alarm_that_the_watch_notices_reaches_the_phone(loft: Loft, phone: Phone, teller: Teller):
    loft.watch = loft.watched(teller.tell)
    loft.watch.begin()
    until(lambda: loft.watch._known is not None)
    loft.hear(*[9.0] * 8)
    until(lambda: bool(phone.came))
    assert phone.told[0]["sensor"] == "cold-1"
    assert phone.told[0]["farm"]
