"""Stage times seen only at rounds: between two looks, not over yet, or to the minute.

On a log axis a tray of a group says low < eta + v + e <= high. The group's own share v (a sowing is early or late as a
whole) is normal with standard deviation `shared`; e, normal with `own`, is the tray's alone. Here v is integrated out, group
by group, and drawn for groups that still stand.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from trayward.errors import InputError
from trayward.outlook.latent_mode import Told
from trayward.outlook.normal import FAR, ROOT_TWO_PI, mass_within, truncated_quantile
from trayward.outlook.terms import Floats, Ints, SdPrior

BLOCK: Final = 4_000
"""Points worked on at once: few enough for a core's own memory."""


@dataclass(frozen=True)
class Intervals:
    """
    What rounds saw, one row for trays of a group seen alike; on a log axis.

    `group` (m,) counts from 0. `low` (m,) is the last look that said "not yet", -inf where nobody had looked; `high` (m,)
    the look that said it was over, inf while it is not; low == high: seen to the minute. `count` (m,) is how many trays.
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
    The trays of a sowing mostly share one interval, wider than `own`: v is then almost evenly spread over a box with soft
    edges, which Gauss and Hermite's points serve badly. Equal steps over the right stretch converge exponentially. The
    stretch comes in closed form from a curve that lies above the integrand: the normal of v (with what was seen to the
    minute), and beyond the tightest edges the bound of `BEND`.
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


# The likelihood -------------------------------------------------------------------------------------------------------


class IntervalLikelihood:
    """
    What rounds saw, as a `Likelihood` of `latent.fit_latent`.

    Parameters
    ----------
    intervals : Intervals
    groups : int
        How many groups there are; one without a row says nothing.
    priors : tuple of SdPrior or None
        What is believed of the standard deviation that a group shares, and of a tray's own.
    known_shared : float, optional
        The shared standard deviation where it is not to be searched; 0: none. Then `inner` is the tray's own alone.
    """

    def __init__(
        self,
        intervals: Intervals,
        groups: int,
        priors: tuple[SdPrior | None, SdPrior | None] = (None, None),
        *,
        known_shared: float | None = None,
    ) -> None:
        self.intervals = intervals
        self.seen = Seen(intervals, groups)
        self.groups = groups
        self.known_shared = known_shared
        self.inner: tuple[SdPrior | None, ...] = priors if known_shared is None else priors[1:]

    @property
    def guess(self) -> tuple[float, ...]:
        """Half the spread of the groups' middles for what they share; how far trays' middles lie from their group's."""
        between, within = self.seen.rough()
        return (between / 2, within)[-len(self.inner) :]

    def some(self, groups: Ints) -> IntervalLikelihood:
        """What was seen of some of the groups, numbered anew."""
        number = np.full(self.groups, -1)
        number[groups] = np.arange(len(groups))
        kept = self.intervals
        assert kept.count is not None
        rows = number[kept.group] >= 0
        part = Intervals(number[kept.group[rows]], kept.low[rows], kept.high[rows], kept.count[rows])
        priors = (self.inner * 2)[:2]
        return IntervalLikelihood(part, len(groups), (priors[0], priors[1]), known_shared=self.known_shared)

    def spreads(self, inner: Floats) -> tuple[float, float]:
        """The shared and the own standard deviation out of `inner`."""
        return (self.known_shared, float(inner[0])) if self.known_shared is not None else (inner[0], float(inner[1]))

    def told(self, eta: Floats, inner: Floats) -> Told:
        """Log likelihood of each group, its slopes and curvature; v is summed over by equal steps."""
        shared, own = self.spreads(inner)
        loglik, slope, curvature, own_slope = (np.empty(self.groups) for _ in range(4))
        if shared == 0:
            for some, _ in batches(self.seen.rows, np.full(self.groups, FEWEST)):
                sure = curve(self.seen, some, eta[some, None], own)
                loglik[some], slope[some], curvature[some] = sure.log[:, 0], sure.slope[:, 0], -sure.bend[:, 0]
                own_slope[some] = sure.own_slope[:, 0]
            return self._told(loglik, slope, curvature, 0.0, own_slope)
        within = window(self.seen, np.arange(self.groups), eta, shared, own)
        for some, number in batches(self.seen.rows, within.points):
            x, step = spread_points(within, some, number)
            said = curve(self.seen, some, x, own)
            share, top, total = weigh(said.log, x, eta[some], shared)
            loglik[some] = top + np.log(total * step / (shared * ROOT_TWO_PI))
            slope[some] = lean = np.einsum("ij,ij->i", share, said.slope)
            bend = np.einsum("ij,ij->i", share, said.bend + said.slope * said.slope)
            curvature[some] = lean * lean - bend
            own_slope[some] = np.einsum("ij,ij->i", share, said.own_slope)
        return self._told(loglik, slope, curvature, shared, own_slope)

    def _told(self, loglik: Floats, slope: Floats, curvature: Floats, shared: float, own_slope: Floats) -> Told:
        # As v spreads, a group's likelihood spreads like heat: d/d shared^2 = half the second derivative in eta.
        inner = [own_slope] if self.known_shared is not None else [shared**2 * (slope**2 - curvature), own_slope]
        return Told(loglik, slope, np.maximum(curvature, 0.0), np.stack(inner, axis=1))


def weigh(log: Floats, x: Floats, eta: Floats, shared: float) -> tuple[Floats, Floats, Floats]:
    """Each point's share of a group's sum (k, q), the largest log summand (k,), and the sum over it (k,)."""
    log = log - 0.5 * np.square((x - eta[:, None]) / shared)
    top = log.max(axis=1)
    weight = np.exp(log - top[:, None])
    total = weight.sum(axis=1)
    return weight / total[:, None], top, total


# What standing groups are like ----------------------------------------------------------------------------------------

FINE: Final = 0.4
"""Distance of points where draws are read off between them, as `STRIDE`."""


def shared_posterior(intervals: Intervals, eta: Floats, shared: float, own: float) -> tuple[Floats, Floats]:
    """Mean and standard deviation of each group's v, given what its trays showed; both (g,)."""
    seen, mean, sd = Seen(intervals, len(eta)), np.zeros(len(eta)), np.zeros(len(eta))
    if shared == 0 or not len(eta):
        return mean, sd
    within = window(seen, np.arange(len(eta)), eta, shared, own)
    for some, number in batches(seen.rows, within.points):
        x, _ = spread_points(within, some, number)
        share, _, _ = weigh(curve(seen, some, x, own).log, x, eta[some], shared)
        v = x - eta[some, None]
        mean[some] = (share * v).sum(axis=1)
        sd[some] = np.sqrt((share * (v - mean[some, None]) ** 2).sum(axis=1))
    return mean, sd


def draw_shared(intervals: Intervals, eta: Floats, shared: float, own: float, u: Floats) -> Floats:
    """
    Draws of what each standing group shares, given what its trays showed.

    Parameters
    ----------
    intervals : Intervals
        Of g groups; a group without a row is drawn from the normal.
    eta : array (n, g)
        Predictors, one row a scenario.
    shared, own : float
        Standard deviations of v and of a tray.
    u : array (n, g)
        Uniform draws.

    Returns
    -------
    array (n, g)
        v; rises with `u`, so that scenarios can be made alike by giving the same `u`.
    """
    scenarios, groups = eta.shape
    if shared == 0 or not eta.size:
        return np.zeros(eta.shape)
    seen, drawn = Seen(intervals, groups), np.empty(eta.size)
    of, flat, chance = np.tile(np.arange(groups), scenarios), eta.ravel(), u.ravel()
    within = window(seen, of, flat, shared, own, FINE)
    for some, number in batches(seen.rows[of], within.points):
        x, step = spread_points(within, some, number)
        share, _, _ = weigh(curve(seen, of[some], x, own).log, x, flat[some], shared)
        drawn[some] = _read_off(share, chance[some]) * step + x[:, 0] - flat[some]
    return drawn.reshape(eta.shape)


def _read_off(density: Floats, u: Floats) -> Floats:
    """Where the share below reaches `u`, in steps from the first point; between points by cubics."""
    density = np.pad(density, ((0, 0), (1, 2)))
    inner = 13 * (density[:, 1:-2] + density[:, 2:-1]) - density[:, :-3] - density[:, 3:]
    below = np.cumsum(np.maximum(inner, 0.0) / 24, axis=1)
    below /= below[:, -1:]
    goal, every = np.clip(u, 1e-12, 1 - 1e-12), np.arange(len(u))
    cell = np.minimum((below < goal[:, None]).sum(axis=1), below.shape[1] - 1)
    high = below[every, cell]
    low = np.where(cell > 0, below[every, cell - 1], 0.0)
    rise, left, right = high - low, density[every, cell + 1], density[every, cell + 2]
    t = (goal - low) / np.maximum(rise, 1e-300)
    for _ in range(4):
        t2 = t * t
        cubic = low + (t2 * (3 - 2 * t)) * rise + (t * (1 - t) ** 2) * left + (t2 * (t - 1)) * right
        slope = 6 * t * (1 - t) * rise + (1 - 4 * t + 3 * t2) * left + (3 * t2 - 2 * t) * right
        t = np.clip(t - (cubic - goal) / np.maximum(slope, 1e-3 * rise + 1e-300), 0.0, 1.0)
    return cell + t


def draw_own(low: Any, high: Any, own: float, u: Any) -> Floats:
    """
    Draws of a tray's own deviation e that is known to lie between `low` and `high`.

    A tray that said "not yet" at log time y has e above y - eta - v: give that as `low`, and inf as `high`.
    """
    return own * truncated_quantile(u, np.asarray(low) / own, np.asarray(high) / own)
