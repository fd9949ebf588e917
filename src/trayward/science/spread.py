"""How evenly seed or water is spread over a tray: counts or catches by cell. Loads numpy: import it late."""

from __future__ import annotations

from typing import Literal

import msgspec
import numpy as np
from numpy.typing import ArrayLike, NDArray

from trayward.errors import InputError
from trayward.science.either import require_each

Floats = NDArray[np.float64]
Pattern = Literal["even", "random", "clumped"]


class Spread(msgspec.Struct, frozen=True, kw_only=True):
    """
    Counts by cell, summed up.

    `cells` [-]; `mean` and `variance` of the counts, the latter with divisor n [-]; `dispersion` their ratio, 1 where
    seed fell by chance [-]; `p_clumped`, `p_even`: chance of a ratio this high, or this low, where seed falls by
    chance [-]; `pattern` in a word.
    """

    cells: int
    mean: float
    variance: float
    dispersion: float
    p_clumped: float
    p_even: float
    pattern: Pattern


def spread_of_counts(counts: ArrayLike) -> Spread:
    """
    How evenly seed lies, from the seeds counted in cells of one size.

    Parameters
    ----------
    counts : array_like, shape (n,)
        Seeds in each cell. [-] Valid from 0; at least 2 cells and 1 seed.

    Returns
    -------
    Spread

    Raises
    ------
    InputError
        If there are too few cells, no seed at all, or a count is below zero.

    Notes
    -----
    Seed that falls by chance has counts with variance equal to their mean [1]_. With divisor n - 1, (n - 1) x variance
    / mean is compared with chi-square of n - 1 degrees; beyond 1 in 40 on either side it is called clumped or even.

    References
    ----------
    .. [1] Student, 1907, On the error of counting with a haemacytometer, Biometrika 5:351-360. (From memory.)

    Examples
    --------
    >>> spread_of_counts([4, 5, 3, 6, 4, 5, 3, 6]).pattern
    'random'
    """
    seen = np.asarray(counts, float).ravel()
    _check(seen, "count")
    return _summed(seen.size, float(seen.mean()), float(seen.var()))


def spread_of_frequencies(frequencies: ArrayLike) -> Spread:
    """
    The same from how many cells held 0, 1, 2, ... seeds.

    Examples
    --------
    >>> round(spread_of_frequencies([213, 128, 37, 18, 3, 1]).dispersion, 2)
    1.19
    """
    cells = np.asarray(frequencies, float).ravel()
    require_each("cells", cells, 0, float("inf"), "")
    held = np.arange(cells.size)
    many = float(cells.sum())
    if many < 2 or not (cells * held).sum():
        raise InputError("cells", f"{many:g}", "needs two cells and some seed in them", "Count more cells.")
    mean = float((cells * held).sum()) / many
    return _summed(round(many), mean, float((cells * (held - mean) ** 2).sum()) / many)


def _check(seen: Floats, name: str) -> None:
    if seen.size < 2:
        raise InputError(name, seen.size, "at least two cells are needed", "Count more cells.")
    require_each(name, seen, 0, float("inf"), "")
    if not seen.any():
        raise InputError(name, "0", "there is nothing in any cell", "Count again.")


def _summed(cells: int, mean: float, variance: float) -> Spread:
    from scipy.special import chdtr, chdtrc

    square = variance * cells / mean
    high, low = float(chdtrc(cells - 1, square)), float(chdtr(cells - 1, square))
    pattern: Pattern = "clumped" if high < 0.025 else "even" if low < 0.025 else "random"
    return Spread(
        cells=cells, mean=mean, variance=variance, dispersion=variance / mean, p_clumped=high, p_even=low,
        pattern=pattern,
    )  # fmt: skip


def christiansen(amounts: ArrayLike) -> float:
    """
    Christiansen's coefficient of uniformity: 1 where every cell got the same.

    Parameters
    ----------
    amounts : array_like, shape (n,)
        Seed or water caught in each cell. Valid from 0; at least 2 cells.

    Returns
    -------
    float
        One less the mean distance from the mean, over the mean. [-] Below 0 where it is very uneven.

    Raises
    ------
    InputError
        If there are too few cells, nothing at all, or an amount is below zero.

    References
    ----------
    .. [1] J. E. Christiansen, 1942, Irrigation by sprinkling, University of California Agricultural Experiment Station
       Bulletin 670. (From memory.)

    Examples
    --------
    >>> christiansen([9, 10, 11, 10, 8, 12, 10, 10])
    0.925
    """
    seen = np.asarray(amounts, float).ravel()
    _check(seen, "amount")
    return 1 - float(np.abs(seen - seen.mean()).mean() / seen.mean())


def low_quarter(amounts: ArrayLike) -> float:
    """
    Mean of the poorest quarter of the cells over the mean of all. [-]

    A quarter that is no whole number of cells takes its share of the next one.

    Examples
    --------
    >>> low_quarter([9, 10, 11, 10, 8, 12, 10, 10])
    0.85
    """
    seen = np.asarray(amounts, float).ravel()
    _check(seen, "amount")
    many = seen.size / 4
    weights = np.clip(many - np.arange(seen.size), 0, 1)
    return float((np.sort(seen) * weights).sum() / many / seen.mean())


def counts_by_cell(
    along_mm: ArrayLike, across_mm: ArrayLike, length_mm: float, width_mm: float, cell_mm: float
) -> NDArray[np.int64]:
    """
    Seeds by cell, from where each lies, for instance marked on a photograph.

    Parameters
    ----------
    along_mm, across_mm : array_like, shape (n,)
        Where each seed lies. [mm] Valid from 0 to the tray's length and width.
    length_mm, width_mm : float
        Inside of the tray. [mm] Valid above 0.
    cell_mm : float
        Side of a square cell. [mm] Valid above 0, up to the shorter side.

    Returns
    -------
    ndarray of int, shape (rows, columns)
        Whole cells alone: what lies in a cut-off cell at the far edges is not counted.

    Raises
    ------
    InputError
        If a seed lies outside the tray, or no whole cell fits.

    Examples
    --------
    >>> counts_by_cell([5, 15, 15], [5, 5, 15], 20, 20, 10).tolist()
    [[1, 0], [1, 1]]
    """
    x, y = np.asarray(along_mm, float).ravel(), np.asarray(across_mm, float).ravel()
    if x.size != y.size:
        raise InputError("places", f"{x.size} and {y.size}", "every seed needs both its measures")
    require_each("length_mm", length_mm, 0, float("inf"), "mm", above=True)
    require_each("width_mm", width_mm, 0, float("inf"), "mm", above=True)
    require_each("cell_mm", cell_mm, 0, min(length_mm, width_mm), "mm", "It must fit into the tray.", above=True)
    require_each("along_mm", x, 0, length_mm, "mm", "It lies outside the tray.")
    require_each("across_mm", y, 0, width_mm, "mm", "It lies outside the tray.")
    rows, columns = int(length_mm / cell_mm + 1e-9), int(width_mm / cell_mm + 1e-9)
    at, to = (x / cell_mm).astype(np.int64), (y / cell_mm).astype(np.int64)
    # A seed on the very rim of the last whole cell belongs to it.
    at[(at == rows) & (x <= rows * cell_mm)] = rows - 1
    to[(to == columns) & (y <= columns * cell_mm)] = columns - 1
    inside = (at < rows) & (to < columns)
    return np.bincount(at[inside] * columns + to[inside], minlength=rows * columns).reshape(rows, columns)
