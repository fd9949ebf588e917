"""Many messages at once, as a broker hands them over that was out of reach: kept together, the bad ones apart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from trayward import Farm
from trayward.desk.sensing import Heard, SensorNews
from trayward.farm.sensors import Sensor
from trayward.web.office import Office
from trayward.web.sensors.listening import Broker, Listening

AT = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)


@pytest.fixture
def office(tmp_path: Path) -> Iterator[Office]:
    book = tmp_path / "farm.sqlite"
    with Farm.create(book, "shelf", at=AT - timedelta(days=1)) as farm:
        cold = Sensor(name="cold-1", place="cold room", what="cold room temperature", high=5.0)
        farm.set_sensor(cold, at=AT - timedelta(hours=3))
    made = Office(str(book))
    yield made
    made.close()


def message(payload: str, *, dup: bool = False) -> Any:
    return SimpleNamespace(topic="trayward/cold-1", payload=payload.encode(), retain=False, dup=dup, mid=1, qos=1)


def stamped(value: float, minutes: float) -> str:
    return f'{{"value": {value}, "ts": {(AT + timedelta(minutes=minutes)).timestamp()}}}'


def listening(office: Office, said: list[str]) -> Listening:
    return Listening(office, Broker(host="broker.example", port=1883, tls=False), lambda: AT, say=said.append)


def values(office: Office) -> list[float]:
    found = office.farm.book.readings("cold-1", AT - timedelta(days=2), AT + timedelta(days=2))
    return [each.value for each in found]


def test_a_burst_is_kept_together_and_its_alarm_raised_once(office: Office, monkeypatch: pytest.MonkeyPatch) -> None:
    heard, hear = list[int](), Farm.hear

    def counted(farm: Farm, some: Sequence[Heard], **more: Any) -> SensorNews:
        heard.append(len(some))
        return hear(farm, some, **more)

    monkeypatch.setattr(Farm, "hear", counted)
    one = listening(office, [])
    one._kept([(message(stamped(8.0, minutes)), AT) for minutes in range(-90, 0)])
    assert heard == [90]
    assert one.kept == 90
    assert [each.trouble for each in office.farm.alarms(AT)] == ["high"]


def test_what_cannot_be_keeps_nothing_of_a_burst_away(office: Office) -> None:
    said: list[str] = []
    one = listening(office, said)
    one._kept([(message(stamped(4.0 + n / 10, n if n != 2 else 60 * 24 * 30)), AT) for n in range(-2, 4)])
    assert values(office) == pytest.approx([3.8, 3.9, 4.0, 4.1, 4.3])
    assert any("ahead of now" in each for each in said)


def test_one_sent_again_in_the_same_burst_is_counted_once(office: Office) -> None:
    """Without a time of its own: the first of it is kept before the second is looked at."""
    one = listening(office, [])
    one._kept([(message("4.5"), AT), (message("4.5", dup=True), AT + timedelta(seconds=9)), (message("4.6"), AT)])
    assert one.kept == 1, "the third is of the same moment as the first"
    assert values(office) == [4.5]
