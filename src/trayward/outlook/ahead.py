"""The one door of the outlook: when a tray will be ready and what it will weigh, with how much doubt."""

from __future__ import annotations

import math
from datetime import datetime
from functools import partial

from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, StageStep, Tray
from trayward.outlook.memory import Memory, grams_of
from trayward.outlook.shrink import Learned, Lognormal
from trayward.outlook.stages import DAY, Wait, learn_stages, time_basis
from trayward.outlook.types import Basis, Range, StageEnd, TrayOutlook, When
from trayward.outlook.yields import learn_yield, yield_basis

LOW, LIKELY, HIGH = 0.1, 0.5, 0.9
SAME_DAY = 0.1
"""A tray ready this little after the hour it was sown at still counts as ready that day: it is cut later on. [d]"""


class Outlook:
    """What is likely at one moment, by the published figures and by what this farm's book holds."""

    def __init__(self, state: FarmState, at: datetime, memory: Memory | None = None) -> None:
        self.state, self.at = state, at
        self.caution = (state.settings or FarmSettings(name="")).caution
        self._lessons = (memory or Memory()).lessons(state)
        self._stages: dict[Recipe, list[tuple[str, Learned | None]]] = {}
        self._yields: dict[Recipe, Learned | None] = {}

    def proposed(self, recipe: Recipe, sow_at: datetime) -> TrayOutlook:
        """The outlook of one tray of a recipe, were it sown at that moment."""
        wait = Wait(sow_at, self._lengths(recipe))
        return self._told(recipe, wait, [name for name, _ in wait.lengths])

    def standing(self, tray: Tray) -> TrayOutlook:
        """The outlook of a tray that is growing: what it has been through counts."""
        recipe = self.state.recipe_of(tray)
        wait = self._wait(tray, recipe)
        return self._told(recipe, wait, [name for name, _ in wait.lengths], tray)

    def cautious_days(self, recipe: Recipe) -> int:
        """Whole days from sowing after which the cautious share of trays is ready. [d]"""
        wait = Wait(self.at, self._lengths(recipe))
        return max(0, math.ceil((wait.end(self.caution) - self.at) / DAY - SAME_DAY))

    def cautious_ready(self, tray: Tray) -> datetime:
        """When the cautious share of trays like this standing one is ready."""
        wait = self._wait(tray, self.state.recipe_of(tray))
        return wait.end(self.caution)

    def cautious_grams(self, recipe: Recipe) -> float | None:
        """Weight of one tray that the cautious share reaches; None where nobody knows. [g]"""
        learned = self._learned_yield(recipe)
        return None if learned is None else learned.tray().quantile(1 - self.caution)

    def _told(self, recipe: Recipe, wait: Wait, names: list[str], tray: Tray | None = None) -> TrayOutlook:
        learned = self._learned_yield(recipe)
        return TrayOutlook(
            recipe=recipe.name,
            crop=recipe.crop,
            tray=tray.tray if tray else "",
            stages=tuple(StageEnd(stage=name, ends=_when(wait, count + 1)) for count, name in enumerate(names)),
            ready=_when(wait),
            grams=None if learned is None else _range(learned.tray()),
            time_basis=self._time_basis(recipe),
            grams_basis=yield_basis(recipe, learned),
        )

    def _wait(self, tray: Tray, recipe: Recipe) -> Wait:
        """The stages a standing tray still has to go through."""
        step, lengths = tray.steps[-1], self._lengths(recipe)
        names = [name for name, _ in lengths]
        if step.stage == recipe.stages[-1].name:
            return Wait(step.since, [])
        if step.stage in names:
            ahead = lengths[names.index(step.stage) :]
            return Wait(step.since, ahead, *self._spent(step.since, step))
        whole = Wait(tray.sown_at, lengths)  # the recipe has changed since: only the time since sowing is left to go by
        middle, high = ((whole.end(share) - tray.sown_at) / DAY for share in (LIKELY, HIGH))
        law = Lognormal(math.log(middle), max(0.02, math.log(high / middle) / 1.2816)) if middle > 0 else None
        return Wait(tray.sown_at, [(step.stage, law)], *self._spent(tray.sown_at, step))

    def _spent(self, since: datetime, step: StageStep) -> tuple[float, float]:
        """Days up to the last "not yet" and days up to now, since a moment."""
        not_yet = (step.last_not_yet - since) / DAY if step.last_not_yet else 0.0
        return max(0.0, not_yet), max(0.0, (self.at - since) / DAY)

    def _lengths(self, recipe: Recipe) -> list[tuple[str, Lognormal | None]]:
        return [(name, learned.tray() if learned else None) for name, learned in self._learned_stages(recipe)]

    def _learned_stages(self, recipe: Recipe) -> list[tuple[str, Learned | None]]:
        if recipe not in self._stages:
            self._stages[recipe] = learn_stages(recipe, partial(self._lessons.stage, recipe.name))
        return self._stages[recipe]

    def _learned_yield(self, recipe: Recipe) -> Learned | None:
        if recipe not in self._yields:
            known = self._lessons.recipes.get(recipe.name) == recipe
            own = self._lessons.grams(recipe.name) if known else grams_of(self.state, recipe)
            self._yields[recipe] = learn_yield(recipe, own)
        return self._yields[recipe]

    def _time_basis(self, recipe: Recipe) -> Basis:
        return time_basis(self._learned_stages(recipe))


def look_ahead(state: FarmState, at: datetime, memory: Memory | None = None) -> Outlook:
    """The outlook at a moment, by a state of the farm; with a memory, trays that are done with are read only once."""
    return Outlook(state, at, memory)


def _when(wait: Wait, stages: int | None = None) -> When:
    low, likely, high = (wait.end(share, stages) for share in (LOW, LIKELY, HIGH))
    return When(low=low, likely=likely, high=high)


def _range(law: Lognormal) -> Range:
    return Range(low=law.quantile(LOW), likely=law.quantile(LIKELY), high=law.quantile(HIGH))
