"""Henderson's mixed-model equations at given spreads: solution, covariances and likelihood.

Every effect is written as its factor times a standard normal (u = factor @ v), so an effect of spread zero is as good
as any other, and the equations of v are the products, scaled, plus one on the diagonal.

References
----------
Henderson, C. R. (1975). Best linear unbiased estimation and prediction under a selection model. Biometrics 31, 423-447
(from memory). Bates, D., Maechler, M., Bolker, B. and Walker, S. (2015). Fitting linear mixed-effects models using
lme4. Journal of Statistical Software 67(1), doi 10.18637/jss.v067.i01, for the spherical effects.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from trayward.outlook.mixed_equations import Equations, Method
from trayward.outlook.terms import Floats

LOG_TURN = float(np.log(2 * np.pi))


@dataclass(frozen=True, eq=False)
class Solution:
    """Effects of every term (levels, q, m) and fixed coefficients less the offset (p, m)."""

    effects: list[Floats]
    fixed: Floats


@dataclass(frozen=True, eq=False)
class Covariances:
    """What is known of the solution: covariances of `dense` unknowns, variances of `second`, and those between."""

    second: Floats
    between: Floats
    dense: Floats


class System:
    """The equations at given spreads. `factors` holds, by term, the sd of each level (levels,) or one factor (q, q)."""

    def __init__(self, equations: Equations, residual: float, factors: Sequence[Floats]) -> None:
        self.equations, self.layout = equations, equations.layout
        self.residual, self.factors = residual, list(factors)
        self.variance = residual**2
        self._put_away_first()
        self._put_away_second()
        self._factor_dense()
        self.solution, self.quadratic = self._solved()

    # Putting away

    def _put_away_first(self) -> None:
        self.log_first, first = 0.0, self.layout.first
        width = 1 if first is None else self.equations.groups[first].width
        self.kappa = np.zeros((0, width, width))
        if first is None:
            return
        own, factor = self.equations.groups[first].own, self.factors[first]
        if width == 1:
            square = factor**2
            self.kappa = (square / (self.variance + square * own[:, 0, 0]))[:, None, None]
            self.log_first = float(np.log1p(square * own[:, 0, 0] / self.variance).sum())
            return
        inner = factor.T @ own @ factor / self.variance + np.eye(width)
        self.kappa = factor @ np.linalg.inv(inner) @ factor.T / self.variance
        self.log_first = float(np.linalg.slogdet(inner)[1].sum())

    def _put_away_second(self) -> None:
        own, self.between, full = self.layout.reduced(self.kappa)
        self.log_second, self.second_kappa = 0.0, np.zeros(0)
        self.full = full
        if self.layout.second is not None:
            square = self.factors[self.layout.second] ** 2
            self.second_kappa = square / (self.variance + square * own)
            self.log_second = float(np.log1p(square * own / self.variance).sum())
            self.full = full - (self.between * self.second_kappa[:, None]).T @ self.between

    def _factor_dense(self) -> None:
        """Cholesky factor of the dense equations, unknown coefficients last."""
        start, equations = self.layout.dense_effects, self.equations
        effects = np.arange(start)
        self.order = np.concatenate([effects, start + equations.proper, start + equations.flat])
        self.proper = start + len(equations.proper)
        inner = self._scaled(self._scaled(self.full[np.ix_(self.order, self.order)]).T) / self.variance
        inner[np.arange(self.proper), np.arange(self.proper)] += 1.0
        self.cholesky = np.linalg.cholesky(inner)
        self.inverse = np.linalg.solve(self.cholesky, np.eye(len(inner)))

    def _scaled(self, values: Floats) -> Floats:
        """The transposed factors times rows of dense unknowns, in the order of the factorisation."""
        found = values * self._row_scale[:, None]
        for start, stop, factor in self._wide:
            rows = values[start:stop].reshape(-1, len(factor), values.shape[1])
            found[start:stop] = (factor.T @ rows).reshape(stop - start, -1)
        return found

    def unscaled(self, values: Floats) -> Floats:
        """The factors times rows of standard unknowns, put back to their places among the dense columns."""
        found = np.zeros((self.layout.dense, values.shape[1]))
        found[self.order] = values * self._row_scale[:, None]
        for start, stop, factor in self._wide:
            rows = values[start:stop].reshape(-1, len(factor), values.shape[1])
            found[start:stop] = (factor @ rows).reshape(stop - start, -1)
        return found

    @cached_property
    def _row_scale(self) -> Floats:
        groups, equations = self.equations.groups, self.equations
        parts = [
            self.factors[place] if groups[place].width == 1 else np.ones(groups[place].levels * groups[place].width)
            for place in self.layout.rest
        ]
        return np.concatenate([*parts, equations.prior_sd[equations.proper], self.residual / equations.flat_size])

    @cached_property
    def _wide(self) -> list[tuple[int, int, Floats]]:
        """Rows of dense terms with several effects a level, and their factor."""
        groups, starts = self.equations.groups, self.layout.starts
        wide = [place for place in self.layout.rest if groups[place].width > 1]
        return [(starts[at], starts[at] + groups[at].levels * groups[at].width, self.factors[at]) for at in wide]

    # Solving

    def forward(self, effects: Sequence[Floats], fixed: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Right-hand sides in the order unknowns are put away: first, second, dense; and what the first two took."""
        layout, columns = self.layout, fixed.shape[1]
        dense = np.concatenate([*(effects[place].reshape(-1, columns) for place in layout.rest), fixed])
        second = np.zeros((0, columns)) if layout.second is None else effects[layout.second][:, 0, :]
        first, taken = np.zeros((0, 1, columns)), np.zeros(columns)
        if layout.first is not None:
            first = effects[layout.first]
            weighted = self.kappa @ first
            sums = layout.by_code(weighted)
            ends = np.tensordot(self.equations.groups[layout.first].with_fixed, weighted, axes=((0, 1), (0, 1)))
            second = second - sums[: layout.seconds]
            dense = dense - np.concatenate([sums[layout.seconds :], ends])
            taken = (first * weighted).sum(axis=(0, 1))
        weighted = self.second_kappa[:, None] * second
        return first, second, dense - self.between.T @ weighted, taken + (second * weighted).sum(axis=0)

    def backward(self, first: Floats, second: Floats, dense: Floats) -> Solution:
        """All unknowns, from the dense ones and the right-hand sides of those put away."""
        layout, groups = self.layout, self.equations.groups
        columns = dense.shape[1]
        found = [np.zeros((group.levels, group.width, columns)) for group in groups]
        for place in layout.rest:
            start, shape = layout.starts[place], found[place].shape
            found[place] = dense[start : start + shape[0] * shape[1]].reshape(shape)
        seconds = self.second_kappa[:, None] * (second - self.between @ dense)
        if layout.second is not None:
            found[layout.second] = seconds[:, None, :]
        if layout.first is not None:
            met = layout.by_level(seconds, dense, groups[layout.first].levels)
            found[layout.first] = self.kappa @ (first - met)
        return Solution(found, dense[layout.dense_effects :])

    def dense_solution(self, dense: Floats) -> Floats:
        """The dense unknowns by their right-hand side."""
        standard = self.inverse.T @ (self.inverse @ (self._scaled(dense[self.order]) / self.variance))
        return self.unscaled(standard)

    def solve(self, effects: Sequence[Floats], fixed: Floats) -> Solution:
        """All unknowns by right-hand sides: effects (levels, q, m), fixed (p, m)."""
        first, second, dense, _ = self.forward(effects, fixed)
        return self.backward(first, second, self.dense_solution(dense))

    def _solved(self) -> tuple[Solution, float]:
        """The solution, and the outcome's square in the inverse of its variance."""
        right = [each[:, :, None] for each in self.equations.with_y]
        first, second, dense, taken = self.forward(right, self.equations.xy[:, None])
        found = self.dense_solution(dense)
        left = self.equations.yy - taken[0] - float(found[:, 0] @ dense[:, 0])
        return self.backward(first, second, found), max(left, 0.0) / self.variance

    @property
    def coefficients(self) -> Floats:
        """Estimates of the fixed coefficients (p,)."""
        return np.asarray(self.equations.offset + self.solution.fixed[:, 0])

    def new_factor(self, at: int) -> Floats:
        """Factor of the covariance of the effects of any level (q, q), for a term whose levels vary alike."""
        group, factor = self.equations.groups[at], self.factors[at]
        return np.reshape(factor[:1], (1, 1)) if group.width == 1 else factor

    # Likelihood and covariances

    def criterion(self, method: Method) -> float:
        """Minus twice the (restricted) log likelihood."""
        equations, flat = self.equations, len(self.equations.flat)
        halves = np.log(np.diag(self.cholesky))
        rows = equations.products.rows
        common = rows * (LOG_TURN + np.log(self.variance)) - equations.products.log_weights
        common += self.log_first + self.log_second + 2 * halves[: self.proper].sum() + self.quadratic
        if method == "ml":
            return float(common)
        scale = np.log(equations.flat_size / self.residual)
        return float(common - flat * LOG_TURN + 2 * (halves[self.proper :] + scale).sum())

    def covariances(self, method: Method = "reml") -> Covariances:
        """Covariances of the solution; for `ml` as if the flat coefficients were known."""
        if method == "reml":
            standard = self.inverse.T
        else:
            standard = np.zeros_like(self.inverse)
            standard[: self.proper, : self.proper] = self.inverse[: self.proper, : self.proper].T
        root = self.unscaled(standard)
        dense = root @ root.T
        between = -self.second_kappa[:, None] * (self.between @ dense)
        second = self.variance * self.second_kappa - self.second_kappa * (between * self.between).sum(axis=1)
        return Covariances(second, between, dense)

    def level_covariances(self, known: Covariances) -> list[Floats]:
        """Covariance of each level's effects, by term (levels, q, q)."""
        layout, found = self.layout, []
        for place, group in enumerate(self.equations.groups):
            if place == layout.first:
                met = layout.met_variance(known.second, known.between, known.dense)
                found.append(self.variance * self.kappa + self.kappa @ met @ self.kappa)
            elif place == layout.second:
                found.append(known.second[:, None, None])
            else:
                at = layout.starts[place] + np.arange(group.levels * group.width).reshape(group.levels, group.width)
                found.append(known.dense[at[:, :, None], at[:, None, :]])
        return found
