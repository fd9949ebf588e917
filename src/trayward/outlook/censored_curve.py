"""What the trays of each group say of its place on a log axis, and the points over which to sum it.

The inside of `censored`: rows sorted by group, their joint chance at points of eta + v with its slopes, and for each
group the stretch that a sum over v must cover.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from trayward.errors import InputError
from trayward.outlook.normal import FAR, ROOT_TWO_PI, mass_within
from trayward.outlook.terms import Floats, Ints

BLOCK: Final = 4_000
"""Points worked on at once: few enough for a core's own memory."""


@dataclass(frozen=True)
class Intervals:
    """
    What rounds saw, one row for trays of a group seen alike; on a log axis.

    `group` (m,) counts from 0. `low` (m,) is the last look that said "not yet", -inf where nobody had looked; `high`
    (m,) the look that said it was over, inf while it is not; low == high: seen to the minute. `count` (m,) is how many
    trays.
    """

    group: Ints
    low: Floats
    high: Floats
    count: Floats | None = None

    def __post_init__(self) -> None:
        group = np.asarray(self.group, dtype=np.int64)
        low, high = np.asarray(self.low, dtype=np.float64), np.asarray(self.high, dtype=np.float64)
        count = np.ones(len(group)) if self.count is None else np.asarray(self.count, dtype=np.float64)
        for name, row in (("group", group), ("low", low), ("high", high), ("count", count)):
            if row.shape != group.shape or row.ndim != 1:
                raise InputError(f"intervals' {name}", row.shape, f"must be one row of {len(group)}")
            object.__setattr__(self, name, row)
        _require_rows("interval", (low <= high) & (low < math.inf) & (high > -math.inf), low, high)
        _require_rows("group", group >= 0, group)
        _require_rows("count", (count >= 0) & np.isfinite(count), count)


def _require_rows(name: str, fine: Any, *shown: Any) -> None:
    if not np.all(fine):
        at = int(np.argmin(fine))
        values = ", ".join(f"{row[at]:g}" for row in shown)
        rules = {"interval": "must have low <= high, with an end that was seen", "group": "must count from 0"}
        raise InputError(f"{name} in row {at}", values, rules.get(name, "must be a number at or above 0"))


# What is kept of each group -------------------------------------------------------------------------------------------

ROUGH: Final = 0.05
"""Least spread that a search begins with. [log d]"""
HALF: Final = math.log(2.0)
LEAN: Final = math.sqrt(2 / math.pi)
BEND: Final = 1 / math.pi
"""log Phi(-z) <= -HALF - LEAN z - BEND z^2 for z >= 0: value and slope at 0 are exact, and it bends at least this much
from there on, since the slope of the normal hazard, 2 BEND at 0, only grows."""
DROP: Final = 14.0
"""How far the log of the integrand has fallen where the sum over v ends; leaves out about 1e-6 of it."""
STRIDE: Final = 1.2
"""Distance of two points in standard deviations of the sharpest bend. A sum of equal steps misses a normal curve of
standard deviation t by 2 exp(-2 pi^2 t^2 / step^2), 2e-6 here."""
FEWEST, MOST = 8, 400


class Seen:
    """Rows sorted by group, like ones put together, and what bounds each group's v from either side."""

    def __init__(self, intervals: Intervals, groups: int) -> None:
        if len(intervals.group) and intervals.group.max() >= groups:
            raise InputError("group", int(intervals.group.max()), f"must be below the number of groups, {groups}")
        assert intervals.count is not None
        exact = intervals.low == intervals.high
        self.groups = groups
        self._keep_exact(intervals.group[exact], intervals.low[exact], intervals.count[exact])
        self._keep_rows(intervals.group[~exact], intervals.low[~exact], intervals.high[~exact], intervals.count[~exact])
        self._keep_edges()

    def _keep_exact(self, group: Ints, at: Floats, count: Floats) -> None:
        """Trays seen to the minute: their number, mean and sum of squares are all that matters."""
        self.exact = np.bincount(group, weights=count, minlength=self.groups)
        total = np.bincount(group, weights=count * at, minlength=self.groups)
        self.mean = total / np.maximum(self.exact, 1e-300)
        self.scatter = np.bincount(group, weights=count * (at - self.mean[group]) ** 2, minlength=self.groups)

    def _keep_rows(self, group: Ints, low: Floats, high: Floats, count: Floats) -> None:
        """Sort, merge like rows, and give every group at least one row, which says nothing."""
        every = np.arange(self.groups)
        group = np.concatenate([group, every])
        low = np.concatenate([np.maximum(low, -FAR), np.full(self.groups, -FAR)])
        high = np.concatenate([np.minimum(high, FAR), np.full(self.groups, FAR)])
        count = np.concatenate([count, np.zeros(self.groups)])
        # The row that says nothing comes last in its group, and is dropped where there is another.
        order = np.lexsort((high, low, count == 0, group))
        group, low, high, count = group[order], low[order], high[order], count[order]
        empty = (count == 0) & np.concatenate([[False], group[1:] == group[:-1]])
        same = np.concatenate([[False], (np.diff(group) == 0) & (np.diff(low) == 0) & (np.diff(high) == 0)])
        starts = np.flatnonzero(~same & ~empty)
        self.count = np.add.reduceat(count, starts) if len(starts) else count
        self.group, self.low, self.high = group[starts], low[starts], high[starts]
        self.first = np.searchsorted(self.group, every)
        self.rows = np.diff(np.append(self.first, len(self.group)))

    def _keep_edges(self) -> None:
        """The tightest edge on either side of each group, and how many trays share it."""
        if not self.groups:
            self.top = self.bottom = self.top_count = self.bottom_count = self.trays = np.zeros(0)
            return
        self.top = np.minimum.reduceat(self.high, self.first)
        self.bottom = np.maximum.reduceat(self.low, self.first)
        self.top_count = np.add.reduceat(self.count * (self.high == self.top[self.group]), self.first)
        self.bottom_count = np.add.reduceat(self.count * (self.low == self.bottom[self.group]), self.first)
        self.trays = np.add.reduceat(self.count, self.first)

    def rough(self) -> tuple[float, float]:
        """How far the middles of groups lie apart, and those of trays within a group; about, and above zero."""
        finite = (np.abs(self.low) < FAR) & (np.abs(self.high) < FAR) & (self.count > 0)
        group = np.concatenate([self.group[finite], np.flatnonzero(self.exact)])
        middle = np.concatenate([(self.low + self.high)[finite] / 2, self.mean[self.exact > 0]])
        count = np.concatenate([self.count[finite], self.exact[self.exact > 0]])
        if not len(group):
            return ROUGH, ROUGH
        number = np.maximum(np.bincount(group, weights=count, minlength=self.groups), 1e-300)
        mean = np.bincount(group, weights=count * middle, minlength=self.groups) / number
        squares = float(count @ np.square(middle - mean[group])) + float(self.scatter.sum())
        spare = float(count.sum()) - float((number >= 1).sum())
        between = float(np.std(mean[number >= 1])) if (number >= 1).any() else 0.0
        within = math.sqrt(squares / spare) if spare > 0 else 0.0
        return max(between, ROUGH), max(within, ROUGH / 2)

    def rows_of(self, chosen: Ints) -> tuple[Ints, Ints, Ints]:
        """For some groups: their rows, which of the groups each is of, and where each group's rows start."""
        lengths = self.rows[chosen]
        owner = np.repeat(np.arange(len(chosen)), lengths)
        starts = np.cumsum(lengths) - lengths
        return np.arange(len(owner)) + (self.first[chosen] - starts)[owner], owner, starts


@dataclass(frozen=True)
class Curve:
    """The log of what a group's trays say at points x of eta + v, its slopes in x and in the log of `own`; (k, q)."""

    log: Floats
    slope: Floats
    bend: Floats
    own_slope: Floats


def curve(seen: Seen, chosen: Ints, x: Floats, own: float) -> Curve:
    """What the trays of some groups, all of as many rows, say at points `x` (k, q)."""
    each = int(seen.rows[chosen[0]]) if len(chosen) else 1
    rows = seen.first[chosen] + np.arange(each)[:, None]
    parts = _by_row(seen, rows[..., None], x, seen.count[rows][..., None], own)
    return _with_exact(seen, chosen, x, own, Curve(*(part.sum(axis=0) if each > 1 else part[0] for part in parts)))


def _by_row(seen: Seen, rows: Ints, x: Floats, count: Floats, own: float) -> list[Floats]:
    """The parts of a `Curve` row by row."""
    above, below = (seen.high[rows] - x) / own, (x - seen.low[rows]) / own
    near, far = np.minimum(above, below), np.maximum(above, below)
    log, at_near, at_far = mass_within(near, far)
    edges = near * at_near + far * at_far
    # Where the upper edge is the nearer one, more x takes mass away.
    slope = np.copysign(1 / own, above - below) * (at_near - at_far)
    return [count * log, count * slope, -count * (edges / own**2 + slope * slope), -count * edges]


def _with_exact(seen: Seen, chosen: Ints, x: Floats, own: float, curve: Curve) -> Curve:
    """The same with the trays that were seen to the minute."""
    number = seen.exact[chosen, None]
    if not number.any():
        return curve
    off = seen.mean[chosen, None] - x
    squares = (number * off * off + seen.scatter[chosen, None]) / own**2
    return Curve(
        curve.log - 0.5 * squares - number * math.log(own * ROOT_TWO_PI),
        curve.slope + number * off / own**2,
        curve.bend - number / own**2,
        curve.own_slope + squares - number,
    )


# Where the points lie -------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Window:
    """Where eta + v of each group must lie, and how many points its sum takes; (J,)."""

    left: Floats
    right: Floats
    points: Ints


def window(seen: Seen, chosen: Ints, eta: Floats, shared: float, own: float, stride: float = STRIDE) -> Window:
    """
    The stretch of eta + v outside which the integrand has fallen by `DROP`, and the points that do it justice.

    Notes
    -----
    The trays of a sowing mostly share one interval, wider than `own`: v is then almost evenly spread over a box with
    soft edges, which Gauss and Hermite's points serve badly. Equal steps over the right stretch converge exponentially.
    The stretch comes in closed form from a curve that lies above the integrand: the normal of v (with what was seen to
    the minute), and beyond the tightest edges the bound of `BEND`.
    """
    precision = shared**-2.0 + seen.exact[chosen] / own**2
    centre = (eta * shared**-2.0 + seen.mean[chosen] * seen.exact[chosen] / own**2) / precision
    top, bottom = seen.top[chosen], seen.bottom[chosen]
    tops, bottoms = seen.top_count[chosen], seen.bottom_count[chosen]
    like = _likely(centre, precision, top, tops, bottom, bottoms, own)
    for _ in range(2):
        said, lean, bend = _said(seen, chosen, like, own)
        like = like + (lean - precision * (like - centre)) / (precision + bend)
    said, _, bend = _said(seen, chosen, like, own)
    reached = said - 0.5 * precision * (like - centre) ** 2 - DROP
    right = _reach(centre, precision, top, tops, own, reached)
    left = -_reach(-centre, precision, -bottom, bottoms, own, reached)
    sharpest = precision + np.maximum(_sharpness(seen.trays[chosen]) / own**2, bend)
    points = np.ceil((right - left) * np.sqrt(sharpest) / stride)
    return Window(left, right, np.clip(points, FEWEST, MOST).astype(np.int64))


def _said(seen: Seen, chosen: Ints, x: Floats, own: float) -> tuple[Floats, Floats, Floats]:
    """Log chance of the intervals of each group at one point each, its slope, and how it bends down."""
    rows, owner, starts = seen.rows_of(chosen)
    if not len(rows):
        return x, x, x
    said = _by_row(seen, rows, x[owner], seen.count[rows], own)
    log, slope, bend = (np.add.reduceat(part, starts) for part in said[:3])
    return log, slope, -bend


def _likely(
    centre: Floats, precision: Floats, top: Floats, tops: Floats, bottom: Floats, bottoms: Floats, own: float
) -> Floats:
    """About the likeliest eta + v: one Newton step of the bounding curve from the centre, kept near the box."""
    bend = 2 * BEND / own**2
    down, up = (centre > top) * tops, (centre < bottom) * bottoms
    # Where edges contradict each other both pull.
    down, up = np.where(top < bottom, tops, down), np.where(top < bottom, bottoms, up)
    pull = bend * (down * np.where(down > 0, top, 0.0) + up * np.where(up > 0, bottom, 0.0))
    lean = LEAN / own * (up - down)
    found = (precision * centre + pull + lean) / (precision + bend * (down + up))
    past = np.where((down > 0) & (up == 0), np.maximum(found, np.maximum(top - own, 0.5 * (top + bottom))), found)
    return np.where((up > 0) & (down == 0), np.minimum(past, np.minimum(bottom + own, 0.5 * (top + bottom))), past)


def _reach(centre: Floats, precision: Floats, edge: Floats, count: Floats, own: float, level: Floats) -> Floats:
    """How far right the bounding curve stays above `level`."""
    plain = centre + np.sqrt(-2 * level / precision)
    edge = np.minimum(edge, plain)  # An edge out of reach bounds nothing, and its square must not drown the rest.
    off = edge - centre
    start = 0.5 * precision * off * off + HALF * count + level
    a, b = 0.5 * precision + BEND * count / own**2, precision * off + LEAN * count / own
    square = b * b - 4 * a * start
    # No root: the curve is below the level from the edge on.
    beyond = (np.sqrt(np.maximum(square, 0.0)) - b) / (2 * a)
    return edge + np.where(square > 0, np.maximum(beyond, 0.0), 0.0)


def _sharpness(trays: Floats) -> Floats:
    """
    How sharply the soft edge of an interval that n trays share bends, in units of 1 / own^2.

    As sharp as the largest of n normal draws varies little. 1 + log n is a little more than one over their variance (6
    trays: 2.4, 50: 4.6; our own reckoning).
    """
    return np.asarray((1 + np.log(np.maximum(trays, 1.0))) * (trays > 0))


def batches(rows: Ints, points: Ints) -> Iterator[tuple[Ints, int]]:
    """Groups of as many rows that take about as many points, some at a time, with the number of points."""
    if not len(rows):
        return
    # In ratios of about 1.2: fewer batches, and the errors of the sums move less with what else is asked.
    rung = np.ceil(5 * np.log(points / FEWEST)).astype(np.int64)
    order = np.lexsort((rung, rows))
    kinds = rows[order] * 1000 + rung[order]
    for kind in np.split(order, np.flatnonzero(np.diff(kinds)) + 1):
        number = math.ceil(FEWEST * math.exp(rung[kind[0]] / 5))
        size = max(1, BLOCK // (number * int(rows[kind[0]])))
        for at in range(0, len(kind), size):
            yield kind[at : at + size], number


def spread_points(within: Window, some: Ints, number: int) -> tuple[Floats, Floats]:
    """Middles of `number` equal steps over each window (k, q), and the step (k,)."""
    step = (within.right[some] - within.left[some]) / number
    return within.left[some, None] + step[:, None] * (np.arange(number) + 0.5), step
