"""Learning on a log scale: a published prior, moved by the farm's own trays, and the lognormal that comes of it.

Trays of one sowing share seed, water and weather, so they count for less than their number. Normal-normal conjugate
throughout (Gelman et al., "Bayesian Data Analysis", 3rd ed., 2013, ch. 2; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from statistics import NormalDist

import msgspec

PRIOR_TRAYS = 3.0
"""How many own trays the published prior counts as, at first. Our choice: one tray moves it a little, thirty a lot."""
SPREAD_TRAYS = 4.0
"""How many own trays the prior's spread counts as."""
SAME_SOWING = 0.5
"""Correlation of the logs of two trays of one sowing. Our assumption until the farm's own figure is fitted."""
NORMAL = NormalDist()
EIGHTY = NORMAL.inv_cdf(0.9)
"""An 80 % range reaches this many standard deviations to either side. [-]"""


class Lognormal(msgspec.Struct, frozen=True):
    """A positive amount whose log is normal with mean `mu` and standard deviation `sd`."""

    mu: float
    sd: float

    def quantile(self, share: float, *, above: float = 0.0) -> float:
        """The value that `share` of cases stay below, given that the amount is known to exceed `above`."""
        if self.sd <= 0:
            return max(math.exp(self.mu), above)
        if above <= 0:
            return math.exp(self.mu + self.sd * NORMAL.inv_cdf(share))
        beyond = NORMAL.cdf((self.mu - math.log(above)) / self.sd)
        if beyond < 1e-250:
            return above
        return max(above, math.exp(self.mu - self.sd * NORMAL.inv_cdf((1 - share) * beyond)))

    def moments(self) -> tuple[float, float]:
        """Mean and variance of the amount itself."""
        mean = math.exp(self.mu + self.sd**2 / 2)
        return mean, mean**2 * math.expm1(self.sd**2)

    @classmethod
    def of_moments(cls, mean: float, variance: float) -> Lognormal:
        """The lognormal with that mean and variance (moment matching); `mean` must be above 0."""
        spread = math.log1p(variance / mean**2)
        return cls(math.log(mean) - spread / 2, math.sqrt(spread))


class Learned(msgspec.Struct, frozen=True):
    """Where the log of an amount lies after prior and own trays, how sure, and how much single trays differ."""

    mu: float
    level_sd: float
    tray_sd: float
    own_trays: int
    own_sowings: int
    prior_trays: float

    def tray(self) -> Lognormal:
        """What one more tray will do: doubt about the level and the spread of trays together."""
        return Lognormal(self.mu, math.hypot(self.level_sd, self.tray_sd))


def shrunk(prior_mean: float, prior_sd: float, tray_sd: float, mean: float, trays: float) -> tuple[float, float]:
    """
    Mean and standard deviation of a level after `trays` observations with that `mean`.

    Examples
    --------
    >>> [round(value, 1) for value in shrunk(250, 20, 30, 290, 3)]
    [272.9, 13.1]
    """
    before, told = 1 / prior_sd**2, trays / tray_sd**2
    return (before * prior_mean + told * mean) / (before + told), (before + told) ** -0.5


def effective_number(sizes: Iterable[int], correlation: float = SAME_SOWING) -> float:
    """How many independent trays sowings of these sizes are worth, their trays being alike to that `correlation`."""
    return sum(size / (1 + (size - 1) * correlation) for size in sizes if size)


class Tally:
    """
    Logs of own trays, summed by sowing: all that learning needs of them, however many they are.

    Parameters
    ----------
    under : Tally, optional
        What was tallied before; it stays as it is, and counts here too.
    """

    __slots__ = ("_first", "_own", "_second", "_under", "number", "sowings", "trays")

    def __init__(self, under: Tally | None = None) -> None:
        self._own: dict[str, tuple[int, float, float]] = {}
        """Sowing -> trays, sum of their logs, sum of the squares."""
        self._under: dict[str, tuple[int, float, float]] = {}
        self.trays: int = 0
        self.sowings: int = 0
        self.number: float = 0.0
        """How many independent trays they are worth."""
        self._first: float = 0.0
        self._second: float = 0.0
        if under is not None:
            self._under = {**under._under, **under._own} if under._under else under._own
            self.trays, self.sowings, self.number = under.trays, under.sowings, under.number
            self._first, self._second = under._first, under._second

    def add(self, sowing: str, log: float) -> None:
        """Count one more tray of a sowing."""
        before = self._own.get(sowing) or self._under.get(sowing) or (0, 0.0, 0.0)
        after = (before[0] + 1, before[1] + log, before[2] + log * log)
        self._own[sowing] = after
        self.trays += 1
        if before[0]:
            self._weigh(before, -1.0)
        else:
            self.sowings += 1
        self._weigh(after, 1.0)

    def _weigh(self, sums: tuple[int, float, float], sign: float) -> None:
        """Put a sowing into the totals, or take it out; its trays weigh together what the sowing is worth."""
        share = sign / (1 + (sums[0] - 1) * SAME_SOWING)
        self.number += share * sums[0]
        self._first += share * sums[1]
        self._second += share * sums[2]

    @property
    def mean(self) -> float:
        """Mean of the logs, each sowing weighed by what it is worth."""
        return self._first / self.number

    @property
    def scatter(self) -> float:
        """Sum of squares about the mean, weighed alike."""
        return max(0.0, self._second - self._first**2 / self.number)


def learn(prior: Lognormal | None, own: Tally, spread: float = 0.35) -> Learned | None:
    """
    Move a prior by the logs of own trays; None where there is neither.

    The prior's spread is split between doubt about this farm's level and the spread of its trays, so that the level
    weighs as much as `PRIOR_TRAYS` trays. `spread` is the log sd assumed where there is no prior.
    """
    first_sd = spread if prior is None else prior.sd * math.sqrt(PRIOR_TRAYS / (PRIOR_TRAYS + 1))
    if not own.trays:
        level_sd = first_sd / math.sqrt(PRIOR_TRAYS)
        return None if prior is None else Learned(prior.mu, level_sd, first_sd, 0, 0, PRIOR_TRAYS)
    tray_sd = _spread(first_sd, own)
    if prior is None:
        return Learned(own.mean, tray_sd / math.sqrt(own.number), tray_sd, own.trays, own.sowings, 0.0)
    prior_sd = first_sd / math.sqrt(PRIOR_TRAYS)
    mu, level_sd = shrunk(prior.mu, prior_sd, tray_sd, own.mean, own.number)
    return Learned(mu, level_sd, tray_sd, own.trays, own.sowings, (tray_sd / prior_sd) ** 2)


def _spread(first_sd: float, own: Tally) -> float:
    """The trays' log sd: the first guess pooled with the own scatter, each sowing weighed by what it is worth."""
    pooled = SPREAD_TRAYS * first_sd**2 + own.scatter
    return math.sqrt(pooled / (SPREAD_TRAYS + max(0.0, own.number - 1)))
