"""Orders: lines with their chances; placed, changed, cancelled; those that repeat; customers."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Annotated, Literal

import msgspec
from msgspec.structs import replace

from trayward.desk.core import Receipt, Said
from trayward.errors import InputError, NotFoundError
from trayward.farm.due import lines_due, standing_days
from trayward.farm.orders import Customer, LineAsked, LineDue, Order, StandingOrder
from trayward.rounds.kept import kept_plan
from trayward.web.api.farm import Limit, PageAsked, page_of
from trayward.web.api.operation import LAST_DAY, Nothing, look, tell
from trayward.web.api.telling import Name, Telling, Words
from trayward.web.ask import Ask

MOST_DAYS = 92
"""So many days of lines are told at once. [d]"""


class OrdersAsked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """From which day to which, both included, and from where on."""

    first: date | None = None
    """Today, where it is left out."""
    last: date | None = None
    """Two weeks on, where it is left out."""
    customer: Annotated[str, msgspec.Meta(max_length=200)] = ""
    after: Annotated[str, msgspec.Meta(max_length=400)] = ""
    limit: Limit = 200


class LineTold(msgspec.Struct, frozen=True, kw_only=True):
    """One line on one day, with the chance that it is met."""

    line: LineDue
    chance: float | None
    """That it is met in full, by the plan kept; None where no plan knows it. [-]"""
    short: float
    """Grams, or live trays, it is expected to be short of."""
    why: str
    raised_by: str
    """What would make it likelier."""


class LinePage(msgspec.Struct, frozen=True, kw_only=True):
    """Lines by day."""

    lines: tuple[LineTold, ...]
    next: str | None


class OrderList(msgspec.Struct, frozen=True, kw_only=True):
    """Orders for one day each, from today on."""

    orders: tuple[Order, ...]
    next: str | None


class StandingList(msgspec.Struct, frozen=True, kw_only=True):
    """Orders that repeat."""

    standing: tuple[StandingOrder, ...]


class Customers(msgspec.Struct, frozen=True, kw_only=True):
    """Who eats it."""

    customers: tuple[Customer, ...]


class OrderLine(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What is asked for."""

    line: Name
    """Its own name within the order."""
    product: Name
    quantity: Annotated[float, msgspec.Meta(gt=0, le=1e7)]
    unit: Literal["g", "packs", "trays"] = "g"
    price: Annotated[float, msgspec.Meta(ge=0, le=1e9)] | None = None
    """Of one unit, where it differs from the product's. [farm's currency]"""

    def asked(self) -> LineAsked:
        """As the book has it."""
        return LineAsked(line=self.line, product=self.product, quantity=self.quantity, unit=self.unit, price=self.price)


Lines = Annotated[tuple[OrderLine, ...], msgspec.Meta(min_length=1, max_length=200)]


class PlaceOrder(Telling, frozen=True, kw_only=True):
    """Somebody wants something on a day."""

    customer: Name
    due: date
    lines: Lines
    order: Annotated[str, msgspec.Meta(max_length=200)] = ""
    """Its name; made by the farm where it is left out."""
    note: Words = ""


class ChangeOrder(Telling, frozen=True, kw_only=True):
    """An order is as said from now on, all of it."""

    order: Name
    customer: Name
    due: date
    lines: Lines
    note: Words = ""


class CancelOrder(Telling, frozen=True, kw_only=True):
    """An order is off."""

    order: Name
    reason: Words = ""


class SetStanding(Telling, frozen=True, kw_only=True):
    """An order that repeats is as said from now on, all of it. Its pauses stay."""

    standing: Name
    customer: Name
    start: date
    rule: Annotated[str, msgspec.Meta(min_length=1, max_length=400)]
    """An RFC 5545 RRULE value: `FREQ=WEEKLY;BYDAY=TU`."""
    lines: Lines
    except_on: tuple[date, ...] = ()
    also_on: tuple[date, ...] = ()


class PauseStanding(Telling, frozen=True, kw_only=True):
    """No deliveries of it from one day to another, both included."""

    standing: Name
    first: date
    last: date


class SkipStanding(Telling, frozen=True, kw_only=True):
    """No delivery of it on one day."""

    standing: Name
    day: date


class GoOnStanding(Telling, frozen=True, kw_only=True):
    """A pause of it is off; or, where no pause is named, it goes on after it had ended."""

    standing: Name
    paused_from: date | None = None
    """The first day of the pause."""


class EndStanding(Telling, frozen=True, kw_only=True):
    """Nothing more is due for it."""

    standing: Name


class SetCustomer(Telling, frozen=True, kw_only=True):
    """A customer is as said from now on."""

    name: Name
    home: bool = False
    """The grower's own table."""
    weight: Annotated[float, msgspec.Meta(gt=0, le=100)] = 1.0
    """How much letting them down counts, against 1. [-]"""
    spot_orders: bool = True
    note: Words = ""


def _lines(ask: Ask, asked: OrdersAsked) -> LinePage:
    first = asked.first or ask.today
    last = asked.last or min(first + timedelta(days=14), LAST_DAY)
    if not first <= last <= first + timedelta(days=MOST_DAYS):
        raise InputError("last", last.isoformat(), f"must lie within {MOST_DAYS} days of the first", "Ask for less.")
    state = ask.farm.state(ask.at)
    plan = ask.kept(("plan kept",), lambda: kept_plan(ask.farm.state(ask.at))).plan
    known = {line.line: line for line in plan.lines} if plan is not None else {}
    due = [(each.line, each) for each in lines_due(state, first, last) if asked.customer in ("", each.customer)]
    page, following = page_of(due, asked.after, asked.limit)
    told = [(each, known.get(each.line)) for each in page]
    return LinePage(
        lines=tuple(
            LineTold(
                line=each, chance=ahead.chance if ahead else None, short=ahead.short if ahead else 0.0,
                why=ahead.why if ahead else "", raised_by=ahead.raised_by if ahead else "",
            )
            for each, ahead in told
        ),
        next=following,
    )  # fmt: skip


def _orders(ask: Ask, asked: PageAsked) -> OrderList:
    ahead = sorted((one for one in ask.farm.state(ask.at).orders.values() if one.due >= ask.today), key=_by_day)
    page, following = page_of([(one.order, one) for one in ahead], asked.after, asked.limit)
    return OrderList(orders=tuple(page), next=following)


def _by_day(order: Order) -> tuple[date, str]:
    return order.due, order.order


def _standing(ask: Ask, _: Nothing) -> StandingList:
    return StandingList(standing=tuple(ask.farm.state(ask.at).standing.values()))


def _customers(ask: Ask, _: Nothing) -> Customers:
    return Customers(customers=tuple(ask.farm.state(ask.at).customers.values()))


def _place(ask: Ask, told: PlaceOrder, said: Said) -> Receipt:
    lines = [line.asked() for line in told.lines]
    return ask.farm.place_order(told.customer, told.due, lines, order=told.order, note=told.note, **said)


def _change(ask: Ask, told: ChangeOrder, said: Said) -> Receipt:
    held = ask.farm.state(said["at"])
    lines = tuple(line.asked() for line in told.lines)
    before = held.orders.get(told.order)
    source = before.source if before is not None else ""
    order = Order(order=told.order, customer=told.customer, due=told.due, lines=lines, note=told.note, source=source)
    return ask.farm.change_order(order, **said)


def _cancel(ask: Ask, told: CancelOrder, said: Said) -> Receipt:
    return ask.farm.cancel_order(told.order, told.reason, **said)


def _set_standing(ask: Ask, told: SetStanding, said: Said) -> Receipt:
    held = ask.farm.state(said["at"]).standing.get(told.standing)
    made = StandingOrder(
        standing=told.standing, customer=told.customer, start=told.start, rule=told.rule,
        lines=tuple(line.asked() for line in told.lines), except_on=told.except_on, also_on=told.also_on,
        pauses=held.pauses if held is not None else (),
    )  # fmt: skip
    return ask.farm.set_standing(made, **said)


def _pause(ask: Ask, told: PauseStanding, said: Said) -> Receipt:
    return ask.farm.pause_standing(told.standing, told.first, told.last, **said)


def _skip(ask: Ask, told: SkipStanding, said: Said) -> Receipt:
    held = ask.farm.state(said["at"]).standing
    _require(held, "standing order", told.standing)
    one = held[told.standing]
    if told.day not in standing_days(one, told.day, told.day):
        rule = "nothing of it is due that day"
        raise InputError("day", told.day.isoformat(), rule, "Give a day on which it is due.")
    return ask.farm.set_standing(replace(one, except_on=(*one.except_on, told.day)), **said)


def _go_on(ask: Ask, told: GoOnStanding, said: Said) -> Receipt:
    held = ask.farm.state(said["at"]).standing
    _require(held, "standing order", told.standing)
    one = held[told.standing]
    paused = [each for each in one.pauses if each.first == told.paused_from]
    if told.paused_from is not None and not paused:
        rule, days = "no pause of it begins that day", ", ".join(each.first.isoformat() for each in one.pauses)
        raise InputError("paused_from", told.paused_from.isoformat(), rule, f"Its pauses begin: {days or 'none'}.")
    if told.paused_from is None and not one.ended:
        raise InputError("standing", told.standing, "it has not ended", "Say which pause is off.")
    pauses = tuple(each for each in one.pauses if each not in paused)
    return ask.farm.set_standing(replace(one, pauses=pauses, ended=bool(paused) and one.ended), **said)


def _end(ask: Ask, told: EndStanding, said: Said) -> Receipt:
    return ask.farm.end_standing(told.standing, **said)


def _customer(ask: Ask, told: SetCustomer, said: Said) -> Receipt:
    made = Customer(name=told.name, home=told.home, weight=told.weight, spot_orders=told.spot_orders, note=told.note)
    return ask.farm.set_customer(made, **said)


def _require(held: Mapping[str, object], kind: str, name: str) -> None:
    if name not in held:
        raise NotFoundError(kind, name, tuple(held))


STANDING = ("standing order set",)
OPERATIONS = (
    look("/lines", _lines, LinePage, "orders", "Order lines by day, with their chances.", takes=OrdersAsked,
         steady=True),
    look("/orders", _orders, OrderList, "orders", "Orders for one day, from today on.", takes=PageAsked, steady=True),
    look("/standing", _standing, StandingList, "orders", "Orders that repeat.", steady=True),
    look("/customers", _customers, Customers, "orders", "Customers.", steady=True),
    tell("/orders/place", _place, PlaceOrder, "orders", "Place an order.", may="run", kinds=("order placed",)),
    tell("/orders/change", _change, ChangeOrder, "orders", "Change an order.", may="run", kinds=("order changed",)),
    tell("/orders/cancel", _cancel, CancelOrder, "orders", "Cancel an order.", may="run", kinds=("order cancelled",)),
    tell("/standing/set", _set_standing, SetStanding, "orders", "Set an order that repeats.", may="run",
         kinds=STANDING),
    tell("/standing/pause", _pause, PauseStanding, "orders", "Pause an order that repeats.", may="run",
         kinds=("standing order paused",)),
    tell("/standing/skip", _skip, SkipStanding, "orders", "Leave out one day of an order that repeats.", may="run",
         kinds=STANDING),
    tell("/standing/go-on", _go_on, GoOnStanding, "orders", "An order that repeats goes on.", may="run",
         kinds=STANDING),
    tell("/standing/end", _end, EndStanding, "orders", "End an order that repeats.", may="run", kinds=STANDING),
    tell("/customers/set", _customer, SetCustomer, "orders", "Set a customer.", may="run", kinds=("customer set",)),
)  # fmt: skip
