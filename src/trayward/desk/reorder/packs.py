"""Which packs to order now, of whom, and what other orders would come to in two years."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import msgspec

from trayward.farm.supplies import Offer, PackPrice, SupplyUnit
from trayward.money.coins import rounded

if TYPE_CHECKING:
    from trayward.science.ordering import Floats, PackTier

YEAR_WEEKS = 52
"""Nobody is told to buy more than a year's use. Our choice."""
KEEPING_A_YEAR = 0.08
"""What money tied up in stores costs a year, as a share of it: our choice. [-]"""
STEPS = 240
"""Amounts are reckoned in so many steps of the most an order may be."""
PARTS = 8
"""... and in at least so many parts of the smallest pack."""
ALIKE = 0.01
"""Costs this near are alike: nobody knows the use of two years better. Our choice. [-]"""
MOST_OTHERS = 4
"""So many other orders are told."""


class PacksBought(msgspec.Struct, frozen=True, kw_only=True):
    """Some packs of one size. [unit]"""

    count: int
    size: float
    price: Decimal
    """Of one of them. [currency]"""


class Order(msgspec.Struct, frozen=True, kw_only=True):
    """One order as it could be made now."""

    supplier: str
    packs: tuple[PacksBought, ...]
    amount: float
    """[unit]"""
    cost: Decimal
    """With delivery. [currency]"""
    delivery: Decimal
    a_unit: Decimal
    """With delivery: a kilogram, a litre or a piece. [currency]"""
    lasts_days: int | None
    """From its coming to the day more is needed; None: more than a year. [d]"""
    goes_off: float = 0.0
    """What of it would go off before it is used. [unit]"""
    dearer: Decimal = Decimal(0)
    """What two years would cost more than with the order advised, other orders as good as they can be. [currency]"""


class Orders(NamedTuple):
    """The order advised, some others with what they cost more, and how often a year one is made."""

    order: Order
    others: tuple[Order, ...]
    a_year: int


class _Tier(NamedTuple):
    """A pack at one of its prices, in steps: so many packs together are the least that is reckoned with."""

    pack: PackPrice
    together: int
    tier: PackTier


@lru_cache(512)
def orders_of(
    offers: tuple[Offer, ...], weeks: tuple[float, ...], lasts: int, hands: float, unit: SupplyUnit, currency: str
) -> Orders:
    """
    The order to make now, others, and how often a year. Each takes 50 ms, and most entries change none of it.

    Parameters
    ----------
    offers : tuple of Offer
        What suppliers ask for the thing, those that come in time.
    weeks : tuple of float
        What each week to come has to have brought, from the order's coming on. [unit]
    lasts : int
        How long what comes can be used. [weeks] Valid from 1 to `YEAR_WEEKS`.
    hands : float
        What hands cost for one order. [currency]
    unit : str
        What it is counted in.
    currency : str
        The farm's currency, to whose coins differences are rounded.
    """
    from trayward.science.ordering import bundles, cheapest, cheapest_orders, dearer

    step, most = _steps(offers, sum(weeks[:YEAR_WEEKS]))
    use = _in_steps(weeks, step)
    tiers = [_tiers(offer, step) for offer in offers]
    asked = [
        bundles([each.tier for each in of], most, float(offer.delivery) + hands)
        for of, offer in zip(tiers, offers, strict=True)
    ]
    costs, who = cheapest(*asked)
    keeping = KEEPING_A_YEAR / YEAR_WEEKS * step * _cheapest_unit(offers)
    best = cheapest_orders(use, costs, keeping=keeping, lasts=lasts)
    chosen = (int(who[best.orders[0]]), best.orders[0])
    others = []
    for number, of in enumerate(tiers):
        extra = dearer(best, asked[number], costs)
        for units in dict.fromkeys(_best_of(each, extra, asked[number].packs) for each in of):
            if units and (number, units) != chosen:
                other = _told(unit, offers[number], of, asked[number].packs[units], units, use, step, lasts)
                more = rounded(Decimal(repr(max(float(extra[units]), 0.0))), currency)
                others.append(msgspec.structs.replace(other, dearer=more))
    others.sort(key=lambda other: (other.dearer, other.amount))
    number, units = chosen
    order = _told(unit, offers[number], tiers[number], asked[number].packs[units], units, use, step, lasts)
    # Of orders that come to nearly the same in the end, that with the lowest price by the unit is the plainer advice.
    alike = [each for each in others if float(each.dearer) <= ALIKE * best.cost and not each.goes_off]
    order = min((order, *alike), key=lambda each: each.a_unit)
    told = tuple(other for other in others if other.dearer > 0 and other is not order)[:MOST_OTHERS]
    return Orders(order, told, sum(1 for each in best.orders[:YEAR_WEEKS] if each))


def _best_of(each: _Tier, extra: Floats, packs: Sequence[Mapping[int, int]]) -> int:
    """The number of these packs alone that costs least, all later orders counted, in steps; 0: none is enough."""
    first, size = each.tier.least * each.tier.size, each.tier.size
    units = [number for number in range(first, len(extra), size) if packs[number].keys() == {size}]
    found = min(units, key=lambda number: (float(extra[number]), number), default=0)
    return found if found and math.isfinite(float(extra[found])) else 0


def _steps(offers: Sequence[Offer], whole: float) -> tuple[float, int]:
    """The step that amounts are reckoned in, and the most steps of an order: a year's use, or the largest pack."""
    packs = [pack for offer in offers for pack in offer.packs]
    smallest, largest = min(pack.size for pack in packs), max([whole, *(pack.size * pack.least for pack in packs)])
    step = max(smallest / PARTS, largest / STEPS)
    # The smallest pack is to be whole steps, or a step so many whole packs.
    step = smallest / math.floor(smallest / step) if step <= smallest else smallest * math.ceil(step / smallest)
    return step, math.ceil(largest / step) + 1


def _in_steps(weeks: Sequence[float], step: float) -> list[int]:
    """Weeks in whole steps, so that up to each week no step less is counted than is used."""
    found, whole, told = [], 0.0, 0
    for amount in weeks:
        whole += amount
        upto = math.ceil(whole / step - 1e-6)
        found.append(upto - told)
        told = upto
    return found


def _tiers(offer: Offer, step: float) -> list[_Tier]:
    from trayward.science.ordering import PackTier

    found = []
    for pack in offer.packs:
        together = max(math.ceil(step / pack.size - 1e-6), 1)
        size = math.floor(together * pack.size / step + 1e-6)
        least = math.ceil(pack.least / together)
        found.append(_Tier(pack, together, PackTier(size, least, together * float(pack.price))))
    return found


def _cheapest_unit(offers: Iterable[Offer]) -> float:
    return min(float(pack.price) / pack.size for offer in offers for pack in offer.packs)


def _told(
    unit: SupplyUnit,
    offer: Offer,
    tiers: Sequence[_Tier],
    packs: dict[int, int],
    units: int,
    use: Sequence[int],
    step: float,
    lasts: int,
) -> Order:
    bought = tuple(_bought(tiers, size, count) for size, count in sorted(packs.items(), reverse=True))
    amount = sum(each.count * each.size for each in bought)
    cost = sum((each.count * each.price for each in bought), offer.delivery)
    # What keeps longer than is reckoned ahead does not go off within it.
    gone = max(units - sum(use[:lasts]), 0) * step if lasts < YEAR_WEEKS else 0.0
    return Order(
        supplier=offer.supplier,
        packs=bought,
        amount=amount,
        cost=cost,
        delivery=offer.delivery,
        a_unit=unit_price(cost, amount, unit),
        lasts_days=_lasts(units, use, lasts),
        goes_off=gone if gone > step / 2 else 0.0,
    )


def _bought(tiers: Sequence[_Tier], size: int, count: int) -> PacksBought:
    fitting = [each for each in tiers if each.tier.size == size and each.tier.least <= count]
    found = min(fitting, key=lambda each: each.tier.price)
    return PacksBought(count=count * found.together, size=found.pack.size, price=found.pack.price)


def _lasts(units: int, use: Sequence[int], lasts: int) -> int | None:
    whole = 0
    for week, amount in enumerate(use[:lasts]):
        whole += amount
        if whole > units:
            return 7 * week
    return None if lasts >= YEAR_WEEKS else 7 * lasts


def unit_price(cost: Decimal, amount: float, unit: SupplyUnit) -> Decimal:
    """What a kilogram, a litre or a piece comes to. [currency]"""
    each = cost / Decimal(repr(amount))
    return (each * (1 if unit == "pieces" else 1000)).quantize(
        Decimal("0.001") if unit == "pieces" else Decimal("0.01")
    )
