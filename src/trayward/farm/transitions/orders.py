"""Orders and standing orders."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from msgspec.structs import replace

from trayward.errors import Finding, InputError
from trayward.farm.due import check_standing, line_problem, product_named
from trayward.farm.entries import (
    Entry,
    OrderCancelled,
    OrderChanged,
    OrderPlaced,
    StandingOrderPaused,
    StandingOrderSet,
)
from trayward.farm.orders import LineAsked, Order
from trayward.farm.state import FarmState
from trayward.farm.transitions.say import Findings, from_error, odd, twice, wrong


def check_placed(state: FarmState, body: OrderPlaced, entry: Entry) -> Findings:
    order = body.order
    found = _order_problems(state, order, entry)
    if order.order in state.orders:
        message = (
            f"order {order.order} = placed already, for {state.orders[order.order].customer}: a name is used once."
        )
        found.append(wrong(entry, "order-twice", message, "Change that order, or give this one a name of its own."))
    return found


def apply_placed(state: FarmState, body: OrderPlaced, entry: Entry) -> None:
    state.orders.setdefault(body.order.order, body.order)
    state.order_placed.setdefault(body.order.order, entry.at)
    state.cancelled_orders.discard(body.order.order)


def check_changed(state: FarmState, body: OrderChanged, entry: Entry) -> Findings:
    if body.order.order not in state.orders:
        return [_unknown(entry, body.order.order)]
    return _order_problems(state, body.order, entry)


def apply_changed(state: FarmState, body: OrderChanged, entry: Entry) -> None:
    if body.order.order in state.orders:
        state.orders[body.order.order] = body.order


def check_cancelled(state: FarmState, body: OrderCancelled, entry: Entry) -> Findings:
    order = state.orders.get(body.order)
    if order is None:
        return [_unknown(entry, body.order)]
    names = [f"{order.order}/{line.line}" for line in order.lines]
    gone = [name for name in names if name in state.delivered or name in state.delivered_trays]
    message = f"order {body.order} = cancelled: something was delivered for it already."
    return [odd(entry, "order-delivered", message, "Check the order's name.")] if gone else []


def apply_cancelled(state: FarmState, body: OrderCancelled, entry: Entry) -> None:
    if state.orders.pop(body.order, None) is not None:
        state.order_placed.pop(body.order, None)
        state.cancelled_orders.add(body.order)


def check_standing_set(state: FarmState, body: StandingOrderSet, entry: Entry) -> Findings:
    standing = body.standing
    about = f"standing order {standing.standing}"
    found = _who(state, about, standing.customer, entry) + _line_problems(state, about, standing.lines, entry)
    try:
        check_standing(standing)
    except InputError as err:
        found.append(from_error(entry, "standing-rule", about, err))
    return found


def apply_standing_set(state: FarmState, body: StandingOrderSet, entry: Entry) -> None:
    """A rule that cannot be read would stop every look at what is due, so it does not get in."""
    try:
        state.standing[body.standing.standing] = check_standing(body.standing)
    except InputError:
        return


def check_paused(state: FarmState, body: StandingOrderPaused, entry: Entry) -> Findings:
    if body.standing not in state.standing:
        message = f"standing order {body.standing} = none: the farm has no standing order of that name."
        return [wrong(entry, "order-unknown", message, "Check its name.")]
    if body.pause.last >= body.pause.first:
        return []
    message = f"pause of {body.standing} = {body.pause.first} to {body.pause.last}: it ends before it begins."
    return [wrong(entry, "pause", message, "Give the first day first.")]


def apply_paused(state: FarmState, body: StandingOrderPaused, entry: Entry) -> None:
    standing = state.standing[body.standing]
    state.standing[body.standing] = replace(standing, pauses=(*standing.pauses, body.pause))


def line_asked(state: FarmState, line: str) -> LineAsked | None:
    """What was asked under `ORDER/LINE` or `STANDING@DATE/LINE`; None where that names no line that was ordered."""
    name, _, number = line.rpartition("/")
    order = state.orders.get(name)
    lines = order.lines if order is not None else _repeated_lines(state, name)
    return next((asked for asked in lines if asked.line == number), None)


def _repeated_lines(state: FarmState, name: str) -> tuple[LineAsked, ...]:
    repeated, _, day = name.rpartition("@")
    standing = state.standing.get(repeated)
    return standing.lines if standing is not None and _is_day(day) else ()


def line_known(state: FarmState, line: str) -> bool:
    """Whether `ORDER/LINE` or `STANDING@DATE/LINE` names a line that was ordered."""
    return line_asked(state, line) is not None


def product_known(state: FarmState, name: str) -> bool:
    """Whether the farm sells it, or grows it: a crop's own name is always a product."""
    return name in state.products or any(recipe.crop == name for recipe in state.recipes.values())


def _order_problems(state: FarmState, order: Order, entry: Entry) -> Findings:
    about = f"order {order.order}"
    found = _who(state, about, order.customer, entry) + _line_problems(state, about, order.lines, entry)
    if order.due < entry.at.date() - timedelta(days=1):
        message = f"{about}, due = {order.due}: that day was over when it was ordered."
        found.append(odd(entry, "due-over", message, "Check the date."))
    return found


def _who(state: FarmState, about: str, customer: str, entry: Entry) -> Findings:
    if customer in state.customers:
        return []
    message = f"{about}, customer = {customer}: the farm has no customer of that name."
    return [odd(entry, "customer-unknown", message, "Set up the customer, or check the name.")]


def _line_problems(state: FarmState, about: str, lines: Sequence[LineAsked], entry: Entry) -> Findings:
    found = twice(entry, f"{about}, line", [line.line for line in lines])
    if not lines:
        found.append(wrong(entry, "nothing-named", f"{about}, lines = none: it must want something.", "Say what."))
    for line in lines:
        problem = line_problem(product_named(state, line.product), line)
        if "/" in line.line:
            message = f"{about}, line = {line.line}: a line's name has no stroke in it."
            found.append(wrong(entry, "line-name", message, "Number the lines."))
        if problem is not None:
            found.append(from_error(entry, "line-amount", about, problem))
        if not product_known(state, line.product):
            message = f"{about}, product = {line.product}: the farm neither sells nor grows anything of that name."
            found.append(odd(entry, "product-unknown", message, "Set up the product or a recipe, or check the name."))
    return found


def _unknown(entry: Entry, order: str) -> Finding:
    message = f"order {order} = none: the farm has no open order of that name."
    return wrong(entry, "order-unknown", message, "Check its name.")


def _is_day(text: str) -> bool:
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True
