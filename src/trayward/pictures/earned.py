"""What was sold and what it cost side by side, crop by crop or week by week, with what is left."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from trayward.pictures import bars
from trayward.pictures.look import INK, PLAIN, Size, Wide, tint
from trayward.pictures.page import POINTS, Panel, Picture, drawn, in_house_style, size_of, widest
from trayward.pictures.types import EarnedBar, EarnedFigures
from trayward.units import show_money

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW = {"desk": 0.5, "phone": 0.72}
MOST = 24
"""Rows drawn; what is beyond them is summed up in one."""
NOTE = "Plain bar: sold. Hatched bar: costs. Figure: left, sold less costs."


def left_words(bar: EarnedBar, currency: str) -> str:
    """`+103.32 EUR`."""
    shown = show_money(bar.left, currency)
    return shown if bar.left < 0 else f"+{shown}"


@in_house_style
def earned_picture(figures: EarnedFigures, title: str, *, wide: Wide = "desk") -> Picture:
    """
    Sales and costs of each row from zero, in the order given.

    Parameters
    ----------
    figures : EarnedFigures
        The rows.
    title : str
        What it shows, in one sentence.
    """
    return _stacked([("", figures)], title, wide)


@in_house_style
def earned_report_picture(
    times: EarnedFigures, crops: EarnedFigures, title: str, *, times_are: str = "Week by week", wide: Wide = "desk"
) -> Picture:
    """
    A month or a year: how it went through time, and beneath it what it came from.

    Parameters
    ----------
    times, crops : EarnedFigures
        The rows.
    title : str
        What it shows, in one sentence.
    times_are : str
        What the first panel is headed with.
    """
    return _stacked([(times_are, times), ("Crop by crop", crops)], title, wide)


def _stacked(parts: Sequence[tuple[str, EarnedFigures]], title: str, wide: Wide) -> Picture:
    """A panel for each part, one beneath the other, headed where it has a heading; their bars begin at one place."""
    size = size_of(wide)
    shown = [(head, _drawn_rows(each.bars), each.currency) for head, each in parts]
    said = [[left_words(bar, currency) for bar in rows] for _, rows, currency in shown]
    left = 0.1 if size.narrow else max(widest([bar.name for bar in rows], size.label) for _, rows, _ in shown) + 0.2
    right = 0.25 if size.narrow else max(widest(told, size.label) for told in said) + 0.25
    panels = [
        Panel(
            height=max(1, len(rows)) * ROW[wide], left=left, right=right, above=0.05, below=0.4 if head else 0.3,
            heading=head,
        )
        for head, rows, _ in shown
    ]  # fmt: skip
    words = [_words(bar, currency) for _, rows, currency in shown for bar in rows]
    picture, axes = drawn(title, size, [[panel] for panel in panels], words, note=NOTE)
    for each, (_, rows, _), told in zip(axes, shown, said, strict=True):
        _draw(each, rows, told, left, size)
    return picture


def _words(bar: EarnedBar, currency: str) -> str:
    sold, costs = show_money(bar.sales, currency), show_money(bar.costs, currency)
    return f"{bar.name}: sold {sold}, costs {costs}, left {left_words(bar, currency)}"


def _drawn_rows(given: Sequence[EarnedBar]) -> list[EarnedBar]:
    if len(given) <= MOST:
        return list(given)
    rest = given[MOST - 1 :]
    summed = EarnedBar(
        name=f"{len(rest)} more", sales=sum(bar.sales for bar in rest), costs=sum(bar.costs for bar in rest),
        left=sum(bar.left for bar in rest),
    )  # fmt: skip
    return [*given[: MOST - 1], summed]


def _draw(axes: Axes, rows: Sequence[EarnedBar], said: Sequence[str], left: float, size: Size) -> None:
    bars.rows_from_top(axes, max(1, len(rows)))
    most = max((max(bar.sales, bar.costs) for bar in rows), default=0.0) or 1.0
    axes.set_xlim(min((min(bar.sales, bar.costs, 0.0) for bar in rows), default=0.0), most * 1.04)
    step = bars.round_step(most / (3 if size.narrow else 5))
    ticks = [number * step for number in range(int(most / step) + 1)]
    axes.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
    tall = 0.2 if size.narrow else 0.32
    for number, (bar, told) in enumerate(zip(rows, said, strict=True)):
        y = number + (0.2 if size.narrow else 0.0)
        axes.barh(y - tall / 2, bar.sales, height=tall, color=PLAIN, edgecolor=PLAIN, linewidth=1.0, zorder=2)
        axes.barh(
            y + tall / 2, bar.costs, height=tall, color=tint(PLAIN, 0.2), edgecolor=INK, linewidth=0.8, hatch="////",
            zorder=2,
        )  # fmt: skip
        if size.narrow:
            bars.beside(axes, number - 0.3, f"{bar.name}  {told}", 0, size)
        else:
            bars.beside(axes, number, bar.name, -left * POINTS + 4, size)
            bars.at_right(axes, number, told, 10, size)
