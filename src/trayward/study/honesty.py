"""How honest the outlook's doubt is on farms whose truth is known: what it foretells, held against what is true.

Every `Told` is one thing foretold once: where the truth fell among the cases foretold, as the share of cases below.
Of many farms these shares are even if the doubt is honest: a range for 80 in 100 then holds 80 of 100.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Literal

import msgspec
import numpy as np
from numpy.random import Generator

from trayward.outlook.ahead import DAY, Outlook, look_ahead
from trayward.outlook.calibration import Foretold, share_of
from trayward.outlook.draws import Draws, Proposed
from trayward.outlook.terms import Floats
from trayward.outlook.times import EvenChances
from trayward.outlook.yields import asked_of
from trayward.study.fields import Field, Grown, Habits, Off

Asked = Literal["grams", "days", "days at looks", "rest of days", "grams of standing", "sum of grams", "last of days"]
SIZES = (0, 1, 5, 30, 200, 1000)
"""Own trays that have ended when the outlook is asked. [-]"""
SOWINGS, STANDING, SCENARIOS = 4, 8, 400
"""New sowings and standing trays that are asked for at each size, and scenarios drawn."""


class Told(msgspec.Struct, frozen=True):
    """One thing foretold: on which farm, after how many own trays, and where the truth fell (a span of shares)."""

    what: Asked
    farm: int
    size: int
    low: float
    high: float


class Share(msgspec.Struct, frozen=True):
    """How much a range held, over farms: its share and that share's standard error by farms. [-]"""

    held: float
    error: float
    farms: int
    cases: int

    def agrees(self, promised: float, leeway: float = 0.02, errors: float = 2.0) -> bool:
        """Whether it lies within the leeway of what was promised, give or take so many standard errors."""
        return abs(self.held - promised) <= leeway + errors * self.error


def told_of_farm(
    number: int, sizes: Sequence[int] = SIZES, habits: Habits | None = None, off: Off | None = None
) -> list[Told]:
    """All that is foretold on one farm; the number is the seed of all its chance."""
    rng = np.random.default_rng(number)
    field = Field(rng, max(sizes), habits, off)
    return [
        Told(what, number, size, low, high) for size in sizes for what, low, high in _Asking(field, size, rng).all()
    ]


def held(told: Sequence[Told], what: Asked, size: int, promised: float) -> Share:
    """The share that ranges held; farms are drawn, not trays, so the error is that of a ratio over farms."""
    sums: dict[int, list[float]] = {}
    for one in told:
        if one.what == what and one.size == size:
            sums.setdefault(one.farm, []).append(Foretold("days", "", one.low, one.high).held_by(promised))
    cases = sum(map(len, sums.values()))
    if not cases:
        return Share(math.nan, math.nan, 0, 0)
    mean = sum(map(sum, sums.values())) / cases
    off = sum((sum(of) - mean * len(of)) ** 2 for of in sums.values())
    return Share(mean, math.sqrt(off) / cases, len(sums), cases)


class _Asking:
    """The questions put to the outlook of one farm at one moment."""

    def __init__(self, field: Field, size: int, rng: Generator) -> None:
        self.field, self.rng = field, rng
        self.at = field.moment_of(size)
        self.outlook: Outlook = look_ahead(field.state(self.at), self.at)
        fresh: dict[str, list[Grown]] = {}
        for one in field.grown:
            if one.sown_at > self.at:
                fresh.setdefault(one.sowing, []).append(one)
        self.sowings = list(fresh.values())[:SOWINGS]

    def all(self) -> Iterator[tuple[Asked, float, float]]:
        """What, and the shares of cases below the truth, from and to."""
        for trays in self.sowings:
            yield from self._new(trays)
        yield from self._standing()
        yield from self._together()

    def _new(self, trays: list[Grown]) -> Iterator[tuple[Asked, float, float]]:
        one = trays[0]
        wait = self.outlook.fresh_wait(one.recipe, one.sown_at, one.lot, self._season(one))
        days = _last(self.outlook.clocked.ends(wait, EvenChances()))
        for one in trays:
            assert one.ready is not None
            assert one.seen_after is not None
            true, looked, seen = ((at - one.sown_at) / DAY for at in (one.ready, one.seen_after, one.steps[-1].since))
            yield "days", share_of(days, true), share_of(days, true)
            yield "days at looks", share_of(days, looked), share_of(days, seen)
            if not one.lost and self.outlook.yields.knows(one.recipe):
                share = self._weighed(one)
                yield "grams", share, share

    def _weighed(self, one: Grown) -> float:
        asked = asked_of(one.recipe, one.lot, self._season(one), "", None, self.outlook.lessons.reader)
        asked = msgspec.structs.replace(asked, log_density=one.log_density)
        return self.outlook.yields.law(asked).tray().share_below(one.grams)

    def _season(self, one: Grown) -> str:
        return self.outlook.season_on(one.sown_at.date())

    def _standing(self) -> Iterator[tuple[Asked, float, float]]:
        """Trays part way through that last said "not yet"."""
        truth = {one.tray: one for one in self.field.grown}
        open_ = [tray for tray in self.outlook.state.growing() if tray.steps[-1].last_not_yet is not None]
        for tray in open_[:STANDING]:
            one = truth[tray.tray]
            if one.lost or one.ready is None:
                continue
            wait = self.outlook.wait(tray)
            share = share_of(_last(self.outlook.clocked.ends(wait, EvenChances())), (one.ready - wait.since) / DAY)
            yield "rest of days", share, share
            if self.outlook.yields.knows(one.recipe):
                reader = self.outlook.lessons.reader
                asked = asked_of(one.recipe, wait.lot, wait.season, wait.sowing, tray, reader)
                share = self.outlook.yields.law(asked).tray().share_below(one.grams)
                yield "grams of standing", share, share

    def _together(self) -> Iterator[tuple[Asked, float, float]]:
        """A sowing's trays together, from joint draws."""
        told = [
            Proposed(recipe=trays[0].recipe, sow_at=trays[0].sown_at, trays=len(trays), lot=trays[0].lot)
            for trays in self.sowings
        ]
        draws = self.outlook.draws(told, SCENARIOS, self.rng)
        first = len(self.outlook.state.growing())
        for trays in self.sowings:
            columns = slice(first, first + len(trays))
            first += len(trays)
            yield from _of_sowing(trays, draws, columns, (trays[0].sown_at - self.at) / DAY)


def _of_sowing(trays: list[Grown], draws: Draws, columns: slice, sown: float) -> Iterator[tuple[Asked, float, float]]:
    """A sowing's whole weight and the day its last tray is ready, among the scenarios; `sown` in days from `at`."""
    late = draws.ready_days[:, columns].max(axis=1) - sown
    share = share_of(np.sort(late), max((one.ready - one.sown_at) / DAY for one in trays if one.ready is not None))
    yield "last of days", share, share
    plain = all(one.log_density == 0 and not one.lost for one in trays)
    whole = draws.grams[:, columns].sum(axis=1)
    if plain and not np.isnan(whole).any():  # a proposed sowing is sown at the recipe's density
        share = share_of(np.sort(whole), sum(one.grams for one in trays))
        yield "sum of grams", share, share


def _last(ends: Floats) -> Floats:
    return np.sort(ends[:, -1])
