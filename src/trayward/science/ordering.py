"""When and how much to order: the cheapest orders for a known use, with packs, price breaks, fees and shelf life."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from trayward.errors import InputError

Floats = npt.NDArray[np.float64]


class PackTier(NamedTuple):
    """A pack of so many units, and what one costs from so many packs on, for all of them. [units; packs; currency]"""

    size: int
    least: int
    price: float


class Bundles(NamedTuple):
    """What it costs to order so many units at once, and in which packs."""

    costs: Floats
    """By units, from 0; infinite where no packs come to that. [currency]"""
    packs: tuple[dict[int, int], ...]
    """By units: pack size -> packs. [units]"""


class Orders(NamedTuple):
    """The cheapest orders."""

    cost: float
    """All of it: orders, and keeping what waits. [currency]"""
    orders: tuple[int, ...]
    """Units ordered in each period."""
    wasted: int
    """Units that go off, or are left when the periods end."""
    first: Floats
    """What all would cost if the first order were so many units, by units from 0. [currency]"""


def bundles(tiers: Sequence[PackTier], most: int, fee: float = 0.0) -> Bundles:
    """
    What it costs to order any number of units from one supplier.

    Parameters
    ----------
    tiers : sequence of PackTier
        Packs and their prices. A price from so many packs on holds for all packs of that size in the order (an
        all-units discount).
    most : int
        Most units of one order.
    fee : float
        What an order costs besides. [currency]

    Returns
    -------
    Bundles
        The cheapest packs that come to exactly so many units.

    Raises
    ------
    InputError
        If a pack holds nothing or a price is below zero.

    Examples
    --------
    >>> found = bundles([PackTier(1, 1, 14.0), PackTier(5, 1, 62.5)], most=6, fee=4.0)
    >>> [float(cost) for cost in found.costs]
    [0.0, 18.0, 32.0, 46.0, 60.0, 66.5, 80.5]
    >>> found.packs[6]
    {5: 1, 1: 1}
    """
    for tier in tiers:
        if tier.size < 1 or tier.least < 1 or tier.price < 0:
            raise InputError(
                "pack", tier, "it holds at least one unit, from one pack on, at no price below 0", "Check."
            )
    costs = np.full(most + 1, np.inf)
    costs[0] = 0.0
    packs: list[dict[int, int]] = [{} for _ in range(most + 1)]
    for size in sorted({tier.size for tier in tiers}, reverse=True):
        costs, packs = _with_packs(costs, packs, size, [tier for tier in tiers if tier.size == size])
    costs[1:] += fee
    return Bundles(costs, tuple(packs))


def _with_packs(
    costs: Floats, packs: list[dict[int, int]], size: int, tiers: list[PackTier]
) -> tuple[Floats, list[dict[int, int]]]:
    """The same with packs of one more size to choose from."""
    best, chosen = costs.copy(), list(packs)
    for count in range(1, (len(costs) - 1) // size + 1):
        prices = [tier.price for tier in tiers if tier.least <= count]
        if not prices:
            continue
        shifted = costs[: len(costs) - count * size] + count * min(prices)
        for place in np.flatnonzero(shifted < best[count * size :] - 1e-9):
            units = int(place) + count * size
            best[units] = shifted[place]
            chosen[units] = packs[int(place)] | {size: count}
    return best, chosen


def cheapest(*suppliers: Bundles) -> tuple[Floats, npt.NDArray[np.intp]]:
    """For each number of units, the cost at the supplier where an order of it is cheapest, and which that is."""
    table = np.stack([each.costs for each in suppliers])
    return table.min(axis=0), table.argmin(axis=0)


def dearer(best: Orders, own: Bundles, costs: Floats) -> Floats:
    """
    What all costs more if the first order is so many units of one supplier, later ones as good as they can be.

    Parameters
    ----------
    best : Orders
        The cheapest orders, for what an order costs by `costs`.
    own : Bundles
        What an order costs at the supplier.
    costs : array
        What it costs where it is cheapest. [currency]

    Returns
    -------
    array
        By units, from 0; infinite where there is no such order. [currency]
    """
    last = len(best.first)
    there = np.isfinite(own.costs[:last]) & np.isfinite(best.first)
    found = np.full(last, np.inf)
    found[there] = best.first[there] - best.cost + own.costs[:last][there] - costs[:last][there]
    return found


def cheapest_orders(
    use: Sequence[int], costs: npt.ArrayLike, *, keeping: float = 0.0, lasts: int | None = None, here: int = 0
) -> Orders:
    """
    The cheapest orders that meet a known use, period by period.

    Parameters
    ----------
    use : sequence of int
        Used in each period. [units]
    costs : array (m + 1,) or (n, m + 1)
        What an order of 0, 1, ... m units costs, in any period or in each of the n. [currency]
    keeping : float
        What it costs to keep a unit from one period to the next. [currency/unit]
    lasts : int or None
        Periods within which what comes can be used, that in which it comes among them; None: it does not go off.
    here : int
        Units there before the first period; none of them goes off.

    Returns
    -------
    Orders

    Raises
    ------
    InputError
        If the use cannot be met by any orders.

    Notes
    -----
    The recursion of Wagner and Whitin over periods, with the stock as a second state, since with packs and all-units
    discounts it no longer holds that an order comes only when nothing is left. What is used first goes off first.
    Then of what is there once an order has come no more can be used than the next `lasts` periods use; the rest is
    taken off at once, and the recursion is exact. What is left at the end is worth nothing.

    References
    ----------
    Wagner, H. M. and Whitin, T. M. (1958). Dynamic version of the economic lot size model. Management Science 5(1),
    89-96. https://doi.org/10.1287/mnsc.5.1.89

    Examples
    --------
    Two a period for three periods; an order costs 3 besides, a unit 1, keeping one 0.5.

    >>> found = cheapest_orders([2, 2, 2], [0] + [3 + n for n in range(1, 7)], keeping=0.5)
    >>> found.cost, found.orders
    (12.0, (6, 0, 0))
    """
    periods = len(use)
    table = np.broadcast_to(np.atleast_2d(np.asarray(costs, dtype=float)), (periods, np.shape(costs)[-1]))
    caps = [sum(use[each : periods if lasts is None else each + lasts]) for each in range(periods)]
    top = max([here, *caps])
    ahead = np.zeros(top + 1)
    worth, choices = np.zeros(0), []
    for period in range(periods - 1, -1, -1):
        worth = _worth(table[period], ahead, use[period], caps[period], top, keeping)
        choices.append(worth.argmin(axis=1))
        ahead = worth.min(axis=1)
    cost = float(ahead[here]) if periods else 0.0
    if not np.isfinite(cost):
        raise InputError("use", max(use), "no order comes to so much in time", "Allow larger orders.")
    orders, wasted = _followed(use, choices[::-1], caps, here)
    return Orders(cost, orders, wasted, worth[here] if periods else np.zeros(1))


def _worth(costs: Floats, ahead: Floats, used: int, cap: int, top: int, keeping: float) -> Floats:
    """(stock before, units ordered) -> what that order and all later ones cost. [currency]"""
    after = np.full(top + len(costs), np.inf)
    kept = np.arange(cap - used + 1)
    after[used : cap + 1] = keeping * kept + ahead[kept]
    after[cap + 1 :] = after[cap]
    return np.lib.stride_tricks.sliding_window_view(after, len(costs))[: top + 1] + costs


def _followed(
    use: Sequence[int], choices: Sequence[npt.NDArray[np.intp]], caps: Sequence[int], here: int
) -> tuple[tuple[int, ...], int]:
    stock, orders, wasted = here, [], 0
    for used, chosen, cap in zip(use, choices, caps, strict=True):
        units = int(chosen[stock])
        orders.append(units)
        wasted += max(stock + units - cap, 0)
        stock = min(stock + units, cap) - used
    return tuple(orders), wasted + stock
