"""Which unknowns of the mixed-model equations are put away first, and where their products go.

The term with the most effects (in a farm: the sowings) has a block of its own for every level, so it can be put away
exactly, level by level. A second term whose levels never meet in one level of the first (the lots, where every sowing
has one lot) then still stands level by level, and is put away too. What is left is small, and dense.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trayward.outlook.products import CrossProducts, sum_by
from trayward.outlook.terms import Floats, Ints

MOST_PAIRS = 10_000_000
"""A term whose levels meet more pairs of other columns than this stays in the dense part."""


@dataclass(frozen=True, eq=False)
class Entries:
    """
    Where levels of the term put away first meet levels of other terms.

    Entry k: level `level[k]` and column `code[k]`, `value[k]` (q,). Codes below the number of the second term's levels
    are its levels, the rest are dense columns. Entries of one level meet in pairs: `pair_level`, the place `pair_place`
    where their product goes, `pair_value` (pairs, q * q), and `pair_times`, 2 where it stands for both triangles.
    """

    level: Ints
    code: Ints
    value: Floats
    pair_level: Ints
    pair_place: Ints
    pair_value: Floats
    pair_times: Floats

    def of(self, level: Ints) -> tuple[Ints, Ints]:
        """Entries of some levels, and which of those each belongs to."""
        first = np.searchsorted(self.level, level)
        counts = np.searchsorted(self.level, level, side="right") - first
        owner = np.repeat(np.arange(len(level)), counts)
        return first[owner] + np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts), owner


@dataclass(frozen=True, eq=False)
class Layout:
    """
    The order in which unknowns are put away.

    `first` and `second` are places of terms, or None; `rest` those of the others. The dense columns are the effects of
    `rest`, level by level from `starts` on, then the fixed ones from `dense_effects` on, `dense` in all. `base` holds
    the products of all but the first: the second's own, its with dense columns, the dense ones' upper triangle.
    """

    products: CrossProducts
    first: int | None
    second: int | None
    rest: tuple[int, ...]
    starts: dict[int, int]
    dense_effects: int
    dense: int
    seconds: int
    entries: Entries
    base: Floats

    def reduced(self, kappa: Floats) -> tuple[Floats, Floats, Floats]:
        """Products of second and dense unknowns once the first term is put away with weights `kappa` (levels, q, q)."""
        flat = self.base.copy()
        if self.first is not None:
            found = self.entries
            by_pair = np.einsum("kq,kq->k", found.pair_value, kappa.reshape(len(kappa), -1)[found.pair_level])
            flat -= np.bincount(found.pair_place, by_pair, len(flat))
        seconds, between, upper = self.split(flat)
        full = np.triu(upper) + np.triu(upper, 1).T
        if self.first is not None:
            self._take_fixed(kappa, between, full)
        return seconds, between, full

    def split(self, flat: Floats) -> tuple[Floats, Floats, Floats]:
        """The three parts of products (or covariances) laid out as in `base`."""
        middle = self.seconds + self.seconds * self.dense
        between = flat[self.seconds : middle].reshape(self.seconds, self.dense)
        return flat[: self.seconds], between, flat[middle:].reshape(self.dense, self.dense)

    def _take_fixed(self, kappa: Floats, between: Floats, full: Floats) -> None:
        """Take the first term's products with fixed columns off; these are dense, so they go apart from the entries."""
        assert self.first is not None
        with_fixed, start = self.products.groups[self.first].with_fixed, self.dense_effects
        weighted = kappa @ with_fixed
        full[start:, start:] -= np.tensordot(with_fixed, weighted, axes=((0, 1), (0, 1)))
        sums = self.by_code(weighted)
        between[:, start:] -= sums[: self.seconds]
        full[:start, start:] -= sums[self.seconds :]
        full[start:, :start] -= sums[self.seconds :].T

    def by_code(self, values: Floats) -> Floats:
        """Entries times values of their level (levels, q, m), summed by code (codes, m)."""
        entries = self.entries
        size = self.seconds + self.dense_effects
        return sum_by(entries.code, np.einsum("kq,kqm->km", entries.value, values[entries.level]), size)

    def by_level(self, seconds: Floats, dense: Floats, levels: int) -> Floats:
        """What the first term's levels meet, times values of second (s, m) and dense (d, m) columns (levels, q, m)."""
        assert self.first is not None
        entries = self.entries
        values = np.concatenate([seconds, dense[: self.dense_effects]])
        met = sum_by(entries.level, entries.value[:, :, None] * values[entries.code][:, None, :], levels)
        return np.asarray(met + self.products.groups[self.first].with_fixed @ dense[self.dense_effects :])

    def met_variance(self, seconds: Floats, between: Floats, full: Floats) -> Floats:
        """Variance of what the first term's levels meet (levels, q, q), by the covariances of second and dense ones."""
        assert self.first is not None
        group, entries = self.products.groups[self.first], self.entries
        flat = np.concatenate([seconds, between.ravel(), full.ravel()])
        weighted = entries.pair_value * (entries.pair_times * flat[entries.pair_place])[:, None]
        by_pair = sum_by(entries.pair_level, weighted, group.levels).reshape(group.own.shape)
        start = self.dense_effects
        with_fixed = np.concatenate([between[:, start:], full[:start, start:]])[entries.code]
        turned = np.einsum("kp,kqp->kq", with_fixed, group.with_fixed[entries.level])
        crossed = sum_by(entries.level, entries.value[:, :, None] * turned[:, None, :], group.levels)
        fixed = group.with_fixed @ full[start:, start:] @ group.with_fixed.transpose(0, 2, 1)
        both = by_pair / 2 + crossed
        return np.asarray(both + both.transpose(0, 2, 1) + fixed)


def layout_of(products: CrossProducts) -> Layout:
    """Choose which terms are put away, and lay out their products."""
    groups = products.groups
    by_size = sorted(range(len(groups)), key=lambda place: -groups[place].levels * groups[place].width)
    first = next((place for place in by_size if _pairs(products, place) <= MOST_PAIRS), None)
    second = next((place for place in by_size if place != first and _stays_apart(products, first, place)), None)
    rest = tuple(place for place in range(len(groups)) if place not in (first, second))
    sizes = [groups[place].levels * groups[place].width for place in rest]
    starts = dict(zip(rest, np.cumsum([0, *sizes]).tolist(), strict=False))
    seconds = 0 if second is None else groups[second].levels
    dense_effects = sum(sizes)
    dense = dense_effects + products.fixed
    return Layout(
        products=products,
        first=first,
        second=second,
        rest=rest,
        starts=starts,
        dense_effects=dense_effects,
        dense=dense,
        seconds=seconds,
        entries=_entries(products, first, second, starts, seconds, dense),
        base=_base(products, second, rest, starts, seconds, dense),
    )


def _met(products: CrossProducts, one: int, other: int) -> tuple[Ints, Ints, Floats]:
    """Levels of one term, levels of another, and their products, in no order."""
    if one < other:
        pair = products.couples[one, other]
        return pair.first, pair.second, pair.values
    pair = products.couples[other, one]
    return pair.second, pair.first, pair.values.transpose(0, 2, 1)


def _pairs(products: CrossProducts, place: int) -> int:
    """Pairs of columns of other terms that a term's levels bring together."""
    meets = np.zeros(products.groups[place].levels, dtype=np.int64)
    for other, group in enumerate(products.groups):
        if other != place:
            meets += group.width * np.bincount(_met(products, place, other)[0], minlength=len(meets))
    return int((meets * (meets + 1)).sum()) // 2


def _stays_apart(products: CrossProducts, first: int | None, place: int) -> bool:
    """Whether no level of the first term meets two levels of this one."""
    if products.groups[place].width != 1:
        return False
    if first is None:
        return True
    levels = _met(products, first, place)[0]
    return int(np.bincount(levels, minlength=1).max()) <= 1


def _entries(
    products: CrossProducts, first: int | None, second: int | None, starts: dict[int, int], seconds: int, dense: int
) -> Entries:
    width = 1 if first is None else products.groups[first].width
    nothing = np.zeros(0, dtype=np.int64)
    parts: list[tuple[Ints, Ints, Floats]] = [(nothing, nothing, np.zeros((0, width)))]
    others = [place for place in range(len(products.groups)) if first is not None and place != first]
    for other in others:
        assert first is not None
        level, met, values = _met(products, first, other)
        for effect in range(products.groups[other].width):
            start = 0 if other == second else seconds + starts[other] + effect
            parts.append((level, start + met * products.groups[other].width, values[:, :, effect]))
    level, code, value = (np.concatenate(each) for each in zip(*parts, strict=True))
    order = np.lexsort((code, level))
    level, code, value = level[order], code[order], value[order]
    left, right = _pairs_within(level)
    outer = value[left][:, :, None] * value[right][:, None, :]
    return Entries(
        level=level,
        code=code,
        value=value,
        pair_level=level[left],
        pair_place=_places(code[left], code[right], seconds, dense),
        pair_value=outer.reshape(len(left), width * width),
        pair_times=np.where(left == right, 1.0, 2.0),
    )


def _pairs_within(level: Ints) -> tuple[Ints, Ints]:
    """Every pair of entries of the same level, each once and with itself; `level` is sorted."""
    ends = np.searchsorted(level, level, side="right")
    counts = ends - np.arange(len(level))
    left = np.repeat(np.arange(len(level)), counts)
    before = np.repeat(np.cumsum(counts) - counts, counts)
    return left, left + np.arange(len(left)) - before


def _places(low: Ints, high: Ints, seconds: int, dense: int) -> Ints:
    """Where the product of two columns goes, codes low <= high."""
    between = seconds + low * dense + (high - seconds)
    inner = seconds + seconds * dense + (low - seconds) * dense + (high - seconds)
    return np.where(low >= seconds, inner, np.where(high >= seconds, between, low))


def _base(
    products: CrossProducts, second: int | None, rest: tuple[int, ...], starts: dict[int, int], seconds: int, dense: int
) -> Floats:
    between, inner = np.zeros((seconds, dense)), np.zeros((dense, dense))
    fixed = dense - products.fixed
    own = np.zeros(0) if second is None else products.groups[second].own[:, 0, 0]
    if second is not None:
        between[:, fixed:] = products.groups[second].with_fixed[:, 0, :]
    inner[fixed:, fixed:] = products.xx
    for place in rest:
        group = products.groups[place]
        columns = starts[place] + np.arange(group.levels * group.width).reshape(group.levels, group.width)
        inner[columns[:, :, None], columns[:, None, :]] = group.own
        inner[columns.ravel(), fixed:] = group.with_fixed.reshape(-1, products.fixed)
        if second is not None:
            level, met, values = _met(products, second, place)
            between[level[:, None], columns[met]] = values[:, 0, :]
        for other in (other for other in rest if other > place):
            level, met, values = _met(products, place, other)
            more = products.groups[other]
            others = starts[other] + met[:, None] * more.width + np.arange(more.width)
            inner[columns[level][:, :, None], others[:, None, :]] = values
    return np.concatenate([own, between.ravel(), inner.ravel()])
