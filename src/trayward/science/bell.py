"""The normal and the beta distribution in plain Python, for what a round asks: it must not load a heavy library."""

from __future__ import annotations

import math
from functools import lru_cache


def below(z: float) -> float:
    """Share of the standard normal distribution below `z`. [-]"""
    return math.erfc(-z / math.sqrt(2)) / 2


def probit(share: float) -> float:
    """
    The value that a share of the standard normal distribution lies below; shares are kept off 0 and 1 by 1e-9. [-]

    Examples
    --------
    >>> round(probit(0.9), 6)
    1.281552
    """
    kept = min(max(share, 1e-9), 1 - 1e-9)
    if kept > 0.5:
        return -probit(1 - kept)
    t = math.sqrt(-2 * math.log(kept))
    # Hastings' rational start (Abramowitz and Stegun 26.2.23, from memory), then Newton on the logarithm.
    z = (2.515517 + t * (0.802853 + t * 0.010328)) / (1 + t * (1.432788 + t * (0.189269 + t * 0.001308))) - t
    for _ in range(6):
        chance = below(z)
        slope = math.exp(-z * z / 2) / math.sqrt(2 * math.pi) / chance
        step = (math.log(kept) - math.log(chance)) / slope
        z += step
        if abs(step) < 1e-12:
            break
    return z


@lru_cache(maxsize=4096)
def beta_quantile(alpha: float, beta: float, share: float) -> float:
    """
    The value that a share of a beta distribution lies below, by halving.

    Examples
    --------
    >>> round(beta_quantile(1.0, 1.0, 0.3), 6)
    0.3
    """
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = (low + high) / 2
        if beta_below(alpha, beta, middle) < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def beta_below(alpha: float, beta: float, value: float) -> float:
    """
    Share of a beta distribution below a value: the regularised incomplete beta function.

    Examples
    --------
    >>> round(beta_below(2.0, 3.0, 0.4), 6)
    0.5248
    """
    if value <= 0 or value >= 1:
        return 0.0 if value <= 0 else 1.0
    if value > (alpha + 1) / (alpha + beta + 2):  # the fraction settles fast on this side only
        return 1 - beta_below(beta, alpha, 1 - value)
    front = math.lgamma(alpha + beta) - math.lgamma(alpha) - math.lgamma(beta)
    front += alpha * math.log(value) + beta * math.log1p(-value)
    return math.exp(front) * _beta_fraction(alpha, beta, value) / alpha


def _beta_fraction(a: float, b: float, x: float) -> float:
    """The continued fraction of the incomplete beta function, from the front (Lentz; from memory)."""
    tiny = 1e-300
    c, d = 1.0, 1 - (a + b) * x / (a + 1)
    d = 1 / (d if abs(d) > tiny else tiny)
    value = d
    for m in range(1, 500):
        for step in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d, c = 1 + step * d, 1 + step / c
            d = 1 / (d if abs(d) > tiny else tiny)
            c = c if abs(c) > tiny else tiny
            value *= c * d
        if abs(c * d - 1) < 1e-13:
            break
    return value
