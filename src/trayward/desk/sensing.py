"""Sensors through the desk: set up, heard, summed by the hour, and their alarms raised, answered and looked up."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Unpack

import msgspec
from msgspec.structs import replace

from trayward.desk.core import Receipt, Said, require_aware, worked_out
from trayward.desk.recording import Recording
from trayward.errors import BookError, ConflictError, InputError, NotFoundError, RefusedError
from trayward.farm.codec import normal
from trayward.farm.entries import (
    AlarmAnswered,
    AlarmOver,
    AlarmRaised,
    Body,
    Entry,
    FarmSet,
    ReadingsSummed,
    RecordWritten,
    SensorSet,
)
from trayward.farm.records import HygieneRecord, Value
from trayward.farm.sensors import AlarmHeld, Sensor, SensorHour
from trayward.farm.settings import AlarmMail
from trayward.sensors.alarms import LOOK_BACK, alarm_news, open_alarms
from trayward.sensors.faults import Fault, faults_of
from trayward.sensors.hours import HOUR, hour_of, sum_hour
from trayward.sensors.types import Reading, ReadingsKept, Taken
from trayward.sensors.units import to_measure
from trayward.sensors.words import lots_held

GRACE = timedelta(minutes=3)
"""An hour is summed so long after its end: what was on its way is in it."""
FAST_CLOCK = timedelta(minutes=5)
"""So far ahead of ours a sensor's clock may run; further ahead its readings are refused."""
EARLIEST = datetime(2000, 1, 1, tzinfo=UTC)
"""A clock that lost its battery begins in 1970: readings of then are refused."""
MOST = 2000
"""So many readings may come at once."""
SENSORS = "sensors"
"""Who says what no person said: hours and alarms."""
UNHEARD = timedelta(days=366)
"""Hours of readings older than this are not looked for where none was ever summed."""


class Heard(msgspec.Struct, frozen=True, kw_only=True):
    """A reading as it comes in."""

    sensor: str
    value: float
    at: datetime | None = None
    """When it was taken; None: the sensor has no clock, and it is taken to be of now."""
    unit: str = ""
    """The unit of the value; empty: that of the sensor's measure."""


class SensorNews(msgspec.Struct, frozen=True, kw_only=True):
    """What came of readings, or of looking at the clock."""

    kept: ReadingsKept = ReadingsKept()
    raised: tuple[AlarmHeld, ...] = ()
    over: tuple[AlarmHeld, ...] = ()


class SensorNow(msgspec.Struct, frozen=True, kw_only=True):
    """A sensor and how it stands."""

    sensor: Sensor
    last: Reading | None
    """Corrected."""
    alarms: tuple[AlarmHeld, ...]
    """Those that go on or wait for an answer."""


class Sensing(Recording):
    """What sensors say: dense readings beside the book, their hours and alarms in it."""

    def set_sensor(self, sensor: Sensor, **said: Unpack[Said]) -> Receipt:
        """A sensor is as said from now on, all of it. Mains near water: defer to local codes and licensed practice."""
        return self._say(SensorSet(sensor=sensor), **said)

    def set_alarm_mail(self, mail: AlarmMail, **said: Unpack[Said]) -> Receipt:
        """Who is told of alarms by e-mail from now on. By which server, and its password, the machine is told alone."""
        return self._say(FarmSet(settings=replace(self.settings(said["at"]), alarm_mail=mail)), **said)

    def sensors(self, at: datetime) -> tuple[SensorNow, ...]:
        """Every sensor that has not ended, with its last reading and its alarms; those in trouble first."""
        state = self.state(at)
        there = [each for each in state.sensors.values() if not each.ended]
        last = self.book.last_readings([each.name for each in there])
        waiting = open_alarms(state.alarms.values())
        found = [_now(each, last.get(each.name), waiting) for each in there]
        return tuple(sorted(found, key=lambda each: (not each.alarms, each.sensor.place.casefold(), each.sensor.name)))

    def sensor_named(self, name: str, at: datetime) -> Sensor:
        """A sensor by its name. Raises `NotFoundError`."""
        known = self.state(at).sensors
        if name not in known:
            raise NotFoundError("sensor", name, tuple(known), "Set it up: trayward sensors set.")
        return known[name]

    def sensor_readings(self, name: str, since: datetime, until: datetime, *, at: datetime) -> list[Reading]:
        """Readings of a sensor with its corrections, those that cannot be among them, oldest first."""
        sensor = self.sensor_named(name, at)
        found = self.book.readings(name, since, until)
        return [Reading(each.at, sensor.corrected(each.at, each.value)) for each in found]

    def sensor_faults(self, name: str, since: datetime, until: datetime, *, at: datetime) -> tuple[Fault, ...]:
        """Gaps, stuck and impossible values, jumps, and drift from the other sensors of the same place."""
        sensor = self.sensor_named(name, at)
        others = [
            (each, self.book.readings(each.name, since, until))
            for each in self.state(at).sensors.values()
            if each.name != name and each.what == sensor.what and each.place == sensor.place and not each.ended
        ]
        return faults_of(sensor, self.book.readings(name, since, until), until, others)

    # Hearing ---------------------------------------------------------------------------------------------------------

    def hear(self, heard: Sequence[Heard], *, at: datetime, by: str = SENSORS) -> SensorNews:
        """
        Keep readings, and say what comes of them: hours that are over, alarms raised and over.

        Parameters
        ----------
        heard : sequence of Heard
            All of them are kept, or none. Of the same sensor and moment the first one stays, so sending them again
            changes nothing.
        at : datetime
            Now.
        by : str
            Who hands them on.

        Raises
        ------
        InputError
            If one is no number, of another unit, of a moment that cannot be, or of a sensor that ended.
        NotFoundError
            If there is no such sensor.
        """
        require_aware(at)
        if len(heard) > MOST:
            raise InputError("readings", len(heard), f"at most {MOST} may come at once", "Send them in several parts.")
        known = self.state(at).sensors
        taken = [self._taken(each, known, at) for each in heard]
        kept = self.book.keep_readings(taken, at) if taken else ReadingsKept()
        if not kept.new:
            return SensorNews(kept=kept)
        names = dict.fromkeys(each.sensor for each in taken)
        self._sum({(each.sensor, hour_of(each.at)) for each in taken} | self._not_summed(names, at), at)
        news = self._alarms(names, at, by)
        return msgspec.structs.replace(news, kept=kept)

    def _taken(self, heard: Heard, known: Mapping[str, Sensor], at: datetime) -> Taken:
        sensor = known.get(heard.sensor)
        if sensor is None:
            raise NotFoundError("sensor", heard.sensor, tuple(known), "Set it up: trayward sensors set.")
        if sensor.ended:
            raise InputError("sensor", sensor.name, "it has ended", "Set it up again, or take it off the network.")
        if not math.isfinite(heard.value):
            raise InputError("value", heard.value, "must be a number", "Look at the sensor.")
        moment = heard.at if heard.at is not None else at
        require_aware(moment)
        if moment > at + FAST_CLOCK:
            rule = f"it lies ahead of now, {at.isoformat()}"
            raise InputError("at", moment.isoformat(), rule, "Set the sensor's clock, or send no time at all.")
        if moment < EARLIEST:
            raise InputError("at", moment.isoformat(), "no sensor stood then", "Set its clock, or send no time at all.")
        return Taken(sensor.name, moment.astimezone(UTC), to_measure(sensor.what, heard.value, heard.unit))

    def look_at_sensors(self, *, at: datetime, by: str = SENSORS, listening: datetime | None = None) -> SensorNews:
        """
        What the clock alone brings about: hours that are over, sensors that fell silent. To be asked every minute.

        Parameters
        ----------
        at : datetime
            Now.
        listening : datetime, optional
            Since when sensors are heard; what was silent before says nothing.
        """
        state = self.state(at)
        if not state.sensors:
            return SensorNews()
        self._sum(self._not_summed(state.sensors, at), at)
        return self._alarms(state.sensors, at, by, listening)

    # Hours -----------------------------------------------------------------------------------------------------------

    def _not_summed(self, names: Iterable[str], at: datetime) -> set[tuple[str, datetime]]:
        """Hours with readings since the last that was summed, that one too: another sensor's may be missing in it."""
        last = self.state(at).hours_summed
        since = last - HOUR if last is not None else at - UNHEARD
        return {(name, hour) for name in names for hour in self.book.reading_hours(name, since, hour_of(at) + HOUR)}

    def _sum(self, hours: Iterable[tuple[str, datetime]], at: datetime) -> None:
        """Say hours that are over, and again those that readings came late to."""
        over: dict[datetime, list[str]] = {}
        for name, hour in sorted(hours, key=lambda each: (each[1], each[0])):
            if hour + HOUR + GRACE <= at:
                over.setdefault(hour, []).append(name)
        entries = [entry for hour, names in over.items() if (entry := self._hour(hour, names, at)) is not None]
        if entries:
            try:
                self.book.append(entries)
            except (BookError, ConflictError):
                # Another process said one of these hours in the same moment; each is tried by itself then.
                self._append_each(entries)

    def _append_each(self, entries: Iterable[Entry]) -> None:
        for entry in entries:
            if self.book.get(entry.id) is None:
                self.book.append([entry])

    def _hour(self, hour: datetime, names: Sequence[str], at: datetime) -> Entry | None:
        state = self.state(at)
        said, times = self._hour_said(hour)
        sums = [
            found
            for name in names
            if (found := sum_hour(state.sensors[name], hour, self.book.readings(name, hour, hour + HOUR))) is not None
            and (name not in said or said[name].sha256 != found.sha256)
        ]
        if not sums:
            return None
        end, began = hour + HOUR, state.began
        # Where nobody was there to sum it, it lands on its own time; nothing can stand before the farm's beginning.
        late = times == 0 and at - end >= HOUR and began is not None and end >= began
        body = ReadingsSummed(hour=hour, taken_until=at, sensors=tuple(sums))
        return normal(Entry(id=_hour_id(hour, times), at=end if late else at, recorded=at, by=SENSORS, body=body))

    def _hour_said(self, hour: datetime) -> tuple[dict[str, SensorHour], int]:
        """What the book says of an hour by sensor, and how often it was said."""
        found: dict[str, SensorHour] = {}
        times = 0
        while (kept := self.book.get(_hour_id(hour, times))) is not None:
            body = kept.entry.body
            if isinstance(body, ReadingsSummed):
                found |= {each.sensor: each for each in body.sensors}
            times += 1
        return found, times

    # Alarms ----------------------------------------------------------------------------------------------------------

    def _alarms(self, names: Iterable[str], at: datetime, by: str, listening: datetime | None = None) -> SensorNews:
        bodies = self._alarm_news(names, at, listening)
        if not bodies:
            return SensorNews()
        try:
            self.record(*bodies, at=at, by=by, recorded=at)
        except RefusedError:
            # Another process told one of these alarms in the same moment; what it left is told now.
            bodies = self._alarm_news(names, at, listening)
            if bodies:
                self.record(*bodies, at=at, by=by, recorded=at)
        now = self.state(at).alarms
        raised = [now[each.alarm] for each in bodies if isinstance(each, AlarmRaised)]
        over = [now[each.alarm] for each in bodies if isinstance(each, AlarmOver)]
        return SensorNews(raised=tuple(raised), over=tuple(over))

    def _alarm_news(
        self, names: Iterable[str], at: datetime, listening: datetime | None
    ) -> list[AlarmRaised | AlarmOver]:
        state = self.state(at)
        bodies: list[AlarmRaised | AlarmOver] = []
        for name in names:
            sensor = state.sensors[name]
            held = [each for each in state.alarms.values() if each.sensor == name]
            bodies += alarm_news(sensor, self._lately(sensor, held, at), held, at, listening)
        return bodies

    def _lately(self, sensor: Sensor, held: Iterable[AlarmHeld], at: datetime) -> list[Reading]:
        """A day of readings, or from the beginning of an alarm that goes on; at least the last one there is."""
        since = min([at - LOOK_BACK, *(each.since for each in held if each.until is None)])
        found = self.book.readings(sensor.name, since, at + FAST_CLOCK)
        if not found:
            last = self.book.last_readings([sensor.name])
            return list(last.values())
        return found

    def alarms(self, at: datetime) -> tuple[AlarmHeld, ...]:
        """Alarms that go on or wait for an answer; those that go on first."""
        return tuple(open_alarms(self.state(at).alarms.values()))

    def alarm_named(self, name: str, at: datetime) -> AlarmHeld:
        """An alarm by its own name, or the first open one of a sensor of that name. Raises `NotFoundError`."""
        known = self.state(at).alarms
        waiting = open_alarms(known.values())
        if name in known:
            return known[name]
        for each in waiting:
            if each.sensor == name:
                return each
        raise NotFoundError("alarm", name, tuple(each.alarm for each in waiting), "See them: trayward sensors.")

    @worked_out(AlarmAnswered)
    def answer_alarm(self, name: str, done: str, **said: Unpack[Said]) -> Receipt:
        """
        Say what was done about an alarm.

        Of a cold room that is a corrective action: a hygiene record is written down beside it, with the worst value,
        the limit, what was done, and the lots that lay in the cold room. Which of them may still be sold is for whoever
        answers for the food to decide; defer to local codes and licensed practice.

        Parameters
        ----------
        name : str
            The alarm, or its sensor.
        done : str
            What was done: the door shut, the crop measured and moved, what was decided.
        """
        at = said["at"]
        held = self.alarm_named(name, at)
        if not done.strip():
            raise InputError("done", "nothing", "an answer says what was done", "For instance: door shut, crop at 4 C.")
        bodies: list[Body] = [AlarmAnswered(alarm=held.alarm, sensor=held.sensor, done=done.strip())]
        bodies += self._corrective(held, done.strip(), at)
        return self._say(*bodies, **said)

    def _corrective(self, held: AlarmHeld, done: str, at: datetime) -> Iterator[Body]:
        if held.what != "cold room temperature" or held.value is None:
            return
        sensor = self.state(at).sensors.get(held.sensor)
        low, high = (sensor.low, sensor.high) if sensor is not None else (None, held.limit)
        values = (
            Value(field="temperature", value=round(held.value, 2), unit="C", low=low, high=high),
            Value(field="thermometer", value=held.sensor),
        )
        record = HygieneRecord(
            kind="cold room", values=values, area=held.place, corrective=done,
            about=lots_held(self.state(at), held, at), note=f"Alarm {held.alarm}.",
        )  # fmt: skip
        yield RecordWritten(record=record)


def _now(sensor: Sensor, last: Reading | None, waiting: Iterable[AlarmHeld]) -> SensorNow:
    shown = Reading(last.at, sensor.corrected(last.at, last.value)) if last is not None else None
    return SensorNow(sensor=sensor, last=shown, alarms=tuple(each for each in waiting if each.sensor == sensor.name))


def _hour_id(hour: datetime, times: int) -> str:
    """The id of an hour's entry, so that it is never said twice: by the hour, and how often it was said before."""
    name = f"hour-{hour:%Y%m%d%H}"
    return name if times == 0 else f"{name}-{times + 1}"
