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
ROUNDS = 20
"""How often numeric second derivatives are made at most."""
NEAR = 7.0
"""A spread less than this above its floor, and sinking, is set on it at once. [log]"""
REACH = 0.2
"""How far they are trusted. [log]"""
DIFFERENCE = 1e-3
"""Step of the numeric second derivatives; their error is about its square. [log]"""
DONE = 1e-12
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
    point = _sunk(point)
    second = second_derivatives(point)
    for _ in range(ROUNDS):
        before = point
        point = _descend(before, lambda _: second, DONE, REACH)  # noqa: B023  the steps end within this turn
        moved = float(np.abs(point.parameters - before.parameters).max())
        if moved < DIFFERENCE and (_free(point) == _free(before)).all():
            break
        point = _sunk(point)
        second = second_derivatives(point)
    return point, second


def _sunk(point: Point) -> Point:
    """The point with spreads that are near their floor, and sinking, set down on it, where that is lower."""
    floors = point.model.floors(point.parameters)
    low = np.isfinite(floors) & (point.parameters < floors + NEAR) & (point.gradient > 0)
    low[0] = False
    if not (low & ~_at_floor(point)).any():
        return point
    tried = _tried(point, np.where(low, floors - point.parameters, 0.0))
    return tried if tried is not None and tried.criterion <= point.criterion else point


def _descend(start: Point, second: Callable[[Point], Floats], enough: float, reach: float = np.inf) -> Point:
    """Damped Newton steps until one would gain less than enough, or is further from the start than `reach`."""
    point, damping = start, 0.0
    for _ in range(STEPS):
        step, promise = _step(point.gradient, second(point), _free(point), damping)
        if promise < enough:
            break
        tried = _tried(point, step)
        if tried is not None and tried.criterion < point.criterion + 1e-12 * abs(point.criterion):
            gained = point.criterion - tried.criterion
            point, damping = tried, 0.0 if gained > promise / 4 else max(damping, 1e-2)
            if np.abs(point.parameters - start.parameters).max() > reach:
                break
            continue
        if point is not start and np.isfinite(reach):
            break
        damping = max(10 * damping, 1e-3)
        if damping > 1e8:
            break
    return point


def _tried(point: Point, step: Floats) -> Point | None:
    try:
        found = Point(point.model, point.model.within(point.parameters + step))
    except np.linalg.LinAlgError:
        return None
    return found if np.isfinite(found.criterion) else None


def _at_floor(point: Point) -> NDArray[np.bool_]:
    return np.asarray(point.parameters <= point.model.floors(point.parameters) + 1e-9)


def _free(point: Point) -> NDArray[np.bool_]:
    """Parameters that may move: not held, and not pressed against floor or ceiling."""
    found = ~(_at_floor(point) & (point.gradient >= 0))
    found &= (point.parameters < point.model.ceilings) | (point.gradient > 0)
    for part in point.model.parts:
        if part.place in point.model.held:
            found[part.at] = False
    return np.asarray(found)


def _step(gradient: Floats, second: Floats, free: NDArray[np.bool_], damping: float) -> tuple[Floats, float]:
    """A damped Newton step no longer than allowed, and by how much it could lower the criterion."""
    step = np.zeros(len(gradient))
    if not free.any():
        return step, 0.0
    inner, slope = second[np.ix_(free, free)], gradient[free]
    size = np.sqrt(np.maximum(np.abs(np.diag(inner)), 1e-12))
    values, vectors = np.linalg.eigh(inner / np.outer(size, size))
    steep = np.maximum(np.abs(values), 1e-8)
    along = vectors.T @ (slope / size)
    found = -(vectors @ (along / (steep + damping))) / size
    # Each spread is cut short by itself, so that one the rows say little of does not hold back the others.
    short = np.clip(found, -LONGEST, LONGEST)
    if slope @ short > slope @ found * LONGEST / max(LONGEST, float(np.abs(found).max())):
        short = found * (LONGEST / np.abs(found).max())
    step[free] = short
    # Where the criterion is flat, a full step would promise much by rounding alone; a step that may be made does not.
    return step, min(float((along**2 / steep).sum() / 2), float(np.abs(slope * step[free]).sum()))


def second_derivatives(point: Point) -> Floats:
    """Second derivatives by differences of the exact gradient; zero for parameters that may not move."""
    size = point.model.size
    found = np.zeros((size, size))
    try:
        for at in np.flatnonzero(_free(point)).tolist():
            step = np.zeros(size)
            step[at] = DIFFERENCE
            ends = [Point(point.model, point.parameters + sign * step).gradient for sign in (1, -1)]
            found[:, at] = (ends[0] - ends[1]) / (2 * DIFFERENCE)
    except np.linalg.LinAlgError:  # at the edge of what can be computed
        return point.information
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
    inner = covariance[np.ix_(some, some)]
    square = float(slope[some] @ inner @ slope[some]) if np.isfinite(inner).all() else -1.0
    return float(np.sqrt(square)) if square >= 0 else np.inf


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
