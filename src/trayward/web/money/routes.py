"""Money: a week and a month at a glance, what if; for the owner. Invoices and prices have routes of their own."""

from __future__ import annotations

from typing import Any

from starlette.responses import Response

from trayward.money.types import Earned, Supposed
from trayward.web.ask import Ask
from trayward.web.money import invoices, pricing, reports
from trayward.web.money.view import BY, SPANS, days_back, sold_nothing
from trayward.web.routing import page


def money(ask: Ask) -> Response:
    """What a week or a month earned, by crop, customer, week or shelf; and at other prices."""
    state = ask.farm.state(ask.at)
    if sold_nothing(state):
        return ask.show("money/none.html")
    span = ask.query.choice("span", tuple(SPANS)) if ask.query.has("span") else "month"
    by = ask.query.choice("by", BY) if ask.query.has("by") else "crop"
    account = _account(ask, span, by)
    supposed = _supposed(ask)
    found = None
    if supposed != Supposed():
        found = ask.farm.earned_if(account.first, account.last, supposed, by=account.by, at=ask.at, now=account)
    return ask.show(
        "money/page.html",
        account=account,
        span=span,
        by=by,
        found=found,
        then={row.name: row for row in found.then.rows} if found else {},
        products=[(name, name) for name, product in state.products.items() if product.price > 0],
        currency=account.currency,
    )


def _account(ask: Ask, span: str, by: str) -> Earned:
    first, last = days_back(span, ask.today)

    def made() -> Any:
        return ask.farm.earned(first, last, by=by, at=ask.at)  # type: ignore[arg-type]

    found: Earned = ask.kept(("money", span, by, ask.today), made)
    return found


def _supposed(ask: Ask) -> Supposed:
    query = ask.query
    prices = {query.text("product"): query.number("price", 0.0, 1e6)} if query.has("price") else {}
    wage = query.number("wage", 0.0, 1e6) if query.has("wage") else None
    energy = query.number("energy", 0.0, 1e6) if query.has("energy") else None
    return Supposed(wage_h=wage, energy_kwh=energy, prices=prices)


ROUTES = (
    page("/money", money, may="run"),
    *invoices.ROUTES,
    *pricing.ROUTES,
    *reports.ROUTES,
)
