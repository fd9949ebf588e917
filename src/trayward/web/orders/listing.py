"""Orders to look at: by day, those that repeat, and the customers."""

from __future__ import annotations

from starlette.responses import Response

from trayward.farm.orders import Customer
from trayward.web.ask import Ask
from trayward.web.orders.view import by_customer, orders_shown, standing_shown
from trayward.web.sow.planned import kept
from trayward.web.sow.wishes import by_hand


def orders(ask: Ask) -> Response:
    """Lines by delivery day, with the chance of being met in full."""
    first = ask.query.day("from") if ask.query.has("from") else ask.today
    plan = kept(ask).plan
    key, unit = ("orders", first, ask.today, ask.units.mass), ask.units.mass
    shown = ask.kept(key, lambda: orders_shown(ask.farm.state(ask.at), plan, first, ask.today, unit))
    return ask.show(
        "orders/page.html", orders=shown, plan=plan, by_hand=by_hand(plan)[0] if plan is not None else (),
        later=ask.query.has("from"),
    )  # fmt: skip


def standing(ask: Ask) -> Response:
    """Orders that repeat."""
    state = ask.farm.state(ask.at)
    shown = [standing_shown(one, ask.today, ask.units.mass) for one in state.standing.values()]
    going = by_customer(one for one in shown if not one.ended)
    return ask.show("orders/standing.html", going=going, ended=[one for one in shown if one.ended])


def customers(ask: Ask) -> Response:
    """Who orders, and what letting them down counts."""
    found = sorted(ask.farm.state(ask.at).customers.values(), key=lambda one: one.name.casefold())
    return ask.show("orders/customers.html", customers=found, new=Customer(name=""))
