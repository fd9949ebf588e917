"""The plan: the one kept, a new one made as long work, and keeping it."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.plan.types import Plan
from trayward.rounds.kept import kept_plan
from trayward.web.api.operation import BASE, Nothing, look, tell
from trayward.web.api.telling import Telling
from trayward.web.ask import Ask
from trayward.web.sow.wishes import plan_mark, same_plan
from trayward.web.sow.work import PLAN, WEEKS

Weeks = Annotated[int, msgspec.Meta(ge=3, le=8)]
"""How far ahead. [weeks]"""


class PlanHeld(msgspec.Struct, frozen=True, kw_only=True):
    """The plan kept, if there is one."""

    plan: Plan | None
    note: str
    """Why there is none."""


class PlanAsked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which of the plans made."""

    weeks: Weeks = WEEKS


class MakePlan(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A plan of the farm as it is; nothing is kept by that."""

    weeks: Weeks = WEEKS


class Making(msgspec.Struct, frozen=True, kw_only=True):
    """A plan is being made."""

    where: str
    """Where it will be told."""
    since: datetime
    """Look there until its `as_of` is no earlier than this."""


class PlanMade(msgspec.Struct, frozen=True, kw_only=True):
    """The newest plan made and not yet kept; no plan while there is none."""

    plan: Plan | None
    mark: str
    """What keeps this very plan when it is sent to `/plan/keep`."""
    as_of: datetime | None
    error: str
    """Why it could not be made."""


class KeepPlan(Telling, frozen=True, kw_only=True):
    """Keep the plan that was made: rounds ask for its sowings from now on."""

    mark: Annotated[str, msgspec.Meta(min_length=1, max_length=200)]
    weeks: Weeks = WEEKS


def _held(ask: Ask, _: Nothing) -> PlanHeld:
    found = kept_plan(ask.farm.state(ask.at))
    return PlanHeld(plan=found.plan, note=found.note)


def _make(ask: Ask, told: MakePlan, _: Said) -> Making:
    long = ask.long(PLAN, weeks=told.weeks)
    since = long.since or long.as_of or ask.at
    return Making(where=f"{BASE}/plan/made?weeks={told.weeks}", since=since)


def _made(ask: Ask, asked: PlanAsked) -> PlanMade:
    long = ask.newest(PLAN, weeks=asked.weeks)
    mark = plan_mark(long.value) if long.value is not None else ""
    return PlanMade(plan=long.value, mark=mark, as_of=long.as_of, error=long.error)


def _keep(ask: Ask, told: KeepPlan, said: Said) -> Receipt:
    made = ask.newest(PLAN, weeks=told.weeks)
    return ask.farm.keep_plan(same_plan(made.value, told.mark), **said)


OPERATIONS = (
    look("/plan", _held, PlanHeld, "plan", "The plan kept.", steady=True),
    look("/plan/made", _made, PlanMade, "plan", "The newest plan made.", takes=PlanAsked),
    tell("/plan/make", _make, MakePlan, "plan", "Have a plan made; it takes seconds to minutes.", gives=Making,
         may="run", status=202),
    tell("/plan/keep", _keep, KeepPlan, "plan", "Keep the plan made.", may="run", kinds=("plan kept",)),
)  # fmt: skip
