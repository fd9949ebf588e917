"""The page a picture is drawn on: a title that says what it shows, panels below it, and room for words."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import cache, lru_cache, wraps
from typing import TYPE_CHECKING, Any, NamedTuple, ParamSpec

import msgspec

from trayward.pictures.look import GROUND, INK, RULE, SIZES, SOFT, Size, Wide

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FONT = "DejaVu Sans"
"""Comes with matplotlib, so that a picture is the same everywhere."""
SETTINGS: Any = {
    "svg.fonttype": "none", "svg.hashsalt": "trayward", "font.family": [FONT], "hatch.linewidth": 1.1,
    "axes.unicode_minus": True, "text.parse_math": False, "text.color": INK, "xtick.major.size": 0,
    "ytick.major.size": 0, "xtick.minor.size": 0,
}  # fmt: skip
"""Words stay words in an SVG, to be read out and searched; ids in it do not change from run to run."""
POINTS = 72
"""Points in an inch. [1/in]"""
MARGIN = 0.22
HEADING = 0.3
"""Height of a line that heads a panel. [in]"""
NUMBER = re.compile(r"(\d) (?=(?:g|kg|oz|lb|%|in|[A-Z][a-z]{2})\b|%)")
"""A number keeps to its unit or month when lines are broken."""
LINE = 1.3
"""Height of a line of words, in heights of its letters. [-]"""


class Picture(NamedTuple):
    """A picture, ready to be saved: what is drawn, its one-sentence reading, and its figures in words."""

    figure: Figure
    title: str
    words: tuple[str, ...]
    """One line for each thing drawn, for those who do not see it."""
    size: Size


Told = ParamSpec("Told")


def in_house_style(draw: Callable[Told, Picture]) -> Callable[Told, Picture]:
    """Mark a function that draws a picture: it draws by our settings, whatever others set before."""

    @wraps(draw)
    def call(*args: Told.args, **kwargs: Told.kwargs) -> Picture:
        import matplotlib

        with matplotlib.rc_context(SETTINGS):
            return draw(*args, **kwargs)

    return call


class Panel(msgspec.Struct, frozen=True, kw_only=True):
    """Room for one pair of axes. Everything in inches; `share` is its part of the row's width. [in], [-]"""

    height: float
    left: float = 0.1
    right: float = 0.1
    above: float = 0.0
    below: float = 0.3
    heading: str = ""
    share: float = 1.0


def size_of(wide: Wide) -> Size:
    """The measures of a picture for a desk or a phone."""
    return SIZES[wide]


@cache
def _measure() -> Any:
    from matplotlib.backends import backend_agg

    agg: Any = backend_agg
    return agg.RendererAgg(8, 8, POINTS)


@lru_cache(maxsize=4096)
def width_in(text: str, points: float, *, bold: bool = False) -> float:
    """How wide a line of words comes out. [in]"""
    from matplotlib.font_manager import FontProperties

    if not text.strip():
        return 0.0
    font = FontProperties(family=FONT, weight="bold" if bold else "normal", size=points)
    width, _, _ = _measure().get_text_width_height_descent(text, font, False)
    return float(width) / POINTS


def widest(texts: Sequence[str], points: float) -> float:
    """Width of the widest of some lines. [in]"""
    return max((width_in(text, points) for text in texts), default=0.0)


def broken(text: str, points: float, width: float, *, bold: bool = False) -> list[str]:
    """A sentence in lines that are not wider than so many inches."""
    lines: list[str] = []
    for word in NUMBER.sub("\\1\u00a0", text).split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_in(longer, points, bold=bold) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def shortened(text: str, points: float, width: float) -> str:
    """A line that is not wider than so many inches; what is cut off is marked."""
    if width_in(text, points) <= width:
        return text
    kept = text
    while kept and width_in(f"{kept.rstrip()}…", points) > width:
        kept = kept[:-1]
    return f"{kept.rstrip()}…"


def drawn(
    title: str, size: Size, rows: Sequence[Sequence[Panel]], words: Sequence[str], *, note: str = ""
) -> tuple[Picture, list[Axes]]:
    """
    A page with its title, and the axes of its panels.

    Parameters
    ----------
    title : str
        The reading of the picture, in one sentence.
    rows : sequence of sequence of Panel
        From top to bottom, from left to right; on a narrow page every panel has a row of its own.
    words : sequence of str
        One line for each thing drawn.
    note : str
        Small print below.
    """
    from matplotlib.figure import Figure

    rows = [[panel] for row in rows for panel in row] if size.narrow else rows
    inner = size.width - 2 * MARGIN
    heads = broken(title, size.title, inner, bold=True)
    notes = broken(note, size.tick, inner) if note else []
    top = MARGIN + len(heads) * size.title * LINE / POINTS + 0.08
    below = len(notes) * size.tick * LINE / POINTS + (0.08 if notes else 0)
    height = top + sum(_tall(row) for row in rows) + below + MARGIN
    figure = Figure(figsize=(size.width, height), facecolor=GROUND)
    _words(figure, heads, MARGIN, height - MARGIN, size.title, bold=True)
    _words(figure, notes, MARGIN, MARGIN + below - 0.08, size.tick, colour=SOFT)
    axes, at = [], height - top
    for row in rows:
        axes += _row(figure, row, at, size)
        at -= _tall(row)
    return Picture(figure, title, tuple(words), size), axes


def _tall(row: Sequence[Panel]) -> float:
    return max((HEADING if panel.heading else 0) + panel.above + panel.height + panel.below for panel in row)


def _row(figure: Figure, row: Sequence[Panel], top: float, size: Size) -> list[Axes]:
    """Axes side by side, their upper edges level."""
    inner = size.width - 2 * MARGIN
    whole = sum(panel.share for panel in row)
    made, left = [], MARGIN
    head = HEADING if any(panel.heading for panel in row) else 0
    above = max(panel.above for panel in row)
    for panel in row:
        width = inner * panel.share / whole
        if panel.heading:
            _words(figure, [panel.heading], left, top - 0.06, size.label, bold=True)
        made.append(_axes(figure, left, top - head - above, width, panel, size))
        left += width
    return made


def _axes(figure: Figure, left: float, top: float, width: float, panel: Panel, size: Size) -> Axes:
    across, up = figure.get_size_inches()
    box = (
        (left + panel.left) / across,
        (top - panel.height) / up,
        max(0.1, width - panel.left - panel.right) / across,
        panel.height / up,
    )
    axes = figure.add_axes(box, facecolor="none")
    for name, spine in axes.spines.items():
        spine.set_visible(name == "bottom")
        spine.set_color(INK)
        spine.set_linewidth(0.8)
    axes.tick_params(length=0, labelsize=size.tick, labelcolor=INK, pad=4)
    axes.set_axisbelow(True)
    axes.grid(axis="x", color=RULE, linewidth=0.8)
    return axes


def _words(
    figure: Figure, lines: Sequence[str], x: float, y: float, points: float, *, bold: bool = False, colour: str = INK
) -> None:
    """Lines of words from their upper left corner on. [in]"""
    across, up = figure.get_size_inches()
    for number, line in enumerate(lines):
        figure.text(
            x / across, (y - number * points * LINE / POINTS) / up, line, fontsize=points, color=colour, va="top",
            fontweight="bold" if bold else "normal",
        )  # fmt: skip
