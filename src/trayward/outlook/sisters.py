"""What a sowing's trays, as far as they have come, say of the sowing's own pace: the law of one number, on a grid."""

from __future__ import annotations

import math

import numpy as np

from trayward.outlook.censored import Intervals
from trayward.outlook.normal import log_cdf_between, quantile
from trayward.outlook.terms import Floats

FAR, FINE = 7.0, 241
"""How many standard deviations the first grid reaches, and points of a grid."""
DROP = 25.0
"""What is left out at either side is less likely than the middle by this much. [log]"""
FEWEST, MOST = 15, 201
"""Levels summed over: more, the surer a sowing keeps to its level."""


def sowing_quantiles(
    seen: Intervals, mean: float, level_sd: float, shared_sd: float, own: float, shares: Floats
) -> Floats:
    """
    Quantiles of what a sowing's trays have in common (their level and the sowing's own), given what was seen of them.

    Parameters
    ----------
    seen : Intervals
        Of one sowing (group 0), on the model's scale.
    mean, level_sd : float
        The level of such sowings, as known after all that was seen, this sowing's trays included: normal.
    shared_sd : float
        How much sowings differ from their level.
    own : float
        Standard deviation of single trays about their sowing. Valid above 0.
    shares : array (n,)
        Between 0 and 1.

    Returns
    -------
    array (n,)
        On the model's scale; rises with `shares`.

    Notes
    -----
    The level is known from all sowings, this one among them, so it is not weighed by this sowing's trays again: for
    each of some levels the sowing's own law is worked out on a grid, and these laws are averaged. Each is log-concave,
    so a grid narrowed about their tops misses nothing that matters.
    """
    count = int(np.clip(math.ceil(8 * level_sd / shared_sd), FEWEST, MOST)) if shared_sd > 0 and level_sd > 0 else 1
    levels = mean + level_sd * quantile((np.arange(count) + 0.5) / count)
    if shared_sd <= 0:
        return np.asarray(mean + level_sd * quantile(shares))
    left, right = _reach(seen, levels, shared_sd, own)
    for _ in range(3):
        grid = np.linspace(left, right, FINE)
        density = _density(grid, seen, levels, shared_sd, own)
        near = np.flatnonzero(density > density.max() * math.exp(-DROP))
        left, right = float(grid[max(near[0] - 1, 0)]), float(grid[min(near[-1] + 1, FINE - 1)])
    below = np.concatenate(([0.0], np.cumsum((density[1:] + density[:-1]) / 2)))
    return np.asarray(np.interp(shares, below / below[-1], grid))


def _reach(seen: Intervals, levels: Floats, shared_sd: float, own: float) -> tuple[float, float]:
    finite = [edge for row in (seen.low, seen.high) for edge in row[np.isfinite(row)].tolist()]
    left = min([float(levels[0]) - FAR * shared_sd, *(edge - 9 * own for edge in finite)])
    right = max([float(levels[-1]) + FAR * shared_sd, *(edge + 9 * own for edge in finite)])
    return left, right


def _density(grid: Floats, seen: Intervals, levels: Floats, shared_sd: float, own: float) -> Floats:
    """The average of the laws at each level, each summing to one."""
    counts = np.ones(len(seen.low)) if seen.count is None else seen.count
    rows = log_cdf_between((seen.low[:, None] - grid) / own, (seen.high[:, None] - grid) / own)
    log = np.asarray(counts @ np.maximum(rows, -1e6)) - 0.5 * np.square((grid - levels[:, None]) / shared_sd)
    weight = np.exp(log - log.max(axis=1, keepdims=True))
    return np.asarray((weight / weight.sum(axis=1, keepdims=True)).mean(axis=0))
