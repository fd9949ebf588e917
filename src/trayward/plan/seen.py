"""On which day a tray is seen to be ready: on one of the day's walks, and its window runs from then on."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import NamedTuple

import numpy as np

from trayward.farm.calendar import day_start, local_day, rounds_of
from trayward.farm.settings import FarmSettings
from trayward.plan.days import Floats, Ints

DAY = timedelta(days=1)
SOWN_AFTER = 0.12
"""A day's sowing is done about so long after its first walk begins. [d]"""
AT_ONCE = 5e-3
"""What is over so shortly after a walk begins is seen on it. [d]"""


class Clock(NamedTuple):
    """Hours of a farm's day, from its midnight. [d]"""

    now: float
    sowing: float
    last: float
    """When the last walk begins."""


def clock_of(settings: FarmSettings, at: datetime) -> Clock:
    """The hours of the day of a moment on a farm."""
    day = local_day(at, settings)
    walks = [(walk - day_start(day, settings)) / DAY for walk, _ in rounds_of(day, settings)]
    return Clock((at - day_start(day, settings)) / DAY, walks[0] + SOWN_AFTER, walks[-1])


def day_seen(ends: Floats, clock: Clock) -> Ints:
    """
    The day on whose walks it is seen that something is over; after the last walk it is the next.

    Parameters
    ----------
    ends : array
        When it is over, from the midnight before the plan. [d]
    clock : Clock
        The hours of the farm's day.
    """
    return np.ceil(ends - clock.last - AT_ONCE).astype(np.int64)
