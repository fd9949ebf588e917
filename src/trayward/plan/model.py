"""A mixed-integer model that knows no solver: columns with cost and bounds, rows with limits, and their entries."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from trayward.plan.days import Bools, Floats, Ints


class RowName(NamedTuple):
    """What a row stands for."""

    kind: str
    """`limit`, `seed`, `supply`, `keep`, `live` or `standing`."""
    name: str
    day: int


class Model:
    """Minimise cost x values + offset within the bounds of columns and rows. Grows block by block."""

    def __init__(self) -> None:
        self.columns, self.rows, self.offset = 0, 0, 0.0
        self.names: list[RowName] = []
        self._columns: list[tuple[Floats, Floats, Floats, Bools]] = []
        self._bounds: list[tuple[Floats, Floats]] = []
        self._entries: list[tuple[Ints, Ints, Floats]] = []

    def add_columns(self, cost: Floats, lower: Floats | float, upper: Floats | float, *, whole: bool = False) -> Ints:
        """Add columns; gives their numbers."""
        count = len(cost)
        spread = [np.broadcast_to(np.asarray(bound, dtype=float), count) for bound in (lower, upper)]
        self._columns.append((np.asarray(cost, dtype=float), spread[0], spread[1], np.full(count, whole)))
        self.columns += count
        return np.arange(self.columns - count, self.columns, dtype=np.int64)

    def add_rows(self, lower: Floats, upper: Floats, names: list[RowName]) -> Ints:
        """Add rows without entries; gives their numbers."""
        self._bounds.append((np.asarray(lower, dtype=float), np.asarray(upper, dtype=float)))
        self.names += names
        self.rows += len(names)
        return np.arange(self.rows - len(names), self.rows, dtype=np.int64)

    def add_entries(self, row: Ints, column: Ints, value: Floats | float) -> None:
        """Add `value` where each row meets each column; entries in the same place add up."""
        row, column, spread = np.broadcast_arrays(row, column, np.asarray(value, dtype=float))
        self._entries.append((row.ravel(), column.ravel(), spread.ravel()))

    def append(self, other: Model, *, whole: bool = True) -> int:
        """Put another model beside this one; gives the number its first column has here. `whole`: as it says."""
        first, row = self.columns, self.rows
        self._columns += [(cost, low, high, kinds & whole) for cost, low, high, kinds in other._columns]
        self._bounds += other._bounds
        self._entries += [(rows + row, columns + first, value) for rows, columns, value in other._entries]
        self.names += other.names
        self.columns, self.rows = first + other.columns, row + other.rows
        self.offset += other.offset
        return first

    @property
    def cost(self) -> Floats:
        """Cost of one unit of each column."""
        return _joined([block[0] for block in self._columns])

    @property
    def lower(self) -> Floats:
        """Least value of each column."""
        return _joined([block[1] for block in self._columns])

    @property
    def upper(self) -> Floats:
        """Greatest value of each column."""
        return _joined([block[2] for block in self._columns])

    @property
    def whole(self) -> Bools:
        """Which columns take whole numbers only."""
        return np.concatenate([block[3] for block in self._columns]) if self._columns else np.zeros(0, dtype=bool)

    @property
    def row_lower(self) -> Floats:
        """Least value of each row."""
        return _joined([block[0] for block in self._bounds])

    @property
    def row_upper(self) -> Floats:
        """Greatest value of each row."""
        return _joined([block[1] for block in self._bounds])

    def loosen(self) -> None:
        """Let every column take any value, not only whole numbers."""
        self._columns = [(cost, low, high, np.zeros_like(whole)) for cost, low, high, whole in self._columns]

    def by_row(self) -> tuple[Ints, Ints, Floats]:
        """The entries row after row: where each row starts, the column and the value of each entry; sums, no zeros."""
        if not self._entries:
            return np.zeros(self.rows + 1, dtype=np.int32), np.zeros(0, dtype=np.int32), np.zeros(0)
        row, column, value = (np.concatenate([block[part] for block in self._entries]) for part in range(3))
        place, where = np.unique(row * np.int64(self.columns) + column, return_inverse=True)
        summed = np.bincount(where, weights=value, minlength=len(place))
        place, summed = place[summed != 0], summed[summed != 0]
        counts = np.bincount(place // self.columns, minlength=self.rows)
        start = np.concatenate([[0], np.cumsum(counts)])
        return start.astype(np.int32), (place % self.columns).astype(np.int32), summed

    def activity(self, values: Floats) -> Floats:
        """The value of each row at these values of the columns."""
        start, column, value = self.by_row()
        row = np.repeat(np.arange(self.rows), np.diff(start))
        return np.bincount(row, weights=value * values[column], minlength=self.rows).astype(float)


def _joined(blocks: Sequence[Floats]) -> Floats:
    return np.concatenate(blocks) if blocks else np.zeros(0)
