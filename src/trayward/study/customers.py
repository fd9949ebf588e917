"""Who orders what in a season, and when the farm gets to know: spot orders, and changes to standing ones."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import TypeVar

import msgspec

from trayward.farm.due import standing_days
from trayward.farm.orders import LineAsked, Order, Pause, StandingOrder, Unit
from trayward.study.chance import Chance

T = TypeVar("T")
DAY = timedelta(days=1)
FOREVER = date(2999, 12, 31)
"""The last day of a pause that never ends."""


class PlacedOrder(msgspec.Struct, frozen=True, kw_only=True):
    """Something a customer says on a day, before the morning round: one order, or how a standing order is from now."""

    known_on: date
    order: Order | None = None
    standing: StandingOrder | None = None


class SpotHabit(msgspec.Struct, frozen=True, kw_only=True):
    """How a customer orders besides the standing orders."""

    customer: str
    a_week: float
    """How many such orders a week, in the mean. [-]"""
    products: tuple[str, ...]
    unit: Unit
    least: float
    most: float
    """Smallest and largest amount, all between them alike likely. [unit]"""
    step: float
    """Amounts come in such steps. [unit]"""
    ahead: tuple[int, int]
    """Fewest and most days before the due day on which it is placed. [d]"""
    weekdays: tuple[int, ...]
    """On which weekdays it is due, Monday being 0."""


class Growth(msgspec.Struct, frozen=True, kw_only=True):
    """A customer wants so many times as much from a day on, of all standing orders."""

    customer: str
    on: date
    factor: float
    known_days: int


class Ending(msgspec.Struct, frozen=True, kw_only=True):
    """A standing order whose last delivery is before a day."""

    standing: str
    on: date
    known_days: int


class Beginning(msgspec.Struct, frozen=True, kw_only=True):
    """A standing order that begins in the season, on its own first day."""

    standing: StandingOrder
    known_days: int


def spot_orders(
    habits: Sequence[SpotHabit], first: date, first_due: date, weeks: int, luck: Chance
) -> list[PlacedOrder]:
    """The spot orders of a season, by the day they are placed; none due before `first_due`."""
    found = [
        placed
        for number, habit in enumerate(habits)
        for week in range(weeks)
        for placed in _week_of(habit, number, week, first, luck)
        if placed.order is not None and placed.order.due >= first_due
    ]
    return sorted(found, key=lambda placed: (placed.known_on, placed.order.order if placed.order else ""))


def _week_of(habit: SpotHabit, number: int, week: int, first: date, luck: Chance) -> Iterator[PlacedOrder]:
    key = ("spot", number, week)
    monday = first - DAY * first.weekday() + 7 * week * DAY
    for count in range(luck.count(habit.a_week, *key)):
        due = monday + DAY * _one_of(habit.weekdays, luck, *key, count, "day")
        low, high = habit.ahead
        ahead = low + int(luck.uniform(*key, count, "ahead") * (high - low + 1))
        order = Order(
            order=f"S{number + 1}-{week + 1}-{count + 1}",
            customer=habit.customer,
            due=due,
            lines=(_line(habit, luck, *key, count),),
        )
        yield PlacedOrder(known_on=due - DAY * ahead, order=order)


def _line(habit: SpotHabit, luck: Chance, *key: object) -> LineAsked:
    product = _one_of(habit.products, luck, *key, "product")
    steps = round((habit.most - habit.least) / habit.step)
    quantity = habit.least + habit.step * int(luck.uniform(*key, "amount") * (steps + 1))
    return LineAsked(line=product, product=product, quantity=float(quantity), unit=habit.unit)


def _one_of(choices: Sequence[T], luck: Chance, *key: object) -> T:
    return choices[int(luck.uniform(*key) * len(choices))]


def scaled(standing: StandingOrder, factor: float) -> StandingOrder:
    """A standing order with other amounts: to 5 g, to whole packs and trays, never none."""
    lines = tuple(msgspec.structs.replace(line, quantity=_amount(line, factor)) for line in standing.lines)
    return msgspec.structs.replace(standing, lines=lines)


def _amount(line: LineAsked, factor: float) -> float:
    step = 5.0 if line.unit == "g" else 1.0
    return line.quantity if factor == 1.0 else max(step, step * round(line.quantity * factor / step))


def begun_on(standing: StandingOrder, day: date) -> StandingOrder:
    """A standing order with nothing due before a day."""
    if standing.start >= day:
        return standing
    return msgspec.structs.replace(standing, pauses=(*standing.pauses, Pause(first=standing.start, last=day - DAY)))


def ended_on(standing: StandingOrder, day: date) -> StandingOrder:
    """A standing order with nothing due from a day on."""
    return msgspec.structs.replace(standing, pauses=(*standing.pauses, Pause(first=day, last=FOREVER)))


def changes(
    standing: Sequence[StandingOrder], grows: Sequence[Growth], ends: Sequence[Ending], begins: Sequence[Beginning]
) -> list[PlacedOrder]:
    """What customers say of their standing orders in the season, by the day they say it."""
    held = {order.standing: order for order in standing}
    found: list[PlacedOrder] = []
    for begin in begins:
        held[begin.standing.standing] = begin.standing
        known = begin.standing.start - DAY * begin.known_days
        found.append(PlacedOrder(known_on=known, standing=begin.standing))
    events: list[Growth | Ending] = sorted([*grows, *ends], key=lambda event: event.on)
    for event in events:
        found += _grown(held, event) if isinstance(event, Growth) else _ended(held, event)
    return sorted(found, key=lambda placed: placed.known_on)


def _ended(held: dict[str, StandingOrder], event: Ending) -> Iterator[PlacedOrder]:
    held[event.standing] = ended_on(held[event.standing], event.on)
    yield PlacedOrder(known_on=event.on - DAY * event.known_days, standing=held[event.standing])


def _grown(held: dict[str, StandingOrder], event: Growth) -> Iterator[PlacedOrder]:
    """The old order ends and one of other amounts takes its place, so that what was delivered stays as it was."""
    known = event.on - DAY * event.known_days
    for order in [order for order in held.values() if order.customer == event.customer]:
        if not standing_days(order, event.on, event.on + 60 * DAY):
            continue
        after = begun_on(
            msgspec.structs.replace(scaled(order, event.factor), standing=f"{order.standing}-more"), event.on
        )
        held[order.standing], held[after.standing] = ended_on(order, event.on), after
        yield PlacedOrder(known_on=known, standing=held[order.standing])
        yield PlacedOrder(known_on=known, standing=after)
