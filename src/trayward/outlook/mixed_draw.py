"""Joint draws of coefficients and effects: dense unknowns by their covariance, those put away given the dense ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from trayward.outlook.mixed_predict import checked_levels, new_factor
from trayward.outlook.mixed_system import System
from trayward.outlook.products import sum_by
from trayward.outlook.terms import Floats, Ints


@dataclass(frozen=True, eq=False)
class Drawn:
    """Joint draws: `fixed` (n, p) and, by term, `effects` (n, levels or wanted, q)."""

    fixed: Floats
    effects: Mapping[str, Floats]


def drawn(system: System, rng: np.random.Generator, n: int, wanted: Mapping[str, Ints] | None) -> Drawn:
    """Draw coefficients and effects; see `Fit.draw`."""
    groups, products = system.equations.groups, system.equations.products
    if wanted is None:
        wanted = {group.name: np.arange(group.levels) for group in groups}
    off = _Off.of(system, rng, n)
    effects = {}
    for name, levels in wanted.items():
        at = products.index(name)
        level = checked_levels(groups[at], {name: levels}, len(levels))
        effects[name] = _effects(system, rng, at, level, off)
    return Drawn(system.coefficients + off.dense[system.layout.dense_effects :].T, effects)


@dataclass(frozen=True, eq=False)
class _Off:
    """How far drawn unknowns are from their estimates: `dense` (d, n), `second` (levels, n)."""

    dense: Floats
    second: Floats

    @classmethod
    def of(cls, system: System, rng: np.random.Generator, n: int) -> _Off:
        dense = system.unscaled(system.inverse.T @ rng.standard_normal((len(system.order), n)))
        own = system.residual * np.sqrt(system.second_kappa)[:, None] * rng.standard_normal((system.layout.seconds, n))
        return cls(dense, own - system.second_kappa[:, None] * (system.between @ dense))


def _effects(system: System, rng: np.random.Generator, at: int, level: Ints, off: _Off) -> Floats:
    """Drawn effects of some levels of a term (n, wanted, q)."""
    layout, width = system.layout, system.equations.groups[at].width
    n, seen = off.dense.shape[1], level >= 0
    found = np.zeros((n, len(level), width))
    if at == layout.first:
        moved = _first(system, rng, level[seen], off)
    elif at == layout.second:
        moved = off.second[level[seen]][:, None, :]
    else:
        moved = off.dense[layout.starts[at] + level[seen][:, None] * width + np.arange(width)]
    found[:, seen] = (system.solution.effects[at][level[seen]] + moved).transpose(2, 0, 1)
    if not seen.all():
        found[:, ~seen] = rng.standard_normal((n, int((~seen).sum()), width)) @ new_factor(system, at).T
    return found


def _first(system: System, rng: np.random.Generator, level: Ints, off: _Off) -> Floats:
    """How far effects of the term put away first are from their estimates (wanted, q, n); a level twice is one."""
    layout = system.layout
    assert layout.first is not None
    group = system.equations.groups[layout.first]
    once, back = np.unique(level, return_inverse=True)
    entry, owner = layout.entries.of(once)
    values = np.concatenate([off.second, off.dense[: layout.dense_effects]])
    parts = layout.entries.value[entry][:, :, None] * values[layout.entries.code[entry]][:, None, :]
    met = sum_by(owner, parts, len(once)) + group.with_fixed[once] @ off.dense[layout.dense_effects :]
    kappa = system.kappa[once]
    noise = rng.standard_normal((len(once), group.width, off.dense.shape[1]))
    return np.asarray(system.residual * _roots(kappa) @ noise - kappa @ met)[back]


def _roots(covariances: Floats) -> Floats:
    """A square root of each covariance (k, q, q)."""
    if covariances.shape[-1] == 1:
        return np.sqrt(covariances)
    values, vectors = np.linalg.eigh(covariances)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :])
