"""The search for spreads: exact gradient, average information, Newton steps with safeguards.

Spreads are searched as log sds (a wide term's as the lower factor of its covariance, logs on the diagonal). A spread that
wants to be zero sinks to a floor below which it changes nothing, is held there, and set to zero at the end.

References
----------
Gilmour, A. R., Thompson, R. and Cullis, B. R. (1995). Average information REML: an efficient algorithm for variance
parameter estimation in linear mixed models. Biometrics 51, 1440-1450 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from trayward.errors import InputError
from trayward.outlook.mixed_system import Equations, Method, Solution, Spreads, System, covariance_factor
from trayward.outlook.products import RESIDUAL, Group
from trayward.outlook.terms import Floats, Ints, SdPrior

FLOOR = 1e-3
"""A spread this small, as a share of the least that its best known level could tell from zero, is zero. [-]"""
LEAST_SHARE = 1e-7
"""The residual sd is not searched below this share of the outcome's. [-]"""
LONGEST = 1.5
"""Longest step of one spread. [log]"""
STEPS = 80
DIFFERENCE = 1e-3
"""Step of the numeric second derivatives; their error is about its square. [log]"""
DONE = 1e-9
"""The search ends where a Newton step would lower the criterion by less. [-]"""


@dataclass(frozen=True, eq=False)
class Part:
    """A term whose spread is searched: its place, its parameters' places, and rows and columns of the factor they fill."""

    place: int
    group: Group
    at: Ints
    rows: Ints
    columns: Ints
    scale: Floats
    """What entries off the diagonal are counted in, by row (q,)."""

    @property
    def diagonal(self) -> Ints:
        """Places of the logs of the factor's diagonal."""
        return self.at[self.rows == self.columns]


@dataclass(frozen=True, eq=False)
class Model:
    """Equations and what is searched: `parameters` are the log residual sd, then each part's. `held` parts are zero."""

    equations: Equations
    method: Method
    residual_prior: SdPrior | None
    parts: tuple[Part, ...]
    least: float
    held: frozenset[int] = frozenset()

    @property
    def size(self) -> int:
        """Number of parameters."""
        return 1 + sum(len(part.at) for part in self.parts)

    def factor(self, part: Part, parameters: Floats) -> Floats:
        """Lower factor of a part's covariance (q, q)."""
        found = np.zeros((part.group.width, part.group.width))
        if part.place in self.held:
            return found
        found[part.rows, part.columns] = parameters[part.at] * part.scale[part.rows]
        on = np.arange(part.group.width)
        found[on, on] = np.exp(parameters[part.diagonal])
        return found

    def parameters(self, spreads: Spreads) -> Floats:
        """The parameters of given spreads; zero spreads come out at the floor."""
        found = np.zeros(self.size)
        found[0] = np.log(spreads.residual)
        for part in self.parts:
            given = np.asarray(spreads.terms[part.group.name], dtype=float).reshape(2 * (part.group.width,))
            square = given**2 if part.group.width == 1 else given
            tiny = np.diag(np.exp(2 * self.floors(found)[part.diagonal]))
            factor = covariance_factor(f"start of {part.group.name}", square + tiny, part.group.width)
            found[part.at] = factor[part.rows, part.columns] / part.scale[part.rows]
            found[part.diagonal] = np.log(np.diag(factor))
        return found

    def spreads(self, parameters: Floats) -> Spreads:
        """The spreads that parameters stand for."""
        terms: dict[str, float | Floats] = {}
        for part in self.parts:
            factor = self.factor(part, parameters)
            terms[part.group.name] = float(factor[0, 0]) if part.group.width == 1 else factor @ factor.T
        return Spreads(residual=float(np.exp(parameters[0])), terms=terms)

    def floors(self, parameters: Floats) -> Floats:
        """The least value of each parameter; minus infinity off the diagonal."""
        found = np.full(self.size, -np.inf)
        found[0] = self.least
        for part in self.parts:
            own = part.group.own.diagonal(axis1=1, axis2=2).max(axis=0, initial=0.0)
            known = np.where(own > 0, own, np.inf)
            floor = parameters[0] + np.log(FLOOR) - np.log(known) / 2
            found[part.diagonal] = np.where(np.isfinite(known), floor, -np.inf)
        return found


def model_of(equations: Equations, method: Method, residual_prior: SdPrior | None) -> Model:
    """What is searched."""
    parts: list[Part] = []
    at = 1
    spread = _outcome_sd(equations)
    for place, group in enumerate(equations.groups):
        if group.known_sd is not None:
            continue
        rows, columns = np.tril_indices(group.width)
        size = np.sqrt(group.own.diagonal(axis1=1, axis2=2).sum(axis=0) / max(equations.products.rows, 1))
        scale = spread / np.where(size > 0, size, 1.0)
        parts.append(Part(place, group, at + np.arange(len(rows)), rows, columns, scale))
        at += len(rows)
    return Model(equations, method, residual_prior, tuple(parts), float(np.log(LEAST_SHARE * spread)))


def _outcome_sd(equations: Equations) -> float:
    """Sd of the outcome about its least squares; where that is nil, a little of the outcome's size."""
    products = equations.products
    fine = np.finfo(float).eps * float(np.sqrt(products.centre @ products.xx @ products.centre))
    return max(float(np.sqrt(products.yy / max(products.rows, 1))), fine, 1e-100)


def start_of(model: Model) -> Floats:
    """Where the search begins: priors' medians, else equal shares of what least squares leave."""
    rows, flat = model.equations.products.rows, len(model.equations.flat)
    spread = _outcome_sd(model.equations) * np.sqrt(rows / max(rows - flat, 1))
    share = 1 / np.sqrt(1 + len(model.parts))
    prior = model.residual_prior
    found = np.zeros(model.size)
    found[0] = np.log(prior.median if prior else max(spread * share, np.exp(model.least)))
    for part in model.parts:
        mine = part.group.sd_prior
        found[part.diagonal] = np.log(mine.median) if mine else np.log(part.scale * share)
    return np.maximum(found, model.floors(found))


# One point ------------------------------------------------------------------------------------------------------------


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
        gradient[part.at] = turned[part.columns, part.rows] * self._unit(part)
        return float(np.trace(settled)), float(np.trace(square))

    def _unit(self, part: Part) -> Floats:
        """How much an entry of the factor moves with its parameter."""
        diagonal = np.diag(self.factors[part.place])[part.rows]
        return np.where(part.rows == part.columns, diagonal, part.scale[part.rows])

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
            factor, unit = self.factors[part.place], self._unit(part)
            for effect in range(part.group.width):
                square = float(factor[effect] @ factor[effect])
                slope, mine = np.zeros(self.model.size), part.rows == effect
                slope[part.at[mine]] = (factor[part.rows, part.columns] * unit)[mine] / square
                found.append(_penalty(np.log(square) / 2, slope, part.group.sd_prior))
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
            factor, unit, mine = self.factors[part.place], self._unit(part), found[part.place]
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


# The search -----------------------------------------------------------------------------------------------------------


def search(model: Model, start: Floats) -> tuple[Model, Point, Floats]:
    """
    Lower the criterion as far as it goes.

    Returns
    -------
    tuple
        The model with terms of no spread held at zero, the best point, and the second derivatives there.
    """
    point = _descend(Point(model, start), lambda point: point.information, 1e-4)
    point, second = _polished(point)
    sunk = frozenset(
        part.place for part in model.parts if part.group.width == 1 and _at_floor(point)[part.diagonal].all()
    )
    if not sunk:
        return model, point, second
    held = Model(model.equations, model.method, model.residual_prior, model.parts, model.least, sunk)
    return held, *_polished(Point(held, point.parameters))


def _polished(point: Point) -> tuple[Point, Floats]:
    """Newton steps with numeric second derivatives, made anew until they are those of the end point."""
    second = second_derivatives(point)
    for _ in range(4):
        before = point
        point = _descend(point, lambda _: second, DONE)  # noqa: B023  the steps end within this turn
        if np.abs(point.parameters - before.parameters).max() < DIFFERENCE:
            break
        second = second_derivatives(point)
    return point, second


def _descend(point: Point, second: Callable[[Point], Floats], enough: float) -> Point:
    damping = 0.0
    for _ in range(STEPS):
        free = _free(point)
        step, promise = _step(point.gradient, second(point), free, damping)
        if promise < enough:
            break
        tried = _tried(point, step)
        if tried is not None and tried.criterion < point.criterion + 1e-12 * abs(point.criterion):
            gained = point.criterion - tried.criterion
            point, damping = tried, 0.0 if gained > promise / 4 else max(damping, 1e-2)
            continue
        damping = max(10 * damping, 1e-3)
        if damping > 1e8:
            break
    return point


def _tried(point: Point, step: Floats) -> Point | None:
    parameters = point.parameters + step
    parameters = np.maximum(parameters, point.model.floors(parameters))
    try:
        found = Point(point.model, parameters)
    except np.linalg.LinAlgError:
        return None
    return found if np.isfinite(found.criterion) else None


def _at_floor(point: Point) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    return np.asarray(point.parameters <= point.model.floors(point.parameters) + 1e-9)


def _free(point: Point) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Parameters that may move: not held, and not pressed against their floor."""
    found = ~(_at_floor(point) & (point.gradient >= 0))
    for part in point.model.parts:
        if part.place in point.model.held:
            found[part.at] = False
    return np.asarray(found)


def _step(
    gradient: Floats, second: Floats, free: np.ndarray[tuple[int], np.dtype[np.bool_]], damping: float
) -> tuple[Floats, float]:
    """A damped Newton step no longer than allowed, and by how much an undamped one would lower the criterion."""
    step = np.zeros(len(gradient))
    if not free.any():
        return step, 0.0
    inner, slope = second[np.ix_(free, free)], gradient[free]
    size = np.sqrt(np.maximum(np.abs(np.diag(inner)), 1e-12))
    values, vectors = np.linalg.eigh(inner / np.outer(size, size))
    steep = np.maximum(np.abs(values), 1e-8)
    along = vectors.T @ (slope / size)
    promise = float((along**2 / steep).sum() / 2)
    found = -(vectors @ (along / (steep + damping))) / size
    longest = np.abs(found).max()
    step[free] = found * min(1.0, LONGEST / longest) if longest > 0 else found
    return step, promise


def second_derivatives(point: Point) -> Floats:
    """Second derivatives by differences of the exact gradient; zero for parameters that may not move."""
    size = point.model.size
    found = np.zeros((size, size))
    for at in np.flatnonzero(_free(point)).tolist():
        step = np.zeros(size)
        step[at] = DIFFERENCE
        ends = [Point(point.model, point.parameters + sign * step).gradient for sign in (1, -1)]
        found[:, at] = (ends[0] - ends[1]) / (2 * DIFFERENCE)
    return (found + found.T) / 2


def boundary_of(point: Point) -> tuple[str, ...]:
    """Terms whose spread, or that of a combination of their effects, is zero; the residual where it is."""
    low, names = _at_floor(point), []
    for part in point.model.parts:
        if part.place in point.model.held or low[part.diagonal].any():
            names.append(part.group.name)
    return (*names, *((RESIDUAL,) if low[0] else ()))


def log_sd_errors(point: Point, second: Floats) -> dict[str, float | Floats]:
    """Standard errors of log sds; infinite where the rows say nothing, or the spread is zero."""
    free = _free(point)
    covariance = np.full((len(free), len(free)), np.nan)
    covariance[np.ix_(free, free)] = _inverse(second[np.ix_(free, free)] / 2)
    found: dict[str, float | Floats] = {RESIDUAL: _error(covariance, np.eye(len(free))[0])}
    for part in point.model.parts:
        slopes = _log_sd_slopes(point, part)
        errors = np.array([_error(covariance, slope) for slope in slopes])
        found[part.group.name] = float(errors[0]) if part.group.width == 1 else errors
    return found


def _log_sd_slopes(point: Point, part: Part) -> Sequence[Floats]:
    factor, unit = point.factors[part.place], point._unit(part)
    found = []
    for effect in range(part.group.width):
        slope, mine = np.zeros(point.model.size), part.rows == effect
        square = float(factor[effect] @ factor[effect])
        slope[part.at[mine]] = (factor[part.rows, part.columns] * unit)[mine] / square if square > 0 else 1.0
        found.append(slope)
    return found


def _error(covariance: Floats, slope: Floats) -> float:
    some = slope != 0
    square = float(slope[some] @ covariance[np.ix_(some, some)] @ slope[some])
    return float(np.sqrt(square)) if np.isfinite(square) and square >= 0 else np.inf


def _inverse(information: Floats) -> Floats:
    """Inverse of the information; infinite for parameters in a direction it says nothing of."""
    if not len(information):
        return information
    size = np.sqrt(np.maximum(np.abs(np.diag(information)), 1e-300))
    values, vectors = np.linalg.eigh(information / np.outer(size, size))
    told = values > 1e-6
    found = (vectors[:, told] / values[told]) @ vectors[:, told].T / np.outer(size, size)
    untold = (np.abs(vectors[:, ~told]) > 1e-3).any(axis=1) | (np.diag(information) < 1e-6)
    found[untold, :], found[:, untold] = np.inf, np.inf
    return np.asarray(found)


def check_enough(equations: Equations, residual_prior: SdPrior | None) -> None:
    """Raise where nothing at all could tell how much rows vary."""
    rows, flat = equations.products.rows, len(equations.flat)
    if residual_prior is None and rows <= flat:
        rule = f"must be more than the {flat} coefficients without a prior"
        raise InputError("rows", rows, rule, "Give a residual_prior, or more rows.")
