"""Entries about sensors: what they are, their hours, their alarms."""

from __future__ import annotations

from datetime import datetime

from trayward.farm.entries.body import Body
from trayward.farm.sensors import Sensor, SensorHour, Trouble, What


class SensorSet(Body, frozen=True, kw_only=True):
    """A sensor is as said from now on."""

    KIND = "sensor set"
    sensor: Sensor

    def subjects(self) -> tuple[str, ...]:
        return (f"sensor:{self.sensor.name}", f"place:{self.sensor.place}")


class ReadingsSummed(Body, frozen=True, kw_only=True):
    """An hour of the sensors. Their readings stand beside the book; said again where more of that hour came late."""

    KIND = "readings summed"
    hour: datetime
    """Its beginning."""
    taken_until: datetime
    """Readings that came in later are not in it."""
    sensors: tuple[SensorHour, ...]

    def subjects(self) -> tuple[str, ...]:
        return tuple(f"sensor:{each.sensor}" for each in self.sensors)


class AlarmRaised(Body, frozen=True, kw_only=True):
    """A sensor was beyond a limit for too long, or was not heard of."""

    KIND = "alarm raised"
    alarm: str
    sensor: str
    place: str
    what: What
    trouble: Trouble
    since: datetime
    value: float | None = None
    """The worst so far, in the unit of the measure; None of a silent sensor."""
    limit: float | None = None

    def subjects(self) -> tuple[str, ...]:
        return (f"alarm:{self.alarm}", f"sensor:{self.sensor}", f"place:{self.place}")


class AlarmOver(Body, frozen=True, kw_only=True):
    """It came back within its limits, or was heard of again."""

    KIND = "alarm over"
    alarm: str
    sensor: str
    until: datetime
    value: float | None = None
    """The worst there was, in the unit of the measure."""

    def subjects(self) -> tuple[str, ...]:
        return (f"alarm:{self.alarm}", f"sensor:{self.sensor}")


class AlarmAnswered(Body, frozen=True, kw_only=True):
    """Somebody saw to an alarm, and says what was done."""

    KIND = "alarm answered"
    alarm: str
    sensor: str
    done: str

    def subjects(self) -> tuple[str, ...]:
        return (f"alarm:{self.alarm}", f"sensor:{self.sensor}")
