"""The season without whole trays, all crops together: what its limits and the parts of its mixes are worth.

The model begins without limits and without ways in which trays wait for room; both are added as they show that they
bind or pay. How far that went does not matter for the bound, which is proven crop by crop at any prices
(`study.bound_crops`): it matters for how close it is.
"""

from __future__ import annotations

import math
import time
from typing import NamedTuple

import numpy as np

from trayward.errors import PlanError
from trayward.plan.days import Bools, Floats, Ints
from trayward.plan.solve import Answer, SolvedAgain
from trayward.study.bound_crops import priced, weigh
from trayward.study.bound_model import LIMIT, MIX, Book, Growing, Prices, gain

ROUNDS = 40
"""So often limits and ways to leave are added."""
SMALL = 1e-6
NEAR = 0.97
"""Limits used to this share are added with those that are overdrawn. [-]"""
FEW = 3
"""Trays and ways are added once no more limits than this are overdrawn anew."""
MORE = 4
"""So many trays of a day and recipe are added at a time."""
ENOUGH = 5e-3
"""Closer than this the prices need not be. [-]"""
SECONDS = 120.0
"""Safety net of one solution. [s]"""


class Loose(NamedTuple):
    """The season without whole trays: its prices, and the share of each want that is met."""

    prices: Prices
    met: Floats


def loose_season(book: Book, *, until: float = math.inf) -> Loose:
    """The prices at which the season without whole trays is at its best, or near it when the time is over. [s]"""
    has = book.layout.limits.has.ravel()
    bare = book.option_costs(np.zeros_like(book.layout.limits.has))
    early = book.layout.trays.early
    trays, options = np.flatnonzero(early), np.flatnonzero(early[book.layout.options.tray] & ~_waited(book))
    crops = range(len(book.layout.crops))
    grown, again = Growing(book, crops, np.arange(len(book.layout.options.tray))), SolvedAgain()
    options, limits = book.cheapest(options, bare), np.zeros(0, dtype=np.int64)
    prices, met = no_prices(book), np.zeros(len(book.wants))
    for _ in range(ROUNDS):
        grown.add_trays(trays, book.layout.trays.cost)
        grown.add_options(options, bare)
        grown.add_limits(limits)
        try:
            answer = again.solve(grown.model, seconds=min(SECONDS, max(until - time.perf_counter(), 1.0)))
        except PlanError:  # the time was over
            break
        prices, uses, met = prices_in(book, grown, answer), grown.uses(answer.values), _met(book, grown, answer)
        limits = np.setdiff1d(np.flatnonzero(uses > has + SMALL), grown.limits)
        if len(limits) > FEW:  # at prices that will not last nothing is known of what pays
            limits = np.flatnonzero(uses > NEAR * has)
            continue
        trays, options, off = _paying(book, prices, grown, answer)
        if (not len(limits) and off < ENOUGH * (1.0 + abs(answer.cost))) or time.perf_counter() > until:
            break
    return Loose(prices, met)


def _met(book: Book, grown: Growing, answer: Answer) -> Floats:
    """The share of each want that is met, mixes as far as their scarcest part. [-]"""
    met: Floats = np.ones(len(book.wants))
    for (number, place), column in grown.served.items():
        want = book.wants[number]
        asked = want.amount * (1.0 if want.live else want.parts[place][1])
        met[number] = min(met[number], answer.values[column] / asked)
    return met


def no_prices(book: Book) -> Prices:
    """Limits that cost nothing, and mixes whose parts earn alike."""
    parts = [np.full(len(want.parts), gain(want) / sum(share for _, share in want.parts)) for want in book.wants]
    return Prices(np.zeros_like(book.layout.limits.has), parts)


def _waited(book: Book) -> Bools:
    """Options whose tray is ready later than it could be."""
    options = book.layout.options
    found: Bools = np.zeros(len(options.tray), dtype=bool)
    soonest = np.full(len(book.layout.trays.sow), np.iinfo(np.int64).max)
    for ways, rows in zip(book.layout.lives, book.layout.rows, strict=True):
        np.minimum.at(soonest, ways.tray, ways.begins[:, -1])
        life = options.life[rows]
        found[rows] = ways.begins[life, -1] > soonest[ways.tray[life]]
    return found


def prices_in(book: Book, grown: Growing, answer: Answer) -> Prices:
    """The prices that an answer without whole trays gives."""
    prices = no_prices(book)
    limits, parts = prices.limits.ravel(), prices.parts
    for row, name in enumerate(grown.model.names):
        if name.kind == LIMIT:
            limits[int(name.name)] = max(0.0, -answer.prices[row])
        elif name.kind == MIX:
            parts[int(name.name)][name.day] = -answer.prices[row]
    split = [split_gain(gain(want), shares_of(want.parts), each) for want, each in zip(book.wants, parts, strict=True)]
    return Prices(limits.reshape(book.layout.limits.has.shape), split)


def shares_of(parts: tuple[tuple[str, float], ...]) -> Floats:
    """The shares of a product's parts. [-]"""
    return np.array([share for _, share in parts])


def split_gain(whole: float, shares: Floats, parts: Floats) -> Floats:
    """
    What the parts of a product earn a gram, as near as may be to `parts`, so that together they earn the whole.

    Never less than the whole: the bound would not hold.

    Examples
    --------
    >>> split_gain(10.0, np.array([0.5, 0.5]), np.array([12.0, 4.0]))
    array([14.,  6.])
    """
    parts = np.maximum(parts, 0.0)
    for _ in range(len(shares)):
        short = whole - float(shares @ parts)
        free = (parts > 0) if short < 0 else np.ones(len(parts), dtype=bool)
        if abs(short) < 1e-12 or not free.any():
            break
        parts = np.maximum(parts + np.where(free, short / shares[free].sum(), 0.0), 0.0)
    found: Floats = parts * max(1.0, whole / max(float(shares @ parts), 1e-12)) if whole > 0 else np.maximum(parts, 0.0)
    return found


def _held(book: Book, grown: Growing, trays: Ints) -> Ints:
    """How many trays of the same recipe and day are in the model."""
    all_ = book.layout.trays
    day = all_.recipe * book.season.count + all_.sow
    count: Ints = np.bincount(day[grown.trays], minlength=int(day.max()) + 1)[day[trays]]
    return count


def _paying(book: Book, prices: Prices, grown: Growing, answer: Answer) -> tuple[Ints, Ints, float]:
    """The trays that pay at these prices, of each the option worth most, and how far off the answer still is."""
    at = priced(book, prices)
    trays, options, total = [], [], at.offset
    for crop in range(len(book.layout.crops)):
        own = book.cheapest(book.options_of(crop), at.options)
        found = weigh(book, at, crop, own, grown, answer)
        few = found.sown[book.layout.trays.number[found.sown] < _held(book, grown, found.sown) + MORE]
        best = found.options[found.option_falls <= SMALL]
        best = best[np.isin(book.layout.options.tray[best], few)]
        _, first = np.unique(book.layout.options.tray[best], return_index=True)
        trays.append(few)
        options.append(best[first])
        total += found.bound
    return np.concatenate(trays), np.concatenate(options), total + answer.cost + book.regret
