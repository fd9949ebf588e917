"""Learning on a log scale: a published prior, moved by the farm's own trays, and the lognormal that comes of it.

Trays of one sowing share seed, water and weather, so they count for less than their number. Normal-normal conjugate
throughout (Gelman et al., "Bayesian Data Analysis", 3rd ed., 2013, ch. 2; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from statistics import NormalDist

import msgspec

PRIOR_TRAYS = 3.0
"""How many own trays the published prior counts as, at first. Our choice: one tray moves it a little, thirty a lot."""
SPREAD_TRAYS = 4.0
"""How many own trays the prior's spread counts as."""
SAME_SOWING = 0.5
"""Correlation of the logs of two trays of one sowing. Our assumption until the farm's own figure is fitted."""
EIGHTY = NormalDist().inv_cdf(0.9)
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
            return math.exp(self.mu + self.sd * NormalDist().inv_cdf(share))
        beyond = NormalDist().cdf((self.mu - math.log(above)) / self.sd)
        if beyond < 1e-250:
            return above
        return max(above, math.exp(self.mu - self.sd * NormalDist().inv_cdf((1 - share) * beyond)))

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


def learn(prior: Lognormal | None, own: Mapping[str, Sequence[float]], spread: float = 0.35) -> Learned | None:
    """
    Move a prior by the logs of own trays, listed by sowing; None where there is neither.

    The prior's spread is split between doubt about this farm's level and the spread of its trays, so that the level
    weighs as much as `PRIOR_TRAYS` trays. `spread` is the log sd assumed where there is no prior.
    """
    groups = [logs for logs in own.values() if logs]
    if prior is None and not groups:
        return None
    first_sd = spread if prior is None else prior.sd * math.sqrt(PRIOR_TRAYS / (PRIOR_TRAYS + 1))
    count, sowings = sum(map(len, groups)), len(groups)
    if prior is not None and not groups:
        return Learned(prior.mu, first_sd / math.sqrt(PRIOR_TRAYS), first_sd, 0, 0, PRIOR_TRAYS)
    number = effective_number(map(len, groups))
    mean = sum(effective_number([len(logs)]) * sum(logs) / len(logs) for logs in groups) / number
    tray_sd = _spread(first_sd, groups, mean, number)
    if prior is None:
        return Learned(mean, tray_sd / math.sqrt(number), tray_sd, count, sowings, 0.0)
    prior_sd = first_sd / math.sqrt(PRIOR_TRAYS)
    mu, level_sd = shrunk(prior.mu, prior_sd, tray_sd, mean, number)
    return Learned(mu, level_sd, tray_sd, count, sowings, (tray_sd / prior_sd) ** 2)


def _spread(first_sd: float, groups: Sequence[Sequence[float]], mean: float, number: float) -> float:
    """The trays' log sd: the first guess pooled with the own scatter, each sowing weighed by what it is worth."""
    scatter = sum(effective_number([len(logs)]) / len(logs) * sum((log - mean) ** 2 for log in logs) for logs in groups)
    return math.sqrt((SPREAD_TRAYS * first_sd**2 + scatter) / (SPREAD_TRAYS + max(0.0, number - 1)))
