"""An invoice on paper. It adds nothing up: numbers and totals come from where the farm's money is kept."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

import msgspec

from trayward.farm.bills import Bill, BillLine
from trayward.farm.bills import Party as BillParty
from trayward.money.coins import price_words
from trayward.paper.flow import Column, Flow, Words
from trayward.paper.goods_sheets import Party, two_parties
from trayward.paper.paper import Paper
from trayward.paper.tongue import ENGLISH, Tongue, later


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
    title: str = later("Invoice")
    """`Credit note` takes one back. A word of ours; all else is in the sheet's language already."""


TAX = Column(title=later("Tax"), wide=26.0)
"""Left out where no line is taxed: an empty column asks to be filled."""
COLUMNS = (
    Column(title=later("What")),
    Column(title=later("Quantity"), wide=36.0, align="right"),
    Column(title=later("Price"), wide=26.0, align="right"),
    TAX,
    Column(title=later("Amount"), wide=32.0, align="right"),
)


MOST_DAYS = 4
"""Days of delivery named one by one above the lines."""


def invoice_sheet(invoice: Invoice, paper: Paper) -> bytes:
    """An invoice with its lines, the totals by rate of tax, and what is to be paid."""
    tongue = paper.tongue
    about = tongue._("Number %(number)s, %(day)s", number=invoice.number, day=tongue.day_in_full(invoice.day))
    flow = paper.flow(tongue._(invoice.title), about, unasked=True)
    two_parties(flow, invoice.seller, invoice.buyer)
    if invoice.delivered:
        flow.words(tongue._("Delivered: %(days)s", days=invoice.delivered))
        flow.gap(2.0)
    taxed = any(line.tax for line in invoice.lines)
    flow.table([column for column in COLUMNS if taxed or column is not TAX])
    for line in invoice.lines:
        what: tuple[str | Words, ...] = (Words(words=line.what, bold=True), line.note)
        tax = (line.tax,) if taxed else ()
        flow.row(what, line.quantity, tongue.money(line.price), *tax, tongue.money(line.amount))
    flow.end_table()
    _totals(flow, invoice)
    flow.gap(6.0)
    if invoice.due:
        flow.words(tongue._("To be paid by %(day)s.", day=tongue.day_in_full(invoice.due)), bold=True)
    for words in invoice.notes:
        flow.words(words)
    return flow.pdf()


def _totals(flow: Flow, invoice: Invoice) -> None:
    """On one page all together, so that nobody looks for the tax on another."""
    flow.need(9.0 * (len(invoice.taxes) + 2) + 8.0)
    flow.gap(2.0)
    flow.table((Column(), Column(wide=90.0), Column(wide=42.0, align="right")))
    tongue = flow.tongue
    if invoice.taxes:
        flow.row("", tongue._("Net"), tongue.money(invoice.net), ruled=False)
    for tax in invoice.taxes:
        of = tongue._("%(tax)s of %(amount)s", tax=tax.name, amount=tongue.money(tax.of))
        flow.row("", of, tongue.money(tax.amount), ruled=False)
    total = f"{tongue.money(invoice.total)} {invoice.currency}"
    flow.row("", Words(words=tongue._("Total"), bold=True, size=13.0), Words(words=total, bold=True, size=13.0))
    flow.end_table()


# An invoice as the farm's book has it ---------------------------------------------------------------------------------


def invoice_of(bill: Bill, tongue: Tongue = ENGLISH, mass: str = "g") -> Invoice:
    """What an invoice or a credit note of the book says on paper; weights in grams, and in `mass` before them."""
    included = tongue._("Prices hold the tax already.") if bill.included and bill.taxes else ""
    taken = tongue._("Takes back from %(invoice)s: %(reason)s", invoice=bill.credits, reason=bill.reason)
    credit = taken if bill.credits else ""
    days = sorted({line.day for line in bill.lines})
    return Invoice(
        number=bill.name,
        day=bill.day,
        seller=_party(bill.seller, tongue),
        buyer=_party(bill.buyer, tongue),
        currency=bill.currency,
        lines=tuple(_line(line, bill.currency, tongue, mass) for line in bill.lines),
        net=bill.net,
        taxes=tuple(
            TaxTotal(name=_rate(each.rate, each.percent, tongue), of=each.net, amount=each.tax)
            for each in bill.taxes
            if each.rate or each.tax
        ),
        total=bill.total,
        delivered=_days(days, tongue),
        due=None if bill.credits else bill.due,
        notes=tuple(words for words in (credit, included, bill.wording, bill.pay_to) if words),
        title=later("Credit note") if bill.credits else later("Invoice"),
    )


def _days(days: Sequence[date], tongue: Tongue) -> str:
    """The days of delivery; of many the first and the last, for each line says its own."""
    if len(days) <= MOST_DAYS:
        return ", ".join(map(tongue.day_in_full, days))
    first, last = tongue.day_in_full(days[0]), tongue.day_in_full(days[-1])
    return tongue._("%(first)s to %(last)s, each line with its day", first=first, last=last)


def _party(party: BillParty, tongue: Tongue) -> Party:
    number = (tongue._("Tax number %(number)s", number=party.tax_number),) if party.tax_number else ()
    return Party(name=party.name, lines=(*party.address.splitlines(), *number))


def _rate(name: str, percent: Decimal, tongue: Tongue = ENGLISH) -> str:
    """
    A rate as an invoice names it; the figure is not said twice.

    Examples
    --------
    >>> _rate("VAT", Decimal("7.0")), _rate("VAT 7 %", Decimal("7"))
    ('VAT 7 %', 'VAT 7 %')
    """
    plain = f"{percent.normalize():f} %"
    figure = tongue.number(plain)
    return name if plain in name or figure in name or not percent else f"{name} {figure}".strip()


def _line(line: BillLine, currency: str, tongue: Tongue, mass: str) -> InvoiceLine:
    # Nobody thinks of what a single gram costs, nor can a coin say it.
    price = line.price * 100 if line.per == "g" else line.price
    return InvoiceLine(
        what=line.product,
        quantity=_things(line, tongue, mass),
        price=Decimal(price_words(price, currency)),
        amount=line.amount,
        tax=_rate(line.rate, line.percent, tongue) if line.rate else "",
        note=tongue._("%(day)s, price for %(per)s", day=tongue.day(line.day), per=_per(line, tongue)),
    )


def _things(line: BillLine, tongue: Tongue, mass: str) -> str:
    """A quantity with its unit: `4 packs`, `1 tray`, `3 oz (85.049 g)`."""
    many, amount = 1 if line.quantity == 1 else 2, tongue.number(f"{line.quantity.normalize():f}")
    if line.unit == "packs":
        return tongue.ngettext("%(amount)s pack", "%(amount)s packs", many, amount=amount)
    if line.unit == "trays":
        return tongue.ngettext("%(amount)s tray", "%(amount)s trays", many, amount=amount)
    grams = f"{amount} {line.unit}"
    return grams if mass == "g" else f"{tongue.mass(float(line.quantity), mass)} ({grams})"


def _per(line: BillLine, tongue: Tongue) -> str:
    """What a price is for."""
    return "100 g" if line.per in ("g", "100 g") else tongue.said(f"1 {line.per}")
