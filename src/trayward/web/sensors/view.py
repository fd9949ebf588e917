"""What the pages of sensors show, worked out from plain values."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import msgspec

from trayward.desk.sensing import SensorNow
from trayward.farm.sensors import AlarmHeld, Sensor
from trayward.farm.settings import ShownUnits
from trayward.sensors.hours import beyond
from trayward.sensors.words import alarm_words, do_words, value_words


class AlarmShown(msgspec.Struct, frozen=True, kw_only=True):
    """An alarm with its sentence and what to do."""

    alarm: AlarmHeld
    words: str
    do: str


class SensorShown(msgspec.Struct, frozen=True, kw_only=True):
    """A sensor as a row."""

    sensor: Sensor
    title: str
    value: str
    """The last reading; empty: it was never heard."""
    at: datetime | None
    late: bool
    """Whether it should have told again."""
    outside: bool
    possible: bool


def alarms_shown(alarms: tuple[AlarmHeld, ...], units: ShownUnits, at_home: ZoneInfo) -> tuple[AlarmShown, ...]:
    """Alarms as they are said on every face."""
    return tuple(
        AlarmShown(alarm=each, words=alarm_words(each, units, at_home), do=do_words(each.what, each.trouble))
        for each in alarms
    )


def sensor_shown(now: SensorNow, units: ShownUnits, at: datetime) -> SensorShown:
    """A sensor as a row."""
    sensor, last = now.sensor, now.last
    late = sensor.silence_tells and last is not None and at - last.at > timedelta(minutes=sensor.silent_after_min)
    value = last.value if last is not None else None
    return SensorShown(
        sensor=sensor, title=sensor.measure.title, at=last.at if last is not None else None, late=late,
        value=value_words(sensor.what, value, units) if value is not None else "",
        outside=value is not None and beyond(sensor, value), possible=value is None or sensor.can_be(value),
    )  # fmt: skip


def limits_words(sensor: Sensor, units: ShownUnits) -> tuple[str, str]:
    """Its lowest and highest as somebody reads them; empty where there is none."""
    ends = (sensor.low, sensor.high)
    low, high = (value_words(sensor.what, each, units) if each is not None else "" for each in ends)
    return low, high
