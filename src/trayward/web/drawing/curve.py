"""A curve with the band where it may lie, single trays as points, and levels as lines."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import msgspec
from markupsafe import Markup

from trayward.web.drawing.look import Chart, Size, both
from trayward.web.drawing.scale import Scale, around, round_figures
from trayward.web.drawing.svg import dot, drawing, line, path, width_of, words

LEFT = 44.0
RIGHT = 12.0
TOP = 46.0
FOOT = 44.0
MOST_POINTS = 300
"""More trays than these are drawn evenly picked: so many dots would only be a stain."""


class OnCurve(msgspec.Struct, frozen=True, kw_only=True):
    """A level with what is likely there, and the range in which it may truly lie."""

    x: float
    low: float
    mid: float
    high: float


class Upright(msgspec.Struct, frozen=True, kw_only=True):
    """A level drawn as a line through the chart, with its word above."""

    x: float
    words: str
    strong: bool = False


class Curve(msgspec.Struct, frozen=True, kw_only=True):
    """What a chart of a curve shows."""

    points: tuple[OnCurve, ...]
    trays: tuple[tuple[float, float], ...] = ()
    uprights: tuple[Upright, ...] = ()
    x_words: str
    y_words: str
    write: Callable[[str], str] = str
    """A figure along the foot as the page's language writes it."""


def curve_chart(curve: Curve, figure: Callable[[float], str]) -> Chart:
    """A chart of a curve in both sizes; `figure`: how an amount reads along the edge."""
    return both(lambda size: _drawn(curve, figure, size))


def _drawn(curve: Curve, figure: Callable[[float], str], size: Size) -> Markup:
    height = 300.0 if size.narrow else 380.0
    trays = picked(curve.trays)
    levels = [*(point.x for point in curve.points), *(x for x, _ in trays), *(each.x for each in curve.uprights)]
    amounts = [*(point.high for point in curve.points), *(y for _, y in trays)]
    left, right = around(levels)
    across = Scale(low=left, high=right, start=LEFT, end=size.width - RIGHT)
    up = Scale(low=0.0, high=around(amounts, also=0.0)[1], start=height - FOOT, end=TOP)
    inside = [
        *_edges(curve, figure, across, up, size, height),
        path(
            [
                *((across.at(one.x), up.at(one.low)) for one in curve.points),
                *((across.at(one.x), up.at(one.high)) for one in reversed(curve.points)),
            ],
            "drawn-band",
            closed=True,
        )
        if curve.points
        else "",
        *(dot(across.at(x), up.at(y), 2.6, "drawn-dot") for x, y in trays),
        path([(across.at(one.x), up.at(one.mid)) for one in curve.points], "drawn-curve") if curve.points else "",
        *_uprights(curve.uprights, across, size, height),
    ]
    return drawing(size.width, height, inside, cls="drawn-svg")


def picked(trays: Sequence[tuple[float, float]]) -> Sequence[tuple[float, float]]:
    """
    As many points as a chart bears, evenly picked in their order.

    Examples
    --------
    >>> len(picked([(1.0, 2.0)] * 1000)), len(picked([(1.0, 2.0)] * 20))
    (300, 20)
    """
    if len(trays) <= MOST_POINTS:
        return trays
    return [trays[number * len(trays) // MOST_POINTS] for number in range(MOST_POINTS)]


def _edges(
    curve: Curve, figure: Callable[[float], str], across: Scale, up: Scale, size: Size, height: float
) -> list[str]:
    foot = height - FOOT
    inside = [words(curve.y_words, 0, 12, "drawn-soft", size=size.small)]
    for value in round_figures(0.0, up.high, 5):
        y = up.at(value)
        inside += [
            line(LEFT, y, size.width - RIGHT, y, "drawn-grid"),
            words(figure(value), LEFT - 6, y + 4, "drawn-soft", size=size.small, anchor="end"),
        ]
    for value in round_figures(across.low, across.high, 5 if size.narrow else 8):
        x = across.at(value)
        inside += [
            line(x, foot, x, foot + 5, "drawn-rail"),
            words(curve.write(f"{value:.4g}"), x, foot + 19, "drawn-soft", size=size.small, anchor="middle"),
        ]
    middle = (LEFT + size.width - RIGHT) / 2
    return [*inside, words(curve.x_words, middle, height - 6, "drawn-soft", size=size.small, anchor="middle")]


def _uprights(uprights: Sequence[Upright], across: Scale, size: Size, height: float) -> list[str]:
    inside = []
    for number, each in enumerate(uprights):
        x, half = across.at(each.x), width_of(each.words, size.small) / 2
        at = min(max(x, LEFT + half), size.width - half)
        kind = "drawn-mark strong" if each.strong else "drawn-mark"
        inside += [
            line(x, TOP - 6, x, height - FOOT, kind),
            words(
                each.words,
                at,
                27.0 + 14 * (number % 2),
                "drawn-strong" if each.strong else "drawn-soft",
                size=size.small,
                anchor="middle",
            ),
        ]
    return inside
