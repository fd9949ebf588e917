"""When a sensor was beyond its limits for too long or fell silent, and what of that the book does not know yet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Literal

import msgspec

from trayward.farm.entries import AlarmOver, AlarmRaised
from trayward.farm.sensors import AlarmHeld, Sensor, Trouble, alarm_name
from trayward.sensors.types import Reading

LOOK_BACK = timedelta(hours=24)
"""What was over longer ago is no alarm any more, but stands on the sensor's page: our choice."""


class Episode(msgspec.Struct, frozen=True, kw_only=True):
    """A time of trouble."""

    trouble: Trouble
    since: datetime
    until: datetime | None
    """None: it goes on."""
    value: float | None = None
    """The worst. In the unit of the measure."""


def out_of_limits(sensor: Sensor, readings: Sequence[Reading]) -> list[Episode]:
    """
    The times a sensor was beyond a limit for longer than it may be.

    Parameters
    ----------
    sensor : Sensor
        Its limits, how long it may be beyond them, its corrections.
    readings : sequence of Reading
        As they came, oldest first.

    Returns
    -------
    list of Episode
        Oldest first. One begins with the first reading beyond the limit and ends with the first that is back within it
        by the measure's `back`: a value that trembles on the limit is one time of trouble. Where a sensor was silent
        in between nobody knows what was: the time before stands on its own.
    """
    found: list[Episode] = []
    sides: tuple[tuple[Literal["high", "low"], float | None], ...] = (("high", sensor.high), ("low", sensor.low))
    for side, limit in sides:
        if limit is not None:
            found += _runs(sensor, side, limit, readings)
    return sorted(found, key=lambda each: each.since)


def _runs(sensor: Sensor, side: Literal["high", "low"], limit: float, readings: Sequence[Reading]) -> Iterator[Episode]:
    sign = 1.0 if side == "high" else -1.0
    begun: Reading | None = None
    worst = last = None
    silent = timedelta(minutes=sensor.silent_after_min)
    for reading in readings:
        over = sign * (sensor.corrected(reading.at, reading.value) - limit)
        if begun is not None and last is not None and worst is not None:
            if reading.at - last.at > silent:
                yield from _long_enough(sensor, side, begun, last, worst, last.at)
                begun = None
            elif over <= -_back(sensor):
                yield from _long_enough(sensor, side, begun, last, worst, reading.at)
                begun = None
            else:
                last, worst = reading, max(worst, over)
        if begun is None and over > 0:
            begun, last, worst = reading, reading, over
    if begun is not None and last is not None and worst is not None:
        yield from _long_enough(sensor, side, begun, last, worst, None)


def _back(sensor: Sensor) -> float:
    """So far back it must come; of narrow limits a quarter, or it could never be over."""
    if sensor.low is None or sensor.high is None:
        return sensor.measure.back
    return min(sensor.measure.back, (sensor.high - sensor.low) / 4)


def _long_enough(
    sensor: Sensor, side: Literal["high", "low"], begun: Reading, last: Reading, over: float, until: datetime | None
) -> Iterator[Episode]:
    if last.at - begun.at >= timedelta(minutes=sensor.after_min):
        limit = sensor.high if side == "high" else sensor.low
        assert limit is not None
        value = limit + over if side == "high" else limit - over
        yield Episode(trouble=side, since=begun.at, until=until, value=value)


def silences(
    sensor: Sensor, times: Sequence[datetime], now: datetime, listening: datetime | None = None
) -> list[Episode]:
    """The times a sensor was not heard of for too long, oldest first; one may go on now.

    `listening`: since when anybody hears it at all; before, its silence says nothing. A sensor whose silence is no
    trouble has none.
    """
    if not sensor.silence_tells:
        return []
    longest = timedelta(minutes=sensor.silent_after_min)
    found = [
        Episode(trouble="silent", since=before, until=after)
        for before, after in pairwise(times)
        if after - before > longest
    ]
    heard = max(times[-1], listening) if times and listening is not None else times[-1] if times else None
    if heard is not None and now - heard > longest:
        found.append(Episode(trouble="silent", since=times[-1], until=None))
    return found


def alarm_news(
    sensor: Sensor,
    readings: Sequence[Reading],
    known: Iterable[AlarmHeld],
    now: datetime,
    listening: datetime | None = None,
) -> list[AlarmRaised | AlarmOver]:
    """
    What the book is to be told about a sensor's alarms.

    Parameters
    ----------
    sensor : Sensor
        As it is set now.
    readings : sequence of Reading
        As they came, oldest first, from the beginning of its oldest open alarm or a day back, whichever is longer.
        Those that cannot be count for nothing: a probe torn off is silent.
    known : iterable of AlarmHeld
        The alarms of this sensor that the book holds.
    now : datetime
        The present moment.
    listening : datetime, optional
        Since when anybody hears it at all.

    Returns
    -------
    list of Body
        Alarms raised, and over, in the order they are to be kept. An alarm that meets one the book knows in time and
        trouble is that one, also where a late reading moved its beginning.
    """
    held = [each for each in known if each.sensor == sensor.name]
    if sensor.ended:
        return [_over(each, now) for each in held if each.until is None]
    good = [each for each in readings if sensor.can_be(each.value)]
    seen = [*out_of_limits(sensor, good), *silences(sensor, [each.at for each in good], now, listening)]
    told: list[AlarmRaised | AlarmOver] = []
    for episode in sorted(seen, key=lambda each: each.since):
        same = next((each for each in held if _meet(each, episode)), None)
        if same is None and _worth_telling(episode, now):
            told.append(_raised(sensor, episode))
            if episode.until is not None:
                told.append(_over_of(told[-1].alarm, sensor.name, episode, episode.until))
        elif same is not None and same.until is None and episode.until is not None:
            told.append(_over_of(same.alarm, sensor.name, episode, episode.until))
    met = {each.alarm for each in held for episode in seen if _meet(each, episode)}
    gone = [each for each in held if each.until is None and each.alarm not in met and good]
    # The limit was moved, or a correction: what was trouble is none any more.
    return told + [_over(each, now) for each in gone]


def _worth_telling(episode: Episode, now: datetime) -> bool:
    """What goes on, and what was beyond a limit today; a silence that is over is a gap in its picture, no alarm."""
    if episode.until is None:
        return True
    return episode.trouble != "silent" and now - episode.until <= LOOK_BACK


def _meet(held: AlarmHeld, episode: Episode) -> bool:
    if held.trouble != episode.trouble:
        return False
    ends_first = episode.until is not None and episode.until < held.since
    return not ends_first and not (held.until is not None and held.until <= episode.since)


def _raised(sensor: Sensor, episode: Episode) -> AlarmRaised:
    limit = {"high": sensor.high, "low": sensor.low, "silent": None}[episode.trouble]
    return AlarmRaised(
        alarm=alarm_name(sensor.name, episode.trouble, episode.since), sensor=sensor.name, place=sensor.place,
        what=sensor.what, trouble=episode.trouble, since=episode.since, value=episode.value, limit=limit,
    )  # fmt: skip


def _over_of(alarm: str, sensor: str, episode: Episode, until: datetime) -> AlarmOver:
    return AlarmOver(alarm=alarm, sensor=sensor, until=until, value=episode.value)


def _over(held: AlarmHeld, now: datetime) -> AlarmOver:
    return AlarmOver(alarm=held.alarm, sensor=held.sensor, until=now, value=held.value)


def open_alarms(alarms: Iterable[AlarmHeld]) -> list[AlarmHeld]:
    """Alarms that go on or were not answered: those that go on first, then the oldest."""
    return sorted((each for each in alarms if each.open), key=lambda each: (each.until is not None, each.since))
