"""A season study: what each policy earns, how much of the gap is closed, whether promises held, and the way there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from trayward.pictures import bars
from trayward.pictures.look import GROUND, INK, PLAIN, RULE, SOFT, Size, Wide, tint
from trayward.pictures.page import LINE, POINTS, Panel, Picture, drawn, in_house_style, size_of, widest
from trayward.pictures.types import Closed, Course, Earned, PromisesKept, StudyFigures

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW = {"desk": 0.4, "phone": 0.56}
LINES = "Lines on bars and dots: 19 in 20; of margins, against the best rule of thumb (dashed)."
GOALS = "Upright marks: goals."
PROMISES = "Grey: within {points:g} points of what was promised."
FEW = "Open dots: too few to judge by."


class Stroke(NamedTuple):
    """How the course of a policy is drawn: told apart by dashes and its name at the end, not by colour alone."""

    colour: str
    dashes: str | tuple[int, tuple[float, ...]]
    width: float


STROKES = (
    Stroke(SOFT, (0, (5, 2)), 1.8),
    Stroke("#56B4E9", (0, (6, 2, 1, 2)), 1.8),
    Stroke(PLAIN, "-", 2.8),
    Stroke("#009E73", (0, (1.2, 1.2)), 2.0),
    Stroke(INK, "-", 1.0),
)
"""Of the policies in the order they are given. Colours: M. Okabe and K. Ito, Color Universal Design, 2008."""


@in_house_style
def study_picture(figures: StudyFigures, title: str, *, wide: Wide = "desk") -> Picture:
    """
    What policies earned, the gap closed, promises against what was kept, and the margin day by day.

    Parameters
    ----------
    figures : StudyFigures
        What the study shows.
    title : str
        Its headline, in one sentence.
    """
    size = size_of(wide)
    panels = [_earned_panel(figures.earned, size)] if figures.earned else []
    panels += [_closed_panel(figures.closed, size)] if figures.closed else []
    below = [_promises_panel()] if figures.promises else []
    below += [_courses_panel(figures.courses, size)] if figures.courses else []
    picture, axes = drawn(title, size, [row for row in (panels, below) if row], words_of(figures), note=_note(figures))
    left = iter(axes)
    if figures.earned:
        _earned(next(left), figures.earned, size)
    if figures.closed:
        _closed(next(left), figures.closed, size)
    if figures.promises:
        _promises(next(left), figures.promises, figures.points / 100, size)
    if figures.courses:
        _courses(next(left), figures.courses, [one.what for one in figures.earned], size)
    return picture


def _note(figures: StudyFigures) -> str:
    """What the marks mean, of those that are there."""
    lows = [one.low for one in figures.earned] + [one.low for one in figures.closed]
    told = (
        (LINES, any(low is not None for low in lows)),
        (GOALS, any(one.goal is not None for one in figures.closed)),
        (PROMISES.format(points=figures.points), figures.promises),
        (FEW, any(one.few for one in figures.promises)),
    )
    return " ".join(words for words, there in told if there)


def words_of(figures: StudyFigures) -> list[str]:
    """Every figure in words."""
    told = [f"{one.what}: margin {_money(one.margin)}" for one in figures.earned]
    told += [f"{one.what}: {_share_words(one)}{_goal_words(one)}" for one in figures.closed]
    told += [
        f"of {one.promises} promises of about {one.promised * 100:.0f} %, {one.kept * 100:.0f} % were kept"
        for one in figures.promises
    ]
    return told + [f"{one.what}: {_money(one.by_day[-1])} after {len(one.by_day)} days" for one in figures.courses]


def _goal_words(one: Closed) -> str:
    return "" if one.goal is None else f", goal {one.goal * 100:.0f} %"


def _money(amount: float) -> str:
    return f"{amount:,.0f}"


def _share_words(one: Closed) -> str:
    if one.low is None or one.high is None:
        return f"{one.share * 100:.0f} %"
    return f"{one.share * 100:.0f} % ({one.low * 100:.0f} to {one.high * 100:.0f} %)"


# What policies earned -------------------------------------------------------------------------------------------------


def _left(names: Sequence[str], size: Size) -> float:
    """Room for names beside rows; on a narrow page they stand above. [in]"""
    return 0.1 if size.narrow else widest(names, size.label) + 0.2


def _earned_panel(earned: Sequence[Earned], size: Size) -> Panel:
    right = 0.25 if size.narrow else widest([_money(one.margin) for one in earned], size.label) + 0.3
    return Panel(
        height=len(earned) * ROW[size.wide],
        left=_left([one.what for one in earned], size), right=right, above=0.05, below=0.4,
        heading="Margin of a season", share=0.58,
    )  # fmt: skip


def _earned(axes: Axes, earned: Sequence[Earned], size: Size) -> None:
    bars.rows_from_top(axes, len(earned))
    ends = [value for one in earned for value in (one.margin, one.low, one.high) if value is not None]
    _money_along(axes, min(0.0, *ends), max(1.0, *ends), 3 if size.narrow else 4)
    for number, one in enumerate(earned):
        y, tall = number + (0.2 if size.narrow else 0.0), 0.32 if size.narrow else 0.5
        axes.barh(y, one.margin, height=tall, color=tint(PLAIN, 0.55), edgecolor=PLAIN, linewidth=1.0, zorder=2)
        if one.low is not None and one.high is not None:
            _range(axes, y, one.low, one.high, tall / 4)
        if size.narrow:
            bars.beside(axes, number - 0.24, f"{one.what}  {_money(one.margin)}", 0, size)
        else:
            bars.beside(axes, number, one.what, -_left([each.what for each in earned], size) * POINTS + 4, size)
            bars.at_right(axes, number, _money(one.margin), 10, size)
    if len(earned) > 1:
        axes.axvline(earned[0].margin, color=INK, linewidth=1.0, linestyle=(0, (4, 3)), zorder=1.5)


def _money_along(axes: Axes, low: float, high: float, marks: int) -> None:
    """Amounts along the foot, from zero or from the deepest loss on."""
    axes.set_xlim(low * 1.04, high * 1.04)
    axes.set_xticks(*_amounts(low, high, marks))


def _amounts(low: float, high: float, marks: int) -> tuple[list[float], list[str]]:
    """Round amounts between two ends, with their words."""
    step = bars.round_step((high - low) / marks)
    at = [step * number for number in range(math.ceil(low / step), math.floor(high * 1.04 / step) + 1)]
    return at, [_money(value) if step >= 1 else f"{value:g}" for value in at]


def _range(axes: Axes, y: float, low: float, high: float, tick: float) -> None:
    axes.plot([low, high], [y, y], color=INK, linewidth=1.8, solid_capstyle="butt", zorder=3)
    for end in (low, high):
        axes.plot([end, end], [y - tick, y + tick], color=INK, linewidth=1.8, zorder=3)


# The gap --------------------------------------------------------------------------------------------------------------


def _closed_panel(closed: Sequence[Closed], size: Size) -> Panel:
    return Panel(
        height=len(closed) * {"desk": 0.8, "phone": 0.56}[size.wide], left=0.15, right=0.25, above=0.05, below=0.4,
        heading="How much of the gap learning closes", share=0.42,
    )  # fmt: skip


def _closed(axes: Axes, closed: Sequence[Closed], size: Size) -> None:
    bars.rows_from_top(axes, len(closed))
    ends = [value for one in closed for value in (one.share, one.low, one.high) if value is not None]
    axes.set_xlim(min(0.0, *ends) - (0.05 if min(ends) < 0 else 0.0), max(1.0, *ends) + 0.02)
    axes.set_xticks([0, 0.25, 0.5, 0.75, 1], ["0", "25 %", "50 %", "75 %", "100 %"])
    for number, one in enumerate(closed):
        y, tick = number + 0.2, 0.22 if size.narrow else 0.16
        if one.goal is not None:
            axes.plot([one.goal] * 2, [y - tick, y + tick], color=INK, linewidth=2.0, zorder=2)
        if one.low is not None and one.high is not None:
            axes.plot([one.low, one.high], [y, y], color=PLAIN, linewidth=2.2, solid_capstyle="butt", zorder=3)
        axes.plot([one.share], [y], marker="o", markersize=8, color=PLAIN, markeredgecolor=GROUND, zorder=4)
        bars.beside(axes, number - 0.26 if size.narrow else number - 0.22, f"{one.what}: {_share_words(one)}", 0, size)


# Promises -------------------------------------------------------------------------------------------------------------


def _promises_panel() -> Panel:
    return Panel(
        height=2.6, left=0.62, right=0.2, above=0.08, below=0.62, share=0.44,
        heading="Promised chances, and how many were kept",
    )  # fmt: skip


def _promises(axes: Axes, kept: Sequence[PromisesKept], points: float, size: Size) -> None:
    least = min(min(one.promised, one.low) for one in kept)
    low = max(0.0, math.floor(least * 10 - 0.5) / 10)
    top = 1.0 + 0.02 * (1 - low)
    axes.set_xlim(low, top)
    axes.set_ylim(low, top)
    axes.fill_between(
        [low, 1], [low - points, 1 - points], [low + points, 1 + points], color=RULE, alpha=0.7, linewidth=0
    )
    axes.plot([low, 1], [low, 1], color=SOFT, linewidth=1.0)
    for one in kept:
        axes.plot([one.promised] * 2, [one.low, one.high], color=PLAIN, linewidth=1.8, solid_capstyle="butt", zorder=3)
        fill = GROUND if one.few else PLAIN
        axes.plot(
            [one.promised], [one.kept], marker="o", markersize=7, color=fill,
            markeredgecolor=PLAIN if one.few else GROUND, zorder=4,
        )  # fmt: skip
    step = 0.1 if 1 - low <= 0.5 else 0.2
    at = [value for number in range(11) if (value := round(1 - step * number, 1)) >= low - 1e-9]
    axes.set_xticks(at, [f"{value * 100:.0f} %" for value in at])
    axes.set_yticks(at, [f"{value * 100:.0f} %" for value in at])
    axes.grid(axis="y", color=RULE, linewidth=0.8)
    axes.set_xlabel("chance promised", fontsize=size.label, color=INK, labelpad=4)
    axes.set_ylabel("kept", fontsize=size.label, color=INK, labelpad=2)


# Day by day -----------------------------------------------------------------------------------------------------------


def _courses_panel(courses: Sequence[Course], size: Size) -> Panel:
    return Panel(
        height=2.6, left=0.75, right=widest([one.what for one in courses], size.tick) + 0.2, above=0.08, below=0.62,
        share=0.56, heading="Margin so far, day by day",
    )  # fmt: skip


def _courses(axes: Axes, courses: Sequence[Course], order: Sequence[str], size: Size) -> None:
    ends = [value for one in courses for value in one.by_day]
    low, high = min(0.0, *ends), max(1.0, *ends)
    days = max(len(one.by_day) for one in courses)
    axes.set_xlim(1, days)
    axes.set_ylim(low * 1.04, high * 1.04)
    step = next(step for step in (7, 14, 28, 56, 112, 365) if days / step <= (6 if size.narrow else 8) or step == 365)
    axes.set_xticks(list(range(step, days + 1, step)))
    axes.set_yticks(*_amounts(low, high, 4))
    axes.grid(visible=False, axis="x")
    axes.grid(axis="y", color=RULE, linewidth=0.8)
    axes.set_xlabel("day of the season", fontsize=size.label, color=INK, labelpad=4)
    for one in courses:
        stroke = STROKES[(order.index(one.what) if one.what in order else 0) % len(STROKES)]
        axes.plot(
            range(1, len(one.by_day) + 1), one.by_day, color=stroke.colour, linestyle=stroke.dashes,
            linewidth=stroke.width, zorder=3,
        )  # fmt: skip
    _name_ends(axes, courses, size)


def _name_ends(axes: Axes, courses: Sequence[Course], size: Size) -> None:
    """Names at the ends of the lines, moved apart where the ends lie close, each joined to its own."""
    low, high = axes.get_ylim()
    gap = size.tick * LINE / POINTS / bars.height_of(axes) * (high - low)
    days = axes.get_xlim()[1]
    for one, at in zip(courses, spread_out([one.by_day[-1] for one in courses], gap, high), strict=True):
        axes.annotate(
            one.what, (len(one.by_day), one.by_day[-1]), xytext=(days, at), textcoords="data", ha="left",
            va="center_baseline", fontsize=size.tick, annotation_clip=False,
        ).set_x(days + (days - 1) * 0.03)  # fmt: skip


def spread_out(values: Sequence[float], gap: float, most: float) -> list[float]:
    """
    Places near values, in their order, at least a gap apart and none above `most`.

    Examples
    --------
    >>> spread_out([10.0, 9.0, 2.0], 2.0, 10.0)
    [10.0, 8.0, 2.0]
    """
    found, above = [0.0] * len(values), most + gap
    for number in sorted(range(len(values)), key=lambda number: -values[number]):
        above = min(values[number], above - gap)
        found[number] = above
    return found
