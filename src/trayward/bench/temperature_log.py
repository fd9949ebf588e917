"""A logger's file, read: times and temperatures in CSV, with steps of any length, gaps, and clocks set back."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from typing import NamedTuple

import msgspec

from trayward.errors import Finding, InputError

COLDEST_C, WARMEST_C = -20.0, 60.0
"""What a logger where trays grow can show: anything else is left out, and said."""
_TIME_WORDS = ("timestamp", "datetime", "date", "time", "when", "moment")
_WET_WORDS = ("rh_", "rh", "humid", "feucht")
_WARM_WORDS = ("temp", "celsius", "fahrenheit", "°c", "°f")
_DATE = re.compile(r"(\d{1,4})[./-](\d{1,2})[./-](\d{1,4})[ T]*(.*)")
_CLOCK = re.compile(
    r"(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d+)?)?\s*(am|pm)?(?:\s*(?:Z|[+-]\d{2}:?\d{2}))?", re.IGNORECASE
)
EXAMPLE = "For instance two columns, time and temperature: 2026-11-25 07:30,21.4"
Named = Sequence[tuple[int, str]]


class TemperatureLog(msgspec.Struct, frozen=True, kw_only=True):
    """Readings in the order of time, each later than the one before; what was left out or mended is in `findings`."""

    times: tuple[datetime, ...]
    temps_c: tuple[float, ...]
    humidity_pct: tuple[float, ...] = ()
    """Relative humidity at each time, where the file has it; NaN where one is missing. [%]"""
    findings: tuple[Finding, ...] = ()

    @property
    def hours(self) -> list[float]:
        """Hours since the first reading. [h]"""
        return [(at - self.times[0]).total_seconds() / 3600 for at in self.times]


def read_log(text: str, *, fahrenheit: bool | None = None, day_first: bool | None = None) -> TemperatureLog:
    """
    Read a logger's file.

    Parameters
    ----------
    text : str
        CSV with comma, semicolon or tab, with or without a line of names.
    fahrenheit : bool, optional
        True: it is in Fahrenheit; None: as its name says, else Celsius.
    day_first : bool, optional
        Whether 03/04 is the third of April; None: as the file shows, where it does.

    Returns
    -------
    TemperatureLog

    Raises
    ------
    InputError
        If it has no column of times or temperatures, fewer than two readings, or dates that can be read two ways.

    Examples
    --------
    >>> log = read_log("time,temperature\\n2026-11-25 07:00,20.5\\n2026-11-25 19:00,22.5\\n")
    >>> log.hours, log.temps_c
    ([0.0, 12.0], (20.5, 22.5))
    """
    rows = rows_of(text)
    head, body = (rows[0], rows[1:]) if not is_time_row(rows[0]) else ([], rows)
    time_at, warm_at = _columns(head, body)
    in_f = fahrenheit if fahrenheit is not None else _says_fahrenheit(head, warm_at)
    reads = dates_of([row[time_at] for row in body if len(row) > time_at], day_first)
    left: dict[str, list[str]] = {}
    wet_at = column_named([name.lower() for name in head], _WET_WORDS)
    taken = list(_taken(body, (time_at, warm_at, wet_at), reads, in_f, left))
    kept = _rising(taken, left)
    if len(kept) < 2:
        raise InputError("log", f"{len(kept)} readings", "there must be two or more that can be read", EXAMPLE)
    return TemperatureLog(
        times=tuple(one.at for one in kept),
        temps_c=tuple(one.temp_c for one in kept),
        humidity_pct=tuple(one.humidity_pct for one in kept) if wet_at is not None else (),
        findings=tuple(_findings(left)),
    )


def rows_of(text: str) -> list[list[str]]:
    """Lines of cells, whatever the file puts between them; comments and blanks left out."""
    lines = [line for line in text.lstrip("\ufeff").splitlines() if line.strip() and not line.lstrip().startswith("#")]
    if not lines:
        raise InputError("log", "nothing", "the file is empty", EXAMPLE)
    counts = {mark: lines[-1].count(mark) for mark in (";", "\t", ",")}
    mark = next((mark for mark in (";", "\t") if counts[mark]), ",")
    return [[cell.strip() for cell in row] for row in csv.reader(io.StringIO("\n".join(lines)), delimiter=mark)]


def is_time_row(row: Sequence[str]) -> bool:
    """Whether a line holds readings rather than names: one of its cells is a date."""
    return any(_DATE.fullmatch(cell) for cell in row)


def _columns(head: Sequence[str], body: Sequence[Sequence[str]]) -> tuple[int, int]:
    """Where the times and the temperatures are: by their names, else the first that looks so."""
    first = body[0] if body else []
    names = [name.lower() for name in head]
    time_at = column_named(names, _TIME_WORDS)
    if time_at is None or not _DATE.fullmatch(first[time_at] if time_at < len(first) else ""):
        time_at = next((place for place, cell in enumerate(first) if _DATE.fullmatch(cell)), None)
    if time_at is None:
        raise InputError("log", ", ".join(head or first)[:50], "no column of it is a date and a time", EXAMPLE)
    warm_at = column_named(names, _WARM_WORDS)
    if warm_at is None:
        behind = range(time_at + 1, len(first))
        warm_at = next((place for place in behind if cell_number(first[place]) is not None), None)
    if warm_at is None:
        raise InputError("log", ", ".join(head or first)[:50], "no column of it is a temperature", EXAMPLE)
    return time_at, warm_at


def column_named(names: Sequence[str], words: Iterable[str]) -> int | None:
    """The column with one of these words in its name, the first word first; None where there is none."""
    return next((place for word in words for place, name in enumerate(names) if word in name), None)


def _says_fahrenheit(head: Sequence[str], warm_at: int) -> bool:
    name = head[warm_at].lower() if warm_at < len(head) else ""
    return "fahr" in name or "°f" in name or re.search(r"(_|\(|\[|\s)f(\)|\]|$)", name) is not None


def cell_number(cell: str) -> float | None:
    """A number with a point or a comma, with or without C or F behind it; None where it is none."""
    found = re.fullmatch(r"([-−]?\d+(?:[.,]\d+)?)\s*°?\s*[CcFf]?", cell)
    return float(found[1].replace(",", ".").replace("−", "-")) if found else None


# Dates ----------------------------------------------------------------------------------------------------------------


def dates_of(cells: Sequence[str], day_first: bool | None) -> Callable[[str], datetime | None]:
    """How the dates of a file are read: year first, else by which part goes beyond twelve."""
    parts = [(int(found[1]), int(found[2])) for cell in cells if (found := _DATE.fullmatch(cell))]
    if all(first > 31 for first, _ in parts):
        return lambda cell: _date(cell, (0, 1, 2))
    if day_first is None:
        day_first = _day_first(parts)
    return lambda cell: _date(cell, (2, 1, 0) if day_first else (2, 0, 1))


def _day_first(parts: Sequence[tuple[int, int]]) -> bool:
    first, second = any(one > 12 for one, _ in parts), any(other > 12 for _, other in parts)
    if first == second:
        rule = "its dates can be read with the day or with the month first"
        raise InputError("log", "03/04", rule, "Say --day-first or --month-first.")
    return first


def _date(cell: str, order: tuple[int, int, int]) -> datetime | None:
    """A date and time, taken as the clock on the wall shows it; None where it is none."""
    found = _DATE.fullmatch(cell)
    if found is None:
        return None
    year, month, day = (int(found[1 + place]) for place in order)
    clock = _CLOCK.fullmatch(found[4].strip()) if found[4].strip() else None
    if found[4].strip() and clock is None:
        return None
    hour, minute, second = (int(clock[place] or 0) for place in (1, 2, 3)) if clock else (0, 0, 0)
    if clock and clock[4]:
        hour = hour % 12 + (12 if clock[4].lower() == "pm" else 0)
    try:
        return datetime(year + 2000 if year < 100 else year, month, day, hour, minute, second)  # noqa: DTZ001
    except ValueError:
        return None


# Readings -------------------------------------------------------------------------------------------------------------


class _Reading(NamedTuple):
    at: datetime
    temp_c: float
    humidity_pct: float


def _taken(
    body: Sequence[Sequence[str]],
    places: tuple[int, int, int | None],
    reads: Callable[[str], datetime | None],
    in_f: bool,
    left: dict[str, list[str]],
) -> Iterable[_Reading]:
    for row in body:
        when, warm, wet = (row[place] if place is not None and place < len(row) else "" for place in places)
        at, temp, humidity = reads(when), cell_number(warm), cell_number(wet.rstrip("% "))
        if at is None or temp is None:
            left.setdefault("log-unreadable", []).append(f"{when}: {warm or 'blank'}")
            continue
        celsius = (temp - 32) * 5 / 9 if in_f else temp
        if not COLDEST_C <= celsius <= WARMEST_C:
            left.setdefault("log-absurd", []).append(f"{when}: {warm}")
            continue
        yield _Reading(at, celsius, humidity if humidity is not None and 0 < humidity <= 100 else math.nan)


def _rising(taken: Sequence[_Reading], left: dict[str, list[str]]) -> list[_Reading]:
    """Readings in the order of time; what a clock set back takes twice is left out until time goes on.

    A file that begins with the newest is turned round.
    """
    if taken and taken[0].at > taken[-1].at:
        taken = taken[::-1]
    kept: list[_Reading] = []
    for one in taken:
        if kept and one.at <= kept[-1].at:
            left.setdefault("log-clock", []).append(f"{one.at:%Y-%m-%d %H:%M}")
        else:
            kept.append(one)
    return kept


_FAULTS = {
    "log-unreadable": ("cannot be read", "Look at these lines; a blank says that the logger missed a reading."),
    "log-absurd": (f"outside {COLDEST_C:g} to {WARMEST_C:g} °C", "If it is Fahrenheit, say --fahrenheit."),
    "log-clock": ("not later than the reading before", "The logger's clock was set back, or the file is not in order."),
}


def _findings(left: dict[str, list[str]]) -> Iterable[Finding]:
    for code, lines in left.items():
        rule, remedy = _FAULTS[code]
        more = f" (and {len(lines) - 1} more)" if len(lines) > 1 else ""
        yield Finding(code=code, severity="odd", message=f"{lines[0]}{more}: {rule}, so left out.", remedy=remedy)
