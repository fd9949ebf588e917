"""A page as a list of what is on it, in millimetres from its upper left corner; and pages as a PDF.

What is drawn is plain data until the very end, so that tests can ask whether it fits.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from io import BytesIO
from typing import TYPE_CHECKING, Literal

import msgspec

from trayward.paper.fonts import BOLD, MM_A_POINT, PLAIN, printable, ready_fonts, width

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

SizeName = Literal["A4", "Letter"]


class Size(msgspec.Struct, frozen=True):
    """A page's or a label's measures. [mm]"""

    wide: float
    high: float


A4 = Size(210.0, 297.0)
LETTER = Size(215.9, 279.4)
SIZES: dict[SizeName, Size] = {"A4": A4, "Letter": LETTER}


class Text(msgspec.Struct, frozen=True, kw_only=True):
    """One line of words; `y` is where it stands, `room` how wide it may be. [mm]"""

    x: float
    y: float
    words: str
    size: float = 11.0
    """[pt]"""
    bold: bool = False
    align: Literal["left", "right", "centre"] = "left"
    room: float = 0.0
    """0: as wide as the page."""

    @property
    def wide(self) -> float:
        """How wide it is. [mm]"""
        return width(self.words, self.size, bold=self.bold)

    @property
    def left(self) -> float:
        """Where its first letter begins. [mm]"""
        return self.x - {"left": 0.0, "right": 1.0, "centre": 0.5}[self.align] * self.wide


class Rule(msgspec.Struct, frozen=True, kw_only=True):
    """A line. Ends in mm, weight in points."""

    x: float
    y: float
    to_x: float
    to_y: float
    weight: float = 0.5


class Box(msgspec.Struct, frozen=True, kw_only=True):
    """An outlined rectangle, or a filled one. [mm]"""

    x: float
    y: float
    wide: float
    high: float
    weight: float = 0.8
    filled: bool = False


Mark = Text | Rule | Box


class Page(msgspec.Struct, kw_only=True):
    """What is on one page."""

    size: Size
    marks: list[Mark] = []

    def text(self, words: str, x: float, y: float, **how: object) -> None:
        """Put down a line of words."""
        self.marks.append(Text(words=printable(words), x=x, y=y, **how))  # type: ignore[arg-type]

    def rule(self, x: float, y: float, to_x: float, to_y: float, weight: float = 0.5) -> None:
        """Draw a line."""
        self.marks.append(Rule(x=x, y=y, to_x=to_x, to_y=to_y, weight=weight))

    def box(self, x: float, y: float, wide: float, high: float, *, weight: float = 0.8, filled: bool = False) -> None:
        """Draw a rectangle."""
        self.marks.append(Box(x=x, y=y, wide=wide, high=high, weight=weight, filled=filled))


def pdf(pages: Sequence[Page], *, title: str, by: str = "") -> bytes:
    """Pages as a PDF: everything in black, letters embedded, the same bytes every time."""
    from reportlab.pdfgen.canvas import Canvas

    ready_fonts()
    held = BytesIO()
    canvas = Canvas(held, invariant=1, pageCompression=1)
    canvas.setTitle(printable(title))
    canvas.setAuthor(printable(by))
    canvas.setCreator("Trayward")
    for page in pages:
        canvas.setPageSize((page.size.wide / MM_A_POINT, page.size.high / MM_A_POINT))
        _draw(canvas, page.size.high, page.marks)
        canvas.showPage()
    canvas.save()
    return held.getvalue()


def _draw(canvas: Canvas, high: float, marks: Iterable[Mark]) -> None:
    def across(mm: float) -> float:
        return mm / MM_A_POINT

    def up(mm: float) -> float:
        return (high - mm) / MM_A_POINT

    for mark in marks:
        if isinstance(mark, Text):
            canvas.setFont(BOLD if mark.bold else PLAIN, mark.size)
            canvas.drawString(across(mark.left), up(mark.y), mark.words)
        elif isinstance(mark, Rule):
            canvas.setLineWidth(mark.weight)
            canvas.line(across(mark.x), up(mark.y), across(mark.to_x), up(mark.to_y))
        else:
            canvas.setLineWidth(mark.weight)
            # A filled one has no outline: bars and squares of a code keep their measure.
            canvas.rect(
                across(mark.x), up(mark.y + mark.high), across(mark.wide), across(mark.high),
                stroke=int(not mark.filled), fill=int(mark.filled),
            )  # fmt: skip
