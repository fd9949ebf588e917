"""The best mix of what the crops have answered so far, and the prices of the limits at which no other mix is better.

Parts of each crop's answers that make one together cost what the answers cost, in parts, and take up what they take
up, in parts; going beyond a limit costs besides. The cheapest mix is a small linear model, and its prices are those to
ask the crops at next (Dantzig and Wolfe). What going beyond a limit on a day costs, over all scenarios, is put in by
tangents where a mix needs them: each counts the scenarios in which that mix goes beyond.

References
----------
Dantzig, G. B. and Wolfe, P. (1960). Decomposition principle for linear programs. Operations Research 8:101-111.
doi 10.1287/opre.8.1.101. (From memory.)
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from trayward.plan.days import Bools, Floats, Ints
from trayward.plan.model import Model, RowName
from trayward.plan.plots import Halves
from trayward.plan.solve import Again

PASSES = 20
"""So often tangents are added for one mix at most."""
CLOSE = 1e-3
"""A limit and day whose cost is known to within this needs no further tangent. [currency]"""


class Column(NamedTuple):
    """An answer of a crop: its trays, what they cost without charges, and what they take up of the limits."""

    crop: int
    take: Floats
    cost: float
    use: Floats
    """(limits, scenarios, days)"""


class Mixed(NamedTuple):
    """The best mix."""

    cost: float
    """What it costs, beyond the limits included. [currency]"""
    takes: list[Floats]
    """Parts of trays of each crop's choices."""
    price: Floats
    """(limits, scenarios, days)"""


class Mixing:
    """
    Answers of all crops, to be mixed.

    Parameters
    ----------
    has : array
        What there is of each limit; infinite where it has no end (limits, days).
    most : array
        What one unit beyond costs in one scenario (limits,). [currency]
    crops : int
        How many there are; each needs an answer before the first mix.
    scenarios : int
    """

    def __init__(self, has: Floats, most: Floats, crops: int, scenarios: int) -> None:
        self.finite = np.isfinite(has)
        self.has, self.most, self.crops, self.scenarios = np.where(self.finite, has, 0.0), most, crops, scenarios
        self.columns: list[Column] = []
        self._uses: Halves = np.zeros((0, len(has), scenarios, has.shape[1]), dtype=np.float32)
        self._place: Ints = np.zeros(0, dtype=np.int64)
        self._day: Ints = np.zeros(0, dtype=np.int64)
        self._inside: Bools = np.zeros((0, scenarios), dtype=bool)
        self._model = Model()
        self._model.add_rows(np.ones(crops), np.ones(crops), [RowName("mix", "", crop) for crop in range(crops)])
        beyond = self._model.add_columns(np.ones(has.size), 0.0, np.inf)
        self._beyond = beyond.reshape(has.shape)
        """The column of what going beyond a limit on a day costs (limits, days)."""
        self._solver = Again(self._model)

    def add(self, columns: Sequence[Column]) -> None:
        """Take in more answers."""
        uses: Halves = np.stack([column.use for column in columns]).astype(np.float32)
        entries = np.zeros((self.crops + len(self._place), len(columns)))
        entries[[column.crop for column in columns], np.arange(len(columns))] = 1.0
        entries[self.crops :] = -self._slopes(uses, slice(None)).T
        self._solver.add_columns(np.array([column.cost for column in columns]), entries)
        self.columns += columns
        self._uses = np.concatenate([self._uses, uses])

    def best(self) -> Mixed:
        """The cheapest mix of all answers so far, and its prices."""
        first = self._beyond.size
        for again in reversed(range(PASSES)):
            values, _ = self._solver.solve()
            part = values[first:]
            use = np.tensordot(part[part > 0], self._uses[part > 0].astype(float), axes=1)
            over = np.where(self.finite[:, None, :], use - self.has[:, None, :], 0.0)
            costs: Floats = np.maximum(over, 0.0).sum(axis=1) * self.most[:, None]
            place, day = np.nonzero(costs > values[self._beyond] + CLOSE)
            if not (len(place) and again):
                break
            self._add_tangents(place, day, over[place, :, day] > 0)
        own = float(part @ np.array([column.cost for column in self.columns]))
        return Mixed(own + float(costs.sum()), self._takes(part), self._prices())

    def _add_tangents(self, place: Ints, day: Ints, inside: Bools) -> None:
        begun = len(self._place)
        self._place, self._day = np.append(self._place, place), np.append(self._day, day)
        self._inside = np.concatenate([self._inside, inside])
        entries = np.zeros((len(place), self._beyond.size + len(self.columns)))
        entries[np.arange(len(place)), self._beyond[place, day]] = 1.0
        entries[:, self._beyond.size :] = -self._slopes(self._uses, slice(begun, None)).T
        top = self.most[place] * inside.sum(axis=1) * self.has[place, day]
        self._solver.add_rows(-top, np.full(len(place), np.inf), entries)

    def _slopes(self, uses: Halves, some: slice) -> Floats:
        """What answers add to some tangents (columns, tangents)."""
        place, day = self._place[some], self._day[some]
        inside = uses[:, place, :, day] * self._inside[some][:, None, :]
        slopes: Floats = self.most[place, None] * inside.sum(axis=2, dtype=float)
        return slopes.T

    def _takes(self, part: Floats) -> list[Floats]:
        found: list[Floats | None] = [None] * self.crops
        for share, column in zip(part, self.columns, strict=True):
            before = found[column.crop]
            found[column.crop] = share * column.take if before is None else before + share * column.take
        return [take for take in found if take is not None]

    def _prices(self) -> Floats:
        paid = np.maximum(self._solver.row_prices()[self.crops :], 0.0)
        price = np.zeros((len(self.has), self.has.shape[1], self.scenarios))
        np.add.at(price, (self._place, self._day), paid[:, None] * self._inside * self.most[self._place, None])
        most: Floats = self.most[:, None, None]
        found: Floats = np.minimum(price, most).transpose(0, 2, 1)
        return found
