"""Rows of an order sheet read as wishes: who wants how much of what, when; or why a row cannot be read."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterator
from datetime import date
from typing import TypeVar

import msgspec

from trayward.desk.sheets.mapping import Mapping, column_letters
from trayward.desk.sheets.order_words import Amount, parse_amount, plain_name, product_name, slug, unit_word
from trayward.desk.sheets.reading import Cell, Sheet, SheetRow
from trayward.desk.sheets.words import FIELDS, plain_number, read_day, read_price, says_total, slashed
from trayward.errors import InputError
from trayward.farm.due import line_problem, product_named
from trayward.farm.orders import LineAsked
from trayward.farm.repeats import rule_from_words
from trayward.farm.state import FarmState

T = TypeVar("T")
_ONCE = ("", "-", "no", "none", "once", "one-off", "one off")
_NOTHING = ("", "-", "–", "—", "0", "none", "n/a")


class Wish(msgspec.Struct, frozen=True, kw_only=True):
    """One line somebody asks for, as a row of the sheet says it."""

    row: int
    column: str = ""
    customer: str
    due: date
    product: str
    amount: Amount
    price: float | None = None
    """Price of one gram, pack or tray."""
    note: str = ""
    rule: str = ""
    order: str = ""


class Rejected(msgspec.Struct, frozen=True, kw_only=True):
    """A row that cannot be read, why, and what to do. `row` is the number the spreadsheet shows."""

    row: int
    reason: str
    remedy: str = ""
    column: str = ""
    """The column's letters in a wide sheet, where one row holds several lines."""
    faults: tuple[tuple[str, str], ...] = ()
    """Each field that is wrong and what is wrong with it, for its cell; none where another row is to blame."""

    def sentence(self) -> str:
        """All of it as one line."""
        where = f"row {self.row}, column {self.column}" if self.column else f"row {self.row}"
        return f"{where}: {self.reason}. {self.remedy}".strip()


class Draft(msgspec.Struct, kw_only=True):
    """The cells of one line before they are understood."""

    row: int
    cells: dict[str, Cell]
    column: str = ""


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """What a row that cannot be read tells of the order it is of; None where that cannot be read either."""

    customer: str | None
    due: date | None
    order: str


def drafts(sheet: Sheet, mapping: Mapping) -> Iterator[Draft]:
    """Every line of the sheet: a row, or a filled cell of a wide sheet, with what is filled down or holds for all."""
    above: dict[str, Cell] = {}
    for row in sheet.rows:
        if row.number <= mapping.header_row:
            continue
        cells = {field: row.cell(column) for field, column in mapping.columns.items()}
        if says_total(cells.get(field) for field in ("customer", "product", "due")):
            continue
        if mapping.fill_down:
            cells |= {field: above.get(field) for field in ("customer", "due") if field in cells and not cells[field]}
            above |= {field: cells.get(field) for field in ("customer", "due")}
        cells["customer"] = cells.get("customer") or mapping.customer or None
        cells["due"] = cells.get("due") or mapping.due
        yield from _wide(row, cells, mapping) if mapping.across else [Draft(row=row.number, cells=cells)]


def _wide(row: SheetRow, cells: dict[str, Cell], mapping: Mapping) -> Iterator[Draft]:
    for column, label in mapping.labels.items():
        value = row.cell(column)
        if not _is_nothing(value):
            said = {**cells, mapping.across: label, "quantity": value}
            yield Draft(row=row.number, cells=said, column=column_letters(column))


def _is_nothing(cell: Cell) -> bool:
    return cell is None or cell == 0.0 or (isinstance(cell, str) and cell.casefold() in _NOTHING)


def asks_nothing(draft: Draft) -> bool:
    """Whether a row says outright that nothing is wanted (0 or a dash), which is not the same as saying nothing."""
    quantity = draft.cells.get("quantity")
    return quantity is not None and _is_nothing(quantity)


class RowReader:
    """Reads drafts with one mapping against one farm."""

    def __init__(self, mapping: Mapping, state: FarmState, *, new_customers: bool = False) -> None:
        self.mapping = mapping
        self.state = state
        self.new_customers = new_customers
        self.crops = state.crops_in_use()
        self.customers = {plain_name(name): name for name in state.customers}

    def read(self, draft: Draft) -> Wish | Rejected:
        """The wish in a draft, or why it cannot be read: every reason of the row at once."""
        problems: list[InputError] = []
        customer = self._try(problems, "", lambda: self._customer(draft))
        due = self._try(problems, date.min, lambda: self._due(draft))
        product = self._try(problems, "", lambda: self._product(draft))
        amount = self._try(problems, Amount(0.0, "g"), lambda: self._amount(draft, product))
        rule = self._try(problems, "", lambda: self._rule(draft))
        price = None if problems else self._try(problems, None, lambda: self._price(draft, product, amount))
        if not problems and (unfit := self._unfit(product, amount)) is not None:
            problems.append(unfit)
        if problems:
            return _rejected(draft, problems)
        return Wish(
            row=draft.row,
            column=draft.column,
            customer=customer,
            due=due,
            product=product,
            amount=amount,
            price=price,
            note=_words(draft.cells.get("note")),
            rule=rule,
            order=_words(draft.cells.get("order")),
        )

    def told(self, draft: Draft) -> Told:
        """Whose order for which day a row is of, as far as it tells."""
        passed: list[InputError] = []
        return Told(
            customer=self._try(passed, None, lambda: self._customer(draft)),
            due=self._try(passed, None, lambda: self._due(draft)),
            order=_words(draft.cells.get("order")),
        )

    def _try(self, problems: list[InputError], fallback: T, call: Callable[[], T]) -> T:
        try:
            return call()
        except InputError as err:
            problems.append(err)
            return fallback

    def _customer(self, draft: Draft) -> str:
        text = self._given(draft, "customer")
        plain = plain_name(text)
        if plain not in self.customers:
            if not self.new_customers:
                near = difflib.get_close_matches(plain, self.customers, n=2, cutoff=0.6)
                hint = f"Did you mean {' or '.join(self.customers[name] for name in near)}? " if near else ""
                remedy = f"{hint}Set the customer up first, or let new customers be added."
                raise InputError("customer", repr(text), "the farm has none of that name", remedy)
            self.customers[plain] = text
        return self.customers[plain]

    def _due(self, draft: Draft) -> date:
        cell = draft.cells.get("due")
        day = read_day(cell, self.mapping.day_order)
        if day is not None:
            return day
        text = self._given(draft, "due")
        if slashed(cell) and not self.mapping.day_order:
            raise InputError(
                "due", repr(text), "may be either of two days", "Say what comes first, the day or the month."
            )
        raise InputError("due", repr(text), "is no day", "Write it as year-month-day, for instance 2026-12-04.")

    def _product(self, draft: Draft) -> str:
        return product_name(self._given(draft, "product"), self.state.products, self.crops)

    def _amount(self, draft: Draft, product: str) -> Amount:
        live = bool(product) and product_named(self.state, product).live
        unit = _words(draft.cells.get("unit")) or self.mapping.unit or ("trays" if live else "")
        if unit and unit_word(unit) is None:
            raise InputError("unit", repr(unit), "is no unit of an order", "Say g, kg, oz, lb, packs or trays.")
        return parse_amount(plain_number(self._given(draft, "quantity"), self.mapping.decimal), default_unit=unit)

    def _rule(self, draft: Draft) -> str:
        text = _words(draft.cells.get("repeat"))
        return "" if text.casefold() in _ONCE else rule_from_words(text)

    def _price(self, draft: Draft, product: str, amount: Amount) -> float | None:
        """Price of one gram, pack or tray."""
        cell = draft.cells.get("price")
        if cell is None:
            return None
        price = read_price(cell, self.mapping.decimal)
        if price is None or price < 0:
            raise InputError("price", repr(cell), "is no price", "Write one number, for instance 4.20.")
        way = self.mapping.price_for or ("100 g" if amount.unit == "g" else "one")
        if way == "line":
            return price / amount.quantity
        if way == "one":
            return price if amount.unit != "g" else self._for_a_gram(price, amount.size)
        gram = price / (1000.0 if way == "kg" else 100.0)
        grams_in_one = {"g": 1.0, "packs": product_named(self.state, product).pack_g or 0.0, "trays": 0.0}[amount.unit]
        if not grams_in_one:
            raise InputError(
                "price", repr(cell), f"is for {way} and the line counts {amount.unit}", "Price one of them."
            )
        return gram * grams_in_one

    @staticmethod
    def _for_a_gram(price: float, size: float) -> float:
        if not size:
            raise InputError("price", price, "is for one of the unit, and the line is written in two units", "Use one.")
        return price / size

    def _unfit(self, product: str, amount: Amount) -> InputError | None:
        asked = LineAsked(line=slug(product), product=product, quantity=amount.quantity, unit=amount.unit)
        return line_problem(product_named(self.state, product), asked)

    @staticmethod
    def _given(draft: Draft, field: str) -> str:
        text = _words(draft.cells.get(field))
        if not text:
            raise InputError(field, "nothing", "it has to be given", "Fill it in, or take the row out.")
        return text


def _words(cell: Cell) -> str:
    """A cell as words; numbers without a needless fraction."""
    if cell is None:
        return ""
    return f"{cell:.10g}" if isinstance(cell, float) else cell.isoformat() if isinstance(cell, date) else cell.strip()


def _rejected(draft: Draft, problems: list[InputError]) -> Rejected:
    reason = "; ".join(
        f"{problem.name} = {problem.value} {problem.unit}".strip() + f": {problem.rule}" for problem in problems
    )
    remedy = " ".join(dict.fromkeys(problem.remedy for problem in problems if problem.remedy))
    faults = tuple((_field_of(problem.name), f"{problem.value}: {problem.rule}") for problem in problems)
    return Rejected(row=draft.row, reason=reason, remedy=remedy, column=draft.column, faults=faults)


def _field_of(name: str) -> str:
    """The field a fault is shown at: an amount that does not suit its product is named by its line."""
    return name if name in FIELDS else "repeat" if name.startswith("repeat") else "quantity"
