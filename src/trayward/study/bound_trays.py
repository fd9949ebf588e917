"""How every tray that could be sown in a season will truly go: all its ways through the stages, many at once.

Days count from the season's first; moments are whole microseconds since its first midnight. A tray moves on when
somebody sees that its stage is over, so what counts is on which walks people look. `study.keeper` says what happens on
them; what is said here is never stricter.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, datetime, timedelta
from typing import NamedTuple, Protocol

import numpy as np

from trayward.farm.calendar import rounds_of
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.plan.days import Bools, Days, Floats, Ints
from trayward.study.truth import CUT_AFTER, EVENING_AFTER, SOW_AFTER, SPOIL_AFTER, WAITS
from trayward.study.worlds import TrayTruth

DAY = timedelta(days=1)
TICK = timedelta(microseconds=1)
DELIVER_AFTER = timedelta(minutes=100)
"""Live trays go out so long after the day's first walk begins."""
WAITED_AFTER = timedelta(minutes=60)
"""What waited for room in the morning is turned so long after the first walk, once trays are cut."""


class TrueTrays(Protocol):
    """The hidden truth of a world."""

    def tray(self, recipe: Recipe, sown_on: date, number: int, lot: str) -> TrayTruth:
        """What the tray of that number among a day's trays of a recipe will really do."""
        ...


def looked(_: datetime) -> bool:
    """No walk is missed."""
    return False


class Season:
    """The days of a season and all moments on them at which trays are turned.

    Parameters
    ----------
    settings : FarmSettings
        The farm's walks and days of work.
    first, count
        The first day, and how many there are. [d]
    missed : callable
        Whether nobody looks on the walk of a moment.
    """

    def __init__(
        self, settings: FarmSettings, first: date, count: int, missed: Callable[[datetime], bool] = looked
    ) -> None:
        self.settings, self.first, self.count = settings, first, count
        self.days = Days(settings, first, count)
        walks = [[walk for walk, _ in rounds_of(self.days.day(day), settings)] for day in range(count)]
        self._begin = walks[0][0] - DAY
        self.mornings: Ints = self._ticks([each[0] for each in walks])
        self.evenings: Ints = np.maximum(
            self._ticks([each[-1] + EVENING_AFTER for each in walks]), self.mornings + SOW_AFTER // TICK
        )
        """The moment of each day at which is sown what could not be in the morning."""
        self.spoils: Ints = self._ticks([each[-1] + SPOIL_AFTER for each in walks])
        turns = sorted(turn for day, each in enumerate(walks) for turn in self._turns(day, each, missed))
        self.at: Ints = self._ticks([turn[0] for turn in turns])
        # Later turns never ask for an earlier cue, on farms with two walks in the first hour either.
        self.seen: Ints = np.maximum.accumulate(self._ticks([turn[1] for turn in turns]))
        self.day: Ints = np.array([turn[2] for turn in turns], dtype=np.int64)
        self.late: Ints = (self.at > self.mornings[self.day] + SOW_AFTER // TICK).astype(np.int64)

    def _turns(
        self, day: int, walks: Sequence[datetime], missed: Callable[[datetime], bool]
    ) -> Iterator[tuple[datetime, datetime, int]]:
        """When trays are turned on a day, and by when their cue must have shown."""
        yield from ((walk, walk, day) for walk in walks if not missed(walk))
        if self.days.open[day]:
            yield walks[0] + WAITED_AFTER, walks[0], day

    def _ticks(self, moments: Sequence[datetime]) -> Ints:
        return np.array([(at - self._begin) // TICK for at in moments], dtype=np.int64)

    def sown_at(self, sow: Ints) -> Ints:
        """The moment trays sown on these days begin, if they are sown in the morning."""
        at: Ints = self.mornings[sow] + SOW_AFTER // TICK
        return at


class Lives(NamedTuple):
    """Ways of trays through all stages; a row a way. Days (rows, stages), the last stage being ready."""

    tray: Ints
    """Which of the trays asked for."""
    begins: Ints
    """The day each stage begins. [d]"""
    late: Ints
    """1 where it begins after that day's sowing."""
    first_cut: Ints
    """The first day on which it may be cut, working day or not."""
    first_live: Ints
    last: Ints
    """The last day of its cut window."""


def stage_ticks(recipe: Recipe, truths: Sequence[TrayTruth]) -> Ints:
    """The true length of each growing stage of some trays (trays, stages). [us]"""
    names = [stage.name for stage in recipe.growing_stages]
    days = [[truth.stage_days[name] for name in names] for truth in truths]
    ticks: Ints = np.rint(np.array(days, dtype=float).reshape(len(truths), len(names)) * (DAY / TICK)).astype(np.int64)
    return ticks


def wants_room(recipe: Recipe, number: int) -> bool:
    """Whether a tray that begins a stage may have to go to another place, and so may have to wait for one."""
    before, stage = recipe.stages[number - 1], recipe.stages[number]
    return stage.ground != "bench" and (stage.ground != before.ground or stage.stack < before.stack)


def grows_up(recipe: Recipe) -> bool:
    """Whether no stage takes less room than the one before: from the bench to the dark, from there to the light."""
    order = {"bench": 0, "dark": 1, "lit": 2}
    places = [(order[stage.ground], -stage.stack) for stage in recipe.stages]
    return places == sorted(places)


def lives(recipe: Recipe, lengths: Ints, sow: Ints, season: Season, *, waits: bool = True) -> Lives:
    """
    All ways of trays that are not lost; those not ready within the season have none.

    Parameters
    ----------
    recipe : Recipe
        What they were sown to.
    lengths : array (n, stages before ready)
        Their true stage lengths. [us]
    sow : array (n,)
        The day each is sown.
    season : Season
        The days.
    waits : bool
        Also ways in which they wait for room, until they would have grown over, or are sown in the evening.

    Notes
    -----
    A tray that is sown in the evening can go any way that lies between its own and that of the morning's tray.

    Of all ways that begin the last stage which may have to be waited for (mostly: the light) at the same turn, one
    stands for all: the one that comes latest through the stages before. As long as no stage takes less room than the
    one before (`grows_up`), it takes the least room every night.
    """
    turns, stages = len(season.at), lengths.shape[1]
    asked = [waits and wants_room(recipe, number) for number in range(1, stages + 1)]
    pivot = max((number for number, waiting in enumerate(asked) if waiting), default=0)
    low, high = _reach(lengths, sow, season, asked, waits=waits)
    tray, turn = _spread(low[pivot], np.minimum(high[pivot], turns - 1))
    at = [np.zeros(0, dtype=np.int64)] * stages
    at[pivot] = turn
    for number in range(pivot - 1, -1, -1):
        latest = np.searchsorted(season.at, season.seen[at[number + 1]] - lengths[tray, number + 1], side="right") - 1
        at[number] = np.clip(latest, low[number][tray], high[number][tray])
    done = np.ones(len(tray), dtype=bool)
    for number in range(pivot + 1, stages):
        before = np.minimum(at[number - 1], turns - 1)
        at[number] = np.searchsorted(season.seen, season.at[before] + lengths[tray, number])
        done &= at[number] < turns
    return _as_days(recipe, tray[done], np.column_stack(at)[done], sow, season)


def latest_last(recipe: Recipe, lengths: Ints, sow: Ints, season: Season, *, waits: bool = True) -> Ints:
    """The latest day trays can have left by, lost ones too, however long they wait; the season's end where beyond."""
    asked = [waits and wants_room(recipe, number) for number in range(1, lengths.shape[1] + 1)]
    _, high = _reach(lengths, sow, season, asked, waits=waits)
    turns = len(season.at)
    day = season.day[np.minimum(high[-1], turns - 1)] + recipe.cut_window_days + 1
    beyond = np.any([each >= turns - 1 for each in high], axis=0)
    found: Ints = np.where(beyond, season.count, np.minimum(day, season.count))
    return found


def _reach(
    lengths: Ints, sow: Ints, season: Season, asked: Sequence[bool], *, waits: bool
) -> tuple[list[Ints], list[Ints]]:
    """The first and the last turn at which each stage may end; beyond the season where it does not."""
    turns = len(season.at)
    since = season.sown_at(sow), season.evenings[sow] if waits else season.sown_at(sow)
    low, high = [], []
    for number, waiting in enumerate(asked):
        first = np.searchsorted(season.seen, since[0] + lengths[:, number])
        last = np.searchsorted(season.seen, since[1] + lengths[:, number])
        if waiting:
            spoil = np.searchsorted(season.spoils, since[1] + lengths[:, number] + WAITS // TICK)
            ends = np.append(season.spoils, np.iinfo(np.int64).max)[spoil]
            last = np.maximum(last, np.searchsorted(season.at, ends) - 1)
        low.append(first)
        high.append(last)
        since = season.at[np.minimum(first, turns - 1)], season.at[np.minimum(last, turns - 1)]
        # A stage that does not end within the season is followed by none.
        low[-1] = np.where(low[-2] >= turns, turns, first) if number else first
    return low, high


def _spread(low: Ints, high: Ints) -> tuple[Ints, Ints]:
    """All turns from low to high, both included, each with its row."""
    length = np.maximum(high - low + 1, 0)
    row = np.repeat(np.arange(len(low)), length)
    turn = np.arange(len(row)) - np.repeat(np.cumsum(length) - length, length) + low[row]
    return row, turn


def _as_days(recipe: Recipe, tray: Ints, at: Ints, sow: Ints, season: Season) -> Lives:
    ready = at[:, -1]
    day, moment = season.day[ready], season.at[ready] - season.mornings[season.day[ready]]
    zero = np.zeros((len(tray), 1), dtype=np.int64)
    rows = np.column_stack(
        [
            tray,
            np.hstack([sow[tray][:, None], season.day[at]]),
            np.hstack([zero, season.late[at]]),
            day + (moment > CUT_AFTER // TICK),
            day + (moment > DELIVER_AFTER // TICK),
            day + recipe.cut_window_days,
        ]
    )
    rows = np.unique(rows, axis=0) if len(rows) else rows
    stages = at.shape[1] + 1
    return Lives(
        rows[:, 0], rows[:, 1 : 1 + stages], rows[:, 1 + stages : 1 + 2 * stages], rows[:, -3], rows[:, -2], rows[:, -1]
    )


def grams_on(recipe: Recipe, grams: Floats, waited: Ints) -> Floats:
    """What the scale, which shows whole grams, says of trays cut some days after they were ready. [g]"""
    days = np.clip(waited, 0, recipe.cut_window_days).astype(float)
    grown: Floats = np.round(grams * (1.0 + recipe.growth_a_day) ** days)
    return grown


def not_lost(truths: Sequence[TrayTruth]) -> Bools:
    """Which trays mould does not take."""
    kept: Bools = np.array([not truth.lost_in for truth in truths], dtype=bool)
    return kept
