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
from trayward.words import Own, counted, filled


def price_list_set(body: PriceListSet, units: ShownUnits) -> str:
    del units
    prices = body.prices
    told = names(f"{each.product} {each.price}" for each in prices.prices) or "none of their own"
    day, customer = day_words(prices.valid_from), Own(prices.customer)
    return filled("prices of {customer} from {day_words}: {told}", customer=customer, day_words=day, told=told)


def billing_set(body: BillingSet, units: ShownUnits) -> str:
    del units
    rates = names(f"{rate.name} {rate.percent} %" for rate in body.billing.rates) or "no tax"
    days, seller = counted(body.billing.days, "day"), Own(body.billing.seller.name)
    return filled("invoices from {seller}: {days} to pay, {rates}", seller=seller, days=days, rates=rates)


def buyer_set(body: BuyerSet, units: ShownUnits) -> str:
    del units
    buyer, party = body.buyer, Own(body.buyer.party.name)
    return filled("invoices of {customer} are written to {party}", customer=Own(buyer.customer), party=party)


def invoice_made(body: InvoiceMade, units: ShownUnits) -> str:
    del units
    bill = body.bill
    total, customer = f"{bill.total} {bill.currency}", Own(bill.customer)
    return filled("invoice {bill} to {customer}: {total}", bill=Own(bill.name), customer=customer, total=total)


def invoice_credited(body: InvoiceCredited, units: ShownUnits) -> str:
    del units
    bill = body.bill
    total, of = f"{bill.total} {bill.currency}", Own(bill.credits)
    said = filled("credit note {bill} for invoice {invoice}: {total}", bill=Own(bill.name), invoice=of, total=total)
    return joined(said, Own(bill.reason))


def invoice_sent(body: InvoiceSent, units: ShownUnits) -> str:
    del units
    invoice, to = Own(body.invoice), Own(body.sent.to)
    sent = filled("invoice {invoice} sent", invoice=invoice)
    return joined(filled("{sent} to {to}", sent=sent, to=to) if to else sent, body.sent.way)


def invoice_paid(body: InvoicePaid, units: ShownUnits) -> str:
    del units
    amount, invoice = str(body.paid.amount), Own(body.invoice)
    return joined(filled("{amount} paid for invoice {invoice}", amount=amount, invoice=invoice), body.paid.way)
