"""Losses: k of a sowing's n trays thrown away, more alike within a sowing than chance would have it.

Mould comes by the sowing. On the logit scale a group has predictor eta + v; v, normal with standard deviation `shared`,
is summed over group by group.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from trayward.errors import InputError
from trayward.outlook.latent_mode import Told
from trayward.outlook.terms import Floats, Ints, SdPrior

GUESS: Final = 0.5
"""Where a search of the shared standard deviation begins. [logit]"""
DROP: Final = 16.0
"""How far the log of the integrand has fallen where the sum over v ends; leaves out about 1e-7 of it."""
FEWEST: Final = 16
"""Points of a group's sum: over a normal curve these lie two thirds of a standard deviation apart, and equal steps of
one miss it by 5e-9."""
STRIDE: Final = 0.7
"""Longest step between points: the edge of a chance like (1 - p)^n is never steeper than a spread of 1.28. [logit]"""
CHUNK: Final = 256
"""Groups worked on at once: few enough for a core's own memory."""


@dataclass(frozen=True)
class Counts:
    """`lost` (J,) of `of` (J,) trays in each group; a group of none says nothing."""

    lost: Floats
    of: Floats

    def __post_init__(self) -> None:
        lost, of = np.asarray(self.lost, dtype=np.float64), np.asarray(self.of, dtype=np.float64)
        if lost.shape != of.shape or lost.ndim != 1:
            raise InputError("counts", f"{lost.shape} of {of.shape}", "must be two rows of the same length")
        fine = (lost >= 0) & (lost <= of) & np.isfinite(of)
        if not fine.all():
            at = int(np.argmin(fine))
            raise InputError(f"group {at}", f"{lost[at]:g} of {of[at]:g}", "must be between none and all of them")
        object.__setattr__(self, "lost", lost)
        object.__setattr__(self, "of", of)


class CountLikelihood:
    """
    Counts with a shared normal share of each group, as a `Likelihood` of `latent.fit_latent`.

    Parameters
    ----------
    counts : Counts
    prior : SdPrior, optional
        What is believed of the shared standard deviation. [logit]
    known_shared : float, optional
        It, where it is not to be searched; 0: plain binomial counts. Then `inner` is empty.
    """

    def __init__(self, counts: Counts, prior: SdPrior | None = None, *, known_shared: float | None = None) -> None:
        if known_shared is not None and not 0 <= known_shared < math.inf:
            raise InputError("known_shared", known_shared, "must be at or above 0")
        self.counts = counts
        self.groups = len(counts.of)
        self.known_shared = known_shared
        self.inner: tuple[SdPrior | None, ...] = (prior,) if known_shared is None else ()
        self.ways = np.array([_log_ways(k, n) for k, n in zip(counts.lost, counts.of, strict=True)])

    @property
    def guess(self) -> tuple[float, ...]:
        """Where a search begins. [logit]"""
        return (GUESS,) * len(self.inner)

    def some(self, groups: Ints) -> CountLikelihood:
        """The counts of some of the groups."""
        counts = Counts(self.counts.lost[groups], self.counts.of[groups])
        return CountLikelihood(counts, self.inner[0] if self.inner else None, known_shared=self.known_shared)

    def told(self, eta: Floats, inner: Floats) -> Told:
        """Log likelihood of each group, its slopes and curvature."""
        shared = float(inner[0]) if self.known_shared is None else self.known_shared
        if shared == 0:
            log, slope, bend = said(self.counts.lost, self.counts.of, eta)
            return self._told(log + self.ways, slope, bend, shared)
        parts = [np.empty(self.groups) for _ in range(3)]
        for at in range(0, self.groups, CHUNK):
            some = slice(at, at + CHUNK)
            summed = _summed(self.counts.lost[some], self.counts.of[some], eta[some], shared)
            for part, found in zip(parts, summed, strict=True):
                part[some] = found
        return self._told(parts[0] + self.ways, parts[1], parts[2], shared)

    def _told(self, loglik: Floats, slope: Floats, curvature: Floats, shared: float) -> Told:
        # As v spreads, a group's likelihood spreads like heat: d/d shared^2 = half the second derivative in eta.
        inner = (shared**2 * (slope**2 - curvature))[:, None]
        return Told(loglik, slope, np.maximum(curvature, 0.0), inner[:, : len(self.inner)])


def _log_ways(k: float, n: float) -> float:
    return math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)


def said(lost: Floats, of: Floats, x: Floats) -> tuple[Floats, Floats, Floats]:
    """Log chance of counts at logit `x` but for the ways to choose, its slope, and minus its second derivative."""
    small = np.exp(-np.abs(x))
    share = np.where(x > 0, 1.0, small) / (1 + small)
    log = lost * x - of * (np.maximum(x, 0.0) + np.log1p(small))
    return log, lost - of * share, of * small / np.square(1 + small)


def _summed(lost: Floats, of: Floats, eta: Floats, shared: float) -> tuple[Floats, Floats, Floats]:
    """Log likelihood, slope and curvature of some groups with v summed over by equal steps."""
    left, right = window(lost, of, eta, shared)
    number = max(FEWEST, math.ceil(float((right - left).max()) / STRIDE))
    step = (right - left) / number
    x = left[:, None] + step[:, None] * (np.arange(number) + 0.5)
    log, slope, bend = said(lost[:, None], of[:, None], x)
    log -= 0.5 * np.square((x - eta[:, None]) / shared)
    top = log.max(axis=1)
    weight = np.exp(log - top[:, None])
    total = weight.sum(axis=1)
    weight /= total[:, None]
    lean = np.einsum("ij,ij->i", weight, slope)
    curvature = np.einsum("ij,ij->i", weight, bend - slope * slope) + lean * lean
    return top + np.log(total * step / (shared * math.sqrt(2 * math.pi))), lean, curvature


def window(lost: Floats, of: Floats, eta: Floats, shared: float) -> tuple[Floats, Floats]:
    """
    The stretch of eta + v outside which the integrand of each group has fallen by `DROP`; two (J,).

    Notes
    -----
    The log of the integrand is concave and bends at least by 1 / shared^2. From near its top, found by Newton's method
    in steps of at most 2, it falls at least as fast as the normal of v: that gives outer ends. Newton's method on a
    concave curve comes from there inwards and never passes the true ends.
    """
    precision = shared**-2.0
    top = eta.copy()
    for _ in range(6):
        _, slope, bend = said(lost, of, top)
        pull = slope - precision * (top - eta)
        step = pull / (bend + precision)
        top += np.clip(step, -2.0, 2.0)
    level = said(lost, of, top)[0] - 0.5 * precision * (top - eta) ** 2 - DROP
    pull = said(lost, of, top)[1] - precision * (top - eta)
    reach = (np.abs(pull) + np.sqrt(pull * pull + 2 * precision * DROP)) / precision
    return tuple(_end(lost, of, eta, precision, top + side * reach, level) for side in (-1, 1))  # type: ignore[return-value]


def _end(lost: Floats, of: Floats, eta: Floats, precision: float, end: Floats, level: Floats) -> Floats:
    """Where the integrand's log meets `level`, come at from outside."""
    for _ in range(3):
        log, slope, _ = said(lost, of, end)
        over = log - 0.5 * precision * (end - eta) ** 2 - level
        end = end - np.minimum(over, 0.0) / (slope - precision * (end - eta))
    return end
