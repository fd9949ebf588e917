"""What may come: how long each sowing and each standing tray takes and what it weighs, in every scenario.

Days are whole days of the plan. A tray that is ready in the evening can be cut the next day.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Any, NamedTuple, Protocol

import msgspec
import numpy as np
from numpy.random import Generator

from trayward.errors import InputError
from trayward.farm.holds import hold_of
from trayward.farm.recipes import Recipe, Stage
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, Tray
from trayward.outlook.ahead import SAME_DAY, Outlook
from trayward.outlook.draws import Draws, Proposed
from trayward.plan.days import Days, Floats, Ints
from trayward.plan.seen import Clock, clock_of, day_seen
from trayward.plan.ways import Way

DAY = timedelta(days=1)


class Future(msgspec.Struct, frozen=True, kw_only=True):
    """What somebody who knows says of trays: the days of each stage to come, the mean weight, whether they are lost.

    For a standing tray the first is the whole length of the stage under way, from when it began. [d], [g]
    """

    stage_days: tuple[float, ...]
    grams: float
    lost: bool = False


class Biology(Protocol):
    """Somebody who knows how trays will grow; the study's yardstick asks one instead of the outlook."""

    @property
    def certain(self) -> bool:
        """Whether nothing is left to luck: all scenarios are alike."""

    @property
    def foresees(self) -> bool:
        """Whether what each standing tray will do is known: told tray by tray, and alike in all scenarios."""

    def sees(self, state: FarmState, at: datetime) -> None:
        """The farm as it stands when the plan is made; shown before anything is asked."""

    def sown(self, recipe: Recipe, day: date, scenario: int) -> Future:
        """Of a tray of a recipe, sown on a day, in a scenario (0, 1, ...)."""

    def standing(self, tray: Tray, scenario: int) -> Future:
        """Of a tray that is growing, in a scenario."""


class SownFuture(NamedTuple):
    """Of a way to grow: scenarios (n) of each day it may be sown on (d)."""

    begins: Ints
    """The day each stage begins, counted from the plan's first (n, d, stages); the last: ready."""
    grams: Floats
    """Mean weight of a tray on the day it is ready, 0 where it is lost (n, d). [g]"""
    since: Ints
    """The day it is seen to be ready, from which its window runs: in the evening, it is the day before (n, d)."""


class StoodFuture(NamedTuple):
    """Of trays that stand alike: scenarios (n)."""

    recipe: Recipe
    stages: tuple[Stage, ...]
    """The present stage and those to come."""
    begins: Ints
    """The day each begins, the present one on day 0 (n, stages)."""
    grams: Floats
    """Mean weight of a tray on the day it is ready (n,). [g]"""
    since: Ints
    """The day it is seen to be ready (n,)."""
    held: tuple[tuple[str, int], ...]
    trays: tuple[str, ...]


class Futures(NamedTuple):
    """Scenarios of the ways to grow, in their order, and of the groups of standing trays."""

    sown: list[SownFuture]
    stood: list[StoodFuture]
    scenarios: int

    def in_all(self, scenarios: int) -> Futures:
        """What was told once only, the same in all of so many scenarios."""
        sown = [SownFuture(*(_wide(part, scenarios) for part in one)) for one in self.sown]
        stood = [_wide_stood(one, scenarios) for one in self.stood]
        return Futures(sown, stood, scenarios)


def _wide_stood(one: StoodFuture, scenarios: int) -> StoodFuture:
    begins, grams, since = (_wide(part, scenarios) for part in (one.begins, one.grams, one.since))
    return one._replace(begins=begins, grams=grams, since=since)


def _wide(table: Any, scenarios: int) -> Any:
    return table if len(table) == scenarios else np.repeat(table[:1], scenarios, axis=0)


class Chance(NamedTuple):
    """Whose luck another farm shares: a farm as it is, its outlook, and the recipes drawn for it, in their order."""

    state: FarmState
    outlook: Outlook
    recipes: tuple[Recipe, ...]


def draw_futures(
    state: FarmState,
    outlook: Outlook,
    ways: Sequence[Way],
    days: Days,
    count: int,
    rng: Generator,
    shared: Chance | None = None,
) -> Futures:
    """
    Scenarios from the outlook.

    Parameters
    ----------
    ways : sequence of Way
        The ways to grow; each is drawn as if one tray were sown on every day of the plan.
    count : int
        Scenarios. Valid from 1.
    shared : Chance, optional
        The farm this one is held against, with `rng` as it was when that one was drawn: what both sow and what stands
        on both then does the same in the same scenario. `state` may have fewer standing trays, but no others.

    Returns
    -------
    Futures
        What trays share (recipe, lot, season, sowing) they share within a scenario.

    References
    ----------
    Law, A. M. (2015). Simulation modeling and analysis, 5th ed., section 11.2 on common random numbers. (From memory.)
    """
    of = shared or Chance(state, outlook, tuple(way.recipe for way in ways))
    names = {recipe.name: number for number, recipe in enumerate(of.recipes)}
    more = tuple(way.recipe for way in ways if way.recipe.name not in names)
    names |= {recipe.name: len(of.recipes) + number for number, recipe in enumerate(more)}
    sowings = [Proposed(recipe=recipe, sow_at=of.outlook.at, days=days.count) for recipe in (*of.recipes, *more)]
    drawn = of.outlook.draws(sowings, count, rng)
    first = len(drawn.trays) - len(sowings) * days.count
    clock = _clock(state, outlook.at)
    sown = [_sown(clock, drawn, way.recipe, first + names[way.recipe.name] * days.count, days.count) for way in ways]
    return Futures(sown, _stood(clock, state, drawn), count)


def _clock(state: FarmState, at: datetime) -> Clock:
    return clock_of(state.settings or FarmSettings(name=""), at)


def _sown(clock: Clock, drawn: Draws, recipe: Recipe, at: int, days: int) -> SownFuture:
    own = slice(at, at + days)
    ends = drawn.stage_days[:, own, : len(recipe.growing_stages)]
    sown = np.broadcast_to(np.arange(days)[None, :], ends.shape[:2])
    grams = np.where(drawn.lost[:, own], 0.0, np.nan_to_num(drawn.grams[:, own]))
    begins = _begins(sown, ends, _whole(drawn.ready_days[:, own]))
    return SownFuture(begins, grams, _since(begins, drawn.ready_days[:, own] + clock.sowing, clock))


def _whole(ready_days: Floats) -> Ints:
    """The day of the plan on which what is ready at a moment can be cut."""
    return np.ceil(ready_days - SAME_DAY).astype(np.int64)


def _since(begins: Ints, ready: Floats, clock: Clock) -> Ints:
    """The day a tray is seen to be ready: that on which it can be cut, or the evening before."""
    can_be_cut = begins[..., -1]
    return np.clip(day_seen(ready, clock), can_be_cut - 1, can_be_cut)


def _begins(first: Ints, ends: Floats, ready: Ints) -> Ints:
    """The day each stage begins: the first day, each stage's end, the last being ready."""
    ready = np.maximum(ready, first)
    middle = np.rint(ends[..., :-1]).astype(np.int64)
    begins = np.concatenate([first[..., None], np.minimum(middle, ready[..., None]), ready[..., None]], axis=-1)
    return np.maximum.accumulate(begins, axis=-1)


def _alike(tray: Tray) -> tuple[object, ...]:
    step = tray.steps[-1]
    held = tuple(sorted((pool, count) for pool, count in tray.kit.items() if count))
    return tray.recipe, tray.sowing, tray.stage, step.since, step.last_not_yet, held


def _groups(state: FarmState, biology: Biology | None = None) -> list[tuple[tuple[object, ...], list[Tray]]]:
    """Standing trays of one sowing that have come equally far, and that who foresees says go on alike: key, trays."""
    found: dict[tuple[object, ...], list[Tray]] = {}
    for tray in (tray for tray in state.growing() if not hold_of(tray)):
        told = (biology.standing(tray, 0).stage_days,) if biology is not None and biology.foresees else ()
        found.setdefault((*told, *_alike(tray)), []).append(tray)
    return list(found.items())


def _stages_left(recipe: Recipe, stage: str) -> tuple[Stage, ...]:
    names = [one.name for one in recipe.stages]
    return recipe.stages[names.index(stage) :] if stage in names else recipe.stages[-1:]


def _stood(clock: Clock, state: FarmState, drawn: Draws) -> list[StoodFuture]:
    found, place = [], {name: number for number, name in enumerate(drawn.trays) if name}
    for key, trays in _groups(state):
        places = [place[tray.tray] for tray in trays]
        recipe, left = state.recipe_of(trays[0]), _stages_left(state.recipe_of(trays[0]), trays[0].stage)
        middle = np.median(drawn.ready_days[:, places], axis=1)
        ready = np.maximum(_whole(middle), 0)
        if trays[0].stage == recipe.stages[-1].name:
            ready = np.floor(drawn.ready_days[:, places[0]]).astype(np.int64)
        ends = np.maximum(drawn.stage_days[:, places[0], : max(0, len(left) - 1)], 0.0)
        begins = _begins(np.zeros(len(ready), dtype=np.int64), ends, ready) if len(left) > 1 else ready[:, None]
        grams = np.where(drawn.lost[:, places], 0.0, np.nan_to_num(drawn.grams[:, places])).mean(axis=1)
        since = _since(begins, middle + clock.now, clock) if len(left) > 1 else ready
        held = key[-1]
        assert isinstance(held, tuple)
        found.append(StoodFuture(recipe, left, begins, grams, since, held, tuple(tray.tray for tray in trays)))
    return found


# Somebody who knows ---------------------------------------------------------------------------------------------------


def known_futures(
    state: FarmState, at: datetime, ways: Sequence[Way], days: Days, biology: Biology, scenarios: int
) -> Futures:
    """The scenarios of somebody who knows; what is foreseen is the same in all of them."""
    biology.sees(state, at)
    drawn = 1 if biology.certain else scenarios
    lucks = 1 if biology.foresees else drawn
    clock = _clock(state, at)
    sown = [_sown_known(clock, way.recipe, days, biology, drawn) for way in ways]
    stood = [_stood_known(clock, state, at, trays, key, biology, lucks) for key, trays in _groups(state, biology)]
    return Futures(sown, stood, scenarios).in_all(scenarios)


def _sown_known(clock: Clock, recipe: Recipe, days: Days, biology: Biology, scenarios: int) -> SownFuture:
    told = [[biology.sown(recipe, days.day(day), number) for day in range(days.count)] for number in range(scenarios)]
    for one in (one for row in told for one in row):
        if len(one.stage_days) != len(recipe.growing_stages):
            raise InputError("stage days", len(one.stage_days), "one for each growing stage", "Give them all.")
    sown = np.broadcast_to(np.arange(days.count)[None, :], (scenarios, days.count))
    ends = sown[..., None] + np.cumsum(np.array([[one.stage_days for one in row] for row in told]), axis=2)
    grams = np.array([[0.0 if one.lost else one.grams for one in row] for row in told])
    begins = _begins(sown, ends, _whole(ends[..., -1]))
    return SownFuture(begins, grams, _since(begins, ends[..., -1] + clock.sowing, clock))


def _stood_known(
    clock: Clock,
    state: FarmState,
    at: datetime,
    trays: list[Tray],
    key: tuple[object, ...],
    biology: Biology,
    scenarios: int,
) -> StoodFuture:
    recipe, told = state.recipe_of(trays[0]), [[biology.standing(t, n) for t in trays] for n in range(scenarios)]
    left = _stages_left(recipe, trays[0].stage)
    since = (trays[0].steps[-1].since - at) / DAY
    grams = np.array([float(np.mean([0.0 if one.lost else one.grams for one in row])) for row in told])
    held = key[-1]
    assert isinstance(held, tuple)
    if len(left) > 1:
        ends = np.maximum(since + np.cumsum(np.array([row[0].stage_days for row in told], dtype=float), axis=1), 0.0)
        middle = np.array([np.median([since + sum(one.stage_days) for one in row]) for row in told])
        begins = _begins(np.zeros(scenarios, dtype=np.int64), ends, np.maximum(_whole(middle), 0))
        seen = _since(begins, middle + clock.now, clock)
    else:
        begins = np.full((scenarios, 1), int(np.floor(since)))
        seen = begins[:, 0]
    return StoodFuture(recipe, left, begins, grams, seen, held, tuple(tray.tray for tray in trays))
