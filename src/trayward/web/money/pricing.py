"""What customers pay, whom their invoices are written to, and how invoices are written: rates, rounding, words."""

from __future__ import annotations

from typing import Literal, cast, get_args
from urllib.parse import quote

import msgspec
from starlette.responses import Response

from trayward.errors import InputError, NotFoundError
from trayward.farm.bills import Billing, Buyer, ListPrice, Party, Rounding, TaxRate
from trayward.money.coins import money_of
from trayward.money.listed import lists_of, steps_of
from trayward.web.ask import Ask
from trayward.web.money.view import RATES, PriceRow, price_rows, rate_rows, with_rates
from trayward.web.routing import act, page

PER = ("document", "line")


def prices(ask: Ask) -> Response:
    """What is sold at which price to all, and who has prices of their own."""
    state = ask.farm.state(ask.at)
    return ask.show(
        "money/prices.html",
        products=[product for product in state.products.values() if product.price > 0],
        customers=[
            (name, lists, state.buyers.get(name))
            for name, lists in lists_of(state).items()
            if not state.customers[name].home
        ],
        today=ask.today,
        currency=ask.settings.money.currency,
    )


def customer(ask: Ask) -> Response:
    """One customer: their own prices from a day on, and whom their invoices are written to."""
    state, name = ask.farm.state(ask.at), ask.query.text("name")
    if name not in state.customers:
        raise NotFoundError("customer", name, tuple(state.customers), "See them under Prices.")
    lists = lists_of(state)[name]
    return ask.show(
        "money/customer.html", customer=name, lists=lists, buyer=state.buyers.get(name), today=ask.today,
        rows=price_rows(state, name, ask.today, ask.settings.money.currency),
        currency=ask.settings.money.currency, billing=state.billing, contact=state.contacts.get(name),
    )  # fmt: skip


def set_prices(ask: Ask) -> Response:
    """A customer's own prices from a day on."""
    name = ask.form.need("customer")
    state = ask.farm.state(ask.at)
    begin = ask.form.maybe(ask.form.day, "valid_from") or ask.today
    rows = price_rows(state, name, ask.today, ask.settings.money.currency)
    listed = tuple(made for row in rows if (made := _typed_price(ask, row)) is not None)
    receipt = ask.farm.set_prices(name, listed, begin, **ask.said)
    return ask.recorded(_address(name), ask._("Kept."), receipt)


def _typed_price(ask: Ask, row: PriceRow) -> ListPrice | None:
    """What was typed for a product; None where it costs what it costs others."""
    form = ask.form
    product = _asked_of(ask, row.number, row.product)
    if not form.has(f"price_{row.number}"):
        if form.has(f"steps_{row.number}"):
            rule = "steps go down from a price of its own"
            raise InputError(f"price of {product}", "nothing", rule, "Give the price, or clear the steps.")
        return None
    price = money_of(form.text(f"price_{row.number}"), f"price of {product}")
    return ListPrice(product=product, price=price, steps=steps_of(product, form.text(f"steps_{row.number}")))


def _asked_of(ask: Ask, number: int, product: str) -> str:
    """What a row of the form was of when it was shown: another product may stand there now."""
    return ask.form.text(f"of_{number}", product)


def set_buyer(ask: Ask) -> Response:
    """Whom a customer's invoices are written to."""
    name, form = ask.form.need("customer"), ask.form
    party = Party(name=form.need("name"), address=form.text("address"), tax_number=form.text("tax_number"))
    days = form.whole("days", 0, 3650) if form.has("days") else None
    receipt = ask.farm.set_buyer(Buyer(customer=name, party=party, days=days), **ask.said)
    return ask.recorded(_address(name), ask._("Kept."), receipt)


# How invoices are written ---------------------------------------------------------------------------------------------


def billing_page(ask: Ask) -> Response:
    """Who sells, the rates of tax and what is sold at which, rounding, words."""
    state = ask.farm.state(ask.at)
    held = state.billing
    return ask.show(
        "money/billing.html", billing=held, rows=rate_rows(held), currency=ask.settings.money.currency,
        products=sorted(state.products), own={each.product: each.rate for each in held.products} if held else {},
    )  # fmt: skip


def billing(ask: Ask) -> Response:
    """How invoices are written from now on."""
    form = ask.form
    seller = Party(name=form.need("seller"), address=form.text("address"), tax_number=form.text("tax_number"))
    before = ask.farm.state(ask.at).billing or Billing(seller=seller)
    # What the form has no field for stays as it was.
    made = msgspec.structs.replace(
        with_rates(before, _typed_rates(ask, before), _typed_products(ask)),
        seller=seller,
        prefix=form.text("prefix"),
        days=form.whole("days", 0, 3650),
        included=form.ticked("included"),
        rounding=cast(Rounding, form.choice("rounding", get_args(Rounding))) if "rounding" in form else before.rounding,
        per=cast(Literal["line", "document"], form.choice("per", PER)) if "per" in form else before.per,
        wording=form.text("wording"),
        pay_to=form.text("pay_to"),
    )
    receipt = ask.farm.set_billing(made, **ask.said)
    return ask.recorded("/money/billing", ask._("Kept."), receipt)


def _typed_rates(ask: Ask, before: Billing) -> list[TaxRate | None]:
    """The rates of the form's rows, the usual one first; None for a row that was left empty."""
    found: list[TaxRate | None] = []
    for number, row in enumerate(rate_rows(before)):
        if f"percent_{number}" not in ask.form:
            found.append(row)
        elif not ask.form.has(f"percent_{number}"):
            found.append(None)
        else:
            percent = money_of(ask.form.text(f"percent_{number}"), f"rate {number + 1}")
            name = ask.form.text(f"rate_{number}") or ask._("tax")
            found.append(TaxRate(name=name, percent=percent))
    return found


def _typed_products(ask: Ask) -> dict[str, int]:
    """Product -> the row of the rate chosen for it; the products that the form asked about."""
    products = sorted(ask.farm.state(ask.at).products)
    return {
        _asked_of(ask, number, product): ask.form.whole(f"product_{number}", 0, RATES - 1)
        for number, product in enumerate(products)
        if ask.form.has(f"product_{number}")
    }


def _address(name: str) -> str:
    return f"/money/customer?name={quote(name, safe='')}"


ROUTES = (
    page("/money/prices", prices, may="run"),
    page("/money/customer", customer, may="run"),
    page("/money/billing", billing_page, may="run"),
    act("/money/prices", set_prices, may="run"),
    act("/money/buyer", set_buyer, may="run"),
    act("/money/billing", billing, may="run"),
)
