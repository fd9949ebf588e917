"""How far the seed in store reaches at the use of the kept plan, and when more has to be ordered."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from typing import Literal

import msgspec

from trayward.farm.calendar import local_day
from trayward.farm.crops import Fact
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, SeedLot
from trayward.plan.done import Done, sown_against
from trayward.plan.types import Plan

LEAD_DAYS = "seed_lead_days"
"""The name under which a farm says of a crop how long ordered seed takes to come. [d]"""
LOOK_BACK = timedelta(days=28)
"""Without a plan, what was sown in so many days says how much is used. [d]"""
MISSED = timedelta(days=2)
"""A planned sowing this long past is still done; one further back is given up. Our choice. [d]"""
TRACE_G = 0.05
"""A lot with less is used up. [g]"""
ONE_DAY = timedelta(days=1)


class SeedUse(msgspec.Struct, frozen=True, kw_only=True):
    """
    What a crop's sowings will take.

    `sowings`: days and grams that are planned, in order [g]; `a_day_g`: grams a day from `then_on` on, when no plan
    says more [g/d].
    """

    crop: str
    basis: Literal["plan", "sown lately"]
    sowings: tuple[tuple[date, float], ...] = ()
    a_day_g: float = 0.0
    then_on: date


class SeedReach(msgspec.Struct, frozen=True, kw_only=True):
    """
    How far a crop's seed reaches.

    `here_g` in store and `coming_g` on order, the next on `coming_on` [g]; `a_week_g` used a week [g]; `runs_out` the
    first day on which a sowing finds too little, None where it lasts for a year or none is used; `reckoned`: that day
    lies beyond what is planned; `order_by` the last day to order, None where nobody said how long seed takes to
    come.
    """

    crop: str
    basis: Literal["plan", "sown lately", ""]
    here_g: float
    coming_g: float = 0.0
    coming_on: date | None = None
    a_week_g: float = 0.0
    runs_out: date | None = None
    days_left: int | None = None
    reckoned: bool = False
    lead_days: float | None = None
    order_by: date | None = None


# What is used ---------------------------------------------------------------------------------------------------------


def planned_use(plan: Plan, state: FarmState, today: date) -> dict[str, SeedUse]:
    """
    What the sowings of a plan that are still to do will take, by crop.

    Notes
    -----
    A plan sows no more than there is seed for; what its limits say was missing counts as wanted on the day it was.
    """
    left = still_to_sow(plan, state, today)
    missing = _short_of(plan)
    crops = dict.fromkeys([*(done.planned.crop for done in left), *missing])
    return {
        crop: _planned(crop, [one for one in left if one.planned.crop == crop], missing.get(crop), plan, today)
        for crop in crops
    }


def still_to_sow(plan: Plan, state: FarmState, today: date) -> list[Done]:
    """What of a plan's sowings is left to do; what was missed for long is given up."""
    return [done for done in sown_against(plan, state)[0] if done.left > 0 and done.planned.sow_on >= today - MISSED]


def sown_until(plan: Plan, left: Iterable[Done], today: date, days: Iterable[date]) -> date:
    """
    The day up to which what is used a day is reckoned, the days of what is wanted within it.

    A plan sows for orders within its weeks, so its last days sow nothing: it is the last day from which a tray of those
    left to sow could still be cut within the plan.
    """
    grows = min(((one.planned.cut_on - one.planned.sow_on).days for one in left), default=0)
    return max([plan.last - timedelta(days=grows), today, *days])


def _planned(crop: str, left: list[Done], short: tuple[date, float] | None, plan: Plan, today: date) -> SeedUse:
    wanted = [(max(one.planned.sow_on, today), one.planned.seed_g * one.left / one.planned.trays) for one in left]
    if short is not None:
        wanted.append((max(short[0], today), short[1]))
    wanted.sort()
    end = sown_until(plan, left, today, (day for day, _ in wanted))
    whole = sum(grams for _, grams in wanted)
    a_day = whole / ((end - today).days + 1)
    return SeedUse(crop=crop, basis="plan", sowings=tuple(wanted), a_day_g=a_day, then_on=end + ONE_DAY)


def _short_of(plan: Plan) -> dict[str, tuple[date, float]]:
    """The first day and the most grams that a plan's limits say were missing of each crop's seed. [g]"""
    found: dict[str, tuple[date, float]] = {}
    for limit in plan.limits:
        crop = limit.limit.removeprefix("seed of ")
        if crop != limit.limit and limit.short > 0 and limit.unit == "g":
            day, grams = found.get(crop, (limit.first, 0.0))
            found[crop] = (min(day, limit.first), max(grams, limit.short))
    return found


def lately_used(state: FarmState, settings: FarmSettings, at: datetime) -> dict[str, SeedUse]:
    """What the sowings of the last four weeks took, or of as long as there is a book; by crop."""
    since = max(at - LOOK_BACK, state.began or at - LOOK_BACK)
    taken: dict[str, float] = {}
    for sowing in state.sowings.values():
        if since <= sowing.sown_at <= at:
            taken[sowing.crop] = taken.get(sowing.crop, 0.0) + sum(sowing.lots.values())
    days, today = max((at - since) / ONE_DAY, 7.0), local_day(at, settings)
    return {
        crop: SeedUse(crop=crop, basis="sown lately", a_day_g=grams / days, then_on=today)
        for crop, grams in taken.items()
    }


# How far it reaches ---------------------------------------------------------------------------------------------------


def seed_reach(
    crop: str, use: SeedUse | None, lots: Iterable[SeedLot], today: date, lead_days: float | None = None
) -> SeedReach:
    """
    How far a crop's seed reaches.

    Parameters
    ----------
    crop : str
        Its name.
    use : SeedUse or None
        What its sowings will take; None: nothing is known of any.
    lots : iterable of SeedLot
        The lots of the crop. Treated ones are left out: they are not sown. What is on order counts from its day on, or
        from tomorrow if it is late.
    today : date
        The farm's own day.
    lead_days : float or None
        From ordering to having. [d]

    Returns
    -------
    SeedReach

    Notes
    -----
    Grams count as grams: that an older lot takes a little more is in the plan's sowings, not in the days beyond.

    Examples
    --------
    >>> monday = date(2026, 11, 23)
    >>> use = SeedUse(crop="pea", basis="sown lately", a_day_g=50.0, then_on=monday)
    >>> lot = SeedLot(lot="PEA-1", crop="pea", received_at=datetime(2026, 11, 1), received_g=500.0, left_g=500.0)
    >>> found = seed_reach("pea", use, [lot], monday, lead_days=7)
    >>> found.runs_out.isoformat(), found.days_left, found.order_by.isoformat()
    ('2026-12-03', 10, '2026-11-26')
    """
    sown = [lot for lot in lots if not lot.treated]
    here = sum(max(0.0, lot.left_g) for lot in sown)
    coming = sorted(_coming(sown, today).items())
    reach = SeedReach(
        crop=crop,
        basis=use.basis if use is not None else "",
        here_g=here,
        coming_g=sum(grams for _, grams in coming),
        coming_on=coming[0][0] if coming else None,
        a_week_g=7 * use.a_day_g if use is not None else 0.0,
        lead_days=lead_days,
    )
    out, reckoned = _runs_out(use, here, coming) if use is not None else (None, False)
    if out is None or (out - today).days > 365:
        return reach
    ordered = out - timedelta(days=math.ceil(lead_days)) if lead_days is not None else None
    return msgspec.structs.replace(
        reach, runs_out=out, days_left=(out - today).days, reckoned=reckoned, order_by=ordered
    )


def _coming(lots: Iterable[SeedLot], today: date) -> dict[date, float]:
    found: dict[date, float] = {}
    for lot in lots:
        if lot.expected_on is not None:
            day = max(lot.expected_on, today + ONE_DAY)
            found[day] = found.get(day, 0.0) + lot.received_g
    return found


def _runs_out(use: SeedUse, here: float, coming: list[tuple[date, float]]) -> tuple[date | None, bool]:
    """The first day that finds too little, and whether it lies beyond what is planned."""
    used = 0.0
    for day, grams in use.sowings:
        used += grams
        if used > here + sum(more for come, more in coming if come <= day) + TRACE_G:
            return day, False
    return _runs_out_then(use, here - used, coming)


def _runs_out_then(use: SeedUse, left: float, coming: list[tuple[date, float]]) -> tuple[date | None, bool]:
    """Beyond the plan: so much a day, as long as it reaches to the next delivery. [g]"""
    if use.a_day_g <= 0:
        return None, True
    left += sum(grams for day, grams in coming if day < use.then_on)
    day = use.then_on
    for come, grams in [pair for pair in coming if pair[0] >= use.then_on]:
        days = (come - day).days
        if left < use.a_day_g * days - TRACE_G:
            break
        left, day = left - use.a_day_g * days + grams, come
    return day + timedelta(days=min(math.floor(left / use.a_day_g + 1e-9), 10_000)), True


def seed_reaches(state: FarmState, settings: FarmSettings, plan: Plan | None, at: datetime) -> dict[str, SeedReach]:
    """
    How far the seed of every crop reaches that has some or is used, by name.

    By the sowings of the kept plan while it is on; without one by what was sown in the last four weeks.
    """
    today = local_day(at, settings)
    on = plan if plan is not None and plan.last >= today else None
    uses = planned_use(on, state, today) if on is not None else lately_used(state, settings, at)
    none = SeedUse(crop="", basis="plan" if on is not None else "sown lately", then_on=today)
    lots = seed_in_store(state)
    return {
        crop: seed_reach(crop, uses.get(crop, none), lots.get(crop, []), today, lead_of(state.crop_facts.get(crop, {})))
        for crop in sorted({*uses, *lots})
    }


def seed_in_store(state: FarmState) -> dict[str, list[SeedLot]]:
    """The lots that are here or on order, by crop; those used up are left out."""
    found: dict[str, list[SeedLot]] = {}
    for lot in state.seed.values():
        if lot.left_g > TRACE_G or lot.expected_on is not None:
            found.setdefault(lot.crop, []).append(lot)
    return found


def lead_of(own: Mapping[str, Fact]) -> float | None:
    """How long ordered seed of a crop takes to come, as the farm said; None where it did not. [d]"""
    value = own[LEAD_DAYS].value if LEAD_DAYS in own else None
    return value if isinstance(value, float) and value >= 0 else None
