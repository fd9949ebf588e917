"""Words of readings, of sensors and of their alarms."""

from __future__ import annotations

from trayward.farm.entries import AlarmAnswered, AlarmOver, AlarmRaised, ReadingsSummed, ReadingTaken, SensorSet
from trayward.farm.settings import ShownUnits
from trayward.sensors.words import value_words
from trayward.units import show_temperature

READINGS = {"temperature": "temperature", "humidity": "humidity", "ph": "pH", "ec": "EC", "ppfd": "light"}
READING_UNITS = {"humidity": " % RH", "ph": "", "ec": " dS/m", "ppfd": " umol/m2/s"}


def reading_words(body: ReadingTaken, units: ShownUnits) -> str:
    """
    A reading in the farm's unit.

    Examples
    --------
    >>> reading_words(ReadingTaken(what="temperature", value=21.0, where="A1"), ShownUnits(temperature="F"))
    'temperature at A1: 70 F'
    """
    temperature = body.what == "temperature"
    shown = (
        show_temperature(body.value, units.temperature)
        if temperature
        else f"{body.value:.3g}{READING_UNITS[body.what]}"
    )
    return f"{READINGS[body.what]}{f' at {body.where}' if body.where else ''}: {shown}"


def sensor_set(body: SensorSet, units: ShownUnits) -> str:
    told = body.sensor
    if told.ended:
        return f"sensor {told.name} at {told.place} ended"
    ends = [f"at least {value_words(told.what, told.low, units)}"] if told.low is not None else []
    ends += [f"at most {value_words(told.what, told.high, units)}"] if told.high is not None else []
    title = told.measure.title
    limits = f", {' and '.join(ends)}" if ends else ""
    return f"sensor {told.name} at {told.place}: {title}{limits}, every {told.every_min:g} min"


def readings_summed(body: ReadingsSummed, units: ShownUnits) -> str:
    told = [f"{each.sensor} {value_words(each.what, each.mean, units)}" for each in body.sensors]
    return f"an hour of sensors: {', '.join(told)}"


def alarm_raised(body: AlarmRaised, units: ShownUnits) -> str:
    if body.value is None:
        return f"alarm: {body.sensor} at {body.place} is silent"
    shown = value_words(body.what, body.value, units)
    if body.trouble == "high":
        return f"alarm: {body.sensor} at {body.place} is too high, {shown}"
    return f"alarm: {body.sensor} at {body.place} is too low, {shown}"


def alarm_over(body: AlarmOver, units: ShownUnits) -> str:
    del units
    return f"alarm over: {body.sensor}"


def alarm_answered(body: AlarmAnswered, units: ShownUnits) -> str:
    del units
    return f"alarm of {body.sensor} answered: {body.done}"
