"""Pack labels and shelf tags: what stands on one, fitted into its measures, and sheets and rolls full of them.

What a label of food has to say is said by local codes; this prints what the farm and its book know. Letters are made as
large as the label lets them be and no smaller than 5 pt, whose small letters are 0.96 mm high (EU 1169/2011, article
13, asks for 1.2 mm, and for 0.9 mm on packs with less than 80 cm2; from memory). What does not fit is refused, never
left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import lru_cache

import msgspec

from trayward.errors import InputError
from trayward.paper.fonts import MM_A_POINT, fitting, printable, shortened, wrapped
from trayward.paper.label_sheets import LabelSheet, places
from trayward.paper.page import Page, Size, pdf
from trayward.paper.symbols import Symbol, least_side, least_wide, put_bars, put_square
from trayward.paper.tongue import ENGLISH, Tongue
from trayward.units import show_number

SMALLEST, USUAL, LARGEST = 5.0, 8.0, 10.0
"""Size of what stands on a label. [pt]"""
EDGE = 1.6
"""Kept free round a label: printers do not meet it exactly. [mm]"""
CAPITAL = 0.729
"""How high a figure of the typeface is, of its size. [-]"""
DESCENT = 0.24
"""How far its letters reach below the line, of its size. [-]"""
GRAMS_AN_OUNCE = 28.349523125
NET_HEIGHTS = ((50.0, 2.0), (200.0, 3.0), (1000.0, 4.0), (float("inf"), 6.0))
"""Up to so much net weight [g] the figures are at least so high [mm]: Council Directive 76/211/EEC (from memory)."""
BARS_HIGH = 9.0
"""[mm]"""


class PackLabel(msgspec.Struct, frozen=True, kw_only=True):
    """What a pack's label says."""

    product: str
    net_g: float
    """[g] 0: not said, as on a live tray."""
    cut: tuple[date, ...] = ()
    """The days its parts were cut."""
    best_before: date | None = None
    basis: str = ""
    """What the best-before day rests on, in the label's language."""
    lot: str
    """Lot code with its check character."""
    storage: str = ""
    words: str = ""
    farm: str
    address: tuple[str, ...] = ()
    ounces: bool = False
    """Net weight in ounces too."""
    symbol: Symbol | None = None


class Tag(msgspec.Struct, frozen=True, kw_only=True):
    """A tag for a shelf or a spot: its name, large, and a code."""

    name: str
    about: str = ""
    """In the tag's language."""
    symbol: Symbol | None = None


class Line(msgspec.Struct, frozen=True):
    """A paragraph of a label: how large against the rest, and how high its figures are at least [mm]."""

    words: str
    bold: bool = False
    times: float = 1.0
    least_mm: float = 0.0


def net_words(grams: float, *, ounces: bool = False, tongue: Tongue = ENGLISH) -> str:
    """
    Net weight as it stands on a pack.

    Examples
    --------
    >>> net_words(50.0), net_words(56.7, ounces=True)
    ('50 g', 'Net Wt 2 oz (56.7 g)')
    """
    metric = tongue.number(f"{show_number(grams / 1000)} kg" if grams >= 1000 else f"{show_number(grams)} g")
    if not ounces:
        return metric
    weighs = tongue.number(show_number(round(grams / GRAMS_AN_OUNCE, 2)))
    return tongue._("Net Wt %(ounces)s oz (%(metric)s)", ounces=weighs, metric=metric)


def net_height(grams: float) -> float:
    """How high the figures of a net weight are at least. [mm]"""
    return next(high for up_to, high in NET_HEIGHTS if grams <= up_to)


def pack_lines(label: PackLabel, tongue: Tongue = ENGLISH) -> list[Line]:
    """What a pack label says, line by line."""
    days = tongue._(" and ").join(tongue.day_in_full(day) for day in label.cut)
    cut = tongue._("Cut %(days)s", days=days) if days else ""
    best = tongue._("Best before %(day)s", day=tongue.day_in_full(label.best_before)) if label.best_before else ""
    least = net_height(label.net_g) if label.net_g else 0.0
    net = net_words(label.net_g, ounces=label.ounces, tongue=tongue) if label.net_g else ""
    lines = [
        Line(label.product, bold=True, times=1.35),
        Line(net, bold=True, times=1.1, least_mm=least),
        Line(best, bold=True),
        Line("; ".join(part for part in (cut, label.basis) if part)),
        Line(tongue._("Lot %(code)s", code=label.lot), bold=True),
        Line(" ".join(part for part in (label.storage, label.words) if part)),
        Line(", ".join(printable(part) for part in (label.farm, *label.address) if part.strip())),
    ]
    return [line for line in lines if line.words]


# Fitting --------------------------------------------------------------------------------------------------------------


class Set(msgspec.Struct, frozen=True):
    """A line in the size it is printed in."""

    words: str
    size: float
    bold: bool


def _set(lines: Sequence[Line], room: float, size: float) -> list[Set]:
    found = []
    for line in lines:
        own = max(size * line.times, line.least_mm / CAPITAL / MM_A_POINT)
        found += [Set(words, own, line.bold) for words in wrapped(line.words, room, own, bold=line.bold)]
    return found


def _high(lines: Sequence[Set]) -> float:
    return sum(line.size for line in lines) * 1.18 * MM_A_POINT


@lru_cache(maxsize=64)
def fitted(lines: tuple[Line, ...], room: Size) -> tuple[Set, ...]:
    """
    Lines in the largest size in which all of them fit.

    Raises
    ------
    InputError
        If they do not even fit in the smallest one.
    """
    size = LARGEST
    while size >= SMALLEST:
        made = _set(lines, room.wide, size)
        if _high(made) <= room.high:
            return tuple(made)
        size -= 0.25
    needed = _high(_set(lines, room.wide, SMALLEST))
    rule = f"all it has to say takes {needed:.0f} mm of height beside the code, there are {room.high:.0f} mm"
    raise InputError("label", lines[0].words, rule, "Take a larger label, or shorten the wording and address.")


# Drawing --------------------------------------------------------------------------------------------------------------


def _put_lines(page: Page, lines: Sequence[Set], x: float, y: float, room: float) -> None:
    for line in lines:
        y += line.size * 1.18 * MM_A_POINT
        page.text(line.words, x, y - 0.25 * line.size * MM_A_POINT, size=line.size, bold=line.bold, room=room)


def _side(symbol: Symbol, room: Size) -> float:
    """How large a square code is printed. Raises `InputError` where it would be too small to be read."""
    least = least_side(symbol)
    side = max(least, min(room.high, room.wide * 0.34, 24.0))
    if side > min(room.high, room.wide * 0.6):
        rule = f"its code takes {least:.0f} mm, the label has room for {min(room.high, room.wide * 0.6):.0f} mm"
        raise InputError("label", symbol.text[:40], rule, "Take a larger label, or a code that holds less.")
    return side


def put_pack_label(page: Page, label: PackLabel, x: float, y: float, size: Size, tongue: Tongue = ENGLISH) -> None:
    """Draw a pack label with its upper left corner at a place. [mm]"""
    left, top = x + EDGE, y + EDGE
    room = Size(size.wide - 2 * EDGE, size.high - 2 * EDGE)
    symbol = label.symbol
    if symbol is not None and symbol.kind == "bars":
        room = _bars_below(page, symbol, left, top, room)
    elif symbol is not None:
        side = _side(symbol, room)
        put_square(page, symbol, left + room.wide - side, top, side)
        room = Size(room.wide - side - 0.8, room.high)
    _put_lines(page, fitted(tuple(pack_lines(label, tongue)), room), left, top, room.wide)


def _bars_below(page: Page, symbol: Symbol, left: float, top: float, room: Size) -> Size:
    """Bars along the lower edge with what they say beneath; what is left of the room above."""
    least = least_wide(symbol)
    if least > room.wide:
        rule = f"its bars take {least:.0f} mm, the label has {room.wide:.0f} mm"
        raise InputError("label", symbol.below, rule, "Take a wider label, or a Data Matrix or QR code.")
    size = fitting(symbol.below, room.wide, 7.0, 4.0)
    foot = size * 1.25 * MM_A_POINT
    put_bars(page, symbol, left, top + room.high - foot - BARS_HIGH, room.wide, BARS_HIGH)
    words = shortened(symbol.below, room.wide, size)
    middle = left + room.wide / 2
    page.text(words, middle, top + room.high - 0.3, size=size, align="centre", room=room.wide)
    return Size(room.wide, room.high - foot - BARS_HIGH - 0.8)


def put_tag(page: Page, tag: Tag, x: float, y: float, size: Size) -> None:
    """Draw a shelf tag with its upper left corner at a place. [mm]"""
    left, top = x + EDGE, y + EDGE
    room = Size(size.wide - 2 * EDGE, size.high - 2 * EDGE)
    if tag.symbol is not None:
        side = _side(tag.symbol, room)
        put_square(page, tag.symbol, left + room.wide - side, top, side)
        room = Size(room.wide - side - 0.8, room.high)
    about = wrapped(tag.about, room.wide, USUAL, most=2)
    below = len(about) * USUAL * 1.25 * MM_A_POINT
    tallest = (room.high - below - 1.5) / (CAPITAL + DESCENT) / MM_A_POINT
    name = fitting(tag.name, room.wide, min(72.0, tallest), SMALLEST, bold=True)
    words = shortened(tag.name, room.wide, name, bold=True)
    y = top + CAPITAL * name * MM_A_POINT + 1.0
    page.text(words, left, y, size=name, bold=True, room=room.wide)
    y += DESCENT * name * MM_A_POINT
    for line in about:
        y += USUAL * 1.25 * MM_A_POINT
        page.text(line, left, y, size=USUAL, room=room.wide)


def label_pages(
    labels: Sequence[PackLabel | Tag],
    sheet: LabelSheet,
    *,
    start: int = 1,
    move: tuple[float, float] = (0.0, 0.0),
    outlines: bool = False,
    tongue: Tongue = ENGLISH,
) -> list[Page]:
    """
    Labels on sheets or a roll.

    Parameters
    ----------
    labels : sequence
        In the order they are printed.
    start : int
        The first free place on the first sheet, from 1.
    move : (float, float)
        To the right and down. [mm]
    outlines : bool
        With thin lines round each label, to try on plain paper whether they lie where the labels do.
    """
    pages: list[Page] = []
    for label, (number, x, y) in zip(labels, places(sheet, len(labels), start=start, move=move), strict=True):
        while len(pages) <= number:
            pages.append(Page(size=sheet.page, marks=[]))
        page = pages[number]
        if outlines:
            page.box(x, y, sheet.label.wide, sheet.label.high, weight=0.3)
        if isinstance(label, Tag):
            put_tag(page, label, x, y, sheet.label)
        else:
            put_pack_label(page, label, x, y, sheet.label, tongue)
    return pages


def labels_pdf(labels: Sequence[PackLabel | Tag], sheet: LabelSheet, title: str, **how: object) -> bytes:
    """Labels as a PDF; `how` as `label_pages` takes it."""
    return pdf(label_pages(labels, sheet, **how), title=f"{title}, {sheet.name}")  # type: ignore[arg-type]
