"""What a fitted mixed model says: estimates with errors, predictions for rows to come, joint draws."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from trayward.errors import InputError
from trayward.outlook.mixed_system import Covariances, Spreads, System
from trayward.outlook.products import Group, finite, sum_by
from trayward.outlook.terms import NEW, Floats, Ints

CHUNK = 4096
"""Rows predicted at a time, to bound memory."""


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


@dataclass(frozen=True, eq=False)
class Drawn:
    """Joint draws: `fixed` (n, p) and, by term, `effects` (n, levels or wanted, q)."""

    fixed: Floats
    effects: Mapping[str, Floats]


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
        matrix = finite("fixed", fixed, 2)
        if matrix.shape[1] != len(self.fixed):
            raise InputError("fixed", f"{matrix.shape[1]} columns", f"must have {len(self.fixed)}, as in the fit")
        groups = self.system.equations.groups
        places = [_levels(group, levels, len(matrix)) for group in groups]
        design = [_columns(group, columns or {}, len(matrix)) for group in groups]
        mean, new = matrix @ self.fixed, {}
        for at, (group, level, z) in enumerate(zip(groups, places, design, strict=True)):
            seen = np.where(level >= 0, level, 0)
            if group.levels:
                mean = mean + np.where(level >= 0, (z * self.effects[group.name][seen]).sum(axis=1), 0.0)
            new[group.name] = np.where(level >= 0, 0.0, self._new_sd(at, z, bool((level < 0).any())))
        variance = np.concatenate(
            [np.zeros(0)] + [self._variance(part, matrix, places, design) for part in _chunks(len(matrix))]
        )
        unknown = np.abs(matrix @ self.system.equations.unknown) > 1e-7 * np.abs(matrix).max(initial=1.0)
        known_sd = np.where(unknown.any(axis=1), np.inf, np.sqrt(np.maximum(variance, 0.0)))
        return Predicted(mean, known_sd, new, self.spreads.residual)

    def _new_factor(self, at: int) -> Floats:
        """Factor of the covariance of a level not seen yet (q, q)."""
        group, factor = self.system.equations.groups[at], self.system.factors[at]
        if group.width > 1:
            return factor
        if group.known_sd is None:
            return np.full((1, 1), self.spreads.terms[group.name])
        if np.ndim(group.known_sd):
            raise InputError(f"level of {group.name}", NEW, "must be a seen one: each level has its own known spread")
        return np.full((1, 1), group.known_sd)

    def _new_sd(self, at: int, z: Floats, wanted: bool) -> Floats:
        return np.asarray(np.sqrt(((z @ self._new_factor(at)) ** 2).sum(axis=1))) if wanted else np.zeros(len(z))

    @cached_property
    def _known(self) -> Covariances:
        return self.system.covariances()

    def _variance(self, part: slice, fixed: Floats, places: list[Ints], design: list[Floats]) -> Floats:
        """Variance of rows' known parts, those put away first written as what they owe to the rest."""
        system, layout = self.system, self.system.layout
        count = len(fixed[part])
        dense = np.zeros((count, layout.dense))
        dense[:, layout.dense_effects :] = fixed[part]
        for at in layout.rest:
            group = system.equations.groups[at]
            rows = np.flatnonzero(places[at][part] >= 0)
            first = layout.starts[at] + places[at][part][rows] * group.width
            dense[rows[:, None], first[:, None] + np.arange(group.width)] += design[at][part][rows]
        variance = np.zeros(count)
        met = [np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)]
        amount = np.zeros(0)
        if layout.first is not None:
            variance, met, amount = self._owed(places[layout.first][part], design[layout.first][part], dense)
        if layout.second is not None:
            rows = np.flatnonzero(places[layout.second][part] >= 0)
            met = [np.r_[met[0], rows], np.r_[met[1], places[layout.second][part][rows]]]
            amount = np.r_[amount, design[layout.second][part][rows, 0]]
            variance = variance + self._owed_second(met[0], met[1], amount, dense)
        return np.asarray(variance + ((dense @ self._known.dense) * dense).sum(axis=1))

    def _owed(self, level: Ints, z: Floats, dense: Floats) -> tuple[Floats, list[Ints], Floats]:
        """Put away the first term: its own variance, and what its levels owe to second and dense unknowns."""
        system, layout = self.system, self.system.layout
        rows = np.flatnonzero(level >= 0)
        weight = np.einsum("mq,mqr->mr", z[rows], system.kappa[level[rows]])
        variance = np.zeros(len(level))
        variance[rows] = system.variance * (weight * z[rows]).sum(axis=1)
        assert layout.first is not None
        with_fixed = system.equations.groups[layout.first].with_fixed[level[rows]]
        dense[rows, layout.dense_effects :] -= np.einsum("mq,mqp->mp", weight, with_fixed)
        entry, owner = _entries_of(layout.entries.level, level[rows])
        amount = -(layout.entries.value[entry] * weight[owner]).sum(axis=1)
        code, inner = layout.entries.code[entry], layout.entries.code[entry] >= layout.seconds
        np.add.at(dense, (rows[owner[inner]], code[inner] - layout.seconds), amount[inner])
        return variance, [rows[owner[~inner]], code[~inner]], amount[~inner]

    def _owed_second(self, row: Ints, level: Ints, amount: Floats, dense: Floats) -> Floats:
        """Put away the second term; one row can owe to two of its levels, and twice to one."""
        system = self.system
        keys, inverse = np.unique(row * max(system.layout.seconds, 1) + level, return_inverse=True)
        row, level = np.divmod(keys, max(system.layout.seconds, 1))
        amount = np.bincount(inverse, amount, len(keys))
        weight = amount * system.second_kappa[level]
        np.add.at(dense, row, -weight[:, None] * system.between[level])
        return np.bincount(row, system.variance * amount * weight, len(dense))

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
        groups = self.system.equations.groups
        if wanted is None:
            wanted = {group.name: np.arange(group.levels) for group in groups}
        indices = {self.system.equations.products.index(name): np.asarray(level) for name, level in wanted.items()}
        dense, second = self._drawn_dense(rng, n)
        found = {}
        for at, level in indices.items():
            group = groups[at]
            _levels(group, {group.name: level}, len(level))
            effects = self._drawn(rng, at, np.flatnonzero(level >= 0), level, dense, second)
            news = np.flatnonzero(level < 0)
            if len(news):
                effects[:, news] = rng.standard_normal((n, len(news), group.width)) @ self._new_factor(at).T
            found[group.name] = effects
        start = self.system.layout.dense_effects
        return Drawn(self.fixed + dense[start:].T, found)

    def _drawn_dense(self, rng: np.random.Generator, n: int) -> tuple[Floats, Floats]:
        """How far dense and second unknowns are from their estimates (dense, n), (seconds, n)."""
        system = self.system
        dense = system._unscaled(system.inverse.T @ rng.standard_normal((len(system.order), n)))
        own = system.residual * np.sqrt(system.second_kappa)[:, None]
        second = own * rng.standard_normal((len(own), n)) - system.second_kappa[:, None] * (system.between @ dense)
        return dense, second

    def _drawn(
        self, rng: np.random.Generator, at: int, seen: Ints, level: Ints, dense: Floats, second: Floats
    ) -> Floats:
        """Effects of the levels seen (n, wanted, q); zeros for the others."""
        layout, group = self.system.layout, self.system.equations.groups[at]
        found = np.zeros((dense.shape[1], len(level), group.width))
        if at == layout.first:
            off = self._drawn_first(rng, level[seen], dense, second)
        elif at == layout.second:
            off = second[level[seen]][:, None, :]
        else:
            rows = layout.starts[at] + level[seen][:, None] * group.width + np.arange(group.width)
            off = dense[rows]
        found[:, seen] = (self.effects[group.name][level[seen]][:, :, None] + off).transpose(2, 0, 1)
        return found

    def _drawn_first(self, rng: np.random.Generator, level: Ints, dense: Floats, second: Floats) -> Floats:
        """How far effects of the term put away first are from their estimates (wanted, q, n); a level twice is one."""
        system, layout = self.system, self.system.layout
        assert layout.first is not None
        group = system.equations.groups[layout.first]
        once, back = np.unique(level, return_inverse=True)
        entry, owner = _entries_of(layout.entries.level, once)
        values = np.concatenate([second, dense[: layout.dense_effects]])
        parts = layout.entries.value[entry][:, :, None] * values[layout.entries.code[entry]][:, None, :]
        met = sum_by(owner, parts, len(once)) + group.with_fixed[once] @ dense[layout.dense_effects :]
        kappa = system.kappa[once]
        noise = rng.standard_normal((len(once), group.width, dense.shape[1]))
        return np.asarray(system.residual * _roots(kappa) @ noise - kappa @ met)[back]


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
        fixed=equations.offset + system.solution.fixed[:, 0],
        fixed_covariance=known.dense[start:, start:],
        effects={name: found[:, :, 0] for name, found in zip(names, system.solution.effects, strict=True)},
        effect_se=dict(zip(names, errors, strict=True)),
        criterion=criterion,
        at_boundary=at_boundary,
        dropped=tuple(equations.dropped.tolist()),
        rows=equations.products.rows,
        system=system,
    )


def _levels(group: Group, levels: Mapping[str, Ints], rows: int) -> Ints:
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


def _chunks(rows: int) -> list[slice]:
    return [slice(start, min(start + CHUNK, rows)) for start in range(0, rows, CHUNK)]


def _entries_of(sorted_levels: Ints, level: Ints) -> tuple[Ints, Ints]:
    """Entries that belong to some levels, and which of those each belongs to."""
    first = np.searchsorted(sorted_levels, level)
    counts = np.searchsorted(sorted_levels, level, side="right") - first
    owner = np.repeat(np.arange(len(level)), counts)
    return first[owner] + np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts), owner


def _roots(covariances: Floats) -> Floats:
    """A square root of each covariance (k, q, q)."""
    if covariances.shape[-1] == 1:
        return np.sqrt(covariances)
    values, vectors = np.linalg.eigh(covariances)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :])
