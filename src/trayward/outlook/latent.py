"""Models whose groups are seen only through a likelihood of their own: round times, losses.

A group (one sowing in one stage, one sowing's losses) has a linear predictor, eta = offset + fixed coefficients + one
effect a random term. What was seen of it is told by a `Likelihood`. Coefficients are integrated out by Laplace's
approximation; the standard deviations that then fit best are searched.

The parts: `latent_layout` (who adds up to what), `latent_mode` (the best coefficients at given spreads),
`latent_search` (the spreads), and here what a caller meets.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np

from trayward.errors import InputError
from trayward.outlook.latent_layout import Layout, variance
from trayward.outlook.latent_mode import Likelihood, Mode, Told, climb, criterion_of
from trayward.outlook.latent_search import MANY, Search, search
from trayward.outlook.terms import NEW, FixedPrior, Floats, Ints, Term

__all__ = ["Draws", "LatentFit", "Likelihood", "Predicted", "Spreads", "Told", "fit_among", "fit_latent", "settle"]

THIN: Final = 8
"""Of many groups one in this many is fitted first, to begin from."""


@dataclass(frozen=True)
class Spreads:
    """Standard deviations: `inner` of the likelihood (k,), and one for each term, or one for each of its levels."""

    inner: Floats
    terms: Mapping[str, Floats | float]


@dataclass(frozen=True)
class Predicted:
    """
    Predictors of n rows: `mean`, and `known_sd`, the doubt of all that was fitted, both (n,).

    `new_sd` holds for each term what a level not seen yet adds, (n,): zero where the level is known.
    """

    mean: Floats
    known_sd: Floats
    new_sd: Mapping[str, Floats]

    @property
    def sd(self) -> Floats:
        """All doubt of the predictor together. [-]"""
        return np.asarray(np.sqrt(self.known_sd**2 + sum(sd**2 for sd in self.new_sd.values())))


@dataclass(frozen=True)
class Draws:
    """Joint draws: `fixed` (n, p), and the effects of each term, (n, levels)."""

    fixed: Floats
    effects: Mapping[str, Floats]


@dataclass(frozen=True)
class LatentFit:
    """A fitted model: spreads, coefficients and their doubt; `criterion` is -2 log marginal likelihood (Laplace)."""

    spreads: Spreads
    criterion: float
    settled: bool
    """Whether the search of spreads ended where it should."""
    layout: Layout = field(repr=False)
    mode: Mode = field(repr=False)

    @property
    def real(self) -> Floats:
        """All coefficients, fixed ones first."""
        return self.mode.coefficients * self.mode.scale

    @property
    def fixed(self) -> Floats:
        """Fixed coefficients (p,)."""
        return self.real[: self.layout.p]

    @cached_property
    def covariance(self) -> Floats:
        """Covariance of all coefficients, fixed ones first."""
        root = self.mode.root * self.mode.scale[:, None]
        return np.asarray(root @ root.T)

    @property
    def fixed_covariance(self) -> Floats:
        """Covariance of the fixed coefficients (p, p)."""
        return self.covariance[: self.layout.p, : self.layout.p]

    @property
    def effects(self) -> dict[str, Floats]:
        """Effects of each term, shrunken, one a level."""
        return self._by_term(self.real)

    @cached_property
    def effect_se(self) -> dict[str, Floats]:
        """Standard error of each effect, given the spreads."""
        root = self.mode.root * self.mode.scale[:, None]
        return self._by_term(np.sqrt(np.einsum("ij,ij->i", root, root)))

    def _by_term(self, row: Floats) -> dict[str, Floats]:
        return {term.name: row[self.layout.block(k)] for k, term in enumerate(self.layout.terms)}

    def predict(self, offset: Floats, fixed: Floats, levels: Mapping[str, Ints]) -> Predicted:
        """
        Predictors of rows that need not have been fitted.

        Parameters
        ----------
        offset : array (n,)
        fixed : array (n, p)
        levels : mapping
            Each term's level for each row (n,); `NEW`, or a term left out, is a level not seen yet.

        Notes
        -----
        A new level of a term whose known standard deviation differs between levels takes their root mean square.
        """
        spots, shares, new_sd = [], [], {}
        mean = np.asarray(offset, dtype=np.float64) + fixed @ self.fixed
        for k, term in enumerate(self.layout.terms):
            level = np.asarray(levels.get(term.name, np.full(len(mean), NEW)), dtype=np.int64)
            _require_levels(term, level)
            known = level != NEW
            spots.append(np.where(known, level, 0) + int(self.layout.starts[k]))
            shares.append(known.astype(np.float64))
            new_sd[term.name] = np.where(known, 0.0, math.sqrt(np.mean(np.square(self.spreads.terms[term.name]))))
            mean = mean + shares[-1] * self.real[spots[-1]]
        doubt = variance(self.covariance, np.asarray(fixed, dtype=np.float64), spots, shares)
        return Predicted(mean, np.sqrt(np.maximum(doubt, 0.0)), new_sd)

    def draw(self, rng: np.random.Generator, n: int) -> Draws:
        """Joint draws of all coefficients from the normal distribution about the best ones."""
        standard = self.mode.coefficients + rng.standard_normal((n, self.layout.size)) @ self.mode.root.T
        real = standard * self.mode.scale
        effects = {term.name: real[:, self.layout.block(k)] for k, term in enumerate(self.layout.terms)}
        return Draws(real[:, : self.layout.p], effects)


def _require_levels(term: Term, level: Ints) -> None:
    if level.size and not (level.min() >= NEW and level.max() < term.levels):
        shown = f"{level.min()} to {level.max()}"
        raise InputError(f"term {term.name}", shown, f"must lie in 0 to {term.levels - 1}", f"A new one is {NEW}.")


def fit_latent(
    likelihood: Likelihood,
    offset: Floats,
    fixed: Floats,
    fixed_prior: FixedPrior,
    terms: Sequence[Term],
    *,
    start: Spreads | LatentFit | None = None,
    tolerance: float = 1e-3,
) -> LatentFit:
    """
    Fit coefficients and spreads.

    Parameters
    ----------
    likelihood : Likelihood
        What was seen of J groups.
    offset : array (J,)
        What is known of each predictor beforehand.
    fixed : array (J, p)
        What fixed coefficients are multiplied by; p may be 0.
    fixed_prior : FixedPrior
        What is believed of them.
    terms : sequence of Term
        Random effects, one a level; a term with `known_sd` is not searched.
    start : Spreads or LatentFit, optional
        Where to begin; an earlier fit saves most of the work.
    tolerance : float
        The search ends when one more step would lower the criterion by less than half of this. [-2 log likelihood]

    Returns
    -------
    LatentFit

    Raises
    ------
    InputError
        If shapes do not fit, or what was seen sets no bound to a fixed coefficient that has no prior.

    Notes
    -----
    The Laplace criterion integrates fixed coefficients and effects alike, as restricted likelihood does, so that
    spreads are not underrated where coefficients are many. Its slope counts in how the best coefficients follow the
    spreads; steps are quasi-Newton from the expected curvature. A term without a prior may come out with no spread at
    all. With no group, spreads stay at their priors' medians, and at a rough guess where there is no prior.

    References
    ----------
    Tierney, L. and Kadane, J. B. (1986). Accurate approximations for posterior moments and marginal densities. Journal
    of the American Statistical Association 81:82-86. (From memory.)
    Breslow, N. E. and Clayton, D. G. (1993). Approximate inference in generalized linear mixed models. Journal of the
    American Statistical Association 88:9-25. (From memory.)
    """
    layout = Layout(offset, fixed, fixed_prior, terms)
    _require_groups(likelihood, layout)
    problem = Search(likelihood, layout)
    if start is None and layout.groups >= MANY:
        start = _thinned(likelihood, layout)
    earlier = start if isinstance(start, LatentFit) else None
    given = earlier.spreads if earlier else start if isinstance(start, Spreads) else None
    logs = problem.begin(given.inner if given else None, given.terms if given else {})
    found = search(problem, logs, begin(layout, earlier), tolerance)
    names = [term.name for term in layout.terms]
    spreads = Spreads(problem.inner(found.logs), dict(zip(names, problem.sds(found.logs), strict=True)))
    return LatentFit(spreads, criterion_of(layout, found.mode), found.settled, layout, found.mode)


def _thinned(likelihood: Likelihood, layout: Layout) -> LatentFit | None:
    """A rough fit of every eighth group: where the fit of all begins costs an eighth to find."""
    some = np.arange(0, layout.groups, THIN)
    terms = [
        Term(name=term.name, level=level[some], levels=term.levels, known_sd=term.known_sd, sd_prior=term.sd_prior)
        for term, level in zip(layout.terms, layout.levels, strict=True)
    ]
    try:
        part = likelihood.some(some)
        return fit_latent(part, layout.offset[some], layout.fixed[some], layout.prior, terms, tolerance=0.1)
    except InputError:  # A fixed column that only the others tell of.
        return None


ROUGH = 0.01
"""Where spreads are known to a few parts in a hundred only, the search need not end nearer. [-2 log likelihood]"""


def fit_among(
    likelihood: Likelihood,
    offset: Floats,
    fixed: Floats,
    fixed_prior: FixedPrior,
    terms: Sequence[Term],
    *,
    among: int,
) -> LatentFit:
    """
    Fit as `fit_latent` does, the spreads by no more than `among` groups, the coefficients by all.

    Spreads are known to a few parts in a hundred from hundreds of groups; many more would only take longer. The last
    groups are taken: what differs today counts more than what differed long ago.
    """
    groups = likelihood.groups
    if groups <= among:
        return fit_latent(likelihood, offset, fixed, fixed_prior, terms)
    some = np.arange(groups - among, groups)
    fewer = [
        Term(name=term.name, level=term.level[some], levels=term.levels, known_sd=term.known_sd, sd_prior=term.sd_prior)
        for term in terms
    ]
    found = fit_latent(likelihood.some(some), offset[some], fixed[some], fixed_prior, fewer, tolerance=ROUGH)
    return settle(likelihood, offset, fixed, fixed_prior, terms, found.spreads, start=found)


def settle(
    likelihood: Likelihood,
    offset: Floats,
    fixed: Floats,
    fixed_prior: FixedPrior,
    terms: Sequence[Term],
    spreads: Spreads,
    *,
    start: LatentFit | Floats | None = None,
) -> LatentFit:
    """
    Fit the coefficients alone, at spreads that are given: what a new entry asks for between two fits.

    `start` may be an earlier fit; levels that it had keep their numbers, later ones begin at zero. Or it is the
    standard coefficients (`LatentFit.mode.coefficients`) of a fit of the same groups: then one look tells it is done.
    """
    layout = Layout(offset, fixed, fixed_prior, terms)
    _require_groups(likelihood, layout)
    sds = [spreads.terms[term.name] if term.known_sd is None else term.known_sd for term in layout.terms]
    inner = np.asarray(spreads.inner, dtype=np.float64)
    mode = climb(likelihood, layout, inner, layout.scale(sds), begin(layout, start))
    held = Spreads(inner, dict(zip((term.name for term in layout.terms), sds, strict=True)))
    return LatentFit(held, criterion_of(layout, mode), True, layout, mode)


def begin(layout: Layout, start: LatentFit | Floats | None) -> Floats:
    """Standard coefficients to begin a climb from: the prior's middle, or an earlier fit's as far as it had them."""
    coefficients = layout.centre.copy()
    if isinstance(start, np.ndarray):
        return start if start.shape == coefficients.shape and np.isfinite(start).all() else coefficients
    if start is None or start.layout.p != layout.p:
        return coefficients
    coefficients[: layout.p] = start.fixed
    earlier = start._by_term(start.mode.coefficients)
    for k, term in enumerate(layout.terms):
        had = earlier.get(term.name, np.zeros(0))[: term.levels]
        coefficients[layout.block(k)][: len(had)] = had
    return coefficients


def _require_groups(likelihood: Likelihood, layout: Layout) -> None:
    if likelihood.groups != layout.groups:
        raise InputError("offset", f"{layout.groups} rows", f"must have one for each of {likelihood.groups} groups")
