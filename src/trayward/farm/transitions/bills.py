"""Price lists, how invoices are written, invoices, credit notes and what was paid for them."""

from __future__ import annotations

from decimal import Decimal

from msgspec.structs import replace

from trayward.errors import Finding
from trayward.farm.bills import Bill, BillHeld, PriceStep
from trayward.farm.entries import (
    BillingSet,
    BuyerSet,
    Entry,
    InvoiceCredited,
    InvoiceMade,
    InvoicePaid,
    InvoiceSent,
    PriceListSet,
)
from trayward.farm.state import FarmState
from trayward.farm.transitions.say import Findings, between, listed, odd, twice, wrong

MOST_PERCENT = 100.0
"""No tax asks for more than the price itself. Our choice. [%]"""


# Prices and habits ----------------------------------------------------------------------------------------------------


def check_prices(state: FarmState, body: PriceListSet, entry: Entry) -> Findings:
    prices = body.prices
    about = f"price list of {prices.customer}"
    found = twice(entry, f"{about}, product", [each.product for each in prices.prices])
    for each in prices.prices:
        found += between(entry, f"{about}, {each.product}", float(each.price), 0, 1_000_000)
        found += _steps(entry, f"{about}, {each.product}", each.steps)
    if prices.customer not in state.customers:
        message = f"{about}: the farm has no customer of that name."
        found.append(wrong(entry, "customer-unknown", message, "Set up the customer, or check the name."))
    unknown = [each.product for each in prices.prices if each.product not in state.products]
    if unknown:
        message = (
            f"{about}, product = {listed(unknown)}: the farm sells nothing of that name, so nobody knows what for."
        )
        found.append(wrong(entry, "product-unknown", message, "Set up the product with its price first."))
    return found


def _steps(entry: Entry, about: str, steps: tuple[PriceStep, ...]) -> Findings:
    """Steps rise, so that one amount has one price."""
    found: Findings = []
    for before, step in zip((None, *steps), steps, strict=False):
        found += between(entry, f"{about}, from", float(step.least), 0, 10_000_000)
        found += between(entry, f"{about}, price from {step.least}", float(step.price), 0, 1_000_000)
        if before is not None and step.least <= before.least:
            message = f"{about}, from {step.least} = after {before.least}: larger amounts stand after smaller ones."
            found.append(wrong(entry, "price-steps", message, "Give each step once, the smallest amount first."))
    return found


def apply_prices(state: FarmState, body: PriceListSet, entry: Entry) -> None:
    held = state.price_lists.get(body.prices.customer, [])
    kept = [each for each in held if each.valid_from != body.prices.valid_from]
    state.price_lists[body.prices.customer] = sorted([*kept, body.prices], key=lambda each: each.valid_from)


def check_billing(state: FarmState, body: BillingSet, entry: Entry) -> Findings:
    billing = body.billing
    found = between(entry, "days to pay", billing.days, 0, 3650, "d")
    found += twice(entry, "rate", [rate.name for rate in billing.rates])
    found += twice(entry, "product", [each.product for each in billing.products])
    for rate in billing.rates:
        found += between(entry, f"rate {rate.name}", float(rate.percent), 0, MOST_PERCENT, "%")
    names = {rate.name for rate in billing.rates}
    asked = [billing.usual] if billing.usual else []
    lost = sorted({*asked, *(each.rate for each in billing.products)} - names)
    if lost:
        message = f"rate = {listed(lost)}: there is no rate of that name."
        found.append(wrong(entry, "rate-unknown", message, f"Known: {listed(sorted(names))}."))
    if not billing.seller.name.strip():
        found.append(wrong(entry, "seller", "seller = nobody: an invoice says who sells.", "Give the seller's name."))
    return found


def apply_billing(state: FarmState, body: BillingSet, entry: Entry) -> None:
    state.billing = body.billing


def check_buyer(state: FarmState, body: BuyerSet, entry: Entry) -> Findings:
    buyer = body.buyer
    found = between(entry, f"customer {buyer.customer}, days to pay", buyer.days, 0, 3650, "d")
    if buyer.customer not in state.customers:
        message = f"customer = {buyer.customer}: the farm has no customer of that name."
        found.append(wrong(entry, "customer-unknown", message, "Set up the customer, or check the name."))
    if not buyer.party.name.strip():
        message = f"customer {buyer.customer}, name = nobody: an invoice says who buys."
        found.append(wrong(entry, "buyer", message, "Give the buyer's name."))
    return found


def apply_buyer(state: FarmState, body: BuyerSet, entry: Entry) -> None:
    state.buyers[body.buyer.customer] = body.buyer


# Invoices -------------------------------------------------------------------------------------------------------------


def next_number(state: FarmState) -> int:
    """The number the next invoice or credit note takes: one more than the last, whatever became of it."""
    last = next(reversed(state.bills.values()), None)
    return last.bill.number + 1 if last is not None else 1


def check_invoice(state: FarmState, body: InvoiceMade, entry: Entry) -> Findings:
    bill = body.bill
    found = _number(state, bill, entry) + _sums(bill, entry)
    sources = [line.source for line in bill.lines]
    found += twice(entry, f"invoice {bill.name}, line", sources)
    already = sorted({state.billed[source] for source in sources if source in state.billed})
    if already:
        message = f"invoice {bill.name} = some of invoice {listed(already)}: what went out is asked for once."
        found.append(wrong(entry, "billed-twice", message, "Leave those lines out."))
    return found


def apply_invoice(state: FarmState, body: InvoiceMade, entry: Entry) -> None:
    """A number used already stays with who had it first; a gap in the numbers is only said."""
    bill = body.bill
    if _taken(state, bill):
        return
    _keep(state, bill)
    for line in bill.lines:
        state.billed.setdefault(line.source, bill.name)


def check_credit(state: FarmState, body: InvoiceCredited, entry: Entry) -> Findings:
    bill = body.bill
    found = _number(state, bill, entry) + _sums(bill, entry)
    held = state.bills.get(bill.credits)
    if held is None or held.bill.credits:
        return [*found, _no_invoice(entry, bill.credits)]
    left = held.bill.total - held.credit
    if bill.total > left:
        message = f"credit note {bill.name} = {bill.total} {bill.currency}: of invoice {bill.credits} {left} are left."
        found.append(wrong(entry, "credit-over", message, "Credit no more than is left."))
    if not bill.reason.strip():
        found.append(wrong(entry, "reason", f"credit note {bill.name}, reason = nothing: it needs one.", "Say why."))
    return found


def apply_credit(state: FarmState, body: InvoiceCredited, entry: Entry) -> None:
    bill = body.bill
    held = state.bills.get(bill.credits)
    if _taken(state, bill) or held is None:
        return
    _keep(state, bill)
    state.bills[bill.credits] = replace(held, credited=[*held.credited, bill.name], credit=held.credit + bill.total)
    for line in bill.lines:
        if body.again and state.billed.get(line.source) == bill.credits:
            del state.billed[line.source]


def check_sent(state: FarmState, body: InvoiceSent, entry: Entry) -> Findings:
    held = state.bills.get(body.invoice)
    if held is None:
        return [_no_invoice(entry, body.invoice)]
    if body.sent.day < held.bill.day:
        message = f"invoice {body.invoice}, sent = {body.sent.day}: it was made on {held.bill.day}."
        return [wrong(entry, "sent-before", message, "Check the day.")]
    return []


def apply_sent(state: FarmState, body: InvoiceSent, entry: Entry) -> None:
    held = state.bills.get(body.invoice)
    if held is not None:
        state.bills[body.invoice] = replace(held, sent=[*held.sent, body.sent])


def check_paid(state: FarmState, body: InvoicePaid, entry: Entry) -> Findings:
    held = state.bills.get(body.invoice)
    if held is None or held.bill.credits:
        return [_no_invoice(entry, body.invoice)]
    paid = body.paid.amount
    if paid <= 0:
        message = f"invoice {body.invoice}, paid = {paid}: must be more than 0."
        return [wrong(entry, "amount", message, "If it was mistyped, strike the payment.")]
    if paid > held.owed:
        message = f"invoice {body.invoice}, paid = {paid} {held.bill.currency}: only {held.owed} is owed."
        if held.owed <= 0:
            message = f"invoice {body.invoice}, paid = {paid} {held.bill.currency}: nothing is owed any more."
        return [odd(entry, "paid-over", message, "Check the amount; what is too much is owed to the customer.")]
    return []


def apply_paid(state: FarmState, body: InvoicePaid, entry: Entry) -> None:
    held = state.bills.get(body.invoice)
    if held is not None and body.paid.amount > 0:
        state.bills[body.invoice] = replace(held, paid=[*held.paid, body.paid])


# Inside ---------------------------------------------------------------------------------------------------------------


def _taken(state: FarmState, bill: Bill) -> bool:
    """Whether somebody has the name or the number; a number above the last one nobody has."""
    late = bill.number < next_number(state)
    return bill.name in state.bills or (late and any(held.bill.number == bill.number for held in state.bills.values()))


def _keep(state: FarmState, bill: Bill) -> None:
    """Documents stay in the order of their numbers, so that the last one tells the next."""
    late = bill.number < next_number(state)
    state.bills[bill.name] = BillHeld(bill=bill)
    if late:
        state.bills = dict(sorted(state.bills.items(), key=lambda item: item[1].bill.number))


def _number(state: FarmState, bill: Bill, entry: Entry) -> Findings:
    following = next_number(state)
    if bill.number == following and bill.name not in state.bills:
        return []
    rule = f"the next number is {following}; numbers have no gaps and are used once"
    message = f"invoice {bill.name} = number {bill.number}: {rule}."
    return [wrong(entry, "invoice-number", message, "Make it again, and it takes the next number.")]


def _sums(bill: Bill, entry: Entry) -> Findings:
    """What stands on a document must add up to the coin."""
    net = sum((each.net for each in bill.taxes), Decimal(0))
    tax = sum((each.tax for each in bill.taxes), Decimal(0))
    lines = sum((line.amount for line in bill.lines), Decimal(0))
    whole = bill.total if bill.included else bill.net
    if bill.lines and (net, tax, lines) == (bill.net, bill.tax, whole) and bill.net + bill.tax == bill.total:
        return []
    message = f"invoice {bill.name} = {bill.total} {bill.currency}: its lines and taxes do not add up to that."
    return [wrong(entry, "invoice-sum", message, "Make it again.")]


def _no_invoice(entry: Entry, name: str) -> Finding:
    message = f"invoice {name} = none: the farm made no invoice of that name."
    return wrong(entry, "invoice-unknown", message, "See them with: trayward money invoices")
