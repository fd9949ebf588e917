"""The light over a shelf, seen from above as one stands before it, and along it from left to right."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

from trayward.pictures.bars import round_step
from trayward.pictures.look import GROUND, INK, SOFT, Size, Wide, mark_of, tint
from trayward.pictures.page import MARGIN, Panel, Picture, drawn, in_house_style, size_of
from trayward.pictures.types import LightFigures
from trayward.units import show_length

if TYPE_CHECKING:
    from matplotlib.axes import Axes

UNIT = "µmol/m²/s"
BANDS = 7
"""Steps of light that are told apart at most. [-]"""
TOLD = (3, 7)
"""Spots told in words, from front to back and from left to right. [-]"""
APART = 0.52
"""From one figure to the next at least. [in]"""
LEFT, RIGHT, TALLEST = 0.55, 0.18, 4.6
"""Room beside the shelf and the most height it gets. [in]"""
LEAST, MOST = 0.06, 0.75
"""How much of the lamp's colour the darkest and the brightest step have. [-]"""
AMBER = mark_of("light").colour
SHADES = 5
"""Decimals of a share. [-]"""


@in_house_style
def light_map_picture(figures: LightFigures, title: str, *, unit: str = "mm", wide: Wide = "desk") -> Picture:
    """
    How bright it is on each spot of a shelf.

    Parameters
    ----------
    figures : LightFigures
        The light, the lamps and the trays.
    title : str
        What it shows, in one sentence.
    unit : str
        Unit of lengths, `mm` or `in`.
    """
    size = size_of(wide)
    room = size.width - 2 * MARGIN - LEFT - RIGHT
    height = min(room * figures.width_mm / figures.length_mm, TALLEST)
    across = height * figures.length_mm / figures.width_mm
    rows = _panels(room, across, height, size)
    step = _step(figures)
    mark = "Dashed" if any(lamp[:2] != lamp[2:4] for lamp in figures.lamps) else "Cross"
    note = f"A thin line is a step of {step:g}. {mark}: lamps, {show_length(figures.height_mm, unit)} above the leaves."
    note += " Grey: trays." if figures.trays else ""
    note += " Thick edge: a wall that throws light back." if figures.walls else ""
    picture, (shelf, section) = drawn(title, size, rows, words_of(figures, unit), note=note)
    _shelf(shelf, figures, step, unit, size)
    _spots(shelf, figures, (across, height), size)
    _section(section, figures, size)
    return picture


def _panels(room: float, across: float, height: float, size: Size) -> list[list[Panel]]:
    """The shelf, and the light along it: below it, or beside a shelf that is deep and short. [in]"""
    seen, cut = f"From above, {UNIT}", f"Along the shelf, {UNIT}"
    if not size.narrow and across < room / 2 - LEFT:
        part = (LEFT + across + RIGHT) / (room + LEFT + RIGHT)
        above = Panel(height=height, left=LEFT, right=RIGHT, above=0.08, below=0.66, heading=seen, share=part)
        along = Panel(height=height / 2, left=LEFT, right=RIGHT, above=0.08, below=0.42, heading=cut, share=1 - part)
        return [[above, along]]
    right = RIGHT + room - across
    above = Panel(height=height, left=LEFT, right=right, above=0.08, below=0.66, heading=seen)
    along = Panel(height=1.25, left=LEFT, right=right, above=0.05, below=0.42, heading=cut)
    return [[above], [along]]


def words_of(figures: LightFigures, unit: str) -> list[str]:
    """Light at the spots, row by row, and what it comes to, in words."""
    rows, columns = TOLD
    names = ("front", "middle", "back")
    told = []
    for row in range(rows):
        values = ", ".join(f"{_at(figures, row, column, rows, columns)[2]:.0f}" for column in range(columns))
        told.append(f"{names[row]}, left to right: {values} {UNIT}")
    every = [value for line in figures.ppfd for value in line]
    told.append(f"darkest {min(every):.0f}, mean {sum(every) / len(every):.0f}, brightest {max(every):.0f} {UNIT}")
    lamps = f"{len(figures.lamps)} lamp{'s' if len(figures.lamps) > 1 else ''}"
    told.append(f"{lamps} {show_length(figures.height_mm, unit)} above the leaves")
    told.append(f"{100 * figures.share_on_shelf:.0f} % of the light reaches the leaves")
    return told


def _step(figures: LightFigures) -> float:
    """A round step of light, so that there are not too many. [umol/m2/s]"""
    every = [value for line in figures.ppfd for value in line]
    return round_step(max(max(every) - min(every), 0.02 * max(every), 1e-9) / BANDS)


def _at(figures: LightFigures, row: int, column: int, rows: int, columns: int) -> tuple[float, float, float]:
    """A spot in the middle of one of so many equal parts: x, y and its light. [mm], [umol/m2/s]"""
    across, up = (2 * column + 1) / (2 * columns), (2 * row + 1) / (2 * rows)
    (j, j1, v), (i, i1, u) = _between(up, len(figures.ppfd)), _between(across, len(figures.ppfd[0]))
    near, far = ((1 - u) * line[i] + u * line[i1] for line in (figures.ppfd[j], figures.ppfd[j1]))
    return across * figures.length_mm, up * figures.width_mm, (1 - v) * near + v * far


def _between(part: float, cells: int) -> tuple[int, int, float]:
    """The two cells whose middles a part of a side lies between, and how far from the first to the second."""
    at = min(max(part * cells - 0.5, 0.0), cells - 1.0)
    first = int(at)
    return first, min(first + 1, cells - 1), at - first


def _middles(length: float, cells: int) -> list[float]:
    return [(number + 0.5) * length / cells for number in range(cells)]


def _shelf(axes: Axes, figures: LightFigures, step: float, unit: str, size: Size) -> None:
    _ground(axes, figures)
    _bands(axes, figures, step)
    for left, front, long, deep in figures.trays:
        _box(axes, left, front, long, deep, edge=SOFT, line=0.8, dashes="-")
    for x0, y0, x1, y1, broad in figures.lamps:
        _lamp(axes, (x0, y0), (x1, y1), broad)
    _edges(axes, figures)
    _ends(axes, figures, unit, size)


def _spots(axes: Axes, figures: LightFigures, inches: tuple[float, float], size: Size) -> None:
    """Figures at an odd number of spots each way, as many as there is room for, up to 3 by 7 or 5 by 5."""
    across, high = inches
    columns = _odd(across / APART, 7 if across > high else 5)
    rows = 5 if high > 1.5 * across else 3
    for row in range(rows):
        for column in range(columns):
            x, y, value = _at(figures, row, column, rows, columns)
            axes.plot([x], [y], marker="o", markersize=2.2, color=INK, zorder=5)
            axes.annotate(
                f"{value:.0f}", (x, y), xytext=(0, 3), textcoords="offset points", ha="center", va="bottom",
                fontsize=size.label, fontweight="bold", zorder=6, color=INK,
                bbox={"boxstyle": "round,pad=0.12", "facecolor": GROUND, "edgecolor": "none", "alpha": 0.72},
            )  # fmt: skip


def _odd(most: float, limit: int) -> int:
    """An odd number up to both, at least 1."""
    whole = max(1, min(int(most), limit))
    return whole - (whole + 1) % 2


def _ground(axes: Axes, figures: LightFigures) -> None:
    axes.set_xlim(0, figures.length_mm)
    axes.set_ylim(0, figures.width_mm)
    axes.grid(visible=False)
    axes.set_xticks([0, figures.length_mm], ["left", "right"])
    axes.set_yticks([0, figures.width_mm], ["front", "back"])
    axes.tick_params(pad=8)
    left, right = axes.get_xticklabels()
    left.set_horizontalalignment("left")
    right.set_horizontalalignment("right")


def _bands(axes: Axes, figures: LightFigures, step: float) -> None:
    """Steps of light, the brighter the more amber, with a line between them."""
    values = _padded(figures.ppfd)
    every = [value for line in values for value in line]
    first, last = math.floor(min(every) / step), math.ceil(max(every) / step)
    levels = [step * number for number in range(first, max(last, first + 1) + 1)]
    count = len(levels) - 1
    shades = [tint(AMBER, LEAST + (MOST - LEAST) * (number / max(count - 1, 1))) for number in range(count)]
    xs, ys = _beyond(figures)
    axes.contourf(xs, ys, values, levels=levels, colors=shades, zorder=1)
    if count > 1:
        axes.contour(xs, ys, values, levels=levels[1:-1], colors=[INK], linewidths=0.5, alpha=0.55, zorder=2)


def _beyond(figures: LightFigures) -> tuple[list[float], list[float]]:
    """Middles of the cells, and the edges of the shelf, so that colour reaches them."""
    xs = _middles(figures.length_mm, len(figures.ppfd[0]))
    ys = _middles(figures.width_mm, len(figures.ppfd))
    return [0.0, *xs, figures.length_mm], [0.0, *ys, figures.width_mm]


def _padded(ppfd: tuple[tuple[float, ...], ...]) -> list[list[float]]:
    rows = [[_on(line[0], line[1]), *line, _on(line[-1], line[-2])] for line in ppfd]
    first, last = ([_on(*pair) for pair in zip(one, two, strict=True)] for one, two in (rows[:2], rows[:-3:-1]))
    return [first, *rows, last]


def _on(last: float, before: float) -> float:
    """Light at the edge, half a cell beyond the last middle."""
    return max(0.0, 1.5 * last - 0.5 * before)


def _box(
    axes: Axes, left: float, front: float, long: float, deep: float, *, edge: str, line: float, dashes: object
) -> None:
    xs = [left, left + long, left + long, left, left]
    ys = [front, front, front + deep, front + deep, front]
    axes.plot(xs, ys, color=edge, linewidth=line, linestyle=dashes, zorder=3, clip_on=False)


def _lamp(axes: Axes, start: tuple[float, float], end: tuple[float, float], broad: float) -> None:
    """A bar as a dashed line, a panel as a dashed box, a point as a cross."""
    dashes = (0, (5, 2.5))
    (x0, y0), (x1, y1) = start, end
    long = math.hypot(x1 - x0, y1 - y0)
    if long < 1e-6:
        axes.plot([x0], [y0], marker="x", markersize=9, markeredgecolor=INK, markeredgewidth=1.6, zorder=4)
        return
    sides = (0.0,) if broad <= 0 else (-broad / 2, broad / 2)
    across = ((y0 - y1) / long, (x1 - x0) / long)
    ends = [[(x + side * across[0], y + side * across[1]) for x, y in (start, end)] for side in sides]
    for line in ends:
        axes.plot([x for x, _ in line], [y for _, y in line], color=INK, linewidth=1.5, linestyle=dashes, zorder=4)
    if len(ends) == 2:
        for one, other in zip(*ends, strict=True):
            axes.plot([one[0], other[0]], [one[1], other[1]], color=INK, linewidth=1.5, linestyle=dashes, zorder=4)


def _edges(axes: Axes, figures: LightFigures) -> None:
    """Walls as thick edges, open sides as thin ones."""
    names = {"left": "left", "right": "right", "bottom": "front", "top": "back"}
    for spine, side in names.items():
        axes.spines[spine].set_visible(True)
        axes.spines[spine].set_linewidth(3.2 if side in figures.walls else 0.8)
        axes.spines[spine].set_zorder(7)


def _ends(axes: Axes, figures: LightFigures, unit: str, size: Size) -> None:
    """The darkest spot as an open diamond, the brightest as a ring, told below the shelf."""
    spots = [
        (value, x, y)
        for y, line in zip(_middles(figures.width_mm, len(figures.ppfd)), figures.ppfd, strict=True)
        for x, value in zip(_middles(figures.length_mm, len(line)), line, strict=True)
    ]
    least = min(spots, key=lambda spot: (round(spot[0], SHADES), spot[1:]))
    most = max(spots, key=lambda spot: (round(spot[0], SHADES), -_off(spot, figures)))
    cell = figures.length_mm / len(figures.ppfd[0]), figures.width_mm / len(figures.ppfd)
    # A shelf lit alike on all sides is brightest in its very middle, where no cell has its own.
    if all(abs(at - side / 2) < each for at, side, each in zip(
        most[1:], (figures.length_mm, figures.width_mm), cell, strict=True
    )):  # fmt: skip
        most = (most[0], figures.length_mm / 2, figures.width_mm / 2)
    for (_, x, y), marker, scale in ((least, "D", 7.0), (most, "o", 10.0)):
        axes.plot([x], [y], marker=marker, markersize=scale, markerfacecolor=GROUND if marker == "D" else "none",
                  markeredgecolor=INK, markeredgewidth=1.6, zorder=8, clip_on=False)  # fmt: skip
    ground = f"{show_length(figures.length_mm, unit)} by {show_length(figures.width_mm, unit)}"
    told = f"◇ darkest {least[0]:.0f}    ○ brightest {most[0]:.0f}"
    between = "\n" if size.narrow else "    "
    axes.set_xlabel(f"{told}{between}{ground}", fontsize=size.label, color=INK, labelpad=2)


def _off(spot: tuple[float, float, float], figures: LightFigures) -> float:
    return math.hypot(spot[1] - figures.length_mm / 2, spot[2] - figures.width_mm / 2)


def _section(axes: Axes, figures: LightFigures, size: Size) -> None:
    """Light from left to right, through the middle and along the front."""
    every = [value for line in figures.ppfd for value in line]
    mean, top = sum(every) / len(every), 1.3 * max(every)
    xs = _middles(figures.length_mm, len(figures.ppfd[0]))
    axes.set_xlim(0, figures.length_mm)
    axes.set_ylim(0, top)
    axes.set_yticks([0.0, mean], ["0", f"mean\n{mean:.0f}"])
    axes.set_xticks([0, figures.length_mm / 2, figures.length_mm], ["left", "middle", "right"])
    left, _, right = axes.get_xticklabels()
    left.set_horizontalalignment("left")
    right.set_horizontalalignment("right")
    axes.grid(visible=False, axis="x")
    middle, front = figures.ppfd[len(figures.ppfd) // 2], figures.ppfd[0]
    axes.plot(xs, middle, color=INK, linewidth=2.2)
    axes.plot(xs, front, color=INK, linewidth=1.6, linestyle=(0, (1.5, 1.5)))
    axes.axhline(mean, color=SOFT, linewidth=0.9, zorder=1)
    above = _placer(axes, xs, size)
    above(_peak(middle), middle, "through the middle", 4, INK)
    above(0.5, front, "along the front edge", -4, INK)


def _peak(line: tuple[float, ...]) -> float:
    """Where a line is highest, the nearest to the middle, and not so far out that words would leave the picture. [-]"""
    top = max(line) * (1 - 1e-3)
    parts = [(number + 0.5) / len(line) for number, value in enumerate(line) if value >= top]
    return min(max(min(parts, key=lambda part: abs(part - 0.5)), 0.25), 0.75)


def _placer(axes: Axes, xs: list[float], size: Size) -> Callable[[float, tuple[float, ...], str, float, str], None]:
    def place(part: float, line: tuple[float, ...], text: str, points: float, colour: str) -> None:
        at = min(len(xs) - 1, int(part * len(xs)))
        axes.annotate(
            text, (xs[at], line[at]), xytext=(0, points), textcoords="offset points", ha="center",
            va="bottom" if points > 0 else "top", fontsize=size.tick, color=colour,
        )  # fmt: skip

    return place
