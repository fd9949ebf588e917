"""Words of readings, of sensors and of their alarms."""

from __future__ import annotations

from trayward.farm.entries import AlarmAnswered, AlarmOver, AlarmRaised, ReadingsSummed, ReadingTaken, SensorSet
from trayward.farm.settings import ShownUnits
from trayward.sensors.words import value_words
from trayward.units import show_temperature
from trayward.words import Own, filled, in_a_row

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
    read = READINGS[body.what]
    at = filled("{reading} at {place}", reading=read, place=body.where) if body.where else read
    return in_a_row((at, shown), ": ")


def sensor_set(body: SensorSet, units: ShownUnits) -> str:
    told = body.sensor
    if told.ended:
        return filled("sensor {sensor} at {place} ended", sensor=Own(told.name), place=told.place)
    ends = [f"at least {value_words(told.what, told.low, units)}"] if told.low is not None else []
    ends += [f"at most {value_words(told.what, told.high, units)}"] if told.high is not None else []
    begin = filled("sensor {sensor} at {place}", sensor=Own(told.name), place=told.place)
    every = filled("every {minutes} min", minutes=f"{told.every_min:g}")
    return in_a_row((begin, in_a_row((told.measure.title, in_a_row(ends, " and "), every))), ": ")


def readings_summed(body: ReadingsSummed, units: ShownUnits) -> str:
    told = ((Own(each.sensor), value_words(each.what, each.mean, units)) for each in body.sensors)
    return filled("an hour of sensors: {told}", told=in_a_row(in_a_row(each, " ") for each in told))


def alarm_raised(body: AlarmRaised, units: ShownUnits) -> str:
    sensor, place = Own(body.sensor), body.place
    if body.value is None:
        return filled("alarm: {sensor} at {place} is silent", sensor=sensor, place=place)
    shown = value_words(body.what, body.value, units)
    if body.trouble == "high":
        return filled("alarm: {sensor} at {place} is too high, {shown}", sensor=sensor, place=place, shown=shown)
    return filled("alarm: {sensor} at {place} is too low, {shown}", sensor=sensor, place=place, shown=shown)


def alarm_over(body: AlarmOver, units: ShownUnits) -> str:
    del units
    return filled("alarm over: {sensor}", sensor=Own(body.sensor))


def alarm_answered(body: AlarmAnswered, units: ShownUnits) -> str:
    del units
    return filled("alarm of {sensor} answered: {done}", sensor=Own(body.sensor), done=Own(body.done))
