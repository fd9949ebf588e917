"""The plan that was kept: what of it is still to sow, and on which day each standing tray is to be cut."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

import msgspec

from trayward.farm.state import FarmState
from trayward.plan.done import plan_before, sown_against
from trayward.plan.types import Plan, PlannedSowing, Serve

NO_PLAN = "No plan kept: run plan, and keep it, to see what to sow."
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
    spoken_for: frozenset[str] = frozenset()
    """Trays that were ready when the plan was made and that it has a use for, cut or live."""


def kept_plan(state: FarmState) -> KeptPlan:
    """The last plan kept, with what is left of it to do."""
    try:
        plan = plan_before(state)
    except msgspec.MsgspecError:
        return KeptPlan(plan=None, note=UNREADABLE)
    if plan is None:
        return KeptPlan(plan=None, note=NO_PLAN)
    done, outside = sown_against(plan, state)
    to_sow = tuple(ToSow(planned=one.planned, trays=one.left) for one in done if one.left)
    serves = {tray: one.serves for one in plan.advice for tray in one.trays if one.do in ("cut", "hold")}
    days = {tray: CutDay(cut.cut_on, serves.get(tray, ())) for cut in plan.cuts for tray in cut.standing}
    for one in done:
        days.update(_planned_cuts(one.planned, one.trays))
    return KeptPlan(plan=plan, to_sow=to_sow, cut_days=days, outside=outside, spoken_for=frozenset(serves))


def _planned_cuts(planned: PlannedSowing, trays: Iterable[str]) -> dict[str, CutDay]:
    """Which day each tray of a planned sowing is cut; the others, kept to be sold live, are not cut."""
    cuts = [(cut.cut_on, cut.trays) for cut in planned.cuts]
    if not cuts and planned.grams_expected > 0:
        cuts = [(planned.cut_on, planned.trays - sum(serve.trays for serve in planned.serves))]
    days = [day for day, count in sorted(cuts) for _ in range(count)]
    return {tray: CutDay(day=day, serves=planned.serves) for tray, day in zip(trays, days, strict=False)}
