"""Rows for a bookkeeper: what was invoiced, credited, paid and used up, debit against credit, by the farm's accounts.

Plain double entry: the rows of a document add up to the same on both sides. The names of the accounts are the farm's
own. Which of it belongs into whose books: defer to a licensed bookkeeper and the local rules.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal

import msgspec

from trayward.farm.bills import Bill, Billing, Paid
from trayward.farm.calendar import month_end
from trayward.farm.cells import plain_cell
from trayward.farm.state import FarmState
from trayward.money.types import CALLED, COSTS, Earned

USUAL = {"owed": "customers", "paid": "bank", "sales": "sales", "tax": "tax on sales", "used": "used up"}
"""What accounts are called where the farm names none."""
HEADINGS = ("date", "document", "account", "words", "debit", "credit", "currency")


class Posting(msgspec.Struct, frozen=True, kw_only=True):
    """One row: an amount on one side of one account. [currency]"""

    day: date
    document: str
    account: str
    words: str
    debit: Decimal = Decimal(0)
    credit: Decimal = Decimal(0)
    currency: str


def account_of(billing: Billing | None, what: str) -> str:
    """What the farm calls an account; a kind of cost is called `cost of ...` where it names none."""
    named = {each.what: each.account for each in billing.accounts} if billing is not None else {}
    return named.get(what) or USUAL.get(what) or f"cost of {CALLED.get(what, what)}"


def bills_journal(state: FarmState, first: date, last: date) -> tuple[Posting, ...]:
    """Invoices, credit notes and payments of some days, in the order of their days."""
    found: list[Posting] = []
    for held in state.bills.values():
        if first <= held.bill.day <= last:
            found += _bill(held.bill, state.billing)
        for paid in held.paid:
            if first <= paid.day <= last:
                found += _paid(held.bill, paid, state.billing)
    return tuple(sorted(found, key=lambda posting: (posting.day, posting.document)))


def costs_journal(account: Earned, billing: Billing | None) -> tuple[Posting, ...]:
    """What was used up, month by month: an account told by month, debit of its cost against what was used."""
    found: list[Posting] = []
    for row in account.rows:
        day = min(month_end(date.fromisoformat(f"{row.name}-01")), account.last)
        for part in COSTS:
            amount, words = getattr(row.parts, part), f"{CALLED[part]} {row.name}"
            if amount:
                document = f"costs {row.name}"
                found += _both(
                    day, document, account_of(billing, part), account_of(billing, "used"), words, amount,
                    account.currency,
                )  # fmt: skip
    return tuple(found)


def to_csv(headings: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    """Rows as CSV that a spreadsheet opens; text that would be read as a formula is set apart."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(headings)
    writer.writerows([plain_cell(value) for value in row] for row in rows)
    return text.getvalue()


def journal_csv(postings: Iterable[Posting]) -> str:
    """Postings as CSV."""
    return to_csv(
        HEADINGS,
        (
            (each.day, each.document, each.account, each.words, each.debit or "", each.credit or "", each.currency)
            for each in postings
        ),
    )


def _bill(bill: Bill, billing: Billing | None) -> Iterator[Posting]:
    words = f"{'credit note' if bill.credits else 'invoice'} {bill.customer}"
    owed, sales = account_of(billing, "owed"), account_of(billing, "sales")
    for each in bill.taxes:
        yield from _both(bill.day, bill.name, owed, sales, words, each.net, bill.currency, back=bool(bill.credits))
        named = f"{words}, {each.rate} {each.percent} %"
        tax = account_of(billing, "tax")
        yield from _both(bill.day, bill.name, owed, tax, named, each.tax, bill.currency, back=bool(bill.credits))


def _paid(bill: Bill, paid: Paid, billing: Billing | None) -> Iterator[Posting]:
    words = f"{bill.customer} paid {bill.name}" + (f", {paid.way}" if paid.way else "")
    accounts = account_of(billing, "paid"), account_of(billing, "owed")
    yield from _both(paid.day, bill.name, *accounts, words, paid.amount, bill.currency)


def _both(
    day: date, document: str, debit: str, credit: str, words: str, amount: Decimal, currency: str, *, back: bool = False
) -> Iterator[Posting]:
    """An amount on both sides; `back` takes it back. Nothing for nothing."""
    if not amount:
        return
    if back != (amount < 0):
        debit, credit = credit, debit
    shown = abs(amount)
    yield Posting(day=day, document=document, account=debit, words=words, debit=shown, currency=currency)
    yield Posting(day=day, document=document, account=credit, words=words, credit=shown, currency=currency)
