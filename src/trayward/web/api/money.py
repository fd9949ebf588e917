"""Money, for programs: what was earned and is owed, prices, invoices from made to paid."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Annotated

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.farm.bills import BillHeld, Billing, Buyer, ListPrice, Party, PriceList, PriceStep
from trayward.money.invoicing import Owed, invoice_named, standing_of
from trayward.money.report import Report
from trayward.money.types import By, Earned
from trayward.web.api.operation import Nothing, look, tell
from trayward.web.api.telling import Name, Telling, Words
from trayward.web.ask import Ask

MOST = 500
WEEKS = 4
"""Weeks back that are told where nothing is said."""
Amount = Annotated[str, msgspec.Meta(pattern=r"^[0-9]{1,9}(\.[0-9]{1,6})?$")]
"""Written as text, so that no digit is lost: `"3.40"`. [farm's currency]"""
Number = Annotated[str, msgspec.Meta(min_length=1, max_length=200, pattern=r"^[^\x00-\x1f]+$")]


class EarnedAsked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which days, both included, and by what they are told; the last four weeks by crop if left out."""

    first: date | None = None
    last: date | None = None
    by: By = "crop"


class ReportAsked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A month (`2026-11`) or a year (`2026`); this month if left out."""

    period: Annotated[str, msgspec.Meta(max_length=7)] = ""


class OwedTold(msgspec.Struct, frozen=True, kw_only=True):
    """What each customer owes, who owes the longest first."""

    currency: str
    owed: tuple[Owed, ...]


class InvoiceTold(msgspec.Struct, frozen=True, kw_only=True):
    """An invoice or a credit note with what came of it."""

    held: BillHeld
    standing: str
    """open, overdue, settled, credit note."""
    owed: Decimal
    """[currency]"""


class InvoicesAsked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Invoices and credit notes by their numbers; of one customer, where it is named."""

    customer: Annotated[str, msgspec.Meta(max_length=200)] = ""
    after: Annotated[int, msgspec.Meta(ge=0, le=1_000_000_000)] = 0
    """Those with a higher number."""
    limit: Annotated[int, msgspec.Meta(ge=1, le=MOST)] = 50


class InvoicePage(msgspec.Struct, frozen=True, kw_only=True):
    """Invoices and credit notes, the first number first."""

    invoices: tuple[InvoiceTold, ...]
    next: int | None
    """What `after` is to be for those that follow; None where there are none."""


class PricesTold(msgspec.Struct, frozen=True, kw_only=True):
    """How invoices are written, whom to, and every customer's own prices."""

    currency: str
    billing: Billing | None
    buyers: tuple[Buyer, ...]
    lists: tuple[PriceList, ...]


class StepSaid(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Another price from an amount on: packs or trays where the price is for one, else grams."""

    least: Amount
    price: Amount


class PriceSaid(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A product's price, for what its own price is for."""

    product: Name
    price: Amount
    steps: Annotated[tuple[StepSaid, ...], msgspec.Meta(max_length=20)] = ()


class SetPrices(Telling, frozen=True, kw_only=True):
    """A customer's own prices from a day on, all of them; what is not named costs what it costs others."""

    customer: Name
    valid_from: date
    prices: Annotated[tuple[PriceSaid, ...], msgspec.Meta(max_length=500)]


class SetBuyer(Telling, frozen=True, kw_only=True):
    """Whom a customer's invoices are written to."""

    customer: Name
    name: Name
    address: Words = ""
    tax_number: Words = ""
    days: Annotated[int, msgspec.Meta(ge=0, le=3650)] | None = None
    """Days to pay, where they differ. [d]"""


class SetBilling(Telling, frozen=True, kw_only=True):
    """How invoices are written, whole. For rates and words defer to a licensed bookkeeper and the local rules."""

    billing: Billing


class MakeInvoice(Telling, frozen=True, kw_only=True):
    """The next invoice of a customer: what went out until a day and stands on none yet."""

    customer: Name
    up_to: date | None = None
    """The last day of delivery; today if left out."""


class SendInvoice(Telling, frozen=True, kw_only=True):
    """An invoice or a credit note went to the customer."""

    invoice: Number
    day: date | None = None
    way: Words = ""
    to: Words = ""


class PayInvoice(Telling, frozen=True, kw_only=True):
    """Money came for an invoice."""

    invoice: Number
    amount: Amount
    day: date | None = None
    way: Words = ""


class CreditInvoice(Telling, frozen=True, kw_only=True):
    """A credit note for some lines of an invoice, by their `source`; all that is left where none is named."""

    invoice: Number
    reason: Annotated[Words, msgspec.Meta(min_length=1)]
    lines: Annotated[tuple[Words, ...], msgspec.Meta(max_length=1000)] = ()
    again: bool = False
    """True: what it takes away may be invoiced anew."""


def _earned(ask: Ask, asked: EarnedAsked) -> Earned:
    last = asked.last or ask.today
    return ask.farm.earned(asked.first or last - timedelta(days=7 * WEEKS - 1), last, by=asked.by, at=ask.at)


def _report(ask: Ask, asked: ReportAsked) -> Report:
    return ask.farm.money_report(asked.period or f"{ask.today:%Y-%m}", at=ask.at)


def _owed(ask: Ask, _: Nothing) -> OwedTold:
    return OwedTold(currency=ask.settings.money.currency, owed=ask.farm.owed(at=ask.at))


def _invoices(ask: Ask, asked: InvoicesAsked) -> InvoicePage:
    held = [
        each for each in ask.farm.state(ask.at).bills.values()
        if each.bill.number > asked.after and asked.customer in ("", each.bill.customer)
    ]  # fmt: skip
    shown = held[: asked.limit]
    more = shown[-1].bill.number if len(held) > len(shown) else None
    return InvoicePage(invoices=tuple(_told(each, ask) for each in shown), next=more)


def _invoice(ask: Ask, _: Nothing) -> InvoiceTold:
    state, name = ask.farm.state(ask.at), str(ask.path["name"])
    return _told(state.bills[name] if name in state.bills else invoice_named(state, name), ask)


def _told(held: BillHeld, ask: Ask) -> InvoiceTold:
    owed = Decimal(0) if held.bill.credits else held.owed
    return InvoiceTold(held=held, standing=standing_of(held, ask.today), owed=owed)


def _prices(ask: Ask, _: Nothing) -> PricesTold:
    state = ask.farm.state(ask.at)
    return PricesTold(
        currency=ask.settings.money.currency, billing=state.billing, buyers=tuple(state.buyers.values()),
        lists=tuple(each for lists in state.price_lists.values() for each in lists),
    )  # fmt: skip


def _set_prices(ask: Ask, told: SetPrices, said: Said) -> Receipt:
    prices = [
        ListPrice(
            product=each.product, price=Decimal(each.price),
            steps=tuple(PriceStep(least=Decimal(step.least), price=Decimal(step.price)) for step in each.steps),
        )
        for each in told.prices
    ]  # fmt: skip
    return ask.farm.set_prices(told.customer, prices, told.valid_from, **said)


def _set_buyer(ask: Ask, told: SetBuyer, said: Said) -> Receipt:
    party = Party(name=told.name, address=told.address, tax_number=told.tax_number)
    return ask.farm.set_buyer(Buyer(customer=told.customer, party=party, days=told.days), **said)


def _set_billing(ask: Ask, told: SetBilling, said: Said) -> Receipt:
    return ask.farm.set_billing(told.billing, **said)


def _make(ask: Ask, told: MakeInvoice, said: Said) -> Receipt:
    return ask.farm.invoice(told.customer, told.up_to, **said)


def _sent(ask: Ask, told: SendInvoice, said: Said) -> Receipt:
    return ask.farm.invoice_sent(told.invoice, day=told.day, way=told.way, to=told.to, **said)


def _paid(ask: Ask, told: PayInvoice, said: Said) -> Receipt:
    return ask.farm.invoice_paid(told.invoice, Decimal(told.amount), day=told.day, way=told.way, **said)


def _credit(ask: Ask, told: CreditInvoice, said: Said) -> Receipt:
    return ask.farm.credit(told.invoice, told.reason, lines=told.lines, again=told.again, **said)


OPERATIONS = (
    look("/money/earned", _earned, Earned, "money", "What was earned, by crop, customer, week, ...",
         takes=EarnedAsked, may="run", steady=True),
    look("/money/report", _report, Report, "money", "A month or a year against the time before and the plan.",
         takes=ReportAsked, may="run", steady=True),
    look("/money/owed", _owed, OwedTold, "money", "What customers owe.", may="run", steady=True),
    look("/money/prices", _prices, PricesTold, "money", "Prices, buyers, and how invoices are written.", may="run",
         steady=True),
    tell("/money/prices", _set_prices, SetPrices, "money", "A customer's own prices from a day on.", may="run",
         kinds=("price list set",)),
    tell("/money/buyer", _set_buyer, SetBuyer, "money", "Whom invoices are written to.", may="run",
         kinds=("buyer set",)),
    tell("/money/billing", _set_billing, SetBilling, "money", "How invoices are written.", may="run",
         kinds=("billing set",)),
    look("/money/invoices", _invoices, InvoicePage, "money", "Invoices and credit notes.", takes=InvoicesAsked,
         may="run", steady=True),
    look("/money/invoices/{name:path}", _invoice, InvoiceTold, "money", "One invoice or credit note.", may="run",
         steady=True),
    tell("/money/invoices", _make, MakeInvoice, "money", "Make the next invoice of a customer.", may="run",
         kinds=("invoice made",)),
    tell("/money/sent", _sent, SendInvoice, "money", "An invoice was sent.", may="run", kinds=("invoice sent",)),
    tell("/money/paid", _paid, PayInvoice, "money", "Money came for an invoice.", may="run",
         kinds=("invoice paid",)),
    tell("/money/credit", _credit, CreditInvoice, "money", "Take an invoice back by a credit note.", may="run",
         kinds=("invoice credited",)),
)  # fmt: skip
