"""What there is of places, kit and time in a season, as limits that every season of `study.keeper` keeps.

Floor positions count for each night, and in the dark once more when the day's trays have been sown, those of the day
left out: what finds no room in the morning is sown in the evening. Kit and minutes count only as far as they hold
sowings back: nobody asks for them afterwards.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import timedelta
from typing import Literal, NamedTuple

import numpy as np
from scipy import sparse

from trayward.farm.kit import Pool
from trayward.farm.recipes import KitNeed, Recipe, Stage
from trayward.farm.state import FarmState
from trayward.plan.days import Floats, Ints
from trayward.study.bound_trays import TICK, Season, grows_up

HOUR = timedelta(hours=1)
WASH_TO_SOW_H = 0.5
"""From a day's washing to its sowing in the morning. [h]"""
CLOCK_H = 1.0
"""So much shorter a night may be when the clocks change. [h]"""


class Span(NamedTuple):
    """Options take `each` of a limit on each day from `first` to before `until`."""

    limit: int
    rows: Ints
    first: Ints
    until: Ints
    each: float


class _Floor(NamedTuple):
    """Floor positions on shelves of one kind, counted as if each took stacks of `high`."""

    ground: Literal["dark", "lit"]
    high: int
    night: int
    noon: int
    """The limit once trays are sown; -1: not counted then."""


class Limits:
    """The limits of a season: a row for each limit and day.

    Parameters
    ----------
    state : FarmState
        The farm's shelves and kit.
    recipes : sequence of Recipe
        All that could be sown.
    season : Season
        The days.
    """

    def __init__(self, state: FarmState, recipes: Sequence[Recipe], season: Season) -> None:
        self.state, self.recipes, self.season = state, recipes, season
        self._has: list[Floats] = []
        self.names: list[str] = []
        self._floors = [*self._floors_of("dark"), *self._floors_of("lit")]
        self._pools = {
            name: self._limit(name, np.full(season.count, float(kept.pool.count))) for name, kept in state.kit.items()
        }
        minutes = np.where(season.days.open, season.days.minutes, 0.0)[: season.count]
        self._sowing = self._limit("hands", minutes)
        later = season.evenings - season.sown_at(np.arange(season.count))
        self._wash_to_sow_h = WASH_TO_SOW_H + float(later.max(initial=0)) * (TICK / HOUR)
        """What was not clean in the morning may be by the evening's sowing. [h]"""

    @property
    def has(self) -> Floats:
        """How much there is of each limit (rows) on each day."""
        return np.vstack(self._has)

    def _limit(self, name: str, has: Floats) -> int:
        self._has.append(has)
        self.names.append(name)
        return len(self._has) - 1

    def _floors_of(self, ground: Literal["dark", "lit"]) -> Iterator[_Floor]:
        """One count of positions for each height of stacks the shelves take.

        A stage that may be stacked s high takes 1 / min(s, high) of a position. What fits on a shelf, so counted, is at
        most its positions times the best any stage makes of one; where all shelves take stacks alike, that is 1.
        """
        shelves = [shelf for shelf in self.state.shelves.values() if shelf.kind == ground and shelf.spots > 0]
        stacks = {stage.stack for recipe in self.recipes for stage in recipe.stages if stage.ground == ground} or {1}
        for high in sorted({shelf.stack for shelf in shelves}) or [1]:
            there = sum(s.spots * max(min(stack, s.stack) / min(stack, high) for stack in stacks) for s in shelves)
            has = np.full(self.season.count, float(there))
            night = self._limit(f"{ground} spots", has)
            yield _Floor(ground, high, night, self._limit(f"{ground} spots by day", has) if ground == "dark" else -1)

    def most_sown(self, recipe: Recipe, day: int) -> int:
        """No more trays of a recipe than this can be sown on a day."""
        first, most = recipe.stages[0], float(self.season.days.minutes[day]) / max(recipe.minutes_sow, 0.01)
        if first.ground != "bench":
            shelves = [shelf for shelf in self.state.shelves.values() if shelf.kind == first.ground]
            most = min(most, sum(shelf.spots * min(shelf.stack, first.stack) for shelf in shelves))
        for need in recipe.kit:
            if need.pool in self._pools and need.each > 0:
                most = min(most, self.state.kit[need.pool].pool.count // need.each)
        return max(0, int(most))

    def spans(self, recipe: Recipe, rows: Ints, begins: Ints, late: Ints, leave: Ints) -> Iterator[Span]:
        """What options of a recipe take up. `begins`, `late` (rows, stages), `leave` (rows): as in `bound_trays`."""
        ends = np.column_stack([begins[:, 1:], leave])
        ends_late = np.column_stack([late[:, 1:], np.zeros_like(leave)])
        for place, stage in enumerate(recipe.stages):
            first, until = begins[:, place], ends[:, place]
            # What found no room in the morning is sown in the evening: nobody asks for its place by day.
            later = late[:, place] if place else np.ones_like(late[:, place])
            floors = self._floors if self._counts(recipe, stage) else []
            for floor in (floor for floor in floors if floor.ground == stage.ground):
                share = 1.0 / min(stage.stack, floor.high)
                yield Span(floor.night, rows, first, until, share)
                if floor.noon >= 0:
                    yield Span(floor.noon, rows, first + later, until + ends_late[:, place], share)
        for need in self._needs(recipe):
            last, pool = _first_stages(recipe, need) - 1, self.state.kit[need.pool].pool
            clean = self._clean_again(pool, ends[:, last], ends_late[:, last])
            # The tray itself pays for the day it is sown.
            yield Span(self._pools[need.pool], rows, begins[:, 0] + 1, clean, float(need.each))

    @staticmethod
    def _counts(recipe: Recipe, stage: Stage) -> bool:
        """Where a later stage takes less room than an earlier one, how long the earlier ones take is left open."""
        return grows_up(recipe) or stage.name == recipe.stages[-1].name

    def _needs(self, recipe: Recipe) -> list[KitNeed]:
        return [
            need for need in recipe.kit if need.pool in self._pools and need.each > 0 and _first_stages(recipe, need)
        ]

    def _clean_again(self, pool: Pool, day: Ints, late: Ints) -> Ints:
        """
        The first day on which kit let go on a day can be sown in again; never later than it truly is.

        What is let go in the evening of a working day is washed then, before the evening's sowing.
        """
        days, last = self.season.days, len(self.season.days.open) - 1
        this_evening = (late > 0) & days.open[np.clip(day, 0, last)]
        in_the_morning = days.next_open(day + late) + _nights(pool.dry_hours - self._wash_to_sow_h)
        found: Ints = np.where(this_evening, day + _nights(pool.dry_hours), in_the_morning)
        return found

    def sown(self, recipe_of: Ints, sow: Ints) -> sparse.csr_matrix:
        """What trays take of the limits (rows: limit by limit, day by day) on the day they are sown."""
        found: list[tuple[Ints, Ints, Floats]] = []
        for number, recipe in enumerate(self.recipes):
            own = np.flatnonzero(recipe_of == number)
            takes = [(self._sowing, recipe.minutes_sow)]
            takes += [(self._pools[need.pool], float(need.each)) for need in self._needs(recipe)]
            for limit, each in takes:
                found.append((limit * self.season.count + sow[own], own, np.full(len(own), each)))
        row, column, amount = (np.concatenate([part[place] for part in found]) for place in range(3))
        return sparse.csr_matrix((amount, (row, column)), shape=(len(self._has) * self.season.count, len(sow)))


def _nights(hours: float) -> int:
    """For how many nights kit is away at least that is to be dry so many hours after an evening's sowing. [d]"""
    return math.ceil(max(hours - CLOCK_H, 0.0) / 24)


def _first_stages(recipe: Recipe, need: KitNeed) -> int:
    """
    How many stages, from the first on, hold a piece of kit without letting it go; 0 where it is needed only later.

    Whether there is clean kit is asked at sowing alone, so trays that take it up later can take more than there is.
    """
    count = 0
    for stage in recipe.stages:
        if need.stages and stage.name not in need.stages:
            break
        count += 1
    return count
