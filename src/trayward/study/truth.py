"""The hidden truth of a season: what each tray will really do, the same whatever a policy does first.

A tray is named by its recipe, the day it is sown, its number among that day's trays of the recipe and its seed lot; two
policies that sow the same meet the same. Weights are log-normal: this farm, the recipe, the lot, the season, the sowing
and the tray itself each move them, and warmth does. Stages are stretched likewise, in units of the recipe's own range,
and run by the day's temperature. `study.truth_other` is written to other laws.

The sizes stand in a world's file; they are our choice, within what sources differ by (see `outlook.priors`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from copy import copy
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import NamedTuple, Protocol, Self

import msgspec

from trayward.farm.calendar import day_start, local_day, rounds_of
from trayward.farm.recipes import Recipe, Stage
from trayward.farm.settings import FarmSettings
from trayward.outlook.priors import stage_belief, yield_belief
from trayward.study.chance import Chance
from trayward.study.events import BadLot, PowerCut
from trayward.study.worlds import TrayTruth

DAY = timedelta(days=1)
SOW_AFTER = timedelta(minutes=170)
"""Sowing comes so long after the day's first round begins. [min]"""
CUT_AFTER = timedelta(minutes=40)
"""Cutting comes so long after it. [min]"""
EVENING_AFTER = timedelta(minutes=20)
"""What found no room or clean kit in the morning is sown so long after the day's last round begins. [min]"""
SPOIL_AFTER = timedelta(minutes=30)
"""What is past its time is thrown away so long after it. [min]"""
WAITS = timedelta(days=3)
"""A tray that finds no room this long after its cue has grown over, and is thrown away in the evening. [d]"""
USUAL_C = 21.0
"""The room temperature at which lengths and weights are as drawn. [°C]"""
FASTER_A_DEGREE = 0.03
"""A stage that no base temperature is known for runs so much faster a degree above that. Our choice. [1/°C]"""


class Temperature(msgspec.Struct, frozen=True, kw_only=True):
    """The course of a season's room temperature."""

    mean: float = 20.5
    """[°C]"""
    rise: float = 0.0
    """How much warmer the last day of the season is than the first. [°C]"""
    sd: float = 0.7
    """How much days differ. [°C]"""
    lasts: float = 0.7
    """How much of a day's difference is left the next day. [-]"""


class TruthLevels(msgspec.Struct, frozen=True, kw_only=True):
    """How far a world's truth lies from what is printed, and how much its trays differ.

    Weights: standard deviations of the natural log. Stages: in units of the log sd of the recipe's own range.
    """

    house: float = 0.10
    """This farm, over all its recipes. [-]"""
    recipe: float = 0.15
    lot: float = 0.06
    season: float = 0.05
    sowing: float = 0.09
    tray: float = 0.08
    stage_house: float = 0.4
    stage_recipe: float = 0.6
    stage_sowing: float = 0.45
    stage_tray: float = 0.35
    loss: float = 0.02
    """Share of trays lost to mould, over recipes and sowings. [-]"""
    loss_recipe: float = 0.5
    loss_sowing: float = 0.8
    grams_a_degree: float = -0.01
    """How much more a tray weighs, a degree warmer. [1/°C]"""
    temperature: Temperature = Temperature()


class Truth(Protocol):
    """What a world hides."""

    def tray(self, recipe: Recipe, sown_on: date, number: int, lot: str) -> TrayTruth:
        """What one tray will really do."""
        ...

    def warmth(self, day: date) -> float:
        """Mean room temperature of a day. [°C]"""
        ...

    def fresh(self, number: int) -> Self:
        """
        The same farm, recipes, lots, season and weather, with other luck of every sowing and every single tray.

        Each number is another luck, and the same number always the same. What is left is what records could ever tell.
        """
        ...


class Scene(NamedTuple):
    """What a truth needs to know of its world besides its own levels."""

    settings: FarmSettings
    first: date
    days: int
    cuts: tuple[PowerCut, ...] = ()
    bad_lots: Mapping[str, BadLot] = {}
    """By the name of the seed lot."""


class StageNeed(NamedTuple):
    """How long a stage takes from a moment on, were the room as usual [d], and how fast it runs at a temperature."""

    days: float
    pace: Callable[[float], float]


class LogNormalTruth:
    """Truth whose weights and stage times are log-normal."""

    def __init__(self, levels: TruthLevels, scene: Scene, seed: int) -> None:
        self.levels, self.scene = levels, scene
        self.luck = Chance(seed)
        self._fresh: tuple[object, ...] = ()
        """Ends the name of every draw that only a sowing or a tray has; empty: the luck that the season really has."""
        self._known: dict[tuple[str, date, int, str], TrayTruth] = {}
        self._warmth = daily_warmth(levels.temperature, scene.days + 60, self.luck)
        self._season = weekly_season(levels.season, scene.days // 7 + 9, self.luck)
        self._house = levels.house * self.luck.normal("grams", "house")

    def tray(self, recipe: Recipe, sown_on: date, number: int, lot: str) -> TrayTruth:
        """The truth of one tray.

        Parameters
        ----------
        recipe : Recipe
            What it was sown to.
        sown_on : date
            The farm's day it was sown on.
        number : int
            Its number among the trays of that recipe sown that day, from 0.
        lot : str
            Its seed lot.
        """
        key = (recipe.name, sown_on, number, lot)
        if key not in self._known:
            self._known[key] = self._tray(recipe, sown_on, number, lot)
        return self._known[key]

    def warmth(self, day: date) -> float:
        """Mean room temperature of a day. [°C]"""
        return self._warmth[min(max((day - self.scene.first).days, 0), len(self._warmth) - 1)]

    def fresh(self, number: int) -> LogNormalTruth:
        """The same law with other luck of sowings and trays; see `Truth.fresh`."""
        other = copy(self)
        other._fresh, other._known = ("fresh", number), {}
        return other

    def _tray(self, recipe: Recipe, sown_on: date, number: int, lot: str) -> TrayTruth:
        needs = [self._need(stage, recipe.name, sown_on, number, lot) for stage in recipe.growing_stages]
        lengths, set_back = lived_stages(recipe, needs, sown_on, self.scene, self.warmth)
        grown_days = math.ceil(sum(lengths.values()))
        warm = sum(self.warmth(sown_on + DAY * day) for day in range(grown_days)) / max(grown_days, 1)
        grams = self._grams(recipe, sown_on, number, lot) * math.exp(self.levels.grams_a_degree * (warm - USUAL_C))
        bad = self.scene.bad_lots.get(lot)
        grams *= set_back * (bad.grams if bad else 1.0)
        lost_in = self._lost_in(recipe, sown_on, number, bad)
        return TrayTruth(stage_days=lengths, grams=grams, lost_in=lost_in)

    def _grams(self, recipe: Recipe, sown_on: date, number: int, lot: str) -> float:
        levels, luck = self.levels, self.luck
        week = min(max((sown_on - self.scene.first).days // 7, 0), len(self._season) - 1)
        log = self._house + self._season[week]
        log += levels.recipe * luck.normal("grams", "recipe", recipe.name)
        log += levels.lot * luck.normal("grams", "lot", lot)
        log += levels.sowing * luck.normal("grams", "sowing", recipe.name, sown_on, *self._fresh)
        log += levels.tray * luck.normal("grams", "tray", recipe.name, sown_on, number, *self._fresh)
        return usual_grams(recipe) * math.exp(log)

    def _need(self, stage: Stage, recipe: str, sown_on: date, number: int, lot: str) -> StageNeed:
        belief = stage_belief(stage)
        if belief is None or belief.by_clock:
            return StageNeed(stage.days_typical, steady)
        levels, luck = self.levels, self.luck
        stretch = levels.stage_house * luck.normal("stage", "house", stage.name)
        stretch += levels.stage_recipe * luck.normal("stage", stage.name, "recipe", recipe)
        stretch += levels.stage_sowing * luck.normal("stage", stage.name, "sowing", recipe, sown_on, *self._fresh)
        stretch += levels.stage_tray * luck.normal("stage", stage.name, "tray", recipe, sown_on, number, *self._fresh)
        bad = self.scene.bad_lots.get(lot)
        days = stage.days_typical * math.exp(belief.sd * stretch) * (bad.slower if bad else 1.0)
        return StageNeed(days, pace_of(stage))

    def _lost_in(self, recipe: Recipe, sown_on: date, number: int, bad: BadLot | None) -> str:
        levels, luck = self.levels, self.luck
        log = levels.loss_recipe * luck.normal("loss", "recipe", recipe.name)
        log += levels.loss_sowing * luck.normal("loss", "sowing", recipe.name, sown_on, *self._fresh)
        # Half the variance off, so that the share over all is the one that is asked for.
        log -= (levels.loss_recipe**2 + levels.loss_sowing**2) / 2
        chance = min(levels.loss * math.exp(log) + (bad.loss if bad else 0.0), 0.9)
        if luck.uniform("loss", "tray", recipe.name, sown_on, number, *self._fresh) >= chance:
            return ""
        living = [stage.name for stage in recipe.growing_stages if stage.cue]
        late = luck.uniform("loss", "stage", recipe.name, sown_on, number, *self._fresh) < 0.6 or len(living) < 2
        return living[-1] if late else living[-2]


# What both truths share -----------------------------------------------------------------------------------------------


def usual_grams(recipe: Recipe) -> float:
    """What is printed of a recipe, or what is believed of its crop where nothing is. [g]"""
    return math.exp(yield_belief(recipe).mu) * recipe.tray.area_cm2


def steady(_: float) -> float:
    """The pace of a stage that ends by the clock. [-]"""
    return 1.0


def pace_of(stage: Stage) -> Callable[[float], float]:
    """How fast a stage runs at a temperature, against its recipe's: by thermal time where its base is known. [-]"""
    base, at = stage.base_c, stage.at_c
    if base is not None and at is not None and at > base:
        return lambda warm: max((warm - base) / (at - base), 0.1)
    return lambda warm: max(1.0 + FASTER_A_DEGREE * (warm - USUAL_C), 0.1)


def daily_warmth(course: Temperature, days: int, luck: Chance) -> list[float]:
    """Mean temperature of each day: a slow rise, and differences that last a few days. [°C]"""
    found, apart = [], 0.0
    fresh = course.sd * math.sqrt(1 - course.lasts**2)
    for day in range(days):
        apart = course.lasts * apart + fresh * luck.normal("warmth", day)
        found.append(course.mean + course.rise * day / days + apart)
    return found


def weekly_season(sd: float, weeks: int, luck: Chance) -> list[float]:
    """How much more trays sown in each week weigh, as a log; one week is much like the next."""
    found, now = [], sd * luck.normal("season", "first")
    for week in range(weeks):
        found.append(now)
        now = 0.85 * now + sd * math.sqrt(1 - 0.85**2) * luck.normal("season", week)
    return found


def lived_stages(
    recipe: Recipe, needs: Sequence[StageNeed], sown_on: date, scene: Scene, warmth: Callable[[date], float]
) -> tuple[dict[str, float], float]:
    """
    How long each stage takes in this season's weather [d], and what power cuts leave of the weight [-].

    A stage begins when somebody sees that the one before is over, so the walks of the day matter.
    """
    lengths: dict[str, float] = {}
    begun, left = sow_moment(sown_on, scene.settings), 1.0
    for stage, need in zip(recipe.growing_stages, needs, strict=True):
        days = _warm_days(need, begun, scene.settings, warmth)
        late, share = power_lost(stage, begun, days, scene)
        days, left = days + late, left * share
        lengths[stage.name] = days
        begun = next_look(begun + DAY * days, scene.settings)
    return lengths, left


def power_lost(stage: Stage, begun: datetime, days: float, scene: Scene) -> tuple[float, float]:
    """How much later power cuts make the end of a stage [d], and what share of the weight they leave [-]."""
    late, left = 0.0, 1.0
    for cut in scene.cuts:
        off = _walks(cut.on, scene.settings)[0]
        if stage.ground == "lit" and begun <= off < begun + DAY * (days + late):
            late += cut.days_later
            left *= cut.grams
    return late, left


def _warm_days(need: StageNeed, begun: datetime, settings: FarmSettings, warmth: Callable[[date], float]) -> float:
    """The days until a stage has had its need, at each day's own temperature. [d]"""
    day, gone, left = local_day(begun, settings), 0.0, need.days
    span = (_begin(day + DAY, settings) - begun) / DAY
    while True:
        pace = need.pace(warmth(day))
        if left <= span * pace:
            return gone + left / pace
        left -= span * pace
        gone += span
        day, span = day + DAY, 1.0


def sow_moment(day: date, settings: FarmSettings) -> datetime:
    """When a day's sowing is done."""
    return _walks(day, settings)[0] + SOW_AFTER


def evening_moment(day: date, settings: FarmSettings) -> datetime:
    """When what found no room in the morning has been sown."""
    return _walks(day, settings)[-1] + EVENING_AFTER


def cut_moment(day: date, settings: FarmSettings) -> datetime:
    """When a day's cutting is done."""
    return _walks(day, settings)[0] + CUT_AFTER


def never(_: datetime) -> bool:
    """No walk is missed."""
    return False


def next_look(at: datetime, settings: FarmSettings, missed: Callable[[datetime], bool] = never) -> datetime:
    """The first walk at a moment or after it that is not missed."""
    day = at.date() - DAY  # the farm's own day is this one or one beside it
    while True:
        for walk in _walks(day, settings):
            if walk >= at and not missed(walk):
                return walk
        day += DAY


def last_look(at: datetime, settings: FarmSettings, missed: Callable[[datetime], bool] = never) -> datetime:
    """The last walk at a moment or before it that was not missed."""
    day = at.date() + DAY
    while True:
        for walk in reversed(_walks(day, settings)):
            if walk <= at and not missed(walk):
                return walk
        day -= DAY


@lru_cache(maxsize=4096)
def _walks(day: date, settings: FarmSettings) -> tuple[datetime, ...]:
    return tuple(walk for walk, _ in rounds_of(day, settings))


@lru_cache(maxsize=4096)
def _begin(day: date, settings: FarmSettings) -> datetime:
    return day_start(day, settings)


class Course(NamedTuple):
    """A tray's life where every walk is walked and there is room: when each stage begins, the last being ready."""

    begins: tuple[datetime, ...]
    lost_at: datetime | None
    """When mould is seen on it; None: never."""


def course(
    truth: TrayTruth,
    recipe: Recipe,
    sown_on: date,
    settings: FarmSettings,
    missed: Callable[[datetime], bool] = never,
    *,
    evening: bool = False,
) -> Course:
    """
    The earliest a tray can go through its stages, seen on the walks of the day.

    Every policy looks on these walks (and misses the same ones), so none has a tray ready sooner: the bound may count
    on these days, with the missed walks left out or not. `evening`: it is sown after the day's last walk.
    """
    sown = evening_moment(sown_on, settings) if evening else sow_moment(sown_on, settings)
    begins, lost_at = [sown], None
    for stage in recipe.growing_stages:
        days = truth.stage_days[stage.name]
        if stage.name == truth.lost_in:
            lost_at = next_look(begins[-1] + DAY * (days / 2), settings, missed)
            break
        begins.append(next_look(begins[-1] + DAY * days, settings, missed))
    return Course(tuple(begins), lost_at)


def first_cut_day(ready_at: datetime, settings: FarmSettings) -> date:
    """The first day on which a tray ready at a moment can be cut or delivered live; day off or not."""
    day = local_day(ready_at, settings)
    return day if cut_moment(day, settings) >= ready_at else day + DAY


def last_cut_day(ready_at: datetime, recipe: Recipe, settings: FarmSettings) -> date:
    """The last day of its cut window."""
    return local_day(ready_at, settings) + DAY * recipe.cut_window_days


def weight_on(truth: TrayTruth, recipe: Recipe, ready_at: datetime, day: date, settings: FarmSettings) -> float:
    """What a tray weighs when it is cut on a day: more for each day it has waited, as the recipe says. [g]"""
    waited = max((day - local_day(ready_at, settings)).days, 0)
    return truth.grams * (1.0 + recipe.growth_a_day) ** min(waited, recipe.cut_window_days)
