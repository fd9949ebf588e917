"""Seeds by the interval they germinated in, and what a curve through them must offer. Loads numpy: import it late."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Literal, Protocol

import msgspec
import numpy as np
from numpy.typing import ArrayLike, NDArray

from trayward.errors import InputError

Floats = NDArray[np.float64]
Kind = Literal["free", "positive", "share"]
"""What a parameter may be: any number; above 0; within 0 to 1."""


class Counts(msgspec.Struct, frozen=True, kw_only=True):
    """
    Seeds by the interval they germinated in.

    `start`, `end` (n,) [time], the last `end` infinite for seeds not germinated at the last look; `seeds` (n,) how many
    [-]; `setting` (n, q) what the curve reads besides time (water potential [MPa], temperature [°C]); `dish` (n,) which
    dish.
    """

    start: Any
    end: Any
    seeds: Any
    setting: Any
    dish: Any

    @property
    def germinated(self) -> float:
        """Seeds that germinated before the last look. [-]"""
        return float(self.seeds[np.isfinite(self.end)].sum())

    @property
    def total(self) -> float:
        """All seeds. [-]"""
        return float(self.seeds.sum())


class Curve(Protocol):
    """A share of seed over time, with parameters to fit."""

    names: tuple[str, ...]
    kinds: tuple[Kind, ...]

    def share(self, values: Floats, time: Floats, setting: Floats, /) -> Floats:
        """Share of all seeds germinated by `time` (n,), at `setting` (n, q). [-]"""

    def time(self, values: Floats, share: Floats, setting: Floats, /) -> Floats:
        """Time by which a share of all seeds has germinated (n,); infinite where it never does."""

    def starts(self, counts: Counts) -> list[list[float]]:
        """Places to begin the search at."""


def counted(
    start: ArrayLike,
    end: ArrayLike,
    seeds: ArrayLike,
    *,
    setting: ArrayLike | None = None,
    dish: Sequence[object] | None = None,
) -> Counts:
    """
    Germination counts as rows of intervals, checked.

    Parameters
    ----------
    start, end : array_like, shape (n,)
        Looks before and after; `end` is infinite for seeds not germinated at the last look. [time]
    seeds : array_like, shape (n,)
        Seeds that germinated inside the interval. [-] Valid from 0.
    setting : array_like, shape (n,) or (n, q), optional
        Water potential [MPa], temperature [°C], or both, by row.
    dish : sequence, length n, optional
        Which dish each row is of; without it every row stands for itself.

    Returns
    -------
    Counts
        The same, as arrays.

    Raises
    ------
    InputError
        If lengths differ, an interval runs backwards, a count is negative or not a number, or there is no seed at all.

    Examples
    --------
    >>> counted([0, 1, 2], [1, 2, float("inf")], [3, 5, 2]).germinated
    8.0
    """
    first, last, many = (np.asarray(each, float).ravel() for each in (start, end, seeds))
    rows = len(many)
    if not len(first) == len(last) == rows:
        raise InputError("rows", f"{len(first)}, {len(last)}, {rows}", "start, end and seeds must be of one length")
    if not np.all((first >= 0) & (last > first)):
        raise InputError("interval", "backwards", "each must start at 0 or later and end after it starts")
    if not np.all((many >= 0) & np.isfinite(many)) or many.sum() <= 0:
        raise InputError("seeds", f"{many.sum():g}", "counts must be 0 or more, and some seed must have been sown")
    where = np.zeros((rows, 1)) if setting is None else np.asarray(setting, float).reshape(rows, -1)
    if not np.all(np.isfinite(where)):
        raise InputError("setting", "blank", "every row needs its water potential or temperature")
    names = np.arange(rows) if dish is None else np.unique([str(one) for one in dish], return_inverse=True)[1]
    return Counts(start=first, end=last, seeds=many, setting=where, dish=names)


def counted_at_looks(looks: Sequence[float], germinated: Sequence[float], seeds: float) -> Counts:
    """
    One dish: how many seeds had newly germinated at each look; the rest are known only to be later than the last.

    Parameters
    ----------
    looks : sequence of float, length n
        When it was looked at, rising. [time]
    germinated : sequence of float, length n
        Newly germinated at each look. [-]
    seeds : float
        Seeds sown. [-] At least as many as germinated.

    Returns
    -------
    Counts
        n + 1 rows.

    Examples
    --------
    >>> counted_at_looks([1, 2], [3, 5], 10).total
    10.0
    """
    left = seeds - sum(germinated)
    if left < 0:
        raise InputError(
            "seeds", f"{seeds:g}", f"is less than germinated, {sum(germinated):g}", "Count the dish again."
        )
    return counted([0.0, *looks], [*looks, math.inf], [*germinated, left])
