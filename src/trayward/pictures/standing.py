"""The outlook of many trays: one row for each group of alike trays, when they are ready and what one brings."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING

from trayward.dates import day_words
from trayward.outlook.types import When
from trayward.pictures import bars
from trayward.pictures.look import SOFT, TROUBLE, Size, Wide, mark_of
from trayward.pictures.page import MARGIN, POINTS, Panel, Picture, drawn, in_house_style, size_of, widest
from trayward.pictures.types import TrayGroup

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW = {"desk": 0.3, "phone": 0.54}
"""Height of a row; on a narrow page its words stand above the bar. [in]"""
BADGE = 20
"""Room for the letter of a stage. [pt]"""
MOST = 60
"""More rows than this nobody reads; the rest is counted."""
WORTH_A_MARK = 0.05
"""Chance of a loss from which it is marked, as on the terminal. [-]"""
NOTE = "Thick: half of such trays. Slim: 8 in 10. Tick: the middle."


@in_house_style
def standing_picture(
    groups: Sequence[TrayGroup], at: datetime, zone: tzinfo, *, unit: str = "g", wide: Wide = "desk"
) -> Picture:
    """
    When trays are likely ready, and what one brings.

    Parameters
    ----------
    groups : sequence of TrayGroup
        Alike trays; the soonest ready are drawn first.
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
    ordered = sorted(groups, key=lambda group: (group.ready.likely, group.crop, group.stage))
    shown = ordered[:MOST]
    labels = [label_of(group) for group in shown]
    left = 0.12 if size.narrow else (BADGE + 10) / POINTS + widest(labels, size.label)
    panels = _panels(max(1, len(shown)) * ROW[wide], left, size)
    words = [words_of(group, zone, unit) for group in ordered]
    picture, (when, what) = drawn(title_of(ordered, zone), size, [panels], words, note=_note(ordered))
    if size.narrow:
        _names_above((when, what), shown, labels, size)
    else:
        _names_beside(when, shown, labels, left, size)
    _times(when, shown, at, zone, size)
    _weights(what, shown, unit, size)
    return picture


def _panels(height: float, left: float, size: Size) -> list[Panel]:
    """When and how much, side by side or below one another; `share` is the width of the axes. [in]"""
    room = size.width - 2 * MARGIN
    if size.narrow:
        times = Panel(height=height, left=left, above=0.38, below=0.34, heading="Ready", share=room - left - 0.1)
        return [times, Panel(height=height, left=left, right=0.25, above=0.22, below=0.12, heading="A tray brings")]
    when = 0.58 * (room - left - 0.6)
    return [
        Panel(height=height, left=left, above=0.38, below=0.3, heading="Ready", share=left + when + 0.1),
        Panel(height=height, left=0.2, right=0.3, above=0.38, heading="A tray brings", share=room - left - when - 0.1),
    ]


def label_of(group: TrayGroup) -> str:
    """`broccoli, 4 trays`, with the chance that one is lost where it is worth a word."""
    trays = "" if not group.trays else f", {group.trays} tray" + ("" if group.trays == 1 else "s")
    lost = f", {group.loss * 100:.0f} in 100 lost" if group.loss > WORTH_A_MARK else ""
    return f"{group.crop}{trays}{lost}"


def words_of(group: TrayGroup, zone: tzinfo, unit: str) -> str:
    """A row in words."""
    grams = group.grams
    weight = "weight not known yet" if grams is None else bars.spread_words(grams.low, grams.likely, grams.high, unit)
    return f"{label_of(group)}, {group.stage}: {ready_words(group.ready, zone)}; {weight}"


def ready_words(ready: When, zone: tzinfo) -> str:
    """`ready 2 to 4 Dec, likely Thu 3 Dec`."""
    low, likely, high = (moment.astimezone(zone).date() for moment in (ready.low, ready.likely, ready.high))
    return f"ready {bars.days_words(low, likely, high)}"


def title_of(groups: Sequence[TrayGroup], zone: tzinfo) -> str:
    """What comes next, in one sentence."""
    if not groups:
        return "No trays are growing."
    trays = sum(group.trays for group in groups)
    first = groups[0]
    counted = f"{trays} tray" + ("" if trays == 1 else "s")
    if first.stage == "ready":
        ready = sum(group.trays for group in groups if group.stage == "ready")
        waiting = f"{ready} ready to cut now" if ready < trays else "all ready to cut now"
        return f"{counted}, {waiting}." if trays > 1 else "1 tray, ready to cut now."
    if not trays:
        return f"Sown now, {first.crop} is ready first."
    likely = first.ready.likely.astimezone(zone)
    day = day_words(likely)
    return f"{counted}; the next ready is {first.crop}, likely {day}."


def _note(groups: Sequence[TrayGroup]) -> str:
    more = f" {len(groups) - MOST} more groups, ready later, are not drawn." if len(groups) > MOST else ""
    return NOTE + more


def _times(axes: Axes, groups: Sequence[TrayGroup], at: datetime, zone: tzinfo, size: Size) -> None:
    midnight = bars.midnight_of(at, zone)
    days = bars.days_from(midnight)
    now = days(at)
    latest = max((days(group.ready.high) for group in groups), default=now + 1)
    bars.dates_along(axes, midnight.date(), -0.1, max(latest + 0.4, 3.0))
    bars.rows_from_top(axes, max(1, len(groups)))
    bars.now_line(axes, now, size)
    for row, group in enumerate(groups):
        y = row + _down(size)
        if group.stage == "ready":
            axes.plot([now], [y], marker="o", markersize=7, color=mark_of("ready").colour, zorder=4)
            continue
        bars.range_bar(axes, y, spread_from(group.ready, days, now), group.stage, scale=_scale(size))


def spread_from(ready: When, days: Callable[[datetime], float], now: float) -> bars.Spread:
    """A moment with doubt in days; what would lie before now lies at now. [d]"""
    low, likely, high = (max(now, days(moment)) for moment in (ready.low, ready.likely, ready.high))
    half = ready.half and (max(now, days(ready.half[0])), max(now, days(ready.half[1])))
    return bars.Spread(low, likely, high, half)


def _weights(axes: Axes, groups: Sequence[TrayGroup], unit: str, size: Size) -> None:
    most = max((group.grams.high for group in groups if group.grams), default=100.0)
    bars.weights_along(axes, most, unit, 3 if size.narrow else 4)
    bars.rows_from_top(axes, max(1, len(groups)))
    for row, group in enumerate(groups):
        y = row + _down(size)
        if group.grams is None:
            axes.text(most * 0.02, y, "not known yet", fontsize=size.tick, va="center_baseline", color=SOFT)
            continue
        grams = group.grams
        spread = bars.Spread(grams.low, grams.likely, grams.high, grams.half)
        bars.range_bar(axes, y, spread, group.stage, scale=_scale(size))


def _down(size: Size) -> float:
    """On a narrow page bars stand in the lower part of their row."""
    return 0.22 if size.narrow else 0.0


def _scale(size: Size) -> float:
    return 0.62 if size.narrow else 1.0


def _names_beside(axes: Axes, groups: Sequence[TrayGroup], labels: Sequence[str], left: float, size: Size) -> None:
    edge = -left * POINTS
    for row, (group, label) in enumerate(zip(groups, labels, strict=True)):
        bars.badge(axes, edge + BADGE / 2 - 2, row, group.stage, size)
        bars.beside(axes, row, label, edge + BADGE, size)
        if group.loss > WORTH_A_MARK:
            _corner(axes, row, edge)


def _names_above(both: Sequence[Axes], groups: Sequence[TrayGroup], labels: Sequence[str], size: Size) -> None:
    for axes in both:
        for row, (group, label) in enumerate(zip(groups, labels, strict=True)):
            bars.badge(axes, 4, row - 0.24, group.stage, size)
            bars.beside(axes, row - 0.24, label, BADGE - 4, size)
            if group.loss > WORTH_A_MARK:
                _corner(axes, row - 0.24, -6)


def _corner(axes: Axes, y: float, points: float) -> None:
    """The corner mark of trouble, at the upper left of a row's letter."""
    axes.annotate(
        "◤", (0, y), xycoords=("axes fraction", "data"), xytext=(points, 5), textcoords="offset points", ha="left",
        va="center", fontsize=8, color=TROUBLE, annotation_clip=False,
    )  # fmt: skip
