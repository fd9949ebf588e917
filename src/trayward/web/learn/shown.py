"""A chart with the sentence above it and the table behind it: what every page of Learn is made of."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import msgspec

from trayward.web.drawing.look import Chart
from trayward.web.drawing.ranges import Axis, Row, ranges_chart
from trayward.web.drawing.scale import around, round_figures
from trayward.web.learn.words import Say

MOST_ROWS = 30
"""So many rows are drawn; the table has them all."""
FEW = 5
"""With fewer trays than this nothing is told apart."""
LEAST = (0.9, 1.1)
"""More or less than usual is drawn at least so wide: small differences are to look small. [-]"""


class Shown(msgspec.Struct, frozen=True, kw_only=True):
    """A chart with the sentence above it and the table behind it."""

    words: str
    chart: Chart | None
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    left_out: int = 0
    """How many rows of the table the chart leaves out."""


def shown(words: str, heads: Sequence[str], rows: Iterable[Sequence[str]], drawn: Sequence[Row], axis: Axis) -> Shown:
    """Rows of ranges, drawn and as a table."""
    told = tuple(tuple(row) for row in rows)
    chart = ranges_chart(drawn[:MOST_ROWS], axis) if drawn else None
    return Shown(words=words, chart=chart, heads=tuple(heads), rows=told, left_out=max(0, len(drawn) - MOST_ROWS))


def share_axis(words: str, say: Say) -> Axis:
    """Shares of a whole, from none to all."""
    marks = tuple((share, say.share(share)) for share in (0.0, 0.25, 0.5, 0.75, 1.0))
    return Axis(words=words, figures=marks, ends=(0.0, 1.0))


def factor_axis(rows: Sequence[Row], say: Say) -> Axis:
    """More or less than usual, with a line at the usual."""
    _ = say.words
    held = [value for row in rows for value in (row.low, row.high)]
    low, high = around([*held, *LEAST])
    marks = tuple(
        (1 + value / 100, say.more(1 + value / 100)) for value in round_figures(100 * (low - 1), 100 * (high - 1), 5)
    )
    return Axis(
        words=_("weight of a tray, against the usual"),
        mark=1.0,
        mark_words=_("as usual"),
        figures=marks,
        ends=(low, high),
        also=None,
    )
