"""A sensor over days: the mean as a line, lowest to highest as a band, its limits, and nothing where it was silent."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from math import fsum
from typing import NamedTuple
from zoneinfo import ZoneInfo

from markupsafe import Markup

from trayward.farm.sensors import Sensor
from trayward.sensors.types import Reading
from trayward.web.drawing.look import Chart, Size, both
from trayward.web.drawing.scale import Scale, around, round_figures
from trayward.web.drawing.svg import drawing, line, path, words

LEFT, RIGHT, TOP, FOOT = 48.0, 10.0, 16.0, 30.0
PARTS = 168
"""So many parts a picture has: of a week each is an hour."""


class Part(NamedTuple):
    """A part of the time that is drawn."""

    middle: datetime
    low: float
    mean: float
    high: float


def parts_of(readings: Sequence[Reading], since: datetime, until: datetime, every: timedelta) -> list[list[Part]]:
    """
    Readings in equal parts of the time, none narrower than a reading takes; broken where nothing came.

    Parameters
    ----------
    readings : sequence of Reading
        Oldest first.
    since, until : datetime
        The time that is drawn.
    every : timedelta
        How often the sensor tells.
    """
    wide = max((until - since) / PARTS, every)
    held: dict[int, list[float]] = {}
    for each in readings:
        held.setdefault(int((each.at - since) / wide), []).append(each.value)
    runs: list[list[Part]] = []
    before = None
    for place in sorted(held):
        values = held[place]
        part = Part(since + (place + 0.5) * wide, min(values), fsum(values) / len(values), max(values))
        if before is None or place - before > 2:
            runs.append([])
        runs[-1].append(part)
        before = place
    return runs


def sensor_chart(
    sensor: Sensor,
    readings: Sequence[Reading],
    since: datetime,
    until: datetime,
    figure: Callable[[float], str],
    at_home: ZoneInfo,
    day_words: Callable[[datetime], str],
) -> Chart:
    """The chart in both sizes; `figure`: a value as it reads along the edge, `day_words`: a day's."""
    runs = parts_of(readings, since, until, timedelta(minutes=sensor.every_min))
    days = _midnights(since, until, at_home)
    return both(lambda size: _drawn(sensor, runs, (since, until), size, figure, days, day_words))


def _midnights(since: datetime, until: datetime, at_home: ZoneInfo) -> list[datetime]:
    """Those within the time; a day more is one on the wall, however long it is."""
    first = since.astimezone(at_home).replace(hour=0, minute=0, second=0, microsecond=0)
    days = (first + timedelta(days=number) for number in range((until - since).days + 3))
    return [day for day in days if since <= day <= until]


def _drawn(
    sensor: Sensor, runs: list[list[Part]], span: tuple[datetime, datetime], size: Size,
    figure: Callable[[float], str], days: list[datetime], day_words: Callable[[datetime], str],
) -> Markup:  # fmt: skip
    height = 230.0 if size.narrow else 300.0
    limits = [limit for limit in (sensor.low, sensor.high) if limit is not None]
    values = [value for run in runs for part in run for value in (part.low, part.high)]
    low, high = around([*values, *limits])
    across = Scale(low=0.0, high=(span[1] - span[0]).total_seconds(), start=LEFT, end=size.width - RIGHT)
    up = Scale(low=low, high=high, start=height - FOOT, end=TOP)

    def x(at: datetime) -> float:
        return across.at((at - span[0]).total_seconds())

    inside = []
    for value in round_figures(low, high, 5):
        inside.append(line(LEFT, up.at(value), size.width - RIGHT, up.at(value), "drawn-grid"))
        inside.append(words(figure(value), LEFT - 6, up.at(value) + 4, "drawn-soft", size=size.small, anchor="end"))
    most = 4 if size.narrow else 8
    for number, day in enumerate(days):
        inside.append(line(x(day), TOP, x(day), height - FOOT, "drawn-grid"))
        if number % max(1, -(-len(days) // most)) == 0 and x(day) < size.width - 50:
            inside.append(words(day_words(day), x(day) + 3, height - 10, "drawn-soft", size=size.small))
    for run in runs:
        band = [(x(part.middle), up.at(part.low)) for part in run]
        band += [(x(part.middle), up.at(part.high)) for part in reversed(run)]
        inside += [path(band, "drawn-band", closed=True), path(_at_least_a_dash(run, x, up), "drawn-curve")]
    for limit in limits:
        inside.append(line(LEFT, up.at(limit), size.width - RIGHT, up.at(limit), "drawn-mark strong"))
        inside.append(
            words(figure(limit), size.width - RIGHT, up.at(limit) - 5, "drawn-strong", size=size.small, anchor="end")
        )
    return drawing(size.width, height, inside, cls="drawn-svg")


def _at_least_a_dash(run: list[Part], x: Callable[[datetime], float], up: Scale) -> list[tuple[float, float]]:
    points = [(x(part.middle), up.at(part.mean)) for part in run]
    return points if len(points) > 1 else [(points[0][0] - 2, points[0][1]), (points[0][0] + 2, points[0][1])]
