"""Averages without chance: the outlook's even points, centred, and roots of covariances to stretch them by."""

from __future__ import annotations

import numpy as np

from trayward.outlook import lattice
from trayward.outlook.terms import Floats

POINTS = 1024
"""So many points settle an average to about a hundredth of its spread, in few dimensions."""
EIGHTY = 1.2816
"""Standard normal quantile of 0.9: 8 of 10 lie within so many sds of the middle. [-]"""
TENTHS = (0.1, 0.5, 0.9)
"""The ends and the middle of a range that holds 8 of 10."""


def normal_points(count: int, dims: int) -> Floats:
    """Even points of independent standard normals whose mean is 0; the same every time. Up to 12. (count, dims) [-]"""
    found = lattice.normals(count)[:, :dims]
    return np.asarray(found - found.mean(axis=0))


def root_of(cov: Floats) -> Floats:
    """A matrix R with R R' = cov, for a covariance that may be flat in some directions; rounding below zero is zero."""
    values, vectors = np.linalg.eigh((cov + cov.T) / 2)
    root: Floats = vectors * np.sqrt(np.clip(values, 0.0, None))
    return root
