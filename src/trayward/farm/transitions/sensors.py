"""Sensors, their hours, and their alarms."""

from __future__ import annotations

import math
from datetime import timedelta

from msgspec.structs import replace

from trayward.farm.entries import AlarmAnswered, AlarmOver, AlarmRaised, Entry, ReadingsSummed, SensorSet
from trayward.farm.sensors import MEASURES, NAME, AlarmHeld, Sensor, SensorHour
from trayward.farm.state import FarmState, Reading
from trayward.farm.transitions.say import Findings, show, wrong

LONGEST_MIN = 7 * 24 * 60.0
"""No sensor is asked for less than once a week. [min]"""
HOUR = timedelta(hours=1)


def check_sensor(state: FarmState, body: SensorSet, entry: Entry) -> Findings:
    told = body.sensor
    found: Findings = []
    if not NAME.fullmatch(told.name):
        message = f"sensor = {told.name[:50]!r}: its name is made of letters, figures, dots and dashes, 40 at most."
        found.append(wrong(entry, "sensor-name", message, "For instance: cold-room-1."))
    if not told.place.strip():
        message = f"sensor {told.name}, place = nothing: a sensor stands somewhere."
        found.append(wrong(entry, "sensor-place", message, "Name the room, shelf or tank."))
    before = state.sensors.get(told.name)
    if before is not None and before.what != told.what:
        message = f"sensor {told.name} = {told.what}: it has measured {before.what} so far."
        found.append(wrong(entry, "sensor-what", message, "Give the new one a name of its own."))
    return found + _limits(told, entry) + _times(told, entry)


def _limits(told: Sensor, entry: Entry) -> Findings:
    measure, found = told.measure, []
    for name, value in (("lowest", told.low), ("highest", told.high)):
        if value is not None and not measure.lowest <= value <= measure.highest:
            rule = f"must lie in [{measure.lowest:g}, {measure.highest:g}] {measure.unit}".strip()
            message = f"sensor {told.name}, {name} = {show(value)} {measure.unit}".rstrip() + f": {rule}."
            found.append(wrong(entry, "sensor-limit", message, "Check what was typed."))
    if told.low is not None and told.high is not None and told.low >= told.high:
        message = f"sensor {told.name}, limits = {show(told.low)} to {show(told.high)}: they are swapped."
        found.append(wrong(entry, "sensor-limits", message, "Give the lower one first."))
    if any(not math.isfinite(each.add) for each in told.corrections):
        message = f"sensor {told.name}, correction = no number: must be a number."
        found.append(wrong(entry, "sensor-correction", message, "Say how much is added to what it shows."))
    return found


def _times(told: Sensor, entry: Entry) -> Findings:
    found: Findings = []
    silent = told.silent_min if told.silence_tells else None
    times = (("every", told.every_min, 0.05), ("after", told.after_min, 0.0), ("silent after", silent, 1.0))
    for name, value, least in times:
        if value is not None and not least <= value <= LONGEST_MIN:
            message = f"sensor {told.name}, {name} = {show(value)} min: must lie in [{least:g}, {LONGEST_MIN:g}] min."
            found.append(wrong(entry, "sensor-time", message, "Check what was typed."))
    return found


def apply_sensor(state: FarmState, body: SensorSet, entry: Entry) -> None:
    state.sensors[body.sensor.name] = body.sensor


# Hours ----------------------------------------------------------------------------------------------------------------


def check_hour(state: FarmState, body: ReadingsSummed, entry: Entry) -> Findings:
    if body.hour.timestamp() % 3600 or not body.sensors:
        message = f"hour = {body.hour:%Y-%m-%d %H:%M}: it must be a whole hour with a sensor in it."
        return [wrong(entry, "sensor-hour", message, "Have it summed again.")]
    found: Findings = []
    for each in body.sensors:
        if each.readings < 1 or not each.low - 1e-9 <= each.mean <= each.high + 1e-9:
            message = f"hour of {each.sensor} = {show(each.mean)}: its mean must lie between its lowest and highest."
            found.append(wrong(entry, "sensor-hour", message, "Have it summed again."))
    return found


def apply_hour(state: FarmState, body: ReadingsSummed, entry: Entry) -> None:
    """The means of the air join the readings by hand; an hour said again takes the place of what it was."""
    end = body.hour + HOUR
    if state.hours_summed is None or end > state.hours_summed:
        state.hours_summed = end
    for each in body.sensors:
        what = MEASURES[each.what].reading
        if what:
            _put(state, body, each, Reading(entry.at, what, each.mean, each.place, each.sensor))


def _put(state: FarmState, body: ReadingsSummed, hour: SensorHour, reading: Reading) -> None:
    for place in range(len(state.readings) - 1, -1, -1):
        there = state.readings[place]
        age = there.at - body.hour
        if age < HOUR:
            break
        # An hour is summed within the hour after it; the one before it came sooner.
        if there.sensor == hour.sensor and there.what == reading.what and age < 2 * HOUR:
            state.readings[place] = _with_value(there, hour.mean)
            return
    if reading.at < body.hour + 2 * HOUR:
        state.readings.append(reading)


def _with_value(reading: Reading, value: float) -> Reading:
    return replace(reading, value=value)


# Alarms ---------------------------------------------------------------------------------------------------------------


def check_raised(state: FarmState, body: AlarmRaised, entry: Entry) -> Findings:
    if body.alarm in state.alarms:
        message = f"alarm {body.alarm} = raised: it was raised already."
        return [wrong(entry, "alarm-twice", message, "Look at the sensor's page.")]
    return []


def apply_raised(state: FarmState, body: AlarmRaised, entry: Entry) -> None:
    state.alarms[body.alarm] = AlarmHeld(
        alarm=body.alarm, sensor=body.sensor, place=body.place, what=body.what, trouble=body.trouble,
        since=body.since, raised=entry.at, value=body.value, limit=body.limit,
    )  # fmt: skip


def check_known(state: FarmState, body: AlarmOver | AlarmAnswered, entry: Entry) -> Findings:
    if body.alarm not in state.alarms:
        message = f"alarm {body.alarm[:60]} = not known: no such alarm was raised."
        return [wrong(entry, "alarm-unknown", message, "See the alarms: trayward sensors.")]
    return []


def apply_over(state: FarmState, body: AlarmOver, entry: Entry) -> None:
    held = state.alarms[body.alarm]
    state.alarms[body.alarm] = replace(
        held, until=body.until, value=body.value if body.value is not None else held.value
    )


def check_answered(state: FarmState, body: AlarmAnswered, entry: Entry) -> Findings:
    if not body.done.strip():
        message = f"alarm {body.alarm}, done = nothing: an answer says what was done."
        return [
            wrong(entry, "alarm-done", message, "Say what you did, for instance: door closed, crop measured at 4 C.")
        ]
    return check_known(state, body, entry)


def apply_answered(state: FarmState, body: AlarmAnswered, entry: Entry) -> None:
    held = state.alarms[body.alarm]
    state.alarms[body.alarm] = replace(held, answered=entry.at, answered_by=entry.by, done=body.done)
