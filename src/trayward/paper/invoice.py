"""An invoice on paper. It adds nothing up: numbers and totals come from where the farm's money is kept."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import msgspec

from trayward.farm.bills import Bill, BillLine
from trayward.farm.bills import Party as BillParty
from trayward.paper.flow import Column, Flow, Words
from trayward.paper.goods_sheets import Party, two_parties
from trayward.paper.paper import Paper, day_in_full
from trayward.rounds.words import counted, day_words


class InvoiceLine(msgspec.Struct, frozen=True, kw_only=True):
    """One line of an invoice; money in the invoice's currency."""

    what: str
    quantity: str
    """With its unit: `4 packs`."""
    price: Decimal
    """Of one unit."""
    amount: Decimal
    tax: str = ""
    """Which rate holds for it, as `TaxTotal.name` has it."""
    note: str = ""
    """Lot codes, the delivery it is of."""


class TaxTotal(msgspec.Struct, frozen=True, kw_only=True):
    """One rate of tax: what it is taken of, and what it comes to."""

    name: str
    """`VAT 7 %`"""
    of: Decimal
    amount: Decimal


class Invoice(msgspec.Struct, frozen=True, kw_only=True):
    """An invoice, all of it given."""

    number: str
    day: date
    seller: Party
    buyer: Party
    currency: str
    lines: tuple[InvoiceLine, ...]
    net: Decimal
    taxes: tuple[TaxTotal, ...] = ()
    total: Decimal
    delivered: str = ""
    """The day or days of delivery."""
    due: date | None = None
    notes: tuple[str, ...] = ()
    """How to pay, words the law asks for."""
    title: str = "Invoice"
    """`Credit note` takes one back."""


COLUMNS = (
    Column(title="What"),
    Column(title="Quantity", wide=36.0, align="right"),
    Column(title="Price", wide=26.0, align="right"),
    Column(title="Tax", wide=26.0),
    Column(title="Amount", wide=32.0, align="right"),
)


def money_words(amount: Decimal) -> str:
    """
    An amount as it stands in a column, thousands set apart.

    Examples
    --------
    >>> money_words(Decimal("12345.60"))
    '12 345.60'
    """
    return f"{amount:,}".replace(",", " ")


def invoice_sheet(invoice: Invoice, paper: Paper) -> bytes:
    """An invoice with its lines, the totals by rate of tax, and what is to be paid."""
    about = f"Number {invoice.number}, {day_in_full(invoice.day)}"
    flow = paper.flow(invoice.title, about, unasked=True)
    two_parties(flow, invoice.seller, invoice.buyer)
    if invoice.delivered:
        flow.words(f"Delivered: {invoice.delivered}")
        flow.gap(2.0)
    flow.table(COLUMNS)
    for line in invoice.lines:
        what: tuple[str | Words, ...] = (Words(words=line.what, bold=True), line.note)
        flow.row(what, line.quantity, money_words(line.price), line.tax, money_words(line.amount))
    flow.end_table()
    _totals(flow, invoice)
    flow.gap(6.0)
    if invoice.due:
        flow.words(f"To be paid by {day_in_full(invoice.due)}.", bold=True)
    for words in invoice.notes:
        flow.words(words)
    return flow.pdf()


def _totals(flow: Flow, invoice: Invoice) -> None:
    """On one page all together, so that nobody looks for the tax on another."""
    flow.need(9.0 * (len(invoice.taxes) + 2) + 8.0)
    flow.gap(2.0)
    flow.table((Column(), Column(wide=90.0), Column(wide=42.0, align="right")))
    if invoice.taxes:
        flow.row("", "Net", money_words(invoice.net), ruled=False)
    for tax in invoice.taxes:
        flow.row("", f"{tax.name} of {money_words(tax.of)}", money_words(tax.amount), ruled=False)
    total = f"{money_words(invoice.total)} {invoice.currency}"
    flow.row("", Words(words="Total", bold=True, size=13.0), Words(words=total, bold=True, size=13.0))
    flow.end_table()


# An invoice as the farm's book has it ---------------------------------------------------------------------------------


def invoice_of(bill: Bill) -> Invoice:
    """What an invoice or a credit note of the book says on paper."""
    included = "Prices hold the tax already." if bill.included and bill.taxes else ""
    credit = f"Takes back from {bill.credits}: {bill.reason}" if bill.credits else ""
    days = sorted({line.day for line in bill.lines})
    return Invoice(
        number=bill.name,
        day=bill.day,
        seller=_party(bill.seller),
        buyer=_party(bill.buyer),
        currency=bill.currency,
        lines=tuple(_line(line) for line in bill.lines),
        net=bill.net,
        taxes=tuple(TaxTotal(name=_rate(each.rate, each.percent), of=each.net, amount=each.tax) for each in bill.taxes),
        total=bill.total,
        delivered=", ".join(day_in_full(day) for day in days),
        due=None if bill.credits else bill.due,
        notes=tuple(words for words in (credit, included, bill.wording, bill.pay_to) if words),
        title="Credit note" if bill.credits else "Invoice",
    )


def _party(party: BillParty) -> Party:
    number = (f"Tax number {party.tax_number}",) if party.tax_number else ()
    return Party(name=party.name, lines=(*party.address.splitlines(), *number))


def _rate(name: str, percent: Decimal) -> str:
    """
    A rate as an invoice names it; the figure is not said twice.

    Examples
    --------
    >>> _rate("VAT", Decimal("7.0")), _rate("VAT 7 %", Decimal("7"))
    ('VAT 7 %', 'VAT 7 %')
    """
    figure = f"{percent.normalize():f} %"
    return name if figure in name or not percent else f"{name} {figure}".strip()


def _line(line: BillLine) -> InvoiceLine:
    amount = f"{line.quantity.normalize():f}"
    unit = "g" if line.unit == "g" else counted(1 if line.quantity == 1 else 2, line.unit.removesuffix("s"))[2:]
    return InvoiceLine(
        what=line.product,
        quantity=f"{amount} {unit}",
        price=line.price,
        amount=line.amount,
        tax=_rate(line.rate, line.percent) if line.rate else "",
        note=f"{day_words(line.day)}, price for {line.per if line.per == '100 g' else f'1 {line.per}'}",
    )
