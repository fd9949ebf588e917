"""How little whole trays of one crop can cost at given prices: branch and bound.

Branching on single choices changes little, for a tray on Monday does nearly what one on Tuesday does. So it goes first
by how many trays are sown in all, then by how many up to each day, and by single choices last. Of the branches of a
crop the cheapest is looked at first; of the crops, the one whose bound last rose fastest for its time.
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
"""Branches of one crop looked at in a row. [-]"""
PASSES = 3
"""So often rows are added to a branch."""
WORTHWHILE = 0.02
"""Rows that raise a branch by less than this are no reason to look for more. [currency]"""
PART = 0.02
"""A number of trays this near to a whole one is whole. [-]"""
SINGLE = 1e-4


class Node(NamedTuple):
    """A branch: bounds on how many trays are sown up to each day (g,), and on each choice (n,)."""

    bound: float
    number: int
    """Tells equal ones apart."""
    least: Floats
    most: Floats
    lower: Floats
    upper: Floats


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

    def work(self, late: Callable[[], bool] = lambda: False) -> None:
        """Look at some branches, and raise the bound."""
        began, before = perf_counter(), self.bound
        self.model.solver.set_costs(self.model.take, self.model.plot.choices.cost + self.charge)
        if self.nodes == 0:
            self._start()
        for _ in range(NODES):
            if not (self.done or late()):
                self._next()
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
        self._heap = [Node(-np.inf, next(self._number), -free, free, np.zeros(len(upper)), upper)]

    def _free(self) -> None:
        """Take the branches' bounds away again."""
        free, upper = np.full(len(self._rows), np.inf), self.model.plot.choices.upper
        self.model.solver.set_row_bounds(self._rows, -free, free)
        self.model.solver.set_bounds(self.model.take, np.zeros(len(upper)), upper)

    def _next(self) -> None:
        node = heapq.heappop(self._heap)
        answer = self._solved(node)
        self.nodes += 1
        if answer is not None:
            take, cost = answer
            branches = self._branches(node, take, max(cost, node.bound))
            if not branches:
                self._best = min(self._best, cost)
            for branch in branches:
                heapq.heappush(self._heap, branch)
        cheapest = min(self._best, self._heap[0].bound if self._heap else np.inf)
        self.bound = max(self.bound, cheapest) if np.isfinite(cheapest) else self.bound
        self.done = not self._heap or self._heap[0].bound >= self._best

    def _solved(self, node: Node) -> tuple[Floats, float] | None:
        """Trays and cost of a branch, with the rows that whole trays keep; None where there are no such trays."""
        solver, take = self.model.solver, self.model.take
        solver.set_row_bounds(self._rows, node.least, node.most)
        solver.set_bounds(take, node.lower, node.upper)
        answer = solver.solve_if_any()
        for _ in range(PASSES):
            if answer is None or not self.model.tighten(answer[0], deep=True):
                break
            before, answer = answer[1], solver.solve_if_any()
            if answer is None or answer[1] - before < WORTHWHILE:
                break
        return None if answer is None else (answer[0][take], answer[1])

    def _branches(self, node: Node, take: Floats, cost: float) -> list[Node]:
        sums = self.groups @ take
        part = np.abs(sums - np.rint(sums))
        if len(part) and part.max() > PART:
            at = 0 if part[0] > PART else int(np.argmax(part))
            most, least = node.most.copy(), node.least.copy()
            most[at], least[at] = np.floor(sums[at]), np.floor(sums[at]) + 1
            few = node._replace(bound=cost, number=next(self._number), most=most)
            return [few, node._replace(bound=cost, number=next(self._number), least=least)]
        single = np.abs(take - np.rint(take))
        one = int(np.argmax(single))
        if single[one] <= SINGLE:
            return []
        upper, lower = node.upper.copy(), node.lower.copy()
        upper[one], lower[one] = np.floor(take[one]), np.floor(take[one]) + 1
        few = node._replace(bound=cost, number=next(self._number), upper=upper)
        return [few, node._replace(bound=cost, number=next(self._number), lower=lower)]


def raise_together(
    hands: Hands, crops: Sequence[WholeTrays], late: Callable[[], bool], enough: Callable[[], float]
) -> None:
    """Raise the bounds of crops until their sum is enough, all are whole, or time is up."""
    while not late():
        open_ = sorted((crop for crop in crops if not crop.done), key=lambda crop: -crop.rate)[: hands.count()]
        if not open_ or sum(crop.bound for crop in crops) >= enough():
            return
        hands.each(lambda crop: crop.work(late), open_)
