"""Spot orders that usually come: a forecast of orders for single days from the farm's own orders, with its doubt.

What is placed for a day already is known and not foretold again: the forecast is of what is still to come for it. New
customers, and reasons for an order that no earlier order knew of, are not foretold.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Literal

import msgspec
import numpy as np

from trayward.farm.calendar import is_work_day
from trayward.farm.due import line_due, product_named
from trayward.farm.orders import Customer, LineAsked, LineDue, Part
from trayward.farm.state import FarmState
from trayward.outlook.demand_amounts import Amounts, learn_amounts
from trayward.outlook.demand_history import Orders, read_orders
from trayward.outlook.demand_shares import Shares, learn_shares
from trayward.outlook.demand_when import Ahead, Comings, draw_comings, learn_comings, mean_comings
from trayward.outlook.terms import Floats, Ints

LEAST_ORDERS, LEAST_DAYS = 5, 14
"""With fewer past orders, or a shorter past, nothing usually comes. Our choice. [-], [d]"""
TOO_FEW = (
    f"Counts on spot orders as they usually come, but none do yet: it takes {LEAST_ORDERS} or more of them over "
    f"{LEAST_DAYS} days or more."
)
KEYS = 120
"""So many of the customers' products stand on their own; of the rest, each product is one for all. Our choice. [-]"""
LIVE_G = 100.0
"""A live tray counts as so many grams where products are ranked. [g]"""
AT_ONCE = 20_000
"""Orders whose products are drawn at once: few enough to stay in a core's own memory."""


class SpotKey(msgspec.Struct, frozen=True, kw_only=True):
    """What may be ordered: a product by a customer; by all with small orders together where `customer` is empty."""

    customer: str
    product: str
    parts: tuple[Part, ...]
    unit: Literal["g", "trays"]
    price: float
    """What a gram, or a live tray, brings. [farm's currency]"""
    weight: float
    """How much letting them down counts, against 1. [-]"""
    packs: float = 0.0
    """Packs filled for a gram. [1/g]"""


class SpotDraws(msgspec.Struct, frozen=True, kw_only=True):
    """What may still be ordered: `amount` (n, keys, days) for each due day. [g], or live trays"""

    keys: tuple[SpotKey, ...]
    amount: Floats


class SpotDemand:
    """
    The forecast of spot orders as they usually come.

    Parameters
    ----------
    state : FarmState
        The farm; only read.
    orders : Orders
        Its past orders and those placed for days to come.
    """

    def __init__(self, state: FarmState, orders: Orders) -> None:
        self._state, self._orders = state, orders
        self._settings = state.settings_or_usual
        self._comings: Comings = learn_comings(orders)
        self._choice: Shares = _learn_choice(orders)
        self._amounts: Amounts = _learn_amounts(orders)

    @property
    def keys(self) -> tuple[SpotKey, ...]:
        """What may be ordered, by whom."""
        return self._keyed[0]

    def draws(self, first: date, days: int, n: int, rng: np.random.Generator) -> SpotDraws:
        """
        What may still be ordered for some days, in `n` cases.

        Parameters
        ----------
        first : date
            The first due day; for days before today nothing comes any more.
        days : int
            How many days.
        n : int
            How many cases. Habits, amounts and luck are drawn anew in each.
        rng : numpy.random.Generator
            Where the luck comes from.

        Returns
        -------
        SpotDraws
            `amount` (n, keys, days). [g], or live trays
        """
        ahead, at = self._ahead(first, days)
        amount = np.zeros((n, len(self.keys), days))
        if len(ahead.offset):
            amount[:, :, at:] = self._drawn(ahead, n, rng)
        return SpotDraws(keys=self.keys, amount=amount)

    def expected(self, first: date, days: int) -> Floats:
        """What is to be expected still, by key and due day (keys, days). [g], or live trays"""
        ahead, at = self._ahead(first, days)
        found = np.zeros((len(self.keys), days))
        if len(ahead.offset):
            orders = mean_comings(self._comings, ahead)
            each = self._choice.mean(ahead.weeks)[:, :, None] * self._means(ahead.weeks)[:, :, ahead.week_day]
            np.add.at(found[:, at:], self._keyed[1].ravel(), (orders[:, None, :] * each).reshape(-1, orders.shape[1]))
        return found

    @cached_property
    def usual_week(self) -> Floats:
        """What a usual week brings, by customer and product (c, p). [g], or live trays"""
        share = self._comings.shares.mean(0.0) * self._comings.staying[:, None]
        orders = share * (1 + self._comings.extras[0] / self._comings.extras[1])[:, None]
        return np.asarray(np.einsum("cd,cpd->cp", orders, self._means(0.0)) * self._choice.mean(0.0))

    def words(self) -> str:
        """What the plan counts on, in a sentence."""
        return f"Counts on about {self.amount_words()}, as they usually come."

    def amount_words(self) -> str:
        """What usually comes in a week, from how many customers."""
        live = np.array([alive for _, alive in self._orders.products])
        grams, trays = float(self.usual_week[:, ~live].sum()), float(self.usual_week[:, live].sum())
        parts = [f"{_rounded(grams)} g"] if grams >= 0.5 else []
        if round(trays, 1) > 0:
            parts.append("1 live tray" if round(trays, 1) == 1 else f"{trays:.2g} live trays")
        who = int((self._comings.shares.mean(0.0).sum(axis=1) * self._comings.staying > 1 / 8).sum())
        people = "1 customer" if who == 1 else f"{who} customers"
        return f"{' and '.join(parts) or '0 g'} a week of spot orders from {people}"

    # Inside ----------------------------------------------------------------------------------------------------------

    def _ahead(self, first: date, days: int) -> tuple[Ahead, int]:
        """The days from today on, and how many of those asked for lie before."""
        start = (first - self._orders.today).days
        at = min(max(0, -start), days)
        offset = np.arange(start + at, start + days)
        is_open = [is_work_day(self._settings, self._orders.today + timedelta(days=int(day))) for day in offset]
        middle = float(offset.mean()) / 7.0 - 0.5 if len(offset) else 0.0
        return (
            Ahead(
                offset=offset,
                week_day=offset % 7,
                open=np.array(is_open, dtype=np.float64),
                weeks=max(0.0, middle),
            ),
            at,
        )

    def _means(self, weeks: float) -> Floats:
        return self._amounts.mean(weeks)

    def _drawn(self, ahead: Ahead, n: int, rng: np.random.Generator) -> Floats:
        """Orders first, then which products each asks for, then how much of them."""
        orders = draw_comings(self._comings, ahead, n, rng)
        share = self._choice.draw(ahead.weeks, n, rng)
        level, spread = self._amounts.draw(ahead.weeks, n, rng)
        live = np.array([alive for _, alive in self._orders.products])
        keys, of_key = len(self.keys), self._keyed[1]
        found = np.zeros(n * keys * len(ahead.offset))
        which = np.repeat(np.arange(orders.size), orders.ravel())
        for at in range(0, len(which), AT_ONCE):
            case, who, day = np.unravel_index(which[at : at + AT_ONCE], orders.shape)
            line, what = np.nonzero(rng.random((len(case), share.shape[2])) < share[case, who])
            case, who, day = case[line], who[line], day[line]
            luck = spread[case, who, what] * rng.standard_normal(len(line))
            amount = np.exp(level[case, who, what] + self._amounts.usual[who, what, ahead.week_day[day]] + luck)
            amount = np.where(live[what], np.maximum(1.0, np.round(amount)), amount)
            cell = (case * keys + of_key[who, what]) * len(ahead.offset) + day
            found += np.bincount(cell, weights=amount, minlength=len(found))
        return found.reshape(n, keys, len(ahead.offset))

    @cached_property
    def _keyed(self) -> tuple[tuple[SpotKey, ...], Ints]:
        """The keys, and which of them each customer's product belongs to (c, p)."""
        live = np.array([alive for _, alive in self._orders.products])
        size = self.usual_week * np.where(live, LIVE_G, 1.0)
        own = np.argsort(-size, axis=None, kind="stable")[:KEYS]
        of_key = np.full(size.shape, -1, dtype=np.int64)
        of_key.ravel()[own] = np.arange(len(own))
        keys = [self._key(*divmod(int(pair), size.shape[1])) for pair in own]
        for product in range(size.shape[1]):
            rest = np.flatnonzero(of_key[:, product] < 0)
            if len(rest):
                of_key[rest, product] = len(keys)
                keys.append(self._together(rest, product, size[rest, product]))
        return tuple(keys), of_key

    def _together(self, rest: Ints, product: int, size: Floats) -> SpotKey:
        """One key for customers whose orders of a product are small: prices and weights by what each orders."""
        ordered = [number for number, who in enumerate(rest) if (int(who), product) in self._orders.last] or [0]
        keys = [self._key(int(rest[number]), product) for number in ordered]
        by = size[ordered] + 1e-9
        price, packs = (float(np.average([getattr(key, name) for key in keys], weights=by)) for name in _AVERAGED)
        weights = [self._orders.customers[who].weight for who in rest]
        return msgspec.structs.replace(
            keys[0],
            customer=keys[0].customer if len(rest) == 1 else "",
            price=price,
            weight=float(np.average(weights, weights=size + 1e-9)),
            packs=packs,
        )

    def _key(self, who: int, what: int) -> SpotKey:
        name, live = self._orders.products[what]
        customer = self._orders.customers[who]
        line = self._line(customer, who, what)
        whole = float(line.trays) if live else line.grams
        return SpotKey(
            customer=customer.name,
            product=name,
            parts=product_named(self._state, name).parts,
            unit="trays" if live else "g",
            price=line.value / whole,
            weight=customer.weight,
            packs=line.packs / whole,
        )

    def _line(self, customer: Customer, who: int, what: int) -> LineDue:
        """The last line of a customer for a product; where there is none, one at the product's own price."""
        name, live = self._orders.products[what]
        asked = self._orders.last.get((who, what))
        if asked is None:
            product = product_named(self._state, name)
            unit: Literal["g", "packs", "trays"] = "trays" if live else "packs" if product.pack_g else "g"
            asked = LineAsked(line="1", product=name, quantity=100.0 if unit == "g" else 1.0, unit=unit)
        return line_due(self._state, "", customer, self._orders.today, asked)


_AVERAGED = ("price", "packs")


def look_for_orders(state: FarmState, at: datetime) -> SpotDemand | None:
    """
    The spot orders that usually come, where the farm wants the plan to count on them.

    Parameters
    ----------
    state : FarmState
        The farm as the book tells it at `at`.
    at : datetime
        Now: what is placed by now is known.

    Returns
    -------
    SpotDemand or None
        None where `plan_spot_orders` is off, or where there are too few past orders to tell anything from.
    """
    wanted = state.settings is not None and state.settings.plan_spot_orders
    return usual_orders(state, at) if wanted else None


def usual_orders(state: FarmState, at: datetime) -> SpotDemand | None:
    """The spot orders that usually come, whether the farm wants to count on them or not; None with few past ones."""
    orders = read_orders(state, at)
    past = orders.day[orders.day < 0]
    if len(past) < LEAST_ORDERS or -past.min() < LEAST_DAYS:
        return None
    return SpotDemand(state, orders)


def spot_note(state: FarmState, at: datetime, demand: SpotDemand | None = None) -> str:
    """
    A sentence for a plan's notes: what it counts on, or what it leaves out; empty where neither is the case.

    Parameters
    ----------
    state, at
        As in `look_for_orders`.
    demand : SpotDemand, optional
        What it gave, to spare looking again.
    """
    if demand is not None:
        return demand.words()
    found, wanted = usual_orders(state, at), state.settings is not None and state.settings.plan_spot_orders
    if found is None or not found.usual_week.sum():
        return TOO_FEW if wanted else ""
    if wanted:
        return found.words()
    return (
        f"Leaves out about {found.amount_words()} that usually come and are not placed yet. To grow for them, "
        'set spot_orders = "as they usually come" in the setup file.'
    )


def _learn_choice(orders: Orders) -> Shares:
    """Which products an order asks for: by customer, out of the customer's orders."""
    rows, week, _ = orders.past()
    shape = (orders.weeks, len(orders.customers), len(orders.products))
    of_order = np.full(len(orders.day), -1, dtype=np.int64)
    of_order[rows] = week * shape[1] + orders.customer[rows]
    mine = of_order[orders.line_order]
    known = mine >= 0
    cell = mine[known] * shape[2] + orders.line_product[known]
    done = np.bincount(cell, minlength=int(np.prod(shape))).reshape(shape).astype(np.float64)
    count = np.bincount(of_order[rows], minlength=shape[0] * shape[1]).reshape(*shape[:2], 1).astype(np.float64)
    return learn_shares(done, count)


def _learn_amounts(orders: Orders) -> Amounts:
    rows, week, day = orders.past()
    place = np.full((2, len(orders.day)), -1, dtype=np.int64)
    place[0, rows], place[1, rows] = week, day
    known = place[0][orders.line_order] >= 0
    of = orders.line_order[known]
    return learn_amounts(
        np.log(orders.amount[known]),
        orders.customer[of],
        orders.line_product[known],
        place[0][of],
        place[1][of],
        shape=np.array([orders.weeks, len(orders.customers), len(orders.products)]),
    )


def _rounded(grams: float) -> str:
    """Grams as people say them: two figures."""
    step = 10.0 ** max(0, len(str(int(grams))) - 2)
    return f"{round(grams / step) * step:.0f}"
