"""Shares of few cases, exactly: the range a share may lie in, and whether two shares differ by more than chance."""

from __future__ import annotations

import math
from functools import lru_cache

from trayward.errors import InputError
from trayward.science.bell import beta_quantile

SAME = 1e-7
"""Tables as likely as the one seen but for rounding count as likely. [-]"""


@lru_cache(8192)
def clopper_pearson(cases: int, of: int, sure: float = 0.8) -> tuple[float, float]:
    """
    The exact range of a share.

    Parameters
    ----------
    cases : int
        How many had it.
    of : int
        Of how many.
    sure : float
        How often such ranges hold the true share, at least. [-]

    Returns
    -------
    tuple of float
        Low and high end. [-] 0 and 1 where nothing was counted.

    References
    ----------
    C. J. Clopper and E. S. Pearson (1934), The use of confidence or fiducial limits illustrated in the case of the
    binomial, Biometrika 26(4), 404-413 (from memory).

    Examples
    --------
    >>> low, high = clopper_pearson(0, 10, 0.8)
    >>> low, round(high, 3)
    (0.0, 0.206)
    """
    _require_count(cases, of)
    if not 0 < sure < 1:
        raise InputError("sure", sure, "must lie between 0 and 1", "Say 0.8 for 8 in 10.")
    tail = (1 - sure) / 2
    low = 0.0 if cases == 0 else beta_quantile(cases, of - cases + 1, tail)
    high = 1.0 if cases == of else beta_quantile(cases + 1, of - cases, 1 - tail)
    return low, high


@lru_cache(8192)
def fisher_exact(cases: int, of: int, other_cases: int, other_of: int) -> float:
    """
    How often chance alone would set two shares apart this far or farther, by both margins (two-sided).

    Parameters
    ----------
    cases, of : int
        Of those looked at.
    other_cases, other_of : int
        Of the rest.

    Returns
    -------
    float
        [-] 1 where nothing could differ.

    References
    ----------
    R. A. Fisher (1922), On the interpretation of chi-squared from contingency tables, and the calculation of P,
    Journal of the Royal Statistical Society 85(1), 87-94 (from memory).

    Examples
    --------
    >>> round(fisher_exact(3, 4, 1, 20), 4)
    0.0076
    """
    _require_count(cases, of)
    _require_count(other_cases, other_of)
    total = cases + other_cases
    low, high = max(0, total - other_of), min(of, total)
    # Beside the likeliest table, from each to the next: the chances of a hypergeometric law fall off on both sides.
    middle = min(max((of + 1) * (total + 1) // (of + other_of + 2), low), high)
    up: list[float] = [1.0]
    down: list[float] = []
    for k in range(middle, high):
        up.append(up[-1] * ((of - k) * (total - k) / ((k + 1) * (other_of - total + k + 1))))
    for k in range(middle, low, -1):
        down.append((down[-1] if down else 1.0) * (k * (other_of - total + k) / ((of - k + 1) * (total - k + 1))))
    beside = [*reversed(down), *up]
    seen = beside[cases - low] * (1 + SAME)
    return min(1.0, math.fsum(each for each in beside if each <= seen) / math.fsum(beside))


def _require_count(cases: int, of: int) -> None:
    if not 0 <= cases <= of:
        raise InputError("cases", cases, f"must lie from 0 to {of}", "Check what was counted.")
