"""What the pages of money show, worked out from the farm's state without asking anything else."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal

import msgspec

from trayward.errors import InputError
from trayward.farm.bills import Billing, BillLine, Per, ProductRate, TaxRate
from trayward.farm.calendar import local_day
from trayward.farm.prices import price_list_of
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.money.coins import price_words, summed
from trayward.money.invoicing import usual_rate
from trayward.money.listed import counts_in, price_of, steps_words

BY = ("crop", "customer", "week", "shelf")
"""By what a page tells an account."""
SPANS = {"week": 7, "month": 28}
"""Days a glance looks back. [d]"""


class Open(msgspec.Struct, frozen=True, kw_only=True):
    """A customer to whom something went out that stands on no invoice."""

    customer: str
    lines: int
    amount: Decimal
    since: date


def sold_nothing(state: FarmState) -> bool:
    """Whether nothing of this farm has a price: at home money stays out of the way."""
    if any(product.price > 0 for product in state.products.values()):
        return False
    # What was sold is most often sold again: the newest first.
    return not any(line.price for delivery in reversed(state.deliveries) for line in delivery.lines if not line.home)


def days_back(span: str, today: date) -> tuple[date, date]:
    """The days of a glance, today included."""
    return today - timedelta(days=SPANS.get(span, 28) - 1), today


def open_by_customer(lines: Mapping[str, Sequence[BillLine]]) -> tuple[Open, ...]:
    """Who could be sent an invoice now, the oldest delivery first."""
    found = [
        Open(
            customer=customer, lines=len(mine), amount=summed(line.amount for line in mine),
            since=min(line.day for line in mine),
        )
        for customer, mine in lines.items()
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda each: (each.since, each.customer)))


RATES = 6
"""Rates of tax the form has rows for."""


def rate_rows(billing: Billing | None) -> list[TaxRate | None]:
    """The rows of the form: the usual rate first, the others after it, and empty ones to `RATES`, two at least."""
    usual = usual_rate(billing)
    rates = [] if billing is None or usual is None else [usual, *(each for each in billing.rates if each is not usual)]
    empty = max(2, min(3, RATES - len(rates)))
    return [*rates, *([None] * empty)]


def with_rates(billing: Billing, rates: list[TaxRate | None], products: dict[str, int]) -> Billing:
    """
    Invoices with other rates, each in the place of the one before; what is sold at a rate goes with it.

    Parameters
    ----------
    billing : Billing
        As it was.
    rates : list of TaxRate or None
        By the rows of `rate_rows(billing)`; None: there is none.
    products : dict
        Product -> row, where it was asked; others stay at the rate they have.

    Raises
    ------
    InputError
        If a product is sold at a rate that was taken out, or the first row is empty and others are not.
    """
    before = rate_rows(billing)
    place = {rate.name: number for number, rate in enumerate(before) if rate is not None}
    kept = {each.product for each in billing.products} - set(products)
    chosen = {each.product: place[each.rate] for each in billing.products if each.rate in place} | products
    if rates[0] is None and any(rates):
        rule = "the usual rate stands first"
        raise InputError("rate 1", "nothing", rule, "Type the usual rate there; 0 where no tax is asked.")
    names = [rate.name if rate is not None else "" for rate in rates]
    given = [name for name in names if name]
    twice = next((name for name in given if given.count(name) > 1), None)
    if twice is not None:
        where = len(names) - 1 - names[::-1].index(twice)
        raise InputError(f"name of rate {where + 1}", twice, "two rates have that name", "Call one otherwise.")
    own = []
    for product, row in sorted(chosen.items()):
        if row >= len(rates) or rates[row] is None:
            if any(rates):
                rule = "it is sold at a rate that is none"
                raise InputError(product, f"row {row + 1}", rule, "Choose another rate for it, or keep that one.")
            continue
        if row > 0 or product in kept:
            own.append(ProductRate(product=product, rate=names[row]))
    made = tuple(rate for rate in rates if rate is not None)
    return msgspec.structs.replace(billing, rates=made, usual=names[0], products=tuple(own))


MONTHS = 12
"""Months one can choose from on a page; older ones by their name in the address."""


def periods_of(state: FarmState, settings: FarmSettings, today: date) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The months, the newest first, and the years that a book has something of."""
    began = local_day(state.began, settings) if state.began is not None else today
    months: list[str] = []
    day = today.replace(day=1)
    while day >= began.replace(day=1) and len(months) < MONTHS:
        months.append(f"{day:%Y-%m}")
        day = (day - timedelta(days=1)).replace(day=1)
    return tuple(months), tuple(str(year) for year in range(today.year, max(began.year, today.year - 5) - 1, -1))


class PriceRow(msgspec.Struct, frozen=True, kw_only=True):
    """A product in a customer's price list: what it costs them, and what it costs others."""

    number: int
    product: str
    others: Decimal
    per: Per
    counts: str
    """What amounts of steps are in: packs, trays, g."""
    price: str = ""
    """As it can be typed again; empty: what it costs others."""
    steps: str = ""


def price_rows(state: FarmState, customer: str, day: date, currency: str) -> tuple[PriceRow, ...]:
    """Every product with a price, and what the customer's list that holds on a day says of it."""
    held = price_list_of(state, customer, day)
    listed = {each.product: each for each in held.prices} if held else {}
    found = []
    for number, product in enumerate(sorted(state.products.values(), key=lambda each: each.name)):
        own, others = listed.get(product.name), price_of(state, product.name)
        if others is None and own is None:
            continue
        found.append(PriceRow(
            number=number, product=product.name, others=others or Decimal(0), per=product.price_per,
            counts=counts_in(product), price=price_words(own.price, currency) if own else "",
            steps=steps_words(own, currency) if own else "",
        ))  # fmt: skip
    return tuple(found)
