"""Invoices from what was delivered and not asked for yet: lines, tax, totals to the coin; credit notes; what is owed.

Tax is worked out as the farm says: on each line, or once for each rate of a document, prices with tax in them or
without, half a coin up or to the even one. None of it is a verdict: which rates, words and rounding are right where a
farm sells is for a licensed bookkeeper and the local rules to say.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date, timedelta
from decimal import Decimal

import msgspec
from msgspec.structs import replace

from trayward.errors import InputError, NotFoundError
from trayward.farm.bills import Bill, BillHeld, Billing, BillLine, Buyer, DeliveryMade, LineGone, Party, TaxRate, TaxSum
from trayward.farm.fresh import Fresh
from trayward.farm.state import FarmState
from trayward.farm.transitions.bills import next_number
from trayward.money.coins import exact, rounded, summed
from trayward.money.sold import billed, source_of, worth

NOBODY = Billing(seller=Party(name=""))
"""Where nobody said how invoices are written."""
DIGITS = 4
"""Of a running number at least, so that names sort by it."""


class Owed(msgspec.Struct, frozen=True, kw_only=True):
    """What a customer owes. [currency]"""

    customer: str
    owed: Decimal
    overdue: Decimal
    oldest_due: date | None
    invoices: tuple[str, ...]


def rate_of(billing: Billing, product: str) -> TaxRate | None:
    """The rate a product is sold at; None where no tax is asked."""
    return _rate(billing, next((each.rate for each in billing.products if each.product == product), billing.usual))


def usual_rate(billing: Billing | None) -> TaxRate | None:
    """The rate of products that name no other; None where no tax is asked."""
    return _rate(billing, billing.usual) if billing is not None else None


def without_tax(amount: Decimal, product: str, billing: Billing | None) -> Decimal:
    """What is left of a price that may hold the tax already. [currency]"""
    if billing is None or not billing.included:
        return amount
    rate = rate_of(billing, product)
    return amount if rate is None else amount * 100 / (100 + rate.percent)


def _rate(billing: Billing, name: str) -> TaxRate | None:
    """The rate of that name, else the first."""
    return next((rate for rate in billing.rates if rate.name == name), billing.rates[0] if billing.rates else None)


def taxes_of(
    lines: Iterable[BillLine], billing: Billing, currency: str
) -> tuple[tuple[TaxSum, ...], Decimal, Decimal, Decimal]:
    """
    Tax by rate, and what a document comes to.

    Returns
    -------
    taxes : tuple of TaxSum
        One for each rate, in the order they are met.
    net, tax, total : Decimal
        `net + tax == total`, to the coin. [currency]
    """
    amounts: dict[tuple[str, Decimal], list[Decimal]] = defaultdict(list)
    for line in lines:
        amounts[line.rate, line.percent].append(line.amount)
    taxes = tuple(_tax_sum(rate, percent, each, billing, currency) for (rate, percent), each in amounts.items())
    net, tax = summed(each.net for each in taxes), summed(each.tax for each in taxes)
    return taxes, net, tax, net + tax


def _tax_sum(rate: str, percent: Decimal, amounts: list[Decimal], billing: Billing, currency: str) -> TaxSum:
    whole = summed(amounts)
    parts = amounts if billing.per == "line" else [whole]
    share = percent / (100 + percent) if billing.included else percent / 100
    tax = summed(rounded(part * share, currency, billing.rounding) for part in parts)
    return TaxSum(rate=rate, percent=percent, net=whole - tax if billing.included else whole, tax=tax)


# Making one -----------------------------------------------------------------------------------------------------------


def open_lines(state: FarmState, customer: str, up_to: date, currency: str) -> tuple[BillLine, ...]:
    """What went out to a customer until a day, both included, has a price, and stands on no invoice yet."""
    billing = state.billing or NOBODY
    found = (
        _line(state, delivery, gone, billing, currency)
        for delivery in state.deliveries
        if delivery.customer == customer and delivery.day <= up_to
        for gone in delivery.lines
        if source_of(delivery.entry, gone.line) not in state.billed
    )
    return tuple(line for line in found if line is not None)


class OpenLines:
    """What went out to whom, has a price, and stands on no invoice yet: followed as deliveries are made."""

    def __init__(self) -> None:
        self._fresh: Fresh[DeliveryMade] = Fresh()
        self._lines: dict[str, tuple[str, BillLine]] = {}
        """Source -> customer and the line as an invoice would say it, whether it is on one or not, as they went out."""

    def of(self, state: FarmState, up_to: date, currency: str) -> dict[str, list[BillLine]]:
        """Customer -> lines until a day, both included; who has none is not named. The same as `open_lines` of each."""
        self._follow(state, currency)
        found: dict[str, list[BillLine]] = defaultdict(list)
        for source, (customer, line) in self._lines.items():
            if source not in state.billed and line.day <= up_to:
                found[customer].append(line)
        return dict(found)

    def _follow(self, state: FarmState, currency: str) -> None:
        anew, deliveries = self._fresh.of(state.deliveries, under=(currency, state.billing))
        if anew:
            self._lines = {}
        billing = state.billing or NOBODY
        for delivery in deliveries:
            for gone in delivery.lines:
                line = _line(state, delivery, gone, billing, currency)
                if line is not None:
                    self._lines[line.source] = delivery.customer, line


def _line(state: FarmState, delivery: DeliveryMade, gone: LineGone, billing: Billing, currency: str) -> BillLine | None:
    """A delivered line as an invoice would say it; None where nothing is asked for it."""
    if gone.home or gone.price is None:
        return None
    quantity = billed(state, gone)
    amount = worth(gone, quantity)
    if not amount:
        return None
    rate = rate_of(billing, gone.product)
    return BillLine(
        source=source_of(delivery.entry, gone.line), day=delivery.day, product=gone.product, quantity=quantity,
        unit=gone.unit,
        price=exact(gone.price), per=gone.per, amount=rounded(amount, currency, billing.rounding),
        rate=rate.name if rate is not None else "", percent=rate.percent if rate is not None else Decimal(0),
    )  # fmt: skip


def invoice_for(state: FarmState, customer: str, up_to: date, day: date, lines: Collection[str] = ()) -> Bill:
    """
    The next invoice of a customer, whole, for what went out until a day.

    Parameters
    ----------
    state : FarmState
        The farm.
    customer : str
        Whose.
    up_to : date
        The last day of what is asked for.
    day : date
        Its date.
    lines : collection of str
        Only these sources; all that are open if left out.

    Raises
    ------
    InputError
        If nobody said how invoices are written, or nothing is open.
    NotFoundError
        If there is no such customer.
    """
    if customer not in state.customers:
        raise NotFoundError("customer", customer, tuple(state.customers), "See them with: trayward order list")
    billing, settings = _ready(state), state.settings
    currency = settings.money.currency if settings is not None else "EUR"
    found = tuple(each for each in open_lines(state, customer, up_to, currency) if not lines or each.source in lines)
    if not found:
        rule = f"nothing went out until {up_to} that has a price and stands on no invoice"
        raise InputError("invoice", customer, rule, "Check the day, or give the products a price.")
    taxes, net, tax, total = taxes_of(found, billing, currency)
    buyer = state.buyers.get(customer) or Buyer(customer=customer, party=Party(name=customer))
    number, days = next_number(state), billing.days if buyer.days is None else buyer.days
    return Bill(
        number=number, name=_named(billing, number), customer=customer, day=day, due=day + timedelta(days=days),
        seller=billing.seller, buyer=buyer.party, currency=currency, lines=found, taxes=taxes, net=net, tax=tax,
        total=total, included=billing.included, wording=billing.wording, pay_to=billing.pay_to,
    )  # fmt: skip


def credit_for(state: FarmState, invoice: str, day: date, reason: str, lines: Collection[str] = ()) -> Bill:
    """
    The credit note for some lines of an invoice, or for all that is left of it.

    Raises
    ------
    InputError
        If nothing of it is left to credit.
    NotFoundError
        If there is no such invoice.
    """
    held = invoice_named(state, invoice)
    gone = {line.source for name in held.credited for line in state.bills[name].bill.lines}
    left = [each for each in held.bill.lines if each.source not in gone]
    found = tuple(each for each in left if not lines or each.source in lines)
    if not found:
        rule = "all of it was credited before" if not left else "none of the lines named is left on it"
        raise InputError("invoice", invoice, rule, "See it with: trayward money invoices")
    billing = replace(_ready(state), included=held.bill.included)
    taxes, net, tax, total = taxes_of(found, billing, held.bill.currency)
    if len(found) == len(left):
        taxes, net, tax, total = _the_rest(held, state)
    number = next_number(state)
    return replace(
        held.bill, number=number, name=_named(billing, number), day=day, due=day, lines=found, taxes=taxes, net=net,
        tax=tax, total=total, credits=invoice, reason=reason, pay_to="",
    )  # fmt: skip


def _the_rest(held: BillHeld, state: FarmState) -> tuple[tuple[TaxSum, ...], Decimal, Decimal, Decimal]:
    """What is left of an invoice, to the coin: what rounding gave to the notes before is not lost."""
    left = {each.rate: each for each in held.bill.taxes}
    for name in held.credited:
        for each in state.bills[name].bill.taxes:
            before = left[each.rate]
            left[each.rate] = replace(before, net=before.net - each.net, tax=before.tax - each.tax)
    taxes = tuple(each for each in left.values() if each.net or each.tax)
    net, tax = summed(each.net for each in taxes), summed(each.tax for each in taxes)
    return taxes, net, tax, net + tax


def invoice_named(state: FarmState, name: str) -> BillHeld:
    """An invoice that is no credit note. Raises `NotFoundError`."""
    held = state.bills.get(name)
    if held is None or held.bill.credits:
        known = tuple(each for each, found in state.bills.items() if not found.bill.credits)
        raise NotFoundError("invoice", name, known, "See them with: trayward money invoices")
    return held


def owed(state: FarmState, day: date) -> tuple[Owed, ...]:
    """What each customer owes on a day, who owes the longest first."""
    held: dict[str, list[BillHeld]] = defaultdict(list)
    for each in state.bills.values():
        if not each.bill.credits and each.owed:
            held[each.bill.customer].append(each)
    found = [
        Owed(
            customer=customer,
            owed=summed(each.owed for each in bills),
            overdue=summed(each.owed for each in bills if each.bill.due < day),
            oldest_due=min(each.bill.due for each in bills),
            invoices=tuple(each.bill.name for each in bills),
        )
        for customer, bills in held.items()
    ]
    return tuple(sorted(found, key=lambda each: (each.oldest_due or day, each.customer)))


def standing_of(held: BillHeld, day: date) -> str:
    """`credit note`, `settled`, `overdue` or `open`, on a day."""
    if held.bill.credits:
        return "credit note"
    return "settled" if held.owed <= 0 else "overdue" if held.bill.due < day else "open"


def _ready(state: FarmState) -> Billing:
    if state.billing is None:
        rule, remedy = (
            "nobody said who sells and how tax is shown",
            "Say it first: trayward money billing --seller NAME",
        )
        raise InputError("invoices", "not set up", rule, remedy)
    return state.billing


def _named(billing: Billing, number: int) -> str:
    return f"{billing.prefix}{number:0{DIGITS}d}"
