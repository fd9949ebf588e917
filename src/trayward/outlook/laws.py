"""The lognormal, in plain Python: what one uncertain amount is when its log is normal."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from statistics import NormalDist

import msgspec

NORMAL = NormalDist()
EIGHTY = NORMAL.inv_cdf(0.9)
"""An 80 % range reaches this many standard deviations to either side. [-]"""


class Lognormal(msgspec.Struct, frozen=True):
    """A positive amount whose log is normal with mean `mu` and standard deviation `sd`."""

    mu: float
    sd: float

    def quantile(self, share: float) -> float:
        """The value that `share` of cases stay below."""
        return math.exp(self.mu + self.sd * NORMAL.inv_cdf(share)) if self.sd > 0 else math.exp(self.mu)

    @property
    def mean(self) -> float:
        """The mean of the amount itself."""
        return math.exp(self.mu + self.sd**2 / 2)


class Blurred(msgspec.Struct, frozen=True):
    """
    A positive amount whose log is normal about `mu`, its standard deviation not known for sure.

    The log of the standard deviation is itself normal, about log `sd`, with standard deviation `blur`: so ranges reach
    further than those of a lognormal, the more so the more they are to hold, as Student's law does with few cases.
    """

    mu: float
    sd: float
    blur: float = 0.0

    def quantile(self, share: float) -> float:
        """The value that `share` of cases stay below."""
        return math.exp(self.mu + self.sd * _deviate(share, round(self.blur, 2))) if self.sd > 0 else math.exp(self.mu)

    def share_below(self, value: float) -> float:
        """The share of cases below a positive value. [-]"""
        off = math.log(value) - self.mu
        if self.sd <= 0:
            return float(off >= 0)
        return sum(weight * NORMAL.cdf(off / (self.sd * wide)) for weight, wide in _widths(round(self.blur, 2)))

    @property
    def mean(self) -> float:
        """The mean of the amount itself, the far tail that no crop has left out."""
        whole = self.sd**2 * math.exp(min(2 * self.blur**2, 1.0))
        return math.exp(self.mu + whole / 2)


NODES = ((0.0, 0.4571429), (1.1544054, 0.2401232), (2.3667594, 0.0307571), (3.7504397, 0.0005483))
"""Nodes and weights of the seven-point Gauss-Hermite rule for a standard normal, one side (numpy's hermegauss)."""


@lru_cache(maxsize=256)
def _widths(blur: float) -> tuple[tuple[float, float], ...]:
    """Weights, and how many times wider or narrower than usual the law is."""
    if blur <= 0:
        return ((1.0, 1.0),)
    sides = [(weight, side * at) for at, weight in NODES for side in ((-1, 1) if at else (1,))]
    total = sum(weight for weight, _ in sides)
    return tuple((weight / total, math.exp(blur * at)) for weight, at in sides)


@lru_cache(maxsize=4096)
def _deviate(share: float, blur: float) -> float:
    """What a blurred standard normal stays below with that chance: Newton's method, rising from below to the answer."""
    if share < 0.5:
        return -_deviate(1 - share, blur)
    widths = _widths(blur)
    at = NORMAL.inv_cdf(share) * min(wide for _, wide in widths)
    for _ in range(60):
        off = share - sum(weight * NORMAL.cdf(at / wide) for weight, wide in widths)
        step = off / sum(weight * NORMAL.pdf(at / wide) / wide for weight, wide in widths)
        at += step
        if step < 1e-9:
            break
    return at


def blurred(mu: float, known_sd: float, parts: Sequence[tuple[float, float]]) -> Blurred:
    """
    The law of a sum of parts of which each has its own standard deviation and doubt about it.

    Parameters
    ----------
    mu : float
        Its middle, as a log.
    known_sd : float
        Standard deviation of what does not hang on the parts.
    parts : sequence of (float, float)
        Standard deviation of each, and standard error of the log of it.

    Notes
    -----
    The sum's variance, known^2 + sum of (sd exp(error z))^2, is a sum of lognormals; it is taken as one lognormal with
    the same middle two moments of its log, read off `POINTS` even points. Satterthwaite's degrees of freedom follow the
    same thought for chi-squares.

    References
    ----------
    Satterthwaite, F. E. (1946). An approximate distribution of estimates of variance components. Biometrics Bulletin
    2:110-114 (from memory).
    """
    return Blurred(mu, *_spread(known_sd, tuple(parts)))


@lru_cache(maxsize=4096)
def _spread(known_sd: float, parts: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    """The sum's standard deviation and its blur: trays of a recipe and lot ask for the same again and again."""
    plain = math.sqrt(known_sd**2 + sum(sd**2 for sd, _ in parts))
    if plain <= 0 or all(error <= 0 or sd <= 0 for sd, error in parts):
        return plain, 0.0
    logs = [
        0.5
        * math.log(
            known_sd**2 + sum((sd * math.exp(error * z)) ** 2 for (sd, error), z in zip(parts, row, strict=True))
        )
        for row in _rows(len(parts))
    ]
    middle = sum(logs) / len(logs)
    return math.exp(middle), math.sqrt(sum((log - middle) ** 2 for log in logs) / len(logs))


POINTS = 64
"""Even points that a sum's variance is read off."""


@lru_cache(maxsize=8)
def _rows(parts: int) -> tuple[tuple[float, ...], ...]:
    """Standard normal points (POINTS, parts): multiples of the roots of primes, modulo one."""
    roots = [math.sqrt(prime) for prime in (2, 3, 5, 7, 11, 13)][:parts]
    return tuple(
        tuple(NORMAL.inv_cdf(min(max(((at + 0.5) * root) % 1.0, 1e-6), 1 - 1e-6)) for root in roots)
        for at in range(POINTS)
    )


def log_sd_of_range(low: float, high: float) -> float:
    """Log sd of a lognormal of which 8 of 10 lie between two amounts. [-]"""
    return math.log(high / low) / (2 * EIGHTY)
