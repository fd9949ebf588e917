"""What a setup file says of sensors: where they stand, what they measure, their limits and corrections."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from zoneinfo import ZoneInfo

from trayward.desk.setup.table import Table
from trayward.errors import InputError
from trayward.farm.sensors import MEASURES, NAME, NEVER_SILENT, Correction, Measure, Sensor, What
from trayward.farm.transitions.sensors import LONGEST_MIN
from trayward.sensors.units import to_measure
from trayward.units import parse_minutes, parse_temperature, require_one_meaning

USUAL: What = "air temperature"
EVERY_LEAST, SILENT_LEAST = 0.05, 1.0
"""No sensor tells more often, or is taken to be silent sooner. [min]"""
MOST_ADDED = 1e6
"""A correction beyond this is a slip of the pen. [unit of the measure]"""
_VALUE = re.compile(r"(?P<number>[-+]?\d+(?:[.,]\d+)?)\s*(?P<unit>\D.*)?")


def read_sensors(root: Table, zone: str) -> list[Sensor]:
    """The `[[sensor]]` tables; times without an offset are of the farm's own zone."""
    return [_sensor(table, zone) for table in root.tables("sensor")]


def _sensor(table: Table, zone: str) -> Sensor:
    measure = _measure(table)
    low, high = _limits(table, measure)
    sensor = Sensor(
        name=_name(table),
        place=table.text("place", None, remedy="Name the room, shelf or tank it stands in."),
        what=measure.what if measure is not None else USUAL,
        every_min=_minutes(table, "every", 5.0, EVERY_LEAST),
        low=low,
        high=high,
        after_min=_minutes(table, "after", 30.0, 0.0),
        silent_min=_silent(table) if table.has("silent") else None,
        corrections=tuple(_correction(each, zone) for each in table.tables("correction")),
        topic=table.text("topic"),
        field=table.text("field"),
    )
    since = [each.since for each in sensor.corrections]
    if since != sorted(since):
        table.wrong("correction", "must run from the oldest to the newest", "Put them in that order.")
    table.finish()
    return sensor


def _name(table: Table) -> str:
    name = table.text("name", None, remedy="Give it a name, for instance cold-1.")
    if name and not NAME.fullmatch(name):
        table.wrong("name", "is made of letters, figures, dots and dashes, 40 at most", "For instance cold-room-1.")
    return name


def _minutes(table: Table, key: str, usual: float | None, low: float) -> float:
    return table.amount(key, parse_minutes, "minutes", usual, low=low, high=LONGEST_MIN)


def _silent(table: Table) -> float:
    said = table.raw("silent")
    if isinstance(said, str) and said.strip().lower() == "never":
        return NEVER_SILENT
    return _minutes(table, "silent", None, SILENT_LEAST)


def _measure(table: Table) -> Measure | None:
    """What it measures; None where that could not be read."""
    table.choice("what", tuple(MEASURES), None)
    said = table.raw("what")
    return MEASURES.get(said.strip()) if isinstance(said, str) else None


def _limits(table: Table, measure: Measure | None) -> tuple[float | None, float | None]:
    """The lowest and the highest allowed; of an unknown measure none are read, for that is one mistake, not three."""
    problems = len(table.document.problems)
    low, high = (_limit(table, key, measure) for key in ("low", "high"))
    sound = measure is not None and len(table.document.problems) == problems
    if sound and low is not None and high is not None and low >= high:
        unit = measure.unit if measure is not None else ""
        table.wrong("low", f"must be less than high, {high:g} {unit}".rstrip(), "Swap the two.")
    return low, high


def _limit(table: Table, key: str, measure: Measure | None) -> float | None:
    if not table.has(key) or measure is None:
        return None
    return table.amount(key, _reader(measure), measure.unit, low=measure.lowest, high=measure.highest)


def _reader(measure: Measure) -> Callable[[str], float]:
    return parse_temperature if measure.unit == "C" else partial(_value, measure=measure)


def _value(text: str, measure: Measure) -> float:
    """A value with or without a unit, in the unit of its measure."""
    found = _VALUE.fullmatch(text.strip())
    if found is None:
        raise InputError("value", text, "must be a number", f"Give a number in {measure.unit}." if measure.unit else "")
    require_one_meaning(found["number"], name="value")
    return to_measure(measure.what, float(found["number"].replace(",", ".")), found["unit"] or "")


def _correction(table: Table, zone: str) -> Correction:
    correction = Correction(
        since=_since(table, zone),
        add=table.number("add", low=-MOST_ADDED, high=MOST_ADDED),
        note=table.text("note"),
    )
    table.finish()
    return correction


def _since(table: Table, zone: str) -> datetime:
    value = table.raw("since")
    if value is None:
        table.missing("since", "Say from when on, for instance 2026-11-27T08:00:00.")
        return datetime(2000, 1, 1, tzinfo=UTC)
    if not isinstance(value, datetime):
        table.wrong("since", "must be a day and a time", "Write for instance 2026-11-27T08:00:00.")
        return datetime(2000, 1, 1, tzinfo=UTC)
    local = value if value.tzinfo is not None else value.replace(tzinfo=ZoneInfo(zone))
    return local.astimezone(UTC)
