"""Sensors of a place: what they measure, their limits and corrections; what an hour of them was; alarms and answers."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Final, Literal

import msgspec

What = Literal[
    "air temperature", "humidity", "co2", "ppfd", "lux", "water temperature", "ph", "ec", "cold room temperature"
]
Trouble = Literal["high", "low", "silent"]
"""Above a limit, below one, or not heard of."""

NAME: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}")
"""What a sensor may be called: it stands in addresses, and as one level of an MQTT topic."""
SILENT_TIMES: Final = 3
"""A sensor that missed so many readings in a row is silent, until the farm says otherwise: our choice. [-]"""
SILENT_LEAST_MIN: Final = 10.0
"""Never sooner than this: a router started anew is no alarm. Our choice. [min]"""


class Measure(msgspec.Struct, frozen=True, kw_only=True):
    """What can be measured, and what no instrument of a farm can truly show. Bounds are our choice unless said."""

    what: What
    title: str
    unit: str
    lowest: float
    highest: float
    """Beyond these a value is impossible, not just odd."""
    per_minute: float
    """Faster than this it cannot change where the sensor is left alone. [unit/min]"""
    jump: float
    """A change as large as this within a minute may always be."""
    back: float
    """So far back within a limit it must come before an alarm is over: a value on the limit rings once."""
    still_hours: float
    """The very same value for longer than this is a stuck sensor. [h]"""
    agree: float
    """Two sensors of one room that differ by more than this for long do not show the same."""
    reading: str = ""
    """What a reading by hand of the same thing is called (`ReadingTaken.what`), where the outlook uses it."""


MEASURES: Final[dict[str, Measure]] = {
    each.what: each
    for each in (
        Measure(
            what="air temperature", title="Air temperature", unit="C", lowest=-40.0, highest=60.0, per_minute=1.0,
            jump=3.0, back=0.5, still_hours=12.0, agree=1.5, reading="temperature",
        ),
        Measure(
            what="humidity", title="Humidity", unit="%", lowest=1.0, highest=100.0, per_minute=8.0, jump=20.0,
            back=2.0, still_hours=12.0, agree=8.0, reading="humidity",
        ),
        Measure(
            what="co2", title="CO2", unit="ppm", lowest=250.0, highest=10_000.0, per_minute=600.0, jump=1500.0,
            back=50.0, still_hours=6.0, agree=200.0,
        ),
        Measure(
            what="ppfd", title="Light", unit="umol/m2/s", lowest=0.0, highest=3000.0, per_minute=3000.0, jump=3000.0,
            back=5.0, still_hours=48.0, agree=100.0,
        ),
        Measure(
            what="lux", title="Light", unit="lx", lowest=0.0, highest=150_000.0, per_minute=150_000.0, jump=150_000.0,
            back=200.0, still_hours=48.0, agree=5000.0,
        ),
        Measure(
            what="water temperature", title="Water temperature", unit="C", lowest=-5.0, highest=60.0, per_minute=1.0,
            jump=4.0, back=0.5, still_hours=48.0, agree=1.0,
        ),
        Measure(
            what="ph", title="pH", unit="", lowest=0.0, highest=14.0, per_minute=0.5, jump=2.0, back=0.1,
            still_hours=72.0, agree=0.4,
        ),
        Measure(
            what="ec", title="EC", unit="dS/m", lowest=0.0, highest=100.0, per_minute=1.0, jump=3.0, back=0.1,
            still_hours=72.0, agree=0.3,
        ),
        Measure(
            what="cold room temperature", title="Cold room temperature", unit="C", lowest=-40.0, highest=60.0,
            per_minute=2.0, jump=4.0, back=0.5, still_hours=24.0, agree=1.5,
        ),
    )
}  # fmt: skip
"""Every measure by its name. The largest honest changes follow a door opened or a lamp switched; common practice, no
source, but for what the tests find in open records of rooms."""


class Correction(msgspec.Struct, frozen=True, kw_only=True):
    """What is added to what a sensor says, from a day on: it was held beside a better instrument."""

    since: datetime
    add: float
    """In the unit of the measure."""
    note: str = ""


NEVER_SILENT: Final = 0.0
"""Of a sensor whose silence is no trouble. [min]"""


class Sensor(msgspec.Struct, frozen=True, kw_only=True):
    """A sensor of a place."""

    name: str
    place: str
    what: What
    every_min: float = 5.0
    """How often it should tell. [min]"""
    low: float | None = None
    high: float | None = None
    """The farm's own limits, in the unit of the measure; None: there is none."""
    after_min: float = 30.0
    """So long beyond a limit before it is an alarm: a door that is opened is none. [min]"""
    silent_min: float | None = None
    """So long unheard before it is silent; None: three readings missed; 0: its silence is never told on, as of a logger
    whose file is read in by hand. [min]"""
    corrections: tuple[Correction, ...] = ()
    topic: str = ""
    """The MQTT topic it tells under, where that is not `trayward/NAME`."""
    field: str = ""
    """Where in the JSON of that topic its value stands: `temperature`, `data.temp`; empty: the bare number."""
    ended: bool = False

    @property
    def measure(self) -> Measure:
        """What it measures."""
        return MEASURES[self.what]

    @property
    def silent_after_min(self) -> float:
        """So long unheard before it is silent, or there is a gap. [min]"""
        return self.silent_min or max(SILENT_TIMES * self.every_min, SILENT_LEAST_MIN)

    @property
    def silence_tells(self) -> bool:
        """Whether it is trouble when nothing more comes of it."""
        return self.silent_min != NEVER_SILENT

    def can_be(self, value: float) -> bool:
        """Whether a place of a farm can truly have such a value."""
        return self.measure.lowest <= value <= self.measure.highest

    def corrected(self, at: datetime, value: float) -> float:
        """A value as it is taken to be: with the correction that held then."""
        add = 0.0
        for each in self.corrections:
            if each.since <= at:
                add = each.add
        return value + add


class SensorHour(msgspec.Struct, frozen=True, kw_only=True):
    """What an hour of one sensor was: corrected figures, and a mark by which its readings are known again."""

    sensor: str
    place: str
    what: What
    readings: int
    """All that came, impossible ones too."""
    low: float
    mean: float
    high: float
    outside: float = 0.0
    """Share of its readings beyond a limit. [-]"""
    impossible: int = 0
    """Readings that no place of a farm can have: kept, but not in these figures."""
    gap_min: float = 0.0
    """The longest time without a reading within the hour. [min]"""
    sha256: str
    """Over the readings as they came, oldest first: nobody can change them unseen."""


class AlarmHeld(msgspec.Struct, frozen=True, kw_only=True):
    """An alarm, from when it began until it was over and answered."""

    alarm: str
    sensor: str
    place: str
    what: What
    trouble: Trouble
    since: datetime
    """When it went beyond the limit, or was last heard of."""
    raised: datetime
    value: float | None = None
    """The worst value so far; None of a silent sensor."""
    limit: float | None = None
    until: datetime | None = None
    """When it was over; None: it is not."""
    answered: datetime | None = None
    answered_by: str = ""
    done: str = ""

    @property
    def open(self) -> bool:
        """Whether it goes on, or nobody said what was done."""
        return self.until is None or self.answered is None


def alarm_name(sensor: str, trouble: Trouble, since: datetime) -> str:
    """
    What an alarm is called: the same one is never told twice.

    Examples
    --------
    >>> from datetime import UTC
    >>> alarm_name("cold-1", "high", datetime(2026, 11, 27, 3, 12, tzinfo=UTC))
    'cold-1.high.20261127T0312'
    """
    return f"{sensor}.{trouble}.{since:%Y%m%dT%H%M}"
