"""The commands of `money` that write: price lists, how invoices are written and to whom, invoices, payments."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from trayward.cli.given import Given, command
from trayward.cli.numbers import WHOLE
from trayward.cli.people import pairs
from trayward.cli.show import answer, table, wrapped, written
from trayward.cli.when import parse_day
from trayward.money.coins import money_of, price_words, rounded

if TYPE_CHECKING:
    from trayward.farm.bills import Bill, BillHeld


# Prices and habits ----------------------------------------------------------------------------------------------------


@command("prices", example='trayward money prices "Corner Cafe" pea=3.00 --valid-from 2026-12-01', records=True)
@click.argument("customer")
@click.argument("prices", nargs=-1, metavar="PRODUCT=MONEY...")
@click.option("--valid-from", metavar="DAY", help="First day they hold; today if left out. Example: 2026-12-01.")
def prices(given: Given, customer: str, prices: Sequence[str], valid_from: str | None) -> None:
    """A CUSTOMER's own prices from a day on, all of them; what went out before keeps its price.

    Larger amounts may have other prices: "pea punnet=3.40 from 10 at 3.00".
    """
    from trayward.money.listed import listed_price

    said = pairs(prices, "pea=3.00", spaced=True)
    listed = [listed_price(name, text) for name, text in said.items()]
    begin = parse_day(valid_from, given.today) if valid_from else given.today
    receipt = given.farm.set_prices(customer, listed, begin, **given.said)
    written(given, receipt, f"Prices of {customer} from {begin}: {', '.join(prices) or 'none of their own'}.")


@command("billing", example='trayward money billing --seller "Lantern Loft" --rate reduced=7', records=True)
@click.option("--seller", required=True, metavar="NAME", help='Who sells. Example: "Lantern Loft".')
@click.option("--address", default="", metavar="WORDS", help='Where. Example: "1 Attic Stairs".')
@click.option("--tax-number", default="", metavar="WORDS", help="The number the tax office gave. Example: LL-1.")
@click.option("--prefix", default="", metavar="WORDS", help="Stands before every number. Example: LL-.")
@click.option("--days", type=WHOLE, default=14, metavar="DAYS", help="Days to pay; 14 if left out. Example: 30.")
@click.option(
    "--rate",
    "rates",
    multiple=True,
    metavar="NAME=PERCENT",
    help="A rate of tax, the usual first. Example: reduced=7.",
)
@click.option(
    "--product", "products", multiple=True, metavar="PRODUCT=RATE", help="Its own rate. Example: pea=standard."
)
@click.option("--included", is_flag=True, help="Prices hold the tax already. Example: --included.")
@click.option("--half-even", is_flag=True, help="Half a coin goes to the even one, not up. Example: --half-even.")
@click.option("--each-line", is_flag=True, help="Tax is rounded on each line, not once. Example: --each-line.")
@click.option("--wording", default="", metavar="WORDS", help='Words that must stand on it. Example: "No tax."')
@click.option("--pay-to", default="", metavar="WORDS", help='How to pay. Example: "cash or transfer".')
@click.option(
    "--account", "accounts", multiple=True, metavar="WHAT=NAME", help="Your name of an account. Example: sales=4000."
)
def billing(given: Given, rates: Sequence[str], products: Sequence[str], accounts: Sequence[str], **told: Any) -> None:
    """How invoices are written from now on. For rates and words defer to a licensed bookkeeper and the local rules."""
    from trayward.farm.bills import Account, Billing, Party, ProductRate, TaxRate

    asked = pairs(rates, "reduced=7", spaced=True)
    made = Billing(
        seller=Party(name=told["seller"], address=told["address"], tax_number=told["tax_number"]),
        prefix=told["prefix"],
        days=told["days"],
        rates=tuple(TaxRate(name=name, percent=money_of(text, name)) for name, text in asked.items()),
        products=tuple(ProductRate(product=a, rate=b) for a, b in pairs(products, "pea=standard", spaced=True).items()),
        included=told["included"],
        rounding="half even" if told["half_even"] else "half up",
        per="line" if told["each_line"] else "document",
        wording=told["wording"],
        pay_to=told["pay_to"],
        accounts=tuple(Account(what=a, account=b) for a, b in pairs(accounts, "sales=4000", spaced=True).items()),
    )
    receipt = given.farm.set_billing(made, **given.said)
    written(given, receipt, f"Invoices are written from {told['seller']}, {told['days']} days to pay.")


@command("buyer", example='trayward money buyer "Corner Cafe" --name "Corner Cafe Ltd" --days 30', records=True)
@click.argument("customer")
@click.option("--name", required=True, metavar="NAME", help='As invoices name them. Example: "Corner Cafe Ltd".')
@click.option("--address", default="", metavar="WORDS", help='Where. Example: "2 Hill Road".')
@click.option("--tax-number", default="", metavar="WORDS", help="Their tax number. Example: CC-9.")
@click.option("--days", type=WHOLE, metavar="DAYS", help="Days to pay, where they differ. Example: 30.")
def buyer(given: Given, customer: str, name: str, address: str, tax_number: str, days: int | None) -> None:
    """Whom a CUSTOMER's invoices are written to."""
    from trayward.farm.bills import Buyer, Party

    party = Party(name=name, address=address, tax_number=tax_number)
    receipt = given.farm.set_buyer(Buyer(customer=customer, party=party, days=days), **given.said)
    written(given, receipt, f"Invoices of {customer} are written to {name}.")


# Invoices -------------------------------------------------------------------------------------------------------------


@command("invoice", example='trayward money invoice "Corner Cafe" --up-to 2026-11-30', records=True)
@click.argument("customer")
@click.option("--up-to", metavar="DAY", help="The last day of delivery; today if left out. Example: 2026-11-30.")
@click.option("--look", is_flag=True, help="Only show it; nothing is recorded. Example: --look.")
def invoice(given: Given, customer: str, up_to: str | None, look: bool) -> None:
    """Make the next invoice of a CUSTOMER: what went out and stands on none yet. A credit note alone corrects it."""
    until = parse_day(up_to, given.today) if up_to else None
    if look:
        bill = given.farm.invoice_preview(customer, until, at=given.at)
        answer(given, bill, lambda: _show(bill))
        return
    receipt = given.farm.invoice(customer, until, **given.said)
    bill = given.state.bills[receipt.names[0]].bill
    written(given, receipt, f"Invoice {bill.name} to {customer}: {bill.total} {bill.currency}, due {bill.due}.")


@command("credit", example='trayward money credit 0001 --reason "wrong price" --again', records=True)
@click.argument("invoice")
@click.option("--reason", required=True, metavar="WORDS", help='Why. Example: "wrong price".')
@click.option("--again", is_flag=True, help="What it takes away may be invoiced anew. Example: --again.")
def credit(given: Given, invoice: str, reason: str, again: bool) -> None:
    """Make a credit note for what is left of an INVOICE."""
    receipt = given.farm.credit(invoice, reason, again=again, **given.said)
    bill = given.state.bills[receipt.names[0]].bill
    written(given, receipt, f"Credit note {bill.name} for invoice {invoice}: {bill.total} {bill.currency}.")


@command("sent", example='trayward money sent 0001 --way mail --to "office"', records=True)
@click.argument("invoice")
@click.option("--day", metavar="DAY", help="When it went; today if left out. Example: yesterday.")
@click.option("--way", default="", metavar="WORDS", help="How it went. Example: mail.")
@click.option("--to", default="", metavar="WORDS", help="To whom. Example: office.")
def sent(given: Given, invoice: str, day: str | None, way: str, to: str) -> None:
    """An INVOICE or credit note went to the customer."""
    went = parse_day(day, given.today) if day else given.today
    receipt = given.farm.invoice_sent(invoice, day=went, way=way, to=to, **given.said)
    written(given, receipt, f"Invoice {invoice} was sent on {went}.")


@command("paid", example="trayward money paid 0001 16.05 --way cash", records=True)
@click.argument("invoice")
@click.argument("amount")
@click.option("--day", metavar="DAY", help="When it came; today if left out. Example: yesterday.")
@click.option("--way", default="", metavar="WORDS", help="How it came. Example: cash.")
def paid(given: Given, invoice: str, amount: str, day: str | None, way: str) -> None:
    """Money came for an INVOICE."""
    came = parse_day(day, given.today) if day else None
    money = money_of(amount, "amount")
    receipt = given.farm.invoice_paid(invoice, money, day=came, way=way, **given.said)
    held = given.state.bills[invoice]
    paid_words = f"{rounded(money, held.bill.currency)} {held.bill.currency}"
    written(given, receipt, f"Paid for {invoice}: {paid_words}; {_left_words(held)}.")


def _left_words(held: BillHeld) -> str:
    if held.owed < 0:
        return f"{-held.owed} {held.bill.currency} of it is too much"
    return f"{held.owed} {held.bill.currency} are still owed" if held.owed else "nothing is owed any more"


@command("invoices", example="trayward money invoices")
def invoices(given: Given) -> None:
    """Invoices and credit notes, with what is owed and overdue."""
    bills, owed = list(given.state.bills.values()), given.farm.owed(at=given.at)

    def human() -> None:
        rows = [
            [held.bill.name, str(held.bill.day), held.bill.customer, f"{held.bill.total} {held.bill.currency}",
             f"credits {held.bill.credits}" if held.bill.credits else str(held.owed),
             _standing(held, given.today)]
            for held in bills
        ]  # fmt: skip
        table(("Number", "Day", "Customer", "Total", "Owed", ""), rows, none="No invoice was made yet.")
        for each in owed:
            wrapped(f"{each.customer} owes {each.owed}, of which {each.overdue} is overdue.")

    answer(given, {"invoices": bills, "owed": owed}, human)


def _standing(held: BillHeld, today: date) -> str:
    from trayward.money.invoicing import standing_of

    if held.owed < 0:
        return "paid too much"
    standing = standing_of(held, today)
    if standing == "open":
        return f"due {held.bill.due}" if held.sent else f"not sent, due {held.bill.due}"
    return standing


def _show(bill: Bill) -> None:
    wrapped(f"Invoice {bill.name} to {bill.buyer.name}, {bill.day}, due {bill.due}; nothing is recorded yet.")
    rows = [[str(line.day), line.product, f"{line.quantity:g} {line.unit}",
             f"{price_words(line.price, bill.currency)} / {line.per}",
             str(line.amount)]
            for line in bill.lines]  # fmt: skip
    table(("Day", "What", "How much", "Price", "Amount"), rows)
    for each in bill.taxes:
        if each.tax:
            wrapped(f"{each.rate} {each.percent} % of {each.net}: {each.tax}")
    wrapped(f"Total {bill.total} {bill.currency}. {bill.wording}".strip())


COMMANDS = (prices, billing, buyer, invoice, credit, sent, paid, invoices)
"""In the order in which `money` lists them."""
