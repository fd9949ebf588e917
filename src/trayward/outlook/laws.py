"""The lognormal, in plain Python: what one uncertain amount is when its log is normal."""

from __future__ import annotations

import math
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


def log_sd_of_range(low: float, high: float) -> float:
    """Log sd of a lognormal of which 8 of 10 lie between two amounts. [-]"""
    return math.log(high / low) / (2 * EIGHTY)
