"""Factors with their ranges, one below another: what moves a tray's outlook, lots, seasons."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from trayward.pictures import bars
from trayward.pictures.look import GROUND, INK, PLAIN, SOFT, TROUBLE, Size, Wide
from trayward.pictures.page import (
    MARGIN,
    POINTS,
    Panel,
    Picture,
    drawn,
    in_house_style,
    shortened,
    size_of,
    widest,
    width_in,
)
from trayward.pictures.types import Factor

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW = {"desk": 0.32, "phone": 0.52}
LEAST_REACH = 1.12
"""The axis reaches at least this far to either side, so that a trifle does not look large. [-]"""
TICKS = (0.25, 0.5, 0.75, 0.9, 1.0, 1.1, 1.25, 1.5, 2.0, 3.0, 4.0)
FARTHEST = 6.0
"""Ranges are cut off at so many times more or less. [-]"""
NOTE = "Line: 8 in 10."
NOTE_OUT = "Line: 8 in 10. Diamond: stands out by more than chance gives. Dot: does not."


def percent(factor: float) -> str:
    """
    A factor as people say it.

    Examples
    --------
    >>> percent(0.88), percent(1.05), percent(1.001), percent(2.4)
    ('−12 %', '+5 %', 'same', '× 2.4')
    """
    if factor >= 2:
        return f"× {factor:.2g}"
    whole = round((factor - 1) * 100)
    return "same" if whole == 0 else f"{whole:+d} %".replace("-", "−")


def row_words(row: Factor) -> str:
    """A factor with its range in words: `lot B2: +5 %, 8 in 10: -1 % to +12 %`."""
    ends = f"{percent(row.low)} to {percent(row.high)}"
    rests = f", by {row.trays} tray" + ("s" if row.trays != 1 else "") if row.trays else ""
    return f"{row.what}: {percent(row.factor)}, 8 in 10: {ends}{rests}" + ("; stands out" if row.stands_out else "")


@in_house_style
def forest_picture(
    rows: Sequence[Factor], title: str, *, heading: str = "", in_time: bool = False, wide: Wide = "desk"
) -> Picture:
    """
    Factors with their ranges about "same".

    Parameters
    ----------
    rows : sequence of Factor
        From top to bottom; with `in_time` from left to right in time, joined by a line.
    title : str
        What it shows, in one sentence.
    """
    size = size_of(wide)
    words = [row_words(row) for row in rows]
    if in_time:
        return _in_time(rows, title, heading, size, words)
    panel = forest_panel(rows, size, heading)
    note = NOTE_OUT if any(row.stands_out for row in rows) else NOTE
    picture, (axes,) = drawn(title, size, [[panel]], words, note=note)
    draw_forest(axes, rows, size, panel.left)
    return picture


def forest_panel(rows: Sequence[Factor], size: Size, heading: str = "", share: float = 1.0) -> Panel:
    """Room for a forest: names left of it and figures right of it, or both above each line on a narrow page."""
    left = 0.1 if size.narrow else widest([row.what for row in rows], size.label) + 0.2
    right = 0.1 if size.narrow else widest([_figure(row) for row in rows], size.label) + 0.2
    height = max(1, len(rows)) * ROW[size.wide]
    return Panel(height=height, left=left, right=right, above=0.05, below=0.34, heading=heading, share=share)


def draw_forest(axes: Axes, rows: Sequence[Factor], size: Size, left: float) -> None:
    """Dots with ranges on a log axis; those that stand out are diamonds, not only of another colour."""
    bars.rows_from_top(axes, max(1, len(rows)))
    _factor_axis(axes, rows)
    axes.axvline(1.0, color=INK, linewidth=1.0, zorder=1)
    for number, row in enumerate(rows):
        y = number + (0.2 if size.narrow else 0.0)
        colour = TROUBLE if row.stands_out else PLAIN
        axes.plot([_cut(row.low), _cut(row.high)], [y, y], color=colour, linewidth=2.2, solid_capstyle="butt", zorder=2)
        axes.plot(
            [_cut(row.factor)], [y], marker="D" if row.stands_out else "o", markersize=8, color=colour,
            markeredgecolor=GROUND, zorder=3,
        )  # fmt: skip
        above = number - 0.24
        if size.narrow:
            room = bars.width_of(axes) - width_in(percent(row.factor), size.label) - 0.15
            bars.beside(axes, above, shortened(row.what, size.label, room), 0, size)
            bars.at_right(axes, above, percent(row.factor), 0, size)
        else:
            bars.beside(axes, number, row.what, -left * POINTS + 4, size)
            bars.at_right(axes, number, _figure(row), 10, size)


def _figure(row: Factor) -> str:
    return f"{percent(row.factor)} ({percent(row.low)} to {percent(row.high)})"


def _cut(factor: float) -> float:
    return min(max(factor, 1 / FARTHEST), FARTHEST)


def _reach(rows: Sequence[Factor]) -> float:
    ends = [abs(math.log(_cut(value))) for row in rows for value in (row.low, row.high)]
    return max([math.exp(max(ends, default=0.0)) * 1.04, LEAST_REACH])


def _factor_axis(axes: Axes, rows: Sequence[Factor], *, upright: bool = False) -> None:
    reach = _reach(rows)
    far = [tick for tick in TICKS if 1 / reach <= tick <= reach]
    shown = far if len(far) <= 5 else [tick for tick in far if tick in (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 4.0)]
    if reach < 1.3:
        shown = [tick for tick in (0.8, 0.9, 1.0, 1.1, 1.2) if 1 / reach <= tick <= reach]
    axis = axes.yaxis if upright else axes.xaxis
    (axes.set_yscale if upright else axes.set_xscale)("log")
    (axes.set_ylim if upright else axes.set_xlim)(1 / reach, reach)
    axis.set_ticks(shown, [percent(tick) for tick in shown])
    axis.set_ticks([], minor=True)


def _in_time(rows: Sequence[Factor], title: str, heading: str, size: Size, words: Sequence[str]) -> Picture:
    """Time from left to right, more upwards."""
    panel = Panel(height=2.3, left=0.62, right=0.35, above=0.1, below=0.42, heading=heading)
    picture, (axes,) = drawn(title, size, [[panel]], words, note=NOTE)
    axes.set_xlim(-0.5, max(1, len(rows)) - 0.5)
    axes.grid(visible=False, axis="x")
    axes.grid(axis="y", color="#D9D5CA", linewidth=0.8)
    room = (size.width - 2 * MARGIN - 1.0) / max(1, len(rows))
    step = max(1, math.ceil(widest([row.what for row in rows], size.tick) * 1.15 / room))
    at = range(0, len(rows), step)
    axes.set_xticks(list(at), [rows[number].what for number in at])
    _factor_axis(axes, rows, upright=True)
    axes.axhline(1.0, color=INK, linewidth=1.0, zorder=1)
    axes.plot(range(len(rows)), [_cut(row.factor) for row in rows], color=SOFT, linewidth=1.0, zorder=1)
    for number, row in enumerate(rows):
        axes.plot([number] * 2, [_cut(row.low), _cut(row.high)], color=PLAIN, linewidth=2.2, solid_capstyle="butt")
        axes.plot([number], [_cut(row.factor)], marker="o", markersize=8, color=PLAIN, markeredgecolor=GROUND, zorder=3)
    return picture
