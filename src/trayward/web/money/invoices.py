"""Invoices: who could be sent one, made, sent, paid, taken back."""

from __future__ import annotations

from urllib.parse import quote

from starlette.responses import Response

from trayward.errors import NotFoundError
from trayward.money.coins import money_of
from trayward.money.invoicing import standing_of
from trayward.web.ask import Ask
from trayward.web.money.view import open_by_customer
from trayward.web.routing import act, page

PAGE = 30
"""Invoices a page shows."""


def invoices(ask: Ask) -> Response:
    """Invoices, the newest first; who could be sent one; what is owed."""
    state, settings = ask.farm.state(ask.at), ask.settings
    number = ask.query.whole("page", 1, 100_000) if ask.query.has("page") else 1
    newest = list(reversed(state.bills.values()))
    shown = newest[(number - 1) * PAGE : number * PAGE]
    return ask.show(
        "money/invoices.html",
        bills=[(held, standing_of(held, ask.today)) for held in shown],
        number=number,
        pages=max(1, -(-len(newest) // PAGE)),
        ready=ask.kept(("open lines", ask.today), lambda: open_by_customer(ask.farm.open_lines(ask.today, at=ask.at))),
        owed=ask.farm.owed(at=ask.at),
        billing=state.billing,
        currency=settings.money.currency,
    )


def invoice(ask: Ask) -> Response:
    """One invoice or credit note, whole."""
    state, name = ask.farm.state(ask.at), ask.query.text("name")
    if name not in state.bills:
        raise NotFoundError("invoice", name, tuple(state.bills), "See the invoices.")
    held = state.bills[name]
    return ask.show(
        "money/invoice.html", held=held, bill=held.bill, standing=standing_of(held, ask.today),
        contact=state.contacts.get(held.bill.customer),
        credited={line.source for each in held.credited for line in state.bills[each].bill.lines},
    )  # fmt: skip


def preview(ask: Ask) -> Response:
    """The next invoice of a customer as it would be made now; nothing is kept."""
    up_to = ask.query.maybe(ask.query.day, "up_to")
    customer = ask.query.need("customer")
    bill = ask.farm.invoice_preview(customer, up_to, at=ask.at)
    return ask.show("money/preview.html", bill=bill, up_to=up_to or ask.today)


def make(ask: Ask) -> Response:
    """Make the next invoice of a customer."""
    up_to = ask.form.maybe(ask.form.day, "up_to")
    receipt = ask.farm.invoice(ask.form.need("customer"), up_to, **ask.said)
    name = receipt.names[0]
    return ask.go(_address(name), ask._("Made: invoice %(name)s.", name=name), findings=receipt.findings)


def sent(ask: Ask) -> Response:
    """It went to the customer."""
    name, form = ask.form.need("name"), ask.form
    day = form.maybe(form.day, "day")
    receipt = ask.farm.invoice_sent(name, day=day, way=form.text("way"), to=form.text("to"), **ask.said)
    return ask.recorded(_address(name), ask._("Kept."), receipt)


def paid(ask: Ask) -> Response:
    """Money came."""
    name = ask.form.need("name")
    day = ask.form.maybe(ask.form.day, "day")
    amount = money_of(ask.form.text("amount"), "amount")
    receipt = ask.farm.invoice_paid(name, amount, day=day, way=ask.form.text("way"), **ask.said)
    return ask.recorded(_address(name), ask._("Kept."), receipt)


def credit(ask: Ask) -> Response:
    """Take an invoice back by a credit note, or some lines of it."""
    name = ask.form.need("name")
    reason, again = ask.form.need("reason"), ask.form.ticked("again")
    receipt = ask.farm.credit(name, reason, lines=ask.form.all("line"), again=again, **ask.said)
    said = ask._("Made: credit note %(name)s.", name=receipt.names[0])
    return ask.go(_address(receipt.names[0]), said, findings=receipt.findings)


def _address(name: str) -> str:
    return f"/money/invoice?name={quote(name, safe='')}"


ROUTES = (
    page("/money/invoices", invoices, may="run"),
    page("/money/invoice", invoice, may="run"),
    page("/money/invoice/next", preview, may="run"),
    act("/money/invoice/make", make, may="run"),
    act("/money/invoice/sent", sent, may="run"),
    act("/money/invoice/paid", paid, may="run"),
    act("/money/invoice/credit", credit, may="run"),
)
