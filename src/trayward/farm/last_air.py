"""The last readings of the air that belong together: temperature and humidity at one place, taken at one time."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from itertools import islice
from statistics import fmean
from typing import NamedTuple

from trayward.farm.places import shelf_of
from trayward.farm.state import FarmState, Reading, Tray

TOGETHER = timedelta(hours=2)
"""Readings further apart are of other air: our choice. [h]"""


class Air(NamedTuple):
    """Air at a place at one time. [°C], [%]"""

    at: datetime
    where: str
    temp_c: float
    humidity_pct: float


def last_air(state: FarmState, at: datetime, where: str = "") -> Air | None:
    """The newest air read up to a moment, at a place where one is named; None where nobody read both."""
    found = [air for air in airs(state, at) if not where or air.where.casefold() == where.strip().casefold()]
    return max(found, key=lambda air: air.at, default=None)


def airs(state: FarmState, at: datetime, since: datetime | None = None) -> Iterator[Air]:
    """The newest air of every place where both were read within two hours of each other, up to a moment."""
    warmth = {reading.where: reading for reading in last_of(state, "temperature", at, since)}
    for humidity in last_of(state, "humidity", at, since):
        warm = warmth.get(humidity.where)
        if warm is not None and abs(warm.at - humidity.at) <= TOGETHER:
            yield Air(max(warm.at, humidity.at), humidity.where, warm.value, humidity.value)


def last_of(state: FarmState, what: str, at: datetime, since: datetime | None = None) -> Iterable[Reading]:
    """The newest reading of a kind at every place, up to a moment, and from an earlier one on where that is named."""
    # The book is folded in the order of time, and a large farm has many readings.
    first = bisect_left(state.readings, since, key=_when) if since is not None else 0
    last = bisect_right(state.readings, at, key=_when)
    return {each.where: each for each in islice(state.readings, first, last) if each.what == what}.values()


def _when(reading: Reading) -> datetime:
    return reading.at


def readings_between(state: FarmState, since: datetime, until: datetime) -> list[Reading]:
    """Readings of every kind and place from one moment up to another, in the order they were taken."""
    first, last = bisect_left(state.readings, since, key=_when), bisect_right(state.readings, until, key=_when)
    return state.readings[first:last]


def air_near(state: FarmState, tray: Tray, what: str, since: datetime, until: datetime) -> float | None:
    """The mean of what was read in a time at the nearest of its spot, shelf, rack and room. [%], [C]"""
    return AirRead(state, what, since, until).near(tray, since, until)


class AirRead:
    """
    What was read of one kind in a time, by place: for asking about many trays. [%], [C]

    Parameters
    ----------
    state : FarmState
        The farm.
    what : str
        `temperature` or `humidity`.
    since, until : datetime
        The time that all that is asked lies in, both ends included.
    """

    def __init__(self, state: FarmState, what: str, since: datetime, until: datetime) -> None:
        self._state = state
        self._read: dict[str, tuple[list[datetime], list[float]]] = {}
        for each in readings_between(state, since, until):
            if each.what == what:
                times, values = self._read.setdefault(each.where.casefold(), ([], []))
                times.append(each.at)
                values.append(each.value)

    def near(self, tray: Tray, since: datetime, until: datetime) -> float | None:
        """The mean of what was read in a time at the nearest of a tray's spot, shelf, rack and room."""
        for place in _near(self._state, tray) if self._read else ():
            times, values = self._read.get(place.casefold(), ((), ()))
            here = values[bisect_left(times, since) : bisect_right(times, until)]
            if here:
                return fmean(here)
        return None


def _near(state: FarmState, tray: Tray) -> Iterator[str]:
    """Places whose air it stands in, the nearest first; at last those that were read without a place."""
    spot = tray.spot or tray.steps[-1].spot
    if spot:
        yield spot
        shelf = state.shelves.get(shelf_of(spot))
        if shelf is not None:
            yield from (shelf.name, shelf.rack, shelf.room)
    yield ""
