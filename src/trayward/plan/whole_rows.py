"""Rows that hold a linear model to what whole trays can do, for due days in a row and one scenario.

What some due days in a row want and do not get, and what trays give them, is together at least what they want. A tray
gives them no more than its grams, and no more than those of the days want that it can serve. That row is divided by a
weight and rounded (mixed-integer rounding): whole trays keep it, parts of trays often do not. Divided by all that is
wanted, the row says the simplest of it: of a tray, no due days can take more than they ask for.

References
----------
Nemhauser, G. L. and Wolsey, L. A. (1990). A recursive procedure to generate all cuts for 0-1 mixed integer programs.
Mathematical Programming 46:379-390. doi 10.1007/BF01585752. (From memory.)
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from trayward.plan.days import Floats, Ints
from trayward.plan.plots import Halves

LONGEST = 8
"""Due days in a row that a row looks at. [-]"""
SHORT = 5
"""The same, where few rows are wanted. [-]"""
TRAYS = 4.0
"""Rows are for days that want at most so many of the heaviest trays. [-]"""
BROKEN = 1e-3
"""A row broken by less than this is left out. [100 g]"""
AT_ONCE = 400
"""So many rows are added at a time, those broken most. [-]"""
WEIGHTS = 10
"""A row is divided by all that is wanted, and by what each of so many trays gives. [-]"""
LEAST_PART = 0.02
"""A row that leaves less than this of a tray says nothing. [-]"""


class Rows(NamedTuple):
    """Rows: served on some due days <= top + sum of coefficient x trays."""

    span: Ints
    """Number of the due days in a row (r,)."""
    scenario: Ints
    top: Floats
    coefficient: Floats
    """(r, n)"""
    weight: Floats
    """What each was divided by: said again, the same row comes of it (r,). [100 g]"""


class Spans:
    """
    Due days in a row.

    Parameters
    ----------
    wanted : array
        What is wanted up to each due day, from nothing on (s, dues + 1). [100 g]
    grams : array
        What a tray of each choice gives, 0 where it serves no one (s, n). [100 g]
    first, last : array
        The due days it can serve (s, n).
    stock : sequence of (last due day, grams)
        What lies in the cold room. [100 g]
    """

    def __init__(self, wanted: Floats, grams: Floats, first: Ints, last: Ints, stock: list[tuple[int, float]]) -> None:
        dues, heaviest = wanted.shape[1] - 1, float(grams.max(initial=0.0))
        spans = [
            (begin, end)
            for begin in range(dues)
            for end in range(begin, min(dues, begin + LONGEST))
            if 0 < (wanted[:, end + 1] - wanted[:, begin]).min() < TRAYS * heaviest
        ]
        self.ends = np.array(spans, dtype=np.int64).reshape(-1, 2)
        """The first and the last due day (k, 2)."""
        self.wanted: Floats = (wanted[:, self.ends[:, 1] + 1] - wanted[:, self.ends[:, 0]]).T
        """(k, s) [100 g]"""
        length = self.ends[:, 1] - self.ends[:, 0]
        self.lesser = np.flatnonzero((length < SHORT) & (self.wanted.min(axis=1, initial=np.inf) < heaviest))
        """The spans that a tray may exceed, the short ones."""
        self.gives = _gives(self.ends, wanted, grams, first, last)
        """What a tray gives at most (k, s, n). [100 g]"""
        self.stock = _of_stock(self.ends, wanted, stock)
        """What the cold room gives at most (k, s). [100 g]"""

    def broken(self, served: Floats, take: Floats, *, deep: bool) -> Rows:
        """
        The rows that an answer breaks most, one for each span and scenario at most.

        Parameters
        ----------
        served : array
            On each due day (s, dues). [100 g]
        deep : bool
            Divide by the weights of the trays too, not only by all that is wanted.
        """
        if not len(self.ends):
            return _none(len(take))
        total = np.concatenate([np.zeros((len(served), 1)), np.cumsum(served, axis=1)], axis=1)
        unmet = self.wanted - (total[:, self.ends[:, 1] + 1] - total[:, self.ends[:, 0]]).T
        used = np.flatnonzero(take > 1e-6)
        gives, open_ = self.gives[:, :, used].astype(np.float64), self.wanted - self.stock
        worst, weight = np.full(open_.shape, BROKEN), np.ones(open_.shape)
        trays = np.argsort(-take[used])[: WEIGHTS if deep else 0]
        for by in (open_, *(gives[:, :, one] for one in trays)):
            over = _over(open_, by, gives, take[used]) - unmet
            more = over > worst
            worst, weight = np.where(more, over, worst), np.where(more, by, weight)
        span, scenario = np.nonzero(worst > BROKEN)
        order = np.argsort(-worst[span, scenario])[:AT_ONCE]
        return self.rows(span[order], scenario[order], weight[span[order], scenario[order]])

    def rows(self, span: Ints, scenario: Ints, weight: Floats) -> Rows:
        """The rows of some spans and scenarios, each divided by a weight (r,). [100 g]"""
        stock = self.stock[span, scenario]
        whole, part, scale = _parts(self.wanted[span, scenario] - stock, weight)
        steps = _steps(self.gives[span, scenario].astype(np.float64), weight[:, None], part[:, None])
        # Unmet is at least scale x (whole - steps x trays), and served is what is wanted less what is unmet.
        top = np.maximum(self.wanted[span, scenario] - scale * whole, 0.0)
        return Rows(span, scenario, top, scale[:, None] * steps, weight)


def _gives(ends: Ints, wanted: Floats, grams: Floats, first: Ints, last: Ints) -> Halves:
    scenarios, count = grams.shape
    found = np.zeros((len(ends), scenarios, count), dtype=np.float32)
    row, dues = np.arange(scenarios)[:, None], wanted.shape[1] - 1
    for number, (begin, end) in enumerate(ends):
        low, high = np.maximum(first, begin), np.minimum(last, end)
        inside = wanted[row, np.clip(high + 1, 0, dues)] - wanted[row, np.clip(low, 0, dues)]
        found[number] = np.minimum(grams, np.where(low <= high, inside, 0.0))
    return found


def _of_stock(ends: Ints, wanted: Floats, stock: list[tuple[int, float]]) -> Floats:
    found = np.zeros((len(ends), len(wanted)))
    for last, grams in stock:
        high = np.minimum(ends[:, 1], last)
        inside = wanted[:, high + 1] - wanted[:, ends[:, 0]]
        found += np.minimum(np.where(high >= ends[:, 0], inside, 0.0).T, grams)
    return found


def _parts(open_: Floats, weight: Floats) -> tuple[Floats, Floats, Floats]:
    """What is open in weights: rounded up, the part of a weight above whole ones, and that part in grams."""
    count = open_ / weight
    below = np.floor(count - 1e-7)
    part = np.minimum(count - below, 1.0)
    return below + 1.0, part, part * weight


def _steps(gives: Floats, weight: Floats, part: Floats) -> Floats:
    """How many whole weights a tray counts for, parts rounded up as far as they may."""
    count = gives / weight
    below = np.floor(count + 1e-6)
    steps: Floats = below + np.minimum(1.0, np.maximum(count - below, 0.0) / part)
    return steps


def _over(open_: Floats, by: Floats, gives: Floats, take: Floats) -> Floats:
    """How much at least stays unmet by the row divided by a weight, minus infinity where that says nothing (k, s)."""
    fine = (open_ > 1e-6) & (by > 1e-3)
    weight = np.where(fine, by, 1.0)
    whole, part, scale = _parts(np.where(fine, open_, 1.0), weight)
    fine &= (part > LEAST_PART) & (whole <= 2 * TRAYS)
    steps = _steps(gives, weight[..., None], np.where(fine, part, 1.0)[..., None])
    return np.where(fine, scale * (whole - steps @ take), -np.inf)


def _none(count: int) -> Rows:
    none = np.zeros(0, dtype=np.int64)
    return Rows(none, none, np.zeros(0), np.zeros((0, count)), np.zeros(0))
