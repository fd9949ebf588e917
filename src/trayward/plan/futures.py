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
from trayward.farm.state import FarmState, Tray
from trayward.outlook.ahead import Outlook
from trayward.outlook.draws import Draws, Proposed
from trayward.plan.days import Days, Floats, Ints
from trayward.plan.seen import Clock, clock_of, day_seen, seen_late
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

    def sown(self, recipe: Recipe, day: date, scenario: int, *, evening: bool = False) -> Future:
        """Of a tray of a recipe, sown on the morning or the `evening` of a day, in a scenario (0, 1, ...)."""

    def standing(self, tray: Tray, scenario: int) -> Future:
        """Of a tray that is growing, in a scenario."""


class SownFuture(NamedTuple):
    """Of a way to grow: scenarios (n) of each day it may be sown on (d)."""

    begins: Ints
    """The day each stage begins, counted from the plan's first (n, d, stages); the last: ready."""
    late: Ints
    """1 where it begins on a later walk of its day than the first, after the morning's sowing (n, d, stages)."""
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
    late: Ints
    """1 where it begins on a later walk of its day than the first (n, stages)."""
    grams: Floats
    """Mean weight of a tray on the day it is ready (n,). [g]"""
    since: Ints
    """The day it is seen to be ready (n,)."""
    held: tuple[tuple[str, int], ...]
    trays: tuple[str, ...]


class Futures(NamedTuple):
    """Scenarios of the ways to grow, in their order, and of the groups of standing trays."""

    sown: list[SownFuture]
    evening: list[SownFuture | None]
    """The same of trays sown in the evening, of ways for which that frees a place by day."""
    stood: list[StoodFuture]
    scenarios: int

    def in_all(self, scenarios: int) -> Futures:
        """What was told once only, the same in all of so many scenarios."""
        sown = [_wide_sown(one, scenarios) for one in self.sown]
        evening = [None if one is None else _wide_sown(one, scenarios) for one in self.evening]
        stood = [_wide_stood(one, scenarios) for one in self.stood]
        return Futures(sown, evening, stood, scenarios)


def _wide_sown(one: SownFuture, scenarios: int) -> SownFuture:
    return SownFuture(*(_wide(part, scenarios) for part in one))


def _wide_stood(one: StoodFuture, scenarios: int) -> StoodFuture:
    begins, late, grams, since = (_wide(part, scenarios) for part in (one.begins, one.late, one.grams, one.since))
    return one._replace(begins=begins, late=late, grams=grams, since=since)


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
    clock = _clock(state, outlook.at)
    sow_at = outlook.at + DAY * (clock.sowing - clock.now)
    sowings = [Proposed(recipe=recipe, sow_at=sow_at, days=days.count) for recipe in (*of.recipes, *more)]
    drawn = of.outlook.draws(sowings, count, rng)
    first = len(drawn.trays) - len(sowings) * days.count
    own = [slice(at, at + days.count) for at in (first + names[way.recipe.name] * days.count for way in ways)]
    sown = [_sown(clock, drawn, way.recipe, part) for way, part in zip(ways, own, strict=True)]
    evening = [
        _sown(clock, drawn, way.recipe, part, evening=True) if _has_evening(clock, way.recipe) else None
        for way, part in zip(ways, own, strict=True)
    ]
    return Futures(sown, evening, _stood(clock, state, drawn), count)


def _clock(state: FarmState, at: datetime) -> Clock:
    return clock_of(state.settings_or_usual, at)


def _has_evening(clock: Clock, recipe: Recipe) -> bool:
    """Whether sowing in the evening is another thing: of what is sown into the dark, where the day has a later walk."""
    return clock.last > clock.sowing and recipe.stages[0].ground == "dark"


def _sown(clock: Clock, drawn: Draws, recipe: Recipe, own: slice, *, evening: bool = False) -> SownFuture:
    ends = drawn.stage_days[:, own, : len(recipe.growing_stages)]
    sown = np.broadcast_to(np.arange(ends.shape[1])[None, :], ends.shape[:2])
    grams = np.where(drawn.lost[:, own], 0.0, np.nan_to_num(drawn.grams[:, own]))
    later = clock.evening - clock.sowing if evening else 0.0
    return _course(clock, sown, ends + clock.now + later, drawn.ready_days[:, own] + clock.now + later, grams, evening)


def _course(clock: Clock, sown: Ints, ends: Floats, ready: Floats, grams: Floats, evening: bool) -> SownFuture:
    """The course of trays from the days they are sown on, and when their stages end and they are ready. [d]"""
    since, first_cut = _seen_ready(ready, clock)
    begins, late = _begins(sown, ends, first_cut, clock)
    late[..., 0] = evening
    return SownFuture(begins, late, grams, since)


def _seen_ready(ready: Floats, clock: Clock) -> tuple[Ints, Ints]:
    """The day on which a tray is seen to be ready, and that on which it can be cut first: seen late, the next."""
    since = day_seen(ready, clock)
    return since, since + seen_late(ready, since, clock)


def _begins(first: Ints, ends: Floats, ready: Ints, clock: Clock) -> tuple[Ints, Ints]:
    """The day each stage begins (the first day, each stage's end as it is seen, the last: ready), and whether late."""
    ready = np.maximum(ready, first)
    middle = day_seen(ends[..., :-1], clock)
    half = 2 * middle + seen_late(ends[..., :-1], middle, clock)
    half = np.minimum(half, 2 * ready[..., None])
    half = np.concatenate([2 * first[..., None], half, 2 * ready[..., None]], axis=-1)
    half = np.maximum.accumulate(half, axis=-1)
    return half // 2, half % 2


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
        since, ready = _seen_ready(np.median(drawn.ready_days[:, places], axis=1) + clock.now, clock)
        if trays[0].stage == recipe.stages[-1].name:
            since = ready = np.floor(drawn.ready_days[:, places[0]] + clock.now).astype(np.int64)
        ends = np.maximum(drawn.stage_days[:, places[0], : max(0, len(left) - 1)], 0.0)
        begins, late = ready[:, None], np.zeros_like(ready[:, None])
        if len(left) > 1:
            ready = np.maximum(ready, 0)
            begins, late = _begins(np.zeros_like(ready), ends + clock.now, ready, clock)
        grams = np.where(drawn.lost[:, places], 0.0, np.nan_to_num(drawn.grams[:, places])).mean(axis=1)
        held = key[-1]
        assert isinstance(held, tuple)
        found.append(StoodFuture(recipe, left, begins, late, grams, since, held, tuple(tray.tray for tray in trays)))
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
    evening = [
        _sown_known(clock, way.recipe, days, biology, drawn, evening=True) if _has_evening(clock, way.recipe) else None
        for way in ways
    ]
    stood = [_stood_known(clock, state, at, trays, key, biology, lucks) for key, trays in _groups(state, biology)]
    return Futures(sown, evening, stood, scenarios).in_all(scenarios)


def _sown_known(
    clock: Clock, recipe: Recipe, days: Days, biology: Biology, scenarios: int, *, evening: bool = False
) -> SownFuture:
    told = [
        [biology.sown(recipe, days.day(day), number, evening=evening) for day in range(days.count)]
        for number in range(scenarios)
    ]
    for one in (one for row in told for one in row):
        if len(one.stage_days) != len(recipe.growing_stages):
            raise InputError("stage days", len(one.stage_days), "one for each growing stage", "Give them all.")
    sown = np.broadcast_to(np.arange(days.count)[None, :], (scenarios, days.count))
    ends = sown[..., None] + np.cumsum(np.array([[one.stage_days for one in row] for row in told]), axis=2)
    grams = np.array([[0.0 if one.lost else one.grams for one in row] for row in told])
    ends = ends + (clock.evening if evening else clock.sowing)
    return _course(clock, sown, ends, ends[..., -1], grams, evening)


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
        seen, ready = _seen_ready(middle + clock.now, clock)
        begins, late = _begins(np.zeros_like(ready), ends + clock.now, np.maximum(ready, 0), clock)
    else:
        begins = np.full((scenarios, 1), int(np.floor(since + clock.now)))
        late, seen = np.zeros_like(begins), begins[:, 0]
    return StoodFuture(recipe, left, begins, late, grams, seen, held, tuple(tray.tray for tray in trays))
