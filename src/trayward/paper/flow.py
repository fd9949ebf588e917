"""A sheet that grows downwards over as many pages as it takes: heading, tables, boxes to tick, page x of y."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Literal

import msgspec

from trayward.paper.fonts import HAIR, MM_A_POINT, printable, shortened, width, wrapped
from trayward.paper.page import Page, Size, pdf
from trayward.paper.tongue import ENGLISH, Tongue

BODY = 11.0
"""Of all that is read on a sheet. [pt]"""
LARGE = 16.0
LEADING = 1.28
MARGIN = 12.0
"""Printers leave about so much of an edge white (common practice, no source). [mm]"""
TICK_GAP = 1.0
"""Between the words under two boxes at least. [mm]"""
TICK_ROOM = 6.0
"""Beside the word under a box, where there is room. [mm]"""
TICK = 6.0
"""A box to tick with a pencil. [mm]"""
PAD = 1.4
FOOT = 9.0
MOST_UNBROKEN = 4
"""A paragraph of so many lines is not torn apart by the end of a page."""


def line_high(size: float = BODY) -> float:
    """From one line to the next. [mm]"""
    return size * LEADING * MM_A_POINT


SECTION_HIGH = line_high(13) + 2.5
SECTION_GAP = 0.6
"""Between the heading of some rows, or what is said about them, and their rule. [mm]"""


class Heading(msgspec.Struct, frozen=True, kw_only=True):
    """What every page of a sheet says."""

    farm: str
    title: str
    about: str = ""
    """The round, the day or the customer it is for."""
    printed: datetime
    """On the farm's clock."""
    note: str = ""
    """At the foot of every page: how to enter it."""
    unasked: bool = False
    """True: no line that says when it was printed, on papers for others."""


class Words(msgspec.Struct, frozen=True, kw_only=True):
    """Some words in a cell, on a line of their own."""

    words: str
    bold: bool = False
    size: float = BODY


class Tick(msgspec.Struct, frozen=True):
    """A box to tick, with its word of ours beneath."""

    word: str = ""


class Ticks(msgspec.Struct, frozen=True):
    """Boxes to tick, side by side."""

    words: tuple[str, ...]


class Blank(msgspec.Struct, frozen=True):
    """A line to write on for each label, a word of ours or a tray's name, with the unit at its end."""

    labels: tuple[str, ...] = ("",)
    unit: str = ""


Cell = str | Words | Tick | Ticks | Blank | tuple["str | Words | Blank", ...]


class Column(msgspec.Struct, frozen=True, kw_only=True):
    """A column of a table; one without a width takes what is left. Its title is a word of ours."""

    title: str = ""
    wide: float = 0.0
    """[mm]"""
    align: Literal["left", "right", "centre"] = "left"


class Flow:
    """Pages being filled from top to bottom."""

    def __init__(self, size: Size, heading: Heading, tongue: Tongue = ENGLISH) -> None:
        self.size, self.heading, self.tongue = size, heading, tongue
        self.left, self.right = MARGIN, size.wide - MARGIN
        self.wide = self.right - self.left
        self.pages: list[Page] = []
        self.y = 0.0
        self._columns: tuple[Column, ...] = ()
        self._section, self._about = "", ""
        self._waits = False
        self.new_page()

    @property
    def page(self) -> Page:
        """The page being filled."""
        return self.pages[-1]

    @property
    def bottom(self) -> float:
        """How far down a page is filled. [mm]"""
        return self.size.high - MARGIN - FOOT - (line_high() if self.heading.note else 0.0)

    def new_page(self) -> None:
        """Begin another page, with its heading and that of a table that goes on."""
        self.pages.append(Page(size=self.size, marks=[]))
        self._head()
        if self._columns:
            self._titles()
        if self._section and not self._waits:
            self._section_line(self.tongue._("%(heading)s, continued", heading=self._section))
            self._section_rule()

    def need(self, high: float) -> None:
        """Begin another page if so much does not fit here. [mm]"""
        if self.y + high > self.bottom:
            self.new_page()

    def _head(self) -> None:
        head, top = self.heading, MARGIN
        page = self.page
        page.text(shortened(head.farm, self.wide * 0.5, BODY, bold=True), self.left, top + 4, bold=True)
        if not head.unasked:
            printed = self.tongue._("printed %(when)s", when=self.tongue.moment(head.printed))
            page.text(printed, self.right, top + 4, align="right")
        top += 4 + line_high(LARGE) + 0.5
        for line in wrapped(head.title, self.wide, LARGE, bold=True, most=2):
            page.text(line, self.left, top, size=LARGE, bold=True, room=self.wide)
            top += line_high(LARGE)
        for line in wrapped(head.about, self.wide, BODY, most=2):
            page.text(line, self.left, top - 0.8, room=self.wide)
            top += line_high()
        page.rule(self.left, top - 2.5, self.right, top - 2.5, 1.2)
        self.y = top

    # Running text ----------------------------------------------------------------------------------------------------

    def gap(self, high: float = 3.0) -> None:
        """Leave some room. [mm]"""
        self.y += high

    def words(self, words: str, *, bold: bool = False, size: float = BODY) -> None:
        """A paragraph."""
        lines = wrapped(words, self.wide, size, bold=bold)
        if len(lines) <= MOST_UNBROKEN:
            self.need(len(lines) * line_high(size))
        for line in lines:
            self.need(line_high(size))
            self.y += line_high(size)
            self.page.text(line, self.left, self.y - 1.2, bold=bold, size=size, room=self.wide)

    def heading_line(self, words: str, *, keep: float = 20.0) -> None:
        """A heading within the sheet, on the same page as what follows it. [mm]"""
        self.need(SECTION_HIGH + keep)
        self._section_line(words)

    def _section_line(self, words: str) -> None:
        self.y += SECTION_HIGH
        line = shortened(words, self.wide, 13, bold=True)
        self.page.text(line, self.left, self.y - 1.4, bold=True, size=13, room=self.wide)

    # Tables ----------------------------------------------------------------------------------------------------------

    def table(self, columns: Sequence[Column]) -> None:
        """Begin a table; its rows follow."""
        wide = [max(column.wide, self._title_needs(column)) if column.wide else 0.0 for column in columns]
        each = (self.wide - sum(wide)) / max(wide.count(0.0), 1)
        # A table without a free column keeps its measures, and its titles are broken where they must.
        own = [column.wide for column in columns] if each < 0 or 0.0 not in wide else [one or each for one in wide]
        self._columns = tuple(
            msgspec.structs.replace(column, wide=one) for column, one in zip(columns, own, strict=True)
        )
        self.need(line_high() * 2 + 14.0)
        self._titles()

    def _title_needs(self, column: Column) -> float:
        """How wide a column is at least, so that no word of its title is broken, whatever the language. [mm]"""
        words = printable(self.tongue._(column.title)).split()
        return max((width(word, BODY, bold=True) for word in words), default=0.0) + 2 * PAD + HAIR

    @property
    def columns(self) -> tuple[Column, ...]:
        """Columns of the table that is on, as wide as they have become."""
        return self._columns

    def end_table(self) -> None:
        """The table ends; what follows has no columns."""
        self._columns = ()
        self._section, self._waits = "", False

    def section(self, words: str, about: str = "") -> None:
        """The table's next rows belong together: this stands above the first of them, and wherever they go on."""
        self._section, self._about, self._waits = words, about, True

    def _begin_section(self, row: float) -> None:
        """Put the heading on the page where its first row fits. [mm]"""
        lines = len(wrapped(self._about, self.wide, BODY))
        self.need(SECTION_HIGH + lines * line_high() + SECTION_GAP + row)
        self._section_line(self._section)
        self._waits = False
        self.words(self._about)
        self._section_rule()

    def _section_rule(self) -> None:
        self.gap(SECTION_GAP)
        self.page.rule(self.left, self.y, self.right, self.y)

    def _titles(self) -> None:
        if not any(column.title for column in self._columns):
            return
        x = self.left
        titles = (self.tongue._(column.title) for column in self._columns)
        lines = [
            wrapped(title, column.wide - 2 * PAD, BODY, bold=True)
            for title, column in zip(titles, self._columns, strict=True)
        ]
        high = max(len(own) for own in lines) * line_high() + PAD
        for column, own in zip(self._columns, lines, strict=True):
            for number, line in enumerate(own, start=1):
                at = self._at(x, column)
                self.page.text(
                    line, at, self.y + number * line_high() - 1.0, bold=True, align=column.align,
                    room=column.wide - 2 * PAD,
                )  # fmt: skip
            x += column.wide
        self.y += high
        self.page.rule(self.left, self.y, self.right, self.y, 1.0)

    @staticmethod
    def _at(x: float, column: Column) -> float:
        return {"left": x + PAD, "right": x + column.wide - PAD, "centre": x + column.wide / 2}[column.align]

    def row(self, *cells: Cell, keep: float = 0.0, ruled: bool = True, columns: Sequence[Column] | None = None) -> None:
        """A row of the table; `keep` [mm] is what has to follow it on its page, `columns` this row's own measures."""
        own = tuple(columns or self._columns)
        high = max(self._high(cell, column) for cell, column in zip(cells, own, strict=True)) + 2 * PAD
        if self._waits:
            self._begin_section(high + keep)
        self.need(high + keep)
        x = self.left
        for cell, column in zip(cells, own, strict=True):
            self._put(cell, x, column)
            x += column.wide
        self.y += high
        if ruled:
            self.page.rule(self.left, self.y, self.right, self.y)

    def _lines(self, cell: str | Words, column: Column) -> list[Words]:
        words = cell if isinstance(cell, Words) else Words(words=cell)
        # A cell never grows taller than a page could hold.
        most = int((self.bottom - MARGIN - 45.0) / line_high(words.size))
        own = wrapped(words.words, column.wide - 2 * PAD, words.size, bold=words.bold, most=most)
        return [msgspec.structs.replace(words, words=line) for line in own]

    def _high(self, cell: Cell, column: Column) -> float:
        if isinstance(cell, Tick | Ticks):
            return TICK + (line_high() if cell != Tick() else 0.0)
        if isinstance(cell, Blank):
            return len(cell.labels) * BLANK_HIGH
        if isinstance(cell, tuple):
            return sum(self._high(part, column) for part in cell)
        return sum(line_high(line.size) for line in self._lines(cell, column))

    def _put(self, cell: Cell, x: float, column: Column) -> None:
        y = self.y + PAD
        for part in cell if isinstance(cell, tuple) else (cell,):
            if isinstance(part, Ticks):
                at = x
                for word, wide in zip(part.words, self._tick_rooms(part.words, column.wide), strict=True):
                    self._tick(word, at, y, wide)
                    at += wide
            elif isinstance(part, Tick):
                self._tick(part.word, x, y, column.wide)
            elif isinstance(part, Blank):
                self._blank(part, x, y, column)
            else:
                self._write(part, x, y, column)
            y += self._high(part, column)

    def _write(self, cell: str | Words, x: float, y: float, column: Column) -> None:
        for line in self._lines(cell, column):
            y += line_high(line.size)
            self.page.text(
                line.words, self._at(x, column), y - 1.2, size=line.size, bold=line.bold, align=column.align,
                room=column.wide - 2 * PAD,
            )  # fmt: skip

    def _tick_rooms(self, words: Sequence[str], room: float) -> list[float]:
        """Room for each box: the same for all, or by their words where one of them needs more. [mm]"""
        each = room / max(len(words), 1)
        needs = [max(width(self.tongue._(word), BODY) + TICK_GAP, TICK) for word in words]
        if max(needs, default=0.0) <= each + TICK_GAP or sum(needs) > room:
            return [each] * len(words)
        spare = (room - sum(needs)) / len(words)
        return [need + spare for need in needs]

    def ticks_need(self, ticks: Ticks) -> float:
        """How wide boxes side by side are with room around their words. [mm]"""
        return sum(max(width(self.tongue._(word), BODY), TICK) + TICK_ROOM for word in ticks.words)

    def _tick(self, word: str, x: float, y: float, wide: float) -> None:
        self.page.box(x + (wide - TICK) / 2, y, TICK, TICK)
        if word:
            line = shortened(self.tongue._(word), wide, BODY)
            self.page.text(line, x + wide / 2, y + TICK + line_high() - 0.9, align="centre", room=wide)

    def _blank(self, cell: Blank, x: float, y: float, column: Column) -> None:
        for label in cell.labels:
            y += BLANK_HIGH
            own = shortened(self.tongue._(label), column.wide * 0.6, BODY)
            begins, ends = x + PAD, x + column.wide - PAD
            if own:
                self.page.text(own, begins, y - 1.2, room=column.wide)
                begins += width(own, BODY) + 1.5
            if cell.unit:
                self.page.text(cell.unit, ends, y - 1.2, align="right", room=column.wide)
                ends -= width(cell.unit, BODY) + 1.0
            self.page.rule(begins, y - 0.8, ends, y - 0.8, 0.6)

    # The end ---------------------------------------------------------------------------------------------------------

    def finished(self) -> list[Page]:
        """The pages, each with its number and how many there are."""
        for number, page in enumerate(self.pages, start=1):
            foot = self.size.high - MARGIN
            counted = self.tongue._("page %(number)s of %(pages)s", number=number, pages=len(self.pages))
            page.text(counted, self.right, foot, align="right")
            room = self.wide - 45.0
            page.text(self._name(room), self.left, foot, room=room)
            if self.heading.note:
                line = shortened(self.heading.note, self.wide, BODY)
                page.text(line, self.left, foot - line_high(), room=self.wide)
        return self.pages

    def _name(self, room: float) -> str:
        """Farm and title; of a farm with a long name less, so that the sheet is still named. [mm]"""
        title = f", {self.heading.title}"
        farm = shortened(self.heading.farm, max(room - width(title, BODY), room * LEAST_OF_A_NAME), BODY)
        return shortened(f"{farm}{title}", room, BODY)

    def pdf(self) -> bytes:
        """The sheet as a PDF."""
        return pdf(self.finished(), title=f"{self.heading.title}, {self.heading.about}", by=self.heading.farm)


LEAST_OF_A_NAME = 0.3
"""So much of the foot is the farm's, however long the title. [-]"""
BLANK_HIGH = 8.5
"""From one line to write on to the next: a wet hand writes large. [mm]"""
