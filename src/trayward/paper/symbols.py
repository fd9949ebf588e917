"""Codes as squares and bars on a page: QR, Data Matrix and Code 128, with the light edge each of them needs."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Final, Literal

import msgspec

from trayward.errors import InputError
from trayward.paper.ecc200 import data_matrix
from trayward.paper.page import Page

Kind = Literal["qr", "matrix", "bars"]

QUIET: Final[dict[str, int]] = {"qr": 4, "matrix": 1, "bars": 10}
"""Light edge, in squares or narrow bars: ISO/IEC 18004, 16022 and 15417 (from memory)."""
LEAST_MM: Final[dict[str, float]] = {"qr": 0.33, "matrix": 0.38, "bars": 0.25}
"""The smallest square or narrow bar that is printed; a phone's camera reads them (our choice; a GS1-128 bar may be no
narrower than 0.25 mm, GS1 General Specifications, from memory). [mm]"""
FNC1: Final = "\xf1"
"""How the maker of bars is told of the sign that a GS1-128 begins with."""


class Symbol(msgspec.Struct, frozen=True, kw_only=True):
    """A code to print."""

    kind: Kind
    text: str
    """What it holds. GS1: fields without brackets, GS (hex 1D) between them."""
    gs1: bool = False
    below: str = ""
    """The same for people, printed under bars."""


@lru_cache(maxsize=64)
def squares(symbol: Symbol) -> list[list[bool]]:
    """A QR code or Data Matrix as rows of dark and light squares, without its light edge."""
    if symbol.kind == "matrix":
        return data_matrix(symbol.text, gs1=symbol.gs1)
    import segno

    made = segno.make_qr(symbol.text, error="m", boost_error=True)
    return [[bool(each) for each in row] for row in made.matrix]


def bar_widths(symbol: Symbol) -> list[int]:
    """Bars and gaps of a Code 128 in turn, a bar first, in narrow bars."""
    from reportlab.graphics.barcode.code128 import Code128

    text = symbol.text.replace("\x1d", FNC1)
    made = Code128(f"{FNC1}{text}" if symbol.gs1 else text, quiet=0)
    if any(letter != FNC1 and not letter.isascii() for letter in text):
        raise InputError("code", symbol.text, "bars hold plain letters and figures alone", "Take a QR code for it.")
    made.validate()
    made.encode()
    made.decompose()
    return ["abcd".index(letter.lower()) + 1 for letter in made.decomposed]


def least_side(symbol: Symbol) -> float:
    """How wide a QR code or Data Matrix has to be at least, with its light edge. [mm]"""
    return (len(squares(symbol)) + 2 * QUIET[symbol.kind]) * LEAST_MM[symbol.kind]


def least_wide(symbol: Symbol) -> float:
    """How wide bars have to be at least, with the light edge. [mm]"""
    return (sum(bar_widths(symbol)) + 2 * QUIET["bars"]) * LEAST_MM["bars"]


def put_square(page: Page, symbol: Symbol, x: float, y: float, side: float) -> None:
    """Draw a QR code or Data Matrix into a square, light edge included. [mm]"""
    rows = squares(symbol)
    each = side / (len(rows) + 2 * QUIET[symbol.kind])
    edge = QUIET[symbol.kind] * each
    for down, row in enumerate(rows):
        for first, length in _runs(row):
            page.box(x + edge + first * each, y + edge + down * each, length * each, each, filled=True)


def _runs(row: Sequence[bool]) -> list[tuple[int, int]]:
    """Where dark squares lie side by side, drawn as one so that no light line shows between them."""
    found: list[tuple[int, int]] = []
    for place, dark in enumerate(row):
        if dark and found and sum(found[-1]) == place:
            found[-1] = (found[-1][0], found[-1][1] + 1)
        elif dark:
            found.append((place, 1))
    return found


def put_bars(page: Page, symbol: Symbol, x: float, y: float, wide: float, high: float) -> None:
    """Draw bars into a rectangle, light edge included; as wide as they have to be, twice that at most. [mm]"""
    widths = bar_widths(symbol)
    whole = sum(widths) + 2 * QUIET["bars"]
    each = min(wide / whole, 2 * LEAST_MM["bars"])
    at = x + (wide - whole * each) / 2 + QUIET["bars"] * each
    for place, width in enumerate(widths):
        if place % 2 == 0:
            page.box(at, y, width * each, high, filled=True)
        at += width * each
