"""A plan: by crop what is sown when and until it is cut, the days it is due, and how full racks are night by night."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, timedelta
from itertools import zip_longest
from typing import TYPE_CHECKING, NamedTuple

from trayward.dates import day_words
from trayward.pictures import bars
from trayward.pictures.look import GROUND, INK, PLAIN, RULE, SOFT, TROUBLE, Size, Wide, mark_of, tint
from trayward.pictures.page import POINTS, Panel, Picture, drawn, in_house_style, size_of, widest, width_in
from trayward.pictures.types import Delivery, PlanFigures, RackFigures, SowingBar

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROOMY, CLOSE = 0.21, 0.165
"""Height of a lane of bars where there are few, and where there are many. [in]"""
MANY = 40
"""From so many lanes on they are drawn close. [-]"""
BAND = {"desk": 0.22, "phone": 0.42}
"""Height of the line above a crop's lanes that holds its due days; on a narrow page its name, too. [in]"""
BAR, RANGE = 0.66, 0.84
"""Height of a bar, and where below it its range is drawn, in lanes from the top. [-]"""
LETTER = 7.0
"""Size of the letter of a stage in its bar. [pt]"""
RACK = {"desk": 1.15, "phone": 1.0}
MOST = 150
"""More lanes than this nobody reads: then crops with many lose some, and what is in them is counted."""
BEFORE = 0.7
"""Days drawn before the first, for what stands already. [d]"""
GAP = 0.15
"""Room between bars of a lane. [d]"""
STAGES = ("soak", "germinate", "blackout", "light", "ready")
NAMES = {"soak": "soak", "germinate": "germinate", "blackout": "blackout", "light": "light", "ready": "ready to cut"}


@in_house_style
def plan_picture(figures: PlanFigures, title: str, *, wide: Wide = "desk") -> Picture:
    """
    Sowings from the day they are sown to the day they are cut, with due days, and the racks below.

    Parameters
    ----------
    figures : PlanFigures
        What the plan holds.
    title : str
        What it says, in one sentence.
    """
    size = size_of(wide)
    rows, hidden = _rows_of(figures, size)
    names = [*(row.crop for row in rows), *(rack.what for rack in figures.racks)]
    left = 0.36 if size.narrow else max(0.7, widest(names, size.label) + 0.16)
    heights = _heights(rows, size)
    tall = max(0.6, sum(map(heights.of, rows)))
    panels = [[_rack_panel(rack, left, size, first=not number)] for number, rack in enumerate(figures.racks)]
    panels += [[Panel(height=tall, left=left, right=0.12, above=0.38, below=0.1, heading="Sown, grown, cut and due")]]
    picture, axes = drawn(title, size, panels, words_of(figures), note=_note(figures, hidden))
    for number, (each, rack) in enumerate(zip(axes[:-1], figures.racks, strict=True)):
        _rack(each, rack, figures, size, first=not number)
    _timeline(axes[-1], rows, heights, figures, left, size)
    return picture


def plan_title(figures: PlanFigures) -> str:
    """What is sown in all, and when the racks are fullest, in one sentence."""
    sown = [one for one in figures.sowings if one.sow_on is not None]
    if not figures.sowings:
        return "Nothing is sown or cut in these weeks."
    trays, weeks = sum(one.trays for one in sown), ((figures.last - figures.first).days + 1) / 7
    what = f"{trays} tray{'' if trays == 1 else 's'}" if trays else "Nothing"
    counted = f"{what} to sow in {weeks:.0f} weeks"
    fullest = max(figures.racks, key=lambda rack: _fullest(rack)[0], default=None)
    if fullest is None:
        return f"{counted}."
    share, night = _fullest(fullest)
    if not share:
        return f"{counted}."
    taken = f"{fullest.likely[night]:.0f} of {fullest.has[night]:.0f}"
    day = day_words(figures.first + timedelta(days=night))
    return f"{counted}; {fullest.what} are fullest on {day}: {taken} likely."


def _fullest(rack: RackFigures) -> tuple[float, int]:
    """The largest share of the spots taken in a night, and which night. [-]"""
    shares = [likely / has if has > 0 else 0.0 for has, likely in zip(rack.has, rack.likely, strict=True)]
    best = max(range(len(shares)), key=lambda night: (round(shares[night], 6), -night), default=0)
    return (shares[best] if shares else 0.0), best


def words_of(figures: PlanFigures) -> list[str]:
    """Every bar, every due day that is not sure and every rack's fullest night, in words."""
    told = [_sowing_words(one) for one in _in_order(figures.sowings)]
    told += [
        f"{one.crop}, due {day_words(one.due)}: not as sure as wanted"
        for one in sorted(figures.deliveries, key=lambda one: (one.due, one.crop))
        if not one.sure
    ]
    for rack in figures.racks:
        _, night = _fullest(rack)
        day = day_words(figures.first + timedelta(days=night))
        spread = f"{rack.low[night]:.0f} to {rack.high[night]:.0f}, likely {rack.likely[night]:.0f}"
        told.append(f"{rack.what}: fullest {day}, {spread} of {rack.has[night]:.0f}")
    return told


def _sowing_words(one: SowingBar) -> str:
    counted = f"{one.trays} tray{'' if one.trays == 1 else 's'}"
    begun = f"sow {day_words(one.sow_on)}" if one.sow_on is not None else "standing"
    between = bars.days_words(one.low, one.cut_on, one.high) if one.low and one.high else day_words(one.cut_on)
    return f"{one.crop}, {counted}: {begun}, cut {between}"


def _note(figures: PlanFigures, hidden: int) -> str:
    """What the marks mean, of those that are there."""
    stages = {span.stage for one in figures.sowings for span in one.stages}
    letters = [f"{mark_of(stage).letter} {NAMES[stage]}" for stage in STAGES if stage in stages]
    ranged = any(one.low != one.high for one in figures.sowings)
    told = [
        (f"Bars: {', '.join(letters)}; before them, trays.", bool(letters)),
        ("Grey: trays that stand already, and when they are cut.", any(one.sow_on is None for one in figures.sowings)),
        ("Line below a bar: cut within it in 8 of 10.", ranged),
        ("Filled triangles: due.", any(one.sure for one in figures.deliveries)),
        ("Open triangles: due, and not as sure as wanted.", any(not one.sure for one in figures.deliveries)),
        ("Bands on the racks: 8 in 10; line: likely; thick line: the limit.", bool(figures.racks)),
        ("Hatched: more than there is, should trays be slow.", any(map(_beyond, figures.racks))),
        (f"{hidden} more sowings are not drawn.", hidden > 0),
    ]
    return " ".join(words for words, there in told if there)


# The timeline ---------------------------------------------------------------------------------------------------------


class Row(NamedTuple):
    """A crop with its bars, each in a lane, and its due days."""

    crop: str
    lanes: tuple[tuple[int, SowingBar], ...]
    deep: int
    """How many lanes."""
    dues: tuple[Delivery, ...]


class Heights(NamedTuple):
    """How tall things are drawn. [in]"""

    band: float
    lane: float

    def of(self, row: Row) -> float:
        """Height of a crop's row."""
        return self.band + row.deep * self.lane + 0.07


def _in_order(sowings: Sequence[SowingBar]) -> list[SowingBar]:
    """By crop; what stands first, then by the day it is sown."""
    first = date.min
    return sorted(sowings, key=lambda one: (one.crop, one.sow_on or first, one.cut_on, -one.trays))


def _rows_of(figures: PlanFigures, size: Size) -> tuple[list[Row], int]:
    """Crops by name, each with as few lanes as hold its bars; and how many sowings there was no room for."""
    crops = sorted({one.crop for one in figures.sowings} | {one.crop for one in figures.deliveries})
    before = _count_days(figures, size)
    lanes = [
        in_lanes([one for one in _in_order(figures.sowings) if one.crop == crop], figures, before) for crop in crops
    ]
    most = level([max((lane for lane, _ in own), default=-1) + 1 for own in lanes], MOST)
    rows, hidden = [], 0
    for crop, own in zip(crops, lanes, strict=True):
        shown = tuple((lane, one) for lane, one in own if lane < most)
        hidden += len(own) - len(shown)
        dues = tuple(sorted((one for one in figures.deliveries if one.crop == crop), key=lambda one: one.due))
        rows.append(Row(crop, shown, max((lane for lane, _ in shown), default=-1) + 1, dues))
    return rows, hidden


def level(wanted: Sequence[int], most: int) -> int:
    """
    How many lanes a crop may have at most, for no more than `most` in all; one at least.

    Examples
    --------
    >>> level([2, 9, 9], 12), level([2, 3], 12), level([5] * 9, 6)
    (5, 3, 1)
    """
    fair = max(wanted, default=1)
    while fair > 1 and sum(min(one, fair) for one in wanted) > most:
        fair -= 1
    return fair


def _heights(rows: Sequence[Row], size: Size) -> Heights:
    return Heights(BAND[size.wide], ROOMY if sum(row.deep for row in rows) < MANY else CLOSE)


def _count_days(figures: PlanFigures, size: Size) -> float:
    """Room a number of trays takes before a bar. [d]"""
    digits = widest([str(one.trays) for one in figures.sowings], size.tick)
    return (digits + 0.06) / ((size.width - (0.7 if size.narrow else 1.6)) / _span(figures))


def _span(figures: PlanFigures) -> float:
    return (figures.last - figures.first).days + 1 + BEFORE


def in_lanes(sowings: Sequence[SowingBar], figures: PlanFigures, count: float) -> list[tuple[int, SowingBar]]:
    """Each bar in the first lane that is free from `count` days before it on; what stands shares the first. [d]"""
    standing = [one for one in sowings if one.sow_on is None]
    ends = [max(_end(one, figures) for one in standing) + GAP] if standing else []
    found = [(0, one) for one in standing]
    for one in sowings:
        if one.sow_on is not None:
            begin = (one.sow_on - figures.first).days - count
            lane = next((number for number, until in enumerate(ends) if until <= begin), len(ends))
            ends[lane:] = [_end(one, figures) + GAP, *ends[lane + 1 :]]
            found.append((lane, one))
    return found


def _end(one: SowingBar, figures: PlanFigures) -> float:
    """Where a bar and its range end: a tray is cut in the middle of its day."""
    return (max(one.cut_on, one.high or one.cut_on) - figures.first).days + 0.5


def _timeline(axes: Axes, rows: Sequence[Row], heights: Heights, figures: PlanFigures, left: float, size: Size) -> None:
    _days_along(axes, figures)
    axes.set_ylim(max(0.6, sum(map(heights.of, rows))), 0.0)
    axes.set_yticks([])
    axes.axvline(0.0, color=INK, linewidth=1.0, zorder=1)
    top = 0.0
    for number, row in enumerate(rows):
        if number:
            axes.axhline(top, color=RULE, linewidth=0.8, zorder=0.5)
        _row(axes, row, top, heights, figures, left, size)
        top += heights.of(row)


def _row(axes: Axes, row: Row, top: float, heights: Heights, figures: PlanFigures, left: float, size: Size) -> None:
    """A crop: its name, its due days, and its bars below them."""
    named = top + (0.13 if size.narrow else heights.band / 2)
    ground = {"boxstyle": "square,pad=0.1", "facecolor": GROUND, "edgecolor": "none"} if size.narrow else None
    axes.annotate(
        row.crop, (0, named), xycoords=("axes fraction", "data"), xytext=(-left * POINTS, 0),
        textcoords="offset points", ha="left", va="center_baseline", fontsize=size.label, annotation_clip=False,
        bbox=ground, zorder=2.5,
    )  # fmt: skip
    for due in row.dues:
        _due(axes, (due.due - figures.first).days + 0.5, top + heights.band - 0.1, sure=due.sure)
    lanes = top + heights.band
    _standing(axes, [one for _, one in row.lanes if one.sow_on is None], lanes, heights.lane, figures, size)
    for lane, one in row.lanes:
        if one.sow_on is not None:
            _sown(axes, one, lanes + lane * heights.lane, heights.lane, figures, size)


def _due(axes: Axes, x: float, y: float, *, sure: bool) -> None:
    colour = INK if sure else TROUBLE
    axes.plot(
        [x], [y], marker="v", markersize=5.5 if sure else 6.5, color=colour, markerfacecolor=INK if sure else GROUND,
        markeredgewidth=0.6 if sure else 1.6, linestyle="none", zorder=4, clip_on=False,
    )  # fmt: skip


def _standing(
    axes: Axes, trays: Sequence[SowingBar], top: float, lane: float, figures: PlanFigures, size: Size
) -> None:
    """Trays that stand, in one bar: each piece ends on the day of a cut, with how many are cut then."""
    begin, cuts = -BEFORE, dict[float, int]()
    for one in trays:
        end = (one.cut_on - figures.first).days + 0.5
        cuts[end] = cuts.get(end, 0) + one.trays
    for end in sorted(cuts):
        y, tall = top + BAR * lane / 2, BAR * lane
        axes.barh(y, end - begin, left=begin, height=tall, color=RULE, edgecolor=SOFT, linewidth=0.8, zorder=2)
        if _inches(axes, end - begin) >= width_in(str(cuts[end]), size.tick) + 0.05:
            axes.annotate(
                str(cuts[end]), (end, y), xytext=(-2, 0), textcoords="offset points", ha="right",
                va="center_baseline", fontsize=size.tick, zorder=5,
            )  # fmt: skip
        begin = end


def _inches(axes: Axes, days: float) -> float:
    low, high = axes.get_xlim()
    return days / (high - low) * bars.width_of(axes)


def _sown(axes: Axes, one: SowingBar, top: float, lane: float, figures: PlanFigures, size: Size) -> None:
    """The stages of a sowing one after the other, its trays before it, and below its end the range of that."""
    y, tall, begin = top + BAR * lane / 2, BAR * lane, (one.sow_on - figures.first).days if one.sow_on else 0
    end = (one.cut_on - figures.first).days + 0.5
    if not one.stages:
        axes.barh(y, end - begin, left=begin, height=tall, color=RULE, edgecolor=SOFT, linewidth=0.8, zorder=2)
    for span, after in zip_longest(one.stages, one.stages[1:]):
        first = (span.first - figures.first).days
        # A stage of some hours on the day the next begins has no day of its own.
        last = (after.first - figures.first).days if after else end
        _segment(axes, span.stage, first, min(last, end), y, tall)
    if one.low is not None and one.high is not None and one.low < one.high:
        _range(axes, [(day - figures.first).days + 0.5 for day in (one.low, one.high)], top + RANGE * lane, lane)
    axes.annotate(
        str(one.trays), (begin, y), xytext=(-2.5, 0), textcoords="offset points", ha="right", va="center_baseline",
        fontsize=size.tick, annotation_clip=False, zorder=3,
        bbox={"boxstyle": "square,pad=0.02", "facecolor": GROUND, "edgecolor": "none"},
    )  # fmt: skip


def _segment(axes: Axes, stage: str, first: float, last: float, y: float, tall: float) -> None:
    """A stage of a bar: its colour, and its letter where there is room for one."""
    last = min(last, axes.get_xlim()[1])
    if last <= first:
        return
    mark = mark_of(stage)
    axes.barh(y, last - first, left=first, height=tall, color=mark.colour, edgecolor=INK, linewidth=0.5, zorder=2)
    if _inches(axes, last - first) >= width_in(mark.letter, LETTER, bold=True) + 0.03:
        axes.text(
            (first + last) / 2, y, mark.letter, fontsize=LETTER, fontweight="bold", color=mark.on, ha="center",
            va="center_baseline", zorder=4, clip_on=True,
        )  # fmt: skip


def _range(axes: Axes, ends: Sequence[float], y: float, lane: float) -> None:
    """A thin line from the early to the late end, with a stop at either."""
    axes.plot(ends, [y, y], color=INK, linewidth=1.2, solid_capstyle="butt", zorder=3)
    for x in ends:
        axes.plot([x, x], [y - lane * 0.14, y + lane * 0.14], color=INK, linewidth=1.2, zorder=3)


def _days_along(axes: Axes, figures: PlanFigures, *, named: bool = True) -> None:
    """The first day and Mondays with their dates, and a rule at each Monday: a plan is read by weeks."""
    count = (figures.last - figures.first).days + 1
    axes.set_xlim(-BEFORE, count)
    mondays = [day for day in range(1, count) if (figures.first + timedelta(days=day)).weekday() == 0]
    shown, wide = [0], bars.DATE / _inches(axes, 1.0)
    for day in mondays:
        if day - shown[-1] >= wide and day + wide <= count:
            shown.append(day)
    ticks = [0, *mondays]
    names = [bars.day_and_date(figures.first + timedelta(days=day)) if named and day in shown else "" for day in ticks]
    axes.set_xticks(ticks, names, ha="left")
    axes.grid(axis="x", which="major", color=RULE, linewidth=1.0)
    axes.xaxis.tick_top()
    axes.tick_params(length=0, which="both", pad=2)
    if named:
        axes.spines["top"].set_visible(True)
        axes.spines["bottom"].set_visible(False)


# The racks ------------------------------------------------------------------------------------------------------------


def _rack_panel(rack: RackFigures, left: float, size: Size, *, first: bool) -> Panel:
    return Panel(
        height=RACK[size.wide], left=left, right=0.12, above=0.38 if first else 0.0, below=0.16,
        heading=f"{rack.what[:1].upper()}{rack.what[1:]} taken each night",
    )  # fmt: skip


def _rack(axes: Axes, rack: RackFigures, figures: PlanFigures, size: Size, *, first: bool) -> None:
    """Spots taken, each night a step; the limit a thick line, and what goes beyond it hatched."""
    _days_along(axes, figures, named=first)
    nights = range(len(rack.has))
    most = max((*rack.has, *rack.high), default=1.0)
    axes.set_ylim(0, max(1.0, most) * 1.25)
    step = bars.round_step(max(1.0, most) / 4)
    axes.set_yticks([number * step for number in range(math.floor(max(1.0, most) / step) + 1)])
    axes.set_yticklabels([f"{tick:g}" for tick in axes.get_yticks()])
    axes.spines["bottom"].set_visible(True)
    axes.spines["top"].set_visible(False)
    edges = [*nights, len(rack.has)]
    low, high, likely, has = (_stepped(row) for row in (rack.low, rack.high, rack.likely, rack.has))
    axes.fill_between(edges, low, high, step="post", color=tint(PLAIN, 0.3), linewidth=0, zorder=2)
    axes.step(edges, likely, where="post", color=PLAIN, linewidth=1.8, zorder=3)
    for night in _beyond(rack):
        axes.bar(
            night, rack.high[night] - rack.has[night], bottom=rack.has[night], width=1.0, align="edge", color=GROUND,
            edgecolor=TROUBLE, hatch="////", linewidth=0.8, zorder=2.5,
        )  # fmt: skip
    axes.step(edges, has, where="post", color=INK, linewidth=2.2, zorder=3)
    axes.annotate(
        f"{rack.has[-1]:.0f} spots", (1, rack.has[-1]), xycoords=("axes fraction", "data"), xytext=(-2, 3),
        textcoords="offset points", ha="right", va="bottom", fontsize=size.tick,
    )  # fmt: skip


def _beyond(rack: RackFigures) -> list[int]:
    """Nights that may take more than there is, in 1 of 10 futures or more."""
    return [night for night, (has, high) in enumerate(zip(rack.has, rack.high, strict=True)) if high > has + 0.05]


def _stepped(values: Sequence[float]) -> list[float]:
    """The last value once more, so that its step is drawn."""
    return [*values, values[-1]] if values else []
