"""Sensors through the farm: heard, summed by the hour, alarms raised and answered."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from trayward import Farm
from trayward.desk.ports import Wanted
from trayward.desk.sensing import Heard
from trayward.errors import InputError, NotFoundError, RefusedError
from trayward.farm.entries import ReadingsSummed, RecordWritten
from trayward.farm.last_air import last_air
from trayward.farm.sensors import Correction, Sensor

AT = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
M = timedelta(minutes=1)


@pytest.fixture
def farm() -> Iterator[Farm]:
    with Farm.create(":memory:", "shelf", at=AT - timedelta(days=2)) as farm:
        farm.set_sensor(Sensor(name="cold-1", place="cold room", what="cold room temperature", high=5.0), at=AT)
        farm.set_sensor(Sensor(name="air-1", place="A1", what="air temperature", low=16.0, high=26.0), at=AT)
        farm.set_sensor(Sensor(name="rh-1", place="A1", what="humidity"), at=AT)
        yield farm


def hear(farm: Farm, values: list[float], since: datetime = AT, name: str = "cold-1", **more: Any) -> Any:
    """One each five minutes, each as it comes."""
    for place, value in enumerate(values):
        at = since + 5 * M * place
        news = farm.hear([Heard(sensor=name, value=value, at=at, **more)], at=at)
    return news


def hours(farm: Farm) -> list[ReadingsSummed]:
    found = farm.book.search(Wanted(kinds=("readings summed",))).kept
    return [each.entry.body for each in reversed(found)]


def test_it_works(farm: Farm):
    hear(farm, [4.0] * 24)
    (first,) = hours(farm)
    assert (first.hour, first.sensors[0].sensor, first.sensors[0].readings) == (AT, "cold-1", 12)
    assert farm.state(AT + 115 * M).hours_summed == AT + 60 * M
    assert farm.book.verify() == []


def test_readings_do_not_move_the_book_until_an_hour_is_over(farm: Farm):
    before = farm.book.head().seq
    hear(farm, [4.0] * 12)
    assert farm.book.head().seq == before
    farm.look_at_sensors(at=AT + 62 * M)
    assert farm.book.head().seq == before
    farm.look_at_sensors(at=AT + 63 * M)
    farm.look_at_sensors(at=AT + 64 * M)
    assert farm.book.head().seq == before + 1


def test_a_reading_that_came_late_has_its_hour_said_again(farm: Farm):
    hear(farm, [4.0] * 13)
    farm.look_at_sensors(at=AT + 64 * M)
    farm.hear([Heard(sensor="cold-1", value=10.0, at=AT + 7 * M)], at=AT + 66 * M)
    first, again = hours(farm)
    assert (first.sensors[0].high, again.sensors[0].high, again.hour) == (4.0, 10.0, AT)
    assert farm.book.verify() == []


def test_the_air_a_sensor_tells_is_that_of_the_farm(farm: Farm):
    hear(farm, [21.0] * 12, name="air-1")
    hear(farm, [55.0] * 12, name="rh-1")
    farm.look_at_sensors(at=AT + 64 * M)
    air = last_air(farm.state(AT + 65 * M), AT + 65 * M, "A1")
    assert air is not None
    assert (air.temp_c, air.humidity_pct) == (21.0, 55.0)
    farm.hear([Heard(sensor="air-1", value=34.0, at=AT + 7 * M)], at=AT + 66 * M)
    state = farm.state(AT + 66 * M)
    assert [each.value for each in state.readings if each.what == "temperature"] == [pytest.approx(22.0)]


def test_hours_nobody_was_there_to_sum_land_on_their_own_time(farm: Farm):
    told = [Heard(sensor="air-1", value=20.0 + hour, at=AT - timedelta(hours=20 - hour)) for hour in range(10)]
    news = farm.hear(told, at=AT)
    assert news.kept.new == 10
    state = farm.state(AT)
    assert [each.at for each in state.readings] == [AT - timedelta(hours=19 - hour) for hour in range(10)]
    assert farm.hear(told, at=AT + M).kept.already == 10
    assert len(hours(farm)) == 10


def test_a_cold_room_too_warm_rings_and_is_said_on_the_round_first_of_all(farm: Farm):
    news = hear(farm, [4.0, *[9.0] * 7])
    (raised,) = news.raised
    assert (raised.sensor, raised.trouble, raised.value) == ("cold-1", "high", 9.0)
    first = farm.round(AT + 36 * M).notes[0]
    assert first.startswith("Cold room temperature at cold room (cold-1) = 9 C: above 5 C since")
    assert "Shut the door" in first
    over = farm.hear([Heard(sensor="cold-1", value=4.0, at=AT + 50 * M)], at=AT + 50 * M)
    assert [each.until for each in over.over] == [AT + 50 * M]
    assert "Say what was done about it." in farm.round(AT + 51 * M).notes[0]


def test_an_answer_to_the_cold_room_is_a_corrective_action_with_the_lots_that_lay_in_it(farm: Farm):
    sowing = farm.sow("broccoli", 1, at=AT - timedelta(days=1))
    lot = farm.cut({sowing.names[1]: 150.0}, at=AT - M, sure=True).names[0]
    hear(farm, [9.0] * 8)
    receipt = farm.answer_alarm("cold-1", "door shut, crop at 4 C, kept", at=AT + 50 * M, by="Ada")
    record = receipt.kept[1].entry.body
    assert isinstance(record, RecordWritten)
    told = record.record
    assert (told.kind, told.area, told.corrective) == ("cold room", "cold room", "door shut, crop at 4 C, kept")
    assert told.about == (f"harvest:{lot}",)
    assert told.outside
    assert receipt.kept[0].entry.by == "Ada"
    hear(farm, [4.0], since=AT + 60 * M)
    assert farm.alarms(AT + 61 * M) == ()
    assert not any("cold-1" in each for each in farm.round(AT + 61 * M).notes)


def test_an_answer_sent_twice_is_kept_once(farm: Farm):
    hear(farm, [9.0] * 8)
    first = farm.answer_alarm("cold-1", "door shut", at=AT + 50 * M, ids=["phone-0001"])
    hear(farm, [4.0], since=AT + 60 * M)
    again = farm.answer_alarm("cold-1", "door shut", at=AT + 50 * M, ids=["phone-0001"])
    assert [each.entry.id for each in again.kept] == [each.entry.id for each in first.kept]


def test_a_sensor_that_fell_silent_rings_once(farm: Farm):
    hear(farm, [4.0])
    assert farm.look_at_sensors(at=AT + 14 * M).raised == ()
    (raised,) = farm.look_at_sensors(at=AT + 16 * M).raised
    assert raised.trouble == "silent"
    assert farm.look_at_sensors(at=AT + 17 * M).raised == ()
    assert [each.alarm for each in hear(farm, [4.0], since=AT + 30 * M).over] == [raised.alarm]


def test_an_alarm_that_two_processes_notice_in_the_same_moment_is_raised_once_and_refused_to_neither(tmp_path: Path):
    book = tmp_path / "farm.sqlite"
    with Farm.create(book, "shelf", at=AT - timedelta(days=2)) as first, Farm.open(book) as second:
        first.set_sensor(Sensor(name="cold-1", place="cold room", what="cold room temperature", high=5.0), at=AT)
        hear(first, [9.0] * 6)
        told = first._alarm_news

        def told_meanwhile(*asked: Any) -> Any:
            """What the first would tell; in the next moment the second tells it too."""
            found = told(*asked)
            second.look_at_sensors(at=AT + 30 * M)
            return found

        first._alarm_news = told_meanwhile  # type: ignore[method-assign]
        news = first.hear([Heard(sensor="cold-1", value=9.0, at=AT + 30 * M)], at=AT + 30 * M)
        assert (news.kept.new, news.raised) == (1, ())
        assert [each.trouble for each in first.alarms(AT + 31 * M)] == ["high"]


def test_a_sensor_never_heard_of_does_not_ring(farm: Farm):
    assert farm.look_at_sensors(at=AT + 600 * M).raised == ()


def test_a_correction_holds_from_its_day_and_the_reading_stays_as_it_came(farm: Farm):
    hear(farm, [4.0] * 2)
    held = farm.sensor_named("cold-1", AT)
    better = Correction(since=AT + 5 * M, add=-0.5, note="ice water read 0.5 C")
    farm.set_sensor(
        Sensor(name=held.name, place=held.place, what=held.what, high=5.0, corrections=(better,)), at=AT + 6 * M
    )
    shown = farm.sensor_readings("cold-1", AT, AT + 60 * M, at=AT + 7 * M)
    assert [each.value for each in shown] == [4.0, 3.5]
    assert [each.value for each in farm.book.readings("cold-1", AT, AT + 60 * M)] == [4.0, 4.0]


@pytest.mark.parametrize(
    ("heard", "error", "words"),
    [
        (Heard(sensor="nobody", value=4.0), NotFoundError, "sensor 'nobody': the farm has none of that name"),
        (Heard(sensor="cold-1", value=float("nan")), InputError, "must be a number"),
        (Heard(sensor="cold-1", value=4.0, at=AT + timedelta(hours=1)), InputError, "ahead of now"),
        (Heard(sensor="cold-1", value=4.0, at=datetime(1970, 1, 1, tzinfo=UTC)), InputError, "no sensor stood then"),
        (Heard(sensor="cold-1", value=4.0, unit="ppm"), InputError, "no unit of Cold room temperature"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_of_it_kept(farm: Farm, heard: Heard, error: type[Exception], words: str):
    with pytest.raises(error, match=words):
        farm.hear([Heard(sensor="cold-1", value=4.0), heard], at=AT)
    assert farm.book.last_readings(["cold-1"]) == {}


def test_fahrenheit_is_read_as_such_and_a_fast_clock_forgiven(farm: Farm):
    farm.hear([Heard(sensor="cold-1", value=41.0, unit="F", at=AT + 4 * M)], at=AT)
    assert farm.book.last_readings(["cold-1"])["cold-1"].value == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"name": "two words"}, "made of letters"),
        ({"place": " "}, "stands somewhere"),
        ({"low": 6.0}, "they are swapped"),
        ({"high": 500.0}, r"must lie in \[-40, 60\] C"),
        ({"every_min": 0.0}, "every = 0 min"),
        ({"name": "air-1"}, "has measured air temperature so far"),
    ],
)
def test_a_sensor_that_cannot_be_is_refused(farm: Farm, more: dict[str, Any], words: str):
    told: dict[str, Any] = {"name": "new-1", "place": "cold room", "what": "cold room temperature", "high": 5.0, **more}
    with pytest.raises(RefusedError, match=words):
        farm.set_sensor(Sensor(**told), at=AT)


def test_alarms_answered_and_sensors_are_listed_with_those_in_trouble_first(farm: Farm):
    hear(farm, [9.0] * 8)
    first, *others = farm.sensors(AT + 40 * M)
    assert (first.sensor.name, first.last.value, len(first.alarms)) == ("cold-1", 9.0, 1)
    assert [each.last for each in others] == [None, None]
    with pytest.raises(NotFoundError, match="alarm 'air-1': the farm has none"):
        farm.answer_alarm("air-1", "nothing", at=AT + 40 * M)
    with pytest.raises(InputError, match="an answer says what was done"):
        farm.answer_alarm("cold-1", " ", at=AT + 40 * M)


def test_the_state_folds_to_the_same_again(farm: Farm):
    from trayward.farm.codec import encode_state
    from trayward.farm.fold import fold

    hear(farm, [9.0] * 30)
    hear(farm, [21.0] * 30, name="air-1")
    at = AT + 200 * M
    farm.answer_alarm("cold-1", "door shut", at=at)
    assert encode_state(farm.state(at)) == encode_state(fold(list(farm.book.timeline())))
