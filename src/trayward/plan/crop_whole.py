"""How little whole trays of one crop can cost at given prices: branch and bound.

Branching on single choices changes little, for a tray on Monday does nearly what one on Tuesday does. So it goes first
by how many trays are sown in all, then by how many up to each day, and by single choices last. Of the days the one is
taken that promises to raise both branches most, by what it raised before (pseudo-costs). Of the branches of a crop the
cheapest is taken apart first, and both its parts are solved at once, while the solver stands near by; of the crops, the
one whose bound last rose fastest for its time.

References
----------
Achterberg, T., Koch, T. and Martin, A. (2005). Branching rules revisited. Operations Research Letters 33:42-54.
doi 10.1016/j.orl.2004.04.002. (From memory.)
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Sequence
from itertools import count
from time import perf_counter
from typing import NamedTuple

import numpy as np

from trayward.plan.crop_model import CropModel
from trayward.plan.days import Floats, Ints
from trayward.plan.hands import Hands

NODES = 6
"""Branches of one crop taken apart in a row. [-]"""
PASSES = 3
"""So often rows are added to a branch."""
WORTHWHILE = 0.02
"""Rows that raise a branch by less than this are no reason to look for more. [currency]"""
PART = 0.02
"""A number of trays this near to a whole one is whole. [-]"""
SINGLE = 1e-4
LEAST = 1e-4
"""A branch promises at least so much, or a day that raises one side alone would never be taken. [currency]"""


class Ends(NamedTuple):
    """A branch: bounds on how many trays are sown up to each day (g,), and on each choice (n,)."""

    least: Floats
    most: Floats
    lower: Floats
    upper: Floats


class Node(NamedTuple):
    """A branch that was looked at, with parts of trays left in it; the cheapest sorts first."""

    bound: float
    number: int
    """Tells equal ones apart."""
    limits: Ends
    take: Floats


class Raised:
    """How much a bound rose for each tray's part that branching on a group of trays took away or added."""

    def __init__(self, groups: int) -> None:
        self._sum, self._count = np.zeros((2, groups)), np.zeros((2, groups))

    def seen(self, group: int, up: int, gain: float, part: float) -> None:
        """Learn what a branch was worth: rounding down (0) or up (1) by a part of a tray."""
        self._sum[up, group] += max(0.0, gain) / max(part, PART)
        self._count[up, group] += 1

    def promises(self, part: Floats) -> Floats:
        """How much branching on each group is likely to raise both branches, from the parts above whole trays (g,)."""
        known = self._count.sum(axis=1)
        usual = np.where(known > 0, self._sum.sum(axis=1) / np.maximum(known, 1), 1.0)[:, None]
        each = np.where(self._count > 0, self._sum / np.maximum(self._count, 1), usual)
        found: Floats = np.maximum(each[0] * part, LEAST) * np.maximum(each[1] * (1 - part), LEAST)
        return found


class WholeTrays:
    """
    One crop at given charges.

    Parameters
    ----------
    model : CropModel
        Asked before; rows are added to it that are free of effect once this is done.
    charge : array
        What each choice costs besides (n,). [currency]
    bound : float
        What no trays cost less than, whole or not. [currency]
    """

    def __init__(self, model: CropModel, charge: Floats, bound: float = -np.inf) -> None:
        self.model, self.charge = model, charge
        choices = model.plot.choices
        sown = choices.way >= 0
        days = np.unique(choices.sow[sown])[::-1]
        self.groups = np.stack([sown & (choices.sow <= day) for day in days]) if len(days) else np.zeros((0, len(sown)))
        self.bound = bound
        """No whole trays cost less. [currency]"""
        self.done, self.rate, self.nodes = False, np.inf, 0
        self._best = np.inf
        self._heap: list[Node] = []
        self._number = count()
        self._rows: Ints = np.zeros(0, dtype=np.int64)
        self._raised = Raised(len(self.groups))

    def work(self, late: Callable[[], bool] = lambda: False) -> None:
        """Look at some branches, and raise the bound."""
        began, before = perf_counter(), self.bound
        self.model.solver.set_costs(self.model.take, self.model.plot.choices.cost + self.charge)
        if self.nodes == 0:
            self._start()
        for _ in range(NODES):
            if not (self.done or late()):
                self._branch()
        self._free()
        if np.isfinite(before):
            self.rate = (self.bound - before) / max(perf_counter() - began, 1e-6)

    def _start(self) -> None:
        solver, groups = self.model.solver, len(self.groups)
        entries = np.zeros((groups, self.model.model.columns))
        entries[:, self.model.take] = self.groups
        first = solver.rows
        free = np.full(groups, np.inf)
        solver.add_rows(-free, free, entries)
        self._rows = np.arange(first, first + groups)
        upper = self.model.plot.choices.upper
        self._look_at(Ends(-free, free, np.zeros(len(upper)), upper), -np.inf)
        self._raise()

    def _free(self) -> None:
        """Take the branches' bounds away again."""
        free, upper = np.full(len(self._rows), np.inf), self.model.plot.choices.upper
        self.model.solver.set_row_bounds(self._rows, -free, free)
        self.model.solver.set_bounds(self.model.take, np.zeros(len(upper)), upper)

    def _branch(self) -> None:
        """Look at both branches of the cheapest."""
        node = heapq.heappop(self._heap)
        sums = self.groups @ node.take
        part = sums - np.floor(sums)
        at = self._group_of(part)
        for up, limits in enumerate(self._halves(node, at, sums)):
            cost = self._look_at(limits, node.bound)
            if at is not None and cost is not None:
                self._raised.seen(at, up, cost - node.bound, part[at] if up == 0 else 1 - part[at])
        self._raise()

    def _group_of(self, part: Floats) -> int | None:
        """The group to branch on: all that is sown first; none where all are whole."""
        broken = np.minimum(part, 1 - part) > PART
        if not broken.any():
            return None
        return 0 if broken[0] else int(np.argmax(np.where(broken, self._raised.promises(part), -np.inf)))

    def _halves(self, node: Node, at: int | None, sums: Floats) -> tuple[Ends, Ends]:
        least, most, lower, upper = (bounds.copy() for bounds in node.limits)
        if at is not None:
            most[at], least[at] = np.floor(sums[at]), np.floor(sums[at]) + 1
        else:
            one = int(np.argmax(np.abs(node.take - np.rint(node.take))))
            upper[one], lower[one] = np.floor(node.take[one]), np.floor(node.take[one]) + 1
        return node.limits._replace(most=most, upper=upper), node.limits._replace(least=least, lower=lower)

    def _look_at(self, limits: Ends, bound: float) -> float | None:
        """Solve a branch and keep it if it may hold the best; what it costs, None where there are no such trays."""
        answer = self._solved(limits)
        self.nodes += 1
        if answer is None:
            return None
        take, cost = answer[0], max(answer[1], bound)
        sums = self.groups @ take
        if (
            np.abs(sums - np.rint(sums)).max(initial=0.0) <= PART
            and np.abs(take - np.rint(take)).max(initial=0.0) <= SINGLE
        ):
            self._best = min(self._best, cost)
        elif cost < self._best:
            heapq.heappush(self._heap, Node(cost, next(self._number), limits, take))
        return cost

    def _raise(self) -> None:
        cheapest = min(self._best, self._heap[0].bound if self._heap else np.inf)
        self.bound = max(self.bound, cheapest) if np.isfinite(cheapest) else self.bound
        self.done = not self._heap or self._heap[0].bound >= self._best

    def _solved(self, limits: Ends) -> tuple[Floats, float] | None:
        """Trays and cost of a branch, with the rows that whole trays keep; None where there are no such trays."""
        solver, take = self.model.solver, self.model.take
        solver.set_row_bounds(self._rows, limits.least, limits.most)
        solver.set_bounds(take, limits.lower, limits.upper)
        answer = solver.solve_if_any()
        for _ in range(PASSES):
            if answer is None or not self.model.tighten(answer[0], deep=True):
                break
            before, answer = answer[1], solver.solve_if_any()
            if answer is None or answer[1] - before < WORTHWHILE:
                break
        return None if answer is None else (answer[0][take], answer[1])


def raise_together(
    hands: Hands, crops: Sequence[WholeTrays], late: Callable[[], bool], enough: Callable[[], float]
) -> None:
    """Raise the bounds of crops until their sum is enough, all are whole, or time is up."""
    while not late():
        open_ = sorted((crop for crop in crops if not crop.done), key=lambda crop: -crop.rate)[: hands.count()]
        if not open_ or sum(crop.bound for crop in crops) >= enough():
            return
        hands.each(lambda crop: crop.work(late), open_)
