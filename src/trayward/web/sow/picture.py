"""A plan drawn for the page: by crop what is sown, grown, cut and due; and how full the racks are, night by night.

Pure: figures of a plan in, the text of an SVG out. It says what `pictures/plan.py` says, by the same rules: days from
left to right, today as a thin line, letters in the stages, the range of a cut below its bar, limits as limits.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta
from itertools import zip_longest

import msgspec
from markupsafe import Markup

from trayward.pictures.look import mark_of
from trayward.plan.due_days import due_days
from trayward.plan.types import Plan, PlannedSowing, RackUse
from trayward.web.drawing.svg import box, drawing, group, line, path, shortened, tag, width_of, words
from trayward.web.look.locales import STAGES
from trayward.web.sow.patterns import patterns

DayWords = Callable[[date], str]


class Size(msgspec.Struct, frozen=True, kw_only=True):
    """Measures of a drawing. [px]"""

    name: str
    width: float
    left: float
    """Where the days begin; names stand before it, or above their row where it is narrow."""
    label: float
    """Size of the names."""
    small: float
    """Size of figures and days."""
    band: float
    """Height above a crop's bars, for its due days and, where it is narrow, its name."""
    lane: float
    """Height of a lane of bars."""
    rack: float
    """Height of a rack's panel."""

    @property
    def narrow(self) -> bool:
        """Whether names stand above their rows."""
        return self.left < 60


DESK = Size(name="desk", width=1000, left=124, label=14, small=12, band=20, lane=23, rack=120)
PHONE = Size(name="phone", width=354, left=22, label=13.5, small=11, band=34, lane=20, rack=110)
SIZES = (PHONE, DESK)
RIGHT = 8.0
BEFORE = 0.7
"""Days drawn before the first, for what stands already. [d]"""
BAR = 0.62
"""Height of a bar in its lane. [-]"""
MOST_LANES = 14
"""More sowings of one crop at a time than this are counted, not drawn."""
HEAD = 24.0


class Bar(msgspec.Struct, frozen=True, kw_only=True):
    """A sowing in days from the plan's first: when it is sown, when it is cut, and between what days that lies. [d]"""

    trays: int
    begin: float
    end: float
    low: float
    high: float
    stages: tuple[tuple[str, float, float], ...]


class Due(msgspec.Struct, frozen=True, kw_only=True):
    """A day a crop is due, and whether every line of it is as sure as it is wanted."""

    day: date
    sure: bool


class CropRow(msgspec.Struct, frozen=True, kw_only=True):
    """A crop: its sowings, trays that stand and when they are cut, and its due days."""

    crop: str
    bars: tuple[Bar, ...]
    standing: tuple[tuple[float, int], ...]
    dues: tuple[Due, ...]


class Axis(msgspec.Struct, frozen=True, kw_only=True):
    """Days from left to right."""

    first: date
    days: int
    size: Size

    def x(self, day: float) -> float:
        """Where a day from the first begins. [px]"""
        room = self.size.width - self.size.left - RIGHT
        return self.size.left + (day + BEFORE) / (self.days + BEFORE) * room


def axis_of(plan: Plan, size: Size) -> Axis:
    """The days of a plan."""
    return Axis(first=plan.first, days=(plan.last - plan.first).days + 1, size=size)


# What is drawn --------------------------------------------------------------------------------------------------------


def crop_rows(plan: Plan) -> tuple[CropRow, ...]:
    """Crops by name, each with its sowings by day."""
    dues = sorted(due_days(plan).items())
    crops = {one.crop for one in plan.sowings} | {one.crop for one in plan.cuts} | {crop for (crop, _), _ in dues}
    return tuple(
        CropRow(
            crop=crop,
            bars=tuple(_bar(plan, one) for one in plan.sowings if one.crop == crop),
            standing=_standing(plan, crop),
            dues=tuple(Due(day=day, sure=sure) for (own, day), sure in dues if own == crop),
        )
        for crop in sorted(crops)
    )


def _bar(plan: Plan, one: PlannedSowing) -> Bar:
    """A tray is cut in the middle of its day; a stage lasts until the next begins."""
    begin, end = _day(plan, one.sow_on), _day(plan, one.cut_on) + 0.5
    low, high = one.cut_between or (one.cut_on, one.cut_on)
    spans = []
    for stage, after in zip_longest(one.stages, one.stages[1:]):
        last = _day(plan, after.first) if after else end
        spans.append((stage.stage, _day(plan, stage.first), min(last, end)))
    return Bar(
        trays=one.trays, begin=begin, end=end, low=_day(plan, low) + 0.5, high=_day(plan, high) + 0.5,
        stages=tuple(span for span in spans if span[2] > span[1]),
    )  # fmt: skip


def _day(plan: Plan, day: date) -> float:
    return float((day - plan.first).days)


def _standing(plan: Plan, crop: str) -> tuple[tuple[float, int], ...]:
    found: dict[float, int] = {}
    for cut in plan.cuts:
        if cut.crop == crop:
            day = _day(plan, cut.cut_on) + 0.5
            found[day] = found.get(day, 0) + cut.trays
    return tuple(sorted(found.items()))


def in_lanes(bars: Sequence[Bar], taken: float, gap: float) -> list[tuple[int, Bar]]:
    """
    Each bar in the first lane that is free `gap` days before it; lane 0 is taken until `taken`. [d]

    Examples
    --------
    >>> def bar(begin, end):
    ...     return Bar(trays=1, begin=begin, end=end, low=end, high=end, stages=())
    >>> [lane for lane, _ in in_lanes([bar(0, 5), bar(3, 9), bar(7, 12)], 0.0, 1.0)]
    [1, 0, 1]
    """
    ends, found = [taken], []
    for one in sorted(bars, key=lambda bar: (bar.begin, bar.end)):
        lane = next((number for number, until in enumerate(ends) if until <= one.begin - gap), len(ends))
        ends[lane:] = [max(one.end, one.high), *ends[lane + 1 :]]
        found.append((lane, one))
    return found


# The timeline ---------------------------------------------------------------------------------------------------------


def timeline(plan: Plan, size: Size, day_words: DayWords) -> Markup:
    """Every crop's sowings from sowing to cut, as an SVG."""
    axis, rows = axis_of(plan, size), crop_rows(plan)
    top, parts = HEAD, []
    for row in rows:
        drawn, tall = _row(row, axis, top)
        parts += [line(0, top, size.width, top, "rule"), *drawn]
        top += tall
    height = max(top, HEAD + 20) + 4
    inside = [patterns(f"timeline-{size.name}"), *_days_along(axis, height, day_words), *parts]
    return drawing(size.width, height, inside, cls=f"drawn drawn-{size.name}")


def _days_along(axis: Axis, height: float, day_words: DayWords, *, labels: bool = True) -> list[str]:
    """Mondays as thin lines with their date, and the first day, which is today when the plan was made."""
    size, found, last = axis.size, [], -1e9
    for number in range(axis.days):
        day = axis.first + timedelta(days=number)
        if day.weekday() != 0 and number:
            continue
        x = axis.x(number)
        found.append(line(x, HEAD - 4, x, height, "today" if not number else "week"))
        text = day_words(day)
        if labels and x >= last and x + width_of(text, size.small) <= size.width:
            found.append(words(text, x + 2, HEAD - 9, "soft-ink", size=size.small))
            last = x + width_of(text, size.small) + 4
    return found


def _row(row: CropRow, axis: Axis, top: float) -> tuple[list[str], float]:
    size = axis.size
    day_width = axis.x(1) - axis.x(0)
    gap = (width_of("00", size.small) + 4) / day_width
    taken = row.standing[-1][0] + 0.15 if row.standing else -BEFORE
    lanes = in_lanes(row.bars, taken, gap)
    shown = [(lane, bar) for lane, bar in lanes if lane < MOST_LANES]
    hidden = len(lanes) - len(shown)
    deep = max([lane for lane, _ in shown] + [0]) + 1 if shown or row.standing else 0
    found = [_name(row.crop, hidden, size, top), *(_due(due, axis, top + size.band - 5) for due in row.dues)]
    found += _standing_bar(row.standing, axis, top + size.band)
    for lane, bar in shown:
        found += _sown_bar(bar, axis, top + size.band + lane * size.lane)
    return found, size.band + deep * size.lane + 6


def _name(crop: str, hidden: int, size: Size, top: float) -> str:
    """The crop; a name too long for its place is cut, and the table has it whole."""
    room = size.width - 4 if size.narrow else size.left - 8
    text = f"{crop} (+{hidden})" if hidden else crop
    return words(shortened(text, size.label, room), 0, top + 15, "ink", size=size.label)


def _due(due: Due, axis: Axis, y: float) -> str:
    x = axis.x((due.day - axis.first).days + 0.5)
    points = f"{x - 4.5:.1f},{y - 8:.1f} {x + 4.5:.1f},{y - 8:.1f} {x:.1f},{y:.1f}"
    return tag("polygon", points=points, cls="due" if due.sure else "due unsure")


def _standing_bar(standing: Sequence[tuple[float, int]], axis: Axis, top: float) -> list[str]:
    """Trays that stand: each piece ends on the day of a cut, with how many are cut then."""
    found, begin, size = [], -BEFORE, axis.size
    for end, trays in standing:
        x, until = axis.x(begin), axis.x(end)
        found.append(box(x, top, until - x, BAR * size.lane, "standing"))
        if until - x >= width_of(str(trays), size.small) + 4:
            y = top + BAR * size.lane - 3
            found.append(words(str(trays), until - 3, y, "ink", size=size.small, anchor="end"))
        begin = end
    return found


def _sown_bar(bar: Bar, axis: Axis, top: float) -> list[str]:
    size, tall = axis.size, BAR * axis.size.lane
    found = [
        part
        for stage, first, last in bar.stages
        for part in _segment(stage, axis.x(first), axis.x(last), top, tall, size)
    ]
    if not bar.stages:
        found.append(box(axis.x(bar.begin), top, axis.x(bar.end) - axis.x(bar.begin), tall, "standing"))
    if bar.high > bar.low:
        y, low, high = top + tall + 3.5, axis.x(bar.low), min(axis.x(bar.high), size.width)
        found += [line(low, y, high, y, "range-line"), line(low, y - 2, low, y + 2, "range-line")]
        found.append(line(high, y - 2, high, y + 2, "range-line"))
    found.append(words(str(bar.trays), axis.x(bar.begin) - 3, top + tall - 3, "ink", size=size.small, anchor="end"))
    return found


def _segment(stage: str, x: float, until: float, top: float, tall: float, size: Size) -> list[str]:
    until = min(until, size.width)
    if until <= x:
        return []
    mark, known = mark_of(stage), stage in STAGES
    fill = f"url(#timeline-{size.name}-{stage})" if known else None
    found = [box(x, top, until - x, tall, f"span stage-{stage if known else 'own'}", fill)]
    if until - x >= width_of(mark.letter, size.small) + 4:
        cls = f"letter letter-{stage if known else 'own'}"
        found.append(words(mark.letter, (x + until) / 2, top + tall - 3.5, cls, size=size.small, anchor="middle"))
    return found


# The racks ------------------------------------------------------------------------------------------------------------


def rack_picture(plan: Plan, size: Size, day_words: DayWords) -> Markup:
    """Spots taken night by night: the band in which 8 of 10 futures lie, what is likely, and the limit; as an SVG."""
    axis, top, parts = axis_of(plan, size), HEAD, list[str]()
    for rack in plan.racks:
        parts.append(group(_rack(rack, axis, top)))
        top += size.rack + 34
    inside = [patterns(f"racks-{size.name}"), *_days_along(axis, top - 10, day_words), *parts]
    return drawing(size.width, max(top, HEAD + 20), inside, cls=f"drawn drawn-{size.name}")


def _rack(rack: RackUse, axis: Axis, top: float) -> Iterable[str]:
    size = axis.size
    head, foot = top + 20, top + 20 + size.rack
    most = max((*rack.has, *rack.high, 1.0)) * 1.08

    def y(spots: float) -> float:
        return foot - spots / most * size.rack

    nights = range(min(axis.days, len(rack.likely)))
    upper = _steps(axis, [rack.high[night] for night in nights], y)
    lower = _steps(axis, [rack.low[night] for night in nights], y)
    yield words(rack.limit, 0, top + 13, "ink", size=size.label)
    yield line(size.left, foot, size.width - RIGHT, foot, "axis")
    yield words("0", size.left - 4, foot, "soft-ink", size=size.small, anchor="end")
    if not upper:
        return
    yield path([*upper, *reversed(lower)], "band", closed=True)
    yield from _beyond(rack, axis, y, nights)
    yield path(_steps(axis, [rack.likely[night] for night in nights], y), "likely")
    limit = _steps(axis, [rack.has[night] for night in nights], y)
    yield path(limit, "limit")
    yield words(f"{rack.has[0]:.0f}", size.left - 4, limit[0][1] + 4, "ink", size=size.small, anchor="end")
    yield line(axis.x(0), head, axis.x(0), foot, "today")


def _steps(axis: Axis, values: Sequence[float], y: Callable[[float], float]) -> list[tuple[float, float]]:
    """A night's figure holds from its day to the next."""
    return [
        (axis.x(night + side), y(value)) for night, value in enumerate(values) for side in (0, 1)
    ]  # fmt: skip


def _beyond(rack: RackUse, axis: Axis, y: Callable[[float], float], nights: Iterable[int]) -> Iterable[str]:
    """Hatched: more than there is, should trays be slow."""
    for night in nights:
        if rack.high[night] > rack.has[night]:
            top, foot = y(rack.high[night]), y(rack.has[night])
            x = axis.x(night)
            yield box(x, top, axis.x(night + 1) - x, foot - top, "over", f"url(#racks-{axis.size.name}-over)")


# In words -------------------------------------------------------------------------------------------------------------


class Fullest(msgspec.Struct, frozen=True, kw_only=True):
    """The night a kind of spots is fullest. [spots]"""

    limit: str
    day: date
    low: float
    likely: float
    high: float
    has: float
    beyond: int
    """Nights on which more may be wanted than there is, should trays be slow."""


def fullest(plan: Plan) -> tuple[Fullest, ...]:
    """For each kind of spots the night on which the largest share of it is taken; the fullest kind first."""
    found = [one for one in (_fullest(plan, rack) for rack in plan.racks) if one is not None]
    return tuple(sorted(found, key=lambda one: -one.likely / one.has))


def _fullest(plan: Plan, rack: RackUse) -> Fullest | None:
    shares = [likely / has if has > 0 else 0.0 for has, likely in zip(rack.has, rack.likely, strict=True)]
    if not shares or max(shares) <= 0:
        return None
    night = max(range(len(shares)), key=lambda number: (round(shares[number], 6), -number))
    return Fullest(
        limit=rack.limit,
        day=plan.first + timedelta(days=night),
        low=rack.low[night],
        likely=rack.likely[night],
        high=rack.high[night],
        has=rack.has[night],
        beyond=sum(high > has for high, has in zip(rack.high, rack.has, strict=True)),
    )
