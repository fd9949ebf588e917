"""Scenarios: what all standing trays and some proposed sowings will do, drawn together.

What trays share, they share in every scenario: this farm's and a recipe's effect, a lot, a season, a sowing. So a
scenario in which a lot is poor is poor for all its trays, and a plan made over scenarios does not count on one tray
making up for its sister.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import msgspec
import numpy as np
from numpy.random import Generator

from trayward.errors import InputError
from trayward.farm.calendar import local_day
from trayward.farm.holds import hold_of
from trayward.farm.recipes import Recipe
from trayward.farm.state import Tray
from trayward.outlook import priors
from trayward.outlook.censored import Intervals, draw_shared
from trayward.outlook.losses import USUAL
from trayward.outlook.stages import GROWING as STAGE_GROWING
from trayward.outlook.stages import StageAsked, StageLaw, StageModel
from trayward.outlook.terms import NEW, Floats, Ints
from trayward.outlook.times import DAY, Wait, strata
from trayward.outlook.yields import DENSITY, DENSITY_SQUARED, FIXED_PRIOR, GROWING, Asked, YieldModel, asked_of

if TYPE_CHECKING:
    from trayward.outlook.ahead import Outlook


class Proposed(msgspec.Struct, frozen=True, kw_only=True):
    """A sowing that may be made: so many trays of a recipe at a moment, of a seed lot or of one not met yet."""

    recipe: Recipe
    sow_at: datetime
    trays: int = 1
    lot: str = ""
    days: int = 1
    """One tray on each of so many days from then on, each a sowing of its own: drawn at once, far faster. [d]"""


class Draws(msgspec.Struct, frozen=True, kw_only=True):
    """
    Scenarios (n) of trays (t): standing ones first, in the state's order, then those of each proposed sowing.

    Attributes
    ----------
    trays : tuple of str
        Names of the standing trays; empty for one only proposed.
    sowing : array (t,)
        Trays of the same number are of one sowing.
    stages : tuple of tuple of str
        The stages each tray still has to go through.
    stage_days : array (n, t, s)
        When each ends, in days from `at`; NaN beyond a tray's stages. [d]
    ready_days : array (n, t)
        When it is ready, in days from `at`; before now for a tray that is ready already. [d]
    grams : array (n, t)
        Weight on the day it is ready; NaN where nobody knows. [g]
    growth_a_day : array (t,)
        Share of weight gained for each day it waits in its cut window. [1/d]
    lost : array (n, t)
        Whether it is thrown away before it is cut.
    """

    at: datetime
    recipes: tuple[str, ...]
    trays: tuple[str, ...]
    sowing: Ints
    stages: tuple[tuple[str, ...], ...]
    stage_days: Floats
    ready_days: Floats
    grams: Floats
    growth_a_day: Floats
    lost: Any

    def grams_after(self, waited_days: Floats | float) -> Floats:
        """Weight of every tray in every scenario after it has stood ready for some days; none where it is lost. [g]"""
        grown = self.grams * (1 + self.growth_a_day) ** np.maximum(waited_days, 0.0)
        return np.where(self.lost, 0.0, grown)


def draw(outlook: Outlook, sowings: Sequence[Proposed], n: int, rng: Generator) -> Draws:
    """
    Draw scenarios of all standing trays and some proposed sowings, together.

    Parameters
    ----------
    outlook : Outlook
        What is likely at one moment.
    sowings : sequence of Proposed
        What may be sown besides.
    n : int
        Scenarios. Valid from 1.
    rng : numpy.random.Generator
        Where chance comes from; the same generator state gives the same scenarios.

    Returns
    -------
    Draws
        Arrays, (n, trays).

    Raises
    ------
    InputError
        If `n` is below 1, or a sowing has no trays.
    """
    if n < 1:
        raise InputError("n", n, "must be at least 1", "Ask for some scenarios.")
    for sowing in sowings:
        if sowing.trays < 1:
            raise InputError("trays", sowing.trays, "a proposed sowing has at least one", "Leave the sowing out.")
        if sowing.days != 1 and (sowing.days < 1 or sowing.trays != 1):
            remedy = "Propose each day's sowing by itself."
            raise InputError("days", sowing.days, "must be 1, or more with one tray a day", remedy, "d")
    return _Drawing(outlook, n, rng).of(sowings)


class _One(msgspec.Struct, frozen=True):
    """One tray to draw."""

    wait: Wait
    asked: Asked | None
    tray: Tray | None
    sowing: int


class _Drawing:
    """Chance numbers are drawn as they are first asked for, each under the name of what shares it."""

    def __init__(self, outlook: Outlook, n: int, rng: Generator) -> None:
        self.outlook, self.points, self.rng = outlook, n, rng
        self._uniforms: dict[tuple[object, ...], Floats] = {}
        self._levels: dict[str, Mapping[str, Floats]] = {}
        self._met: dict[int, int] = {}
        """Sowings that still stand, of which some trays are cut: level -> place among those drawn."""

    def of(self, sowings: Sequence[Proposed]) -> Draws:
        """All trays, in all scenarios."""
        single = [self._one_by_one([*self._standing(), *self._proposed(s for s in sowings if s.days == 1)])]
        first = len(self.outlook.state.growing()) + sum(sowing.days == 1 for sowing in sowings)
        for sowing in (sowing for sowing in sowings if sowing.days > 1):
            single.append(self._day_by_day(sowing, first))
            first += sowing.days
        return single[0] if len(single) == 1 else _beside(single)

    def _one_by_one(self, trays: Sequence[_One]) -> Draws:
        ends = [self._ends(one) for one in trays]
        most = max((array.shape[1] for array in ends), default=0)
        stage_days = np.full((self.points, len(trays), most), np.nan)
        for at, array in enumerate(ends):
            stage_days[:, at, : array.shape[1]] = array
        ready = [
            array[:, -1] if array.shape[1] else np.full(self.points, (one.wait.since - self.outlook.at) / DAY)
            for one, array in zip(trays, ends, strict=True)
        ]
        return Draws(
            at=self.outlook.at,
            recipes=tuple(one.wait.recipe.name for one in trays),
            trays=tuple(one.tray.tray if one.tray else "" for one in trays),
            sowing=np.array([one.sowing for one in trays], dtype=np.int64),
            stages=tuple(tuple(stage.name for stage in one.wait.stages) for one in trays),
            stage_days=stage_days,
            ready_days=_columns(ready, self.points),
            grams=_columns([self._grams(one) for one in trays], self.points),
            growth_a_day=np.array([one.wait.recipe.growth_a_day for one in trays]),
            lost=_columns([self._lost(one, days) for one, days in zip(trays, ready, strict=True)], self.points) > 0.5,
        )

    # A sowing on each of many days -----------------------------------------------------------------------------------

    def _day_by_day(self, proposed: Proposed, first: int) -> Draws:
        """One tray on each of some days: what they share is drawn once, what is their own for all at once."""
        outlook, recipe, days = self.outlook, proposed.recipe, proposed.days
        seasons: dict[str, list[int]] = {}
        for day in range(days):
            on = local_day(proposed.sow_at + day * timedelta(days=1), outlook.settings)
            seasons.setdefault(outlook.season_on(on), []).append(day)
        stages = len(recipe.growing_stages)
        ends, grams = np.empty((self.points, days, stages)), np.empty((self.points, days))
        lost = np.empty((self.points, days))
        for season, own in seasons.items():
            wait = outlook.fresh_wait(recipe, proposed.sow_at, proposed.lot, season)
            wait = msgspec.structs.replace(wait, sowing=f"proposed {recipe.name} {first} {season}")
            one = _One(wait, self._asked(wait, None), None, first)
            shift = np.array(own) + (proposed.sow_at - outlook.at) / DAY
            ends[:, own] = self._ends_of_many(one, len(own)) + shift[None, :, None]
            grams[:, own] = self._grams_of_many(one, len(own))
            last: Any = ends[:, own, -1] if stages else np.broadcast_to(shift, (self.points, len(own)))
            lost[:, own] = self._lost_of_many(one, last, shift)
        begun = np.arange(days) + (proposed.sow_at - outlook.at) / DAY
        whole: Any = ends[:, :, -1] if stages else np.broadcast_to(begun, (self.points, days))
        names = tuple(stage.name for stage in recipe.growing_stages)
        return Draws(
            at=outlook.at,
            recipes=(recipe.name,) * days,
            trays=("",) * days,
            sowing=first + np.arange(days),
            stages=(names,) * days,
            stage_days=ends,
            ready_days=whole,
            grams=grams,
            growth_a_day=np.full(days, recipe.growth_a_day),
            lost=lost > 0.5,
        )

    def _ends_of_many(self, one: _One, count: int) -> Floats:
        """(n, days, stages), in days from each sowing."""
        found = self.outlook.clocked.ends(one.wait, _ManyChances(self, count))
        return found.reshape(self.points, count, found.shape[1])

    def _spread(self, key: tuple[object, ...], value: Callable[[], Floats]) -> tuple[Floats, Floats]:
        """A value without the luck of its sowing, and what one standard deviation of that luck changes (n,)."""
        self._uniforms["normal", *key] = np.zeros(self.points)
        without = value()
        self._uniforms["normal", *key] = np.ones(self.points)
        return without, value() - without

    def _grams_of_many(self, one: _One, count: int) -> Floats:
        """(n, days)"""
        if one.asked is None:
            return np.full((self.points, count), np.nan)
        model = self.outlook.yields
        recipe, belief, share = one.asked.recipe, model.belief(one.asked.recipe), model.share(one.asked.recipe)
        known, sowing = self._spread(
            ("grams", "sowing", one.wait.sowing),
            lambda: self._believed(one, share) if model.fit is None else self._learned(one, model, share),
        )
        tray = model.sds()["tray"] * share * self._stretch("grams", "tray", model.unsure["tray"])
        luck = self.rng.standard_normal((2, self.points, count))
        own = sowing[:, None] * luck[0] + tray[:, None] * luck[1]
        return np.asarray(np.exp(math.log(recipe.tray.area_cm2) + belief.mu + known[:, None] + own))

    def _lost_of_many(self, one: _One, ready: Floats, sown: Floats) -> Floats:
        """1 where it is lost in the time it has to grow, else 0 (n, days)."""
        known, sowing = self._spread(("lost", "sowing", one.wait.sowing), lambda: self._loss_logit(one))
        logit = known[:, None] + sowing[:, None] * self.rng.standard_normal(ready.shape)
        chance, whole = 1 / (1 + np.exp(-logit)), one.wait.recipe.days_to_ready
        left = np.clip((ready - sown) / whole, 0.0, 1.0) if whole > 0 else np.ones(ready.shape)
        return (self.rng.random(ready.shape) < chance * left / (1 - chance * (1 - left))).astype(float)

    # The trays -------------------------------------------------------------------------------------------------------

    def _standing(self) -> list[_One]:
        outlook, numbers = self.outlook, dict[str, int]()
        found = []
        for tray in outlook.state.growing():
            wait = outlook.wait(tray)
            asked = self._asked(wait, tray)
            found.append(_One(wait, asked, tray, numbers.setdefault(wait.sowing, len(numbers))))
        return found

    def _proposed(self, sowings: Iterable[Proposed]) -> list[_One]:
        outlook, first = self.outlook, len(self.outlook.state.growing())
        found = []
        for number, sowing in enumerate(sowings):
            season = outlook.season_on(local_day(sowing.sow_at, outlook.settings))
            wait = outlook.fresh_wait(sowing.recipe, sowing.sow_at, sowing.lot, season)
            wait = msgspec.structs.replace(wait, sowing=f"proposed {number}")
            found += [_One(wait, self._asked(wait, None), None, first + number)] * sowing.trays
        return found

    def _asked(self, wait: Wait, tray: Tray | None) -> Asked | None:
        if not self.outlook.yields.knows(wait.recipe):
            return None
        return asked_of(wait.recipe, wait.lot, wait.season, wait.sowing, tray, self.outlook.lessons.reader)

    # When ------------------------------------------------------------------------------------------------------------

    def _ends(self, one: _One) -> Floats:
        since = (one.wait.since - self.outlook.at) / DAY
        return self.outlook.clocked.ends(one.wait, self) + since

    def sowing(self, law: StageLaw, wait: Wait, model: StageModel | None, seen: Intervals | None) -> Floats:
        """What a sowing's trays have in common in the stage under way, on the model's scale (n,)."""
        stage = wait.stages[0].name
        level = (law.mu - law.usual + self._off(stage, law, wait, model)) / law.scale
        shared = law.sowing_sd / law.scale
        if seen is None or model is None or shared <= 0:
            luck = self._normal(stage, "sowing", wait.sowing)
            return level + luck * shared * self._stretch(stage, "sowing", law.unsure[2])
        chance = self._uniform(stage, "sowing", wait.sowing)
        key = ("sowing seen", stage, wait.sowing)
        if key not in self._uniforms:  # sisters share it, and it takes its time
            found = self._uniforms[key] = np.empty(self.points)
            for part, sowing_sd, tray_sd in strata(law, self.points):
                found[part] = draw_shared(seen, level[part, None], sowing_sd, tray_sd, chance[part, None])[:, 0]
        return level + self._uniforms[key]

    def own(self) -> Floats:
        """A tray's own luck in the stage under way, uniform (n,)."""
        return self.rng.random(self.points).clip(1e-12, 1 - 1e-12)

    def own_sd(self, law: StageLaw, wait: Wait) -> Floats:
        """How much single trays differ in the stage under way, in each scenario (n,). [log d]"""
        return law.tray_sd * self._stretch(wait.stages[0].name, "tray", law.unsure[3])

    def later(self, number: int, law: StageLaw, wait: Wait, model: StageModel | None) -> Floats:
        """Log standard days of a stage not yet begun (n,)."""
        stage = wait.stages[number].name
        shared = self._normal(stage, "sowing", wait.sowing) * law.sowing_sd
        shared = shared * self._stretch(stage, "sowing", law.unsure[2])
        own = self.rng.standard_normal(self.points) * law.tray_sd * self._stretch(stage, "tray", law.unsure[3])
        return law.mu + self._off(stage, law, wait, model) + shared + own

    def _off(self, stage: str, law: StageLaw, wait: Wait, model: StageModel | None) -> Floats:
        return np.zeros(self.points) if model is None else self._level(stage, law, wait, model)

    def _level(self, stage: str, law: StageLaw, wait: Wait, model: StageModel) -> Floats:
        """What this farm, the recipe, the lot and the season make of it, off what is likely. [log d]"""
        sds = model.sds()
        if model.fit is None:
            known = self._normal(stage, "house") * priors.STAGE_HOUSE
            known = known + self._normal(stage, "recipe", wait.recipe.name) * priors.rms(priors.STAGE_SPREADS["recipe"])
            new = [self._unmet(stage, term, wait, model) * sds[term] for term in STAGE_GROWING]
            return law.scale * (known + sum(new))
        drawn = self._drawn(f"stage {stage}", lambda: _drawn_effects(model.fit, self.rng, self.points))
        levels = model.coded([StageAsked(recipe=wait.recipe, lot=wait.lot, season=wait.season)])
        eta = drawn["fixed"][:, 0]
        eta = eta + self._normal(stage, "recipe more", wait.recipe.name) * model.recipe_more(wait.recipe)
        for term, level in levels.items():
            if level[0] != NEW:
                eta = eta + drawn[term][:, level[0]]
            else:
                sd = float(model.fit.spreads.terms[term])
                eta = eta + self._unmet(stage, term, wait, model) * sd
        return law.scale * eta - (law.mu - law.usual)

    def _unmet(self, stage: str, term: str, wait: Wait, model: StageModel) -> Floats:
        """The luck of a level not met yet, in standard deviations (n,)."""
        stretch = self._stretch(stage, term, model.unsure.get(term, 0.0))
        return np.asarray(self._normal(stage, term, self._name(term, wait)) * stretch)

    @staticmethod
    def _name(term: str, wait: Wait) -> str:
        return {"recipe": wait.recipe.name, "lot": wait.lot or f"of {wait.recipe.crop}", "season": wait.season}[term]

    # How much --------------------------------------------------------------------------------------------------------

    def _grams(self, one: _One) -> Floats:
        if one.asked is None:
            return np.full(self.points, np.nan)
        model = self.outlook.yields
        belief, share = model.belief(one.asked.recipe), model.share(one.asked.recipe)
        known = self._believed(one, share) if model.fit is None else self._learned(one, model, share)
        tray = self.rng.standard_normal(self.points) * model.sds()["tray"] * share
        tray *= self._stretch("grams", "tray", model.unsure["tray"])
        return np.asarray(np.exp(math.log(one.asked.recipe.tray.area_cm2) + belief.mu + known + tray))

    def _learned(self, one: _One, model: YieldModel, share: float) -> Floats:
        """What is known, and the luck of levels not met yet. [log g/cm2 off the published]"""
        assert one.asked is not None
        drawn = self._drawn("yields", lambda: self._yield_effects(model))
        fixed, levels, columns = model.design([one.asked])
        total = drawn["fixed"] @ fixed[0]
        sds = model.sds()
        for term, level in levels.items():
            column = float(columns[term][0, 0]) if term in columns else 1.0
            if level[0] != NEW:
                place = self._met[int(level[0])] if term == "sowing" else int(level[0])
                total = np.asarray(total + drawn[term][:, place] * column)
            elif term in GROWING:
                seed = model.seed_sd(one.asked) if term == "lot" else 0.0
                total = total + self._new(term, one) * math.hypot(sds[term] * share, seed)
        return np.asarray(total)

    def _yield_effects(self, model: YieldModel) -> Mapping[str, Floats]:
        """Effects of the levels met; of the many sowings only those that still stand are drawn."""
        assert model.fit is not None
        sowings = sorted({model.levels.known("sowing", self.outlook.wait(tray).sowing)
                          for tray in self.outlook.state.growing()} - {NEW})  # fmt: skip
        self._met = {level: at for at, level in enumerate(sowings)}
        wanted = {term: np.arange(len(names)) for term, names in model.names.items()}
        wanted["sowing"] = np.array(sowings, dtype=np.int64)
        return _drawn_effects(model.fit, self.rng, self.points, wanted)

    def _believed(self, one: _One, share: float) -> Floats:
        assert one.asked is not None
        recipe, belief = one.asked.recipe, self.outlook.yields.belief(one.asked.recipe)
        (slope, slope_sd), (bend, _) = FIXED_PRIOR[DENSITY], FIXED_PRIOR[DENSITY_SQUARED]
        density = one.asked.log_density
        total = (slope + slope_sd * self._normal("density")) * density + bend * density**2
        if belief.own:
            off = priors.WORD_TOGETHER * self._normal("words") + priors.WORD_APART * self._normal("word", recipe.name)
            total = total + belief.level_sd * off
        else:
            total = total + self._normal("crop", recipe.crop) * belief.level_sd
            total = total + self._normal("house") * priors.HOUSE_SD
            total = total + self._normal("recipe", recipe.name) * priors.rms(priors.YIELD_SPREADS["recipe"])
            total = total + self._normal("medium", recipe.medium.name) * priors.MEDIUM_SD
        lot = math.hypot(priors.LOT_SD * share, self.outlook.yields.seed_sd(one.asked))
        sds = {"lot": lot, "season": priors.SEASON_SD * share, "sowing": priors.SOWING_SD * share}
        return total + sum(self._new(term, one) * sd for term, sd in sds.items())

    def _new(self, term: str, one: _One) -> Floats:
        name = one.wait.sowing if term == "sowing" else self._name(term, one.wait)
        return np.asarray(
            self._normal("grams", term, name) * self._stretch("grams", term, self.outlook.yields.unsure[term])
        )

    # Whether ---------------------------------------------------------------------------------------------------------

    def _lost(self, one: _One, ready: Floats) -> Floats:
        """1 where it is lost in the time it still has to grow, else 0; what is held back counts as lost."""
        if hold_of(one.tray):
            return np.ones(self.points)
        if not one.wait.stages:
            return np.zeros(self.points)
        chance = 1 / (1 + np.exp(-self._loss_logit(one)))
        whole = one.wait.recipe.days_to_ready
        ahead = np.maximum(ready - max(0.0, (one.wait.since - self.outlook.at) / DAY), 0.0)
        left = np.clip(ahead / whole, 0.0, 1.0) if whole > 0 else np.ones(self.points)
        return (self.rng.random(self.points) < chance * left / (1 - chance * (1 - left))).astype(float)

    def _loss_logit(self, one: _One) -> Floats:
        model, wait = self.outlook.losses, one.wait
        sds = model.sds()
        logit = USUAL + self._normal("lost", "sowing", wait.sowing) * sds["sowing"]
        if model.fit is None:
            logit = logit + self._normal("lost", "house") * priors.LOSS_LEVEL_SD
            levels: dict[str, Ints] = {}
        else:
            levels = model.coded([wait.recipe], [wait.season])
            drawn = self._drawn("losses", lambda: _drawn_effects(model.fit, self.rng, self.points))
            logit = logit + drawn["fixed"][:, 0]
        for term in ("recipe", "season"):
            level = int(levels[term][0]) if term in levels else NEW
            if level != NEW:
                logit = logit + drawn[term][:, level]
            else:
                logit = logit + self._normal("lost", term, self._name(term, wait)) * sds[term]
        return logit

    # Chance ----------------------------------------------------------------------------------------------------------

    def _drawn(self, what: str, make: Any) -> Mapping[str, Floats]:
        if what not in self._levels:
            self._levels[what] = make()
        return self._levels[what]

    def _uniform(self, *key: object) -> Floats:
        if key not in self._uniforms:
            self._uniforms[key] = self.rng.random(self.points).clip(1e-12, 1 - 1e-12)
        return self._uniforms[key]

    def _stretch(self, what: str, term: str, error: float) -> Floats:
        """How many times wider than thought a spread is, in each scenario (n,): nobody knows spreads for sure."""
        return np.asarray(np.exp(error * self._normal("spread", what, term)))

    def _normal(self, *key: object) -> Floats:
        found = self._uniforms.get(("normal", *key))
        if found is None:
            found = self._uniforms["normal", *key] = self.rng.standard_normal(self.points)
        return found


class _ManyChances:
    """The luck of many sowings of one recipe at once: case after case, and in each sowing after sowing."""

    def __init__(self, drawing: _Drawing, count: int) -> None:
        self._drawing, self._count = drawing, count
        self.points = drawing.points * count

    def sowing(self, law: StageLaw, wait: Wait, model: StageModel | None, seen: Intervals | None) -> Floats:  # noqa: ARG002
        """What a sowing's trays have in common in the first stage, on the model's scale (n,)."""
        drawing, stage = self._drawing, wait.stages[0].name
        level = (law.mu - law.usual + drawing._off(stage, law, wait, model)) / law.scale
        sd = law.sowing_sd / law.scale * drawing._stretch(stage, "sowing", law.unsure[2])
        return self._each(level) + self._each(sd) * self._luck()

    def own(self) -> Floats:
        """A tray's own luck in the first stage, uniform (n,)."""
        return self._drawing.rng.random(self.points).clip(1e-12, 1 - 1e-12)

    def own_sd(self, law: StageLaw, wait: Wait) -> Floats:
        """How much single trays differ in the first stage, in each case (n,). [log d]"""
        return self._each(self._drawing.own_sd(law, wait))

    def later(self, number: int, law: StageLaw, wait: Wait, model: StageModel | None) -> Floats:
        """Log standard days of a later stage (n,)."""
        drawing, stage = self._drawing, wait.stages[number].name
        shared = law.sowing_sd * drawing._stretch(stage, "sowing", law.unsure[2])
        own = law.tray_sd * drawing._stretch(stage, "tray", law.unsure[3])
        level = law.mu + drawing._off(stage, law, wait, model)
        return self._each(level) + self._each(shared) * self._luck() + self._each(own) * self._luck()

    def _each(self, value: Floats) -> Floats:
        return np.repeat(np.broadcast_to(value, (self._drawing.points,)), self._count)

    def _luck(self) -> Floats:
        return self._drawing.rng.standard_normal(self.points)


def _beside(parts: Sequence[Draws]) -> Draws:
    """Draws of the same cases, one after the other."""
    most = max(part.stage_days.shape[2] for part in parts)
    wide = [np.pad(one.stage_days, ((0, 0), (0, 0), (0, most - one.stage_days.shape[2])), constant_values=np.nan)
            for one in parts]  # fmt: skip
    return Draws(
        at=parts[0].at,
        recipes=tuple(name for one in parts for name in one.recipes),
        trays=tuple(name for one in parts for name in one.trays),
        sowing=np.concatenate([one.sowing for one in parts]),
        stages=tuple(names for one in parts for names in one.stages),
        stage_days=np.concatenate(wide, axis=1),
        ready_days=np.concatenate([one.ready_days for one in parts], axis=1),
        grams=np.concatenate([one.grams for one in parts], axis=1),
        growth_a_day=np.concatenate([one.growth_a_day for one in parts]),
        lost=np.concatenate([one.lost for one in parts], axis=1),
    )


def _drawn_effects(fitted: Any, rng: Generator, n: int, *wanted: Mapping[str, Ints]) -> Mapping[str, Floats]:
    """Effects of all levels, or of those wanted, (n, levels) by term, and the fixed coefficients (n, p)."""
    drawn = fitted.draw(rng, n, *wanted)
    flat = {name: array[:, :, 0] if array.ndim == 3 else array for name, array in drawn.effects.items()}
    return {"fixed": drawn.fixed, **flat}


def _columns(arrays: Sequence[Floats], n: int) -> Floats:
    return np.column_stack(arrays) if arrays else np.zeros((n, 0))
