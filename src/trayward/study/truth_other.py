"""A second truth, written to other laws than the planner's own beliefs, to show that its gain is no artefact.

Nothing here is log-normal. A tray's weight is a product of gamma factors, and one tray in ten is a weak one; what a lot
is worth is skewed as a beta is; seasons swing like a wave. A recipe is either a slow or a fast one on this farm. Stages
end when a simulated room has given them their degree-days: it warms by day, cools by night and drifts for days, and
trays differ by a Weibull factor. Mould takes a beta share of each recipe's trays, most of them in runs of damp days.

It reads the same `TruthLevels`: a standard deviation there is here the coefficient of variation of what stands for it.
All is our own choice; none of it is fitted to anything.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from copy import copy
from datetime import date, datetime, timedelta
from functools import lru_cache
from itertools import accumulate
from random import Random

from trayward.farm.calendar import day_start
from trayward.farm.recipes import Recipe, Stage
from trayward.outlook.priors import stage_belief
from trayward.study.chance import Chance
from trayward.study.events import BadLot
from trayward.study.truth import Scene, Temperature, TruthLevels, next_look, power_lost, sow_moment, usual_grams
from trayward.study.worlds import TrayTruth

DAY, HOUR = timedelta(days=1), timedelta(hours=1)
USUAL_C, USUAL_BASE_C = 21.0, 4.0
"""Where a recipe says neither at what temperature its days hold nor below which nothing moves. [°C]"""
BY_DAY = 1.2
"""How much warmer the room is in the afternoon than over the whole day. [°C]"""
BEST_C, CURVE = 20.5, 0.006
"""Trays weigh most at this temperature, and so much less for each square degree off it. [°C], [1/°C2]"""
WEAK, WEAK_GRAMS = 0.1, 0.78
"""The share of weak trays, and what they weigh against the others. [-]"""
DAMP, DAMP_LASTS, DAMP_TIMES = 0.15, 0.75, 4.0
"""The share of damp days, the chance that one is followed by another, and how much more trays are lost then. [-]"""
LOSS_TRAYS = 25.0
"""How sure a recipe's share of losses is: the sum of its beta's two counts. [-]"""


class DegreeDayTruth:
    """Truth whose stages end by degree-days, and whose weights are gamma, beta and mixed."""

    def __init__(self, levels: TruthLevels, scene: Scene, seed: int) -> None:
        self.levels, self.scene = levels, scene
        self.luck = Chance(seed)
        self._fresh: tuple[object, ...] = ()
        """Ends the name of every draw that only a sowing or a tray has; empty: the luck that the season really has."""
        self._known: dict[tuple[str, date, int, str], TrayTruth] = {}
        self._began = day_start(scene.first, scene.settings)
        self._room = hourly_room(levels.temperature, scene.days + 70, self._source("room"))
        self._shared: dict[tuple[object, ...], float] = {}
        self._gained: dict[float, list[float]] = {}
        self._damp = damp_days(scene.days + 70, self._source("damp"))

    def tray(self, recipe: Recipe, sown_on: date, number: int, lot: str) -> TrayTruth:
        """The truth of one tray; see `truth.Truth`."""
        key = (recipe.name, sown_on, number, lot)
        if key not in self._known:
            self._known[key] = self._tray(recipe, sown_on, number, lot)
        return self._known[key]

    def warmth(self, day: date) -> float:
        """Mean room temperature of a day. [°C]"""
        first = 24 * self._day(day)
        return sum(self._room[first : first + 24]) / 24

    def fresh(self, number: int) -> DegreeDayTruth:
        """The same law with other luck of sowings and trays; see `truth.Truth.fresh`."""
        other = copy(self)
        other._fresh, other._known, other._shared = ("fresh", number), {}, dict(self._shared)
        return other

    # One tray --------------------------------------------------------------------------------------------------------

    def _tray(self, recipe: Recipe, sown_on: date, number: int, lot: str) -> TrayTruth:
        bad = self.scene.bad_lots.get(lot)
        begun, lengths, left = sow_moment(sown_on, self.scene.settings), {}, 1.0
        for stage in recipe.growing_stages:
            days = self._stage_days(stage, recipe.name, sown_on, number, begun) * (bad.slower if bad else 1.0)
            late, share = power_lost(stage, begun, days, self.scene)
            lengths[stage.name] = days + late
            left *= share
            begun = next_look(begun + DAY * (days + late), self.scene.settings)
        warm = self._warm(sown_on, self._day_of(begun))
        grams = self._grams(recipe, sown_on, number, lot) * max(1 - CURVE * (warm - BEST_C) ** 2, 0.3)
        grams *= left * (bad.grams if bad else 1.0)
        return TrayTruth(stage_days=lengths, grams=grams, lost_in=self._lost_in(recipe, sown_on, number, bad))

    def _grams(self, recipe: Recipe, sown_on: date, number: int, lot: str) -> float:
        levels, name = self.levels, recipe.name
        grams = usual_grams(recipe) * self._gamma(levels.house, "house") * self._gamma(levels.recipe, "recipe", name)
        skewed = (self._source("lot", lot).betavariate(5.0, 2.0) - 5 / 7) / math.sqrt(10 / 392)
        grams *= 1 + levels.lot * skewed
        wave = 2 * math.pi * (self._day(sown_on) / 70 + self._source("season").random())
        grams *= 1 + levels.season * math.sqrt(2) * math.sin(wave)
        grams *= self._gamma(levels.sowing, "sowing", name, sown_on, *self._fresh)
        source = self._source("tray", name, sown_on, number, *self._fresh)
        own = WEAK_GRAMS if source.random() < WEAK else 1.0
        return grams * own * _gamma(levels.tray, source) / (1 - WEAK * (1 - WEAK_GRAMS))

    def _stage_days(self, stage: Stage, recipe: str, sown_on: date, number: int, begun: datetime) -> float:
        belief = stage_belief(stage)
        if belief is None or belief.by_clock:
            return stage.days_typical
        levels = self.levels
        off = belief.sd * math.hypot(levels.stage_recipe, levels.stage_house)
        factor = 1 + off if self._source("pace", stage.name, recipe).random() < 0.5 else 1 - off
        factor *= self._gamma(belief.sd * levels.stage_sowing, "pace", stage.name, recipe, sown_on, *self._fresh)
        own = self._source("pace", stage.name, recipe, sown_on, number, *self._fresh)
        factor *= _weibull(belief.sd * levels.stage_tray, own)
        base = stage.base_c if stage.base_c is not None else USUAL_BASE_C
        at = stage.at_c if stage.at_c is not None else USUAL_C
        return self._until(begun, stage.days_typical * factor * 24 * max(at - base, 1.0), base)

    def _until(self, begun: datetime, need: float, base: float) -> float:
        """Days until the room has given so many degree-hours above a base. [d]"""
        if base not in self._gained:
            self._gained[base] = list(accumulate(max(warm - base, 0.1) for warm in self._room))
        gained = self._gained[base]
        at = max((begun - self._began) / HOUR, 0.0)
        hour = min(int(at), len(gained) - 1)
        before = gained[hour] - (hour + 1 - at) * max(self._room[hour] - base, 0.1)
        end = bisect_left(gained, before + need)
        if end >= len(gained):
            return (len(gained) - at) / 24
        over = (gained[end] - before - need) / max(self._room[end] - base, 0.1)
        return max(end + 1 - over - at, 0.0) / 24

    def _lost_in(self, recipe: Recipe, sown_on: date, number: int, bad: BadLot | None) -> str:
        if self.levels.loss <= 0 and bad is None:
            return ""
        share = min(max(self.levels.loss, 1e-6), 0.5)
        source = self._source("loss", recipe.name)
        chance = source.betavariate(share * LOSS_TRAYS, (1 - share) * LOSS_TRAYS)
        damp = self._damp[self._day(sown_on)]
        chance *= (DAMP_TIMES if damp else 1.0) / (1 + DAMP * (DAMP_TIMES - 1))
        own = self._source("loss", recipe.name, sown_on, number, *self._fresh)
        if own.random() >= min(chance + (bad.loss if bad else 0.0), 0.9):
            return ""
        living = [stage.name for stage in recipe.growing_stages if stage.cue]
        return own.choice(living[-2:])

    # Sources of chance -----------------------------------------------------------------------------------------------

    def _source(self, *name: object) -> Random:
        return Random(self.luck.number("other", *name))

    def _gamma(self, cv: float, *name: object) -> float:
        """A factor that trays share, drawn once. [-]"""
        if name not in self._shared:
            self._shared[name] = _gamma(cv, self._source(*name))
        return self._shared[name]

    def _day(self, day: date) -> int:
        return min(max((day - self.scene.first).days, 0), self.scene.days + 69)

    def _day_of(self, at: datetime) -> date:
        return self.scene.first + DAY * int((at - self._began) / DAY)

    def _warm(self, first: date, last: date) -> float:
        begin, end = 24 * self._day(first), 24 * self._day(last) + 24
        return sum(self._room[begin:end]) / max(end - begin, 1)


def hourly_room(course: Temperature, days: int, source: Random) -> list[float]:
    """The temperature of each hour: a day's wave, a slow rise, and a drift that lasts for days. [°C]"""
    lasts = max(course.lasts, 1e-6) ** (1 / 24)
    found, apart = [], 0.0
    for hour in range(24 * days):
        apart = lasts * apart + course.sd * math.sqrt(1 - lasts**2) * source.gauss(0.0, 1.0)
        wave = BY_DAY * math.sin(2 * math.pi * (hour % 24 - 9) / 24)
        found.append(course.mean + course.rise * hour / (24 * days) + wave + apart)
    return found


def damp_days(days: int, source: Random) -> list[bool]:
    """Which days are damp: they come in runs."""
    found, damp = [], source.random() < DAMP
    enters = (1 - DAMP_LASTS) * DAMP / (1 - DAMP)
    for _ in range(days):
        found.append(damp)
        damp = source.random() < (DAMP_LASTS if damp else enters)
    return found


def _gamma(cv: float, source: Random) -> float:
    """A gamma factor of mean 1. [-]"""
    return source.gammavariate(1 / cv**2, cv**2) if cv > 0 else 1.0


def _weibull(cv: float, source: Random) -> float:
    """A Weibull factor of mean 1. [-]"""
    if cv <= 0:
        return 1.0
    shape = _weibull_shape(round(cv, 6))
    return source.weibullvariate(1 / math.gamma(1 + 1 / shape), shape)


@lru_cache(maxsize=512)
def _weibull_shape(cv: float) -> float:
    """The shape with which a Weibull has that coefficient of variation, found by halving. [-]"""
    low, high = 0.2, 400.0
    for _ in range(60):
        middle = math.sqrt(low * high)
        spread = math.exp(math.lgamma(1 + 2 / middle) - 2 * math.lgamma(1 + 1 / middle)) - 1
        if math.sqrt(max(spread, 0.0)) > cv:
            low = middle
        else:
            high = middle
    return high
