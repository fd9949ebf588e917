"""The lines of an order's form: what was typed, read as what is asked for, and back again."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec
from msgspec.structs import replace

from trayward.desk.sheets.order_words import parse_amount, slug
from trayward.errors import InputError
from trayward.farm.due import line_problem, product_named
from trayward.farm.orders import LineAsked
from trayward.farm.state import FarmState
from trayward.units import GRAMS_PER_OUNCE, show_mass
from trayward.web.typed import Typed

ROWS = 8
"""Rows of a form, at least; an order of more lines has as many as it needs and some. [-]"""
MOST_ROWS = 60
BY_WEIGHT = {"g": 100.0, "oz": GRAMS_PER_OUNCE}
"""A price by weight is for so many grams, by the farm's unit of weight. [g]"""


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One row of the form, as it stands in the fields."""

    number: int
    product: str = ""
    amount: str = ""
    price: str = ""
    counted: bool = False
    """In packs or trays: a word of ours stands in the amount."""


def rows_of(lines: Iterable[LineAsked], unit: str) -> tuple[Row, ...]:
    """Rows that show some lines, and empty ones after them."""
    filled = [
        Row(
            number=number,
            product=line.product,
            amount=_amount(line, unit),
            price=_price(line, unit),
            counted=line.unit != "g",
        )
        for number, line in enumerate(lines, start=1)
    ]
    wanted = max(ROWS, len(filled) + 3)
    return (*filled, *(Row(number=number) for number in range(len(filled) + 1, wanted + 1)))


def _amount(line: LineAsked, unit: str) -> str:
    """With every digit, for it is sent back as it stands."""
    if line.unit == "g":
        shown = show_mass(line.quantity, unit)
        return shown if abs(parse_amount(shown).quantity - line.quantity) < 0.05 else f"{line.quantity:.6g} g"
    return f"{line.quantity:g} {line.unit.removesuffix('s') if line.quantity == 1 else line.unit}"


def _price(line: LineAsked, unit: str) -> str:
    if line.price is None:
        return ""
    return f"{line.price * (BY_WEIGHT[unit] if line.unit == 'g' else 1.0):.6g}"


def read_lines(form: Typed, state: FarmState, unit: str) -> tuple[LineAsked, ...]:
    """
    What is asked for: every row that says anything.

    Raises
    ------
    InputError
        If a row cannot be read, naming its field; or none says anything.
    """
    found: list[LineAsked] = []
    for number in range(1, MOST_ROWS + 1):
        if any(form.has(f"{field}_{number}") for field in ("product", "amount")):
            line = _read(form, number, state, unit)
            same = sum(other.product == line.product for other in found)
            found.append(replace(line, line=f"{line.line}-{same + 1}") if same else line)
    if not found:
        raise InputError("amount_1", "nothing", "an order asks for something", "Choose what, and say how much.")
    return tuple(found)


def _read(form: Typed, number: int, state: FarmState, unit: str) -> LineAsked:
    field = f"amount_{number}"
    name = form.need(f"product_{number}", "Choose what it is of.")
    if name not in state.products and all(recipe.crop != name for recipe in state.recipes.values()):
        raise InputError(f"product_{number}", name, "the farm sells nothing of that name", "Choose one of the list.")
    product = product_named(state, name)
    alone = "trays" if product.live else "packs" if product.pack_g else unit
    try:
        amount = parse_amount(form.need(field, "Say how much."), default_unit=alone)
    except InputError as error:
        raise InputError(field, form.text(field), error.rule, error.remedy) from error
    price = None
    if form.has(f"price_{number}"):
        price = form.number(f"price_{number}", 0, 1_000_000)
        price = price / BY_WEIGHT[unit] if amount.unit == "g" else price
    line = LineAsked(line=slug(name), product=name, quantity=amount.quantity, unit=amount.unit, price=price)
    problem = line_problem(product, line)
    if problem is not None:
        raise InputError(field, form.text(field), problem.rule, problem.remedy)
    return line


def products_of(state: FarmState, also: Iterable[str] = ()) -> tuple[tuple[str, str], ...]:
    """What can be asked for: products with how they are sold, then crops by their own name."""
    names = dict.fromkeys([*sorted(state.products), *sorted(state.crops_in_use()), *also])
    return (("", "–"), *((name, name) for name in names))
