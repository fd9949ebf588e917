"""A blocked trial of seed rates: analysis of variance, and whether it shows a best rate at all."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from trayward.errors import InputError


class SeedRateTrial(msgspec.Struct, frozen=True, kw_only=True):
    """
    A blocked seed-rate trial, analysed.

    Sums of squares of blocks, rates and error with their degrees of freedom [-], `f` of the rates [-] and its chance
    `p` [-]; `turning` is where the fitted parabola turns [rate], and `peak` the same where the trial may claim one,
    else None.
    """

    blocks: float
    rates: float
    error: float
    degrees: tuple[int, int, int]
    f: float
    p: float
    turning: float
    peak: float | None


def seed_rate_trial(rates: Sequence[float], blocks: Sequence[Sequence[float]]) -> SeedRateTrial:
    """
    Analyse a randomised block trial of seed rates; claim a best rate only where the trial brackets one.

    Parameters
    ----------
    rates : sequence of float, length r
        The rates tried. At least 3 different ones.
    blocks : sequence of sequence of float, (b, r)
        Yield of every rate in every block. At least 2 blocks.

    Returns
    -------
    SeedRateTrial
        Analysis of variance, the parabola's turning point, and the peak or None.

    Raises
    ------
    InputError
        If the trial is too small, not complete, or a figure is not a number.

    Notes
    -----
    A peak is claimed where the rates differ beyond chance (p < 0.05), the parabola opens downward beyond chance (|t| >
    2), and its turning point lies between the second lowest and the second highest rate: a turning point by the edge of
    what was tried is drawn on, not seen.

    References
    ----------
    .. [1] K. A. Gomez and A. A. Gomez, 1984, Statistical Procedures for Agricultural Research, Wiley. (As in agridat.)
    """
    import numpy as np
    from scipy.stats import f as f_distribution

    x, y = np.asarray(rates, float), np.asarray(blocks, float)
    if y.ndim != 2 or y.shape[1] != len(x) or y.shape[0] < 2 or len(set(rates)) < 3:
        raise InputError("trial", f"{y.shape}", "needs at least 2 blocks with every one of at least 3 rates")
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise InputError("trial", "blank", "every rate needs a yield in every block")
    many_blocks, many_rates = y.shape
    by_block = float(many_rates * ((y.mean(axis=1) - y.mean()) ** 2).sum())
    by_rate = float(many_blocks * ((y.mean(axis=0) - y.mean()) ** 2).sum())
    error = float(((y - y.mean()) ** 2).sum()) - by_block - by_rate
    degrees = (many_blocks - 1, many_rates - 1, (many_blocks - 1) * (many_rates - 1))
    noise = error / degrees[2]
    f = by_rate / degrees[1] / noise if noise > 0 else math.inf
    p = float(f_distribution.sf(f, degrees[1], degrees[2])) if math.isfinite(f) else 0.0
    turning, bend_t = _parabola(x, y.mean(axis=0), noise / many_blocks)
    inner = sorted(set(rates))
    seen = p < 0.05 and bend_t < -2 and inner[1] <= turning <= inner[-2]
    return SeedRateTrial(
        blocks=by_block, rates=by_rate, error=error, degrees=degrees, f=f, p=p, turning=turning,
        peak=turning if seen else None,
    )  # fmt: skip


def _parabola(x: object, means: object, variance: float) -> tuple[float, float]:
    """Where the parabola through the means turns, and its bend over its standard error (below 0: opens downward)."""
    import numpy as np

    at = np.asarray(x, float)
    design = np.vander(at, 3)
    bend, slope, _ = np.linalg.lstsq(design, np.asarray(means, float), rcond=None)[0]
    error = math.sqrt(variance * float(np.linalg.inv(design.T @ design)[0, 0]))
    turning = float(-slope / (2 * bend)) if bend else math.inf
    return turning, float(bend / error) if error > 0 else math.copysign(math.inf, bend)
