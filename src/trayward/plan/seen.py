"""On which walk it is seen that trays go on, and what that makes of the days they stand in a place or are cut on.

Trays are turned on the walks of the day: on the first, before the morning's cutting and sowing, or on a later one. So a
place in the dark is taken or free by day, when trays are sown, or only from the evening on.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import NamedTuple

import numpy as np

from trayward.farm.calendar import day_start, local_day, rounds_of
from trayward.farm.settings import FarmSettings
from trayward.plan.days import Floats, Ints

DAY = timedelta(days=1)
SOWN_AFTER = 0.12
"""A morning's sowing is done about so long after the day's first walk begins. [d]"""
EVENING_AFTER = 0.014
"""An evening's sowing is done about so long after the day's last walk begins. [d]"""
AT_ONCE = 5e-3
"""What is over so shortly after a walk begins is seen on it: a walk takes some minutes. [d]"""


class Clock(NamedTuple):
    """Hours of a farm's day, from its midnight. [d]"""

    now: float
    first: float
    """When the first walk begins."""
    sowing: float
    """When the morning's sowing is done."""
    last: float
    """When the last walk begins; the first where there is but one."""

    @property
    def evening(self) -> float:
        """When the evening's sowing is done, of what found no place in the morning."""
        return self.last + EVENING_AFTER


def clock_of(settings: FarmSettings, at: datetime) -> Clock:
    """The hours of the day of a moment on a farm."""
    day = local_day(at, settings)
    walks = [(walk - day_start(day, settings)) / DAY for walk, _ in rounds_of(day, settings)]
    return Clock((at - day_start(day, settings)) / DAY, walks[0], walks[0] + SOWN_AFTER, walks[-1])


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


def seen_late(ends: Floats, day: Ints, clock: Clock) -> Ints:
    """1 where that is seen on a later walk of its day than the first, 0 where on the first, or now already."""
    late = (ends - day > clock.first + AT_ONCE) & (ends > clock.now + AT_ONCE)
    return late.astype(np.int64)
