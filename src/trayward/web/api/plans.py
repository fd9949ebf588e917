"""The plan: the one kept, a new one made as long work, and keeping it."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.desk.wonder.words import read_what_if
from trayward.errors import InputError
from trayward.plan.compare_types import Comparison
from trayward.plan.limit_words import binding
from trayward.plan.mix_words import mix_words
from trayward.plan.types import Earning, Limit, Plan
from trayward.rounds.kept import kept_plan
from trayward.web.api.operation import BASE, Nothing, look, tell
from trayward.web.api.telling import Name, Telling
from trayward.web.ask import Ask
from trayward.web.sow.planned import changed_in, with_one_more
from trayward.web.sow.supposing import MOST_CHANGES
from trayward.web.sow.wishes import plan_mark, same_plan, without
from trayward.web.sow.work import PLAN, WEEKS, WHAT_IF

Weeks = Annotated[int, msgspec.Meta(ge=3, le=8)]
"""How far ahead. [weeks]"""


Mark = Annotated[str, msgspec.Meta(min_length=1, max_length=200)]
Number = Annotated[int, msgspec.Meta(ge=0, le=10_000)]


class PlanHeld(msgspec.Struct, frozen=True, kw_only=True):
    """The plan kept, if there is one."""

    plan: Plan | None
    note: str
    """Why there is none."""
    mark: str = ""
    """What its changes are sent with: they are of this very plan."""


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

    mark: Mark
    weeks: Weeks = WEEKS


class ChangeSowing(Telling, frozen=True, kw_only=True):
    """A sowing of the kept plan has other trays, another day, or both."""

    mark: Mark
    number: Number
    """Where it stands in the plan's `sowings`, from 0."""
    trays: Annotated[int, msgspec.Meta(ge=0, le=500)] | None = None
    day: date | None = None


class LeaveOutSowing(Telling, frozen=True, kw_only=True):
    """A sowing of the kept plan will not be sown."""

    mark: Mark
    number: Number


class AddSowing(Telling, frozen=True, kw_only=True):
    """One more sowing in the kept plan."""

    mark: Mark
    recipe: Name
    trays: Annotated[int, msgspec.Meta(ge=1, le=500)]
    day: date


class PlanMix(msgspec.Struct, frozen=True, kw_only=True):
    """What each crop earns of the spots it stands on, by the plan kept; nothing where there is none."""

    first: date | None = None
    last: date | None = None
    """The plan's weeks, both days included."""
    currency: str = ""
    crops: tuple[Earning, ...] = ()
    """The one that earns most of a lit spot and day first."""
    limits: tuple[Limit, ...] = ()
    """Limits that are all taken, and what one more would bring; the soonest first."""
    words: tuple[str, ...] = ()
    """What follows from it: what to grow more of and less of, and whose orders to take first."""
    note: str = ""
    """Why there is no plan."""


class WhatIf(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What would a change be worth? Ask again with the same until `told` is there."""

    changes: Annotated[tuple[Annotated[str, msgspec.Meta(min_length=1, max_length=400)], ...],
                       msgspec.Meta(min_length=1, max_length=MOST_CHANGES)]  # fmt: skip
    """In words, as `trayward plan --what-if` takes them: `2 more lit shelves of 4 spots`."""
    weeks: Weeks = WEEKS


class Supposed(msgspec.Struct, frozen=True, kw_only=True):
    """Two plans side by side, the farm as it is and as supposed; none while they are being worked out."""

    understood: tuple[str, ...]
    told: Comparison | None
    as_of: datetime | None
    since: datetime | None
    """Since when it is being worked out; None: it is not."""
    error: str


def _held(ask: Ask, _: Nothing) -> PlanHeld:
    found = kept_plan(ask.farm.state(ask.at))
    mark = plan_mark(found.plan) if found.plan is not None else ""
    return PlanHeld(plan=found.plan, note=found.note, mark=mark)


def _mix(ask: Ask, _: Nothing) -> PlanMix:
    found, currency = kept_plan(ask.farm.state(ask.at)), ask.settings.money.currency
    plan = found.plan
    if plan is None:
        return PlanMix(currency=currency, note=found.note)
    return PlanMix(
        first=plan.first, last=plan.last, currency=currency, crops=plan.earnings, limits=binding(plan.limits),
        words=mix_words(plan, currency),
    )  # fmt: skip


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


def _kept(ask: Ask, mark: str) -> Plan:
    return same_plan(kept_plan(ask.farm.state(ask.at)).plan, mark)


def _change(ask: Ask, told: ChangeSowing, said: Said) -> Receipt:
    plan = _kept(ask, told.mark)
    held = plan.sowings[told.number] if told.number < len(plan.sowings) else None
    if held is None:
        raise InputError("number", told.number, "the plan has none of that number", "Read the plan again.")
    trays = held.trays if told.trays is None else told.trays
    return ask.farm.keep_plan(changed_in(ask, plan, told.number, trays, told.day or held.sow_on), **said)


def _leave_out(ask: Ask, told: LeaveOutSowing, said: Said) -> Receipt:
    return ask.farm.keep_plan(without(_kept(ask, told.mark), told.number), **said)


def _add(ask: Ask, told: AddSowing, said: Said) -> Receipt:
    return ask.farm.keep_plan(with_one_more(ask, _kept(ask, told.mark), told.recipe, told.trays, told.day), **said)


def _suppose(ask: Ask, told: WhatIf, _: Said) -> Supposed:
    state = ask.farm.state(ask.at)
    understood = tuple(
        one.words() for number, words in enumerate(told.changes) for one in read_what_if(words, state, ask.at, number)
    )
    long = ask.long(WHAT_IF, changes=told.changes, weeks=told.weeks)
    return Supposed(understood=understood, told=long.value, as_of=long.as_of, since=long.since, error=long.error)


OPERATIONS = (
    look("/plan", _held, PlanHeld, "plan", "The plan kept.", steady=True),
    look("/plan/mix", _mix, PlanMix, "plan", "What each crop earns of its spots.", steady=True),
    look("/plan/made", _made, PlanMade, "plan", "The newest plan made.", takes=PlanAsked),
    tell("/plan/make", _make, MakePlan, "plan", "Have a plan made; it takes seconds to minutes.", gives=Making,
         may="run", status=202),
    tell("/plan/sowings/change", _change, ChangeSowing, "plan", "Other trays or another day for a planned sowing.",
         may="run", kinds=("plan kept",)),
    tell("/plan/sowings/leave-out", _leave_out, LeaveOutSowing, "plan", "Leave a planned sowing out.", may="run",
         kinds=("plan kept",)),
    tell("/plan/sowings/add", _add, AddSowing, "plan", "One more sowing in the plan.", may="run", kinds=("plan kept",)),
    tell("/plan/what-if", _suppose, WhatIf, "plan", "What a change would be worth.", gives=Supposed, may="look"),
    tell("/plan/keep", _keep, KeepPlan, "plan", "Keep the plan made.", may="run", kinds=("plan kept",)),
)  # fmt: skip
