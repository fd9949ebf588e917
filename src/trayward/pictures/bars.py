"""What the pictures of trays have in common: bars of a range, letters of a stage, days and weights along the edge."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING, Literal, NamedTuple

from trayward.dates import MONTHS, day_words
from trayward.pictures.look import GROUND, INK, RULE, Size, mark_of, tint
from trayward.units import GRAMS_PER_OUNCE, show_mass

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Side = Literal["left", "center", "right"]
WIDE_BAR, SLIM_BAR, TICK = 0.5, 0.22, 0.68
"""Heights of the half of cases, of eight in ten, and of the tick at the middle, in rows. [-]"""
DATE = 0.66
"""Room that a date takes. [in]"""
STEPS = (1, 2, 3, 7, 14, 28)
"""Days from one date along the edge to the next."""
PATTERNS = {"dotted": "....", "hatched": "/////", "solid": "", "open": "", "ringed": "", "crossed": "xxx"}


class Spread(NamedTuple):
    """A range along an axis: eight in ten, the middle, and half of the cases where that is known."""

    low: float
    likely: float
    high: float
    half: tuple[float, float] | None = None


def range_bar(axes: Axes, y: float, spread: Spread, stage: str, *, scale: float = 1.0) -> None:
    """A range: slim for eight in ten, thicker for half of the cases, a tick at the middle; by the stage's own mark."""
    mark, (low, likely, high, half) = mark_of(stage), spread
    wide, slim, tick = WIDE_BAR * scale, SLIM_BAR * scale, TICK * scale / 2
    fill = GROUND if mark.pattern == "open" else tint(mark.colour, 0.45)
    _bar(axes, y, low, high, slim, fill, mark.colour, 1.0)
    if half is not None:
        inside = GROUND if mark.pattern in ("open", "dotted", "ringed") else mark.colour
        _bar(axes, y, *half, wide, inside, mark.colour, 1.6, PATTERNS[mark.pattern])
        if mark.pattern == "ringed":
            _bar(axes, y, *half, wide * 0.45, mark.colour, mark.colour, 0.0)
    axes.plot([likely, likely], [y - tick, y + tick], color=GROUND, linewidth=4.4, solid_capstyle="butt")
    axes.plot([likely, likely], [y - tick, y + tick], color=INK, linewidth=2.2, solid_capstyle="butt")


def _bar(
    axes: Axes, y: float, low: float, high: float, tall: float, fill: str, edge: str, line: float, hatch: str = ""
) -> None:
    shown = GROUND if hatch in (PATTERNS["hatched"], PATTERNS["crossed"]) else edge
    if hatch:
        axes.barh(y, high - low, left=low, height=tall, color=fill, edgecolor=shown, linewidth=0, hatch=hatch, zorder=2)
    axes.barh(
        y, high - low, left=low, height=tall, color="none" if hatch else fill, edgecolor=edge, linewidth=line, zorder=2
    )


def badge(axes: Axes, x: float, y: float, stage: str, size: Size) -> None:
    """The letter of a stage on its colour, so many points left of the axes. [pt]"""
    mark = mark_of(stage)
    style = "round,pad=0.22,rounding_size=0.2" if mark.pattern != "ringed" else "circle,pad=0.2"
    axes.annotate(
        mark.letter, (0, y), xycoords=("axes fraction", "data"), xytext=(x, 0), textcoords="offset points", ha="center",
        va="center_baseline", fontsize=size.tick, fontweight="bold", color=mark.on, annotation_clip=False,
        bbox={"boxstyle": style, "facecolor": mark.colour, "edgecolor": INK, "linewidth": 0.6},
    )  # fmt: skip


def beside(axes: Axes, y: float, text: str, points: float, size: Size) -> None:
    """Words that begin so many points from the left edge of the axes; within the axes the rules give way. [pt]"""
    _words(axes, (0, y), text, points, "left", size, within=points >= 0)


def at_right(axes: Axes, y: float, text: str, points: float, size: Size) -> None:
    """Words that begin so many points right of the axes; with 0 points they end at its edge. [pt]"""
    _words(axes, (1, y), text, points, "left" if points else "right", size, within=not points)


def _words(
    axes: Axes, at: tuple[float, float], text: str, points: float, side: Side, size: Size, *, within: bool
) -> None:
    ground = {"boxstyle": "square,pad=0.1", "facecolor": GROUND, "edgecolor": "none"} if within else None
    axes.annotate(
        text, at, xycoords=("axes fraction", "data"), xytext=(points, 0), textcoords="offset points", ha=side,
        va="center_baseline", fontsize=size.label, annotation_clip=False, bbox=ground, zorder=2.5,
    )  # fmt: skip


def width_of(axes: Axes) -> float:
    """Width of the axes. [in]"""
    return float(axes.get_position().width * _figure_of(axes).get_size_inches()[0])


def height_of(axes: Axes) -> float:
    """Height of the axes. [in]"""
    return float(axes.get_position().height * _figure_of(axes).get_size_inches()[1])


def _figure_of(axes: Axes) -> Figure:
    figure = axes.get_figure(root=True)
    assert figure is not None
    return figure


def rows_from_top(axes: Axes, number: int) -> None:
    """Rows 0, 1, ... from the top down, half a row of room at either end, no figures beside them."""
    axes.set_ylim(number - 0.5, -0.5)
    axes.set_yticks([])


# Days -----------------------------------------------------------------------------------------------------------------


def days_from(midnight: datetime) -> Callable[[datetime], float]:
    """Turns a moment into days since a midnight. [d]"""
    return lambda moment: (moment - midnight) / timedelta(days=1)


def midnight_of(at: datetime, zone: tzinfo) -> datetime:
    """The midnight, on the farm's own clock, with which the day of a moment began."""
    return at.astimezone(zone).replace(hour=0, minute=0, second=0, microsecond=0)


def dates_along(axes: Axes, first: date, low: float, high: float, *, top: bool = True) -> None:
    """Dates at noon along the top (or bottom), as many as there is room for; thin rules at the midnights. [d]"""
    axes.set_xlim(low, high)
    step = next((step for step in STEPS if (high - low) / step * DATE <= width_of(axes)), STEPS[-1])
    days = [day for day in range(math.ceil(low - 0.5), math.floor(high - 0.5) + 1) if day % step == 0]
    axes.set_xticks([day + 0.5 for day in days], [day_and_date(first + timedelta(days=day)) for day in days])
    axes.set_xticks(range(math.ceil(low), math.floor(high) + 1), minor=True)
    axes.grid(visible=False, axis="x", which="major")
    axes.grid(axis="x", which="minor", color=RULE, linewidth=0.8)
    if top:
        axes.xaxis.tick_top()
        axes.tick_params(length=0, which="both")
        axes.spines["bottom"].set_visible(False)
        axes.spines["top"].set_visible(True)


def day_and_date(day: date) -> str:
    """`Wed` over `25 Nov`."""
    return day_words(day).replace(" ", "\n", 1)


def now_line(axes: Axes, at: float, size: Size, *, word: str = "now") -> None:
    """The present moment as a thin line, named at its foot."""
    axes.axvline(at, color=INK, linewidth=1.0, zorder=1)
    axes.annotate(
        word, (at, 0), xycoords=("data", "axes fraction"), xytext=(0, -4), textcoords="offset points", ha="center",
        va="top", fontsize=size.tick, annotation_clip=False,
    )  # fmt: skip


# Weights --------------------------------------------------------------------------------------------------------------


def weights_along(axes: Axes, most_g: float, unit: str, marks: int, *, top: bool = True) -> None:
    """Weights from zero along the top (or bottom), in the farm's unit. [g]"""
    high = max(most_g, 1.0) * 1.04
    at = weight_ticks(high, unit, marks)
    axes.set_xlim(0, high)
    axes.set_xticks(at, [show_mass(grams, unit) if grams else "0" for grams in at])
    if top:
        axes.xaxis.tick_top()
        axes.spines["bottom"].set_visible(False)
        axes.spines["top"].set_visible(True)


def weight_ticks(high_g: float, unit: str, marks: int) -> list[float]:
    """
    Round weights from zero on, in grams, at most so many steps of them.

    Examples
    --------
    >>> weight_ticks(320, "g", 4)
    [0.0, 100.0, 200.0, 300.0]
    """
    step = weight_step(high_g / max(1, marks), unit)
    return [number * step for number in range(int(high_g / step) + 1)]


def weight_step(least_g: float, unit: str) -> float:
    """A round weight in the farm's unit that is not below so many grams. [g]"""
    one = 1.0 if unit != "oz" else GRAMS_PER_OUNCE
    return round_step(least_g / one) * one


def round_step(least: float) -> float:
    """
    The smallest of 1, 2, 2.5, 5 and 10 times a power of ten that is not below `least`.

    Examples
    --------
    >>> round_step(80), round_step(2.1)
    (100.0, 2.5)
    """
    power = 10.0 ** math.floor(math.log10(least))
    return next((part * power for part in (1.0, 2.0, 2.5, 5.0) if part * power >= least * (1 - 1e-9)), 10.0 * power)


def days_words(low: date, likely: date, high: date) -> str:
    """
    Days with doubt.

    Examples
    --------
    >>> days_words(date(2026, 12, 2), date(2026, 12, 3), date(2026, 12, 4))
    '2 to 4 Dec, likely Thu 3 Dec'
    """
    middle = day_words(likely)
    if low == high:
        return middle
    first = str(low.day) if (low.year, low.month) == (high.year, high.month) else f"{low.day} {MONTHS[low.month - 1]}"
    return f"{first} to {high.day} {MONTHS[high.month - 1]}, likely {middle}"


def spread_words(low: float, likely: float, high: float, unit: str) -> str:
    """`92 to 320 g, likely 170`."""
    shown = [show_mass(value, unit, figures=2) for value in (low, likely, high)]
    first, likely_, last = (text.rpartition(" ")[0] for text in shown)
    if len({text.rpartition(" ")[2] for text in shown}) > 1:
        return f"{shown[0]} to {shown[2]}, likely {shown[1]}"
    return f"{first} to {last} {shown[0].rpartition(' ')[2]}, likely {likely_}"
