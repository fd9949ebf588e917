"""What is wrong with readings themselves: gaps, stuck and impossible values, jumps, sensors that drift apart."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from itertools import groupby, pairwise
from statistics import fmean
from typing import Final, Literal
from zoneinfo import ZoneInfo

import msgspec

from trayward.errors import Finding
from trayward.farm.sensors import MEASURES, Sensor, What
from trayward.farm.settings import ShownUnits
from trayward.sensors.hours import HOUR, hour_of
from trayward.sensors.types import Reading
from trayward.sensors.words import moment_words

Kind = Literal["gap", "stuck", "impossible", "jump", "drift"]

STILL_LEAST = timedelta(hours=2)
"""No sensor is stuck sooner than this, however fine its steps are: our choice."""
STILL_TIMES: Final = 6.0
"""So many times longer than 19 of 20 of its resting times a sensor must rest to be stuck: our choice. [-]"""
SETTLED: Final = 3
"""After a jump so many readings that follow one another make a new level: the jump was real, the sensor was moved."""
AGREE_HOURS: Final = 12
"""So many hours two sensors of a place must differ before they drift: sun on one of them is gone by then. Ours. [h]"""
AT_REST: Final = {"humidity": (99.5, 100.0), "ppfd": (0.0, 1.0), "lux": (0.0, 5.0), "co2": (395.0, 405.0)}
"""Values a place may truly keep for days: soaked air, darkness, a CO2 probe on its own zero. From memory."""


class Fault(msgspec.Struct, frozen=True, kw_only=True):
    """Something wrong with readings: what, and from when to when."""

    kind: Kind
    sensor: str
    what: What
    since: datetime
    until: datetime
    readings: int = 0
    """How many are in doubt; of a gap: about how many are missing."""
    value: float = 0.0
    """The value it is stuck at, the most impossible one, the size of the jump, the difference. [unit of the measure]"""
    other: str = ""
    """The sensor it drifts from."""

    @property
    def hours(self) -> float:
        """How long. [h]"""
        return (self.until - self.since) / HOUR

    def finding(self, units: ShownUnits, at_home: ZoneInfo) -> Finding:
        """As a finding, in the units and on the wall clock of whoever reads it."""
        shown, begun, lasted = self._shown(units), moment_words(self.since, at_home), _lasted(self.hours)
        message, remedy = {
            "gap": (
                f"{self.sensor} = no reading from {begun} for {lasted}: about {self.readings} are missing.",
                "See that it has power and network; read the place by hand until then.",
            ),
            "stuck": (
                f"{self.sensor} = {shown} from {begun} for {lasted}: the very same value for too long.",
                "Breathe on it or move it. If it does not stir, start it anew or replace it.",
            ),
            "impossible": (
                f"{self.sensor} = {shown} from {begun} for {lasted}: no such value can be there.",
                "Look at its plug and cable. The reading is kept, and counts nowhere.",
            ),
            "jump": (
                f"{self.sensor} = {shown} more or less at once at {begun}: faster than a place can change.",
                "See whether it was moved, wetted or unplugged.",
            ),
            "drift": (
                f"{self.sensor} = {shown} apart from {self.other} from {begun} for {lasted}: one of the two is off.",
                "Hold both beside an instrument you trust, then set a correction.",
            ),
        }[self.kind]
        return Finding(code=f"sensor-{self.kind}", severity="odd", message=message, remedy=remedy)

    def _shown(self, units: ShownUnits) -> str:
        value, unit = self.value, MEASURES[self.what].unit
        if unit == "C" and units.temperature == "F":
            is_reading = self.kind in ("stuck", "impossible")  # the others tell how far two readings lie apart
            value, unit = value * 9 / 5 + (32 if is_reading else 0), "F"
        return f"{value:.3g} {unit}".rstrip()


def _lasted(hours: float) -> str:
    return f"{hours:.0f} h" if hours >= 2 else f"{hours * 60:.0f} min"


def faults_of(
    sensor: Sensor,
    readings: Sequence[Reading],
    until: datetime,
    others: Iterable[tuple[Sensor, Sequence[Reading]]] = (),
) -> tuple[Fault, ...]:
    """
    Everything that is wrong with the readings of a sensor, oldest first.

    Parameters
    ----------
    sensor : Sensor
        What it measures, how often it should tell.
    readings : sequence of Reading
        As they came, oldest first.
    until : datetime
        The end of the time that is looked at: silence up to there is a gap.
    others : iterable of (Sensor, sequence of Reading)
        Sensors of the same measure at the same place.
    """
    good = [each for each in readings if sensor.can_be(each.value)]
    found = [
        *gaps(sensor, good, until), *stuck(sensor, good), *impossible(sensor, readings), *jumps(sensor, good),
        *(fault for other, theirs in others for fault in drift(sensor, good, other, theirs)),
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda each: (each.since, each.kind)))


def _fault(
    kind: Kind, sensor: Sensor, since: datetime, until: datetime, readings: int, value: float = 0.0, other: str = ""
) -> Fault:
    return Fault(
        kind=kind, sensor=sensor.name, what=sensor.what, since=since, until=until, readings=readings, value=value,
        other=other,
    )  # fmt: skip


def gaps(sensor: Sensor, readings: Sequence[Reading], until: datetime) -> Iterator[Fault]:
    """Times without a reading, longer than the sensor may be silent."""
    longest = timedelta(minutes=sensor.silent_after_min)
    moments = [each.at for each in readings]
    ends = [*moments, until] if sensor.silence_tells and moments and until > moments[-1] else moments
    for before, after in pairwise(ends):
        if after - before > longest:
            missing = round((after - before) / timedelta(minutes=sensor.every_min)) - 1
            yield _fault("gap", sensor, before, after, max(1, missing))


def stuck(sensor: Sensor, readings: Sequence[Reading]) -> Iterator[Fault]:
    """
    Times in which a sensor told the very same value for longer than it can rest.

    How long that is goes by how long it usually rests: a coarse logger in a cold room shows 4.5 C for hours, a fine one
    trembles all the time. At most the measure's `still_hours`. A gap ends a rest: nobody knows what was in it.
    """
    rests = list(_rests(sensor, readings))
    longest = _longest_rest(sensor, [last.at - first.at for first, last, _ in rests])
    low, high = AT_REST.get(sensor.what, (1.0, 0.0))
    for first, last, number in rests:
        if last.at - first.at > longest and not low <= first.value <= high:
            yield _fault("stuck", sensor, first.at, last.at, number, first.value)


def _rests(sensor: Sensor, readings: Sequence[Reading]) -> Iterator[tuple[Reading, Reading, int]]:
    silent = timedelta(minutes=sensor.silent_after_min)
    first = last = None
    number = 0
    for each in readings:
        if first is not None and last is not None and each.value == first.value and each.at - last.at <= silent:
            last, number = each, number + 1
            continue
        if first is not None and last is not None:
            yield first, last, number
        first = last = each
        number = 1
    if first is not None and last is not None:
        yield first, last, number


def _longest_rest(sensor: Sensor, rests: list[timedelta]) -> timedelta:
    usual = sorted(rests)[int(0.95 * (len(rests) - 1))] if rests else timedelta(0)
    most = timedelta(hours=sensor.measure.still_hours)
    return min(most, max(STILL_LEAST, STILL_TIMES * usual)) if len(rests) >= 20 else most


def impossible(sensor: Sensor, readings: Sequence[Reading]) -> Iterator[Fault]:
    """Values that no place of a farm can have; those one after the other together."""
    middle = (sensor.measure.lowest + sensor.measure.highest) / 2
    for can_be, run in groupby(readings, key=lambda each: sensor.can_be(each.value)):
        if not can_be:
            told = list(run)
            worst = max((each.value for each in told), key=lambda value: abs(value - middle))
            yield _fault("impossible", sensor, told[0].at, told[-1].at, len(told), worst)


def jumps(sensor: Sensor, readings: Sequence[Reading]) -> Iterator[Fault]:
    """Changes faster than a place can change, up to where the values are back, or have settled on a new level."""
    kept: Reading | None = None
    away: list[Reading] = []
    for each in readings:
        if kept is None or (not away and _can_follow(sensor, kept, each)):
            kept = each
        elif _can_follow(sensor, kept, each):
            yield _jump(sensor, kept, away)
            kept, away = each, []
        else:
            goes_on = bool(away) and _can_follow(sensor, away[-1], each)
            away = [*(away if goes_on else away[:-1]), each]
            if len(away) >= SETTLED:
                yield _jump(sensor, kept, away)
                kept, away = each, []
    if kept is not None and away:
        yield _jump(sensor, kept, away)


def _can_follow(sensor: Sensor, before: Reading, after: Reading) -> bool:
    minutes = (after.at - before.at) / timedelta(minutes=1)
    return abs(after.value - before.value) <= sensor.measure.jump + sensor.measure.per_minute * minutes


def _jump(sensor: Sensor, kept: Reading, away: Sequence[Reading]) -> Fault:
    size = max((each.value - kept.value for each in away), key=abs)
    return _fault("jump", sensor, away[0].at, away[-1].at, len(away), size)


def drift(sensor: Sensor, readings: Sequence[Reading], other: Sensor, theirs: Sequence[Reading]) -> Iterator[Fault]:
    """Times of half a day and more in which hourly means of two sensors of one place differ more than they may."""
    ours, their = _hourly(sensor, readings), _hourly(other, theirs)
    apart = [(hour, ours[hour] - their[hour]) for hour in sorted(ours.keys() & their.keys())]
    for differs, run in groupby(apart, key=lambda each: abs(each[1]) > sensor.measure.agree and (each[1] > 0) + 1):
        told = list(run)
        if differs and len(told) >= AGREE_HOURS:
            apart_by = fmean(value for _, value in told)
            yield _fault("drift", sensor, told[0][0], told[-1][0] + HOUR, len(told), apart_by, other.name)


def _hourly(sensor: Sensor, readings: Iterable[Reading]) -> dict[datetime, float]:
    return {
        hour: fmean(sensor.corrected(each.at, each.value) for each in run)
        for hour, run in groupby(
            (each for each in readings if sensor.can_be(each.value)), key=lambda one: hour_of(one.at)
        )
    }
