"""Orders that repeat: begun, changed, paused, left out for a day, ended; and who orders."""

from __future__ import annotations

from urllib.parse import quote

from msgspec.structs import replace
from starlette.responses import Response

from trayward.desk.sheets.order_words import slug
from trayward.errors import InputError, NotFoundError
from trayward.farm.due import standing_days
from trayward.farm.orders import Customer, StandingOrder
from trayward.web.ask import Ask
from trayward.web.orders.lines import products_of, read_lines, rows_of
from trayward.web.orders.placing import customers_of, fresh_name, lines_words, only_customer, same_names
from trayward.web.orders.repeats import Repeat, read_rule, shown_rule
from trayward.web.orders.view import standing_shown

STANDING = "/orders/standing"
HEAVIEST = 100.0
"""Letting somebody down counts so much more at most. [-]"""


def new_standing(ask: Ask) -> Response:
    """An empty order that repeats."""
    state = ask.farm.state(ask.at)
    return ask.show(
        "orders/repeating.html", one=None, shown=None, rows=rows_of((), ask.units.mass), products=products_of(state),
        customers=customers_of(ask), customer=ask.query.text("customer") or only_customer(state), repeat=Repeat(),
        start=ask.today,
    )  # fmt: skip


def standing_order(ask: Ask) -> Response:
    """One order that repeats."""
    one = _held(ask, ask.path["name"])
    state = ask.farm.state(ask.at)
    return ask.show(
        "orders/repeating.html", one=one, shown=standing_shown(one, ask.today, ask.units.mass),
        rows=rows_of(one.lines, ask.units.mass), customers=customers_of(ask, one.customer), customer=one.customer,
        products=products_of(state, (line.product for line in one.lines)), repeat=shown_rule(one.rule), start=one.start,
    )  # fmt: skip


def _held(ask: Ask, name: str) -> StandingOrder:
    held = ask.farm.state(ask.at).standing
    if name not in held:
        raise NotFoundError("standing order", name, tuple(held))
    return held[name]


def set_standing(ask: Ask) -> Response:
    """An order repeats as it stands in the form from now on."""
    form, state = ask.form, ask.farm.state(ask.at)
    customer = form.need("customer", "Choose one, or add a new one first.")
    lines, rule, start = read_lines(form, state, ask.units.mass), read_rule(form), form.day("start")
    name = form.text("standing")
    if name:
        before = _held(ask, name)
        lines = same_names(lines, before.lines)
        made = replace(before, customer=customer, rule=rule, start=start, lines=lines)
        if made == before:
            raise InputError("amount_1", "the same", "nothing is different", "Change it, or go back.")
    else:
        made = StandingOrder(standing=_name(ask, customer), customer=customer, start=start, rule=rule, lines=lines)
    receipt = ask.farm.set_standing(made, **ask.said)
    shown = standing_shown(made, ask.today, ask.units.mass)
    say = ask._("%(who)s, %(when)s: %(what)s.", who=customer, when=shown.repeats, what=lines_words(lines, ask))
    return ask.recorded(STANDING, say, receipt)


def _name(ask: Ask, customer: str) -> str:
    """A name nobody has yet, from the customer's."""
    state = ask.farm.state(ask.at)
    return fresh_name(slug(customer)[:40], {*state.standing, *state.orders})


def pause(ask: Ask) -> Response:
    """No deliveries for a while."""
    one, form = _held(ask, ask.form.need("standing")), ask.form
    first, last = form.day("pause_first"), form.day("pause_last")
    receipt = ask.farm.pause_standing(one.standing, first, last, **ask.said)
    say = ask._("Paused from %(first)s to %(last)s.", first=ask.tongue.day(first), last=ask.tongue.day(last))
    return ask.recorded(_address(one), say, receipt)


def go_on(ask: Ask) -> Response:
    """A pause is taken off again, or an order that ended goes on."""
    one, form = _held(ask, ask.form.need("standing")), ask.form
    if form.has("pause_first"):
        first, last = form.day("pause_first"), form.day("pause_last")
        pauses = tuple(each for each in one.pauses if (each.first, each.last) != (first, last))
        after, say = replace(one, pauses=pauses), ask._("The pause is off.")
    else:
        after, say = replace(one, ended=False), ask._("It goes on.")
    if after == one:
        raise InputError("pause_first", form.text("pause_first"), "there is no such pause", "Look at it again.")
    return ask.recorded(_address(one), say, ask.farm.set_standing(after, **ask.said))


def skip(ask: Ask) -> Response:
    """Not on one day."""
    one, day = _held(ask, ask.form.need("standing")), ask.form.day("skip")
    if day not in standing_days(one, day, day):
        raise InputError("skip", day.isoformat(), "nothing of it is due that day", "Give a day on which it is due.")
    receipt = ask.farm.set_standing(replace(one, except_on=(*one.except_on, day)), **ask.said)
    return ask.recorded(_address(one), ask._("Not on %(day)s.", day=ask.tongue.day(day)), receipt)


def end(ask: Ask) -> Response:
    """Nothing more is due for it."""
    one = _held(ask, ask.form.need("standing"))
    receipt = ask.farm.end_standing(one.standing, **ask.said)
    return ask.recorded(STANDING, ask._("Ended: %(who)s.", who=one.customer), receipt)


def _address(one: StandingOrder) -> str:
    return f"{STANDING}/{quote(one.standing, safe='')}"


# Customers ------------------------------------------------------------------------------------------------------------


def customer(ask: Ask) -> Response:
    """One customer: what is kept of them, and what they order."""
    name = ask.path["name"]
    state = ask.farm.state(ask.at)
    if name not in state.customers:
        raise NotFoundError("customer", name, tuple(state.customers))
    repeating = [
        standing_shown(one, ask.today, ask.units.mass) for one in state.standing.values() if one.customer == name
    ]
    once = sorted(
        (one for one in state.orders.values() if one.customer == name and one.due >= ask.today),
        key=lambda one: one.due,
    )
    return ask.show("orders/customer.html", one=state.customers[name], repeating=repeating, once=once)


def set_customer(ask: Ask) -> Response:
    """A customer is as the form says from now on."""
    form, held = ask.form, ask.farm.state(ask.at).customers
    name = form.need("name", "Say who it is.")[:120]
    if form.text("new") and name in held:
        raise InputError("name", name, "there is a customer of that name", "Open that one, or take another name.")
    made = Customer(
        name=name,
        home=form.ticked("home"),
        weight=form.number("weight", 0.1, HEAVIEST) if form.has("weight") else 1.0,
        spot_orders=form.ticked("spot_orders"),
        note=form.text("note"),
    )
    receipt = ask.farm.set_customer(made, **ask.said)
    return ask.recorded("/orders/customers", ask._("Kept: %(who)s.", who=name), receipt)
