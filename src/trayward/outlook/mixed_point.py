"""One point of a search for spreads: criterion, exact gradient, average information.

References
----------
Gilmour, A. R., Thompson, R. and Cullis, B. R. (1995). Average information REML: an efficient algorithm for variance
parameter estimation in linear mixed models. Biometrics 51, 1440-1450 (from memory).
"""

from __future__ import annotations

from functools import cached_property

import numpy as np

from trayward.outlook.mixed_model import Model, Part
from trayward.outlook.mixed_system import System
from trayward.outlook.terms import Floats, SdPrior


class Point:
    """The criterion at some parameters, its gradient and its average information."""

    def __init__(self, model: Model, parameters: Floats) -> None:
        self.model, self.parameters = model, parameters
        self.factors = {part.place: model.factor(part, parameters) for part in model.parts}
        self.system = System(model.equations, float(np.exp(parameters[0])), self._by_term())
        self.criterion = self.system.criterion(model.method) + sum(each[0] for each in self._priors)

    def _by_term(self) -> list[Floats]:
        found = []
        for place, group in enumerate(self.model.equations.groups):
            if group.known_sd is not None:
                found.append(group.known_by_level())
            else:
                factor = self.factors[place]
                found.append(np.full(group.levels, factor[0, 0]) if group.width == 1 else factor)
        return found

    @cached_property
    def gradient(self) -> Floats:
        """Derivatives of the criterion."""
        found = np.zeros(self.model.size)
        known = self.system.covariances(self.model.method)
        covariances = self.system.level_covariances(known)
        explained, squares = self._fixed_part(known.dense)
        for place, group in enumerate(self.model.equations.groups):
            effects = self.system.solution.effects[place][:, :, 0]
            if group.known_sd is not None:
                sd = group.known_by_level()
                over = np.divide(1.0, sd**2, where=sd > 0, out=np.zeros(group.levels))
                explained += float((sd > 0).sum() - over @ covariances[place][:, 0, 0])
                squares += float(over @ effects[:, 0] ** 2)
            elif place not in self.model.held:
                gone, square = self._part(place, covariances[place].sum(axis=0), effects.T @ effects, found)
                explained, squares = explained + gone, squares + square
        equations = self.model.equations
        free = equations.products.rows - (len(equations.flat) if self.model.method == "reml" else 0)
        self.left = max(self.system.quadratic - squares, 0.0)
        found[0] = 2 * (free - explained - self.left)
        for _, gradient, _ in self._priors:
            found += gradient
        return found

    def _fixed_part(self, dense: Floats) -> tuple[float, float]:
        """How many proper coefficients the rows settle, and their squares in prior sds."""
        equations = self.model.equations
        some = equations.proper[equations.prior_sd[equations.proper] > 0]
        at = self.model.equations.layout.dense_effects + some
        square = equations.prior_sd[some] ** 2
        settled = len(some) - float((dense[at, at] / square).sum())
        return settled, float((self.system.solution.fixed[some, 0] ** 2 / square).sum())

    def _part(self, place: int, covariance: Floats, squares: Floats, gradient: Floats) -> tuple[float, float]:
        """A term's derivatives, written into the gradient; how many effects its rows settle, and their squares."""
        part = next(part for part in self.model.parts if part.place == place)
        back = np.linalg.inv(self.factors[place])
        known, square = back @ covariance @ back.T, back @ squares @ back.T
        settled = part.group.levels * np.eye(part.group.width) - known
        turned = 2 * (settled - square) @ back
        gradient[part.at] = turned[part.columns, part.rows] * self.unit(part)
        return float(np.trace(settled)), float(np.trace(square))

    def unit(self, part: Part) -> Floats:
        """How much an entry of the factor moves with its parameter."""
        diagonal = np.diag(self.factors[part.place])[part.rows]
        return np.where(part.rows == part.columns, diagonal, part.scale[part.rows])

    def log_sd(self, part: Part, effect: int) -> tuple[float, Floats]:
        """Log sd of one of a term's effects, and its slope by every parameter; for a spread above zero."""
        factor, mine = self.factors[part.place], part.rows == effect
        square = float(factor[effect] @ factor[effect])
        slope = np.zeros(self.model.size)
        slope[part.at[mine]] = (factor[part.rows, part.columns] * self.unit(part))[mine] / square
        return float(np.log(square) / 2), slope

    @cached_property
    def _priors(self) -> list[tuple[float, Floats, Floats]]:
        """What each prior adds to the criterion, its gradient, its second derivatives."""
        found = []
        if self.model.residual_prior is not None:
            slope = np.zeros(self.model.size)
            slope[0] = 1.0
            found.append(_penalty(self.parameters[0], slope, self.model.residual_prior))
        for part in self.model.parts:
            if part.group.sd_prior is None:
                continue
            for effect in range(part.group.width):
                log_sd, slope = self.log_sd(part, effect)
                found.append(_penalty(log_sd, slope, part.group.sd_prior))
        return found

    @cached_property
    def information(self) -> Floats:
        """Average of observed and expected second derivatives, with the priors' own."""
        system, products = self.system, self.model.equations.products
        directions = self._directions()
        fixed = np.zeros((products.fixed, directions[0].shape[2] if directions else 1))
        fixed[:, 0] = system.solution.fixed[:, 0]
        turned, ends = products.times(directions, fixed)
        # The first column becomes the residual's own: what is left of the right-hand sides, that is of the rows.
        for place, mine in enumerate(turned):
            mine[:, :, 0] = 2 * (self.model.equations.with_y[place] - mine[:, :, 0])
        ends[:, 0] = 2 * (self.model.equations.xy - ends[:, 0])
        gradient = self.gradient
        products_of = np.zeros((len(gradient), len(gradient)))
        for mine, other in zip(directions, turned, strict=True):
            products_of += np.einsum("lqi,lqj->ij", mine, other)
        products_of[0, :] = products_of[:, 0]
        products_of[0, 0] = 4 * self.left * system.variance
        solved = system.solve(turned, ends)
        taken = ends.T @ solved.fixed
        for mine, other in zip(turned, solved.effects, strict=True):
            taken += np.einsum("lqi,lqj->ij", mine, other)
        found = (products_of - taken) / system.variance
        found = (found + found.T) / 2
        for _, _, second in self._priors:
            found += second
        return np.asarray(found)

    def _directions(self) -> list[Floats]:
        """How effects move with each parameter (levels, q, parameters); the first column holds the solution itself."""
        found = []
        for place, group in enumerate(self.model.equations.groups):
            mine = np.zeros((group.levels, group.width, self.model.size))
            mine[:, :, 0] = self.system.solution.effects[place][:, :, 0]
            found.append(mine)
        for part in self.model.parts:
            if part.place in self.model.held:
                continue
            factor, unit, mine = self.factors[part.place], self.unit(part), found[part.place]
            standard = np.linalg.solve(factor, mine[:, :, 0].T)
            for count, at in enumerate(part.at.tolist()):
                moved = np.zeros_like(factor)
                moved[part.rows[count], part.columns[count]] = unit[count]
                whole = moved + factor @ moved.T @ np.linalg.inv(factor).T
                mine[:, :, at] = (whole @ standard).T
        return found


def _penalty(log_sd: float, slope: Floats, prior: SdPrior) -> tuple[float, Floats, Floats]:
    off = (log_sd - np.log(prior.median)) / prior.log_sd
    return float(off**2), 2 * off / prior.log_sd * slope, 2 / prior.log_sd**2 * np.outer(slope, slope)
