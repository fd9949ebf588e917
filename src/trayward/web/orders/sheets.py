"""Spreadsheets between their preview and their keeping: they stay with the server, by a name nobody can guess.

The browser gives its bytes once. What they are taken for is kept beside them, so that what is kept in the book is what
was looked at. They live as long as the pages run, for some hours, and only for whoever brought them.
"""

from __future__ import annotations

import hashlib
import io
import secrets
import zipfile
from collections import OrderedDict
from collections.abc import Mapping as MappingOf
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from threading import Lock

import msgspec
from msgspec.structs import replace

from trayward.desk.sheets.mapping import Mapping, PriceFor, column_letters, doubts_anew, guess_mapping
from trayward.desk.sheets.orders import OrderSheet, read_orders
from trayward.desk.sheets.reading import Cell, Sheet, SheetRow, read_sheet
from trayward.desk.sheets.rows import Rejected, Wish
from trayward.desk.sheets.words import DayOrder
from trayward.errors import InputError, NotFoundError
from trayward.farm.state import FarmState

KEPT_FOR = timedelta(hours=6)
MOST_SHEETS = 24
MOST_BYTES = 48 * 1024 * 1024
"""All sheets together. [byte]"""
MOST_UNPACKED = 80 * 1024 * 1024
"""What a workbook may hold once unpacked: a small file can be made to burst a machine. [byte]"""
MOST_ROWS = 5000
"""An order sheet of more rows is something else. [-]"""
ROWS_SHOWN = 200


class Choices(msgspec.Struct, frozen=True, kw_only=True):
    """What a grower says of a sheet, in place of what was guessed."""

    columns: dict[str, int] | None = None
    """Field -> column; None: as guessed."""
    customer: str = ""
    due: date | None = None
    unit: str | None = None
    day_order: DayOrder | None = None
    price_for: PriceFor | None = None
    new_customers: bool = False
    skip_rejected: bool = False
    past: bool = False


class Brought(msgspec.Struct, frozen=True, kw_only=True):
    """A sheet that was brought."""

    token: str
    who: str
    at: datetime
    name: str
    size: int
    sheet: Sheet
    choices: Choices = Choices()


class Table:
    """Where sheets lie until they are kept; thread-safe."""

    def __init__(self) -> None:
        self._sheets: OrderedDict[str, Brought] = OrderedDict()
        self._lock = Lock()

    def bring(self, content: bytes, name: str, who: str, at: datetime) -> Brought:
        """
        Take in a file.

        Raises
        ------
        InputError
            If it is no sheet, or far too large for one of orders.
        """
        require_small(content, name)
        sheet = read_sheet(content, name=name)
        if len(sheet.rows) > MOST_ROWS:
            raise InputError("sheet", name, f"it has more than {MOST_ROWS} rows", "Part it, or take out what is past.")
        brought = Brought(
            token=secrets.token_urlsafe(16), who=who, at=at, name=name, size=len(content), sheet=sheet
        )  # fmt: skip
        with self._lock:
            self._sheets[brought.token] = brought
            self._tidy(at)
        return brought

    def _tidy(self, at: datetime) -> None:
        """The oldest go where there are too many, and those that nobody came back for."""
        for token in [token for token, one in self._sheets.items() if at - one.at > KEPT_FOR]:
            del self._sheets[token]
        while len(self._sheets) > MOST_SHEETS or sum(one.size for one in self._sheets.values()) > MOST_BYTES:
            self._sheets.popitem(last=False)

    def of(self, token: str, who: str, at: datetime) -> Brought:
        """The sheet somebody brought. Raises `NotFoundError` where it is gone, or another's."""
        with self._lock:
            found = self._sheets.get(token)
        if found is None or found.who != who or at - found.at > KEPT_FOR:
            raise NotFoundError("sheet", token[:8], (), "It is not here any more: choose the file again.")
        return found

    def chosen(self, brought: Brought, choices: Choices) -> Brought:
        """The sheet with what was said of it."""
        after = replace(brought, choices=choices)
        with self._lock:
            if brought.token in self._sheets:
                self._sheets[brought.token] = after
        return after


def require_small(content: bytes, name: str) -> None:
    """Raise `InputError` for a workbook that unpacks to more than any sheet of orders."""
    if not content.startswith(b"PK\x03\x04"):
        return
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            whole = sum(each.file_size for each in packed.infolist())
    except zipfile.BadZipFile as error:
        raise InputError("sheet", name, "the workbook cannot be read", "Save it as XLSX or CSV again.") from error
    if whole > MOST_UNPACKED:
        raise InputError("sheet", name, "it is far too large for a sheet of orders", "Save its orders alone.")


# What it is taken for -------------------------------------------------------------------------------------------------


def mapping_of(brought: Brought, state: FarmState) -> Mapping:
    """What the columns are taken for: the guess, with what the grower says instead."""
    guess, said = guess_mapping(brought.sheet, state), brought.choices
    whole = {
        "unit": said.unit, "day_order": said.day_order, "price_for": said.price_for,
        "customer": said.customer or None, "due": said.due,
    }  # fmt: skip
    changes = {name: value for name, value in whole.items() if value is not None}
    if said.columns is None:
        return doubts_anew(replace(guess, **changes), brought.sheet)
    labels = {column: label for column, label in guess.labels.items() if column not in said.columns.values()}
    if "quantity" in said.columns:
        labels, changes["across"] = {}, ""
    return doubts_anew(replace(guess, columns=said.columns, labels=labels, **changes), brought.sheet)


def read_brought(brought: Brought, mapping: Mapping, state: FarmState, today: date) -> OrderSheet:
    """What the sheet comes to, for the farm as it is."""
    said = brought.choices
    return read_orders(
        brought.sheet, mapping, state, skip_rejected=said.skip_rejected, new_customers=said.new_customers,
        not_before=None if said.past else today,
    )  # fmt: skip


def seal_of(read: OrderSheet) -> str:
    """What would be recorded, in short: if that is another when it is to be kept, it is looked at once more."""
    found = hashlib.sha256()
    for body in read.bodies:
        found.update(msgspec.json.encode(body))
    return found.hexdigest()[:24]


# Row by row -----------------------------------------------------------------------------------------------------------


class CellShown(msgspec.Struct, frozen=True, kw_only=True):
    """A cell, and what is wrong with it."""

    words: str
    wrong: str = ""


class RowShown(msgspec.Struct, frozen=True, kw_only=True):
    """A row of the sheet and what comes of it."""

    number: int
    cells: tuple[CellShown, ...]
    verdict: str
    """new, changed, as before, wrong, left out, past, heading, nothing."""
    wishes: tuple[Wish, ...] = ()
    reasons: tuple[str, ...] = ()


def rows_shown(brought: Brought, mapping: Mapping, read: OrderSheet, today: date) -> list[RowShown]:
    """The sheet row by row: every row that is wrong, and as many of the others as fit."""
    wishes: dict[int, list[Wish]] = {}
    for wish in read.wishes:
        wishes.setdefault(wish.row, []).append(wish)
    rejected: dict[int, list[Rejected]] = {}
    for one in read.rejected:
        rejected.setdefault(one.row, []).append(one)
    status = _status(read)
    first = None if brought.choices.past else today
    width = brought.sheet.width
    shown = []
    for row in brought.sheet.rows:
        own, bad = wishes.get(row.number, []), rejected.get(row.number, [])
        verdict = _verdict(mapping, row.number, bad, own, status, first)
        shown.append(_row(mapping, row, width, bad, own, verdict))
    if len(shown) <= ROWS_SHOWN:
        return shown
    return sorted(shown, key=lambda row: row.verdict not in ("wrong", "left out"))[:ROWS_SHOWN]


def _status(read: OrderSheet) -> dict[tuple[str, date], str]:
    """What becomes of each customer's order for a day."""
    said = {name: word for word in ("placed", "changed", "unchanged") for name in getattr(read, word)}
    found = {(one.customer, one.due): said.get(one.order, "") for one in read.orders}
    found |= {(one.customer, one.start): said.get(one.standing, "") for one in read.standing}
    return found


VERDICTS = {"placed": "new", "changed": "changed", "unchanged": "as before"}


def _verdict(
    mapping: Mapping,
    number: int,
    rejected: Sequence[Rejected],
    wishes: Sequence[Wish],
    status: MappingOf[tuple[str, date], str],
    first: date | None,
) -> str:
    """What becomes of a row."""
    if rejected:
        return "wrong" if any(row.faults for row in rejected) else "left out"
    if not wishes:
        return "heading" if number <= mapping.header_row else "nothing"
    if first is not None and all(wish.due < first and not wish.rule for wish in wishes):
        return "past"
    return VERDICTS.get(status.get((wishes[0].customer, wishes[0].due), ""), "new")


def _row(
    mapping: Mapping, row: SheetRow, width: int, rejected: Sequence[Rejected], wishes: Sequence[Wish], verdict: str
) -> RowShown:
    wrong = _wrong_cells(mapping, rejected)
    return RowShown(
        number=row.number,
        cells=tuple(
            CellShown(words=cell_words(row.cell(column)), wrong=wrong.get(column, "")) for column in range(width)
        ),
        verdict=verdict,
        wishes=tuple(wishes),
        reasons=tuple(one.remedy if one.faults and wrong else one.sentence() for one in rejected),
    )


def _wrong_cells(mapping: Mapping, rejected: Sequence[Rejected]) -> dict[int, str]:
    """What is wrong, by column. In a wide sheet the cell itself is to blame for what no column of its own says."""
    letters = {column_letters(column): column for column in mapping.labels}
    found: dict[int, list[str]] = {}
    for one in rejected:
        for field, words in one.faults:
            column = mapping.columns.get(field, letters.get(one.column))
            if column is not None:
                found.setdefault(column, []).append(words)
    return {column: "; ".join(words) for column, words in found.items()}


def cell_words(cell: Cell) -> str:
    """A cell as the spreadsheet shows it."""
    if cell is None:
        return ""
    return f"{cell:.10g}" if isinstance(cell, float) else cell.isoformat() if isinstance(cell, date) else str(cell)


def columns_of(brought: Brought, mapping: Mapping) -> list[tuple[str, str]]:
    """The columns as choices: their letter and heading."""
    found = [("", "–")]
    for column in range(brought.sheet.width):
        heading = mapping.headings.get(column, "")
        found.append((str(column), f"{column_letters(column)} {heading}".strip()))
    return found
