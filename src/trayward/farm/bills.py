"""Price lists and invoices: what a customer pays for what, who sells, and what was asked for in writing.

Money here is decimal. A price list holds from a day on, so that a new price never changes what went out before it. An
invoice carries all it says with it, the two names and addresses too: it stays as it was when it was made.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Literal

import msgspec

Per = Literal["g", "100 g", "pack", "tray"]
"""What a price is for."""
Rounding = Literal["half up", "half even"]
"""Where half a coin goes: up, away from zero, or to the even neighbour."""


class PriceStep(msgspec.Struct, frozen=True, kw_only=True):
    """Another price from an amount on: what a line asks for in all is sold at it. [farm's currency]"""

    least: Decimal
    """From so much on: packs or trays where the price is for one, else grams. [-], [g]"""
    price: Decimal


class ListPrice(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What a product costs a customer, for what the product's own price is for. [farm's currency]"""

    product: str
    price: Decimal
    steps: tuple[PriceStep, ...] = ()
    """Larger amounts at other prices, the smallest first."""


class PriceList(msgspec.Struct, frozen=True, kw_only=True):
    """A customer's own prices from a day on, all of them: what is not named costs what it costs others."""

    customer: str
    valid_from: date
    prices: tuple[ListPrice, ...]


class Party(msgspec.Struct, frozen=True, kw_only=True):
    """Who sells or buys, as an invoice names them."""

    name: str
    address: str = ""
    """As on a letter, line by line."""
    tax_number: str = ""


class TaxRate(msgspec.Struct, frozen=True, kw_only=True):
    """A rate of tax on what is sold. [%]"""

    name: str
    percent: Decimal


class ProductRate(msgspec.Struct, frozen=True, kw_only=True):
    """Which rate a product is sold at, where it is not the usual one."""

    product: str
    rate: str


class Account(msgspec.Struct, frozen=True, kw_only=True):
    """What the farm's books call an account: `sales`, `owed`, `paid`, `tax`, or a kind of cost."""

    what: str
    account: str


class Billing(msgspec.Struct, frozen=True, kw_only=True):
    """How a farm writes its invoices. A licensed bookkeeper and the local rules say which rates and words are right."""

    seller: Party
    prefix: str = ""
    """Stands before every number."""
    days: int = 14
    """Days to pay. [d]"""
    rates: tuple[TaxRate, ...] = ()
    """None: no tax is shown."""
    usual: str = ""
    """The rate of products that name no other; empty: the first."""
    products: tuple[ProductRate, ...] = ()
    included: bool = False
    """True: prices hold the tax already."""
    rounding: Rounding = "half up"
    per: Literal["line", "document"] = "document"
    """Whether tax is rounded on each line, or once for each rate of a document."""
    wording: str = ""
    """What has to stand on it, for instance why no tax is asked."""
    pay_to: str = ""
    """How to pay."""
    accounts: tuple[Account, ...] = ()
    """The farm's own names of accounts, for its bookkeeper."""


class Buyer(msgspec.Struct, frozen=True, kw_only=True):
    """Whom a customer's invoices are written to."""

    customer: str
    party: Party
    days: int | None = None
    """Days to pay, where they differ. [d]"""


class BillLine(msgspec.Struct, frozen=True, kw_only=True):
    """A line of an invoice: what went out on a day for one order line."""

    source: str
    """The entry of the delivery and the order line: `ENTRY:ORDER/LINE`."""
    day: date
    product: str
    quantity: Decimal
    unit: Literal["g", "packs", "trays"]
    price: Decimal
    """For `per`. [currency]"""
    per: Per
    amount: Decimal
    """As prices are said: with tax where they hold it. [currency]"""
    rate: str = ""
    percent: Decimal = Decimal(0)
    """Of the tax. [%]"""


class TaxSum(msgspec.Struct, frozen=True, kw_only=True):
    """What a rate comes to on a document. [currency]"""

    rate: str
    percent: Decimal
    net: Decimal
    tax: Decimal


class Bill(msgspec.Struct, frozen=True, kw_only=True):
    """An invoice or a credit note, whole. Amounts are above zero on both; a credit note takes away. [currency]"""

    number: int
    """1, 2, 3, ... without gaps, invoices and credit notes together."""
    name: str
    """The number as it is written."""
    customer: str
    day: date
    due: date
    seller: Party
    buyer: Party
    currency: str
    lines: tuple[BillLine, ...]
    taxes: tuple[TaxSum, ...]
    net: Decimal
    tax: Decimal
    total: Decimal
    included: bool = False
    wording: str = ""
    pay_to: str = ""
    credits: str = ""
    """The invoice this credit note takes from; empty on an invoice."""
    reason: str = ""


class Paid(msgspec.Struct, frozen=True, kw_only=True):
    """Money that came for an invoice. [currency]"""

    day: date
    amount: Decimal
    way: str = ""


class Sent(msgspec.Struct, frozen=True, kw_only=True):
    """An invoice or a credit note that went to the customer."""

    day: date
    way: str = ""
    """How: by mail, with the delivery."""
    to: str = ""
    """To whom, or to which address."""


class BillHeld(msgspec.Struct, kw_only=True):
    """An invoice with what came of it."""

    bill: Bill
    sent: list[Sent] = []
    paid: list[Paid] = []
    credited: list[str] = []
    """Names of the credit notes that take from it."""
    credit: Decimal = Decimal(0)
    """What they take away together. [currency]"""

    @property
    def owed(self) -> Decimal:
        """What is still to be paid; below zero where too much came. [currency]"""
        return self.bill.total - self.credit - sum((paid.amount for paid in self.paid), Decimal(0))


class LineGone(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What went out for one order line at once, with the price as it was then."""

    line: str
    product: str = ""
    unit: Literal["g", "packs", "trays"] = "g"
    packs: dict[str, int] = {}
    loose: dict[str, float] = {}
    """Grams by harvest lot. [g]"""
    trays: tuple[str, ...] = ()
    asked: float = 0.0
    """How much of it was asked for, in the unit: nobody pays for what they did not order."""
    before: float = 0.0
    """What had gone out for it before: grams, or live trays. [g], [-]"""
    price: float | None = None
    """For `per`; None: nobody said one. [currency]"""
    per: Per = "g"
    own: bool = False
    """True: the line has a price of its own."""
    pack_g: float | None = None
    """Net weight of the pack the price was said for. [g]"""
    home: bool = False
    """True: the grower's own table; the price is what it is worth there."""


class DeliveryMade(msgspec.Struct, frozen=True, kw_only=True):
    """A delivery as it happened."""

    entry: str
    delivery: str
    customer: str
    day: date
    lines: tuple[LineGone, ...]


class Thrown(msgspec.Struct, frozen=True, kw_only=True):
    """Cut crop thrown away on a day, as far as there was any."""

    day: date
    loose: dict[str, float] = {}
    packs: dict[str, int] = {}
    reason: str = ""
