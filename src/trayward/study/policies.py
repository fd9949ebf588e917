"""How to run a farm: the rule of thumb of growers without a planner, and our plan as it is, untaught, or told all."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from trayward.bootstrap import Farm
from trayward.errors import InputError
from trayward.farm.calendar import is_work_day, local_day
from trayward.farm.orders import LineDue
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, Tray
from trayward.outlook.priors import yield_belief
from trayward.plan.types import Plan
from trayward.study.keeper import Policy
from trayward.study.ledger import Ledger
from trayward.study.truth import last_cut_day
from trayward.study.types import KNOWN, LAW, LEARNING, PRIORS, RULE, SeasonTask
from trayward.study.world_file import SeasonWorld

if TYPE_CHECKING:
    from trayward.plan.decide import Effort

DAY = timedelta(days=1)
PLAN_WEEKS = 4
"""How far the planner looks: the slowest crops take more than three weeks. [weeks]"""
LATE_DAYS = 2
"""What finds no room is sown up to so many days later: there is a day in hand, and some are ready early. [d]"""
NOTED_DAYS = (10, 3)
"""Of each line the chance is noted that the first plan gives it so many days ahead or fewer. [d]"""


class RuleOfThumb:
    """
    Grams due x (1 + buffer) / average weight, sown the recipe's usual days and one more before the due day.

    The average is learned as a spreadsheet does: the mean of what the recipe's trays weighed so far; before the first
    tray, what is printed. No more trays go into the dark than fit there once half of them stand by themselves, or they
    would block one another.

    Parameters
    ----------
    settings : FarmSettings
        The farm's days.
    buffer : float
        The share sown beyond what is due. [-]
    """

    def __init__(self, settings: FarmSettings, buffer: float) -> None:
        self.settings, self.buffer = settings, buffer
        self._covered: set[tuple[str, str]] = set()
        self._due: list[LineDue] = []
        self._late: dict[str, list[tuple[date, int]]] = {}

    def cuts(self, farm: Farm, at: datetime) -> Sequence[str]:
        """Trays that have no later day of work in their window; what orders want beyond that is cut anyway."""
        state, day = farm.state(at), local_day(at, self.settings)
        after = self._next_work_day(day)
        ready = [tray for tray in state.growing() if tray.stage == "ready"]
        last = max((self._lead(recipe) for recipe in _first_recipes(state)), default=DAY)
        self._due = farm.due(day, after + last, at=at)
        kept = self._for_live_orders(ready, after)
        return [
            tray.tray
            for tray in ready
            if tray.tray not in kept and last_cut_day(tray.stage_since, state.recipe_of(tray), self.settings) < after
        ]

    def _for_live_orders(self, ready: Sequence[Tray], after: date) -> set[str]:
        """Ready trays that go out live before the next day of work."""
        kept: set[str] = set()
        for line in self._due:
            if line.live and line.due < after:
                crops = {part.crop for part in line.parts}
                free = [tray.tray for tray in ready if tray.crop in crops and tray.tray not in kept]
                kept |= set(free[: line.trays - line.done_trays])
        return kept

    def clears(self, farm: Farm, at: datetime) -> Sequence[str]:  # noqa: ARG002
        """Nothing: who does not plan cannot know what will not be wanted."""
        return ()

    def evening_sowings(self, farm: Farm, at: datetime) -> Sequence[tuple[str, int]]:  # noqa: ARG002
        """Nothing that was not wanted in the morning already."""
        return ()

    def sowings(self, farm: Farm, at: datetime) -> Sequence[tuple[str, int]]:
        """What falls due a recipe's days from now, or before the next day of work from now."""
        state, day = farm.state(at), local_day(at, self.settings)
        averages, room = _averages(state), _dark_room(state)
        found = []
        for recipe in _first_recipes(state):
            grams, live = self._wanted(recipe, day)
            average = averages.get(recipe.name) or _printed(recipe)
            wanted = live + math.ceil(grams * (1 + self.buffer) / average - 1e-9)
            trays = min(wanted + self._owed(recipe.name, day), max(room, 0))
            self._put_off(recipe.name, day, wanted, trays)
            if trays:
                found.append((recipe.name, trays))
                room -= trays
        return found

    def _owed(self, recipe: str, day: date) -> int:
        """Trays that found no room on the days before, but for those it is too late for."""
        return sum(trays for since, trays in self._late.get(recipe, []) if (day - since).days <= LATE_DAYS)

    def _put_off(self, recipe: str, day: date, wanted: int, sown: int) -> None:
        """Remember what found no room today, the oldest being sown first."""
        waiting = [(since, trays) for since, trays in self._late.get(recipe, []) if (day - since).days <= LATE_DAYS]
        left = []
        for since, trays in [*waiting, (day, wanted)]:
            done = min(trays, sown)
            sown -= done
            if trays > done:
                left.append((since, trays - done))
        self._late[recipe] = left

    def _wanted(self, recipe: Recipe, day: date) -> tuple[float, int]:
        """Grams and live trays to sow a recipe for today; what was seen once is not asked again."""
        lead, grams, live = self._lead(recipe), 0.0, 0
        until = self._next_work_day(day) + lead
        for line in self._due:
            share = sum(part.share for part in line.parts if part.crop == recipe.crop)
            if share and line.due < until and (recipe.crop, line.line) not in self._covered:
                self._covered.add((recipe.crop, line.line))
                if line.due >= day + lead:
                    grams += line.grams * share
                    live += line.trays
        return grams, live

    @staticmethod
    def _lead(recipe: Recipe) -> timedelta:
        return DAY * (math.ceil(recipe.days_to_ready) + 1)

    def _next_work_day(self, day: date) -> date:
        day += DAY
        while not is_work_day(self.settings, day):
            day += DAY
        return day


def _first_recipes(state: FarmState) -> list[Recipe]:
    """One recipe for each crop: the first that is still sown."""
    found: dict[str, Recipe] = {}
    for recipe in state.recipes_in_use():
        found.setdefault(recipe.crop, recipe)
    return list(found.values())


def _dark_room(state: FarmState) -> int:
    """How many more trays may go where it is dark: stacks count half, for those trays will want a place each."""
    shelves = [shelf for shelf in state.shelves.values() if shelf.kind == "dark"]
    places = sum(shelf.spots * (1 + shelf.stack) / 2 for shelf in shelves)
    standing = [tray for tray in state.growing() if state.recipe_of(tray).stage(tray.stage).ground != "lit"]
    return int(places) - len(standing)


def _averages(state: FarmState) -> dict[str, float]:
    """Mean weight of each recipe's trays so far. [g]"""
    weights: dict[str, list[float]] = defaultdict(list)
    for tray in state.ended.values():
        if tray.grams is not None:
            weights[tray.recipe].append(tray.grams)
    return {name: sum(grams) / len(grams) for name, grams in weights.items() if sum(grams) > 0}


def _printed(recipe: Recipe) -> float:
    return recipe.yield_prior.typical_g or math.exp(yield_belief(recipe).mu) * recipe.tray.area_cm2


def season_effort() -> Effort:
    """As many scenarios as usual to choose by, and no proof or reasons: nobody reads the hundred plans of a season.

    Nor is there need for calm: the keeper weighs out no seed before the morning.
    """
    from trayward.plan.decide import Effort

    return Effort(checked=32, proof_seconds=0.0, reasons=False, calm=False)


class Planned:
    """
    Our plan, made anew every working morning: sow what it says for today, cut what it says for today.

    Parameters
    ----------
    settings : FarmSettings
        The farm's days.
    options : mapping, optional
        What `Farm.plan` is told besides the weeks.
    keeps : bool
        Each plan is kept in the book, so that chances follow how earlier ones came out. Nothing is decided by it.
    """

    def __init__(
        self,
        settings: FarmSettings,
        *,
        weeks: int = PLAN_WEEKS,
        options: dict[str, Any] | None = None,
        keeps: bool = False,
    ) -> None:
        self.settings, self.weeks, self.keeps = settings, weeks, keeps
        self.options = {"effort": season_effort(), **(options or {})}
        self.plan: Plan | None = None
        self.chances: dict[tuple[str, int], tuple[int, float]] = {}
        """By line and `NOTED_DAYS`: days ahead, and the chance to be met in full."""

    def cuts(self, farm: Farm, at: datetime) -> Sequence[str]:
        """The plan's cuts of today."""
        day = local_day(at, self.settings)
        self.plan = farm.plan(at, weeks=self.weeks, **self.options)
        if self.keeps:
            farm.keep_plan(self.plan, at=at, by="keeper")
        self._note(self.plan, day)
        return [name for cut in self.plan.cuts if cut.cut_on == day for name in cut.standing]

    def clears(self, farm: Farm, at: datetime) -> Sequence[str]:  # noqa: ARG002
        """What the plan says to clear today."""
        if self.plan is None:
            return ()
        day = local_day(at, self.settings)
        return [name for one in self.plan.advice if one.do == "clear" and one.until <= day for name in one.trays]

    def sowings(self, farm: Farm, at: datetime) -> Sequence[tuple[str, int]]:  # noqa: ARG002
        """The plan's sowings of this morning; several of a recipe are one."""
        day = local_day(at, self.settings)
        found: dict[str, int] = defaultdict(int)
        for sowing in self.plan.sowings if self.plan is not None else ():
            if sowing.sow_on == day:
                found[sowing.recipe] += sowing.trays - sowing.evening
        return [(recipe, trays) for recipe, trays in found.items() if trays]

    def evening_sowings(self, farm: Farm, at: datetime) -> Sequence[tuple[str, int]]:  # noqa: ARG002
        """What the plan says to sow this evening, once trays have moved on."""
        day, planned = local_day(at, self.settings), self.plan.sowings if self.plan is not None else ()
        return [(one.recipe, one.evening) for one in planned if one.sow_on == day and one.evening]

    def _note(self, plan: Plan, day: date) -> None:
        for line in plan.lines:
            chance, ahead = line.chance, (line.due - day).days
            if chance is None or ahead < 0:
                continue
            for noted in NOTED_DAYS:
                if ahead <= noted:
                    self.chances.setdefault((line.line, noted), (ahead, chance))


def policy_of(task: SeasonTask, world: SeasonWorld, ledger: Ledger) -> Policy:
    """
    The policy a task names.

    Raises
    ------
    InputError
        If there is none of that name.
    """
    settings = world.settings
    if task.policy == RULE:
        return RuleOfThumb(settings, task.buffer)
    if task.policy == LEARNING:
        return Planned(settings, keeps=True)
    if task.policy == PRIORS:
        return Planned(settings, options={"learned": False})
    if task.policy == KNOWN:
        from trayward.study.biology import TrueBiology

        told = TrueBiology(ledger, world.lot_on, world.events(task.seed).missed)
        return Planned(settings, options={"biology": told})
    if task.policy == LAW:
        from trayward.study.law import TrueLaw

        law = TrueLaw(ledger, world.lot_on, world.events(task.seed).missed)
        return Planned(settings, options={"biology": law})
    known = ", ".join((RULE, PRIORS, LEARNING, LAW, KNOWN))
    raise InputError("policy", task.policy, "nobody can run a farm by it", f"There are: {known}.")
