"""What the farm's own trays have taught so far, without reading all of them again for every look ahead."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from itertools import chain, islice

from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState, Tray
from trayward.outlook.shrink import Tally
from trayward.outlook.stages import DAY, stage_logs
from trayward.outlook.yields import grown_log

NOTHING = Tally()


class Lessons:
    """Tallies of some trays: days by recipe and stage, grams by recipe."""

    def __init__(self, state: FarmState, under: Lessons | None = None) -> None:
        self.recipes = dict(state.recipes)
        self.gap: timedelta = DAY / max(1, len(state.settings.rounds) if state.settings else 2)
        self._under = under
        self._stages: dict[tuple[str, str], Tally] = {}
        self._yields: dict[str, Tally] = {}

    def take(self, trays: Iterable[Tray]) -> None:
        """Learn from trays."""
        for tray in trays:
            for stage, log in stage_logs(tray, self.gap):
                self._stage_tally(tray.recipe, stage).add(tray.sowing, log)
            recipe = self.recipes.get(tray.recipe)
            grown = grown_log(tray, recipe) if recipe is not None else None
            if grown is not None:
                self._yield_tally(tray.recipe).add(tray.sowing, grown)

    def stage(self, recipe: str, stage: str) -> Tally:
        """Log days of a stage of a recipe."""
        own = self._stages.get((recipe, stage))
        return own or (self._under.stage(recipe, stage) if self._under else NOTHING)

    def grams(self, recipe: str) -> Tally:
        """Log grams of a recipe's cut trays."""
        own = self._yields.get(recipe)
        return own or (self._under.grams(recipe) if self._under else NOTHING)

    def _stage_tally(self, recipe: str, stage: str) -> Tally:
        found = self._stages.get((recipe, stage))
        if found is None:
            found = self._stages[recipe, stage] = Tally(self._under.stage(recipe, stage) if self._under else None)
        return found

    def _yield_tally(self, recipe: str) -> Tally:
        found = self._yields.get(recipe)
        if found is None:
            found = self._yields[recipe] = Tally(self._under.grams(recipe) if self._under else None)
        return found


class Memory:
    """
    Lessons of the trays that are done with, kept from one look ahead to the next.

    A tray that is done with does not change any more, and a state that is folded on only gains such trays. So as long
    as it is asked about the same state, each of them is read once. Recipes or rounds set anew put the old lessons in
    another light: then all are read again.
    """

    def __init__(self) -> None:
        self._state: FarmState | None = None
        self._lessons: Lessons | None = None
        self._read = 0

    def lessons(self, state: FarmState) -> Lessons:
        """What all trays of a state teach, those still growing included."""
        now = Lessons(state)
        if self._lessons is None or self._state is not state or not _alike(self._lessons, now):
            self._state, self._lessons, self._read = state, now, 0
        self._lessons.take(islice(state.ended.values(), self._read, None))
        self._read = len(state.ended)
        whole = Lessons(state, self._lessons)
        whole.take(state.trays.values())
        return whole


def grams_of(state: FarmState, recipe: Recipe) -> Tally:
    """Log grams of the trays of a recipe that is not, or not quite, the farm's of that name."""
    tally = Tally()
    for tray in chain(state.ended.values(), state.trays.values()):
        grown = grown_log(tray, recipe) if tray.recipe == recipe.name else None
        if grown is not None:
            tally.add(tray.sowing, grown)
    return tally


def _alike(before: Lessons, now: Lessons) -> bool:
    return before.recipes == now.recipes and before.gap == now.gap
