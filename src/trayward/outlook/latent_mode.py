"""The best coefficients of a latent model at given spreads, and its criterion there."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final, NamedTuple, Protocol

import numpy as np

from trayward.errors import InputError
from trayward.outlook.latent_layout import Layout
from trayward.outlook.terms import Floats, Ints, SdPrior

HALVINGS: Final = 30
CLIMBS: Final = 60
"""Most Newton steps to the best coefficients; concave likelihoods take three to eight."""
NEAR: Final = 1e-6
"""The climb ends when one more step would gain less than half of this. [log likelihood]"""
SURE: Final = 0.01
"""A step that promises less than half of this is taken unseen: so near the top Newton's steps do not overshoot, while
the errors of a likelihood's sums could hide the gain. [log likelihood]"""


class Told(NamedTuple):
    """
    What a likelihood says of each group at a predictor.

    Its log, its slope in eta, and minus its second derivative there, all (J,); and its slopes in the logs of the
    likelihood's own standard deviations, (J, k).
    """

    loglik: Floats
    slope: Floats
    curvature: Floats
    inner_slopes: Floats


class Likelihood(Protocol):
    """What was seen of J groups; its log must be concave in eta."""

    @property
    def groups(self) -> int:
        """How many groups there are."""

    @property
    def inner(self) -> tuple[SdPrior | None, ...]:
        """What is believed of each of its own standard deviations."""

    @property
    def guess(self) -> tuple[float, ...]:
        """Where a search of its own standard deviations begins."""

    def some(self, groups: Ints) -> Likelihood:
        """The same of some of the groups."""

    def told(self, eta: Floats, inner: Floats) -> Told:
        """What it says at predictors `eta` (J,) and standard deviations `inner` (k,)."""


@dataclass(frozen=True)
class Mode:
    """The best coefficients at given spreads: standard ones, what scales them, and how sharply the posterior peaks."""

    coefficients: Floats
    scale: Floats
    eta: Floats
    told: Told
    height: float
    root: Floats = field(repr=False)
    """Covariance of the standard coefficients is root @ root.T."""
    log_det: float
    """Log determinant of the sharpness, the inverse of that covariance."""


def climb(likelihood: Likelihood, layout: Layout, inner: Floats, scale: Floats, start: Floats) -> Mode:
    """Newton's method with step halving; the log posterior is concave, so there is one top."""
    coefficients = start
    eta = layout.predictor(coefficients * scale)
    told = likelihood.told(eta, inner)
    height = _height(layout, told, coefficients)
    for _ in range(CLIMBS):
        slope = scale * layout.gather(told.slope) - _pull(layout, coefficients - layout.centre)
        sharp = _sharpness(layout, told, scale)
        step = _solve(sharp, slope)
        gain = float(slope @ step)
        if gain < NEAR:
            return _peak(coefficients, scale, eta, told, height, sharp)
        for halved in range(HALVINGS):
            share = 0.5**halved
            tried = coefficients + share * step
            eta_tried = layout.predictor(tried * scale)
            told_tried = likelihood.told(eta_tried, inner)
            reached = _height(layout, told_tried, tried)
            if gain < SURE or reached >= height + 1e-4 * share * gain:
                break
        else:
            break  # Rounding hides any further gain: this is the top.
        coefficients, eta, told, height = tried, eta_tried, told_tried, reached
    return _peak(coefficients, scale, eta, told, height, _sharpness(layout, told, scale))


def _height(layout: Layout, told: Told, coefficients: Floats) -> float:
    """Log likelihood plus log prior of the standard coefficients, up to what does not depend on them."""
    off = coefficients - layout.centre
    return float(told.loglik.sum()) - 0.5 * float(off @ _pull(layout, off))


def _pull(layout: Layout, off: Floats) -> Floats:
    """How hard the prior pulls standard coefficients back that are off its middle."""
    return layout.precision * off if layout.precision.ndim == 1 else layout.precision @ off


def _sharpness(layout: Layout, told: Told, scale: Floats) -> Floats:
    """Minus the second derivatives of the log posterior in the standard coefficients."""
    sharp = layout.crossed(told.curvature)
    sharp *= scale
    sharp *= scale[:, None]
    if layout.precision.ndim == 1:
        sharp[np.diag_indices_from(sharp)] += layout.precision
    else:
        sharp += layout.precision
    return sharp


def _solve(sharp: Floats, slope: Floats) -> Floats:
    try:
        return np.asarray(np.linalg.solve(sharp, slope))
    except np.linalg.LinAlgError:
        raise _unknowable() from None


def _unknowable() -> InputError:
    rule = "cannot be found: what was seen sets no bound to some of them"
    return InputError("coefficients", "without bound", rule, "Give the fixed coefficients a prior.")


def _peak(coefficients: Floats, scale: Floats, eta: Floats, told: Told, height: float, sharp: Floats) -> Mode:
    try:
        lower = np.linalg.cholesky(sharp)
    except np.linalg.LinAlgError:
        raise _unknowable() from None
    log_det = 2 * float(np.log(np.diag(lower)).sum())
    return Mode(coefficients, scale, eta, told, height, np.linalg.inv(lower).T, log_det)


def criterion_of(layout: Layout, mode: Mode) -> float:
    """
    Minus twice the log marginal likelihood by Laplace's approximation.

    A fixed coefficient without a prior is integrated over a flat density of one, as restricted likelihood does.
    """
    sd = np.asarray(layout.prior.sd, dtype=np.float64)
    flat = np.isinf(sd)
    widths = 2 * float(np.log(sd[~flat]).sum())
    return -2 * mode.height + mode.log_det + widths - int(flat.sum()) * math.log(2 * math.pi)
