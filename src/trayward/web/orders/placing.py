"""An order for one day: placed, changed, called off."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import timedelta
from itertools import count

from msgspec.structs import replace
from starlette.responses import Response

from trayward.errors import InputError, NotFoundError
from trayward.farm.orders import LineAsked, Order
from trayward.farm.state import FarmState
from trayward.web.ask import Ask
from trayward.web.orders.lines import products_of, read_lines, rows_of
from trayward.web.orders.view import amount_words


def new(ask: Ask) -> Response:
    """An order to be written down: empty, or what a repeating order asks for, to be other on one day."""
    state = ask.farm.state(ask.at)
    instead = ask.query.text("instead")
    held = state.standing.get(instead)
    if instead and held is None:
        raise NotFoundError("standing order", instead, tuple(state.standing))
    instead_on = ask.query.day("day") if instead else None
    lines = held.lines if held is not None else ()
    return ask.show(
        "orders/order.html", order=None, rows=rows_of(lines, ask.units.mass),
        products=products_of(state, (line.product for line in lines)), instead=instead, instead_on=instead_on,
        customers=customers_of(ask),
        due=ask.query.text("day") or (ask.today + timedelta(days=1)).isoformat(),
        customer=held.customer if held is not None else ask.query.text("customer") or only_customer(state), went_out=(),
    )  # fmt: skip


def only_customer(state: FarmState) -> str:
    """Who an order is for where nobody else orders; empty where that has to be chosen."""
    return next(iter(state.customers)) if len(state.customers) == 1 else ""


def customers_of(ask: Ask, also: str = "") -> list[tuple[str, str]]:
    """The customers as choices."""
    names = dict.fromkeys([*sorted(ask.farm.state(ask.at).customers, key=str.casefold), *([also] if also else [])])
    return [("", "–"), *((name, name) for name in names)]


def order(ask: Ask) -> Response:
    """One order, to be changed or called off."""
    held = _held(ask, ask.path["name"])
    state = ask.farm.state(ask.at)
    return ask.show(
        "orders/order.html", order=held, rows=rows_of(held.lines, ask.units.mass),
        products=products_of(state, (line.product for line in held.lines)), customers=customers_of(ask, held.customer),
        due=held.due.isoformat(), customer=held.customer, went_out=went_out(state, held), instead="",
    )  # fmt: skip


def went_out(state: FarmState, held: Order) -> tuple[str, ...]:
    """Lines of an order of which something was delivered already."""
    names = {line.line: line.product for line in held.lines}
    gone = (state.delivered, state.delivered_trays)
    return tuple(product for name, product in names.items() if any(f"{held.order}/{name}" in each for each in gone))


def _held(ask: Ask, name: str) -> Order:
    state = ask.farm.state(ask.at)
    if name not in state.orders:
        raise NotFoundError("order", name, tuple(state.orders))
    return state.orders[name]


def place(ask: Ask) -> Response:
    """Somebody wants something on a day."""
    form, state = ask.form, ask.farm.state(ask.at)
    customer, due = form.need("customer", "Choose one, or add a new one first."), form.day("due")
    lines = read_lines(form, state, ask.units.mass)
    instead = (form.text("instead"), form.day("instead_on")) if form.has("instead") else None
    receipt = ask.farm.place_order(customer, due, lines, note=form.text("note"), instead_of=instead, **ask.said)
    say = ask._(
        "Ordered: %(what)s for %(who)s on %(day)s.", what=lines_words(lines, ask), who=customer, day=ask.tongue.day(due)
    )
    return ask.recorded("/orders", say, receipt)


def change(ask: Ask) -> Response:
    """The order is as it stands in the form from now on."""
    form, state = ask.form, ask.farm.state(ask.at)
    held = _held(ask, form.need("order"))
    lines = same_names(read_lines(form, state, ask.units.mass), held.lines)
    customer = form.need("customer", "Choose one.")
    after = replace(held, customer=customer, due=form.day("due"), lines=lines, note=form.text("note"))
    if after == held:
        raise InputError("amount_1", "the same", "nothing is different", "Change it, or go back.")
    receipt = ask.farm.change_order(after, **ask.said)
    return ask.recorded("/orders", ask._("The order is changed: %(what)s.", what=lines_words(lines, ask)), receipt)


def cancel(ask: Ask) -> Response:
    """The order is off."""
    held = _held(ask, ask.form.need("order"))
    receipt = ask.farm.cancel_order(held.order, ask.form.text("reason"), **ask.said)
    say = ask._("Off: the order of %(who)s for %(day)s.", who=held.customer, day=ask.tongue.day(held.due))
    return ask.recorded("/orders", say, receipt)


def same_names(lines: Sequence[LineAsked], before: Sequence[LineAsked]) -> tuple[LineAsked, ...]:
    """Lines of a product there was before keep their names, for deliveries speak of them."""
    names: dict[str, list[str]] = defaultdict(list)
    for line in before:
        names[line.product].append(line.line)
    taken = {name for own in names.values() for name in own}
    found: list[LineAsked] = []
    for line in lines:
        name = names[line.product].pop(0) if names[line.product] else fresh_name(line.line, taken)
        taken.add(name)
        found.append(replace(line, line=name))
    return tuple(found)


def fresh_name(name: str, taken: set[str]) -> str:
    """A name, with a number behind it where somebody has it."""
    if name not in taken:
        return name
    return next(f"{name}-{number}" for number in count(2) if f"{name}-{number}" not in taken)


def lines_words(lines: Sequence[LineAsked], ask: Ask) -> str:
    """What is asked for, as it is kept: who typed a bare number sees what it was taken for."""
    told = [f"{ask.say(amount_words(line.quantity, line.unit, ask.units.mass))} {line.product}" for line in lines]
    return ", ".join(told[:4]) + (f" +{len(told) - 4}" if len(told) > 4 else "")
