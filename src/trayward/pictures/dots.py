"""Dots in heaps: a hundred outcomes counted by day or by weight, each dot one of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from trayward.pictures.look import INK, Size, mark_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

TALLEST = 12
"""Dots of the highest heap, one on another; more go side by side."""


def rows_of(counts: Sequence[int]) -> tuple[int, int]:
    """
    How many dots lie side by side in a heap, and how many rows the highest heap has.

    Examples
    --------
    >>> rows_of([2, 30, 9]), rows_of([1, 4, 1])
    ((3, 10), (1, 4))
    """
    most = max([*counts, 1])
    side = max(1, math.ceil(most / TALLEST))
    return side, math.ceil(most / side)


def heaps(axes: Axes, edges: Sequence[float], counts: Sequence[int], stage: str, size: Size, *, width: float) -> float:
    """
    Heaps of dots between edges, with the number of dots above each; returns the height they need. [in]

    Parameters
    ----------
    width : float
        Width of the axes; dots are round, so their size follows from it. [in]
    """
    side, rows = rows_of(counts)
    span = axes.get_xlim()[1] - axes.get_xlim()[0]
    inch = width / span
    across = min(right - left for left, right in pairwise(edges)) * inch * 0.86
    dot = min(across / side, 0.115)
    mark = mark_of(stage)
    xs, ys = [], []
    for (left, right), count in zip(pairwise(edges), counts, strict=True):
        middle = (left + right) / 2
        for number in range(count):
            row, column = divmod(number, side)
            in_row = min(side, count - row * side)
            xs.append(middle + (column - (in_row - 1) / 2) * dot / inch)
            ys.append((row + 0.5) * dot)
        if count and across >= 0.16:
            axes.text(
                middle, math.ceil(count / side) * dot + 0.05, str(count), ha="center", va="bottom", fontsize=size.tick
            )
    broad = (dot * 72 * 0.84) ** 2
    axes.scatter(xs, ys, s=broad, facecolor=mark.colour, edgecolor=INK, linewidth=0.4, clip_on=False, zorder=3)
    return rows * dot + 0.05 + size.tick / 72 * 1.2
