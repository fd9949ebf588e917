"""Supplies other than seed: medium, packaging, feed, agents. What they are for, what is left, what suppliers ask."""

from __future__ import annotations

from bisect import bisect_right
from datetime import date, datetime
from decimal import Decimal
from typing import Literal

import msgspec

from trayward.farm.in_line import Place, place_in_line

SupplyKind = Literal["medium", "packaging", "feed", "agent", "other"]
SUPPLY_KINDS: tuple[SupplyKind, ...] = ("medium", "packaging", "feed", "agent", "other")
SupplyUnit = Literal["pieces", "g", "ml"]
SUPPLY_UNITS: tuple[SupplyUnit, ...] = ("pieces", "g", "ml")
Occasion = Literal["tray", "pack", "litre", "washed", "sanitised"]
OCCASIONS: tuple[Occasion, ...] = ("tray", "pack", "litre", "washed", "sanitised")
"""A tray sown, a pack filled, a litre of feed given, a piece of kit washed, a piece sanitised."""
Loose = Literal["by hand", "thrown away", "missing", "seed missing"]
LOOSE: tuple[Loose, ...] = ("by hand", "thrown away", "missing", "seed missing")
"""Used without saying for what, thrown away, gone without a word by a count, seed that a scale found missing."""
TRACE = 1e-6
"""Amounts this close are the same: sums carry rounding. [unit of the supply]"""
DAYS_KEPT = 56
"""Days of use that the state remembers, for how much a day it is: eight weeks, our choice. [d]"""
COUNTS_KEPT = 12
"""Counts that the state remembers, the newest."""


class TakenBy(msgspec.Struct, frozen=True, kw_only=True):
    """How much of a supply one tray, pack, litre or piece takes, of one name or of any. [unit of the supply]"""

    of: Occasion
    amount: float
    name: str = ""
    """A recipe or its medium, a product, a feed, a pool of kit or an agent; empty: any."""


class Supply(msgspec.Struct, frozen=True, kw_only=True):
    """
    Something the farm buys and uses up.

    `taken` is what the book counts off by itself; without it, use is said by hand or shows at the next count. `keep` is
    the least that should be there [unit]. `surely` is how often a delivery comes before it runs out [-]: 0.95 is 19
    times in 20. `keeps_days` is how long it keeps where a delivery says no day [d]; None: it does not go off.
    """

    name: str
    kind: SupplyKind = "other"
    unit: SupplyUnit = "pieces"
    taken: tuple[TakenBy, ...] = ()
    keep: float = 0.0
    surely: float = 0.95
    keeps_days: int | None = None
    valued: Literal["average", "lots"] = "average"
    """What used supply costs: the moving average of all deliveries, or what its own lot cost."""


class PackPrice(msgspec.Struct, frozen=True, kw_only=True):
    """A pack as it is sold, and its price from so many packs on, for all of them. [unit; currency a pack]"""

    size: float
    price: Decimal
    least: int = 1


class Offer(msgspec.Struct, frozen=True, kw_only=True):
    """What a supplier asks for a supply, or for seed of a crop, and how long it takes to come."""

    thing: str
    """The supply, or the crop."""
    seed: bool = False
    supplier: str
    packs: tuple[PackPrice, ...]
    lead_days: float = 7.0
    """From ordering to having. [d]"""
    delivery: Decimal = Decimal(0)
    """What each order costs besides. [currency]"""

    @property
    def key(self) -> str:
        """Thing and supplier: a later word about both replaces this one."""
        return offer_key(self.thing, self.supplier, seed=self.seed)


def offer_key(thing: str, supplier: str, *, seed: bool) -> str:
    """
    Under what an offer is kept.

    Examples
    --------
    >>> offer_key("pea", "Hillside Seeds", seed=True)
    'seed of pea @ Hillside Seeds'
    """
    return f"{'seed of ' if seed else ''}{thing} @ {supplier}"


class SupplyLot(msgspec.Struct, kw_only=True):
    """A delivery of a supply and what is left of it. [unit]"""

    lot: str
    came_at: datetime
    amount: float
    left: float
    best_before: date | None = None
    cost: Decimal | None = None
    """All of it; None: nobody said. [currency]"""
    supplier: str = ""
    supplier_lot: str = ""
    document: str = ""
    expected_on: date | None = None
    """Set while it is on order and not yet here."""

    @property
    def place(self) -> Place:
        """Its place in line: what goes off first, then what came first."""
        return place_in_line(self.best_before, self.came_at, self.lot)

    @property
    def unit_cost(self) -> Decimal | None:
        """What one unit of it cost. [currency/unit]"""
        return None if self.cost is None or self.amount <= 0 else self.cost / exact(self.amount)


class Count(msgspec.Struct, frozen=True):
    """A count of what was there, against what the book expected. [unit]"""

    at: datetime
    expected: float
    counted: float
    used: float
    """What the book had counted off since the count before."""

    @property
    def unexplained(self) -> float:
        """Gone without a word, above zero; below zero: more than there should be. [unit]"""
        return self.expected - self.counted


class Taken(msgspec.Struct, frozen=True, kw_only=True):
    """What one feed, washing or sanitising took of supplies by itself, and for which trays; or what went otherwise."""

    at: datetime
    of: Occasion | Loose
    amounts: dict[str, float]
    """Supply, or seed lot, -> how much; below zero: a count found more. [unit of the supply]"""
    trays: dict[str, int] = {}
    """Tray -> pieces of kit of it, or 1 for a tray that was fed; empty: nobody knows."""
    cost: Decimal | None = None
    """What went otherwise cost; None: nobody said, or it goes by what each supply cost then. [currency]"""


class SupplyHeld(msgspec.Struct, kw_only=True):
    """A supply with what is there of it. All amounts in its unit."""

    supply: Supply
    lots: dict[str, SupplyLot] = {}
    dropped: bool = False
    short: float = 0.0
    """Used beyond what the book had, since the last count: a delivery or a count is missing."""
    used_on: dict[date, float] = {}
    """Day -> used on it, for the last `DAYS_KEPT` days on which any was."""
    used_since: float = 0.0
    """Since the last count."""
    counts: list[Count] = []
    average: Decimal | None = None
    """The moving average of what a unit cost. [currency/unit]"""
    prices: list[tuple[datetime, Decimal]] = []
    """From when on a unit used cost so much. [currency/unit]"""

    @property
    def here(self) -> list[SupplyLot]:
        """Lots that are here and not empty, the one to use first before the others."""
        found = [lot for lot in self.lots.values() if lot.expected_on is None and lot.left > TRACE]
        return sorted(found, key=lambda lot: lot.place)

    @property
    def coming(self) -> list[SupplyLot]:
        """Lots on order, by the day they come."""
        found = [lot for lot in self.lots.values() if lot.expected_on is not None]
        return sorted(found, key=lambda lot: (lot.expected_on or date.max, lot.lot))

    @property
    def stock(self) -> float:
        """What is here. [unit]"""
        return sum(lot.left for lot in self.lots.values() if lot.expected_on is None)

    def price_at(self, at: datetime) -> Decimal | None:
        """What a unit used at a moment cost; None where no delivery said. [currency/unit]"""
        if not self.prices:
            return None
        return self.prices[max(bisect_right(self.prices, at, key=lambda each: each[0]) - 1, 0)][1]

    def amount_for(self, of: Occasion, *names: str) -> float:
        """What one occasion of any of some names takes. [unit]"""
        return sum(each.amount for each in self.supply.taken if each.of == of and each.name in ("", *names))


def exact(amount: float) -> Decimal:
    """An amount as a decimal, without the crumbs of binary sums."""
    return Decimal(repr(round(amount, 6)))


# Changes, for the fold alone ------------------------------------------------------------------------------------------


def take(
    held: SupplyHeld, amount: float, at: datetime, day: date, *, lot: str = "", used: bool = True
) -> Decimal | None:
    """
    Some of a supply is gone, from one lot or else from the first in line; what is beyond the lots counts as short.

    Parameters
    ----------
    held : SupplyHeld
        Changed in place.
    amount : float
        How much. [unit]
    at, day : datetime, date
        When, and the farm's own day of it.
    lot : str
        Of which lot alone; empty: of those first in line.
    used : bool
        False: thrown away or not explained, and no use to reckon with.

    Returns
    -------
    Decimal or None
        What a unit of it cost; None where no delivery says. [currency/unit]
    """
    cost, priced, wanted = Decimal(0), Decimal(0), amount
    for each in [held.lots[lot]] if lot in held.lots else held.here:
        part = min(each.left, wanted)
        if part <= 0:
            continue
        wanted -= part
        each.left = each.left - part if each.left - part > TRACE else 0.0
        if each.unit_cost is not None:
            cost, priced = cost + each.unit_cost * exact(part), priced + exact(part)
    if wanted > TRACE:
        held.short += wanted
    price = held.average if held.supply.valued == "average" else (cost / priced if priced else None)
    if used:
        held.used_since += amount
        _note_day(held, day, amount)
        if price is not None:
            _note_price(held, at, price)
    return price


def _note_day(held: SupplyHeld, day: date, amount: float) -> None:
    if day in held.used_on:
        held.used_on[day] += amount
        return
    held.used_on[day] = amount
    if len(held.used_on) > DAYS_KEPT:
        del held.used_on[min(held.used_on)]


def _note_price(held: SupplyHeld, at: datetime, price: Decimal) -> None:
    price = price.quantize(Decimal("0.00000001"))
    if not held.prices or held.prices[-1][1] != price:
        held.prices.append((at, price))


def put_in(held: SupplyHeld, lot: SupplyLot) -> None:
    """A delivery is here, or on order; the average moves when it is here and has a price."""
    before = held.stock
    held.lots[lot.lot] = lot
    if lot.expected_on is not None or lot.unit_cost is None:
        return
    if held.average is None:
        held.average = lot.unit_cost
    else:
        was, came = exact(before), exact(lot.amount)
        held.average = ((held.average * was + lot.unit_cost * came) / (was + came)).quantize(Decimal("0.00000001"))


def set_to(held: SupplyHeld, counted: float, at: datetime, day: date, lot: str = "") -> tuple[float, Decimal | None]:
    """
    From now on there is what was counted; what is less than expected went from the lots that are used first.

    Returns
    -------
    float
        What went without a word; below zero where what was counted off before did not go after all, which is never
        more than that: the rest came with a delivery nobody wrote down. [unit]
    Decimal or None
        What a unit of it cost. [currency/unit]
    """
    expected = held.lots[lot].left if lot else held.stock
    gone, price = expected - counted, held.average
    held.counts = [*held.counts, Count(at, expected, counted, held.used_since)][-COUNTS_KEPT:]
    if gone > 0:
        price = take(held, gone, at, day, lot=lot, used=False)
    elif gone < 0:
        _add(held, -gone, at, lot)
        gone = -min(-gone, held.used_since) if held.short <= TRACE else 0.0
    if not lot:
        held.short, held.used_since = 0.0, 0.0
    return gone, price


def _add(held: SupplyHeld, more: float, at: datetime, lot: str) -> None:
    """More was there than the book had: it belongs to the lot named, or to the one that is used last."""
    known = held.lots.get(lot) or next((each for each in reversed(held.here)), None)
    if known is not None:
        known.left += more
        return
    held.lots.setdefault(COUNTED, SupplyLot(lot=COUNTED, came_at=at, amount=more, left=0.0)).left += more


COUNTED = "counted"
"""The lot that holds what was counted where the book knew of none."""
