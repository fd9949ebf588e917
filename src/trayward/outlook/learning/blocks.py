"""A small blocked trial, analysed: days as blocks, each with every level; what the levels do, beside what days do."""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence

import msgspec
import numpy as np

from trayward.errors import InputError
from trayward.outlook.terms import Floats

Labels = Sequence[Hashable]


class Line(msgspec.Struct, frozen=True, kw_only=True):
    """One line of a table of variance: sum of squares, degrees of freedom, mean square; F and its chance, if any."""

    what: str
    squares: float
    freedom: int
    mean_square: float
    f: float | None = None
    chance: float | None = None
    """How often chance alone gives an F as large. [-]"""


class LevelEffect(msgspec.Struct, frozen=True, kw_only=True):
    """A level against the reference within the same days: `difference` on the scale of y, with its 80 % range."""

    level: float
    difference: float
    error: float
    low: float
    high: float
    trays: int


class Blocked(msgspec.Struct, frozen=True, kw_only=True):
    """What a blocked trial says by itself. `spread` is the sd from tray to tray in a day and level."""

    reference: float
    levels: tuple[LevelEffect, ...]
    blocks: int
    freedom: int
    spread: float
    table: tuple[Line, ...]


def table_of_variance(y: Floats, factors: Sequence[tuple[str, Labels]]) -> tuple[Line, ...]:
    """
    Split the spread of a trial by its factors, one after another; the last line is what is left.

    Parameters
    ----------
    y : array (n,)
        What was measured.
    factors : sequence of (name, labels)
        In the order in which they are taken out. Two factors together (`list(zip(a, b))`) after each alone give their
        interaction.

    Returns
    -------
    tuple of Line

    Raises
    ------
    InputError
        If the lengths differ or a value is no number.
    """
    if not np.all(np.isfinite(y)):
        raise InputError("weights", "not a number", "each tray of a trial needs one", "Leave such trays out.")
    columns, left, rank = np.ones((len(y), 1)), y - y.mean(), 1
    lines: list[tuple[str, float, int]] = []
    for name, labels in factors:
        if len(labels) != len(y):
            raise InputError(name, len(labels), f"each of the {len(y)} trays needs one", "Give one for each.")
        columns = np.hstack([columns, indicators(labels)])
        now, rank_now = _left_over(columns, y)
        lines.append((name, float(left @ left - now @ now), rank_now - rank))
        left, rank = now, rank_now
    return _table(lines, float(left @ left), len(y) - rank)


def indicators(labels: Labels) -> Floats:
    """A column of zeros and ones for each label, in the order in which they first come. (n, k)"""
    number = {label: k for k, label in enumerate(dict.fromkeys(labels))}
    found = np.zeros((len(labels), len(number)))
    found[np.arange(len(labels)), [number[label] for label in labels]] = 1.0
    return found


def _left_over(columns: Floats, y: Floats) -> tuple[Floats, int]:
    """What columns leave of y, and their rank."""
    solved, _, rank, _ = np.linalg.lstsq(columns, y, rcond=1e-10)
    left: Floats = y - columns @ solved
    return left, int(rank)


def _table(lines: list[tuple[str, float, int]], rest: float, freedom: int) -> tuple[Line, ...]:
    from scipy.special import fdtrc

    mean_rest = rest / freedom if freedom else math.nan
    found = []
    for name, squares, df in lines:
        mean = squares / df if df else 0.0
        f = mean / mean_rest if df and freedom and mean_rest > 0 else None
        chance = float(fdtrc(df, freedom, f)) if f is not None else None
        found.append(Line(what=name, squares=squares, freedom=df, mean_square=mean, f=f, chance=chance))
    left = Line(what="left over", squares=rest, freedom=freedom, mean_square=mean_rest if freedom else 0.0)
    return (*found, left)


def blocked(y: Floats, block: Labels, level: Sequence[float], reference: float | None = None) -> Blocked | None:
    """
    Compare levels within blocks.

    Parameters
    ----------
    y : array (n,)
        Log weight of each tray. [log g]
    block : sequence
        The day each was sown.
    level : sequence of float
        The level each was given.
    reference : float, optional
        The level the others are held against; the lowest if left out.

    Returns
    -------
    Blocked or None
        None where nothing can be compared: no two levels meet in a block, or no tray is left to judge the spread by.

    Notes
    -----
    Least squares on block and level; ranges by Student's t with the freedom that is left (the randomised complete block
    design, for instance Gomez and Gomez 1984, Statistical Procedures for Agricultural Research, Wiley).
    """
    from scipy.special import stdtrit

    levels = sorted(set(level))
    base = levels[0] if reference is None or reference not in levels else reference
    others = [each for each in levels if each != base]
    if not others:
        return None
    compared = np.array([[float(each == other) for other in others] for each in level])
    columns = np.hstack([indicators(block), compared])
    inverse = np.linalg.pinv(columns.T @ columns)
    solved, _, rank, _ = np.linalg.lstsq(columns, y, rcond=1e-10)
    freedom = len(y) - int(rank)
    if freedom < 1 or rank < columns.shape[1]:
        return None
    rest = y - columns @ solved
    spread = math.sqrt(float(rest @ rest) / freedom)
    reach = float(stdtrit(freedom, 0.9))
    count = len(set(block))
    found = []
    for k, other in enumerate(others, columns.shape[1] - len(others)):
        error = spread * math.sqrt(max(0.0, float(inverse[k, k])))
        middle = float(solved[k])
        trays = sum(each == other for each in level)
        found.append(
            LevelEffect(
                level=other,
                difference=middle,
                error=error,
                low=middle - reach * error,
                high=middle + reach * error,
                trays=trays,
            )
        )
    table = table_of_variance(y, [("day", block), ("level", list(level))])
    return Blocked(reference=base, levels=tuple(found), blocks=count, freedom=freedom, spread=spread, table=table)


def quadratic_peak(levels: Floats, means: Floats) -> float | None:
    """
    Where a parabola through the means of a trial peaks; None unless it bends down and peaks well inside what was tried.

    Well inside is between the second lowest and the second highest level: a peak beyond them rests on one end of the
    trial alone, and a little noise would move it outside. Units of `levels`.
    """
    order = np.unique(levels)
    if len(order) < 4:
        return None
    peak = parabola_top(levels, means)
    return peak if peak is not None and order[1] <= peak <= order[-2] else None


def parabola_top(levels: Floats, means: Floats) -> float | None:
    """Where the least-squares parabola is flat, wherever that is; None where it does not bend down."""
    centre, scale = float(levels.mean()), float(np.ptp(levels)) or 1.0
    bend, slope, _ = np.polyfit((levels - centre) / scale, means, 2)
    return float(centre - scale * slope / (2 * bend)) if bend < 0 else None
