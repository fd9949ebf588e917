"""How much is asked for at a time: log amounts by customer and product, each about what both are like.

An amount is lognormal. Weekdays may move a customer's amounts, and a product's of a customer; by how much they differ
is read off the amounts themselves, and where they do not, nothing moves. Levels fade like habits (`demand_fading`), and
the spread is that of the amounts about what was foretold for them, so that a level that wanders widens it.
"""

from __future__ import annotations

from typing import Final

import msgspec
import numpy as np

from trayward.outlook.demand_fading import KEPT, SCORED, before_each, blocks, faded, further, pick, recent, trust
from trayward.outlook.terms import Floats, Ints

STRENGTHS: Final = np.array([1.0, 4.0, 16.0])
"""As many lines of a customer's product the belief from both counts as. Our choice. [-]"""
SPREAD, SPREAD_LINES = 0.35, 4.0
"""Amounts of one customer and product differ about this much [log], until so many lines are seen. Our choice."""
OWN_SPREAD_LINES = 8.0
"""As many lines of a customer's product count as being as much apart as the customer's others. Our choice. [-]"""
LEAST_SPREAD, MOST_SPREAD = 0.02, 1.0
CUSTOMER_LINES = 2.0
"""As many lines of a customer count as being like all customers. Our choice. [-]"""


class Amounts(msgspec.Struct, frozen=True, kw_only=True):
    """What is known: lines `count` and their log `total` (h, c, p) beyond the usual.

    Errors of what was foretold and their number are kept by customer (g, c), and by customer and product (g, c, p).
    """

    count: Floats
    total: Floats
    errors: Floats
    seen: Floats
    own_errors: Floats
    own_seen: Floats
    trusted: Floats
    usual: Floats
    """The middle of a product and what the day of the week adds for a customer (c, p, 7). [log]"""

    def laws(self, weeks: float) -> tuple[Floats, Floats, Floats, Floats]:
        """By way: log level beyond the usual and its lines' worth; mean square error and its lines'; all (g, c, p)."""
        left = further(weeks)[:, None, None]
        level, worth = _levels(self.count * left, self.total * left)
        customer, lines = _squares(self.errors, self.seen)
        seen = self.own_seen + OWN_SPREAD_LINES
        square = (self.own_errors + OWN_SPREAD_LINES * customer[..., None]) / seen
        return level, worth, square, self.own_seen + np.minimum(OWN_SPREAD_LINES, lines)[..., None]

    def mean(self, weeks: float) -> Floats:
        """The expected amount by customer, product and day of the week (c, p, 7)."""
        level, worth, square, _ = self.laws(weeks)
        wide = np.minimum(square * (1 + 1 / worth), MOST_SPREAD**2)
        usual = np.einsum("cg,gcp->cp", self.trusted, np.exp(level + wide / 2))
        return np.asarray(usual[:, :, None] * np.exp(self.usual))

    def draw(self, weeks: float, n: int, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """Log levels beyond the usual (n, c, p), and spreads (n, c, p), as they may be."""
        level, worth, square, lines = self.laws(weeks)
        ways, rows = pick(self.trusted, n, rng), np.arange(len(self.trusted))
        dof = lines[ways, rows]
        spread = np.sqrt(square[ways, rows] * dof / rng.chisquare(dof))
        spread = np.clip(spread, LEAST_SPREAD, MOST_SPREAD)
        own = level[ways, rows]
        unsure = rng.standard_normal(own.shape) * spread / np.sqrt(worth[ways, rows])
        return own + unsure, spread


def learn_amounts(log_amount: Floats, customer: Ints, product: Ints, week: Ints, day: Ints, *, shape: Ints) -> Amounts:
    """
    Learn how much is asked for at a time.

    Parameters
    ----------
    log_amount, customer, product, week, day : (l,)
        Lines: the log of what was asked for, by whom, of what, when.
    shape : (3,)
        Weeks, customers and products there are.
    """
    weeks, customers, products = (int(size) for size in shape)
    pair = customer * products + product
    # Products lie about their own middle: else the first lines of all would teach how little was known of them.
    middle = np.bincount(product, weights=log_amount, minlength=products) / np.maximum(
        np.bincount(product, minlength=products), 1
    )
    usual = middle[:, None] + _weekdays(log_amount, customer, pair, day, customers, products)
    y = log_amount - usual[customer, product, day]
    cell = week * (customers * products) + pair
    count, total, squares = (
        np.bincount(cell, weights=of, minlength=weeks * customers * products)
        .astype(np.float64)
        .reshape(weeks, customers, products)
        for of in (np.ones_like(y), y, y * y)
    )
    return _learnt(count, total, squares, usual)


def _learnt(count: Floats, total: Floats, squares: Floats, usual: Floats) -> Amounts:
    start = max(0, len(count) - SCORED)
    lines, logs = faded(count[:start]), faded(total[:start])
    errors = _Errors(len(count) - start, *count.shape[1:])
    for block in blocks(len(count) - start, len(KEPT) * count[0].size):
        n, y, y2 = (weeks[start:][block] for weeks in (count, total, squares))
        before, lines = before_each(lines, n)
        before_logs, logs = before_each(logs, y)
        errors.take(block.start, n, y, y2, before, before_logs)
    by_customer, seen, scores = _judged(errors.off, errors.blur, count[start:].sum(axis=2))
    return Amounts(
        count=lines,
        total=logs,
        errors=by_customer,
        seen=seen,
        own_errors=errors.own,
        own_seen=np.repeat(faded(count[start:]), len(STRENGTHS), axis=0),
        trusted=trust(scores),
        usual=usual,
    )


class _Errors:
    """
    How far amounts lay from what each way foretold for them.

    `off` is their squares and `blur` the log of what doubt of the level adds, by week and customer (w, g, c); `own` the
    faded squares by customer and product (g, c, p).
    """

    def __init__(self, weeks: int, customers: int, products: int) -> None:
        ways = len(KEPT) * len(STRENGTHS)
        self.weeks = weeks
        self.off, self.blur = (np.zeros((weeks, ways, customers)) for _ in range(2))
        self.own = np.zeros((ways, customers, products))

    def take(self, at: int, n: Floats, y: Floats, y2: Floats, before: Floats, before_logs: Floats) -> None:
        """Some weeks more, beginning with week `at`: lines, logs and their squares, and the sums before each."""
        week, who, what = np.nonzero(n)
        if not len(week):
            return
        believed = _beliefs(before, before_logs)[week, :, who, what][:, :, None]
        worth = before[week, :, who, what][:, :, None] + STRENGTHS
        level = (before_logs[week, :, who, what][:, :, None] + STRENGTHS * believed) / worth
        lines, logs, squares = (of[week, who, what][:, None, None] for of in (n, y, y2))
        apart = np.maximum(squares - 2 * level * logs + lines * level**2, 0.0) * (worth / (worth + 1))
        self._keep(self.off, at, week, who, apart)
        self._keep(self.blur, at, week, who, lines * np.log1p(1 / worth))
        age = (self.weeks - at - week)[:, None, None]
        left = (apart * KEPT[:, None] ** age).reshape(len(week), -1)
        np.add.at(self.own.reshape(len(self.own), -1).T, who * self.own.shape[2] + what, left)

    @staticmethod
    def _keep(into: Floats, at: int, week: Ints, who: Ints, values: Floats) -> None:
        """Add up the values of each week and customer, which stand together."""
        starts = np.flatnonzero(np.diff(week * into.shape[2] + who, prepend=-1))
        into[at + week[starts], :, who[starts]] = np.add.reduceat(values.reshape(len(week), -1), starts)


def _judged(off: Floats, blur: Floats, lot: Floats) -> tuple[Floats, Floats, Floats]:
    """Faded squares of errors and their number, and how well each way foretold lately; all (g, c)."""
    ways = (len(STRENGTHS), off.shape[2])
    start = np.zeros((len(KEPT), *ways))
    errors, last_errors = _before_each_way(start, off)
    seen, last_seen = _before_each_way(start, np.broadcast_to(lot[:, None], off.shape))
    square, _ = _squares(errors, seen)
    scores = recent(-0.5 * (lot[:, None] * np.log(square) + off / square + blur))
    return last_errors, last_seen, scores


def _before_each_way(start: Floats, weeks: Floats) -> tuple[Floats, Floats]:
    """Like `before_each`, of sums that differ by way: (w, g, c) and (g, c)."""
    kept = KEPT[:, None, None]
    found = np.empty((len(weeks), *start.shape))
    for at, week in enumerate(weeks):
        found[at] = start
        start = kept * (start + week.reshape(start.shape))
    return found.reshape(weeks.shape), start.reshape(weeks.shape[1:])


def _beliefs(count: Floats, total: Floats) -> Floats:
    """What product and customer make believe of a log level (..., h, c, p), from sums of the same shape."""
    of_product, of_customer = count.sum(axis=-2, keepdims=True), count.sum(axis=-1, keepdims=True)
    all_logs = total.sum(axis=-2, keepdims=True)
    lines = np.maximum(of_product.sum(axis=-1, keepdims=True), 1e-9)
    product = (all_logs + all_logs.sum(axis=-1, keepdims=True) / lines) / (of_product + 1.0)
    beyond = (total - count * product).sum(axis=-1, keepdims=True)
    return np.asarray(product + beyond / (of_customer + CUSTOMER_LINES))


def _levels(count: Floats, total: Floats) -> tuple[Floats, Floats]:
    """Log level of each customer's product and how many lines it rests on (g, c, p), from sums (h, c, p)."""
    strength = STRENGTHS[:, None, None]
    worth = count[:, None] + strength
    level = (total[:, None] + strength * _beliefs(count, total)[:, None]) / worth
    shape = (-1, *count.shape[1:])
    return level.reshape(shape), worth.reshape(shape)


def _squares(errors: Floats, seen: Floats) -> tuple[Floats, Floats]:
    """The mean square error of each customer's lines, steadied by all customers', and the lines it rests on."""
    common = errors.sum(axis=-1, keepdims=True) + SPREAD_LINES * SPREAD**2
    common = common / (seen.sum(axis=-1, keepdims=True) + SPREAD_LINES)
    lines = seen + SPREAD_LINES
    return np.maximum((errors + SPREAD_LINES * common) / lines, LEAST_SPREAD**2), lines


def _weekdays(y: Floats, customer: Ints, pair: Ints, day: Ints, customers: int, products: int) -> Floats:
    """What days of the week add: of a customer first, then of a customer's product beyond that (c, p, 7)."""
    count = np.maximum(np.bincount(pair, minlength=customers * products), 1)
    rest = y - (np.bincount(pair, weights=y, minlength=customers * products) / count)[pair]
    own = shrunk(rest, customer * 7 + day, customers * 7)
    beyond = shrunk(rest - own[customer * 7 + day], pair * 7 + day, customers * products * 7)
    return own.reshape(customers, 1, 7) + beyond.reshape(customers, products, 7)


def shrunk(values: Floats, cell: Ints, cells: int) -> Floats:
    """
    Means of cells (cells,), drawn to zero as far as cells do not differ more than chance makes them.

    Notes
    -----
    The variance between cells is found by the method of moments: the sum of squares between cells is expected to be
    (cells - 1) times that within and the number of values times that between.
    """
    count = np.bincount(cell, minlength=cells).astype(float)
    mean = np.bincount(cell, weights=values, minlength=cells) / np.maximum(count, 1.0)
    used = int((count > 0).sum())
    if len(values) <= used:
        return np.zeros(cells)
    among = float((count * mean**2).sum())
    within = max((float((values**2).sum()) - among) / (len(values) - used), 1e-12)
    between = (among - used * within) / len(values)
    return mean * count / (count + within / between) if between > 0 else np.zeros(cells)
