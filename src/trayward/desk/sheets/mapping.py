"""What the columns of an order sheet mean: guessed from headings and content, shown in plain words, then confirmed.

Two forms are understood. *Long*: every row is one order line. *Wide*: customers, products or days stand side by side in
the heading row, and each filled cell below is one order line.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import Literal

import msgspec

from trayward.desk.naming import letters
from trayward.desk.sheets.order_words import plain_name, unit_word
from trayward.desk.sheets.reading import Cell, Sheet, SheetRow
from trayward.desk.sheets.words import DayOrder, header_field, read_day, says_total, slashed
from trayward.errors import InputError
from trayward.farm.repeats import rule_from_words
from trayward.farm.state import FarmState

Across = Literal["", "customer", "product", "due"]
"""What the headings of a wide sheet name; empty: the sheet is long."""
PriceFor = Literal["", "one", "100 g", "kg", "line"]
"""What a price is for: one of the unit, 100 g, a kg, the whole line; empty: one pack or tray, or 100 g."""
_ROWS_FOR_HEADINGS = 15
_MOSTLY = 0.6
"""Share of a column's cells that must look alike before the column is taken for that."""

_HABIT = 0.3
"""Share of rows that must leave a customer or day out before that is taken to mean "as above"."""


class Mapping(msgspec.Struct, frozen=True, kw_only=True):
    """What the columns mean. Columns count from 0; `header_row` is the number the spreadsheet shows, 0 for none.

    To correct a guess, replace fields: `msgspec.structs.replace(mapping, day_order="dmy")`.
    """

    header_row: int = 0
    columns: dict[str, int] = {}
    """Field -> column; the fields are those of `sheet_words.FIELDS`."""
    headings: dict[int, str] = {}
    """Column -> what stands above it."""
    across: Across = ""
    labels: dict[int, str] = {}
    """Column -> the customer, product or day (ISO) it is for, in a wide sheet."""
    day_order: DayOrder = ""
    """What comes first in 4/12/2026."""
    decimal: Literal[".", ","] = "."
    unit: str = ""
    """Unit of numbers that stand alone."""
    price_for: PriceFor = ""
    fill_down: bool = False
    """An empty customer or day means: as in the row above."""
    customer: str = ""
    """Who the whole sheet is for, where no column says."""
    due: date | None = None
    """The day the whole sheet is for, where no column says."""
    doubts: tuple[str, ...] = ()
    """Questions to settle before the sheet is read."""

    @property
    def needs(self) -> tuple[str, ...]:
        """Fields without which no order can be read, and which neither a column nor the whole sheet gives."""
        given = {*self.columns, self.across, "quantity" if self.across else ""}
        given |= {"customer"} if self.customer else set()
        given |= {"due"} if self.due else set()
        return tuple(field for field in ("customer", "product", "quantity", "due") if field not in given)


class _Known(msgspec.Struct):
    """Names the farm knows, in their plain form."""

    customers: set[str]
    products: set[str]

    @classmethod
    def of(cls, state: FarmState | None) -> _Known:
        if state is None:
            return cls(set(), set())
        sold = [*state.products, *(recipe.crop for recipe in state.recipes.values())]
        return cls({plain_name(name) for name in state.customers}, {plain_name(name) for name in sold})

    def says(self, cell: Cell) -> str:
        """Which field a cell's words are a known value of; empty: none."""
        if isinstance(cell, date):
            return "due"
        if not isinstance(cell, str):
            return ""
        plain = plain_name(cell)
        if plain in self.customers:
            return "customer"
        return "product" if plain in self.products else "due" if read_day(cell, "dmy") else ""


def guess_mapping(sheet: Sheet, state: FarmState | None = None) -> Mapping:
    """
    Guess what the columns of an order sheet mean.

    Parameters
    ----------
    sheet : Sheet
        The sheet as read.
    state : FarmState or None
        The farm, whose customers and products are recognised in the cells.

    Returns
    -------
    Mapping
        To be shown (`show_mapping`) and confirmed. Open questions stand in its `doubts`.
    """
    known = _Known.of(state)
    header = _header_row(sheet, known)
    body = _body(sheet, header.number if header else 0)
    headings = {column: str(cell) for column, cell in enumerate(header.cells if header else ()) if cell is not None}
    columns, units = _by_heading(headings)
    across, labels = _across(header, body, columns, known)
    free = [column for column in range(sheet.width) if column not in {*columns.values(), *labels}]
    columns |= _by_content(body, free, {*columns, *([across, "quantity"] if across else [])}, known)
    guess = Mapping(
        header_row=header.number if header else 0,
        columns=columns,
        headings=headings,
        across=across,
        labels=labels,
        day_order=_day_order(body, columns, labels),
        decimal=_decimal(sheet, body, [*columns.values(), *labels]),
        unit=_usual_unit(units, across),
        price_for=_price_for(headings, columns, units),
        fill_down=_fills_down(body, columns),
    )
    return msgspec.structs.replace(guess, doubts=_doubts(guess, body))


# Headings -------------------------------------------------------------------------------------------------------------


def _header_row(sheet: Sheet, known: _Known) -> SheetRow | None:
    """The row among the first that says most about the columns below it; None where the data begin at once."""
    best = max(sheet.rows[:_ROWS_FOR_HEADINGS], key=lambda row: _heading_score(row, known))
    score = _heading_score(best, known)
    data = any(known.says(cell) or _is_amount(cell) for cell in best.cells)
    return best if score >= 2 or (score == 1 and not data) else None


def _heading_score(row: SheetRow, known: _Known) -> int:
    """How much a row looks like headings: fields that it names, or known names or days that stand side by side."""
    if any(isinstance(cell, float) for cell in row.cells):
        return 0
    fields = {header_field(cell)[0] for cell in row.cells if isinstance(cell, str)} - {""}
    said = [known.says(cell) for cell in row.cells]
    alike = max(said.count(field) for field in ("customer", "product", "due"))
    return len(fields) + (alike if alike > 1 else 0)


def _by_heading(headings: dict[int, str]) -> tuple[dict[str, int], dict[str, str]]:
    """Field -> column from the headings, first come first served; and the unit a heading names."""
    columns: dict[str, int] = {}
    units: dict[str, str] = {}
    for column, text in headings.items():
        field, unit = header_field(text)
        if field and field not in columns:
            columns[field] = column
            units |= {field: unit} if unit else {}
    return columns, units


def _across(
    header: SheetRow | None, body: list[SheetRow], columns: dict[str, int], known: _Known
) -> tuple[Across, dict[int, str]]:
    """Whether the sheet is wide, and what each of its side-by-side columns is for."""
    if header is None or "quantity" in columns:
        return "", {}
    taken = set(columns.values())
    found = {
        column: cell
        for column, cell in enumerate(header.cells)
        if cell is not None and column not in taken and _holds_amounts(body, column)
    }
    if not found:
        return "", {}
    said = [known.says(cell) for cell in found.values()]
    across = _field_across(said, columns)
    return across, {column: _label(cell, across) for column, cell in found.items()}


def _field_across(said: list[str], columns: dict[str, int]) -> Across:
    for field in ("due", "customer", "product"):
        if said.count(field) > len(said) / 2:
            return field
    return "product" if "customer" in columns and "product" not in columns else "customer"


def _label(cell: Cell, across: Across) -> str:
    if across == "due":
        day = read_day(cell, "dmy") if not (isinstance(cell, str) and slashed(cell)) else None
        return day.isoformat() if day else str(cell)
    return str(cell)


def _holds_amounts(body: list[SheetRow], column: int) -> bool:
    cells = _filled(body, column)
    return bool(cells) and sum(_is_amount(cell) for cell in cells) >= _MOSTLY * len(cells)


# Content --------------------------------------------------------------------------------------------------------------


def _body(sheet: Sheet, header_row: int) -> list[SheetRow]:
    """The rows that ask for something: those below the headings, without totals."""
    return [row for row in sheet.rows if row.number > header_row and not says_total(row.cells)]


def _filled(body: list[SheetRow], column: int) -> list[Cell]:
    return [cell for row in body if (cell := row.cell(column)) is not None]


def _is_amount(cell: Cell) -> bool:
    """A number, or a number with a unit."""
    if isinstance(cell, str):
        found = re.fullmatch(r"\d[\d.,' ]*\s*x?\s*([^\W\d]+(?: [^\W\d]+)?)?\.?", cell.strip())
        return cell.strip() in ("-", "–") or (found is not None and (not found[1] or unit_word(found[1]) is not None))
    return isinstance(cell, float)


def _is_repeat(cell: Cell) -> bool:
    try:
        return isinstance(cell, str) and bool(rule_from_words(cell))
    except InputError:
        return False


def _by_content(body: list[SheetRow], free: list[int], given: set[str], known: _Known) -> dict[str, int]:
    """Fields that no heading named, told by what stands in the columns."""
    tests: dict[str, Callable[[Cell], bool]] = {
        "customer": lambda cell: known.says(cell) == "customer",
        "product": lambda cell: known.says(cell) == "product",
        "due": lambda cell: isinstance(cell, date) or (isinstance(cell, str) and bool(read_day(cell, "dmy"))),
        "unit": lambda cell: isinstance(cell, str) and unit_word(cell) is not None,
        "repeat": _is_repeat,
        "quantity": _is_amount,
    }
    found: dict[str, int] = {}
    for field, test in tests.items():
        fits = [column for column in free if column not in found.values() and _fits(body, column, test)]
        if field not in given and fits:
            found[field] = fits[0]
    return found


def _fits(body: list[SheetRow], column: int, test: Callable[[Cell], bool]) -> bool:
    cells = _filled(body, column)
    return bool(cells) and sum(map(test, cells)) >= _MOSTLY * len(cells)


def _day_order(body: list[SheetRow], columns: dict[str, int], labels: dict[int, str]) -> DayOrder:
    """What comes first in days such as 4/12/2026, where any day of the sheet settles it."""
    cells = [*(_filled(body, columns["due"]) if "due" in columns else []), *labels.values()]
    pairs = [pair for cell in cells if (pair := slashed(cell))]
    if any(first > 12 for first, _ in pairs):
        return "dmy"
    return "mdy" if any(second > 12 for _, second in pairs) else ""


def _decimal(sheet: Sheet, body: list[SheetRow], columns: list[int]) -> Literal[".", ","]:
    texts = [cell for column in columns for cell in _filled(body, column) if isinstance(cell, str)]
    amounts = [text for text in texts if not slashed(text) and not read_day(text, "dmy")]
    if any(re.search(r"\d,\d{1,2}(?!\d)", text) for text in amounts):
        return ","
    return "," if sheet.separator == ";" and not any(re.search(r"\d\.\d", text) for text in amounts) else "."


def _usual_unit(units: dict[str, str], across: Across) -> str:
    """The unit a heading names for amounts; in a wide sheet any heading may, for instance "Crop (g)"."""
    named = [
        units.get("quantity", ""),
        *((unit for field, unit in units.items() if field != "price") if across else ()),
    ]
    return next((unit for unit in named if unit_word(unit) is not None), "")


def _price_for(headings: dict[int, str], columns: dict[str, int], units: dict[str, str]) -> PriceFor:
    if "price" not in columns:
        return ""
    unit = units.get("price", "")
    if unit in ("kg", "100 g"):
        return "kg" if unit == "kg" else "100 g"
    heading = plain_name(headings.get(columns["price"], ""))
    if "total" in heading or heading == "value":
        return "line"
    return "one" if unit or "unit" in heading or "each" in heading else ""


def _fills_down(body: list[SheetRow], columns: dict[str, int]) -> bool:
    """Whether the sheet leaves out, as a habit, the customer or day that stands above; a slip or two is no habit."""
    wanted = columns.get("product", columns.get("quantity"))
    rows = [row for row in body if wanted is not None and row.cell(wanted) is not None]
    keys = [columns[field] for field in ("customer", "due") if field in columns]
    return any(
        rows[0].cell(key) is not None and sum(row.cell(key) is None for row in rows) >= _HABIT * len(rows)
        for key in keys
        if rows
    )


# Doubts and words -----------------------------------------------------------------------------------------------------


def doubts_anew(mapping: Mapping, sheet: Sheet) -> Mapping:
    """A mapping that was corrected, with the questions that are still open."""
    body = _body(sheet, mapping.header_row)
    return msgspec.structs.replace(mapping, doubts=_doubts(mapping, body))


def _doubts(guess: Mapping, body: list[SheetRow]) -> tuple[str, ...]:
    found = [f"Which column holds the {_NAMES[field]}? Or give it for the whole sheet." for field in guess.needs]
    due = guess.columns.get("due")
    cells = [*(_filled(body, due) if due is not None else []), *guess.labels.values()]
    open_days = [str(cell) for cell in cells if (pair := slashed(cell)) and pair[0] != pair[1]]
    if open_days and not guess.day_order:
        found.append(f"Is {open_days[0]} day first or month first? No day in the sheet tells.")
    if any(first > 12 for first, _ in _pairs(cells)) and any(second > 12 for _, second in _pairs(cells)):
        found.append("Some days have the day first and some the month first. Write them as year-month-day.")
    if not guess.unit and "unit" not in guess.columns and _bare_numbers(guess, body):
        found.append("In what unit are the numbers that stand alone: g, packs or trays?")
    return tuple(found)


def _pairs(cells: list[Cell]) -> list[tuple[int, int]]:
    return [pair for cell in cells if (pair := slashed(cell))]


def _bare_numbers(guess: Mapping, body: list[SheetRow]) -> bool:
    columns = [*guess.labels] or ([guess.columns["quantity"]] if "quantity" in guess.columns else [])
    cells = [cell for column in columns for cell in _filled(body, column)]
    return any(isinstance(cell, float) or re.fullmatch(r"[\d.,]+", str(cell)) for cell in cells)


_NAMES = {
    "customer": "customer",
    "product": "crop or product",
    "quantity": "quantity",
    "unit": "unit",
    "due": "day it is due",
    "price": "price",
    "note": "note",
    "repeat": "repeat",
    "order": "order's number",
}
_PRICES = {
    "": "for one pack or tray, and for 100 g where it goes by weight",
    "one": "for one of the unit",
    "100 g": "for 100 g",
    "kg": "for a kg",
    "line": "for the whole line",
}


def show_mapping(mapping: Mapping) -> str:
    """A mapping in plain words, for the grower to confirm or correct."""
    lines = [_form_words(mapping)]
    lines += [_column_words(mapping, field) for field in _NAMES if field in mapping.columns]
    if mapping.across:
        labels = ", ".join(mapping.labels.values())
        lines.append(f"Side by side, one column for each {_NAMES[mapping.across]}: {labels}.")
    lines += [f"The whole sheet is for {mapping.customer}."] if mapping.customer else []
    lines += [f"The whole sheet is due on {mapping.due.isoformat()}."] if mapping.due else []
    lines += [f"Numbers that stand alone are {mapping.unit}."] if mapping.unit else []
    lines += [f"Prices are {_PRICES[mapping.price_for]}."] if "price" in mapping.columns else []
    if mapping.day_order:
        lines.append(f"In 4/12/2026 the {'day' if mapping.day_order == 'dmy' else 'month'} comes first.")
    lines += ["A comma marks the decimals: 1,5 is one and a half."] if mapping.decimal == "," else []
    lines += ["An empty customer or day means: as in the row above."] if mapping.fill_down else []
    unused = [text for column, text in mapping.headings.items() if column not in _used(mapping)]
    lines += [f"Not used: {', '.join(unused)}."] if unused else []
    return "\n".join([*lines, *(f"Question: {doubt}" for doubt in mapping.doubts)])


def _form_words(mapping: Mapping) -> str:
    head = f"Row {mapping.header_row} holds the headings." if mapping.header_row else "There are no headings."
    return f"{head} {'Each filled cell' if mapping.across else 'Each row'} is one order line."


def _column_words(mapping: Mapping, field: str) -> str:
    column = mapping.columns[field]
    heading = f' "{mapping.headings[column]}"' if column in mapping.headings else ""
    return f"{_NAMES[field].capitalize()}: column {column_letters(column)}{heading}."


def _used(mapping: Mapping) -> set[int]:
    return {*mapping.columns.values(), *mapping.labels}


def column_letters(column: int) -> str:
    """The letters a spreadsheet shows above a column that counts from 0: A, B, ..., Z, AA, ..."""
    return letters(column)
