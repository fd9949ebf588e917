"""Points spread evenly through the unit cube: some hundreds of them give quantiles as well as many random ones do."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from trayward.outlook import normal
from trayward.outlook.terms import Floats

POINTS = 512
_PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31)


@lru_cache(maxsize=8)
def uniforms(points: int = POINTS) -> Floats:
    """
    Evenly spread points.

    Parameters
    ----------
    points : int
        How many.

    Returns
    -------
    array
        (points, 12), each strictly between 0 and 1. The same for the same question.

    Notes
    -----
    Multiples of the square roots of primes, modulo one (Richtmyer's sequence; from memory), shifted by half a step; the
    first dimension is evenly spaced itself.
    """
    counts = np.arange(points, dtype=float)[:, None] + 0.5
    rest = np.mod(counts * np.sqrt(np.array(_PRIMES, dtype=float)), 1.0)
    return np.asarray(np.clip(np.column_stack((counts[:, 0] / points, rest)), 1e-9, 1 - 1e-9))


@lru_cache(maxsize=8)
def normals(points: int = POINTS) -> Floats:
    """The same points as standard normal deviates, (points, 12)."""
    return np.asarray(normal.quantile(uniforms(points)))
