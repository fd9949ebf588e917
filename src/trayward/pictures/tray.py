"""One tray: when each stage ends, a hundred such trays by day and by weight, and what moves them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta, tzinfo
from typing import TYPE_CHECKING

from trayward.outlook.types import Range, Reason, StageEnd, TrayOutlook
from trayward.pictures import bars
from trayward.pictures.dots import heaps
from trayward.pictures.forest import draw_forest, forest_panel, row_words
from trayward.pictures.hundred import counted_in, hundred, hundred_weights
from trayward.pictures.look import INK, Size, Wide
from trayward.pictures.page import POINTS, Panel, Picture, drawn, in_house_style, size_of, widest
from trayward.pictures.standing import BADGE, WORTH_A_MARK, ready_words, spread_from
from trayward.pictures.types import Factor
from trayward.units import show_mass

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW = {"desk": 0.32, "phone": 0.54}
HEAP = 1.5
"""Height of a row of heaps. [in]"""
HEAPS = {"desk": 11, "phone": 7}
"""Heaps of weights, about."""
MOVED = {"grams": "What moves its weight", "days": "What moves its days"}
NOTE = "Bars: thick, half of such trays; slim, 8 in 10; tick, the middle. A dot is one of a hundred such trays."


@in_house_style
def tray_picture(
    tray: TrayOutlook, reasons: Sequence[Reason], at: datetime, zone: tzinfo, *, unit: str = "g", wide: Wide = "desk"
) -> Picture:
    """
    The outlook of one tray.

    Parameters
    ----------
    tray : TrayOutlook
        What is likely of it.
    reasons : sequence of Reason
        What moves it away from the published figure.
    at : datetime
        The present moment, with offset.
    zone : tzinfo
        The farm's time zone.
    unit : str
        Unit of weights, `g` or `oz`.
    wide : str
        `desk` or `phone`.
    """
    size = size_of(wide)
    moved = {about: factors_of(tray, reasons, about) for about in MOVED}
    rows = _rows(tray, moved, size)
    told = [f"{about}, {row_words(factor)}" for about, factors in moved.items() for factor in factors]
    words = [*_stage_words(tray, zone), *_weight_words(tray, unit), *told]
    picture, axes = drawn(title_of(tray, zone, unit), size, rows, words, note=NOTE)
    left = list(axes)
    stages = left.pop(0)
    if tray.stages:
        _stages(stages, tray.stages, at, zone, size, rows[0][0])
    heaps_of_days = left.pop(0)
    _days(heaps_of_days, tray, at, zone, size)
    if tray.grams is not None:
        _weights(left.pop(0), tray.grams, unit, size)
    forests = [factors for factors in moved.values() if factors]
    for forest, factors, row in zip(left, forests, rows[len(rows) - len(forests) :], strict=True):
        draw_forest(forest, factors, size, row[0].left)
    return picture


def factors_of(tray: TrayOutlook, reasons: Sequence[Reason], about: str) -> list[Factor]:
    """The reasons that move the weight, or the days, as they are drawn."""
    found = []
    for reason in reasons:
        if reason.about == about:
            what = reason.what.replace(f"{tray.recipe} on this farm", "this recipe here")
            name = f"{reason.stage}, {what}" if reason.stage else what
            found.append(Factor(what=name, factor=reason.factor, low=reason.low, high=reason.high, trays=reason.trays))
    return found


def title_of(tray: TrayOutlook, zone: tzinfo, unit: str) -> str:
    """When and how much, in one sentence."""
    name = f"{tray.crop}, tray {tray.tray}" if tray.tray else f"A tray of {tray.crop} sown now"
    when = ready_words(tray.ready, zone) if tray.stages else "ready to cut"
    grams = tray.grams
    weight = f"; {bars.spread_words(grams.low, grams.likely, grams.high, unit)}" if grams is not None else ""
    lost = f"; {tray.loss * 100:.0f} in 100 are lost" if tray.loss > WORTH_A_MARK else ""
    said = f"{name}: {when}{weight}{lost}."
    return said[:1].upper() + said[1:]


def _rows(tray: TrayOutlook, moved: Mapping[str, Sequence[Factor]], size: Size) -> list[list[Panel]]:
    left = 0.12 if size.narrow else (BADGE + 10) / POINTS + widest([end.stage for end in tray.stages], size.label)
    stages = Panel(
        height=max(1, len(tray.stages)) * ROW[size.wide], left=left, right=0.2, above=0.38, below=0.34,
        heading="Each stage ends",
    )  # fmt: skip
    days = Panel(height=HEAP, left=0.12, right=0.2, below=0.46, heading="Ready, of 100 such trays")
    grams = Panel(height=HEAP, left=0.12, right=0.3, below=0.34, heading="Weight, of 100 such trays")
    rows = [[stages]] if tray.stages else []
    rows.append([days, grams] if tray.grams is not None else [days])
    if not tray.stages:
        rows.insert(0, [Panel(height=0.01, below=0.0)])
    rows += [[forest_panel(factors, size, MOVED[about])] for about, factors in moved.items() if factors]
    return rows


def _stage_words(tray: TrayOutlook, zone: tzinfo) -> list[str]:
    return [f"{end.stage}: {ready_words(end.ends, zone).replace('ready', 'ends', 1)}" for end in tray.stages]


def _weight_words(tray: TrayOutlook, unit: str) -> list[str]:
    grams = tray.grams
    return [] if grams is None else [bars.spread_words(grams.low, grams.likely, grams.high, unit)]


def _stages(axes: Axes, ends: Sequence[StageEnd], at: datetime, zone: tzinfo, size: Size, panel: Panel) -> None:
    midnight = bars.midnight_of(at, zone)
    days = bars.days_from(midnight)
    now = days(at)
    latest = max(days(end.ends.high) for end in ends)
    bars.dates_along(axes, midnight.date(), -0.1, max(latest + 0.4, 3.0))
    bars.rows_from_top(axes, len(ends))
    bars.now_line(axes, now, size)
    for row, end in enumerate(ends):
        down, up = (0.22, -0.24) if size.narrow else (0.0, 0.0)
        spread = spread_from(end.ends, days, now)
        bars.range_bar(axes, row + down, spread, end.stage, scale=0.62 if size.narrow else 1.0)
        edge = 0.0 if size.narrow else -panel.left * POINTS
        bars.badge(axes, edge + BADGE / 2 - 4, row + up, end.stage, size)
        bars.beside(axes, row + up, end.stage, edge + BADGE - 2, size)


def _days(axes: Axes, tray: TrayOutlook, at: datetime, zone: tzinfo, size: Size) -> None:
    """A heap of dots for each day."""
    midnight = bars.midnight_of(at, zone)
    days = bars.days_from(midnight)
    now, ready = days(at), tray.ready
    both = {
        name: pair and (days(pair[0]), days(pair[1])) for name, pair in (("half", ready.half), ("most", ready.most))
    }
    values = [max(value, now) for value in hundred(days(ready.low), days(ready.likely), days(ready.high), **both)]
    first, last = math.floor(min(values)), math.floor(max(values)) + 1
    edges = [float(day) for day in range(first, last + 1)]
    spare = max(0.0, 4 - (last - first)) / 2
    width = bars.width_of(axes)
    axes.set_xlim(first - spare, last + spare)
    _finish(axes, heaps(axes, edges, counted_in(values, edges), "ready", size, width=width))
    every = next((step for step in bars.STEPS if (last - first + 2 * spare) / step * bars.DATE <= width), 28)
    at_noon = [day for day in range(first, last) if (day - first) % every == 0]
    names = [(midnight + timedelta(days=day + 0.5)).date() for day in at_noon]
    axes.set_xticks([day + 0.5 for day in at_noon], [bars.day_and_date(day) for day in names])


def _weights(axes: Axes, grams: Range, unit: str, size: Size) -> None:
    """A heap of dots for each step of weight, from zero; the middle as a thin line."""
    values = hundred_weights(grams)
    width = bars.width_of(axes)
    high = values[-1] * 1.04
    step = bars.weight_step((values[-1] - values[0]) / HEAPS[size.wide], unit)
    number = math.ceil(high / step)
    edges = [step * count for count in range(number + 1)]
    axes.set_xlim(0, edges[-1])
    _finish(axes, heaps(axes, edges, counted_in(values, edges), "ready", size, width=width))
    at = bars.weight_ticks(edges[-1], unit, 4)
    axes.set_xticks(at, [show_mass(weight, unit) if weight else "0" for weight in at])
    axes.axvline(grams.likely, ymax=0.06, color=INK, linewidth=2.2, clip_on=False, zorder=4)


def _finish(axes: Axes, needed: float) -> None:
    """Dots are round: the upright axis is in inches."""
    axes.set_ylim(0, max(needed, bars.height_of(axes)))
    axes.set_yticks([])
    axes.grid(visible=False, axis="x")
