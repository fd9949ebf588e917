"""A logger's file as readings of one sensor: delimiter, decimal comma, order of dates and unit found out and told."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime
from statistics import median
from typing import Final
from zoneinfo import ZoneInfo

import msgspec

from trayward.bench.temperature_log import EXAMPLE, cell_number, column_named, dates_of, is_time_row, rows_of
from trayward.errors import Finding, InputError
from trayward.farm.sensors import Sensor
from trayward.sensors.types import Reading
from trayward.sensors.units import to_measure

_WARM: Final = ("temp", "celsius", "fahrenheit", "°c", "°f")
_COLUMNS: Final[dict[str, tuple[str, ...]]] = {
    "air temperature": _WARM, "water temperature": _WARM, "cold room temperature": _WARM,
    "humidity": ("rh_", "rh", "humid", "feucht"), "co2": ("co2", "co₂"), "ppfd": ("ppfd", "par", "mol"),
    "lux": ("lux", "light"), "ph": ("ph",), "ec": ("ec", "conduct"),
}  # fmt: skip
_TIMES: Final = ("timestamp", "datetime", "date", "time", "when", "moment")
_UNITS: Final = (
    (re.compile(r"fahr|°f|[_(\[\s]f[)\]]?$"), "F"), (re.compile(r"cels|°c|[_(\[\s]c[)\]]?$"), "C"),
    (re.compile(r"[uµ]s/cm"), "uS/cm"), (re.compile(r"m?s/cm|ds/m"), "mS/cm"),
)  # fmt: skip
HOT_C: Final = {"air temperature": 45.0, "water temperature": 45.0, "cold room temperature": 25.0}
"""A file whose middle value is above this and that says no unit is in Fahrenheit, most likely: our choice. [C]"""


class LoggerFile(msgspec.Struct, frozen=True, kw_only=True):
    """What a file holds for a sensor."""

    column: str
    unit: str
    """Of the file's values; empty: as the measure."""
    guessed: bool
    """Whether the unit was guessed from the values, not read from the name of the column."""
    readings: tuple[Reading, ...]
    """In the unit of the measure, in the order of the file."""
    findings: tuple[Finding, ...] = ()


def read_logger(
    text: str, sensor: Sensor, at_home: ZoneInfo, *, column: str = "", unit: str = "", day_first: bool | None = None
) -> LoggerFile:
    """
    Read a logger's file for a sensor.

    Parameters
    ----------
    text : str
        CSV with comma, semicolon or tab, with or without a line of names.
    sensor : Sensor
        What it measures says which column is meant.
    at_home : ZoneInfo
        Where its clock hangs on the wall; times that carry their own offset are read by that.
    column : str
        The column that is meant, by its name or its number from 1.
    unit : str
        The unit of its values, where the file does not say.
    day_first : bool, optional
        Whether 03/04 is the third of April; None: as the file shows, where it does.

    Raises
    ------
    InputError
        If it has no such column, no reading, or dates that can be read two ways.
    """
    rows = rows_of(text)
    head, body = (rows[0], rows[1:]) if not is_time_row(rows[0]) else ([], rows)
    time_at = _time_column(head, body)
    value_at = _value_column(head, body, time_at, sensor, column)
    name = head[value_at] if value_at < len(head) else f"column {value_at + 1}"
    told, guessed = _unit(name, body, value_at, sensor, unit)
    moments = _moments([row[time_at] if time_at < len(row) else "" for row in body], at_home, day_first)
    left: list[str] = []
    readings = []
    for row, at in zip(body, moments, strict=True):
        value = cell_number(row[value_at].rstrip("% ")) if value_at < len(row) else None
        if at is None or value is None:
            left.append(",".join(row)[:60])
        else:
            readings.append(Reading(at, to_measure(sensor.what, value, told)))
    if not readings:
        raise InputError("file", f"{len(body)} lines", "none of them holds a reading", EXAMPLE)
    return LoggerFile(
        column=name, unit=told, guessed=guessed, readings=tuple(readings), findings=tuple(_left_out(left))
    )


def _left_out(left: Sequence[str]) -> list[Finding]:
    if not left:
        return []
    more = f" (and {len(left) - 1} more)" if len(left) > 1 else ""
    message = f"{left[0]}{more}: cannot be read, so left out."
    return [Finding(code="log-unreadable", severity="odd", message=message, remedy="Look at these lines.")]


def _time_column(head: Sequence[str], body: Sequence[Sequence[str]]) -> int:
    first = body[0] if body else []
    found = column_named([name.lower() for name in head], _TIMES)
    if found is not None and found < len(first) and is_time_row([first[found]]):
        return found
    for place, cell in enumerate(first):
        if is_time_row([cell]):
            return place
    raise InputError("file", ", ".join(head or first)[:50], "no column of it is a date and a time", EXAMPLE)


def _value_column(head: Sequence[str], body: Sequence[Sequence[str]], time_at: int, sensor: Sensor, asked: str) -> int:
    names = [name.lower() for name in head]
    if asked.isdecimal() and 1 <= int(asked) <= len(body[0]):
        return int(asked) - 1
    if asked:
        for place, name in enumerate(names):
            if name == asked.strip().lower():
                return place
        raise InputError("column", asked, f"the file has {', '.join(head) or 'no names'}", "Name one, or its number.")
    found = column_named(names, _COLUMNS[sensor.what])
    if found is not None and found != time_at:
        return found
    cells = [(place, cell.rstrip("% ")) for place, cell in enumerate(body[0]) if place != time_at]
    numbers = [place for place, cell in cells if cell_number(cell) is not None]
    # Where names say nothing, only a lone column of numbers cannot be mistaken.
    if len(numbers) == 1 or (numbers and not head):
        return numbers[0] if len(numbers) == 1 else next((each for each in numbers if each > time_at), numbers[0])
    rule = f"none of its columns is {sensor.measure.title}"
    raise InputError("file", ", ".join(head)[:50], rule, "Name the column: --column NAME.")


def _unit(name: str, body: Sequence[Sequence[str]], value_at: int, sensor: Sensor, unit: str) -> tuple[str, bool]:
    if unit:
        return unit, False
    own = sensor.measure.unit
    for shape, word in _UNITS:
        if shape.search(name.lower()) and (word in ("C", "F")) == (own == "C") and own in ("C", "dS/m"):
            return word, False
    values = [found for row in body if value_at < len(row) and (found := cell_number(row[value_at])) is not None]
    if sensor.what in HOT_C and values and median(values) > HOT_C[sensor.what]:
        return "F", True
    return "", False


def _moments(cells: Sequence[str], at_home: ZoneInfo, day_first: bool | None) -> list[datetime | None]:
    with_offset = [_own_offset(cell) for cell in cells]
    if any(with_offset):
        return with_offset
    reads = dates_of(cells, day_first)
    found: list[datetime | None] = []
    before: datetime | None = None
    for cell in cells:
        wall = reads(cell)
        at = wall.replace(tzinfo=at_home) if wall is not None else None
        # In the hour that comes twice in autumn, a clock that went back shows its second time round.
        if at is not None and before is not None and at.timestamp() <= before.timestamp():
            again = at.replace(fold=1)
            at = again if again.timestamp() > before.timestamp() else at
        before = at or before
        found.append(at)
    return found


def _own_offset(cell: str) -> datetime | None:
    try:
        at = datetime.fromisoformat(cell.strip())
    except ValueError:
        return None
    return at if at.tzinfo is not None else None
