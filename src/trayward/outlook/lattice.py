"""Points spread evenly through the unit cube: some hundreds of them give quantiles as well as many random ones do."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from trayward.outlook import normal
from trayward.outlook.terms import Floats

POINTS = 512
_PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37)


@lru_cache(maxsize=16)
def uniforms(dimensions: int, points: int = POINTS) -> Floats:
    """
    Evenly spread points.

    Parameters
    ----------
    dimensions, points : int
        Up to 12 dimensions.

    Returns
    -------
    array
        (points, dimensions), each strictly between 0 and 1. The same for the same question.

    Notes
    -----
    Multiples of the square roots of primes, modulo one (Richtmyer's sequence; from memory), shifted by half a step; the
    first dimension is evenly spaced itself.
    """
    counts = np.arange(points, dtype=float)[:, None]
    roots = np.sqrt(np.array(_PRIMES[: dimensions - 1], dtype=float))
    rest = np.mod((counts + 0.5) * roots, 1.0)
    points_in = np.column_stack(((counts[:, 0] + 0.5) / points, rest)) if dimensions > 1 else (counts + 0.5) / points
    return np.clip(points_in, 1e-9, 1 - 1e-9)


@lru_cache(maxsize=16)
def normals(dimensions: int, points: int = POINTS) -> Floats:
    """The same points as standard normal deviates, (points, dimensions)."""
    return normal.quantile(uniforms(dimensions, points))
