"""The last readings of the air that belong together: temperature and humidity at one place, taken at one time."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import NamedTuple

from trayward.farm.state import FarmState, Reading

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


def airs(state: FarmState, at: datetime) -> Iterator[Air]:
    """The newest air of every place where both were read within two hours of each other, up to a moment."""
    last: dict[tuple[str, str], Reading] = {}
    for reading in state.readings:
        if reading.what not in ("temperature", "humidity") or reading.at > at:
            continue
        before = last.get((reading.where, reading.what))
        if before is None or reading.at >= before.at:
            last[reading.where, reading.what] = reading
    for (where, what), humidity in last.items():
        warm = last.get((where, "temperature")) if what == "humidity" else None
        if warm is not None and abs(warm.at - humidity.at) <= TOGETHER:
            yield Air(max(warm.at, humidity.at), where, warm.value, humidity.value)
