"""The likelihood of a curve when events are only seen at looks: its top, and how sure that is. Loads numpy.

`science.time_to_event.fit` is the door.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from trayward.errors import InputError
from trayward.science.counts import Counts, Curve, Floats, Kind

_LEAST_CHANCE = 1e-300
"""Stands in for a chance of nought, so that its logarithm is a number: a curve that rules out what was seen loses."""
_EDGE = 1e-4
"""This near to 0 or 1 a share lies on its limit, where the usual standard error means nothing."""


class Search:
    """The likelihood of a curve's free parameters, and the search for its top."""

    def __init__(self, curve: Curve, counts: Counts, fixed: dict[str, float]) -> None:
        unknown = set(fixed) - set(curve.names)
        if unknown:
            raise InputError("fixed", sorted(unknown), f"must be among {', '.join(curve.names)}")
        self.curve, self.fixed = curve, fixed
        self.free = [place for place, name in enumerate(curve.names) if name not in fixed]
        self.kinds = [curve.kinds[place] for place in self.free]
        seen = counts.seeds > 0
        self.dish = counts.dish[seen]
        self.counts = Counts(
            start=counts.start[seen], end=counts.end[seen], seeds=counts.seeds[seen], setting=counts.setting[seen],
            dish=self.dish,
        )  # fmt: skip
        self.pooled, self.row_of = _pool(self.counts)

    def natural(self, inner: Floats) -> Floats:
        """All parameters of the curve from the free ones as the search moves them."""
        values = np.array([self.fixed.get(name, math.nan) for name in self.curve.names])
        for place, kind, value in zip(self.free, self.kinds, inner, strict=True):
            values[place] = _outward(kind, float(value))
        return values

    def log_chances(self, values: Floats) -> Floats:
        """Logarithm of the chance of each pooled row."""
        rows = self.pooled
        with np.errstate(all="ignore"):
            before = self.curve.share(values, rows.start, rows.setting)
            ends = np.where(np.isfinite(rows.end), rows.end, 1.0)
            after = np.where(np.isfinite(rows.end), self.curve.share(values, ends, rows.setting), 1.0)
        chance = np.nan_to_num(after - before, nan=0.0)
        return np.asarray(np.log(np.maximum(chance, _LEAST_CHANCE)))

    def loss(self, inner: Floats) -> float:
        """Minus the log likelihood."""
        return self.loss_at(self.natural(inner))

    def loss_at(self, values: Floats) -> float:
        """Minus the log likelihood at the curve's own parameters."""
        return -float(self.pooled.seeds @ self.log_chances(values))

    def best(self) -> tuple[Floats, float, bool]:
        """The best point from all starts: a simplex finds the hill, a gradient search its top, a simplex makes sure."""
        from scipy.optimize import minimize

        found = []
        for begin in self.curve.starts(self.counts):
            point = np.array([_inward(self.curve.kinds[place], begin[place]) for place in self.free])
            rough = minimize(self.loss, point, method="Nelder-Mead", options={"maxiter": 400 * len(point)})
            found.append((float(rough.fun), rough.x))
        least, point = min(found, key=lambda one: one[0])
        converged = False
        for _ in range(6):
            before = least
            for method, options in (("BFGS", {"gtol": 1e-6}), ("Nelder-Mead", _FINE)):
                step = minimize(self.loss, point, method=method, options=options)
                if step.fun <= least:
                    least, point = float(step.fun), step.x
            if before - least < 1e-7 * (1 + abs(least)):
                converged = True
                break
        return point, least, converged


_FINE = {"xatol": 1e-8, "fatol": 1e-10, "maxiter": 4000, "maxfev": 4000}


def _pool(counts: Counts) -> tuple[Counts, NDArray[np.int64]]:
    """Rows alike in interval and setting as one; and which pooled row each belongs to."""
    key = np.column_stack([counts.start, counts.end, counts.setting])
    alike, row_of = np.unique(key, axis=0, return_inverse=True)
    row_of = row_of.ravel()
    seeds = np.bincount(row_of, weights=counts.seeds, minlength=len(alike))
    pooled = Counts(start=alike[:, 0], end=alike[:, 1], seeds=seeds, setting=alike[:, 2:], dish=np.arange(len(alike)))
    return pooled, row_of


def _outward(kind: Kind, inner: float) -> float:
    if kind == "positive":
        return math.exp(min(max(inner, -50.0), 50.0))
    return 1 / (1 + math.exp(-min(max(inner, -40.0), 40.0))) if kind == "share" else inner


def _inward(kind: Kind, value: float) -> float:
    if kind == "positive":
        return math.log(value)
    if kind == "share":
        kept = min(max(value, 1e-6), 1 - 1e-6)
        return math.log(kept / (1 - kept))
    return value


def errors_of(search: Search, values: Floats, by_dish: bool) -> tuple[dict[str, float | None], tuple[str, ...]]:
    """Standard errors by free parameter; those of a share on its limit are left out, and the others hold it there."""
    inside, notes = [], []
    for place, kind in zip(search.free, search.kinds, strict=True):
        if kind == "share" and not _EDGE < values[place] < 1 - _EDGE:
            notes.append(f"{search.curve.names[place]} lies at its limit, {values[place]:.0f}")
        else:
            inside.append(place)
    spread = _spread(search, values, inside, by_dish)
    found: dict[str, float | None] = {search.curve.names[place]: None for place in search.free}
    for place, variance in zip(inside, spread, strict=True):
        if variance is None:
            notes.append(f"the looks do not say how sure {search.curve.names[place]} is")
        found[search.curve.names[place]] = None if variance is None else math.sqrt(variance)
    return found, tuple(notes)


def _spread(search: Search, values: Floats, places: list[int], by_dish: bool) -> list[float | None]:
    """Variances at the top of the likelihood; None each where the information cannot be inverted."""
    steps = np.array([1e-4 * max(abs(values[place]), 0.05) for place in places])

    def moved(shift: Floats) -> Floats:
        other = values.copy()
        other[places] += shift
        return other

    information = _second_slopes(lambda shift: search.loss_at(moved(shift)), steps)
    try:
        inverse = np.linalg.inv(information)
    except np.linalg.LinAlgError:
        return [None] * len(places)
    if by_dish:
        slopes = np.column_stack([
            (search.log_chances(moved(step)) - search.log_chances(moved(-step))) / (2 * width)
            for step, width in zip(np.diag(steps), steps, strict=True)
        ])  # fmt: skip
        scores = slopes[search.row_of] * search.counts.seeds[:, None]
        inverse = inverse @ _between_dishes(scores, search.dish) @ inverse
    diagonal = np.diag(inverse)
    return [float(one) if math.isfinite(one) and one > 0 else None for one in diagonal]


def _second_slopes(loss: Callable[[Floats], float], steps: Floats) -> Floats:
    """Second derivatives of a function about 0, by central differences."""
    n = len(steps)
    table = np.zeros((n, n))
    moves = np.diag(steps)
    middle = loss(np.zeros(n))
    for i in range(n):
        table[i, i] = (loss(moves[i]) - 2 * middle + loss(-moves[i])) / steps[i] ** 2
        for j in range(i):
            corners = loss(moves[i] + moves[j]) - loss(moves[i] - moves[j])
            corners += loss(-moves[i] - moves[j]) - loss(moves[j] - moves[i])
            table[i, j] = table[j, i] = corners / (4 * steps[i] * steps[j])
    return table


def _between_dishes(scores: Floats, dish: NDArray[np.int64]) -> Floats:
    """Summed outer products of the dishes' scores, with the usual G / (G - 1) for few dishes."""
    names, which = np.unique(dish, return_inverse=True)
    sums = np.zeros((len(names), scores.shape[1]))
    np.add.at(sums, which.ravel(), scores)
    many = len(names)
    return np.asarray(sums.T @ sums * (many / (many - 1) if many > 1 else 1.0))
