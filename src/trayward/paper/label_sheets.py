"""Sheets of labels and rolls by their measures, and where on them each label lies."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

import msgspec

from trayward.errors import InputError
from trayward.paper.page import A4, LETTER, Size

NARROWEST, WIDEST = 20.0, 300.0
"""A label's side. [mm]"""
FARTHEST = 20.0
"""How far labels may be moved to fit a printer. [mm]"""


class LabelSheet(msgspec.Struct, frozen=True, kw_only=True):
    """
    A sheet of labels, or a roll: one label a page. All measures in mm.

    Margins are what is left when the labels lie in the middle of the sheet.
    """

    name: str
    page: Size
    label: Size
    across: int = 1
    down: int = 1
    gap_x: float = 0.0
    gap_y: float = 0.0

    @property
    def count(self) -> int:
        """Labels on a sheet."""
        return self.across * self.down

    @property
    def is_roll(self) -> bool:
        """Whether each label is a page."""
        return self.page == self.label

    def place(self, number: int) -> tuple[float, float]:
        """Upper left corner of a label, counted from 0, row by row. [mm]"""
        row, column = divmod(number, self.across)
        wide = self.across * self.label.wide + (self.across - 1) * self.gap_x
        high = self.down * self.label.high + (self.down - 1) * self.gap_y
        x = (self.page.wide - wide) / 2 + column * (self.label.wide + self.gap_x)
        y = (self.page.high - high) / 2 + row * (self.label.high + self.gap_y)
        return x, y


def _sheet(
    page: Size, across: int, down: int, wide: float, high: float, gap: float = 0.0, inches: str = ""
) -> LabelSheet:
    paper = "A4" if page == A4 else "Letter"
    name = f"{across} x {down} of {wide:g} x {high:g} mm{f' ({inches})' if inches else ''} on {paper}"
    return LabelSheet(name=name, page=page, label=Size(wide, high), across=across, down=down, gap_x=gap)


SHEETS: Final[tuple[LabelSheet, ...]] = (
    _sheet(A4, 3, 8, 63.5, 33.9, 2.5),
    _sheet(A4, 3, 7, 63.5, 38.1, 2.5),
    _sheet(A4, 2, 7, 99.1, 38.1, 2.5),
    _sheet(A4, 2, 4, 99.1, 67.7, 2.5),
    _sheet(A4, 4, 10, 48.5, 25.4),
    _sheet(A4, 2, 2, 105.0, 148.5),
    _sheet(LETTER, 3, 10, 66.7, 25.4, 3.2, "2 5/8 x 1 in"),
    _sheet(LETTER, 2, 10, 101.6, 25.4, 4.8, "4 x 1 in"),
    _sheet(LETTER, 2, 5, 101.6, 50.8, 4.8, "4 x 2 in"),
    _sheet(LETTER, 2, 3, 101.6, 84.7, 4.8, "4 x 3 1/3 in"),
)
"""Measures that labels are cut to in many countries (common practice, no source)."""

ROLLS: Final = ("57 x 32", "62 x 29", "50 x 25", "76 x 51", "100 x 50", "102 x 152")
"""Labels of roll printers, wide and high [mm] (common practice, no source); any other measure can be said."""

_MEASURE = re.compile(r"(\d+(?:[.,]\d+)?)\s*[x×*]\s*(\d+(?:[.,]\d+)?)")


def sheet_names() -> tuple[str, ...]:
    """All there are, sheets first."""
    return (*(sheet.name for sheet in SHEETS), *(f"roll {measure} mm" for measure in ROLLS))


def label_sheet(words: str) -> LabelSheet:
    """
    The sheet or roll somebody means: its name, its labels' measures, or `roll 57 x 32` of any measure.

    Raises
    ------
    InputError
        If there is no such sheet, or a roll's label could not be printed.

    Examples
    --------
    >>> label_sheet("63.5x33.9").name
    '3 x 8 of 63.5 x 33.9 mm on A4'
    >>> label_sheet("4 x 1 in").name
    '2 x 10 of 101.6 x 25.4 mm (4 x 1 in) on Letter'
    >>> label_sheet("roll 57x32").name
    'roll 57 x 32 mm'
    """
    said = words.strip()
    for sheet in SHEETS:
        if said == sheet.name or _inches(said) in (_inches(found) for found in _IN_INCHES.findall(sheet.name)):
            return sheet
    found = _MEASURE.search(said)
    if found is None:
        raise InputError("labels", words, "there are no such labels", _known())
    wide, high = (float(part.replace(",", ".")) for part in found.groups())
    if said.lower().startswith("roll"):
        return _roll(wide, high)
    for sheet in SHEETS:
        if abs(sheet.label.wide - wide) < 0.06 and abs(sheet.label.high - high) < 0.06:
            return sheet
    raise InputError("labels", words, "there is no sheet with labels of these measures", _known())


_IN_INCHES = re.compile(r"\(([^)]* in)\)")
"""How a sheet's name says its labels' measures where they are round in inches."""


def _inches(words: str) -> str:
    return "".join(words.lower().split())


def _roll(wide: float, high: float) -> LabelSheet:
    if not (NARROWEST <= wide <= WIDEST and NARROWEST <= high <= WIDEST):
        rule = f"a label's sides must lie in [{NARROWEST:g}, {WIDEST:g}] mm"
        raise InputError("labels", f"{wide:g} x {high:g}", rule, "Measure one, without the backing.", "mm")
    size = Size(wide, high)
    return LabelSheet(name=f"roll {wide:g} x {high:g} mm", page=size, label=size)


def _known() -> str:
    return f"Say one of: {'; '.join(sheet_names())}; or roll WIDTH x HEIGHT in mm."


def places(
    sheet: LabelSheet, count: int, *, start: int = 1, move: tuple[float, float] = (0.0, 0.0)
) -> Iterator[tuple[int, float, float]]:
    """
    Page (from 0) and upper left corner [mm] of each of so many labels.

    Parameters
    ----------
    start : int
        The first place that is free on the first sheet, counted row by row from 1.
    move : (float, float)
        How far all labels are moved to the right and down, where a printer does not meet them. [mm]

    Raises
    ------
    InputError
        If there is no such place on the sheet, or labels would be moved off it.
    """
    if not 1 <= start <= sheet.count:
        raise InputError(
            "start", start, f"a sheet has places 1 to {sheet.count}", "Count row by row from the top left."
        )
    for name, far in zip(("right", "down"), move, strict=True):
        if not abs(far) <= FARTHEST:
            raise InputError(name, far, f"must lie in [-{FARTHEST:g}, {FARTHEST:g}]", "Print a page and measure.", "mm")
    for number in range(start - 1, start - 1 + count):
        x, y = sheet.place(number % sheet.count)
        yield number // sheet.count, x + move[0], y + move[1]
