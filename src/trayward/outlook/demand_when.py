"""When orders of single days come: how often a customer orders for a weekday, how far ahead, and whether they still do.

A customer orders for a day with a chance of its weekday. Of orders that will come for a day, some are placed by now,
more the nearer the day is; a day for which nothing is placed as late as this may well get nothing. A customer who has
long been silent has perhaps gone.

References
----------
Fader, P. S., Hardie, B. G. S. and Shang, J. (2010). Customer-base analysis in a discrete-time noncontractual setting.
Marketing Science 29(6):1086-1108. doi:10.1287/mksc.1100.0580 (the chance of having gone after some silent periods).
"""

from __future__ import annotations

from typing import Final

import msgspec
import numpy as np

from trayward.outlook.demand_fading import KEPT, faded
from trayward.outlook.demand_history import Orders
from trayward.outlook.demand_shares import Shares, learn_shares
from trayward.outlook.terms import Floats, Ints

FURTHEST: Final = 60
"""Orders placed longer ahead than this are taken as placed so long ahead. [d]"""
LEADS_ALIKE: Final = 5.0
"""As many orders of a customer all customers' orders count as, for how far ahead they come. Our choice. [-]"""
LEAD_KEPT: Final = 0.5 ** (1.0 / 182.0)
"""What is left of an order's say on that after a day: half after half a year. Our choice. [-]"""
GONE_WEEKS: Final = 100.0
"""Before the farm's own say, one customer in so many goes each week. Our choice. [weeks]"""
EXTRAS_ALIKE: Final = 10.0
"""As many order days of a customer all customers' count as, for second orders of a day. Our choice. [-]"""


class Comings(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of when orders come. Customers are rows."""

    shares: Shares
    staying: Floats
    """The chance that a customer still orders (c,). [-]"""
    leaving: float
    """The chance that a customer goes in a week. [-]"""
    leads: Floats
    """How far ahead orders come: days before the day's end not begun, as a Dirichlet law (c, FURTHEST + 1)."""
    extras: Floats
    """Second orders for a day, and days with an order: shape and rate of a gamma law (2, c)."""
    placed: Floats
    """Orders placed already for today and each day after it (c, days)."""


def learn_comings(orders: Orders) -> Comings:
    """What the past orders tell of when orders come."""
    came = _by_day(orders)
    done = (came > 0).astype(np.float64)
    chances = _chances(orders, done)
    shares = learn_shares(done * chances, chances)
    placed = _placed(orders)
    quiet = np.where(placed.any(axis=1), 0, _weeks_since(done))
    staying, leaving = _staying(shares, chances, quiet)
    return Comings(
        shares=shares,
        staying=staying,
        leaving=leaving,
        leads=_leads(orders),
        extras=_extras(came),
        placed=placed,
    )


class Ahead(msgspec.Struct, frozen=True, kw_only=True):
    """The days asked for: how many days from today (d,), their day of the week (d,), and whether the farm is open."""

    offset: Ints
    week_day: Ints
    open: Floats
    weeks: float
    """How far ahead the middle of them lies, beyond one week. [weeks]"""

    def placed(self, comings: Comings) -> Floats:
        """Orders placed already for each day (c, d)."""
        known = comings.placed.shape[1]
        at = np.minimum(self.offset, known - 1)
        return np.asarray(comings.placed[:, at] * (self.offset < known))


def draw_comings(comings: Comings, ahead: Ahead, n: int, rng: np.random.Generator) -> Ints:
    """How many orders are still to come for each day (n, c, d)."""
    share = comings.shares.draw(ahead.weeks, n, rng)[:, :, ahead.week_day] * ahead.open
    early = _early(rng.standard_gamma(np.broadcast_to(comings.leads, (n, *comings.leads.shape))), ahead.offset)
    extra = (rng.standard_gamma(comings.extras[0], (n, len(comings.staying))) / comings.extras[1])[:, :, None]
    stays = _still(comings, ahead, n, rng)
    first, second, more = still_to_come(share, early, extra * ahead.open, ahead.placed(comings))
    found = (rng.random(first.shape) < first * stays).astype(np.int64)
    others = rng.poisson(more * stays) * np.where(ahead.placed(comings) > 0, 1, found)
    return np.asarray(found + others + (rng.random(second.shape) < second * stays))


def mean_comings(comings: Comings, ahead: Ahead) -> Floats:
    """How many orders are to be expected still for each day (c, d)."""
    share = comings.shares.mean(ahead.weeks)[:, ahead.week_day] * ahead.open
    early = _early(comings.leads, ahead.offset)
    extra = (comings.extras[0] / comings.extras[1])[:, None]
    first, second, more = still_to_come(share, early, extra * ahead.open, ahead.placed(comings))
    stays = comings.staying[:, None] * (1 - comings.leaving) ** (ahead.offset / 7.0)
    return np.asarray(stays * np.where(ahead.placed(comings) > 0, second + more, first * (1 + more)))


def still_to_come(share: Floats, early: Floats, extra: Floats, placed: Floats) -> tuple[Floats, Floats, Floats]:
    """
    What is still to come for a day of which `placed` orders are known.

    Parameters
    ----------
    share : (..., c, d)
        The chance that a customer orders at all for a day. [-]
    early : (..., c, d)
        The share of a day's orders that are placed by now. [-]
    extra : (..., c, 1)
        The mean number of further orders for a day with one; Poisson.
    placed : (c, d)
        Orders placed.

    Returns
    -------
    first, second, more
        Where none is placed, the chance of an order; where some are, the chance of one beyond the Poisson number; and
        the mean of that number (of further orders, where none is placed). [-]

    Notes
    -----
    Each order is placed by now with chance F by itself. With 1 + Poisson(k) orders on a day that has any, none of them
    placed yet has chance (1 - F) exp(-k F); Bayes' rule gives the first. With m placed, the number r to come has weight
    (m + r) (k (1 - F))^r / r!: a Poisson number of mean u = k (1 - F), and one more with chance u / (m + u).
    """
    late = share * (1 - early) * np.exp(-extra * early)
    none = np.maximum(1 - share + late, 1e-12)
    more = extra * (1 - early)
    some = placed > 0
    second = np.where(some, more / np.maximum(placed + more, 1e-12), 0.0)
    return np.where(some, 0.0, late / none), second, np.asarray(more)


# Inside ---------------------------------------------------------------------------------------------------------------


def _early(weights: Floats, offset: Ints) -> Floats:
    """The share of a day's orders placed more days ahead than the day still is (..., d)."""
    beyond = np.cumsum(weights[..., ::-1], axis=-1)[..., ::-1]
    share = np.concatenate([beyond, np.zeros_like(beyond[..., :1])], axis=-1) / beyond[..., :1]
    return np.asarray(share[..., np.minimum(offset + 1, FURTHEST + 1)])


def _still(comings: Comings, ahead: Ahead, n: int, rng: np.random.Generator) -> Floats:
    """Whether each customer still orders on each day (n, c, d)."""
    customers = len(comings.staying)
    here = rng.random((n, customers, 1)) < comings.staying[:, None]
    until = rng.exponential(-1.0 / np.log1p(-comings.leaving), (n, customers, 1))
    return np.asarray((here & (ahead.offset / 7.0 < until)).astype(np.float64))


def _by_day(orders: Orders) -> Floats:
    """Past orders by week, customer and day of the week (w, c, 7)."""
    rows, week, day = orders.past()
    shape = (orders.weeks, len(orders.customers), 7)
    cell = (week * shape[1] + orders.customer[rows]) * 7 + day
    return np.bincount(cell, minlength=int(np.prod(shape))).reshape(shape).astype(np.float64)


def _chances(orders: Orders, done: Floats) -> Floats:
    """
    Days on which a customer could have ordered (w, c, 7).

    They count from the day after a customer's first order: that one only says that the customer is there. Days on which
    the farm was closed and nobody ordered are none.
    """
    weeks, customers, _ = done.shape
    days = done.transpose(1, 0, 2).reshape(customers, -1)
    after = np.asarray(np.cumsum(np.cumsum(days, axis=1) > 0, axis=1) > 1)
    for closed in orders.closed:
        at = weeks * 7 + (closed - orders.today).days
        if 0 <= at < weeks * 7:
            after[:, at] &= days[:, at] > 0
    return after.reshape(customers, weeks, 7).transpose(1, 0, 2).astype(np.float64)


def _weeks_since(done: Floats) -> Ints:
    """How many weeks ago each customer ordered last (c,)."""
    weeks = len(done)
    busy = np.asarray(done.any(axis=2))
    last = np.where(busy.any(axis=0), weeks - np.argmax(busy[::-1], axis=0), 0)
    return np.asarray(weeks - last)


def _placed(orders: Orders) -> Floats:
    rows = np.flatnonzero(orders.day >= 0)
    days = int(orders.day[rows].max()) + 1 if rows.size else 1
    cell = orders.customer[rows] * days + orders.day[rows]
    return np.bincount(cell, minlength=len(orders.customers) * days).reshape(-1, days).astype(np.float64)


def _leads(orders: Orders) -> Floats:
    """
    How many days ahead orders come, by customer, each about as all customers' do.

    An order for a day d ahead is placed by now if its lead is longer than what is left to that day's end. Leads are
    counted in days beyond the rest of today, so that this is told without loss at any time of the day.
    """
    rows = np.flatnonzero((orders.day < 0) & np.isfinite(orders.lead))
    ahead = np.ceil(orders.lead[rows] - (1.0 - orders.now)).astype(np.int64)
    cell = orders.customer[rows] * (FURTHEST + 1) + np.clip(ahead, 0, FURTHEST)
    shape = (len(orders.customers), FURTHEST + 1)
    counted = np.bincount(cell, weights=LEAD_KEPT ** -orders.day[rows], minlength=shape[0] * shape[1])
    own = counted.astype(np.float64).reshape(shape)  # counted in whole numbers where there are none
    common = own.sum(axis=0)
    common[1:8] += 2.0 / 7.0  # until any is seen: one to seven days ahead, our choice
    return np.asarray(own + LEADS_ALIKE * common / common.sum() + 1e-6)


def _extras(came: Floats) -> Floats:
    days = (came > 0).sum(axis=(0, 2)).astype(np.float64)
    further = came.sum(axis=(0, 2)) - days
    common = (further.sum() + 0.05) / (days.sum() + EXTRAS_ALIKE)
    return np.stack([further + EXTRAS_ALIKE * common, days + EXTRAS_ALIKE])


def _staying(shares: Shares, chances: Floats, since: Ints) -> tuple[Floats, float]:
    """The chance that each customer still orders (c,), and the chance that one goes in a week."""
    could = np.asarray(chances.any(axis=2))
    lately = np.arange(len(chances))[:, None] >= len(chances) - since
    silent = (could & lately).sum(axis=0)
    quiet = _quiet(shares, chances * lately[:, :, None], since, int(silent.max(initial=0)))
    leaving = 1.0 / GONE_WEEKS
    for _ in range(3):
        staying = np.einsum("cg,gc->c", shares.trusted, _stayed(quiet, silent, leaving))
        leaving = (1.0 + float((1 - staying).sum())) / (GONE_WEEKS + float(could.sum()))
    return np.asarray(staying), leaving


def _quiet(shares: Shares, silence: Floats, since: Ints, most: int) -> Floats:
    """
    The chance of 0, 1, ... `most` silent weeks after the last order, of a customer who is there (g, c, most + 1).

    It is that of a beta law as it stood at the last order: without the chances of the `silence` (w, c, 7) since.
    """
    left = (KEPT[:, None] ** -since)[:, :, None]
    before = Shares(
        done=shares.done * left,
        chances=np.maximum(shares.chances - faded(silence), 0.0) * left,
        trusted=shares.trusted,
    )
    a, b = before.betas(0.0)
    k = np.arange(most)
    log_missed = np.log((b[..., None] + k) / (a[..., None] + b[..., None] + k)).sum(axis=2)
    start = np.zeros((*log_missed.shape[:2], 1))
    return np.asarray(np.exp(np.concatenate([start, np.cumsum(log_missed, axis=2)], axis=2)))


def _stayed(quiet: Floats, silent: Ints, leaving: float) -> Floats:
    """The chance of still being there after so many silent weeks (g, c)."""
    k = np.arange(quiet.shape[2])
    went = np.cumsum(leaving * (1 - leaving) ** k * quiet, axis=2)
    rows = np.arange(len(silent))
    here = (1 - leaving) ** silent * quiet[:, rows, silent]
    return np.asarray(here / (here + np.where(silent > 0, went[:, rows, np.maximum(silent - 1, 0)], 0.0)))
