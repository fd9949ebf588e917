"""The days of a plan, counted from its first: which are worked, and when work that falls on a day off is done."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from trayward.farm.calendar import work_minutes
from trayward.farm.settings import FarmSettings

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

TAIL = 60
"""Days looked at beyond the last, for washing up after it. [d]"""


class Days:
    """Days 0 to `count` - 1 of a plan, with a tail for what reaches beyond them."""

    def __init__(self, settings: FarmSettings, first: date, count: int) -> None:
        self.first, self.count = first, count
        whole = count + TAIL
        self.minutes: Floats = np.array([work_minutes(settings, self.day(index)) for index in range(whole)])
        self.open: Bools = self.minutes > 0
        index = np.arange(whole)
        after = np.where(self.open, index, whole)
        self._next: Ints = np.minimum.accumulate(after[::-1])[::-1]
        self._last: Ints = np.maximum.accumulate(np.where(self.open, index, -1))

    def day(self, index: int) -> date:
        """The date of a day."""
        return self.first + timedelta(days=int(index))

    def index(self, day: date) -> int:
        """The number of a date; below 0 before the plan."""
        return (day - self.first).days

    def next_open(self, index: Ints) -> Ints:
        """The first working day on or after each day; far beyond the plan where there is none."""
        return self._next[np.clip(index, 0, len(self._next) - 1)]

    def last_opens(self, index: Ints) -> Ints:
        """The last working day up to and with each day; -1 where there is none."""
        return self._last[np.clip(index, 0, len(self._last) - 1)]

    def last_open(self, index: int) -> int:
        """The last working day up to and with a day; -1 where there is none."""
        return int(self._last[index]) if index >= 0 else -1
