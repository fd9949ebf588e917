"""Variance parameters, and the factors by which they scale standard normal effects."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from trayward.errors import InputError
from trayward.outlook.products import Group
from trayward.outlook.terms import Floats


@dataclass(frozen=True, eq=False)
class Spreads:
    """The variance parameters: `residual` the sd of a row of weight one, `terms` each estimated term's sd (q = 1) or
    covariance (q, q)."""

    residual: float
    terms: Mapping[str, float | Floats]


def factors_of(groups: Sequence[Group], spreads: Spreads) -> list[Floats]:
    """Each term's factor at given spreads, as `System` wants it."""
    return [_factor(group, spreads) for group in groups]


def _factor(group: Group, spreads: Spreads) -> Floats:
    if group.known_sd is not None:
        return group.known_by_level()
    if group.name not in spreads.terms:
        raise InputError("spreads", ", ".join(spreads.terms), f"must hold that of {group.name}")
    given = np.asarray(spreads.terms[group.name], dtype=float)
    if group.width == 1:
        value = float(given.reshape(-1)[0]) if given.size == 1 else -1.0
        if not (np.isfinite(value) and value >= 0):
            raise InputError(f"spread of {group.name}", given, "must be one sd, finite and not negative")
        return np.full(group.levels, value)
    return covariance_factor(f"covariance of {group.name}", given, group.width)


def covariance_factor(name: str, covariance: Floats, width: int) -> Floats:
    """A square root of a covariance, lower triangular where it is positive definite."""
    if covariance.shape != (width, width) or not np.isfinite(covariance).all():
        raise InputError(name, covariance, f"must be {width} x {width} and finite")
    try:
        return np.asarray(np.linalg.cholesky(covariance), dtype=float)
    except np.linalg.LinAlgError:
        values, vectors = np.linalg.eigh(covariance)
        if values.min() < -1e-8 * max(values.max(), 0.0) or values.max() < 0:
            raise InputError(name, covariance, "must not give any combination a negative variance") from None
        return np.asarray(vectors * np.sqrt(np.maximum(values, 0)))
