"""Sensors, for programs and for the devices themselves."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Annotated

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.desk.sensing import MOST, Heard, SensorNow
from trayward.errors import InputError
from trayward.farm.sensors import NAME, AlarmHeld, Correction, Sensor, What
from trayward.sensors.words import alarm_words, do_words
from trayward.web.api.operation import Nothing, look, tell
from trayward.web.api.telling import Moment, Name, Telling, Words
from trayward.web.ask import Ask

Value = Annotated[float, msgspec.Meta(ge=-1e9, le=1e9)]
SensorName = Annotated[str, msgspec.Meta(pattern=f"^{NAME.pattern}$")]
Minutes = Annotated[float, msgspec.Meta(ge=0, le=10_080)]
LONGEST = timedelta(days=31)
"""Readings of so long are told at once; more is asked for in parts."""


class SensorReading(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a sensor read."""

    sensor: Name
    value: Value
    """In the unit of its measure, unless `unit` says another."""
    at: Moment | None = None
    """When it was taken; left out: now, by the farm's clock. A moment ahead of now is refused."""
    unit: Annotated[str, msgspec.Meta(max_length=20)] = ""
    """C, F, %, ppm, umol/m2/s, lx, dS/m, uS/cm; left out: that of the measure."""


class SendReadings(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One reading or many; all are kept, or none. The same sensor and moment sent again changes nothing."""

    readings: Annotated[tuple[SensorReading, ...], msgspec.Meta(min_length=1, max_length=MOST)]


class ReadingsTold(msgspec.Struct, frozen=True, kw_only=True):
    """What became of readings."""

    new: int
    already: int
    """Kept before."""
    differing: int
    """Of those, how many say another value now; the first one stays."""
    alarms: tuple[str, ...]
    """Alarms they raised, by their names."""


class AlarmTold(msgspec.Struct, frozen=True, kw_only=True):
    """An alarm that goes on or waits for an answer."""

    alarm: AlarmHeld
    sentence: str
    do: str
    """What to do."""


class AlarmPage(msgspec.Struct, frozen=True, kw_only=True):
    """Alarms, those that go on first."""

    alarms: tuple[AlarmTold, ...]


class SensorPage(msgspec.Struct, frozen=True, kw_only=True):
    """Sensors with their last readings, those in trouble first."""

    sensors: tuple[SensorNow, ...]


class SpanAsked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """From one moment up to another, 31 days at most; the last day where nothing is said."""

    since: Moment | None = None
    until: Moment | None = None


class ReadingTold(msgspec.Struct, frozen=True, kw_only=True):
    """A reading, with the sensor's correction."""

    at: datetime
    value: float


class ReadingPage(msgspec.Struct, frozen=True, kw_only=True):
    """Readings of a sensor, oldest first."""

    unit: str
    readings: tuple[ReadingTold, ...]


class SetSensor(Telling, frozen=True, kw_only=True):
    """A sensor as it is from now on, all of it."""

    name: SensorName
    place: Annotated[Words, msgspec.Meta(min_length=1)]
    what: What
    every_min: Annotated[float, msgspec.Meta(ge=0.05, le=10_080)] = 5.0
    """How often it should tell. [min]"""
    low: Value | None = None
    high: Value | None = None
    after_min: Minutes = 30.0
    """So long beyond a limit before it is an alarm. [min]"""
    silent_min: Annotated[float, msgspec.Meta(ge=0, le=10_080)] | None = None
    """So long unheard before it is silent, 1 at least; left out: three readings missed; 0: never. [min]"""
    corrections: Annotated[tuple[Correction, ...], msgspec.Meta(max_length=200)] = ()
    topic: Annotated[str, msgspec.Meta(max_length=200)] = ""
    field: Annotated[str, msgspec.Meta(max_length=200)] = ""
    ended: bool = False


class AnswerAlarm(Telling, frozen=True, kw_only=True):
    """What was done about an alarm."""

    done: Annotated[Words, msgspec.Meta(min_length=1)]


def _send(ask: Ask, told: SendReadings, _: Said) -> ReadingsTold:
    ask.rate()
    heard = [Heard(sensor=one.sensor, value=one.value, at=one.at, unit=one.unit) for one in told.readings]
    news = ask.farm.hear(heard, at=ask.at, by=ask.who.name)
    return ReadingsTold(
        new=news.kept.new, already=news.kept.already, differing=news.kept.differing,
        alarms=tuple(each.alarm for each in news.raised),
    )  # fmt: skip


def _sensors(ask: Ask, _: Nothing) -> SensorPage:
    return SensorPage(sensors=ask.farm.sensors(ask.at))


def _readings(ask: Ask, query: SpanAsked) -> ReadingPage:
    name = str(ask.path["name"])
    until = query.until or ask.at
    since = query.since or until - timedelta(days=1)
    if not timedelta(0) <= until - since <= LONGEST:
        raise InputError(
            "since", since.isoformat(), f"it must lie up to {LONGEST.days} days before the end", "Ask less."
        )
    found = ask.farm.sensor_readings(name, since, until, at=ask.at)
    unit = ask.farm.sensor_named(name, ask.at).measure.unit
    return ReadingPage(unit=unit, readings=tuple(ReadingTold(at=one.at, value=one.value) for one in found))


def _alarms(ask: Ask, _: Nothing) -> AlarmPage:
    return AlarmPage(
        alarms=tuple(
            AlarmTold(alarm=each, sentence=alarm_words(each, ask.units, ask.zone), do=do_words(each.what, each.trouble))
            for each in ask.farm.alarms(ask.at)
        )
    )


def _set(ask: Ask, told: SetSensor, said: Said) -> Receipt:
    fields = {name: getattr(told, name) for name in Sensor.__struct_fields__}
    return ask.farm.set_sensor(Sensor(**fields), **said)


def _answer(ask: Ask, told: AnswerAlarm, said: Said) -> Receipt:
    return ask.farm.answer_alarm(str(ask.path["name"]), told.done, **said)


OPERATIONS = (
    tell("/sensors/readings", _send, SendReadings, "sensors", "Readings of sensors, handed in.", gives=ReadingsTold,
         may="sense"),
    look("/sensors", _sensors, SensorPage, "sensors", "Sensors with their last readings and alarms."),
    look("/sensors/{name}/readings", _readings, ReadingPage, "sensors", "Readings of a sensor.", takes=SpanAsked),
    tell("/sensors", _set, SetSensor, "sensors", "Set a sensor up, or change it.", may="run", kinds=("sensor set",)),
    look("/alarms", _alarms, AlarmPage, "sensors", "Alarms that go on or wait for an answer, with what to do."),
    tell("/alarms/{name}/answer", _answer, AnswerAlarm, "sensors", "Say what was done about an alarm.",
         kinds=("alarm answered",)),
)  # fmt: skip
