"""What a line of an order costs: its own price first, then the customer's list, then the product's."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import NamedTuple

from msgspec.structs import replace

from trayward.farm.bills import ListPrice, Per, PriceList
from trayward.farm.orders import Customer, LineAsked, Product
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState

LIVE_HOME_G = 100.0
"""A live tray on the grower's own table counts as this much [g], where its product has no price."""


class Price(NamedTuple):
    """A price, what it is for, and whether it is money or worth at home. [farm's currency]"""

    price: float
    per: Per
    pack_g: float | None = None
    home: bool = False
    own: bool = False
    """Said for this line alone."""


def price_list_of(state: FarmState, customer: str, day: date) -> PriceList | None:
    """The customer's price list that holds on a day."""
    held = [listed for listed in state.price_lists.get(customer, ()) if listed.valid_from <= day]
    return held[-1] if held else None


def _as_listed(state: FarmState, customer: str, product: Product, asked: LineAsked, day: date) -> Product:
    """A product at the price the customer's list gives so much of it on a day; as it is where no list does."""
    if customer not in state.price_lists:
        return product
    held = price_list_of(state, customer, day)
    found = next((each for each in held.prices if each.product == product.name), None) if held else None
    return product if found is None else replace(product, price=float(step_price(found, asked_for(product, asked))))


def asked_for(product: Product, asked: LineAsked) -> float:
    """How much a line asks for, in what price steps count: packs or trays where the price is for one, else grams."""
    if asked.unit == "trays" or product.price_per == "tray":
        return asked.quantity
    each = product.pack_g or 0.0
    if product.price_per == "pack":
        return asked.quantity if asked.unit == "packs" else asked.quantity / each if each else 0.0
    return asked.quantity * each if asked.unit == "packs" else asked.quantity


def step_price(listed: ListPrice, amount: float) -> Decimal:
    """
    The price of an amount: that of the last step it reaches.

    Examples
    --------
    >>> from trayward.farm.bills import PriceStep
    >>> ten = PriceStep(least=Decimal(10), price=Decimal(3))
    >>> listed = ListPrice(product="pea", price=Decimal("3.40"), steps=(ten,))
    >>> step_price(listed, 9), step_price(listed, 10)
    (Decimal('3.40'), Decimal('3'))
    """
    reached = [step.price for step in listed.steps if float(step.least) <= amount + 1e-9]
    return reached[-1] if reached else listed.price


def _alike(state: FarmState, product: Product, *, live: bool) -> Product:
    """A priced product of the same one crop, for a line that names the crop or a way of selling without a price."""
    for other in state.products.values():
        if other.parts == product.parts and other.live == live and other.price > 0:
            return other
    return product


def price_asked(state: FarmState, customer: Customer, product: Product, asked: LineAsked, day: date) -> Price | None:
    """The price a line is sold at on a day, None where nobody said one; at home what the grower says."""
    if asked.price is not None:
        per: Per = {"g": "g", "packs": "pack", "trays": "tray"}[asked.unit]  # type: ignore[assignment]
        return Price(asked.price, per, product.pack_g, own=True)
    settings = state.settings_or_usual
    live = asked.unit == "trays"
    if customer.home or not settings.sells:
        return _home(settings, product, live=live)
    listed = _as_listed(state, customer.name, product, asked, day)
    return own_price(listed, live=live) or own_price(_alike(state, product, live=live), live=live)


def comes_to(found: Price, asked: LineAsked, grams: float) -> float:
    """What a line of so many grams comes to at a price that measures it. [farm's currency]"""
    if found.own or found.per == "tray":
        return found.price * asked.quantity
    if found.per == "pack":
        assert found.pack_g, "a pack has a price only where it has a weight"
        return found.price * grams / found.pack_g
    return found.price * grams / (100.0 if found.per == "100 g" else 1.0)


def own_price(product: Product, *, live: bool) -> Price | None:
    """The product's price where it measures what is asked for."""
    fits = product.price_per == "tray" if live else product.price_per != "tray"
    if product.price_per == "pack" and not product.pack_g:
        fits = False
    return Price(product.price, product.price_per, product.pack_g) if fits and product.price > 0 else None


def _home(settings: FarmSettings, product: Product, *, live: bool) -> Price:
    worth = settings.money.worth_home_100g
    if not live:
        return Price(worth, "100 g", product.pack_g, home=True)
    if product.price_per == "tray" and product.price > 0:
        return Price(product.price, "tray", home=True)
    return Price(worth * LIVE_HOME_G / 100.0, "tray", home=True)
