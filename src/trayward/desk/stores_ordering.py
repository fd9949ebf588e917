"""Order advice: when to order and how much, of whom, and what other orders would come to."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import msgspec

from trayward.desk.lookup import facts_of
from trayward.desk.stores_reach import (
    CRUMB,
    FURTHEST,
    Reach,
    Stock,
    course,
    days_words,
    reach_of,
    safety_stock,
    seed_stock,
    supply_stock,
)
from trayward.desk.stores_use import Basis, Use, seed_uses, supply_uses
from trayward.farm.calendar import local_day
from trayward.farm.seed_care import seed_care
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, SeedLot
from trayward.farm.supplies import Offer, PackPrice, SupplyUnit
from trayward.money.coins import rounded
from trayward.plan.seed_reach import lead_of
from trayward.plan.types import Plan
from trayward.rounds.entry_words import amount_of
from trayward.rounds.words import day_words

if TYPE_CHECKING:
    from trayward.science.ordering import Floats, PackTier

YEAR_WEEKS = 52
"""Nobody is told to buy more than a year's use. Our choice."""
AHEAD_WEEKS = 104
"""Orders are reckoned for two years, so that where it ends does not decide how much to order now."""
ORDER_MINUTES = 10.0
"""Hands' time for an order and for putting it away: our choice. [min]"""
REVIEW = 7
"""Somebody looks at the stores once a week. [d]"""
KEEPING_A_YEAR = 0.08
"""What money tied up in stores costs a year, as a share of it: our choice. [-]"""
STEPS = 240
"""Amounts are reckoned in so many steps of the most an order may be."""
PARTS = 8
"""... and in at least so many parts of the smallest pack."""
SEED_SURELY = 0.95
"""Seed lasts until its delivery in 19 of 20 cases: our choice. [-]"""
ALIKE = 0.01
"""Costs this near are alike: nobody knows the use of two years better. Our choice. [-]"""
MOST_OTHERS = 4
"""So many other orders are told."""
SHORT = 28
"""Where nobody said how long it takes to come: what is needed within this is asked for. Our choice. [d]"""
SOON = 7
"""What has to be ordered within this is asked for now. [d]"""


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


class Advice(msgspec.Struct, frozen=True, kw_only=True):
    """What to do about one thing: how far it reaches, when to order, how much, and what else could be ordered."""

    thing: str
    """The supply, or the crop."""
    seed: bool
    unit: SupplyUnit
    basis: Basis
    reach: Reach
    keep: float
    """What should be there when a delivery comes. [unit]"""
    needed_on: date | None = None
    """The day from which less than that would be there."""
    order_by: date | None = None
    lead_days: float | None = None
    order: Order | None = None
    others: tuple[Order, ...] = ()
    orders_a_year: int = 0
    """So often, if all goes on like this."""
    lacks: str = ""
    """What has to be said before an amount can be advised."""
    currency: str = ""

    @property
    def name(self) -> str:
        """As it stands on lists."""
        return f"{self.thing} seed" if self.seed else self.thing

    def due(self, today: date) -> bool:
        """Whether it has to be ordered within a week, or runs out within four and nobody said how long it takes."""
        if self.order_by is not None:
            return (self.order_by - today).days <= SOON
        return self.needed_on is not None and (self.needed_on - today).days <= SHORT


# All of it ------------------------------------------------------------------------------------------------------------


def advice_about(
    state: FarmState, settings: FarmSettings, plan: Plan | None, thing: str, at: datetime, *, seed: bool = False
) -> Advice | None:
    """Advice for one supply, or for seed of one crop; None where there is neither."""
    found = (seed_advice if seed else supply_advice)(state, settings, plan, at, only=thing)
    return found[0] if found else None


def order_advice(state: FarmState, settings: FarmSettings, plan: Plan | None, at: datetime) -> tuple[Advice, ...]:
    """Advice for the seed of every crop and for every supply, what has to be ordered first before the others."""
    today = local_day(at, settings)
    found = [*seed_advice(state, settings, plan, at), *supply_advice(state, settings, plan, at)]
    return tuple(
        sorted(found, key=lambda each: (each.order_by or date.max, not each.due(today), each.seed, each.thing))
    )


def seed_advice(
    state: FarmState, settings: FarmSettings, plan: Plan | None, at: datetime, *, only: str = ""
) -> list[Advice]:
    """Advice for the seed of every crop that is used or here, or of one alone."""
    uses, today = seed_uses(state, settings, plan, at), local_day(at, settings)
    here = {lot.crop for lot in state.seed.values() if lot.left_g > 0 or lot.expected_on is not None}
    found = []
    for crop in sorted({*uses, *here}):
        if only and crop != only:
            continue
        offers = [offer for offer in state.offers.values() if offer.seed and offer.thing == crop]
        found.append(
            advise(
                crop, "g", uses.get(crop), seed_stock(state, crop, at, settings), offers, today,
                seed=True, surely=SEED_SURELY, keeps_days=fresh_seed_keeps(state, crop, at),
                lead_days=lead_of(state.crop_facts.get(crop, {})), currency=settings.money.currency,
                hands=hands_cost(settings),
            )
        )  # fmt: skip
    return found


def supply_advice(
    state: FarmState, settings: FarmSettings, plan: Plan | None, at: datetime, *, only: str = ""
) -> list[Advice]:
    """Advice for every supply that is not dropped, or for one alone."""
    today = local_day(at, settings)
    found = []
    for name, use in supply_uses(state, settings, plan, at).items():
        if only and name != only:
            continue
        held = state.supplies[name]
        offers = [offer for offer in state.offers.values() if not offer.seed and offer.thing == name]
        found.append(
            advise(
                name, held.supply.unit, use, supply_stock(held, today), offers, today, keep=held.supply.keep,
                surely=held.supply.surely, keeps_days=held.supply.keeps_days,
                currency=settings.money.currency, hands=hands_cost(settings),
            )
        )  # fmt: skip
    return found


def hands_cost(settings: FarmSettings) -> float:
    """What hands cost for one order. [currency]"""
    return settings.money.wage_h * ORDER_MINUTES / 60


def fresh_seed_keeps(state: FarmState, crop: str, at: datetime) -> int | None:
    """How long a new bag of ordinary seed stays good enough to sow; None: longer than anybody keeps it. [d]"""
    facts = facts_of(state, crop)
    fresh = SeedLot(lot="", crop=crop, received_at=at, received_g=1.0, left_g=1.0)
    until = seed_care(fresh, facts, at).good_until
    return None if until is None or until <= at else (until - at).days


# One thing ------------------------------------------------------------------------------------------------------------


def advise(
    thing: str,
    unit: SupplyUnit,
    use: Use | None,
    stocks: Sequence[Stock],
    offers: Sequence[Offer],
    today: date,
    *,
    seed: bool = False,
    keep: float = 0.0,
    surely: float = 0.95,
    keeps_days: int | None = None,
    lead_days: float | None = None,
    hands: float = 0.0,
    currency: str = "EUR",
) -> Advice:
    """
    When to order and how much.

    Parameters
    ----------
    thing, unit
        What it is, and what it is counted in.
    use : Use or None
        What will be used of it.
    stocks : sequence of Stock
        What is here and on order, the first in line first.
    offers : sequence of Offer
        What suppliers ask for it.
    today : date
        The farm's own day.
    keep, surely : float
        The least that should be there [unit], and in what share of cases it is to last until a delivery [-].
    keeps_days : int or None
        How long what comes can be used. [d]
    lead_days : float or None
        How long it takes to come, where no offer says. [d]
    hands : float
        What hands cost for one order. [currency]

    Returns
    -------
    Advice

    Notes
    -----
    What is here and on order is used day after day, the first in line first; the day on which less than `keep` and the
    stock for sureness would be left is the day to have more. From that day on two years' use is met with the cheapest
    orders (`science.ordering`), week by week. Another first order is compared with all later ones as good as they can
    be.
    """
    reach = reach_of(stocks, use, today)
    base = Advice(
        thing=thing, seed=seed, unit=unit, basis=use.basis if use is not None else "", reach=reach, keep=keep,
        currency=currency,
    )  # fmt: skip
    if use is None or (use.a_day <= 0 and not use.known):
        return base
    lead = min((offer.lead_days for offer in offers), default=lead_days)
    aside = safety_stock(use, REVIEW + (lead or 0.0), surely, keep)
    if keeps_days is not None:
        # What is set aside has to turn over before it goes off.
        aside = min(aside, use.a_day * keeps_days / 2)
    ahead = FURTHEST + 7 * (AHEAD_WEEKS + 1)
    needs = _needs(course(stocks, use.by_day(today, ahead), today).left, aside)
    first = next((number for number, amount in enumerate(needs) if amount > 0), None)
    base = msgspec.structs.replace(base, keep=aside, lead_days=lead)
    if first is None or first > FURTHEST:
        return base
    needed_on = today + timedelta(days=first)
    if lead is None:
        return msgspec.structs.replace(
            base, needed_on=needed_on, lacks="how long it takes to come" if seed else "what a supplier asks"
        )
    timely = [offer for offer in offers if offer.lead_days <= max(first, lead)]
    begins = max(first, math.ceil(lead))
    base = msgspec.structs.replace(base, needed_on=needed_on, order_by=needed_on - timedelta(days=math.ceil(lead)))
    if not timely:
        return msgspec.structs.replace(base, lacks="what a pack holds and costs")
    lasts = YEAR_WEEKS if keeps_days is None else min(max(keeps_days // 7, 1), YEAR_WEEKS)
    return _with_orders(base, timely, _by_week(needs, begins), lasts, hands)


def _needs(left: Sequence[float], aside: float) -> list[float]:
    """What more each day has to have brought so that never less than `aside` is there. [unit]"""
    found, whole = [], 0.0
    for amount in left:
        more = max(aside - amount - whole, 0.0)
        found.append(more if more > CRUMB else 0.0)
        whole += found[-1]
    return found


def _by_week(needs: Sequence[float], begins: int) -> list[float]:
    """The needs of two years' weeks from a day on; what was needed before comes first."""
    weeks = [sum(needs[begins + 7 * week : begins + 7 * (week + 1)]) for week in range(AHEAD_WEEKS)]
    weeks[0] += sum(needs[:begins])
    return weeks


class _Tier(NamedTuple):
    """A pack at one of its prices, in steps: so many packs together are the least that is reckoned with."""

    pack: PackPrice
    together: int
    tier: PackTier


def _with_orders(base: Advice, offers: Sequence[Offer], weeks: Sequence[float], lasts: int, hands: float) -> Advice:
    order, others, often = _orders(
        tuple(offers), tuple(round(week, 1) for week in weeks), lasts, hands, base.unit, base.currency
    )
    return msgspec.structs.replace(base, order=order, others=others, orders_a_year=often)


@lru_cache(512)
def _orders(
    offers: tuple[Offer, ...], weeks: tuple[float, ...], lasts: int, hands: float, unit: SupplyUnit, currency: str
) -> tuple[Order, tuple[Order, ...], int]:
    """The order to make now, others, and how often a year. Each takes 50 ms, and most entries change none of it."""
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
    return order, told, sum(1 for each in best.orders[:YEAR_WEEKS] if each)


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


# In words -------------------------------------------------------------------------------------------------------------

A_UNIT = {"pieces": "a piece", "g": "a kg", "ml": "a litre"}


def order_words(advice: Advice) -> str:
    """
    What to order, in one sentence.

    Examples
    --------
    >>> order = Order(supplier="Hillside Seeds", packs=(PacksBought(count=2, size=1000.0, price=Decimal("14.00")),),
    ...     amount=2000.0, cost=Decimal("32.00"), delivery=Decimal("4.00"), a_unit=Decimal("16.00"), lasts_days=63)
    >>> order_words(Advice(thing="pea", seed=True, unit="g", basis="plan", reach=Reach(here=0), keep=0, order=order))
    'Order 2 kg of Hillside Seeds, 2 packs of 1 kg: 32.00, which is 16.00 a kg. It lasts about 9 weeks.'
    """
    order = advice.order
    if order is None:
        return f"Say {advice.lacks}, then an amount can be advised." if advice.lacks else ""
    what = f"Order {amount_of(order.amount, advice.unit)} of {order.supplier}, {packs_words(order, advice.unit)}"
    return f"{what}: {order.cost}, which is {order.a_unit} {A_UNIT[advice.unit]}. {lasts_words(order)}"


def packs_words(order: Order, unit: SupplyUnit) -> str:
    """The packs of an order: `2 packs of 1 kg`."""
    return " and ".join(
        f"{each.count} {'pack' if each.count == 1 else 'packs'} of {amount_of(each.size, unit)}" for each in order.packs
    )


def lasts_words(order: Order) -> str:
    """How long an order lasts."""
    if order.lasts_days is None:
        return "It lasts a year or more."
    weeks = round(order.lasts_days / 7)
    return f"It lasts about {weeks} {'week' if weeks == 1 else 'weeks'}." if weeks else "It lasts less than a week."


def other_words(order: Order, advice: Advice) -> str:
    """
    Why another order is not advised.

    Examples
    --------
    >>> order = Order(supplier="Hillside Seeds", packs=(PacksBought(count=1, size=5000.0, price=Decimal("62.50")),),
    ...     amount=5000.0, cost=Decimal("62.50"), delivery=Decimal(0), a_unit=Decimal("12.50"), lasts_days=None,
    ...     goes_off=1500.0, dearer=Decimal("6.30"))
    >>> other_words(order, Advice(thing="pea", seed=True, unit="g", basis="plan", reach=Reach(here=0), keep=0))
    '5 kg of Hillside Seeds is 12.50 a kg, but 1.5 kg of it would go off; 6.30 dearer over two years.'
    """
    unit = advice.unit
    begin = f"{amount_of(order.amount, unit)} of {order.supplier} is {order.a_unit} {A_UNIT[unit]}"
    end = f"{order.dearer} dearer over two years."
    if order.goes_off:
        return f"{begin}, but {amount_of(order.goes_off, unit)} of it would go off; {end}"
    return f"{begin}; {end}"


def when_words(advice: Advice, today: date) -> str:
    """
    By when to order.

    Examples
    --------
    >>> advice = Advice(thing="pea", seed=True, unit="g", basis="plan", reach=Reach(here=0), keep=0,
    ...     order_by=date(2026, 12, 1), lead_days=7.0)
    >>> when_words(advice, date(2026, 11, 25))
    'Order by Tue 1 Dec: it takes 7 days to come.'
    """
    if advice.order_by is None or advice.lead_days is None:
        return ""
    days = round(advice.lead_days)
    lead = f"it takes {days} {'day' if days == 1 else 'days'} to come"
    if advice.order_by <= today:
        return f"Order now: {lead}."
    return f"Order by {day_words(advice.order_by)}: {lead}."


def left_words(advice: Advice) -> str:
    """What is there and how long it lasts: `350 g, 9 to 17 days, likely 12`."""
    return f"{amount_of(advice.reach.here, advice.unit)}, {days_words(advice.reach)}"
