"""Stage times seen only at rounds: between two looks, not over yet, or to the minute.

On a log axis a tray of a group says low < eta + v + e <= high. The group's own share v (a sowing is early or late as a
whole) is normal with standard deviation `shared`; e, normal with `own`, is the tray's alone. Here v is integrated out,
group by group, and drawn for groups that still stand.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from trayward.errors import InputError
from trayward.outlook.censored_curve import FEWEST, Curve, Intervals, Seen, batches, curve, spread_points, window
from trayward.outlook.latent_mode import Told
from trayward.outlook.normal import ROOT_TWO_PI, truncated_quantile
from trayward.outlook.terms import Floats, Ints, SdPrior

__all__ = ["IntervalLikelihood", "Intervals", "draw_own", "draw_shared", "shared_posterior"]


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
        if known_shared is not None and not 0 <= known_shared < np.inf:
            raise InputError("known_shared", known_shared, "must be at or above 0")
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
            slope[some], curvature[some] = _moments(said, share, x - eta[some, None], shared, own)
            own_slope[some] = np.einsum("ij,ij->i", share, said.own_slope)
        return self._told(loglik, slope, curvature, shared, own_slope)

    def _told(self, loglik: Floats, slope: Floats, curvature: Floats, shared: float, own_slope: Floats) -> Told:
        # As v spreads, a group's likelihood spreads like heat: d/d shared^2 = half the second derivative in eta.
        inner = [own_slope] if self.known_shared is not None else [shared**2 * (slope**2 - curvature), own_slope]
        return Told(loglik, slope, np.maximum(curvature, 0.0), np.stack(inner, axis=1))


def _moments(said: Curve, share: Floats, v: Floats, shared: float, own: float) -> tuple[Floats, Floats]:
    """
    Slope of each group's log likelihood in eta, and minus its second derivative.

    Both come from what trays say or from where v is likely to be; each loses digits where its spread is the smaller.
    """
    said_more = shared > 2 * own
    first, second = (v, v * v) if said_more else (said.slope, said.bend + said.slope * said.slope)
    mean, mean_square = np.einsum("ij,ij->i", share, first), np.einsum("ij,ij->i", share, second)
    if not said_more:
        return mean, mean * mean - mean_square
    return mean / shared**2, 1 / shared**2 - (mean_square - mean * mean) / shared**4


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
    return np.asarray(cell + t)


def draw_own(low: Any, high: Any, own: Any, u: Any) -> Floats:
    """
    Draws of a tray's own deviation e that is known to lie between `low` and `high`.

    A tray that said "not yet" at log time y has e above y - eta - v: give that as `low`, and inf as `high`.
    """
    return np.asarray(own * truncated_quantile(u, np.asarray(low) / own, np.asarray(high) / own))
