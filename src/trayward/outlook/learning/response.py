"""How a tray's weight follows a level the grower can choose (density, days of blackout), and what that is worth."""

from __future__ import annotations

import math

import msgspec
import numpy as np

from trayward.errors import InputError
from trayward.farm.trials import Lever
from trayward.outlook import normal
from trayward.outlook.learning.points import POINTS, normal_points, root_of
from trayward.outlook.terms import Floats

STEPS = 121
"""Levels looked at between the bounds: steps of about 1 % where the bounds lie a factor of 3 apart."""


class Response(msgspec.Struct, frozen=True, kw_only=True):
    """
    What is believed of log grams a tray against a level: a polynomial with normal coefficients.

    Density enters as its log over `centre` [live seeds/cm2], blackout as days more than `centre` [d]. `mean` (p,) and
    `cov` (p, p) are of the coefficients, the constant first. [log g] `day_sd` is how trays of one day lie together,
    `tray_sd` how trays of one day differ, `other_sd` all that makes the next sowing differ besides (lot, season). [log]
    """

    what: Lever
    centre: float
    mean: Floats
    cov: Floats
    tray_sd: float
    day_sd: float
    other_sd: float = 0.0

    def basis(self, levels: Floats) -> Floats:
        """Powers of the level as it enters. (n, p)"""
        if self.what == "density" and np.any(levels <= 0):
            raise InputError("density", float(np.min(levels)), "must be above 0", "Give live seeds a cm2.", "1/cm2")
        x = np.log(levels / self.centre) if self.what == "density" else levels - self.centre
        found: Floats = np.vander(x, len(self.mean), increasing=True)
        return found

    @property
    def spread(self) -> float:
        """Variance of a new tray's log grams about the curve. [log2]"""
        return self.tray_sd**2 + self.day_sd**2 + self.other_sd**2

    def expected_grams(self, levels: Floats) -> Floats:
        """Mean grams of a new tray at each level, all doubt counted. [g]"""
        return grams_expected(self.basis(levels), self.mean, self.cov, self.spread)

    def draws(self, count: int = POINTS) -> Floats:
        """
        Coefficients as they may be, evenly spread. (count, p)

        Density answers with falling return, so a bend upwards is ruled out: the bend is drawn from the part of its
        normal below zero, the others from what they are given it.
        """
        z = normal_points(count, len(self.mean))
        if self.what != "density" or len(self.mean) < 3:
            found: Floats = self.mean + z @ root_of(self.cov).T
            return found
        return _bent_down(self.mean, self.cov, z)


def grams_expected(basis: Floats, mean: Floats, cov: Floats, spread: float) -> Floats:
    """Mean of a lognormal weight: basis (n, p) at coefficients of mean (..., p) and covariance (p, p). (..., n) [g]"""
    doubt = np.einsum("np,pq,nq->n", basis, cov, basis)
    found: Floats = np.exp(mean @ basis.T + (doubt + spread) / 2)
    return found


def _bent_down(mean: Floats, cov: Floats, z: Floats) -> Floats:
    """Draws whose last coefficient is at most 0."""
    sd = math.sqrt(max(float(cov[2, 2]), 0.0))
    if sd == 0.0:
        found: Floats = mean + z @ root_of(cov).T
        found[:, 2] = np.minimum(found[:, 2], 0.0)
        return found
    bend = mean[2] + sd * normal.truncated_quantile(normal.cdf(z[:, 2]), -math.inf, -mean[2] / sd)
    along = cov[:2, 2] / cov[2, 2]
    rest = cov[:2, :2] - np.outer(along, cov[:2, 2])
    others = mean[:2] + np.outer(bend - mean[2], along) + z[:, :2] @ root_of(rest).T
    return np.column_stack([others, np.minimum(bend, 0.0)])


class Worth(msgspec.Struct, frozen=True, kw_only=True):
    """
    What a tray brings and costs as the level moves.

    `gram` is what a gram brings [currency/g]; `unit` what one more of the level costs a tray: the seed for one more
    live seed a cm2 [currency cm2], or a day more of the spot [currency/d].
    """

    gram: float
    unit: float = 0.0

    def checked(self) -> Worth:
        """Itself, if both are numbers that can be meant."""
        if not (math.isfinite(self.gram) and self.gram > 0):
            remedy = "Give the crop's product a price, or say what a gram brings."
            raise InputError("worth of a gram", self.gram, "must be above 0", remedy, "currency/g")
        if not (math.isfinite(self.unit) and self.unit >= 0):
            raise InputError("cost of the level", self.unit, "must be 0 or more", "Check the seed's cost and weight.")
        return self


class Bounds(msgspec.Struct, frozen=True, kw_only=True):
    """Between which levels something can be said, and why there."""

    low: float
    high: float
    words: str

    def grid(self, what: Lever, *also: float) -> Floats:
        """Levels from low to high, those named among them."""
        if not 0 <= self.low <= self.high < math.inf:
            rule = "the lower must not lie above the higher"
            raise InputError("bounds", f"{self.low:g} to {self.high:g}", rule, "Check the densities on record.")
        if what == "density":
            even = np.geomspace(self.low, self.high, STEPS)
        else:
            even = np.linspace(self.low, self.high, STEPS)
        within = [level for level in also if self.low <= level <= self.high]
        found: Floats = np.unique(np.concatenate([even, within]))
        return found


def expected_profit(response: Response, worth: Worth, levels: Floats) -> Floats:
    """What a tray brings at each level, less what the level costs. [currency]"""
    return worth.gram * response.expected_grams(levels) - worth.unit * levels
