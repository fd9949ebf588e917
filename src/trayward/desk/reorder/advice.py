"""Order advice: when to order seed and supplies, and how much."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, datetime, timedelta

import msgspec

from trayward.desk.lookup import facts_of
from trayward.desk.reorder.packs import YEAR_WEEKS, Order, orders_of
from trayward.desk.reorder.reach import (
    CRUMB,
    FURTHEST,
    Reach,
    Stock,
    course,
    reach_of,
    safety_stock,
    seed_stock,
    supply_stock,
)
from trayward.desk.reorder.use import Basis, Use, seed_uses, supply_uses
from trayward.farm.calendar import local_day
from trayward.farm.seed_care import seed_care
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, SeedLot
from trayward.farm.supplies import Offer, SupplyUnit
from trayward.plan.seed_reach import lead_of
from trayward.plan.types import Plan

AHEAD_WEEKS = 104
"""Orders are reckoned for two years, so that where it ends does not decide how much to order now."""
ORDER_MINUTES = 10.0
"""Hands' time for an order and for putting it away: our choice. [min]"""
REVIEW = 7
"""Somebody looks at the stores once a week. [d]"""
SEED_SURELY = 0.95
"""Seed lasts until its delivery in 19 of 20 cases: our choice. [-]"""
SHORT = 28
"""Where nobody said how long it takes to come: what is needed within this is asked for. Our choice. [d]"""
SOON = 7
"""What has to be ordered within this is asked for now. [d]"""


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
    basis: Basis = use.basis if use is not None else ""
    base = Advice(thing=thing, seed=seed, unit=unit, basis=basis, reach=reach, keep=keep, currency=currency)
    if use is None or (use.a_day <= 0 and not use.known):
        return base
    lead = min((offer.lead_days for offer in offers), default=lead_days)
    aside = _set_aside(use, lead, surely, keep, keeps_days)
    ahead = FURTHEST + 7 * (AHEAD_WEEKS + 1)
    needs = _needs(course(stocks, use.by_day(today, ahead), today).left, aside)
    first = next((number for number, amount in enumerate(needs) if amount > 0), None)
    base = msgspec.structs.replace(base, keep=aside, lead_days=lead)
    if first is None or first > FURTHEST:
        return base
    base = msgspec.structs.replace(base, needed_on=today + timedelta(days=first))
    return _ordered(base, offers, needs, first, keeps_days, hands)


def _set_aside(use: Use, lead: float | None, surely: float, keep: float, keeps_days: int | None) -> float:
    """What should be there when a delivery comes. [unit]"""
    aside = safety_stock(use, REVIEW + (lead or 0.0), surely, keep)
    # What is set aside has to turn over before it goes off.
    return aside if keeps_days is None else min(aside, use.a_day * keeps_days / 2)


def _ordered(
    base: Advice, offers: Sequence[Offer], needs: Sequence[float], first: int, keeps_days: int | None, hands: float
) -> Advice:
    """The advice with the order to make for what is needed from a day on, or with what has to be said before."""
    lead_days = base.lead_days
    assert base.needed_on is not None
    if lead_days is None:
        lacks = "how long it takes to come" if base.seed else "what a supplier asks"
        return msgspec.structs.replace(base, lacks=lacks)
    lead = math.ceil(lead_days)
    base = msgspec.structs.replace(base, order_by=base.needed_on - timedelta(days=lead))
    timely = [offer for offer in offers if offer.lead_days <= max(first, lead_days)]
    if not timely:
        return msgspec.structs.replace(base, lacks="what a pack holds and costs")
    lasts = YEAR_WEEKS if keeps_days is None else min(max(keeps_days // 7, 1), YEAR_WEEKS)
    return _with_orders(base, timely, _by_week(needs, max(first, lead)), lasts, hands)


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


def _with_orders(base: Advice, offers: Sequence[Offer], weeks: Sequence[float], lasts: int, hands: float) -> Advice:
    told = orders_of(tuple(offers), tuple(round(week, 1) for week in weeks), lasts, hands, base.unit, base.currency)
    return msgspec.structs.replace(base, order=told.order, others=told.others, orders_a_year=told.a_year)
