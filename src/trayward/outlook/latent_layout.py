"""Which coefficients each group's linear predictor adds up, and the sums over groups that a fit needs."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from trayward.errors import InputError
from trayward.outlook.terms import FixedPrior, Floats, Ints, Term


class Layout:
    """
    The linear predictor of J groups: offset + fixed columns + one effect a term.

    Coefficients stand in one row: the p fixed ones, then the levels of each term. Effects are held as standard draws;
    `scale` turns all into the coefficients that the predictor adds up, so that a term with no spread needs no care.
    """

    def __init__(self, offset: Floats, fixed: Floats, prior: FixedPrior, terms: Sequence[Term]) -> None:
        self.offset = np.asarray(offset, dtype=np.float64)
        self.fixed = np.asarray(fixed, dtype=np.float64)
        self.prior = prior
        self.terms = tuple(terms)
        self.groups = len(self.offset)
        self._check()
        self.starts = np.cumsum([self.fixed.shape[1], *(term.levels for term in self.terms)])
        self.size = int(self.starts[-1])
        self.levels = [np.asarray(term.level, dtype=np.int64) for term in self.terms]
        self.pairs = {
            (k, m): self.levels[k] * self.terms[m].levels + self.levels[m]
            for k, m in combinations(range(len(self.terms)), 2)
        }
        self.centre = np.concatenate([prior.mean, np.zeros(self.size - self.p)])
        self.precision: Floats = np.concatenate(
            [np.asarray(prior.sd, dtype=np.float64) ** -2.0, np.ones(self.size - self.p)]
        )

    @property
    def p(self) -> int:
        """How many fixed coefficients there are."""
        return int(self.fixed.shape[1])

    def _check(self) -> None:
        if self.fixed.ndim != 2 or len(self.fixed) != self.groups:
            raise InputError("fixed", self.fixed.shape, f"must have a row for each of {self.groups} groups")
        if not (np.isfinite(self.offset).all() and np.isfinite(self.fixed).all()):
            raise InputError("offset or fixed", "not finite", "must be numbers")
        if np.shape(self.prior.mean) != (self.p,) or np.shape(self.prior.sd) != (self.p,):
            raise InputError("fixed prior", np.shape(self.prior.mean), f"must have {self.p} means and sds")
        if not (np.all(np.isfinite(self.prior.mean)) and np.all(np.asarray(self.prior.sd) > 0)):
            raise InputError("fixed prior", "no number", "must have finite means and sds above 0")
        for term in self.terms:
            _check_term(term, self.groups)
        flat = self.fixed[:, np.isinf(self.prior.sd)]
        if flat.shape[1] and np.linalg.matrix_rank(flat) < flat.shape[1]:
            rule = "cannot be told apart by these groups"
            raise InputError("fixed columns", flat.shape, rule, "Give their coefficients a prior, or leave some out.")

    def block(self, k: int) -> slice:
        """Where the effects of term `k` stand among the coefficients."""
        return slice(int(self.starts[k]), int(self.starts[k + 1]))

    def scale(self, sds: Sequence[Floats | float]) -> Floats:
        """What turns standard coefficients into real ones, from a standard deviation for each term."""
        spread = [np.broadcast_to(sd, term.levels) for sd, term in zip(sds, self.terms, strict=True)]
        return np.concatenate([np.ones(self.p), *spread])

    def predictor(self, real: Floats) -> Floats:
        """The linear predictor of each group (J,) from real coefficients."""
        eta: Floats = self.offset + self.fixed @ real[: self.p]
        for k, level in enumerate(self.levels):
            eta += real[self.block(k)][level]
        return eta

    def gather(self, row: Floats) -> Floats:
        """The sum of `row` (J,) over the groups that each coefficient is in."""
        sums = [
            np.bincount(level, weights=row, minlength=term.levels)
            for level, term in zip(self.levels, self.terms, strict=True)
        ]
        return np.concatenate([self.fixed.T @ row, *sums])

    def crossed(self, weight: Floats) -> Floats:
        """The sum of `weight` (J,) over the groups that each pair of coefficients shares, (size, size)."""
        total = np.zeros((self.size, self.size))
        weighted = self.fixed * weight[:, None]
        total[: self.p, : self.p] = self.fixed.T @ weighted
        for k, (level, term) in enumerate(zip(self.levels, self.terms, strict=True)):
            block = self.block(k)
            here = np.arange(block.start, block.stop)
            total[here, here] = np.bincount(level, weights=weight, minlength=term.levels)
            for column in range(self.p):
                sums = np.bincount(level, weights=weighted[:, column], minlength=term.levels)
                total[block, column] = total[column, block] = sums
        for (k, m), pair in self.pairs.items():
            shape = (self.terms[k].levels, self.terms[m].levels)
            sums = np.bincount(pair, weights=weight, minlength=shape[0] * shape[1]).reshape(shape)
            total[self.block(k), self.block(m)], total[self.block(m), self.block(k)] = sums, sums.T
        return total

    def spot(self, k: int) -> Ints:
        """Which coefficient of term `k` each group takes, (J,)."""
        return self.levels[k] + int(self.starts[k])


def variance(covariance: Floats, fixed: Floats, spots: Sequence[Ints], shares: Sequence[Floats]) -> Floats:
    """
    Variance of `fixed` (n, p) times the fixed coefficients plus a share of one coefficient for each term, (n,).

    Parameters
    ----------
    covariance : array (size, size)
        Of all coefficients.
    fixed : array (n, p)
        What fixed coefficients are multiplied by.
    spots, shares : sequence of array (n,)
        For each term, which coefficient a row takes and what it is multiplied by.
    """
    p = fixed.shape[1]
    total: Floats = np.einsum("ij,jk,ik->i", fixed, covariance[:p, :p], fixed, optimize=True)
    for k, (spot, share) in enumerate(zip(spots, shares, strict=True)):
        total += share * share * covariance[spot, spot]
        if p:
            total += 2 * share * np.einsum("ij,ij->i", fixed, covariance[spot, :p])
        for other, other_share in zip(spots[:k], shares[:k], strict=True):
            total += 2 * share * other_share * covariance[spot, other]
    return total


def _check_term(term: Term, groups: int) -> None:
    """Raise `InputError` unless a term can be used here: one effect a level, levels in range."""
    level = np.asarray(term.level)
    if term.columns is not None:
        raise InputError(f"term {term.name}", "columns", "must have one effect a level, multiplied by one")
    if level.shape != (groups,):
        raise InputError(f"term {term.name}", level.shape, f"must name a level for each of {groups} groups")
    if groups and not (level.min() >= 0 and level.max() < term.levels):
        raise InputError(f"term {term.name}", f"{level.min()} to {level.max()}", f"must lie in 0 to {term.levels - 1}")
    if term.known_sd is not None and not np.all(np.isfinite(term.known_sd) & (np.asarray(term.known_sd) >= 0)):
        raise InputError(f"term {term.name}", term.known_sd, "must have a known sd at or above 0")
