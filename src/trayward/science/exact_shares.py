"""Shares of few cases, exactly: the range a share may lie in, and whether two shares differ by more than chance."""

from __future__ import annotations

import math

from trayward.errors import InputError
from trayward.science.bell import beta_quantile

SAME = 1e-7
"""Tables as likely as the one seen but for rounding count as likely. [-]"""


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
    whole, total = of + other_of, cases + other_cases
    possible = range(max(0, total - other_of), min(of, total) + 1)
    logs = [_log_choose(of, k) + _log_choose(other_of, total - k) - _log_choose(whole, total) for k in possible]
    seen = logs[cases - possible[0]]
    return min(1.0, sum(math.exp(each) for each in logs if each <= seen + SAME))


def _require_count(cases: int, of: int) -> None:
    if not 0 <= cases <= of:
        raise InputError("cases", cases, f"must lie from 0 to {of}", "Check what was counted.")


def _log_choose(n: int, k: int) -> float:
    return math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)
