"""How many days what is there lasts, as a range, and what goes off before it is used."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from heapq import heappop, heappush

import msgspec

from trayward.desk.lookup import facts_of
from trayward.desk.reorder.use import Use, spread_after
from trayward.farm.calendar import local_day
from trayward.farm.in_line import Place
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.farm.supplies import SupplyHeld
from trayward.farm.use_first import aged_seed, seed_place

FURTHEST = 365
"""Beyond a year nothing is foretold. [d]"""
OUTER = 1.281552
"""Standard deviations from the middle to the ends of an 8-in-10 range of a normal distribution."""
CRUMB = 1e-6


class Stock(msgspec.Struct, frozen=True, kw_only=True):
    """A lot as its reach goes by it. [unit]"""

    lot: str
    amount: float
    comes: date
    goes_off: date | None
    """The last day it can be used; None: it keeps."""
    place: Place


class Reach(msgspec.Struct, frozen=True, kw_only=True):
    """
    How far something reaches. [unit; d]

    Days until a use finds too little: likely, and between which in 8 of 10 cases; None: it lasts for a year, or nothing
    uses it. `gone_off` is what goes off unused by lot, with its day.
    """

    here: float
    coming: float = 0.0
    coming_on: date | None = None
    a_week: float = 0.0
    days: int | None = None
    days_low: int | None = None
    days_high: int | None = None
    gone_off: tuple[tuple[str, float, date], ...] = ()


def seed_stock(state: FarmState, crop: str, at: datetime, settings: FarmSettings) -> list[Stock]:
    """The lots of a crop that may be sown, here or on order. [g]"""
    facts, today = facts_of(state, crop), local_day(at, settings)
    found = []
    for lot in state.seed.values():
        grams = lot.received_g if lot.expected_on is not None else max(lot.left_g, 0.0)
        if lot.crop != crop or lot.treated or grams <= 0:
            continue
        comes = today if lot.expected_on is None else max(lot.expected_on, today + timedelta(days=1))
        good = aged_seed(lot, facts, at, settings)[0].good_until
        # Seed that is weak already is still sown, more of it: it does not vanish from the shelf.
        off = local_day(good, settings) if good is not None and good > at else None
        place = seed_place(lot, facts, at, settings)
        found.append(Stock(lot=lot.lot, amount=grams, comes=comes, goes_off=off, place=place))
    return sorted(found, key=lambda stock: stock.place)


def supply_stock(held: SupplyHeld, today: date) -> list[Stock]:
    """The lots of a supply, here or on order."""
    found = [
        Stock(lot=lot.lot, amount=lot.left, comes=today, goes_off=lot.best_before, place=lot.place) for lot in held.here
    ]
    for lot in held.coming:
        comes = max(lot.expected_on or today, today + timedelta(days=1))
        found.append(Stock(lot=lot.lot, amount=lot.amount, comes=comes, goes_off=lot.best_before, place=lot.place))
    return sorted(found, key=lambda stock: stock.place)


class Course(msgspec.Struct, frozen=True):
    """What is there at the end of each day, below zero once too little was there; and what went off unused."""

    left: tuple[float, ...]
    gone_off: tuple[tuple[str, float, date], ...]


def course(stocks: Sequence[Stock], used: Sequence[float], today: date) -> Course:
    """
    Day after day: what comes is there, what is past its day is not, what is used goes from the first in line.

    What is missing on a day is carried on below zero: it is what would have had to be there.
    """
    left = [stock.amount for stock in stocks]
    # A large farm has hundreds of lots of a crop: each is looked at on the days on which something becomes of it.
    comes, goes = _on_days(stocks, today)
    line: list[int] = []
    there: set[int] = set()
    here, missing, found, gone = 0.0, 0.0, [], []
    for number, amount in enumerate(used):
        for place, last in goes.get(number, ()):
            if left[place] > CRUMB:
                gone.append((stocks[place].lot, left[place], last))
                here -= left[place] if place in there else 0.0
                left[place] = 0.0
        for place in comes.get(number, ()):
            heappush(line, place)
            there.add(place)
            here += left[place]
        wanted = amount
        while line and (wanted > 0 or left[line[0]] <= 0):
            part = min(left[line[0]], wanted)
            left[line[0]] -= part
            here -= part
            wanted -= part
            if left[line[0]] <= 0:
                heappop(line)
        missing += wanted
        found.append((here if line else 0.0) - missing)
    return Course(tuple(found), tuple(gone))


def _on_days(stocks: Sequence[Stock], today: date) -> tuple[dict[int, list[int]], dict[int, list[tuple[int, date]]]]:
    """Places of stocks by the day from today on which each is there; those that go off by the day after their last."""
    comes: dict[int, list[int]] = defaultdict(list)
    goes: dict[int, list[tuple[int, date]]] = defaultdict(list)
    for place, stock in enumerate(stocks):
        comes[max((stock.comes - today).days, 0)].append(place)
        if stock.goes_off is not None:
            goes[max((stock.goes_off - today).days + 1, 0)].append((place, stock.goes_off))
    return comes, goes


def reach_of(stocks: Sequence[Stock], use: Use | None, today: date) -> Reach:
    """How far it reaches, with the range that weeks unlike each other leave."""
    here = sum(stock.amount for stock in stocks if stock.comes <= today)
    coming = sorted((stock.comes, stock.amount) for stock in stocks if stock.comes > today)
    reach = Reach(
        here=here,
        coming=sum(amount for _, amount in coming),
        coming_on=coming[0][0] if coming else None,
        a_week=7 * use.a_day if use is not None else 0.0,
    )
    if use is None or (use.a_day <= 0 and not use.known):
        return reach
    used = use.by_day(today, FURTHEST)
    likely = course(stocks, used, today)
    return msgspec.structs.replace(
        reach,
        days=_first_short(likely.left),
        days_low=_first_short(course(stocks, _tilted(use, used, OUTER), today).left),
        days_high=_first_short(course(stocks, _tilted(use, used, -OUTER), today).left),
        gone_off=likely.gone_off,
    )


def _first_short(left: Sequence[float]) -> int | None:
    return next((number for number, amount in enumerate(left) if amount < -CRUMB), None)


def _tilted(use: Use, used: Sequence[float], by: float) -> list[float]:
    """The same days with so many standard deviations more, or less, used up to each day."""
    found, whole, told = [], 0.0, 0.0
    for number, amount in enumerate(used, 1):
        whole += amount
        upto = max(whole + by * spread_after(use, number), told)
        found.append(upto - told)
        told = upto
    return found


def days_words(reach: Reach) -> str:
    """
    Days left, the range first.

    Examples
    --------
    >>> days_words(Reach(here=1, days=12, days_low=9, days_high=17))
    '9 to 17 days, likely 12'
    >>> days_words(Reach(here=1, days=300, days_low=270))
    '270 days to more than a year, likely 300'
    >>> days_words(Reach(here=1, a_week=5.0))
    'more than a year'
    """
    if reach.a_week <= 0 and reach.days is None:
        return "not used"
    if reach.days is None:
        return "more than a year" if reach.days_low is None else f"{reach.days_low} days to more than a year"
    if reach.days_high is None:
        return f"{reach.days_low} days to more than a year, likely {reach.days}"
    if reach.days_low == reach.days_high:
        return f"{reach.days} days"
    return f"{reach.days_low} to {reach.days_high} days, likely {reach.days}"


def safety_stock(use: Use, days: float, surely: float, keep: float = 0.0) -> float:
    """
    What should still be there when a delivery comes. [unit]

    Parameters
    ----------
    use : Use
        What is used.
    days : float
        From one look at the stores to the delivery that follows from the next one. [d]
    surely : float
        In what share of cases it is to last until the delivery. [-]
    keep : float
        The least the farm wants there. [unit]

    Notes
    -----
    Weeks are taken for independent and normal: the standard result for a periodic review, z sigma sqrt(review + lead).
    """
    from statistics import NormalDist

    return max(keep, NormalDist().inv_cdf(surely) * use.spread * math.sqrt(days / 7))
