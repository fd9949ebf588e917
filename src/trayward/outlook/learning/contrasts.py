"""Sums of a fitted model's coefficients and effects, with their joint doubt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec
import numpy as np

from trayward.errors import InputError
from trayward.outlook.mixed import Fit
from trayward.outlook.terms import Floats


class Contrast(msgspec.Struct, frozen=True):
    """
    A weighted sum: `fixed` (p,) times the coefficients, plus by term one level's first effect times a weight.

    `effects` holds, by term, the level and its weight.
    """

    fixed: Floats
    effects: Mapping[str, tuple[int, float]]


def joint(fit: Fit, contrasts: Sequence[Contrast]) -> tuple[Floats, Floats]:
    """
    Sums of what a fit found, and how they are uncertain together.

    Parameters
    ----------
    fit : Fit
        The fitted model.
    contrasts : sequence of Contrast
        The sums asked for. (m)

    Returns
    -------
    mean : array (m,)
    cov : array (m, m)
        Given the spreads, all doubt about coefficients and effects counted.

    Notes
    -----
    With the mixed model equations' matrix C, the covariance of the unknowns is s2 C^-1 (Henderson), so of sums L it is
    s2 L' C^-1 L: one solve with L as right-hand sides, whatever the number of rows.

    References
    ----------
    C. R. Henderson (1975), Best linear unbiased estimation and prediction under a selection model, Biometrics 31(2),
    423-447 (from memory).
    """
    system = fit.system
    count = len(contrasts)
    fixed = np.column_stack([contrast.fixed for contrast in contrasts])
    if fixed.shape[0] != len(fit.fixed):
        raise InputError("contrast", fixed.shape[0], f"needs one weight for each of {len(fit.fixed)} coefficients")
    right = [np.zeros((group.levels, group.width, count)) for group in system.equations.groups]
    at = {group.name: place for place, group in enumerate(system.equations.groups)}
    mean = fit.fixed @ fixed
    for k, contrast in enumerate(contrasts):
        for term, (level, weight) in contrast.effects.items():
            right[at[term]][level, 0, k] += weight
            mean[k] += weight * float(fit.effects[term][level, 0])
    solved = system.solve(right, fixed)
    cov = fixed.T @ solved.fixed
    for mine, other in zip(right, solved.effects, strict=True):
        cov += np.einsum("lqi,lqj->ij", mine, other)
    return mean, system.variance * (cov + cov.T) / 2
