"""What a fitted mixed model says: estimates with errors, and through them predictions and draws."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from trayward.outlook.mixed_draw import Drawn, drawn
from trayward.outlook.mixed_predict import Predicted, predicted
from trayward.outlook.mixed_spreads import Spreads
from trayward.outlook.mixed_system import Covariances, System
from trayward.outlook.terms import Floats, Ints


@dataclass(frozen=True, eq=False)
class Fit:
    """
    A fitted linear mixed model.

    `fixed` (p,) with `fixed_covariance` (p, p); `effects` and `effect_se` by term (levels, q), the error that of the
    effect itself about its prediction, coefficients' doubt counted. `at_boundary` names terms of spread zero. `dropped`
    are places of fixed columns that others explain, their coefficients 0. `log_sd_errors` are those of logs of sds.
    """

    spreads: Spreads
    log_sd_errors: Mapping[str, float | Floats]
    fixed: Floats
    fixed_covariance: Floats
    effects: Mapping[str, Floats]
    effect_se: Mapping[str, Floats]
    criterion: float
    at_boundary: tuple[str, ...]
    dropped: tuple[int, ...]
    rows: int
    system: System

    @cached_property
    def _known(self) -> Covariances:
        return self.system.covariances()

    def predict(
        self, fixed: ArrayLike, levels: Mapping[str, Ints], columns: Mapping[str, Floats] | None = None
    ) -> Predicted:
        """
        Predict rows to come.

        Parameters
        ----------
        fixed : (m, p) array_like
            Their fixed columns.
        levels : mapping of str to (m,) int
            Every term's level of each row, NEW (-1) for one not seen.
        columns : mapping of str to (m, q), optional
            What the effects of a term that has columns are multiplied by.
        """
        return predicted(self.system, self._known, fixed, levels, columns or {})

    def draw(self, rng: np.random.Generator, n: int, wanted: Mapping[str, Ints] | None = None) -> Drawn:
        """
        Draw coefficients and effects together, given the rows and the spreads.

        Parameters
        ----------
        rng : numpy.random.Generator
            Where chance comes from.
        n : int
            How many draws.
        wanted : mapping of str to (k,) int, optional
            The levels of each term to be drawn; terms not named are left out. Every NEW is a level of its own, drawn
            apart from all others. None: all levels of all terms.

        Notes
        -----
        A column that was dropped is drawn as 0.
        """
        return drawn(self.system, rng, n, wanted)


def fit_of(
    system: System,
    *,
    spreads: Spreads,
    criterion: float,
    log_sd_errors: Mapping[str, float | Floats],
    at_boundary: tuple[str, ...],
) -> Fit:
    """What the solved equations say."""
    equations, known = system.equations, system.covariances()
    start = system.layout.dense_effects
    levels = system.level_covariances(known)
    names = [group.name for group in equations.groups]
    errors = [np.sqrt(np.maximum(each.diagonal(axis1=1, axis2=2), 0.0)) for each in levels]
    return Fit(
        spreads=spreads,
        log_sd_errors=log_sd_errors,
        fixed=system.coefficients,
        fixed_covariance=known.dense[start:, start:],
        effects={name: found[:, :, 0] for name, found in zip(names, system.solution.effects, strict=True)},
        effect_se=dict(zip(names, errors, strict=True)),
        criterion=criterion,
        at_boundary=at_boundary,
        dropped=tuple(equations.dropped.tolist()),
        rows=equations.products.rows,
        system=system,
    )
