"""What is due: orders and standing orders put into grams or live trays, line by line and day by day."""

from __future__ import annotations

import math
from datetime import date

from trayward.errors import Finding, InputError
from trayward.farm.orders import Customer, LineAsked, LineDue, Order, Part, Product, StandingOrder
from trayward.farm.prices import comes_to, price_asked
from trayward.farm.repeats import check_rule, occurrences
from trayward.farm.state import FarmState


def lines_due(state: FarmState, first: date, last: date) -> list[LineDue]:
    """
    Every line due from `first` to `last`, both included, ordered once or standing.

    Standing orders follow RFC 5545: the days their rule hits, with `also_on` added, and with `except_on` and the
    pauses taken away again; ended ones give nothing. Lines whose amount cannot be known (`line_problem`) are left
    out here and named by `order_findings`.

    Returns
    -------
    list of LineDue
        By due day, then by line. Lines are named `ORDER/LINE` and `STANDING@DATE/LINE`.
    """
    found: list[LineDue] = []
    for order in state.orders.values():
        if first <= order.due <= last:
            found += _lines(state, order.order, order.customer, order.due, order.lines)
    for standing in state.standing.values():
        for day in standing_days(standing, first, last):
            found += _lines(state, f"{standing.standing}@{day.isoformat()}", standing.customer, day, standing.lines)
    return sorted(found, key=lambda line: (line.due, line.line))


def standing_days(standing: StandingOrder, first: date, last: date) -> list[date]:
    """The delivery days of a standing order from `first` to `last`, both included."""
    if standing.ended:
        return []
    days = set(occurrences(standing.rule, standing.start, first, last))
    days |= {day for day in standing.also_on if first <= day <= last}
    days -= set(standing.except_on)
    return sorted(day for day in days if not any(pause.first <= day <= pause.last for pause in standing.pauses))


def product_named(state: FarmState, name: str) -> Product:
    """The product of that name; a name the farm has no product for is a crop's own name."""
    return state.products.get(name) or Product(name=name, parts=(Part(crop=name),))


def line_due(state: FarmState, name: str, customer: Customer, due: date, asked: LineAsked) -> LineDue:
    """What a line asks for under a name of its own, in grams or live trays, with what it brings."""
    product = product_named(state, asked.product)
    live = asked.unit == "trays"
    grams = 0.0 if live else asked.quantity * (product.pack_g or 0.0 if asked.unit == "packs" else 1.0)
    return LineDue(
        line=name,
        customer=customer.name,
        product=asked.product,
        due=due,
        parts=product.parts,
        live=live,
        grams=grams,
        trays=round(asked.quantity) if live else 0,
        done_g=state.delivered.get(name, 0.0),
        done_trays=state.delivered_trays.get(name, 0),
        value=_value(state, customer, product, asked, grams, due),
        weight=customer.weight,
        packs=asked.quantity if asked.unit == "packs" else 0.0,
        pack_g=product.pack_g if asked.unit == "packs" else None,
    )


def line_problem(product: Product, line: LineAsked) -> InputError | None:
    """
    Why the amount of a line cannot be known, or None where it can.

    Examples
    --------
    >>> print(line_problem(Product(name="pea", parts=(Part(crop="pea"),)), LineAsked(line="1", product="pea",
    ...     quantity=2, unit="packs")))
    line 1 of pea = 2 packs: the product has no pack weight. Give the product a pack weight, or order grams.
    """
    name = f"line {line.line} of {line.product}"
    shown = f"{line.quantity:g}"
    if not (math.isfinite(line.quantity) and line.quantity > 0):
        return InputError(name, shown, "must be more than 0", "Say how much is wanted.", line.unit)
    if line.unit == "packs" and product.pack_g is None:
        return InputError(
            name, shown, "the product has no pack weight", "Give the product a pack weight, or order grams.", "packs"
        )
    if line.unit != "trays" and product.live:
        return InputError(name, shown, "the product is a live tray", "Order it in trays.", line.unit)
    if line.unit == "trays" and len(product.parts) > 1:
        return InputError(name, shown, "a mix grows on no one tray", "Order it in grams or packs.", "trays")
    if line.unit == "trays" and line.quantity != round(line.quantity):
        return InputError(name, shown, "live trays come whole", "Say a whole number of trays.", "trays")
    return None


def order_findings(state: FarmState, first: date, last: date) -> list[Finding]:
    """What is wrong or odd about the orders due from `first` to `last`: amounts that cannot be known, no price."""
    found: list[Finding] = []
    for order in state.orders.values():
        if first <= order.due <= last:
            found += _findings(state, order)
    for standing in state.standing.values():
        if standing_days(standing, first, last):
            found += _findings(state, standing)
    return found


def check_standing(standing: StandingOrder) -> StandingOrder:
    """The standing order with its rule in plain form. Raises `InputError` if the rule or a pause is no good."""
    for pause in standing.pauses:
        if pause.last < pause.first:
            remedy = "Give the first day first."
            raise InputError(f"pause of {standing.standing}", pause.last, f"ends before {pause.first}", remedy)
    rule = check_rule(standing.rule)
    return StandingOrder(
        standing=standing.standing,
        customer=standing.customer,
        start=standing.start,
        rule=rule,
        lines=standing.lines,
        except_on=standing.except_on,
        also_on=standing.also_on,
        pauses=standing.pauses,
        ended=standing.ended,
    )


# Inside ---------------------------------------------------------------------------------------------------------------


def _lines(state: FarmState, order: str, customer: str, due: date, asked: tuple[LineAsked, ...]) -> list[LineDue]:
    who = state.customers.get(customer) or Customer(name=customer)
    return [
        line_due(state, f"{order}/{line.line}", who, due, line)
        for line in asked
        if line_problem(product_named(state, line.product), line) is None
    ]


def _value(state: FarmState, customer: Customer, product: Product, asked: LineAsked, grams: float, due: date) -> float:
    """What a whole line brings; 0 where nobody said a price."""
    found = price_asked(state, customer, product, asked, due)
    return comes_to(found, asked, grams) if found is not None else 0.0


def _findings(state: FarmState, order: Order | StandingOrder) -> list[Finding]:
    name = order.order if isinstance(order, Order) else order.standing
    due = order.due if isinstance(order, Order) else order.start
    found = []
    for line in order.lines:
        problem = line_problem(product_named(state, line.product), line)
        if problem is not None:
            found.append(Finding(code="line-amount", severity="wrong", message=f"Order {name}, {problem}"))
        elif not _lines(state, name, order.customer, due, (line,))[0].value:
            message = f"Order {name}, line {line.line} of {line.product}: it has no price, so the plan values it at 0."
            remedy = f"Give the line or the product {line.product} a price."
            found.append(Finding(code="line-price", severity="odd", message=message, remedy=remedy))
    return found
