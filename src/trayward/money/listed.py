"""Price lists as people type and read them: a price, and other prices from an amount on."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal

from trayward.errors import InputError
from trayward.farm.bills import ListPrice, PriceList, PriceStep
from trayward.farm.orders import Product
from trayward.farm.state import FarmState
from trayward.money.coins import money_of, price_words
from trayward.units import require_one_meaning

_STEP = re.compile(r"\s*(?:from\s+)?(\S+)\s*(?:at|:|=)\s*(\S+)\s*")
EXAMPLE = "from 10 at 3.00"


def listed_price(product: str, text: str) -> ListPrice:
    """
    A product's price as it was typed: `3.40`, or with steps `3.40 from 10 at 3.00 from 50 at 2.80`.

    Raises
    ------
    InputError
        If a part of it is no amount.

    Examples
    --------
    >>> listed_price("pea punnet", "3,40 from 10 at 3,00").steps
    (PriceStep(least=Decimal('10'), price=Decimal('3.00')),)
    """
    price, *steps = re.split(r"\bfrom\b", text)
    made = tuple(_step(product, each) for each in steps)
    return ListPrice(product=product, price=money_of(price.strip(), product), steps=made)


def steps_of(product: str, text: str) -> tuple[PriceStep, ...]:
    """
    Steps alone, as a field of their own has them: `from 10 at 3.00 from 50 at 2.80`, or a line for each.

    Raises
    ------
    InputError
        If a part of it is no amount.
    """
    parts = [part for part in re.split(r"\bfrom\b|[;\n]", text) if part.strip()]
    return tuple(_step(product, each) for each in parts)


def _step(product: str, text: str) -> PriceStep:
    match = _STEP.fullmatch(text)
    if match is None:
        raise InputError(product, text.strip() or "nothing", "a step is an amount and its price", f"Say: {EXAMPLE}.")
    require_one_meaning(match[1], name=product)
    return PriceStep(least=money_of(match[1], product), price=money_of(match[2], product))


def steps_words(listed: ListPrice, currency: str) -> str:
    """
    The steps of a price, as they can be typed again.

    Examples
    --------
    >>> steps_words(listed_price("pea", "3.40 from 10 at 3"), "EUR")
    'from 10 at 3.00'
    """
    return " ".join(f"from {step.least:f} at {price_words(step.price, currency)}" for step in listed.steps)


def listed_words(listed: ListPrice, currency: str) -> str:
    """
    A price with its steps.

    Examples
    --------
    >>> listed_words(listed_price("pea", "3.40 from 10 at 3"), "EUR")
    '3.40 from 10 at 3.00'
    """
    return f"{price_words(listed.price, currency)} {steps_words(listed, currency)}".strip()


def counts_in(product: Product) -> str:
    """What the amounts of a product's steps are in: `packs`, `trays` or `g`."""
    return {"pack": "packs", "tray": "trays"}.get(product.price_per, "g")


def lists_of(state: FarmState) -> Mapping[str, tuple[PriceList, ...]]:
    """Every customer's lists, the newest first; of all customers, those without one too."""
    return {name: tuple(reversed(state.price_lists.get(name, ()))) for name in sorted(state.customers)}


def price_of(state: FarmState, product: str) -> Decimal | None:
    """A product's own price, for those without a list; None where it has none."""
    held = state.products.get(product)
    return Decimal(repr(held.price)) if held is not None and held.price > 0 else None
