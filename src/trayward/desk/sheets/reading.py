"""Spreadsheets as people have them: CSV of any separator and encoding, XLSX (and the older XLS, and ODS)."""

from __future__ import annotations

import codecs
import csv
import io
from collections import Counter
from collections.abc import Sequence
from datetime import date, datetime, time
from pathlib import Path

import msgspec

from trayward.desk.sheets.words import header_field
from trayward.errors import InputError

Cell = str | float | date | None
"""Words, a number, a day, or nothing."""
_SEPARATORS = ",;\t|"
_ZIP, _OLD_OFFICE = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
_SAVE_AS = "Save the sheet as XLSX, or as CSV in UTF-8, and try again."


class SheetRow(msgspec.Struct, frozen=True, kw_only=True):
    """One row; `number` is the one the spreadsheet shows at its left."""

    number: int
    cells: tuple[Cell, ...]

    def cell(self, column: int) -> Cell:
        """The cell in a column, from 0; nothing where the row is shorter."""
        return self.cells[column] if column < len(self.cells) else None


class Sheet(msgspec.Struct, frozen=True, kw_only=True):
    """The rows of one sheet that hold anything. `tab` is its name in the workbook, empty for CSV."""

    name: str
    rows: tuple[SheetRow, ...]
    tab: str = ""
    separator: str = ""
    """What separates the columns of a CSV; empty for a workbook."""

    @property
    def width(self) -> int:
        """How many columns there are."""
        return max((len(row.cells) for row in self.rows), default=0)


def read_sheet(source: Path | str | bytes, *, name: str = "", tab: str = "") -> Sheet:
    """
    Read a spreadsheet file: CSV, XLSX, XLS or ODS, told by its content and not by its name.

    Parameters
    ----------
    source : Path, str or bytes
        A path, or the file's bytes.
    name : str
        What to call it in messages; empty: the path's last part.
    tab : str
        Which sheet of a workbook; empty: the one whose headings look most like orders.

    Raises
    ------
    InputError
        If it cannot be read, holds nothing, or has no sheet of that name.
    """
    data = source if isinstance(source, bytes) else _bytes(Path(source))
    called = name or ("sheet" if isinstance(source, bytes) else Path(source).name)
    book = data[:4] in (_ZIP, _OLD_OFFICE)
    sheet = _workbook(data, called, tab) if book else _csv(_decoded(data, called), called)
    if not sheet.rows:
        raise InputError("order sheet", called, "there is nothing in it", "Check that it is the right file.")
    return sheet


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as err:
        raise InputError("order sheet", path, f"it cannot be read ({err.strerror})", "Check the path.") from err


# CSV ------------------------------------------------------------------------------------------------------------------


def _decoded(data: bytes, called: str) -> str:
    """The text, by its byte order mark, else UTF-8, else the Windows code page that older programs write."""
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16", errors="replace")
    if b"\0" in data:
        raise InputError("order sheet", called, "it is neither a table nor text", _SAVE_AS)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _csv(text: str, called: str) -> Sheet:
    first, _, rest = text.partition("\n")
    skipped = 0
    separator = first.strip().removeprefix("sep=")
    if first.startswith("sep=") and separator in _SEPARATORS:
        text, skipped = rest, 1
    else:
        separator = _separator(text)
    try:
        records = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    except csv.Error as err:
        raise InputError("order sheet", called, f"it is no CSV ({err})", _SAVE_AS) from err
    rows = [_row(number + skipped, record) for number, record in enumerate(records, start=1)]
    return Sheet(name=called, rows=tuple(row for row in rows if row.cells), separator=separator)


def _separator(text: str) -> str:
    """The separator that cuts the first rows most evenly into the most columns."""
    start = "\n".join(text.splitlines()[:50])

    def evenness(separator: str) -> tuple[float, int]:
        widths = [len(row) for row in csv.reader(io.StringIO(start, newline=""), delimiter=separator) if row]
        width, count = Counter(widths).most_common(1)[0] if widths else (1, 1)
        return (count / max(len(widths), 1), width) if width > 1 else (0.0, 0)

    return max(_SEPARATORS, key=evenness)


def _row(number: int, values: Sequence[object]) -> SheetRow:
    cells = [_cell(value) for value in values]
    while cells and cells[-1] is None:
        cells.pop()
    return SheetRow(number=number, cells=tuple(cells))


def _cell(value: object) -> Cell:
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    text = value.isoformat() if isinstance(value, time) else str(value if value is not None else "")
    return " ".join(text.replace("\xa0", " ").split()) or None


# Workbooks ------------------------------------------------------------------------------------------------------------


def _workbook(data: bytes, called: str, tab: str) -> Sheet:
    from python_calamine import CalamineError, CalamineWorkbook  # heavy; only needed for workbooks

    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        names = [tab] if tab in book.sheet_names else list(book.sheet_names)
        tables = {name: book.get_sheet_by_name(name).to_python(skip_empty_area=False) for name in names}
    except (CalamineError, OSError, ValueError) as err:
        raise InputError("order sheet", called, f"the workbook cannot be read ({err})", _SAVE_AS) from err
    if tab and tab not in tables:
        raise InputError(
            "sheet of the workbook", tab, f"{called} has none of that name", f"It has: {', '.join(names)}."
        )
    sheets = [_table(called, name, rows) for name, rows in tables.items()]
    return max(sheets, key=_headings, default=Sheet(name=called, rows=()))


def _table(called: str, tab: str, rows: Sequence[Sequence[object]]) -> Sheet:
    made = [_row(number, values) for number, values in enumerate(rows, start=1)]
    return Sheet(name=called, rows=tuple(row for row in made if row.cells), tab=tab)


def _headings(sheet: Sheet) -> tuple[int, bool]:
    """How many headings of order sheets a sheet has in its best row."""
    rows = sheet.rows[:15]
    fields = [{header_field(cell)[0] for cell in row.cells if isinstance(cell, str)} - {""} for row in rows]
    return max((len(found) for found in fields), default=0), bool(sheet.rows)
