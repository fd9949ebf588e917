"""The search for spreads: Newton steps with safeguards, and what the second derivatives at its end say.

First steps go by average information, last ones by differences of the exact gradient. A spread at its floor is held
there while the criterion would rise, and set to zero at the end.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from trayward.outlook.mixed_checks import RESIDUAL
from trayward.outlook.mixed_model import Model
from trayward.outlook.mixed_point import Point
from trayward.outlook.terms import Floats

LONGEST = 1.5
"""Longest step of one spread. [log]"""
STEPS = 80
DIFFERENCE = 1e-3
"""Step of the numeric second derivatives; their error is about its square. [log]"""
DONE = 1e-9
"""The search ends where a Newton step would lower the criterion by less. [-]"""


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


def _at_floor(point: Point) -> NDArray[np.bool_]:
    return np.asarray(point.parameters <= point.model.floors(point.parameters) + 1e-9)


def _free(point: Point) -> NDArray[np.bool_]:
    """Parameters that may move: not held, and not pressed against their floor."""
    found = ~(_at_floor(point) & (point.gradient >= 0))
    for part in point.model.parts:
        if part.place in point.model.held:
            found[part.at] = False
    return np.asarray(found)


def _step(gradient: Floats, second: Floats, free: NDArray[np.bool_], damping: float) -> tuple[Floats, float]:
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
    low, held = _at_floor(point), point.model.held
    names = [part.group.name for part in point.model.parts if part.place in held or low[part.diagonal].any()]
    return (*names, *((RESIDUAL,) if low[0] else ()))


def log_sd_errors(point: Point, second: Floats) -> dict[str, float | Floats]:
    """Standard errors of log sds; infinite where the rows say nothing, or the spread is zero."""
    free = _free(point)
    covariance = np.full((len(free), len(free)), np.nan)
    covariance[np.ix_(free, free)] = _inverse(second[np.ix_(free, free)] / 2)
    found: dict[str, float | Floats] = {RESIDUAL: _error(covariance, np.eye(len(free))[0])}
    for part in point.model.parts:
        errors = np.full(part.group.width, np.inf)
        if part.place not in point.model.held:
            slopes = [point.log_sd(part, effect)[1] for effect in range(part.group.width)]
            errors = np.array([_error(covariance, slope) for slope in slopes])
        found[part.group.name] = float(errors[0]) if part.group.width == 1 else errors
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
