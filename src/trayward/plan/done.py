"""What of a kept plan is done already: trays sown since it was made, set against its sowings."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from typing import NamedTuple

import msgspec

from trayward.farm.calendar import local_day
from trayward.farm.state import FarmState
from trayward.plan.types import Plan, PlannedSowing

EARLY_DAYS = 2
"""A tray sown so much before its planned day still counts as that sowing; sown earlier, it is one of its own. [d]"""


def plan_before(state: FarmState) -> Plan | None:
    """The plan kept last, or None."""
    return msgspec.json.decode(state.last_plan, type=Plan) if state.last_plan else None


class Done(msgspec.Struct, frozen=True, kw_only=True):
    """One planned sowing and the trays of it that were sown."""

    planned: PlannedSowing
    trays: tuple[str, ...]

    @property
    def left(self) -> int:
        """Trays still to sow."""
        return self.planned.trays - len(self.trays)


def sown_first(left: int, waiting: int) -> int:
    """Of trays still to sow, those to sow next: the morning's, and once they are sown those that wait."""
    return left - waiting or left


class _Fresh(NamedTuple):
    """A tray sown since the plan was made, and the day it was."""

    tray: str
    day: date


def sown_against(plan: Plan, state: FarmState) -> tuple[tuple[Done, ...], frozenset[str]]:
    """
    Planned sowings filled with the trays sown since the plan was made, the earliest first.

    Returns
    -------
    tuple of Done, frozenset of str
        Every planned sowing by its day, and the trays that no planned sowing asked for.
    """
    sown, done = _sown_since(state, plan), []
    for planned in sorted(plan.sowings, key=lambda planned: planned.sow_on):
        earliest = planned.sow_on - timedelta(days=EARLY_DAYS)
        fitting = [fresh for fresh in sown.get(planned.recipe, []) if fresh.day >= earliest][: planned.trays]
        sown[planned.recipe] = [fresh for fresh in sown.get(planned.recipe, []) if fresh not in fitting]
        done.append(Done(planned=planned, trays=tuple(fresh.tray for fresh in fitting)))
    return tuple(done), frozenset(fresh.tray for trays in sown.values() for fresh in trays)


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
