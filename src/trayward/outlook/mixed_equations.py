"""The mixed-model equations before spreads are known: which coefficients can be told, and from where they count."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from trayward.errors import InputError
from trayward.outlook.mixed_layout import Layout, layout_of
from trayward.outlook.products import CrossProducts, Group
from trayward.outlook.terms import FixedPrior, Floats, Ints

Method = Literal["reml", "ml"]
COLLINEAR = 1e-9
"""A fixed column of which the others leave a smaller share of its square unexplained is dropped. [-]"""


@dataclass(frozen=True, eq=False)
class Equations:
    """
    The equations of a model, before its spreads are known.

    Coefficients with a finite prior sd are `proper`, unknown ones `flat`; a flat one that earlier ones explain is
    `dropped` (taken as 0). `offset` (p,) is added to solutions of the fixed part; `with_y` and `xy` are less it.
    """

    layout: Layout
    prior_sd: Floats
    proper: Ints
    flat: Ints
    dropped: Ints
    unknown: Floats
    """Directions of coefficients that the rows say nothing of, (p, dropped)."""
    offset: Floats
    yy: float
    xy: Floats
    with_y: list[Floats]

    @property
    def products(self) -> CrossProducts:
        """The sums these rest on."""
        return self.layout.products

    @property
    def groups(self) -> tuple[Group, ...]:
        """The terms."""
        return self.products.groups

    @cached_property
    def flat_size(self) -> Floats:
        """Root of the sum of squares of each flat column, by which it is scaled (flat,)."""
        return np.asarray(np.sqrt(np.diag(self.products.xx)[self.flat]))


def equations(products: CrossProducts, fixed_prior: FixedPrior | None) -> Equations:
    """Set up the equations: what is known of fixed coefficients, which columns can be told apart."""
    count = products.fixed
    mean, spread = _prior(fixed_prior, count)
    proper = np.flatnonzero(np.isfinite(spread))
    flat, dropped, unknown = _told_apart(products.xx, np.flatnonzero(~np.isfinite(spread)))
    # A proper coefficient is counted from its mean; a flat one from the centre, a dropped one is 0 in the end.
    offset = products.centre.copy()
    offset[proper], offset[dropped] = mean[proper], 0.0
    shift = offset - products.centre
    return Equations(
        layout=layout_of(products),
        prior_sd=spread,
        proper=proper,
        flat=flat,
        dropped=dropped,
        unknown=unknown,
        offset=offset,
        yy=max(0.0, float(products.yy - 2 * shift @ products.xy + shift @ products.xx @ shift)),
        xy=products.xy - products.xx @ shift,
        with_y=[group.with_y - group.with_fixed @ shift for group in products.groups],
    )


def _prior(prior: FixedPrior | None, count: int) -> tuple[Floats, Floats]:
    if prior is None:
        return np.zeros(count), np.full(count, np.inf)
    mean, spread = np.asarray(prior.mean, dtype=float), np.asarray(prior.sd, dtype=float)
    if mean.shape != (count,) or spread.shape != (count,):
        raise InputError("fixed_prior", f"shape {mean.shape}", f"must have one mean and sd for each of {count} columns")
    if not (np.isfinite(mean).all() and (spread >= 0).all()):
        raise InputError("fixed_prior", f"{mean} +- {spread}", "must have finite means and no negative sd")
    return mean, spread


def _told_apart(xx: Floats, wanted: Ints) -> tuple[Ints, Ints, Floats]:
    """Flat columns that can be told apart, earlier ones first; those that cannot; and the directions left unknown."""
    kept: list[int] = []
    dropped: list[int] = []
    unknown = []
    for column in wanted.tolist():
        explained = np.zeros(0)
        if kept:
            size = np.sqrt(np.diag(xx)[kept])
            explained = np.linalg.solve(xx[np.ix_(kept, kept)] / np.outer(size, size), xx[kept, column] / size) / size
        if xx[column, column] - xx[kept, column] @ explained > COLLINEAR * xx[column, column]:
            kept.append(column)
        else:
            direction = np.zeros(len(xx))
            direction[column], direction[kept] = 1.0, -explained
            dropped.append(column)
            unknown.append(direction)
    found = np.array(unknown).reshape(len(dropped), len(xx)).T
    return np.array(kept, dtype=np.int64), np.array(dropped, dtype=np.int64), found
