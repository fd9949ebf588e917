"""What a sowing's trays, as far as they have come, say of the sowing's own pace: the law of one number, on a grid."""

from __future__ import annotations

import numpy as np

from trayward.outlook.censored import Intervals
from trayward.outlook.normal import log_cdf_between
from trayward.outlook.terms import Floats

FAR, FINE = 7.0, 241
"""How many standard deviations the first grid reaches, and points of a grid."""
DROP = 25.0
"""What is left out at either side is less likely than the middle by this much. [log]"""


def sowing_quantiles(seen: Intervals, mean: float, sd: float, own: float, shares: Floats) -> Floats:
    """
    Quantiles of what a sowing's trays have in common, given what was seen of them.

    Parameters
    ----------
    seen : Intervals
        Of one sowing (group 0), on the model's scale.
    mean, sd : float
        What was believed before: normal.
    own : float
        Standard deviation of single trays about it. Valid above 0.
    shares : array (n,)
        Between 0 and 1.

    Returns
    -------
    array (n,)
        On the model's scale; rises with `shares`.

    Notes
    -----
    The density is log-concave, so a grid narrowed twice about its top misses nothing that matters.
    """
    if sd <= 0:
        return np.full(len(shares), mean)
    finite = [edge for row in (seen.low, seen.high) for edge in row[np.isfinite(row)].tolist()]
    left = min([mean - FAR * sd, *(edge - 9 * own for edge in finite)])
    right = max([mean + FAR * sd, *(edge + 9 * own for edge in finite)])
    for _ in range(3):
        grid = np.linspace(left, right, FINE)
        log = _log_density(grid, seen, mean, sd, own)
        near = np.flatnonzero(log > log.max() - DROP)
        left, right = float(grid[max(near[0] - 1, 0)]), float(grid[min(near[-1] + 1, FINE - 1)])
    density = np.exp(log - log.max())
    below = np.concatenate(([0.0], np.cumsum((density[1:] + density[:-1]) / 2)))
    return np.asarray(np.interp(shares, below / below[-1], grid))


def _log_density(grid: Floats, seen: Intervals, mean: float, sd: float, own: float) -> Floats:
    counts = np.ones(len(seen.low)) if seen.count is None else seen.count
    rows = log_cdf_between((seen.low[:, None] - grid) / own, (seen.high[:, None] - grid) / own)
    return np.asarray(counts @ np.maximum(rows, -1e6) - 0.5 * np.square((grid - mean) / sd))
