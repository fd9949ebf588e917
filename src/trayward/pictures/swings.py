"""What moves a sum most: for each figure, where the sum goes when it is lower and when it is higher."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from trayward.pictures import bars
from trayward.pictures.look import GROUND, INK, PLAIN, SOFT, Size, Wide, tint
from trayward.pictures.page import POINTS, Panel, Picture, drawn, in_house_style, shortened, size_of, widest, width_in
from trayward.pictures.types import SwingFigures, Swung
from trayward.units import money_places, show_money

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW = {"desk": 0.4, "phone": 0.62}
MOST = 12
"""More figures than anybody reads are counted, not drawn."""
LOWER, HIGHER = "#E69F00", PLAIN
"""Okabe-Ito, as everywhere; the lower figure's bar is hatched as well."""


@in_house_style
def swings_picture(figures: SwingFigures, title: str, *, wide: Wide = "desk") -> Picture:
    """
    A bar for each figure about the sum as it is, the widest on top.

    Parameters
    ----------
    figures : SwingFigures
        The sum, and what it comes to with each figure lower and higher.
    title : str
        What it shows, in one sentence.
    """
    size = size_of(wide)
    rows = figures.rows[:MOST]
    named = [f"{row.what}, {row.now}" for row in rows]
    left = 0.1 if size.narrow else widest(named, size.label) + 0.25
    height = max(1, len(rows)) * ROW[wide]
    heading = f"{figures.what[:1].upper()}{figures.what[1:]} [{figures.currency}]".replace(" []", "")
    panel = Panel(height=height, left=left, right=0.15, above=0.32, below=0.06, heading=heading)
    words = [_row_words(figures, row) for row in figures.rows]
    picture, (axes,) = drawn(title, size, [[panel]], words, note=_note(figures))
    _draw(axes, figures, rows, left, size)
    return picture


def _row_words(figures: SwingFigures, row: Swung) -> str:
    """`weight of a tray, 207 g: 5.65 with 20 % less, 3.77 with 20 % more`."""
    by = f"{100 * figures.share:.3g} %"
    lower, higher = (_money(figures, value) for value in (row.lower, row.higher))
    return f"{row.what}, {row.now}: {lower} with {by} less, {higher} with {by} more"


def _note(figures: SwingFigures) -> str:
    by = f"{100 * figures.share:.3g} %"
    more = max(0, len(figures.rows) - MOST)
    hidden = f" {more} more move it less and are not drawn." if more > 1 else " 1 more moves it less." if more else ""
    rest = "One figure at a time, the rest as they are."
    return f"Hatched: the figure {by} lower. Plain: {by} higher. Line: as things are. {rest}{hidden}"


def _money(figures: SwingFigures, value: float) -> str:
    return show_money(value, places=money_places(figures.currency)).replace("-", "−")


def _draw(axes: Axes, figures: SwingFigures, rows: Sequence[Swung], left: float, size: Size) -> None:
    bars.rows_from_top(axes, max(1, len(rows)))
    _along(axes, figures, rows, size)
    axes.axvline(figures.base, color=INK, linewidth=1.2, zorder=2.2)
    for number, row in enumerate(rows):
        y, tall = number + (0.2 if size.narrow else 0.0), 0.36 if size.narrow else 0.56
        _bar(axes, figures, y, row.lower, tall, lower=True)
        _bar(axes, figures, y, row.higher, tall, lower=False)
        _ends(axes, figures, y, row, size)
        if not number:
            _within(axes, figures, y, row, size)
        if size.narrow:
            bars.beside(axes, number - 0.24, _named(row, size, bars.width_of(axes)), 0, size)
        else:
            bars.beside(axes, number, f"{row.what}, {row.now}", -left * POINTS + 4, size)


def _named(row: Swung, size: Size, room: float) -> str:
    """Figure and what it is now; on a narrow page what it is gives way first."""
    whole = f"{row.what}, {row.now}"
    return whole if width_in(whole, size.label) <= room else shortened(row.what, size.label, room)


def _bar(axes: Axes, figures: SwingFigures, y: float, end: float, tall: float, *, lower: bool) -> None:
    colour, base = LOWER if lower else HIGHER, figures.base
    fill = GROUND if lower else tint(colour, 0.55)
    if lower:
        axes.barh(
            y, end - base, left=base, height=tall, color=fill, edgecolor=colour, linewidth=0, hatch="////", zorder=2
        )
    axes.barh(
        y,
        end - base,
        left=base,
        height=tall,
        color="none" if lower else fill,
        edgecolor=colour,
        linewidth=1.0,
        zorder=2.1,
    )


def _ends(axes: Axes, figures: SwingFigures, y: float, row: Swung, size: Size) -> None:
    """What the sum comes to at either end, beside the bar; where both lie on one side, only the farther."""
    ends = sorted({row.lower, row.higher})
    for end in ends:
        side = 1 if end > figures.base else -1
        farther = not any((other - figures.base) * side > (end - figures.base) * side for other in ends)
        if end != figures.base and farther:
            axes.annotate(
                _money(figures, end), (end, y), xytext=(5 * side, 0), textcoords="offset points",
                ha="left" if side > 0 else "right", va="center_baseline", fontsize=size.tick, annotation_clip=False,
                zorder=3,
            )  # fmt: skip


def _within(axes: Axes, figures: SwingFigures, y: float, row: Swung, size: Size) -> None:
    """What the two bars mean, in the topmost, where there is room for it."""
    across = axes.get_xlim()
    for end, way in ((row.lower, "less"), (row.higher, "more")):
        words = f"{100 * figures.share:.3g} % {way}"
        inches = abs(end - figures.base) / (across[1] - across[0]) * bars.width_of(axes)
        if inches > width_in(words, size.tick) + 0.16:
            axes.annotate(
                words, ((end + figures.base) / 2, y), ha="center", va="center_baseline", fontsize=size.tick, color=INK,
                bbox={"boxstyle": "square,pad=0.1", "facecolor": GROUND, "edgecolor": "none"}, zorder=2.5,
            )  # fmt: skip


def _along(axes: Axes, figures: SwingFigures, rows: Sequence[Swung], size: Size) -> None:
    """Money along the top, about the sum as it is; the sum itself is named at its line."""
    values = [value for row in rows for value in (row.lower, row.higher)]
    low, high = min([figures.base, *values]), max([figures.base, *values])
    room = max(high - low, abs(figures.base) * 0.02, 0.01)
    words = 0.09 + widest([_money(figures, value) for value in (low, high)], size.tick)
    share = min(0.35, words / bars.width_of(axes))
    edge = room * share / (1 - 2 * share)
    axes.set_xlim(low - edge, high + edge)
    axes.xaxis.tick_top()
    axes.spines["bottom"].set_visible(False)
    axes.set_xticks(*_ticks(figures, low - edge, high + edge, size, bars.width_of(axes)))
    axes.annotate(
        _money(figures, figures.base), (figures.base, 1), xycoords=("data", "axes fraction"), xytext=(0, 4),
        textcoords="offset points", ha="center", va="bottom", fontsize=size.tick, fontweight="bold", color=INK,
    )  # fmt: skip
    axes.tick_params(labelcolor=SOFT)


def _ticks(figures: SwingFigures, low: float, high: float, size: Size, width: float) -> tuple[list[float], list[str]]:
    """Round amounts, none so near the sum itself that the words would touch."""
    step = bars.round_step((high - low) / (4 if size.narrow else 8))
    at = [number * step for number in range(math.ceil(low / step), math.floor(high / step) + 1)]
    said = _money(figures, figures.base)

    def apart(value: float) -> bool:
        needs = (width_in(said, size.tick, bold=True) + width_in(_money(figures, value), size.tick)) / 2 + 0.12
        inside = width_in(_money(figures, value), size.tick) / 2 + 0.02
        from_edge = min(value - low, high - value) / (high - low) * width
        return abs(value - figures.base) / (high - low) * width > needs and from_edge > inside - 0.1

    kept = [value for value in at if apart(value)]
    return kept, [_money(figures, value) for value in kept]
