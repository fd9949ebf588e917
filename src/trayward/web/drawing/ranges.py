"""Rows of ranges: each a bar from low to high with a tick at the middle, names and figures beside it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import msgspec
from markupsafe import Markup

from trayward.web.drawing.look import Chart, Size, both
from trayward.web.drawing.scale import Scale, around, round_figures
from trayward.web.drawing.svg import box, drawing, line, shortened, width_of, words

NAME_WIDTH = 208.0
FIGURE_SHARE = 0.24
"""Of a desk's width, for the words at the end of a row. [-]"""


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One range with its name and its figures in words; `before`: another one to hold it against, thin below it."""

    name: str
    low: float
    mid: float
    high: float
    told: str
    before: tuple[float, float, float] | None = None
    stands_out: bool = False
    faint: bool = False
    """Nothing of one's own is known: only what was believed before."""


class Axis(msgspec.Struct, frozen=True, kw_only=True):
    """The edge of a chart: what must be on it, how its figures read, and a line to hold rows against."""

    words: str
    also: float | None = 0.0
    """A figure that the scale must hold; amounts begin at zero."""
    mark: float | None = None
    """Where a line is drawn through all rows: as usual."""
    mark_words: str = ""
    figures: tuple[tuple[float, str], ...] | None = None
    """Where figures stand along the edge and how they read; round ones as they are if left out."""
    ends: tuple[float, float] | None = None
    write: Callable[[str], str] = str
    """A figure along the edge as the page's language writes it."""


def ranges_chart(rows: Sequence[Row], axis: Axis) -> Chart:
    """A chart of ranges in both sizes."""
    return both(lambda size: _drawn(rows, axis, size))


def _drawn(rows: Sequence[Row], axis: Axis, size: Size) -> Markup:
    scale = _scale(rows, axis, size)
    each = 46.0 if size.narrow else 34.0
    top = 22.0 if axis.mark is not None and axis.mark_words else 6.0
    foot = top + each * len(rows)
    inside = [*_edge(axis, scale, size, top, foot)]
    for number, row in enumerate(rows):
        inside += _row(row, scale, size, top + each * number)
    return drawing(size.width, foot + 40, inside, cls="drawn-svg")


def _scale(rows: Sequence[Row], axis: Axis, size: Size) -> Scale:
    start, end = (8.0, size.width - 8) if size.narrow else (NAME_WIDTH, size.width * (1 - FIGURE_SHARE))
    held = [value for row in rows for value in (row.low, row.high, *(row.before or ()))]
    low, high = axis.ends or around(held, also=axis.also)
    if axis.mark is not None and axis.ends is None:
        low, high = min(low, axis.mark), max(high, axis.mark)
    return Scale(low=low, high=high, start=start, end=end)


def _edge(axis: Axis, scale: Scale, size: Size, top: float, foot: float) -> list[str]:
    inside = []
    figures = axis.figures or tuple(
        (value, axis.write(f"{value:.6g}")) for value in round_figures(scale.low, scale.high, 4 if size.narrow else 7)
    )
    for value, told in figures:
        x = scale.at(value)
        inside += [
            line(x, top, x, foot + 4, "drawn-grid"),
            words(told, x, foot + 18, "drawn-soft", size=size.small, anchor="middle"),
        ]
    inside.append(
        words(axis.words, (scale.start + scale.end) / 2, foot + 35, "drawn-soft", size=size.small, anchor="middle")
    )
    if axis.mark is not None:
        x = scale.at(axis.mark)
        inside.append(line(x, top, x, foot, "drawn-mark"))
        if axis.mark_words:
            half = width_of(axis.mark_words, size.small) / 2
            inside.append(
                words(
                    axis.mark_words,
                    min(max(x, half), size.width - half),
                    top - 8,
                    "drawn-soft",
                    size=size.small,
                    anchor="middle",
                )
            )
    return inside


def _row(row: Row, scale: Scale, size: Size, y: float) -> list[str]:
    if size.narrow:
        room, foot, middle = size.width - width_of(row.told, size.label) - 24, y + 16, y + 29
    else:
        room, foot, middle = NAME_WIDTH - 12, y + 20, y + 14
    return [
        words(shortened(row.name, size.label, room), 0, foot, _weight(row), size=size.label),
        words(row.told, size.width, foot, _weight(row), size=size.label, anchor="end"),
        *_bars(row, scale, middle),
    ]


def _weight(row: Row) -> str:
    return "drawn-strong" if row.stands_out else "drawn-soft" if row.faint else "drawn-ink"


def _bars(row: Row, scale: Scale, middle: float) -> list[str]:
    inside = []
    low, mid, high = scale.at(row.low), scale.at(row.mid), scale.at(row.high)
    inside.append(line(scale.start, middle, scale.end, middle, "drawn-rail"))
    if not row.faint:
        kind = "drawn-span out" if row.stands_out else "drawn-span"
        inside += [
            box(low, middle - 5, max(2.0, high - low), 10, kind),
            line(mid, middle - 8, mid, middle + 8, "drawn-tick"),
        ]
    if row.before is not None:
        low, mid, high = (scale.at(value) for value in row.before)
        under = middle if row.faint else middle + 9
        inside += [line(low, under, high, under, "drawn-before"), line(mid, under - 4, mid, under + 4, "drawn-before")]
    return inside
