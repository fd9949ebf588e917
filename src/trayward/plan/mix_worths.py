"""What each part of a mix is worth by itself, by scenario, so that crops asked one by one prove much of whole mixes.

However the worth of a mix is shared out among its parts, crops that are asked one by one prove how good any plan can be
at most. How much that proves hangs on the shares: by weight it lets a crop be paid for parts that lie there alone. The
best shares are the prices of a linear model in which the parts are tied together: as much is met of one as of another.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from trayward.plan.crop_model import KILO, CropModel
from trayward.plan.days import Floats, Ints
from trayward.plan.model import Model, RowName
from trayward.plan.solve import Again
from trayward.plan.whole_rows import Rows

ALIKE = 1e-6
"""Amounts of a mix that differ by less are the same. [g]"""
ROUNDS = 8
"""So often rows that whole trays keep are added at most. [-]"""
LITTLE = 1e-4
"""A round that raises the cost by less than this share of all that is wanted is the last. [-]"""


class Tie(NamedTuple):
    """Rows that let no more of one part of a mix be met than of another."""

    rows: Ints
    """One for each scenario in which as much is wanted of both (r,)."""
    scenarios: Ints
    one: tuple[int, int]
    """The number of its crop's model, and its tier."""
    other: tuple[int, int]


def tie_mixes(joint: Model, models: Sequence[CropModel], first: Sequence[int]) -> list[Tie]:
    """
    Tie the parts of mixes together in a model that holds those of several crops.

    Parameters
    ----------
    first : sequence of int
        The number in the joint model of the first column of each crop's.
    """
    parts: dict[int, list[tuple[int, int]]] = {}
    for number, model in enumerate(models):
        for tier in np.flatnonzero(model.cut.mix >= 0).tolist():
            parts.setdefault(int(model.cut.mix[tier]), []).append((number, tier))
    return [_tie(joint, models, first, mix, one, other) for mix, (one, *others) in parts.items() for other in others]


def _tie(
    joint: Model,
    models: Sequence[CropModel],
    first: Sequence[int],
    mix: int,
    one: tuple[int, int],
    other: tuple[int, int],
) -> Tie:
    ends = [(models[number], first[number], tier) for number, tier in (one, other)]
    whole = [model.cut.amount[:, tier] / float(model.cut.share[tier]) for model, _, tier in ends]
    alike = np.flatnonzero(np.abs(whole[0] - whole[1]) < ALIKE)
    rows = joint.add_rows(np.zeros(len(alike)), np.zeros(len(alike)), [RowName("mix", "", mix)] * len(alike))
    for (model, at, tier), sign in zip(ends, (1.0, -1.0), strict=True):
        joint.add_entries(rows, at + model.met[alike, tier], sign / float(model.cut.share[tier]))
    return Tie(rows, alike, one, other)


class MixWorths:
    """
    The crops that are parts of mixes, in one linear model.

    Parameters
    ----------
    models : sequence of CropModel
        Of all crops, each with all scenarios.
    """

    def __init__(self, models: Sequence[CropModel]) -> None:
        self.models = [model for model in models if (model.cut.mix >= 0).any()]
        joint = Model()
        self._first, self._places = [], []
        for model in self.models:
            self._places.append([np.arange(joint.rows, joint.rows + model.model.rows)])
            self._first.append(joint.append(model.model, whole=False))
        self._ties = tie_mixes(joint, self.models, self._first)
        self._solver = Again(joint)
        for number, model in enumerate(self.models):
            for rows in model.found():
                self._add(number, rows)

    def share_out(self, charges: Sequence[Floats], late: Callable[[], bool]) -> None:
        """
        Give each crop's parts of mixes the worths at which the crops, asked one by one, prove most.

        Parameters
        ----------
        charges : sequence of array
            What each choice of each of `models` costs besides (n,). [currency]
        late : callable
            Whether time is up; what was found by then is taken.
        """
        for model, first, charge in zip(self.models, self._first, charges, strict=True):
            self._solver.set_costs(first + model.take, model.plot.choices.cost + charge)
        self._begin()
        self._solve(late)
        for model, worths in zip(self.models, self._worths(), strict=True):
            model.value_mixes(worths)

    def _begin(self) -> None:
        """Begin where the crops ended that were asked one by one: of all rows only the ties are broken there."""
        ended = zip(self.models, self._first, self._places, strict=True)
        self._solver.begin_where([(model.solver, first, np.concatenate(places)) for model, first, places in ended])

    def _solve(self, late: Callable[[], bool]) -> None:
        values, cost = self._solver.solve()
        for _ in range(ROUNDS):
            if late() or not self._tighten(values):
                return
            before = cost
            values, cost = self._solver.solve()
            if cost - before < LITTLE * sum(model.own_forgone for model in self.models):
                return

    def _tighten(self, values: Floats) -> bool:
        """Add the rows that an answer breaks, here and for the crops by themselves; whether there were any."""
        some = False
        for number, (model, first) in enumerate(zip(self.models, self._first, strict=True)):
            rows = model.broken(values[first : first + model.model.columns], deep=True)
            if len(rows.top):
                some = True
                self._add(number, rows)
                model.add(rows)
        return some

    def _add(self, number: int, rows: Rows) -> None:
        count, before = len(rows.top), self._solver.rows
        entries = self.models[number].entries_of(rows)
        self._solver.add_rows(np.full(count, -np.inf), rows.top, entries, self._first[number])
        self._places[number].append(np.arange(before, before + count))

    def _worths(self) -> list[Mapping[int, Floats]]:
        """Tier -> what a gram brings in each scenario, for each crop: its own worth, and what its ties are paid."""
        found = [
            {int(tier): np.full(model.scenarios, model.cut.worth[tier]) for tier in np.flatnonzero(model.cut.mix >= 0)}
            for model in self.models
        ]
        prices = self._solver.row_prices()
        for tie in self._ties:
            for (number, tier), sign in ((tie.one, 1.0), (tie.other, -1.0)):
                model = self.models[number]
                paid = sign * prices[tie.rows] / float(model.cut.share[tier])
                found[number][tier][tie.scenarios] += paid * model.scenarios * KILO
        return list(found)
