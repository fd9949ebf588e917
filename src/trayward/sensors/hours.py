"""An hour of one sensor in a few figures, and the mark by which its readings are known again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from itertools import pairwise
from math import fsum

from trayward.farm.sensors import Sensor, SensorHour
from trayward.sensors.types import Reading

HOUR = timedelta(hours=1)
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def hour_of(at: datetime) -> datetime:
    """
    The whole hour a moment lies in, in UTC.

    Examples
    --------
    >>> hour_of(datetime(2026, 11, 27, 3, 12, 9, tzinfo=UTC)).isoformat()
    '2026-11-27T03:00:00+00:00'
    """
    return at.astimezone(UTC).replace(minute=0, second=0, microsecond=0)


def mark_of(readings: Iterable[Reading]) -> str:
    """SHA-256 over readings as they came, in the order of time: microseconds since 1970 and the shortest exact value.

    Examples
    --------
    >>> mark_of([Reading(datetime(2026, 11, 27, tzinfo=UTC), 4.2)])[:12]
    'eb7da57ccbc3'
    """
    whole = sha256()
    for reading in readings:
        whole.update(b"%d %s\n" % ((reading.at - EPOCH) // timedelta(microseconds=1), repr(reading.value).encode()))
    return whole.hexdigest()


def sum_hour(sensor: Sensor, hour: datetime, readings: Sequence[Reading]) -> SensorHour | None:
    """
    The figures of an hour; None where no reading of it can be.

    Parameters
    ----------
    sensor : Sensor
        Its limits and corrections count.
    hour : datetime
        The beginning of the hour.
    readings : sequence of Reading
        Those of that hour, as they came, oldest first.
    """
    good = [reading for reading in readings if sensor.can_be(reading.value)]
    if not good:
        return None
    values = [sensor.corrected(reading.at, reading.value) for reading in good]
    mean = fsum(values) / len(values)
    return SensorHour(
        sensor=sensor.name, place=sensor.place, what=sensor.what, readings=len(readings), low=min(values),
        mean=min(max(mean, min(values)), max(values)), high=max(values),
        outside=sum(beyond(sensor, value) for value in values) / len(values), impossible=len(readings) - len(good),
        gap_min=_longest(hour, [reading.at for reading in good]), sha256=mark_of(readings),
    )  # fmt: skip


def beyond(sensor: Sensor, value: float) -> bool:
    """Whether a corrected value lies beyond one of the sensor's limits."""
    return (sensor.low is not None and value < sensor.low) or (sensor.high is not None and value > sensor.high)


def _longest(hour: datetime, times: Sequence[datetime]) -> float:
    ends = [hour, *times, hour + HOUR]
    return max((after - before) / timedelta(minutes=1) for before, after in pairwise(ends))
