"""What the farm's own orders of single days tell: who ordered what for which day, how much, and how far ahead.

Days are counted from today: 0 is today, -1 yesterday. Weeks end with yesterday, so that each holds every weekday once
and none is half over; the first day of such a week is the weekday of today. Cancelled orders are not in the state any
more, and of a changed order its last word counts.
"""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta
from operator import attrgetter

import msgspec
import numpy as np

from trayward.farm.calendar import day_start, local_day
from trayward.farm.due import line_problem, product_named
from trayward.farm.orders import Customer, LineAsked, Order
from trayward.farm.state import FarmState
from trayward.outlook.kept import uncollected
from trayward.outlook.terms import Floats, Ints

WEEKS = 104
"""Orders older than this tell nothing. [weeks]"""
DAY_SECONDS = 86400.0


class Orders(msgspec.Struct, frozen=True, kw_only=True):
    """
    Orders as columns: one row an order, (o,); and one row a product of an order, (l,).

    `lead` is the time from placing an order to the end of the day it is for; NaN where it was only told afterwards. [d]
    `amount` is grams, or live trays for products that are `live`.
    """

    today: date
    now: float
    """The time of day, as a share of it. [d]"""
    customers: tuple[Customer, ...]
    products: tuple[tuple[str, bool], ...]
    """Name, and whether it goes out as live trays."""
    customer: Ints
    day: Ints
    lead: Floats
    line_order: Ints
    line_product: Ints
    amount: Floats
    last: dict[tuple[int, int], LineAsked]
    """The last line of a customer (number) for a product (number)."""
    closed: frozenset[date]

    @property
    def weeks(self) -> int:
        """Weeks that the past orders span."""
        past = self.day[self.day < 0]
        return int((-past.min() - 1) // 7 + 1) if past.size else 0

    def past(self) -> tuple[Ints, Ints, Ints]:
        """Of the past orders: their rows, their week (0 the first) and their day in the week."""
        rows = np.flatnonzero(self.day < 0)
        back = -self.day[rows] - 1
        return rows, self.weeks - 1 - back // 7, 6 - back % 7


def read_orders(state: FarmState, at: datetime) -> Orders:
    """
    The orders of single days of customers who may place them.

    Parameters
    ----------
    state : FarmState
        The farm as the book tells it at `at`.
    at : datetime
        Now.
    """
    settings = state.settings_or_usual
    today = local_day(at, settings)
    reader = _Reader(state, today, day_start(today, settings))
    first = today - timedelta(days=7 * WEEKS)
    with uncollected():
        for order in sorted(state.orders.values(), key=attrgetter("due")):
            if order.due >= first:
                reader.read(order)
    return reader.orders((at - reader.midnight).total_seconds() / DAY_SECONDS, frozenset(settings.days_off))


class _Reader:
    """Takes in orders one by one, in the order of their days."""

    def __init__(self, state: FarmState, today: date, midnight: datetime) -> None:
        self.state, self.today, self.midnight = state, today, midnight
        self.who: dict[str, int] = {}
        self.what: dict[tuple[str, bool], int] = {}
        self.known: dict[tuple[str, str], tuple[int, float]] = {}
        self.rows: list[tuple[int, int, float]] = []
        self.lines: list[tuple[int, int, float]] = []
        self.last: dict[tuple[int, int], LineAsked] = {}

    def read(self, order: Order) -> None:
        customer = self.state.customers.get(order.customer)
        if customer is not None and not customer.spot_orders:
            return
        number, who = len(self.rows), self.who.setdefault(order.customer, len(self.who))
        found = False
        for line in order.lines:
            product, each = self.known.get((line.product, line.unit)) or self._known(line)
            amount = line.quantity * each
            if product >= 0 and 0 < amount < math.inf:
                self.lines.append((number, product, amount))
                self.last[who, product] = line
                found = True
        if found:
            day = (order.due - self.today).days
            self.rows.append((who, day, self._lead(order.order, day)))

    def _lead(self, order: str, day: int) -> float:
        placed = self.state.order_placed.get(order)
        if placed is None:
            return math.nan
        lead = day + 1 - (placed - self.midnight).total_seconds() / DAY_SECONDS
        return lead if lead > 0 else math.nan

    def _known(self, line: LineAsked) -> tuple[int, float]:
        """Which product a line asks for and what one unit of it is; -1 where its amount cannot be known."""
        product = product_named(self.state, line.product)
        one = LineAsked(line="1", product=line.product, quantity=1.0, unit=line.unit)
        fine = line_problem(product, one) is None
        name = (line.product, line.unit == "trays")
        number = self.what.setdefault(name, len(self.what)) if fine else -1
        each = product.pack_g or 0.0 if line.unit == "packs" else 1.0
        self.known[line.product, line.unit] = number, each
        return number, each

    def orders(self, now: float, closed: frozenset[date]) -> Orders:
        rows = np.array(self.rows, dtype=np.float64).reshape(-1, 3)
        line_order, line_product, amount = _merged(np.array(self.lines, dtype=np.float64).reshape(-1, 3))
        return Orders(
            today=self.today,
            now=now,
            customers=tuple(self.state.customers.get(name) or Customer(name=name) for name in self.who),
            products=tuple(self.what),
            customer=rows[:, 0].astype(np.int64),
            day=rows[:, 1].astype(np.int64),
            lead=rows[:, 2],
            line_order=line_order,
            line_product=line_product,
            amount=amount,
            last=self.last,
            closed=closed,
        )


def _merged(lines: Floats) -> tuple[Ints, Ints, Floats]:
    """Lines (order, product, amount) with those of one order for one product added up."""
    order, product = lines[:, 0].astype(np.int64), lines[:, 1].astype(np.int64)
    many = int(product.max(initial=0)) + 1
    cells, of = np.unique(order * many + product, return_inverse=True)
    amount = np.bincount(of, weights=lines[:, 2], minlength=len(cells)).astype(np.float64)
    return cells // many, cells % many, amount
