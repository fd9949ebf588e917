"""Order histories made up with known habits: what customers usually order, and what they then did."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import msgspec
import numpy as np

from trayward.farm.orders import Customer, LineAsked, Order, Part, Product
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState

START = date(2025, 1, 6)
"""A Monday."""
CROPS = ("radish", "pea", "broccoli", "sunflower", "mustard", "kale", "basil", "cress")


class Habit(msgspec.Struct, kw_only=True):
    """What a customer does: chances by weekday from Monday [-], shares of products, middle amounts [g], days ahead."""

    name: str
    chances: tuple[float, ...]
    products: dict[str, float]
    amounts: dict[str, float]
    spread: float = 0.2
    ahead: tuple[int, int] = (1, 6)
    """Orders come so many days ahead, any of them as likely as another."""
    changes: dict[int, float] = {}
    """From a week on, amounts are so many times as large."""
    first_week: int = 0
    last_week: int = 10_000
    live: tuple[str, ...] = ()


class Placed(msgspec.Struct, frozen=True):
    """An order and when it was placed."""

    at: datetime
    order: Order


def orders_of(habit: Habit, weeks: int, rng: np.random.Generator) -> list[Placed]:
    """Everything a customer orders for some weeks from `START` on."""
    found = []
    for day in range(habit.first_week * 7, min(weeks, habit.last_week) * 7):
        if rng.random() >= habit.chances[day % 7]:
            continue
        lines = []
        for product, share in habit.products.items():
            if rng.random() < share:
                factor = max((w, f) for w, f in {0: 1.0, **habit.changes}.items() if w <= day // 7)[1]
                amount = factor * habit.amounts[product] * np.exp(habit.spread * rng.standard_normal())
                live = product in habit.live
                lines.append(
                    LineAsked(
                        line=str(len(lines) + 1),
                        product=product,
                        quantity=max(1.0, round(amount)) if live else round(float(amount), 1),
                        unit="trays" if live else "g",
                    )
                )
        due = START + timedelta(days=day)
        lead = int(rng.integers(habit.ahead[0], habit.ahead[1] + 1))
        at = datetime.combine(due - timedelta(days=lead), time(int(rng.integers(8, 18))), tzinfo=UTC)
        if lines:
            name = f"{habit.name} {due.isoformat()}"
            found.append(Placed(at, Order(order=name, customer=habit.name, due=due, lines=tuple(lines))))
    return found


def farm(placed: list[Placed], at: datetime, *, counted_on: bool = True, **settings: object) -> FarmState:
    """A farm that knows the orders placed by a moment."""
    known = [one for one in placed if one.at <= at]
    names = {one.order.customer for one in placed}
    products = {line.product for one in placed for line in one.order.lines}
    return FarmState(
        settings=FarmSettings(name="Lantern Loft", plan_spot_orders=counted_on, **settings),  # type: ignore[arg-type]
        customers={name: Customer(name=name) for name in sorted(names)},
        products={name: Product(name=name, parts=(Part(crop=name),), price=4.0) for name in sorted(products)},
        orders={one.order.order: one.order for one in known},
        order_placed={one.order.order: one.at for one in known},
    )


def a_loft(seed: int, customers: int = 9, crops: int = 8) -> list[Habit]:
    """Customers with habits of their own: some by fixed days, some by mood, one who doubles, one who stops, one new."""
    rng = np.random.default_rng(seed)
    habits = []
    for number in range(customers):
        regular = rng.random() < 0.6
        chances = np.zeros(7)
        if regular:
            days = rng.choice(6, size=int(rng.integers(1, 4)), replace=False)
            chances[days] = rng.uniform(0.5, 0.97, size=len(days))
        else:
            chances[:6] = rng.uniform(0.05, 0.3)
        chosen = rng.choice(crops, size=int(rng.integers(2, min(6, crops) + 1)), replace=False)
        low = int(rng.integers(0, 3))
        habits.append(
            Habit(
                name=f"customer {number}",
                chances=tuple(float(chance) for chance in chances),
                products={CROPS[crop]: float(rng.uniform(0.2, 0.95)) for crop in chosen},
                amounts={CROPS[crop]: float(np.exp(rng.normal(np.log(120), 0.5))) for crop in chosen},
                spread=float(rng.uniform(0.1, 0.4)),
                ahead=(low, low + int(rng.integers(1, 7))),
            )
        )
    habits[0].changes = {40: 2.0}
    habits[1].last_week = 50
    habits[2].first_week = 42
    return habits


def placed_by(habits: list[Habit], weeks: int, seed: int) -> list[Placed]:
    """What all of them order."""
    rng = np.random.default_rng(seed)
    return [one for habit in habits for one in orders_of(habit, weeks, rng)]


def came(placed: list[Placed], at: datetime, first: date, days: int) -> dict[str, np.ndarray]:
    """Grams, or trays, by crop and due day that were placed after a moment."""
    found: dict[str, np.ndarray] = {}
    for one in placed:
        day = (one.order.due - first).days
        if one.at > at and 0 <= day < days:
            for line in one.order.lines:
                found.setdefault(line.product, np.zeros(days))[day] += line.quantity
    return found
