"""Readings handed in by HTTP: with a token that may do nothing else, once, at sensible times, within limits."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from argon2.profiles import CHEAPEST
from starlette.testclient import TestClient

from tests.web.conftest import MORNING, Clock
from trayward.bootstrap import Farm
from trayward.farm.sensors import Sensor
from trayward.store.people import Hasher
from trayward.web.app import create_app
from trayward.web.people.keeper import FarmPeople
from trayward.web.sensors.rate import MOST_A_MINUTE

M = timedelta(minutes=1)
SENSORS = (
    Sensor(name="cold-1", place="cold room", what="cold room temperature", high=5.0),
    Sensor(name="air-1", place="A1", what="air temperature"),
)


class Device:
    """A program with a token, that sends to the pages."""

    def __init__(self, client: TestClient, clock: Clock, token: str) -> None:
        self.client, self.clock = client, clock
        self.headers = {"Authorization": f"Bearer {token}"}

    def post(self, path: str, told: Any) -> Any:
        return self.client.post(path, json=told, headers=self.headers)

    def send(self, *readings: dict[str, Any]) -> Any:
        return self.post("/api/1/sensors/readings", {"readings": list(readings)})


@pytest.fixture
def world(tmp_path: Path) -> Iterator[dict[str, Device]]:
    book, clock = tmp_path / "farm.sqlite", Clock()
    with Farm.create(book, "shelf", at=MORNING) as farm:
        for sensor in SENSORS:
            farm.set_sensor(sensor, at=MORNING)
    keeper = FarmPeople(str(book), hasher=Hasher(CHEAPEST))
    keeper.needed.persons.add("ida", "owner", password="seven wet trays drip", at=MORNING, by="tests")
    app = create_app(str(book), now=clock, people=keeper)
    with TestClient(app, base_url="http://127.0.0.1", raise_server_exceptions=False) as client:
        yield {
            role: Device(client, clock, keeper.needed.tokens.add(f"the {role}", role, at=MORNING, by="tests")[1])
            for role in ("owner", "hand", "reader", "sensor")
        }
    keeper.close()


def test_it_works(world: dict[str, Device]):
    got = world["sensor"].send({"sensor": "cold-1", "value": 4.0}, {"sensor": "air-1", "value": 70.7, "unit": "F"})
    assert got.status_code == 200
    assert got.json() == {"new": 2, "already": 0, "differing": 0, "alarms": []}
    shown = world["reader"].client.get("/api/1/sensors", headers=world["reader"].headers).json()["sensors"]
    assert [
        (each["sensor"]["name"], round(each["last"]["value"] if isinstance(each["last"], dict) else each["last"][1], 2))
        for each in shown
    ] == [("air-1", 21.5), ("cold-1", 4.0)]


def test_a_sensors_token_may_do_nothing_else(world: dict[str, Device]):
    device = world["sensor"]
    for path in ("/api/1/sensors", "/api/1/alarms", "/round", "/api/1/entries", "/live"):
        got = device.client.get(path, headers=device.headers | {"Accept": "application/json"})
        assert got.status_code in (401, 403), path
    assert device.post("/api/1/note", {"text": "hello"}).status_code == 403
    assert device.post("/api/1/alarms/cold-1/answer", {"done": "nothing"}).status_code == 403


def test_a_reader_may_not_hand_in_and_a_stranger_is_not_known(world: dict[str, Device]):
    assert world["reader"].send({"sensor": "cold-1", "value": 4.0}).status_code == 403
    assert world["hand"].send({"sensor": "cold-1", "value": 4.0}).status_code == 200
    got = world["reader"].client.post(
        "/api/1/sensors/readings", json={"readings": [{"sensor": "cold-1", "value": 4.0}]}
    )
    assert got.status_code == 401


def test_sent_again_it_changes_nothing(world: dict[str, Device]):
    told = {"sensor": "cold-1", "value": 4.0, "at": MORNING.isoformat()}
    assert world["sensor"].send(told, told).json() == {"new": 1, "already": 1, "differing": 0, "alarms": []}
    assert world["sensor"].send(told | {"value": 4.5}).json()["differing"] == 1


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"at": (MORNING + 20 * M).isoformat()}, "ahead of now"),
        ({"at": "1970-01-01T00:00:07+00:00"}, "no sensor stood then"),
        ({"at": "2026-11-25T07:00:00"}, "must be a moment with its offset"),
        ({"sensor": "nobody"}, "none of that name"),
        ({"value": "warm"}, "must be a number"),
        ({"unit": "ppm"}, "no unit of"),
        ({"extra": 1}, "there is no such field"),
    ],
)
def test_what_cannot_be_is_refused_and_all_of_it(world: dict[str, Device], told: dict[str, Any], words: str):
    device = world["sensor"]
    got = device.send({"sensor": "air-1", "value": 20.0}, {"sensor": "cold-1", "value": 4.0} | told)
    assert got.status_code == 422
    assert words in got.json()["error"]["sentence"]
    assert device.send({"sensor": "air-1", "value": 20.0, "at": MORNING.isoformat()}).json()["new"] == 1


def test_too_many_at_once_are_refused(world: dict[str, Device]):
    device = world["sensor"]
    one = {"sensor": "cold-1", "value": 4.0}
    assert device.send(*[one] * 2001).status_code == 422
    assert (
        device.client.post(
            "/api/1/sensors/readings",
            content=b" " * 300_000,
            headers=device.headers | {"Content-Type": "application/json"},
        ).status_code
        == 413
    )


def test_a_device_gone_wild_is_told_to_wait_and_others_are_not(world: dict[str, Device]):
    device, told = world["sensor"], {"sensor": "cold-1", "value": 4.0, "at": MORNING.isoformat()}
    got = [device.send(told).status_code for _ in range(MOST_A_MINUTE + 1)]
    assert got.count(429) == 1
    assert world["hand"].send(told).status_code == 200
    device.clock.forward(minutes=2)
    assert device.send(told).status_code == 200


def test_a_warm_cold_room_rings_and_is_answered(world: dict[str, Device]):
    device = world["sensor"]
    raised = []
    for _ in range(8):
        raised += device.send({"sensor": "cold-1", "value": 9.0}).json()["alarms"]
        device.clock.forward(minutes=5)
    (name,) = raised
    hand = world["hand"]
    (told,) = hand.client.get("/api/1/alarms", headers=hand.headers).json()["alarms"]
    assert told["alarm"]["alarm"] == name
    assert "Shut the door" in told["do"]
    kept = hand.post(f"/api/1/alarms/{name}/answer", {"done": "door shut"})
    assert [each["kind"] for each in kept.json()["entries"]] == ["alarm answered", "record written"]
