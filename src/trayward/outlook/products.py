"""The sums a linear mixed model needs of its rows: once they are made, the number of rows no longer matters.

Every later step rests on the products between columns of the design (fixed columns, levels of terms) and with the
outcome. Two terms meet in few of their possible pairs of levels, so those products are kept as lists of the pairs that
occur. A row is a term's level times its columns: nothing but sums, so rows can be added at any time.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike

from trayward.errors import InputError
from trayward.outlook.mixed_checks import checked
from trayward.outlook.terms import Floats, Ints, SdPrior, Term

SMALL_TABLE = 1 << 20
"""Two terms with at most so many pairs of levels (or rows, if more) are summed into a full table, without sorting."""
APART = 32
"""Bits by which the first level is shifted to make one key of two."""


@dataclass(frozen=True, eq=False)
class Group:
    """
    A term's own sums.

    `own` (levels, q, q) its columns with each other, `with_y` (levels, q), `with_fixed` (levels, q, p).
    """

    name: str
    levels: int
    width: int
    plain: bool
    known_sd: float | Floats | None
    sd_prior: SdPrior | None
    own: Floats
    with_y: Floats
    with_fixed: Floats

    @property
    def known_each(self) -> bool:
        """Whether every level has a known sd of its own."""
        return self.known_sd is not None and np.ndim(self.known_sd) > 0

    def known_by_level(self) -> Floats:
        """The sd that is not estimated, one for every level (levels,)."""
        return np.broadcast_to(np.asarray(self.known_sd, dtype=float), (self.levels,))


@dataclass(frozen=True, eq=False)
class Couples:
    """Pairs of levels of two terms that share rows, sorted: `first`, `second` (k,) and `values` (k, q1, q2)."""

    first: Ints
    second: Ints
    values: Floats

    def plus(self, other: Couples) -> Couples:
        """The sums of both."""
        keys = np.concatenate([_key(self.first, self.second), _key(other.first, other.second)])
        return _summed(keys, np.concatenate([self.values, other.values]))


@dataclass(frozen=True, eq=False)
class CrossProducts:
    """
    All sums of a model's rows. Made by `cross_products`.

    The outcome is taken less `fixed @ centre`, so that large means cost no digits; `centre` (p,) is put back later.
    """

    rows: int
    log_weights: float
    centre: Floats
    yy: float
    xy: Floats
    xx: Floats
    groups: tuple[Group, ...]
    couples: Mapping[tuple[int, int], Couples]

    @property
    def fixed(self) -> int:
        """Number of fixed columns."""
        return len(self.xy)

    def index(self, name: str) -> int:
        """The place of a term."""
        for place, group in enumerate(self.groups):
            if group.name == name:
                return place
        raise InputError("term", repr(name), f"must be one of {', '.join(group.name for group in self.groups)}")

    def with_rows(
        self,
        y: ArrayLike,
        fixed: ArrayLike,
        levels: Mapping[str, Ints],
        columns: Mapping[str, Floats] | None = None,
        *,
        weights: ArrayLike | None = None,
    ) -> CrossProducts:
        """
        The sums with a few more rows; a level beyond the last makes its term grow.

        Parameters
        ----------
        y, fixed : array_like
            As in `cross_products`.
        levels : mapping of str to (m,) int
            Each term's level of every new row.
        columns : mapping of str to (m, q), optional
            What the effects of a term that has columns are multiplied by.
        weights : (m,), optional
            As in `cross_products`. [-]
        """
        terms = [self._more_of(group, levels, columns or {}) for group in self.groups]
        more = _sums(*checked(y, fixed, terms, weights), centre=self.centre)
        return self._plus(more)

    def _more_of(self, group: Group, levels: Mapping[str, Ints], columns: Mapping[str, Floats]) -> Term:
        if group.name not in levels:
            raise InputError("levels", ", ".join(levels), f"must name every term, so also {group.name}")
        if not group.plain and group.name not in columns:
            raise InputError("columns", ", ".join(columns), f"must hold those of {group.name}")
        level = np.asarray(levels[group.name], dtype=np.int64)
        size = max(group.levels, int(level.max(initial=-1)) + 1)
        if size > group.levels and group.known_each:
            rule = f"must lie below {group.levels}: every level of {group.name} has its own known spread"
            raise InputError(f"level of {group.name}", size - 1, rule)
        known = group.known_sd
        more = None if group.plain else columns[group.name]
        return Term(name=group.name, level=level, levels=size, columns=more, known_sd=known, sd_prior=group.sd_prior)

    def _plus(self, more: CrossProducts) -> CrossProducts:
        groups = tuple(map(_group_plus, self.groups, more.groups))
        couples = {pair: mine.plus(more.couples[pair]) for pair, mine in self.couples.items()}
        return CrossProducts(
            rows=self.rows + more.rows,
            log_weights=self.log_weights + more.log_weights,
            centre=self.centre,
            yy=self.yy + more.yy,
            xy=self.xy + more.xy,
            xx=self.xx + more.xx,
            groups=groups,
            couples=couples,
        )

    def times(self, effects: Sequence[Floats], fixed: Floats) -> tuple[list[Floats], Floats]:
        """All products times columns: effects of each term (levels, q, m) and fixed coefficients (p, m)."""
        found = [group.own @ mine + group.with_fixed @ fixed for group, mine in zip(self.groups, effects, strict=True)]
        ends = self.xx @ fixed
        for group, mine in zip(self.groups, effects, strict=True):
            ends = ends + np.tensordot(group.with_fixed, mine, axes=((0, 1), (0, 1)))
        for (left, right), pair in self.couples.items():
            found[left] += sum_by(pair.first, pair.values @ effects[right][pair.second], self.groups[left].levels)
            turned = pair.values.transpose(0, 2, 1) @ effects[left][pair.first]
            found[right] += sum_by(pair.second, turned, self.groups[right].levels)
        return found, ends


def cross_products(
    y: ArrayLike, fixed: ArrayLike, terms: Sequence[Term], *, weights: ArrayLike | None = None
) -> CrossProducts:
    """
    Sum up the rows of a linear mixed model.

    Parameters
    ----------
    y : (n,) array_like
        The outcome.
    fixed : (n, p) array_like
        The columns of the fixed part, the intercept's ones among them.
    terms : sequence of Term
        The groups of random effects, crossed or nested in any way.
    weights : (n,) array_like, optional
        How much a row counts: its residual variance is divided by it. Rows of weight 0 are left out. [-]

    Raises
    ------
    InputError
        Where numbers are missing or not finite, shapes do not fit, or a level is not one of its term's.
    """
    return _sums(*checked(y, fixed, terms, weights))


def _sums(
    y: Floats, fixed: Floats, terms: Sequence[Term], weight: Floats, centre: Floats | None = None
) -> CrossProducts:
    weighted = fixed * weight[:, None]
    xx = weighted.T @ fixed
    if centre is None:
        centre = _least_squares(xx, weighted.T @ y)
    y = y - fixed @ centre
    pairs = combinations(range(len(terms)), 2)
    return CrossProducts(
        rows=len(y),
        log_weights=float(np.log(weight).sum()),
        centre=centre,
        yy=float(weight @ y**2),
        xy=weighted.T @ y,
        xx=xx,
        groups=tuple(_group(term, weight, weight * y, weighted) for term in terms),
        couples={(left, right): _couples(terms[left], terms[right], weight) for left, right in pairs},
    )


def _least_squares(xx: Floats, xy: Floats) -> Floats:
    """Coefficients of least squares, the shortest where columns hang together."""
    size = np.sqrt(np.diag(xx))
    size[size == 0] = 1.0  # a tiny size would blow up what rounding leaves of a column of zeros
    return np.asarray(np.linalg.pinv(xx / np.outer(size, size), rcond=1e-9, hermitian=True) @ (xy / size) / size)


def _group(term: Term, weight: Floats, weighted_y: Floats, weighted: Floats) -> Group:
    level, size = term.level, term.levels
    if term.columns is None:
        own = sum_by(level, weight[:, None, None], size)
        with_y = sum_by(level, weighted_y[:, None], size)
        with_fixed = sum_by(level, weighted, size)[:, None, :]
    else:
        z = term.columns
        own = sum_by(level, weight[:, None, None] * z[:, :, None] * z[:, None, :], size)
        with_y = sum_by(level, weighted_y[:, None] * z, size)
        with_fixed = sum_by(level, z[:, :, None] * weighted[:, None, :], size)
    known = term.known_sd
    return Group(
        name=term.name,
        levels=size,
        width=term.width,
        plain=term.columns is None,
        known_sd=float(known) if known is not None and np.ndim(known) == 0 else known,
        sd_prior=term.sd_prior,
        own=own,
        with_y=with_y,
        with_fixed=with_fixed,
    )


def _group_plus(mine: Group, more: Group) -> Group:
    def grown(old: Floats, new: Floats) -> Floats:
        total = new.copy()
        total[: len(old)] += old
        return total

    return replace(
        more,
        own=grown(mine.own, more.own),
        with_y=grown(mine.with_y, more.with_y),
        with_fixed=grown(mine.with_fixed, more.with_fixed),
    )


def _couples(left: Term, right: Term, weight: Floats) -> Couples:
    if left.columns is None and right.columns is None:
        values = weight[:, None, None]
    else:
        ones = np.ones((len(weight), 1))
        first = (ones if left.columns is None else left.columns) * weight[:, None]
        values = first[:, :, None] * (ones if right.columns is None else right.columns)[:, None, :]
    if left.levels * right.levels > max(SMALL_TABLE, len(weight)):
        return _summed(_key(left.level, right.level), values)
    place = left.level * right.levels + right.level
    present = np.flatnonzero(np.bincount(place, minlength=left.levels * right.levels))
    return Couples(*np.divmod(present, right.levels), sum_by(place, values, left.levels * right.levels)[present])


def _key(first: Ints, second: Ints) -> Ints:
    return (first << APART) | second


def _summed(keys: Ints, values: Floats) -> Couples:
    """Values with the same key added up, in the order of the keys."""
    order = np.argsort(keys, kind="stable")
    ordered = keys[order]
    starts = np.flatnonzero(np.r_[True, ordered[1:] != ordered[:-1]]) if len(keys) else np.zeros(0, dtype=np.int64)
    sums = np.add.reduceat(values[order], starts, axis=0) if len(keys) else values
    return Couples(ordered[starts] >> APART, ordered[starts] & ((1 << APART) - 1), sums)


def sum_by(index: Ints, values: Floats, size: int) -> Floats:
    """Sums of values (k, ...) that share an index, (size, ...)."""
    flat = values.reshape(len(values), int(np.prod(values.shape[1:])))
    found = np.empty((size, flat.shape[1]))
    for column in range(flat.shape[1]):
        found[:, column] = np.bincount(index, flat[:, column], size)
    return found.reshape(size, *values.shape[1:])
