"""What explains the spread: a bar for each cause, with the range that is left open."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from trayward.pictures import bars
from trayward.pictures.look import INK, PLAIN, Size, Wide, tint
from trayward.pictures.page import POINTS, Panel, Picture, drawn, in_house_style, size_of, widest
from trayward.pictures.types import Part

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW = {"desk": 0.36, "phone": 0.56}
NOTE = "Bar: its share of the spread. Line: 8 in 10."


def figure_words(part: Part) -> str:
    """`40 % (25 to 60 %)`."""
    return f"{part.share * 100:.0f} % ({part.low * 100:.0f} to {part.high * 100:.0f} %)"


@in_house_style
def shares_picture(parts: Sequence[Part], title: str, *, heading: str = "", wide: Wide = "desk") -> Picture:
    """
    Shares of a whole from zero, the largest first.

    Parameters
    ----------
    parts : sequence of Part
        Each cause.
    title : str
        What it shows, in one sentence.
    """
    size = size_of(wide)
    ordered = sorted(parts, key=lambda part: -part.share)
    left = 0.1 if size.narrow else widest([part.what for part in ordered], size.label) + 0.2
    right = 0.25 if size.narrow else widest([figure_words(part) for part in ordered], size.label) + 0.2
    height = max(1, len(ordered)) * ROW[wide]
    panel = Panel(height=height, left=left, right=right, above=0.05, heading=heading)
    words = [f"{part.what}: {figure_words(part)}" for part in ordered]
    picture, (axes,) = drawn(title, size, [[panel]], words, note=NOTE)
    _draw(axes, ordered, left, size)
    return picture


def _draw(axes: Axes, parts: Sequence[Part], left: float, size: Size) -> None:
    bars.rows_from_top(axes, max(1, len(parts)))
    axes.set_xlim(0, 1)
    axes.set_xticks([0, 0.25, 0.5, 0.75, 1], ["0", "25 %", "50 %", "75 %", "100 %"])
    for number, part in enumerate(parts):
        y = number + (0.2 if size.narrow else 0.0)
        tall = 0.32 if size.narrow else 0.52
        axes.barh(y, part.share, height=tall, color=tint(PLAIN, 0.55), edgecolor=PLAIN, linewidth=1.0, zorder=2)
        axes.plot([part.low, part.high], [y, y], color=INK, linewidth=1.8, solid_capstyle="butt", zorder=3)
        for end in (part.low, part.high):
            axes.plot([end, end], [y - tall / 4, y + tall / 4], color=INK, linewidth=1.8, zorder=3)
        if size.narrow:
            bars.beside(axes, number - 0.24, f"{part.what}  {figure_words(part)}", 0, size)
        else:
            bars.beside(axes, number, part.what, -left * POINTS + 4, size)
            bars.at_right(axes, number, figure_words(part), 10, size)
