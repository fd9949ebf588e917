"""What a search for spreads moves: logs of sds, or of wide terms the lower factors of covariances.

A spread that wants to be zero sinks to a floor below which it changes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from trayward.errors import InputError
from trayward.outlook.mixed_equations import Equations, Method
from trayward.outlook.mixed_spreads import Spreads, covariance_factor
from trayward.outlook.products import Group
from trayward.outlook.terms import Floats, Ints, SdPrior

FLOOR = 1e-4
"""A spread this small, as a share of the least that its best known level could tell from zero, is zero. [-]"""
LEAST_SHARE = 1e-5
"""The residual sd is not searched below this share of the outcome's. [-]"""
MOST_SHARE = 1e3
"""Nor a term's above so many times the outcome's: only where no row tells of it would it go there. [-]"""


@dataclass(frozen=True, eq=False)
class Part:
    """A term whose spread is searched: its place, those of its parameters, and what entries of the factor they fill."""

    place: int
    group: Group
    at: Ints
    rows: Ints
    columns: Ints
    scale: Floats
    """What entries off the diagonal are counted in, by row (q,)."""

    @property
    def diagonal(self) -> Ints:
        """Places of the logs of the factor's diagonal."""
        return np.asarray(self.at[self.rows == self.columns])


@dataclass(frozen=True, eq=False)
class Model:
    """Equations and what is searched: `parameters` are the log residual sd, then each part's. `held` parts are zero."""

    equations: Equations
    method: Method
    residual_prior: SdPrior | None
    parts: tuple[Part, ...]
    least: float
    held: frozenset[int] = frozenset()

    @property
    def size(self) -> int:
        """Number of parameters."""
        return 1 + sum(len(part.at) for part in self.parts)

    def factor(self, part: Part, parameters: Floats) -> Floats:
        """Lower factor of a part's covariance (q, q)."""
        found = np.zeros((part.group.width, part.group.width))
        if part.place in self.held:
            return found
        found[part.rows, part.columns] = parameters[part.at] * part.scale[part.rows]
        on = np.arange(part.group.width)
        found[on, on] = np.exp(parameters[part.diagonal])
        return found

    def parameters(self, spreads: Spreads) -> Floats:
        """The parameters of given spreads; zero spreads come out at the floor."""
        found = np.zeros(self.size)
        found[0] = np.log(spreads.residual)
        for part in self.parts:
            given = np.asarray(spreads.terms[part.group.name], dtype=float).reshape(2 * (part.group.width,))
            square = given**2 if part.group.width == 1 else given
            tiny = np.diag(np.exp(2 * self.floors(found)[part.diagonal]))
            factor = covariance_factor(f"start of {part.group.name}", square + tiny, part.group.width)
            found[part.at] = factor[part.rows, part.columns] / part.scale[part.rows]
            found[part.diagonal] = np.log(np.diag(factor))
        return found

    def spreads(self, parameters: Floats) -> Spreads:
        """The spreads that parameters stand for."""
        terms: dict[str, float | Floats] = {}
        for part in self.parts:
            factor = self.factor(part, parameters)
            terms[part.group.name] = float(factor[0, 0]) if part.group.width == 1 else factor @ factor.T
        return Spreads(residual=float(np.exp(parameters[0])), terms=terms)

    def floors(self, parameters: Floats) -> Floats:
        """The least value of each parameter; minus infinity off the diagonal."""
        found = np.full(self.size, -np.inf)
        found[0] = self.least
        for part in self.parts:
            own = part.group.own.diagonal(axis1=1, axis2=2).max(axis=0, initial=0.0)
            known = np.where(own > 0, own, np.inf)
            floor = parameters[0] + np.log(FLOOR) - np.log(known) / 2
            found[part.diagonal] = np.where(np.isfinite(known), floor, -np.inf)
        return found

    def within(self, parameters: Floats) -> Floats:
        """The parameters, raised to their floors and lowered to their ceilings."""
        return np.asarray(np.minimum(np.maximum(parameters, self.floors(parameters)), self.ceilings))

    @cached_property
    def ceilings(self) -> Floats:
        """The most that a log sd without a prior may become; infinite for other parameters."""
        found = np.full(self.size, np.inf)
        for part in self.parts:
            if part.group.sd_prior is None:
                found[part.diagonal] = np.log(part.scale * MOST_SHARE)
        return found


def model_of(equations: Equations, method: Method, residual_prior: SdPrior | None) -> Model:
    """What is searched."""
    parts: list[Part] = []
    at = 1
    spread = _outcome_sd(equations)
    for place, group in enumerate(equations.groups):
        if group.known_sd is not None:
            continue
        rows, columns = np.tril_indices(group.width)
        size = np.sqrt(group.own.diagonal(axis1=1, axis2=2).sum(axis=0) / max(equations.products.rows, 1))
        scale = spread / np.where(size > 0, size, 1.0)
        parts.append(Part(place, group, at + np.arange(len(rows)), rows, columns, scale))
        at += len(rows)
    return Model(equations, method, residual_prior, tuple(parts), float(np.log(LEAST_SHARE * spread)))


def _outcome_sd(equations: Equations) -> float:
    """Sd of the outcome about its least squares; where that is nil, a little of the outcome's size."""
    products = equations.products
    fine = np.finfo(float).eps * float(np.sqrt(products.centre @ products.xx @ products.centre))
    return max(float(np.sqrt(products.yy / max(products.rows, 1))), fine, 1e-100)


def start_of(model: Model) -> Floats:
    """Where the search begins: priors' medians, else equal shares of what least squares leave."""
    rows, flat = model.equations.products.rows, len(model.equations.flat)
    spread = _outcome_sd(model.equations) * np.sqrt(rows / max(rows - flat, 1))
    share = 1 / np.sqrt(1 + len(model.parts))
    prior = model.residual_prior
    found = np.zeros(model.size)
    found[0] = np.log(prior.median if prior else max(spread * share, np.exp(model.least)))
    for part in model.parts:
        mine = part.group.sd_prior
        found[part.diagonal] = np.log(mine.median) if mine else np.log(part.scale * share)
    return model.within(found)


def check_enough(equations: Equations, residual_prior: SdPrior | None) -> None:
    """Raise where nothing at all could tell how much rows vary."""
    rows, flat = equations.products.rows, len(equations.flat)
    if residual_prior is None and rows <= flat:
        rule = f"must be more than the {flat} coefficients without a prior"
        raise InputError("rows", rows, rule, "Give a residual_prior, or more rows.")
