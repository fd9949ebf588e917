"""Readings of sensors: kept beside the entries, only ever added to, and looked at again by the marks of their hours."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path

from sqlalchemy import Connection, func, select, tuple_

from trayward.errors import BookError, InputError
from trayward.farm.codec import decode_entry
from trayward.farm.entries import ReadingsSummed
from trayward.sensors.hours import HOUR, hour_of, mark_of
from trayward.sensors.types import Reading, ReadingsKept, Taken
from trayward.store.bulk import add_rows
from trayward.store.chain import from_microseconds, to_microseconds
from trayward.store.schema import ENTRY, SENSOR_READING

FILE = "sensor-readings.csv"
"""In a folder of CSV files; beside a JSON Lines file it is called as that, with `-` and this at its end."""
COLUMNS = ("sensor", "at", "value", "taken")
PAGE = 5000
"""So many rows are read or written at once."""
HOUR_US = HOUR // timedelta(microseconds=1)
Row = tuple[str, int, float, int]
"""Sensor, when [us since 1970], value, when it came in [us since 1970]."""


# Keeping --------------------------------------------------------------------------------------------------------------


def keep_readings(connection: Connection, taken: Iterable[Taken], at: datetime) -> ReadingsKept:
    """Keep readings that came in at a moment; of the same sensor and moment the first one stays."""
    moment = to_microseconds(at)
    return keep_rows(connection, ((each.sensor, to_microseconds(each.at), each.value, moment) for each in taken))


def keep_rows(connection: Connection, rows: Iterable[Row]) -> ReadingsKept:
    """As `keep_readings`, with the moments they came in; the caller holds the writers' lock."""
    done = [0, 0, 0]
    rows = iter(rows)
    while page := list(islice(rows, PAGE)):
        fresh: dict[tuple[str, int], Row] = {}
        there = _there(connection, page)
        for row in page:
            key = row[:2]
            before = there.get(key, fresh[key][2] if key in fresh else None)
            if before is None:
                fresh[key] = row
            else:
                done[1] += 1
                done[2] += before != row[2]
        add_rows(connection, SENSOR_READING, list(fresh.values()))
        done[0] += len(fresh)
    return ReadingsKept(new=done[0], already=done[1], differing=done[2])


def _there(connection: Connection, page: Sequence[Row]) -> dict[tuple[str, int], float]:
    """What is kept of the sensors of a page, from its first moment to its last."""
    column = SENSOR_READING.c
    found: dict[tuple[str, int], float] = {}
    for sensor in {row[0] for row in page}:
        moments = [row[1] for row in page if row[0] == sensor]
        query = select(column.at, column.value).where(
            column.sensor == sensor, column.at >= min(moments), column.at <= max(moments)
        )
        found |= {(sensor, row.at): row.value for row in connection.execute(query)}
    return found


# Reading --------------------------------------------------------------------------------------------------------------


def find_readings(
    connection: Connection, sensor: str, since: datetime, until: datetime, taken_until: datetime | None = None
) -> list[Reading]:
    """Readings of a sensor from one moment up to, not including, another, oldest first."""
    column = SENSOR_READING.c
    query = select(column.at, column.value).where(
        column.sensor == sensor, column.at >= to_microseconds(since), column.at < to_microseconds(until)
    )
    if taken_until is not None:
        query = query.where(column.taken <= to_microseconds(taken_until))
    # All at once: a day of a sensor is 1,440 rows, fetched one by one for each message it tells.
    rows = connection.execute(query.order_by(column.at)).all()
    return [Reading(from_microseconds(at), value) for at, value in rows]


def last_readings(connection: Connection, sensors: Iterable[str]) -> dict[str, Reading]:
    """The newest reading of each sensor that has any."""
    column = SENSOR_READING.c
    found = {}
    for sensor in sensors:
        query = select(column.at, column.value).where(column.sensor == sensor).order_by(column.at.desc()).limit(1)
        row = connection.execute(query).first()
        if row is not None:
            found[sensor] = Reading(from_microseconds(row.at), row.value)
    return found


def hours_with(connection: Connection, sensor: str, since: datetime, until: datetime) -> list[datetime]:
    """Beginnings of the hours in which a sensor told anything, oldest first."""
    column = SENSOR_READING.c
    # Subtracted, not divided: the two databases round a division of whole numbers alike, drivers do not.
    begin = (column.at - column.at % HOUR_US).label("begin")
    query = select(begin).where(
        column.sensor == sensor, column.at >= to_microseconds(since), column.at < to_microseconds(until)
    )
    return [from_microseconds(row.begin) for row in connection.execute(query.group_by(begin).order_by(begin))]


def count_readings(connection: Connection) -> int:
    """How many are kept."""
    return connection.scalar(select(func.count()).select_from(SENSOR_READING)) or 0


def reading_rows(connection: Connection) -> Iterator[Row]:
    """All of them, by sensor and moment, read in pages."""
    column = SENSOR_READING.c
    query = select(column.sensor, column.at, column.value, column.taken).order_by(column.sensor, column.at)
    page = connection.execute(query.limit(PAGE)).all()
    while page:
        yield from (tuple(row) for row in page)
        beyond = tuple_(column.sensor, column.at) > (page[-1].sensor, page[-1].at)
        page = connection.execute(query.where(beyond).limit(PAGE)).all() if len(page) == PAGE else []


# Files ----------------------------------------------------------------------------------------------------------------


def readings_file(export: Path) -> Path:
    """Where the readings of an exported book are."""
    return export / FILE if export.is_dir() else export.with_name(f"{export.name}-{FILE}")


def write_readings(connection: Connection, target: Path) -> int:
    """Write all of them to a CSV file; times in UTC, values so that they are read back exactly."""
    written = 0
    with target.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(COLUMNS)
        for sensor, at, value, taken in reading_rows(connection):
            writer.writerow(
                (sensor, from_microseconds(at).isoformat(), repr(value), from_microseconds(taken).isoformat())
            )
            written += 1
    return written


def rows_of_file(source: Path) -> Iterator[Row]:
    """The rows of such a file. Raises `BookError` at the first line that is none."""
    with source.open(encoding="utf-8-sig", newline="") as file:
        reader = csv.reader(file)
        if tuple(next(reader, ())) != COLUMNS:
            raise BookError(f"{source}: its first line is not {','.join(COLUMNS)}. Export the book again.")
        for line in reader:
            try:
                sensor, at, value, taken = line
                yield sensor, _moment(at), float(value), _moment(taken)
            except (ValueError, InputError) as err:
                raise BookError(f"{source} line {reader.line_num}: it is no reading: {err}. Export it again.") from err


def _moment(text: str) -> int:
    return to_microseconds(datetime.fromisoformat(text))


# Looking through ------------------------------------------------------------------------------------------------------


def changed_hours(connection: Connection) -> Iterator[tuple[int, str, str]]:
    """Hours whose readings are not those their entry was made of: number and id of the entry, and what is wrong.

    Of an hour that was said again, the last time counts.
    """
    query = select(ENTRY.c.seq, ENTRY.c.id, ENTRY.c.canonical).where(ENTRY.c.kind == ReadingsSummed.KIND)
    newest: dict[tuple[str, datetime], tuple[int, str, datetime, int, str]] = {}
    for row in connection.execute(query.order_by(ENTRY.c.seq)):
        body = decode_entry(row.canonical.encode()).body
        assert isinstance(body, ReadingsSummed)
        if body.hour != hour_of(body.hour):
            continue  # of no hour there is: the fold says so, and nothing is to be found of it here
        for each in body.sensors:
            newest[each.sensor, body.hour] = row.seq, row.id, body.taken_until, each.readings, each.sha256
    for (sensor, hour), (seq, entry, until, count, mark) in newest.items():
        there = find_readings(connection, sensor, hour, hour + HOUR, until)
        if len(there) != count:
            yield seq, entry, f"{sensor}: {len(there)} of {count} readings of its hour are there"
        elif mark_of(there) != mark:
            yield seq, entry, f"{sensor}: the readings of its hour were changed"
