"""The kept plan as the page shows it: day by day what to sow, what stands ready, what is in the way."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from itertools import groupby

import msgspec

from trayward.farm.kit_marks import marks_words, proposed
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState
from trayward.farm.transitions.holding import kit_needed
from trayward.plan.done import Done, sown_against, sown_first
from trayward.plan.limit_words import barred, binding
from trayward.plan.types import Change, CutAdvice, Limit, Plan, PlannedSowing, Serve, StageExpected
from trayward.rounds.lacking import Lack, lacking
from trayward.web.sow.wishes import by_hand

NEAR_DAYS = 7
"""So many days are open on the page; later ones are folded. [d]"""
SCALE_STEP = 50.0
"""Bars of one page end on the same round figure. [g]"""


class SowingShown(msgspec.Struct, frozen=True, kw_only=True):
    """One planned sowing, and how much of it is done."""

    number: int
    """Its place among the plan's sowings."""
    name: str
    """For the ids of the page."""
    day: date
    crop: str
    recipe: str
    trays: int
    sown: tuple[str, ...]
    """Its trays that were sown since the plan was made."""
    left: int
    each_g: float
    """Seed on a tray. [g]"""
    seed_g: float
    """Seed of what is left of it. [g]"""
    lots: tuple[str, ...]
    cut_on: date
    cut_low: date
    cut_high: date
    cut_trays: int
    grams: float
    """Likely weight of the trays that are cut. [g]"""
    live_trays: int
    """Trays that go out live."""
    spare_trays: int
    """Trays the plan neither cuts nor sells live."""
    serves: tuple[Serve, ...]
    """Line by line."""
    whom: tuple[Serve, ...]
    """By customer and day."""
    stages: tuple[StageExpected, ...]
    why: str
    late: bool
    evening: int
    """Trays of what is left that find a place in the evening only."""

    @property
    def first(self) -> int:
        """Trays to sow next: those of the morning, and once they are sown those of the evening."""
        return sown_first(self.left, self.evening)


class DayShown(msgspec.Struct, frozen=True, kw_only=True):
    """A day and what is to be sown on it."""

    day: date
    sowings: tuple[SowingShown, ...]

    @property
    def trays(self) -> int:
        """Trays still to sow."""
        return sum(one.left for one in self.sowings)

    @property
    def seed_g(self) -> float:
        """Seed to weigh out. [g]"""
        return sum(one.seed_g for one in self.sowings)


class PlanShown(msgspec.Struct, frozen=True, kw_only=True):
    """A kept plan on a day."""

    made_at: datetime
    first: date
    last: date
    today: DayShown
    """Today, and what was left of the days before."""
    near: tuple[DayShown, ...]
    later: tuple[DayShown, ...]
    done: tuple[SowingShown, ...]
    """Today's that are sown already."""
    outside: tuple[str, ...]
    """Trays sown since that the plan did not ask for."""
    advice: tuple[CutAdvice, ...]
    binding: tuple[Limit, ...]
    """Limits that are all taken, and of which one more would bring something."""
    barred: tuple[str, ...]
    notes: tuple[str, ...]
    by_hand: tuple[str, ...]
    """What was changed in it by hand since it was made."""
    over: bool
    """Whether its last day has gone by."""
    lacks: tuple[Lack, ...] = ()
    """What the farm has none of, where that is why nothing is sown."""

    @property
    def later_trays(self) -> int:
        """Trays of the days that are folded."""
        return sum(day.trays for day in self.later)


def plan_shown(plan: Plan, state: FarmState, today: date) -> PlanShown:
    """The plan as of a day: today with what is late, the days that are near, and those that are folded."""
    done, outside = sown_against(plan, state)
    numbers = _numbers(plan)
    shown = [sowing_shown(one, numbers[id(one.planned)], today) for one in done]
    due = [one for one in shown if one.day <= today and one.left]
    days = _days(one for one in shown if one.day > today and one.left)
    last_near = today + timedelta(days=NEAR_DAYS)
    hand, notes = by_hand(plan)
    return PlanShown(
        made_at=plan.made_at,
        first=plan.first,
        last=plan.last,
        today=DayShown(day=today, sowings=tuple(due)),
        near=tuple(day for day in days if day.day < last_near),
        later=tuple(day for day in days if day.day >= last_near),
        done=tuple(one for one in shown if one.day == today and one.sown),
        outside=tuple(sorted(outside)),
        advice=plan.advice,
        binding=binding(plan.limits),
        barred=barred(plan),
        notes=notes,
        by_hand=hand,
        over=plan.last < today,
        lacks=lacking(state, plan),
    )


def _numbers(plan: Plan) -> dict[int, int]:
    return {id(sowing): number for number, sowing in enumerate(plan.sowings)}


def _days(sowings: Iterable[SowingShown]) -> list[DayShown]:
    return [DayShown(day=day, sowings=tuple(own)) for day, own in groupby(sowings, key=lambda one: one.day)]


def sowing_shown(done: Done, number: int, today: date) -> SowingShown:
    """A planned sowing with the trays of it that are cut, go out live, or have no use yet."""
    planned = done.planned
    live = sum(serve.trays for serve in planned.serves)
    cut = sum(one.trays for one in planned.cuts)
    if not planned.cuts and planned.grams_expected > 0:
        cut = planned.trays - live
    low, high = planned.cut_between or (planned.cut_on, planned.cut_on)
    each = planned.seed_g / planned.trays if planned.trays else 0.0
    return SowingShown(
        number=number,
        name=f"sowing-{number}",
        day=planned.sow_on,
        crop=planned.crop,
        recipe=planned.recipe,
        trays=planned.trays,
        sown=done.trays,
        left=done.left,
        each_g=each,
        seed_g=each * done.left,
        lots=tuple(lot.lot for lot in planned.lots),
        cut_on=planned.cut_on,
        cut_low=low,
        cut_high=high,
        cut_trays=cut,
        grams=planned.grams_expected,
        live_trays=live,
        spare_trays=max(0, planned.trays - cut - live),
        serves=_largest_first(planned.serves),
        whom=together(planned.serves),
        stages=planned.stages,
        why=planned.why,
        late=planned.sow_on < today,
        evening=planned.waiting(done.left),
    )


def _largest_first(serves: Sequence[Serve]) -> tuple[Serve, ...]:
    return tuple(sorted(serves, key=lambda one: (-one.trays, -one.grams, one.due, one.line)))


def together(serves: Sequence[Serve]) -> tuple[Serve, ...]:
    """What customers get on a day of one crop together, though it is for several of their lines; live trays apart."""
    found: dict[tuple[str, date, bool], Serve] = {}
    for one in serves:
        key = one.customer, one.due, one.trays > 0
        before = found.get(key)
        found[key] = one if before is None else msgspec.structs.replace(
            before, trays=before.trays + one.trays, grams=before.grams + one.grams
        )  # fmt: skip
    return _largest_first(tuple(found.values()))


def changes_by_day(changes: Sequence[Change], first: date) -> tuple[tuple[date, tuple[str, ...]], ...]:
    """What is different between two plans, by the day it is about, the next days first."""
    dated = sorted(changes, key=lambda change: change.day or first)
    return tuple(
        (day, tuple(change.message for change in own))
        for day, own in groupby(dated, key=lambda change: change.day or first)
    )


def planned_named(plan: Plan, number: int) -> PlannedSowing | None:
    """A planned sowing by its place in the plan."""
    return plan.sowings[number] if 0 <= number < len(plan.sowings) else None


# Marked kit -----------------------------------------------------------------------------------------------------------


class KitMarked(msgspec.Struct, frozen=True, kw_only=True):
    """That a sowing stands on kit that carries marks."""

    proposed: str
    """The marks that are taken where none are said, in words; empty: too few are ready."""


def kit_marked(state: FarmState, recipe: Recipe | None, trays: int, at: datetime) -> KitMarked | None:
    """Which marks a sowing would take; None where nothing of its kit carries any."""
    needed = kit_needed(recipe, recipe.stages[0].name) if recipe is not None and recipe.stages else {}
    if not any(pool in state.kit and state.kit[pool].marks for pool in needed):
        return None
    return KitMarked(proposed=marks_words(proposed(state, needed, trays, at)))
