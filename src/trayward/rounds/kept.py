"""The plan that was kept: what of it is still to sow, and on which day each standing tray is to be cut."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import NamedTuple

import msgspec

from trayward.farm.calendar import local_day
from trayward.farm.state import FarmState
from trayward.plan.types import Plan, PlannedSowing, Serve

NO_PLAN = "No plan kept: run plan, and keep it, to see what to sow."
EARLY_DAYS = 2
"""A tray sown so much before its planned day still counts as that sowing; sown earlier, it is one of its own. [d]"""
UNREADABLE = "The kept plan cannot be read: run plan and keep it again."


@dataclass(frozen=True)
class CutDay:
    """The day a tray is to be cut, and what for."""

    day: date
    serves: tuple[Serve, ...] = ()


@dataclass(frozen=True)
class ToSow:
    """Trays of one planned sowing that are not yet sown."""

    planned: PlannedSowing
    trays: int


@dataclass(frozen=True)
class KeptPlan:
    """A kept plan set against what has been done since it was made."""

    plan: Plan | None
    note: str = ""
    to_sow: tuple[ToSow, ...] = ()
    cut_days: dict[str, CutDay] = field(default_factory=dict)
    """Tray -> when to cut it; a tray that is missing has no day in the plan."""
    outside: frozenset[str] = frozenset()
    """Trays sown since the plan was made that it does not ask for."""


def kept_plan(state: FarmState) -> KeptPlan:
    """The last plan kept, with what is left of it to do."""
    if not state.last_plan:
        return KeptPlan(plan=None, note=NO_PLAN)
    try:
        plan = msgspec.json.decode(state.last_plan, type=Plan)
    except msgspec.MsgspecError:
        return KeptPlan(plan=None, note=UNREADABLE)
    sown = _sown_since(state, plan)
    to_sow, owned = _matched(plan, sown)
    outside = frozenset(fresh.tray for trays in sown.values() for fresh in trays)
    days = {tray: CutDay(day=cut.cut_on) for cut in plan.cuts for tray in cut.standing}
    for planned, trays in owned:
        days.update(_planned_cuts(planned, trays))
    return KeptPlan(plan=plan, to_sow=to_sow, cut_days=days, outside=outside)


class _Fresh(NamedTuple):
    """A tray sown since the plan was made, and the day it was."""

    tray: str
    day: date


def _sown_since(state: FarmState, plan: Plan) -> dict[str, list[_Fresh]]:
    """Trays sown since the plan was made, by recipe and in the order they were sown."""
    known = {tray for cut in plan.cuts for tray in cut.standing}
    fresh = [sowing for sowing in state.sowings.values() if sowing.sown_at >= plan.made_at]
    found: dict[str, list[_Fresh]] = defaultdict(list)
    for sowing in sorted(fresh, key=lambda sowing: (sowing.sown_at, sowing.sowing)):
        day = local_day(sowing.sown_at, state.settings) if state.settings else sowing.sown_at.date()
        # A sowing of the very moment of the plan was there before it, if the plan knows its trays.
        found[sowing.recipe] += [_Fresh(tray, day) for tray in sowing.trays if tray not in known]
    return found


def _matched(
    plan: Plan, sown: dict[str, list[_Fresh]]
) -> tuple[tuple[ToSow, ...], list[tuple[PlannedSowing, list[str]]]]:
    """Planned sowings filled with the trays sown, the earliest first; what is left of each, and of the trays."""
    left: list[ToSow] = []
    owned: list[tuple[PlannedSowing, list[str]]] = []
    for planned in sorted(plan.sowings, key=lambda planned: planned.sow_on):
        earliest = planned.sow_on - timedelta(days=EARLY_DAYS)
        fitting = [fresh for fresh in sown.get(planned.recipe, []) if fresh.day >= earliest][: planned.trays]
        sown[planned.recipe] = [fresh for fresh in sown.get(planned.recipe, []) if fresh not in fitting]
        owned.append((planned, [fresh.tray for fresh in fitting]))
        if len(fitting) < planned.trays:
            left.append(ToSow(planned=planned, trays=planned.trays - len(fitting)))
    return tuple(left), owned


def _planned_cuts(planned: PlannedSowing, trays: Iterable[str]) -> dict[str, CutDay]:
    """Which day each tray of a planned sowing is cut; trays sold live are not cut."""
    live = sum(serve.trays for serve in planned.serves)
    cuts = [(cut.cut_on, cut.trays) for cut in planned.cuts] or [(planned.cut_on, planned.trays - live)]
    days = [day for day, count in sorted(cuts) for _ in range(count)]
    return {tray: CutDay(day=day, serves=planned.serves) for tray, day in zip(trays, days, strict=False)}
