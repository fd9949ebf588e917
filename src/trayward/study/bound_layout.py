"""All that could be done in a season whose truth is known, as columns of numbers: trays, and ways for each to leave.

**Trays.** Of each recipe and working day the trays are numbered as the truth numbers them, up to as many as room, kit
and hands let anybody sow; a tray may be sown only if the one before it is.

**Options.** A tray that was sown is cut on a day of its window, goes out live, or is thrown away at once.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from trayward.farm.orders import LineDue
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.plan.days import Bools, Floats, Ints
from trayward.plan.uses import CUT, LIVE
from trayward.study.account import How, Rates, tray_cost
from trayward.study.bound_limits import Limits, Span
from trayward.study.bound_trays import (
    Lives,
    Season,
    TrueTrays,
    grams_on,
    latest_last,
    lives,
    not_lost,
    stage_ticks,
)
from trayward.study.worlds import TrayTruth


class Sown(NamedTuple):
    """The seed of a tray: its lot, and what a tray's seed costs. [farm's currency]"""

    lot: str
    cost: float


class Given(NamedTuple):
    """A season laid open. Nothing grows on its first morning."""

    state: FarmState
    """The farm's places, kit, recipes and prices."""
    lines: Sequence[LineDue]
    """Every line that counts, whenever it became known."""
    truth: TrueTrays
    season: Season
    seed: Callable[[Recipe, int], Sown | None]
    """The seed of a recipe's tray sown on a day; None where it cannot be sown."""
    most: int = 10_000
    """No more trays of a recipe than this are sown on a day, by any policy."""
    each: int = 0
    """If above 0: so many trays of every recipe and day are laid out, whether or not there is room for them."""

    @property
    def settings(self) -> FarmSettings:
        """The farm's settings."""
        return self.season.settings


class Demand(NamedTuple):
    """When a crop is due: the days cut crop is, how much, and live trays by day."""

    dues: Ints
    grams: Floats
    live: Floats
    """Live trays due on each day of the season."""
    life: int
    """Days it keeps once cut, the longest over its recipes."""

    def between(self, first: Ints, last: Ints) -> Floats:
        """Grams due from a day to a day, both included."""
        total = np.concatenate([[0.0], np.cumsum(self.grams)])
        low, high = np.searchsorted(self.dues, first), np.searchsorted(self.dues, last, side="right")
        found: Floats = total[np.maximum(high, low)] - total[low]
        return found


class Trays(NamedTuple):
    """One row a tray that could be sown; `cost` is what it costs if it is thrown away at once. [farm's currency]"""

    crop: Ints
    recipe: Ints
    sow: Ints
    number: Ints
    before: Ints
    """The tray that must be sown before it; -1 for the first of a day."""
    early: Bools
    """Whether so many are likely to be of use; others are weighed once they show that they pay."""
    cost: Floats


class Options(NamedTuple):
    """One row a way for a tray to leave."""

    tray: Ints
    how: Ints
    leave: Ints
    first: Ints
    """Number of the first due day it serves; for live trays the due day itself."""
    last: Ints
    gives: Floats
    """Grams cut, or live trays."""
    cost: Floats
    """What it costs beyond sowing the tray. [farm's currency]"""
    good: Bools
    """Whether what is left of it is good beyond the season, so that nobody throws it away."""
    life: Ints
    """Its row in the recipe's lives."""


class Layout(NamedTuple):
    """A season as numbers."""

    crops: list[str]
    recipes: list[Recipe]
    demand: dict[str, Demand]
    trays: Trays
    options: Options
    lives: list[Lives]
    """Of each recipe; `tray` is the number of the tray here."""
    rows: list[Ints]
    """The options of each recipe that have a life."""
    limits: Limits

    def spans(self) -> Iterator[Span]:
        """What the options take of places and kit, and for how long."""
        for recipe, ways, rows in zip(self.recipes, self.lives, self.rows, strict=True):
            life, leave = self.options.life[rows], self.options.leave[rows]
            yield from self.limits.spans(recipe, rows, ways.begins[life], ways.late[life], leave)


def demand_of(given: Given) -> dict[str, Demand]:
    """What is due of each crop, day by day."""
    count = given.season.count
    grams: dict[str, Floats] = {}
    live: dict[str, Floats] = {}
    for line in given.lines:
        day = given.season.days.index(line.due)
        for part in line.parts:
            for table in (grams, live):
                table.setdefault(part.crop, np.zeros(count))
            grams[part.crop][day] += line.grams * part.share
            live[part.crop][day] += line.trays
    found = {}
    for crop in sorted(grams):
        keeps = [recipe.cold_room_days for recipe in given.state.recipes.values() if recipe.crop == crop]
        dues = np.flatnonzero(grams[crop] > 0)
        found[crop] = Demand(dues, grams[crop][dues], live[crop], max(keeps, default=0))
    return found


def lay_out(given: Given, *, waits: bool = True) -> Layout:
    """All trays of a season and their ways to leave. `waits`: also those in which a tray waits for room."""
    demand = demand_of(given)
    recipes = [recipe for recipe in given.state.recipes.values() if recipe.crop in demand]
    limits = Limits(given.state, recipes, given.season)
    made = _Making(given, demand, limits, waits)
    for number, recipe in enumerate(recipes):
        made.add(number, recipe)
    return Layout(list(demand), recipes, demand, made.trays(), made.options(), made.lives, made.rows, limits)


class _Sowable(NamedTuple):
    """A tray that could be sown. `enough`: how many of its day and recipe are likely to be of use."""

    sow: int
    number: int
    enough: int
    seed: float
    truth: TrayTruth


class _Making:
    """Collects trays and options, recipe by recipe."""

    def __init__(self, given: Given, demand: dict[str, Demand], limits: Limits, waits: bool) -> None:
        self.given, self.demand, self.limits, self.waits = given, demand, limits, waits
        self.season, self.crops = given.season, list(demand)
        self.rates = Rates(given.state, given.settings, given.season.first)
        self.tray_blocks: list[Trays] = []
        self.option_blocks: list[Options] = []
        self.lives: list[Lives] = []
        self.rows: list[Ints] = []
        self.tray_count = self.option_count = 0

    def trays(self) -> Trays:
        """All trays."""
        return Trays(*(np.concatenate(parts) for parts in zip(*self.tray_blocks, strict=True)))

    def options(self) -> Options:
        """All options."""
        return Options(*(np.concatenate(parts) for parts in zip(*self.option_blocks, strict=True)))

    # Trays -----------------------------------------------------------------------------------------------------------

    def add(self, number: int, recipe: Recipe) -> None:
        """All trays of one recipe."""
        group = self._group(recipe)
        truths = [row.truth for row in group]
        first, size = self.tray_count, len(group)
        sow = np.array([row.sow for row in group], dtype=np.int64)
        place = np.array([row.number for row in group], dtype=np.int64)
        enough = np.array([row.enough for row in group], dtype=np.int64)
        seed = np.array([row.seed for row in group])
        bare = seed + tray_cost(recipe, self.rates, starts=(0,), leave=0, how="thrown").total
        lengths = stage_ticks(recipe, truths)
        # A tray that may still stand when counting stops costs nothing then: only what leaves is paid for.
        stays = latest_last(recipe, lengths, sow, self.season, waits=self.waits) >= self.season.count - 1
        paid = np.where(stays, 0.0, bare)
        before = np.where(place > 0, np.arange(size) + first - 1, -1)
        crop = np.full(size, self.crops.index(recipe.crop))
        block = Trays(crop, np.full(size, number), sow, place, before, place < enough, paid)
        self.tray_blocks.append(block)
        self.tray_count += size
        kept = np.flatnonzero(not_lost(truths))
        ways = lives(recipe, lengths[kept], sow[kept], self.season, waits=self.waits)
        own = kept[ways.tray]
        self.lives.append(ways._replace(tray=own + first))
        options = self.option_count
        grams = np.array([truth.grams for truth in truths])
        self._add_cuts(recipe, ways, own, grams, seed - paid)
        self._add_live(recipe, ways, own, seed - paid)
        self.rows.append(np.arange(options, self.option_count))

    def _group(self, recipe: Recipe) -> list[_Sowable]:
        """All trays of a recipe that could be sown, day by day and in the order of their numbers."""
        found: list[_Sowable] = []
        for day in np.flatnonzero(self.season.days.open[: self.season.count]).tolist():
            seed = self.given.seed(recipe, day)
            most = min(self.limits.most_sown(recipe, day), self.given.most)
            if seed is None or not self._within_reach(recipe, day):
                continue
            if self.given.each and most > 0:
                most = self.given.each
            on = self.season.days.day(day)
            truths: list[TrayTruth] = []
            while len(truths) < min(most, self._enough(recipe, day, truths)):
                truths.append(self.given.truth.tray(recipe, on, len(truths), seed.lot))
            enough = len(truths)
            truths += [self.given.truth.tray(recipe, on, number, seed.lot) for number in range(enough, most)]
            found += [_Sowable(day, number, enough, seed.cost, truth) for number, truth in enumerate(truths)]
        return found

    def _within_reach(self, recipe: Recipe, day: int) -> bool:
        """Whether anything is due of a crop from a day on."""
        demand = self.demand[recipe.crop]
        return bool(demand.live[day:].any()) or bool((demand.dues >= day).any())

    def _enough(self, recipe: Recipe, day: int, group: Sequence[TrayTruth]) -> int:
        """About as many trays as what they could serve would take."""
        grown = [truth for truth in group if not truth.lost_in]
        spared = len(group) - len(grown) + 1
        if not grown:
            return spared
        demand, ready = self.demand[recipe.crop], [day + sum(truth.stage_days.values()) for truth in grown]
        first, last = math.floor(min(ready)), math.ceil(max(ready)) + recipe.cut_window_days + 1
        grams = float(demand.between(np.array([first]), np.array([last + demand.life]))[0])
        live = float(demand.live[first : last + 1].sum())
        return math.ceil(0.7 * (grams / min(truth.grams for truth in grown) + live)) + spared

    # Options ---------------------------------------------------------------------------------------------------------

    def _add_cuts(self, recipe: Recipe, ways: Lives, own: Ints, grams: Floats, more: Floats) -> None:
        demand, count = self.demand[recipe.crop], self.season.count
        longest = recipe.cut_window_days + 1
        life = np.repeat(np.arange(len(own)), longest)
        leave = np.tile(np.arange(longest), len(own)) + ways.first_cut[life]
        fits = (leave <= ways.last[life]) & (leave < count)
        fits &= self.season.days.open[np.minimum(leave, count)] & (demand.between(leave, leave + demand.life) > 0)
        life, leave = life[fits], leave[fits]
        weight = grams_on(recipe, grams[own[life]], leave - ways.begins[life, -1])
        first = np.searchsorted(demand.dues, leave)
        last = np.searchsorted(demand.dues, leave + demand.life, side="right") - 1
        good = leave + demand.life > count - 1
        cost = self._costs(recipe, ways, life, leave, CUT) + more[own[life]]
        self._add_options(own, life, CUT, leave, first, last, weight, cost, good)

    def _add_live(self, recipe: Recipe, ways: Lives, own: Ints, more: Floats) -> None:
        for day in np.flatnonzero(self.demand[recipe.crop].live).tolist():
            life = np.flatnonzero((ways.first_live <= day) & (day <= ways.last))
            leave = np.full(len(life), day)
            cost = self._costs(recipe, ways, life, leave, LIVE) + more[own[life]]
            one, good = np.ones(len(life)), np.zeros(len(life), dtype=bool)
            self._add_options(own, life, LIVE, leave, leave, leave, one, cost, good)

    def _costs(self, recipe: Recipe, ways: Lives, life: Ints, leave: Ints, how: int) -> Floats:
        """What trays cost but for their seed; worked out once for all that are alike. [farm's currency]"""
        starts = ways.begins[life] - ways.begins[life, :1]
        lit = np.array([stage.ground == "lit" for stage in recipe.stages])
        # Only days in the light and days in all cost more the more there are.
        key = np.column_stack([starts[:, lit], leave - ways.begins[life, 0]])
        if not len(key):
            return np.zeros(0)
        _, one, which = np.unique(key, axis=0, return_index=True, return_inverse=True)
        found = np.array([self._cost(recipe, starts[row], int(key[row, -1]), how) for row in one])
        costs: Floats = found[which.ravel()]
        return costs

    def _cost(self, recipe: Recipe, starts: Ints, leave: int, how: int) -> float:
        named: How = "live" if how == LIVE else "cut"
        return tray_cost(recipe, self.rates, starts=starts.tolist(), leave=leave, how=named).total

    def _add_options(
        self, own: Ints, life: Ints, how: int, leave: Ints, first: Ints, last: Ints, gives: Floats,
        cost: Floats, good: Bools,
    ) -> None:  # fmt: skip
        count, base = len(life), self.tray_count - int(self.tray_blocks[-1].sow.shape[0])
        self.option_blocks.append(
            Options(own[life] + base, np.full(count, how), leave, first, last, gives, cost, good, life)
        )
        self.option_count += count
