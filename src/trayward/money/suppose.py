"""What if prices or wages were other ones: the same record twice, side by side."""

from __future__ import annotations

from datetime import date, datetime

from trayward.errors import InputError, NotFoundError
from trayward.farm.state import FarmState
from trayward.money.earned import earned
from trayward.money.terms import Terms
from trayward.money.types import By, Compared, Earned, Supposed
from trayward.units import show_money

ASKED = {
    "wage_h": ("an hour of hands", "wage_h"),
    "energy_kwh": ("a kilowatt hour", "energy_kwh"),
    "packaging": ("a pack", "packaging"),
    "disposal_kg": ("a kilogram thrown away", "disposal_kg"),
}
MOST = 1e6
"""No price is larger. Our choice. [currency]"""


def compared(
    state: FarmState, terms: Terms, first: date, last: date, supposed: Supposed, *, by: By = "crop", at: datetime,
    now: Earned | None = None,
) -> Compared:  # fmt: skip
    """
    The record of some days as it was, and as it would have been at other prices.

    What would have been sold at another price nobody knows: the same amounts count on both sides. `now`: the record as
    it was, where it was told before.

    Raises
    ------
    InputError
        If nothing is supposed, or a price is below 0.
    NotFoundError
        If a product is named that the farm does not sell.
    """
    words = _words(state, terms, supposed)
    now = now or earned(state, terms, first, last, by=by, at=at)
    then = earned(state, terms, first, last, by=by, at=at, supposed=supposed)
    return Compared(
        supposed=supposed, words=words, now=now, then=then, difference=then.total.left - now.total.left
    )  # fmt: skip


def _words(state: FarmState, terms: Terms, supposed: Supposed) -> tuple[str, ...]:
    money, currency = terms.settings.money, terms.settings.money.currency
    found = []
    for field, (says, name) in ASKED.items():
        value = getattr(supposed, field)
        if value is not None:
            _require(name, value)
            found.append(
                f"{says} at {show_money(value, currency)} instead of {show_money(getattr(money, name), currency)}"
            )
    for product, price in supposed.prices.items():
        held = state.products.get(product)
        if held is None:
            raise NotFoundError("product", product, tuple(state.products), "See them in the setup.")
        _require(f"price of {product}", price)
        was = show_money(held.price, currency)
        found.append(f"{product} at {show_money(price, currency)} instead of {was} for {held.price_per}")
    for name, month in supposed.overheads.items():
        _require(name, month)
        found.append(f"{name} at {show_money(month, currency)} a month")
    if not found:
        raise InputError("what if", "nothing", "at least one price must be another", "For instance: --wage 18")
    return tuple(found)


def _require(name: str, value: float) -> None:
    if not 0 <= value <= MOST:
        raise InputError(name, f"{value:g}", f"must lie in [0, {MOST:g}]", "Check what was typed.")
