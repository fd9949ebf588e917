"""What accounts read of the whole book, read once and followed from then on: when trays left, which lines went out.

A large farm's book holds a hundred thousand trays and tens of thousands of deliveries, and most entries add none.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Set as AbstractSet
from datetime import datetime
from typing import NamedTuple

from trayward.farm.bills import DeliveryMade
from trayward.farm.fresh import Fresh
from trayward.farm.state import FarmState, Tray
from trayward.money.sold import source_of


class Left(NamedTuple):
    """A tray that is done with: when it left, and the how manyth it was to be done with."""

    at: datetime
    number: int
    tray: str


class TraysLeft:
    """Trays that are done with, by when they left."""

    def __init__(self) -> None:
        self._fresh: Fresh[Tray] = Fresh()
        self._left: list[Left] = []
        self._count = 0

    def since(self, state: FarmState, begin: datetime) -> list[Tray]:
        """Those that left at a moment or later, in the order the state has them in."""
        anew, trays = self._fresh.of(state.ended)
        found = [] if anew else self._left
        self._count = 0 if anew else self._count
        for tray in trays:
            if tray.ended_at is not None:
                # Nearly in order: what left last is done with among the last.
                insort(found, Left(tray.ended_at, self._count, tray.tray), key=_when)
            self._count += 1
        self._left = found
        late = found[bisect_left(found, begin, key=lambda each: each.at) :]
        return [state.ended[each.tray] for each in sorted(late, key=lambda each: each.number)]


def _when(left: Left) -> tuple[datetime, int]:
    return left.at, left.number


class Sources:
    """What went out, by the names that invoices call it by."""

    def __init__(self) -> None:
        self._fresh: Fresh[DeliveryMade] = Fresh()
        self._there: set[str] = set()

    def of(self, state: FarmState) -> AbstractSet[str]:
        """`ENTRY:LINE` of every delivered line that stands."""
        anew, deliveries = self._fresh.of(state.deliveries)
        if anew:
            self._there = set()
        for delivery in deliveries:
            self._there.update(source_of(delivery.entry, line.line) for line in delivery.lines)
        return self._there
