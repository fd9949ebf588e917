"""How much of seed and of every other supply the coming weeks take: by the kept plan, by orders, or as lately."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from statistics import stdev
from typing import Literal

import msgspec

from trayward.farm.calendar import local_day
from trayward.farm.due import lines_due
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.farm.supplies import SupplyHeld
from trayward.plan.seed_reach import SeedUse, lately_used, planned_use, sown_until, still_to_sow
from trayward.plan.types import Plan

ONE_DAY = timedelta(days=1)
WEEK = 7
LATELY = 28
"""Without a plan or orders, so many days say how much is used. [d]"""
HISTORY = 56
"""So many days say how much a week differs from another. [d]"""
ORDERS_AHEAD = 28
"""Orders so far ahead are counted; beyond, it goes on as they do. Our choice. [d]"""
FEWEST_WEEKS = 3
USUAL_SPREAD = 0.3
"""How much a week's use differs from the mean where nobody knows, as a share of it: our choice. [-]"""
LEAST_SPREAD = 0.1
"""No farm's weeks are more alike than this: our choice. [-]"""

Basis = Literal["plan", "orders", "lately", ""]


class Use(msgspec.Struct, frozen=True, kw_only=True):
    """
    What will be used of one thing. [unit]

    `known`: days and amounts that are planned or ordered, in order; from `then_on` on `a_day` every day. `spread` is
    how far a week's use lies from the mean (one standard deviation).
    """

    basis: Basis = ""
    known: tuple[tuple[date, float], ...] = ()
    a_day: float = 0.0
    then_on: date
    spread: float = 0.0

    def by_day(self, today: date, days: int) -> list[float]:
        """Amounts of so many days, today first."""
        found = [0.0] * days
        for day, amount in self.known:
            place = max((day - today).days, 0)
            if place < days:
                found[place] += amount
        for place in range(max((self.then_on - today).days, 0), days):
            found[place] += self.a_day
        return found


def seed_uses(state: FarmState, settings: FarmSettings, plan: Plan | None, at: datetime) -> dict[str, Use]:
    """What will be used of the seed of each crop. [g]"""
    today = local_day(at, settings)
    on = plan if plan is not None and plan.last >= today else None
    uses = planned_use(on, state, today) if on is not None else lately_used(state, settings, at)
    weeks = _seed_weeks(state, settings, today)
    return {crop: _of_seed(use, weeks.get(crop, [])) for crop, use in uses.items()}


def _of_seed(use: SeedUse, weeks: list[float]) -> Use:
    basis: Basis = "plan" if use.basis == "plan" else "lately"
    return Use(
        basis=basis, known=use.sowings, a_day=use.a_day_g, then_on=use.then_on, spread=spread_of(weeks, use.a_day_g)
    )


def _seed_weeks(state: FarmState, settings: FarmSettings, today: date) -> dict[str, list[float]]:
    """Crop -> grams sown in each of the last whole weeks, by what each day took. [g]"""
    days: dict[str, dict[date, float]] = {}
    for sowing in state.sowings.values():
        day = local_day(sowing.sown_at, settings)
        if 0 < (today - day).days <= HISTORY:
            of_crop = days.setdefault(sowing.crop, {})
            of_crop[day] = of_crop.get(day, 0.0) + sum(sowing.lots.values())
    return {crop: by_week(used, today, _began(state, settings, today)) for crop, used in days.items()}


def supply_uses(state: FarmState, settings: FarmSettings, plan: Plan | None, at: datetime) -> dict[str, Use]:
    """
    What will be used of each supply other than seed. [unit of each]

    What trays take goes by the plan, what packs take by orders, and everything else as it was lately.
    """
    today = local_day(at, settings)
    on = plan if plan is not None and plan.last >= today else None
    trays = _trays(on, state, today) if on is not None else None
    packs = _packs(state, today) if state.supplies else ()
    began = _began(state, settings, today)
    return {
        name: _of_supply(held, trays, packs, today, began) for name, held in state.supplies.items() if not held.dropped
    }


class _Ahead(msgspec.Struct, frozen=True):
    """What is planned up to a day: when, how many, and the names a supply may be asked for it under."""

    until: date
    wanted: tuple[tuple[date, float, tuple[str, ...]], ...]


def _trays(plan: Plan, state: FarmState, today: date) -> _Ahead:
    left, wanted = still_to_sow(plan, state, today), []
    for done in left:
        recipe = state.recipes.get(done.planned.recipe)
        names = (done.planned.recipe, recipe.medium.name) if recipe is not None else (done.planned.recipe,)
        wanted.append((max(done.planned.sow_on, today), float(done.left), names))
    wanted.sort()
    return _Ahead(sown_until(plan, left, today, (day for day, _, _ in wanted)), tuple(wanted))


def _packs(state: FarmState, today: date) -> tuple[tuple[date, float, tuple[str, ...]], ...]:
    last = today + timedelta(days=ORDERS_AHEAD - 1)
    lines = [line for line in lines_due(state, today, last) if line.packs > 0]
    return tuple((line.due, line.packs * _to_do(line.grams, line.done_g), (line.product,)) for line in lines)


def _to_do(whole: float, done: float) -> float:
    return max(1 - done / whole, 0.0) if whole > 0 else 1.0


def _of_supply(
    held: SupplyHeld,
    trays: _Ahead | None,
    packs: tuple[tuple[date, float, tuple[str, ...]], ...],
    today: date,
    began: int,
) -> Use:
    takers = {each.of for each in held.supply.taken}
    if takers == {"tray"} and trays is not None and trays.wanted:
        known = [(day, number * held.amount_for("tray", *names)) for day, number, names in trays.wanted]
        return _planned("plan", known, trays.until, held, today, began)
    if takers == {"pack"} and packs:
        known = [(day, number * held.amount_for("pack", *names)) for day, number, names in packs]
        return _planned("orders", known, today + timedelta(days=ORDERS_AHEAD - 1), held, today, began)
    days = min(max(began, WEEK), LATELY)
    used = sum(amount for day, amount in held.used_on.items() if 0 <= (today - day).days < days)
    a_day = used / days
    weeks = by_week(held.used_on, today, began)
    return Use(basis="lately" if used else "", a_day=a_day, then_on=today, spread=spread_of(weeks, a_day))


def _planned(
    basis: Basis, known: list[tuple[date, float]], until: date, held: SupplyHeld, today: date, began: int
) -> Use:
    wanted = tuple((day, amount) for day, amount in known if amount > 0)
    a_day = sum(amount for _, amount in wanted) / ((until - today).days + 1)
    weeks = by_week(held.used_on, today, began)
    return Use(basis=basis, known=wanted, a_day=a_day, then_on=until + ONE_DAY, spread=spread_of(weeks, a_day))


def _began(state: FarmState, settings: FarmSettings, today: date) -> int:
    """Days there is a book of. [d]"""
    return (today - local_day(state.began, settings)).days if state.began is not None else 0


def by_week(used: Mapping[date, float], today: date, began: int) -> list[float]:
    """What each of the last whole weeks took, as far back as there is a book."""
    weeks = [0.0] * (min(began, HISTORY) // WEEK)
    for day, amount in used.items():
        place = ((today - day).days - 1) // WEEK
        if 0 <= place < len(weeks):
            weeks[place] += amount
    return weeks


def spread_of(weeks: Iterable[float], a_day: float) -> float:
    """How far a week's use lies from the mean: by the farm's own weeks where there are enough. [unit, one sd]"""
    found, usual = list(weeks), WEEK * a_day
    if len(found) < FEWEST_WEEKS:
        return USUAL_SPREAD * usual
    return max(stdev(found), LEAST_SPREAD * usual)


def spread_after(use: Use, days: int) -> float:
    """How far the use of so many days lies from the mean; weeks differ on their own. [unit, one sd]"""
    return use.spread * math.sqrt(days / WEEK)
