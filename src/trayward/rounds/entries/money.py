"""Words of entries about prices and invoices."""

from __future__ import annotations

from trayward.dates import day_words
from trayward.farm.entries import (
    BillingSet,
    BuyerSet,
    InvoiceCredited,
    InvoiceMade,
    InvoicePaid,
    InvoiceSent,
    PriceListSet,
)
from trayward.farm.settings import ShownUnits
from trayward.rounds.entries.names import names
from trayward.rounds.sayings import joined
from trayward.words import counted


def price_list_set(body: PriceListSet, units: ShownUnits) -> str:
    del units
    prices = body.prices
    told = names(f"{each.product} {each.price}" for each in prices.prices) or "none of their own"
    return f"prices of {prices.customer} from {day_words(prices.valid_from)}: {told}"


def billing_set(body: BillingSet, units: ShownUnits) -> str:
    del units
    rates = names(f"{rate.name} {rate.percent} %" for rate in body.billing.rates) or "no tax"
    return f"invoices from {body.billing.seller.name}: {counted(body.billing.days, 'day')} to pay, {rates}"


def buyer_set(body: BuyerSet, units: ShownUnits) -> str:
    del units
    return f"invoices of {body.buyer.customer} are written to {body.buyer.party.name}"


def invoice_made(body: InvoiceMade, units: ShownUnits) -> str:
    del units
    return f"invoice {body.bill.name} to {body.bill.customer}: {body.bill.total} {body.bill.currency}"


def invoice_credited(body: InvoiceCredited, units: ShownUnits) -> str:
    del units
    bill = body.bill
    return joined(f"credit note {bill.name} for invoice {bill.credits}: {bill.total} {bill.currency}", bill.reason)


def invoice_sent(body: InvoiceSent, units: ShownUnits) -> str:
    del units
    to = f"invoice {body.invoice} sent to {body.sent.to}" if body.sent.to else f"invoice {body.invoice} sent"
    return joined(to, body.sent.way)


def invoice_paid(body: InvoicePaid, units: ShownUnits) -> str:
    del units
    return joined(f"{body.paid.amount} paid for invoice {body.invoice}", body.paid.way)
