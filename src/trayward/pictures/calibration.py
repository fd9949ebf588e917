"""Whether the ranges held what they promised on past weeks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from trayward.outlook.types import Calibration, Held
from trayward.pictures import bars
from trayward.pictures.look import GROUND, INK, PLAIN, RULE, SOFT, Size, Wide, tint
from trayward.pictures.page import POINTS, Panel, Picture, drawn, in_house_style, size_of, widest

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW = {"desk": 0.36, "phone": 0.56}
BINS = 10
SPREAD = 1.2816
"""Eight of ten counts lie this many standard deviations about their mean. [-]"""
NOTE = (
    "Upright mark: the promise. Dot: how often it held; line: where that may truly lie. "
    "Bars of one height: honest ranges; a hill: too wide; a valley: too narrow."
)


@in_house_style
def calibration_picture(found: Calibration, title: str, *, wide: Wide = "desk") -> Picture:
    """
    How often 50, 80 and 95 % ranges held, and where within their ranges trays came out.

    Parameters
    ----------
    found : Calibration
        What was promised and what was held.
    title : str
        What it shows, in one sentence.
    """
    size = size_of(wide)
    labels = [_label(row) for row in found.rows]
    left = 0.1 if size.narrow else widest(labels, size.label) + 0.2
    held = Panel(
        height=max(1, len(labels)) * ROW[wide], left=left, right=0.25, above=0.05, below=0.4,
        heading="How often the ranges held",
    )  # fmt: skip
    pits = {what: places for what, places in found.pits.items() if places}
    rows = [[held], [_place(what) for what in pits]] if pits else [[held]]
    picture, axes = drawn(title, size, rows, [words_of(row) for row in found.rows], note=NOTE)
    _held(axes[0], found.rows, labels, left, size)
    for below, places in zip(axes[1:], pits.values(), strict=True):
        _places(below, places, size)
    return picture


def _place(what: str) -> Panel:
    return Panel(
        height=1.5, left=0.45, right=0.2, above=0.05, below=0.4, heading=f"Where {what} came out in their ranges"
    )


def words_of(row: Held) -> str:
    """`days, 80 % ranges: held 78 % of 200 trays, chance leaves 75 to 81 % open`."""
    ends = f"{row.low * 100:.0f} to {row.high * 100:.0f} %"
    return f"{row.what}, {row.promised * 100:.0f} % ranges: held {row.held * 100:.0f} % of {row.trays} trays ({ends})"


def _label(row: Held) -> str:
    return f"{row.what}, {row.promised * 100:.0f} %"


def _held(axes: Axes, rows: Sequence[Held], labels: Sequence[str], left: float, size: Size) -> None:
    bars.rows_from_top(axes, max(1, len(rows)))
    axes.set_xlim(0, 1)
    axes.set_xticks([0, 0.25, 0.5, 0.75, 1], ["0", "25 %", "50 %", "75 %", "100 %"])
    for number, (row, label) in enumerate(zip(rows, labels, strict=True)):
        y = number + (0.2 if size.narrow else 0.0)
        axes.plot([row.promised] * 2, [y - 0.22, y + 0.22], color=INK, linewidth=2.0, zorder=2)
        axes.plot([row.low, row.high], [y, y], color=PLAIN, linewidth=2.2, solid_capstyle="butt", zorder=3)
        axes.plot([row.held], [y], marker="o", markersize=7, color=PLAIN, markeredgecolor=GROUND, zorder=4)
        told = f"{label}: held {row.held * 100:.0f} % of {row.trays}"
        if size.narrow:
            bars.beside(axes, number - 0.26, told, 0, size)
        else:
            bars.beside(axes, number, label, -left * POINTS + 4, size)
            _figure_beside(axes, y, row, size)


def _figure_beside(axes: Axes, y: float, row: Held, size: Size) -> None:
    """How often it held, on the side of the range where there is room."""
    left = row.low > 0.4
    at = min(row.low, row.promised) if left else max(row.high, row.promised)
    axes.annotate(
        f"{row.held * 100:.0f} %", (at, y), xytext=(-10 if left else 10, 0), textcoords="offset points",
        ha="right" if left else "left", va="center_baseline", fontsize=size.label,
    )  # fmt: skip


def _places(axes: Axes, pits: Sequence[float], size: Size) -> None:
    """Trays by where in their range they came out; level if the ranges are honest, within what chance leaves open."""
    counts = [0] * BINS
    for pit in pits:
        counts[min(int(pit * BINS), BINS - 1)] += 1
    even = len(pits) / BINS
    chance = SPREAD * (even * (1 - 1 / BINS)) ** 0.5
    axes.set_xlim(0, 1)
    axes.set_ylim(0, max([*counts, even + chance]) * 1.1)
    axes.axhspan(max(0.0, even - chance), even + chance, color=RULE, alpha=0.7, linewidth=0, zorder=1)
    axes.axhline(even, color=SOFT, linewidth=1.0, zorder=3)
    axes.bar(
        [(number + 0.5) / BINS for number in range(BINS)], counts, width=0.86 / BINS, color=tint(PLAIN, 0.55),
        edgecolor=PLAIN, linewidth=1.0, zorder=2,
    )  # fmt: skip
    axes.set_xticks([0.02, 0.5, 0.98], ["low end", "middle", "high end"])
    sides: tuple[bars.Side, ...] = ("left", "center", "right")
    for label, side in zip(axes.get_xticklabels(), sides, strict=True):
        label.set_horizontalalignment(side)
    step = max(1.0, bars.round_step(axes.get_ylim()[1] / 3))
    axes.set_yticks([step * number for number in range(int(axes.get_ylim()[1] / step) + 1)])
    axes.set_ylabel("trays", fontsize=size.label, color=INK)
    axes.grid(visible=False, axis="x")
