"""Rows to come, by a fitted mixed model: what is expected, and where its doubt comes from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trayward.errors import InputError
from trayward.outlook.mixed_checks import finite
from trayward.outlook.mixed_system import Covariances, System
from trayward.outlook.products import Group, sum_by
from trayward.outlook.terms import NEW, Floats, Ints

CHUNK = 4096
"""Rows predicted at a time, to bound memory."""
UNTOLD = 1e-7
"""A row that leans this much on a direction of coefficients that no row told of is unknown. [-]"""


@dataclass(frozen=True, eq=False)
class Predicted:
    """
    Rows to come, before their own residual.

    `mean` (m,); `known_sd` (m,) the doubt about estimated coefficients and effects, all covariances counted, infinite
    where the rows seen say nothing of a coefficient it needs; `new_sd` by term (m,) what levels not seen yet add.
    """

    mean: Floats
    known_sd: Floats
    new_sd: Mapping[str, Floats]
    residual_sd: float

    @property
    def total_sd(self) -> Floats:
        """Sd of a single new row of weight one (m,)."""
        squares = sum((sd**2 for sd in self.new_sd.values()), self.known_sd**2 + self.residual_sd**2)
        return np.asarray(np.sqrt(squares))


def predicted(
    system: System, known: Covariances, fixed: ArrayLike, levels: Mapping[str, Ints], columns: Mapping[str, Floats]
) -> Predicted:
    """Predict rows; see `Fit.predict`."""
    equations = system.equations
    matrix = finite("fixed", fixed, 2)
    if matrix.shape[1] != len(equations.offset):
        raise InputError("fixed", f"{matrix.shape[1]} columns", f"must have {len(equations.offset)}, as in the fit")
    places = [checked_levels(group, levels, len(matrix)) for group in equations.groups]
    design = [_columns(group, columns, len(matrix)) for group in equations.groups]
    mean, new = matrix @ system.coefficients, {}
    for at, (group, level, z) in enumerate(zip(equations.groups, places, design, strict=True)):
        seen = level >= 0
        mean[seen] += (z[seen] * system.solution.effects[at][level[seen], :, 0]).sum(axis=1)
        new[group.name] = np.zeros(len(matrix))
        if not seen.all():
            new[group.name][~seen] = np.sqrt(((z[~seen] @ new_factor(system, at)) ** 2).sum(axis=1))
    parts = [slice(start, start + CHUNK) for start in range(0, len(matrix), CHUNK)]
    variance = np.concatenate(
        [np.zeros(0), *(_variance(system, known, part, matrix, places, design) for part in parts)]
    )
    unknown = np.abs(matrix @ equations.unknown) > UNTOLD * np.abs(matrix).max(initial=1.0)
    known_sd = np.where(unknown.any(axis=1), np.inf, np.sqrt(np.maximum(variance, 0.0)))
    return Predicted(mean, known_sd, new, system.residual)


def new_factor(system: System, at: int) -> Floats:
    """Factor of the covariance of the effects of a level not seen yet (q, q)."""
    group = system.equations.groups[at]
    if group.known_each:
        raise InputError(f"level of {group.name}", NEW, "must be a seen one: each level has its own known spread")
    return system.new_factor(at)


def _variance(
    system: System, known: Covariances, part: slice, fixed: Floats, places: list[Ints], design: list[Floats]
) -> Floats:
    """Variance of rows' known parts, with those put away first written as what they owe to the rest."""
    layout = system.layout
    dense = np.zeros((len(fixed[part]), layout.dense))
    dense[:, layout.dense_effects :] = fixed[part]
    for at in layout.rest:
        width = system.equations.groups[at].width
        rows = np.flatnonzero(places[at][part] >= 0)
        first = layout.starts[at] + places[at][part][rows] * width
        dense[rows[:, None], first[:, None] + np.arange(width)] += design[at][part][rows]
    variance, amount = np.zeros(len(dense)), np.zeros(0)
    row, met = np.zeros((2, 0), dtype=np.int64)
    if layout.first is not None:
        variance, row, met, amount = _owed(system, places[layout.first][part], design[layout.first][part], dense)
    if layout.second is not None:
        level = places[layout.second][part]
        rows = np.flatnonzero(level >= 0)
        amount = np.r_[amount, design[layout.second][part][rows, 0]]
        variance = variance + _owed_second(system, np.r_[row, rows], np.r_[met, level[rows]], amount, dense)
    return np.asarray(variance + ((dense @ known.dense) * dense).sum(axis=1))


def _owed(system: System, level: Ints, z: Floats, dense: Floats) -> tuple[Floats, Ints, Ints, Floats]:
    """Put away the first term: its own variance, and which rows owe how much to which of the second term's levels."""
    layout = system.layout
    assert layout.first is not None
    rows = np.flatnonzero(level >= 0)
    weight = np.einsum("mq,mqr->mr", z[rows], system.kappa[level[rows]])
    variance = np.zeros(len(level))
    variance[rows] = system.variance * (weight * z[rows]).sum(axis=1)
    with_fixed = system.equations.groups[layout.first].with_fixed[level[rows]]
    dense[rows, layout.dense_effects :] -= np.einsum("mq,mqp->mp", weight, with_fixed)
    entry, owner = layout.entries.of(level[rows])
    amount = -(layout.entries.value[entry] * weight[owner]).sum(axis=1)
    code = layout.entries.code[entry]
    inner = code >= layout.seconds
    np.add.at(dense, (rows[owner[inner]], code[inner] - layout.seconds), amount[inner])
    return variance, rows[owner[~inner]], code[~inner], amount[~inner]


def _owed_second(system: System, row: Ints, level: Ints, amount: Floats, dense: Floats) -> Floats:
    """Put away the second term: its variance. A row can owe to two of its levels, and twice to one."""
    levels = max(system.layout.seconds, 1)
    keys, inverse = np.unique(row * levels + level, return_inverse=True)
    row, level = np.divmod(keys, levels)
    amount = sum_by(inverse, amount[:, None], len(keys))[:, 0]
    weight = amount * system.second_kappa[level]
    np.add.at(dense, row, -weight[:, None] * system.between[level])
    return sum_by(row, (system.variance * amount * weight)[:, None], len(dense))[:, 0]


def checked_levels(group: Group, levels: Mapping[str, Ints], rows: int) -> Ints:
    """A term's level of every row, NEW where not seen."""
    if group.name not in levels:
        raise InputError("levels", ", ".join(levels), f"must name every term, so also {group.name} (NEW = {NEW})")
    found = np.asarray(levels[group.name])
    if found.shape != (rows,) or (rows and found.dtype.kind not in "iu"):
        raise InputError(f"levels of {group.name}", f"shape {found.shape}", f"must be {rows} whole numbers")
    if rows and (found.min() < NEW or found.max() >= group.levels):
        rule = f"must lie in 0 to {group.levels - 1}, or be NEW = {NEW}"
        raise InputError(f"levels of {group.name}", f"{found.min()} to {found.max()}", rule)
    return found.astype(np.int64)


def _columns(group: Group, columns: Mapping[str, Floats], rows: int) -> Floats:
    if group.plain:
        return np.ones((rows, 1))
    if group.name not in columns:
        raise InputError("columns", ", ".join(columns), f"must hold those of {group.name}")
    found = finite(f"columns of {group.name}", columns[group.name], 2, rows)
    if found.shape[1] != group.width:
        raise InputError(f"columns of {group.name}", found.shape[1], f"must be {group.width}")
    return found
