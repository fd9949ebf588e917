"""Farms whose truth is known, made as states outright so that hundreds are cheap: what the outlook's doubt is held to.

A field draws what is true of one farm (its own effect, its crops', lots', seasons', sowings' and trays', and how much
each of these differ) from what `outlook.priors` believes, or off it where asked, and lets a grower look twice a day.
The grower sees a stage end at a look only, misses looks, answers for a whole sowing at once, and mistypes a weight now
and then. The same generator gives the same field; a field can be seen as its book stood at any moment.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from datetime import UTC, datetime, time, timedelta

import msgspec
import numpy as np
from numpy.random import Generator

from trayward.farm.places import Shelf
from trayward.farm.recipes import Medium, Recipe, Stage, YieldPrior
from trayward.farm.settings import FarmSettings, RoundTime
from trayward.farm.state import FarmState, Reading, Sowing, StageStep, Tray
from trayward.library.recipes import standard_recipe
from trayward.outlook import priors
from trayward.outlook.clock import Climate
from trayward.outlook.priors import stage_belief, yield_belief
from trayward.outlook.rows import season_of
from trayward.outlook.terms import SdPrior
from trayward.outlook.yields import BLACKOUT, DENSITY, DENSITY_SQUARED, FIXED_PRIOR, WAITED, WARMTH

DAY = timedelta(days=1)
BEGIN = datetime(2025, 9, 1, 7, 0, tzinfo=UTC)
GAP = DAY / 2
"""From one look to the next."""
ROUNDS = (RoundTime(name="morning", at=time(7, 0)), RoundTime(name="evening", at=time(19, 0)))
LOT_SOWINGS = 12
"""Sowings of a crop that one bag of seed lasts for. [-]"""


class Habits(msgspec.Struct, frozen=True, kw_only=True):
    """How a farm works and keeps its book; the figures are made up."""

    sowings_a_week: int = 4
    most_trays: int = 7
    """Trays of a sowing are 1 to this many, all alike likely. [-]"""
    missed: float = 0.10
    """Share of looks that are missed. [-]"""
    together: float = 0.0
    """Share of sowings whose trays are answered for together, when the middle one is over. [-]"""
    logs_warmth: bool = False
    densities: bool = True
    """Some sowings are sown thinner or thicker than the recipe."""
    mistyped: float = 0.002
    """Share of weights with the point one place off. [-]"""


class Off(msgspec.Struct, frozen=True, kw_only=True):
    """How far the truth lies from what is believed."""

    spreads: float = 1.0
    """Every spread is so many times what it would be. [-]"""
    level: float = 1.0
    """Trays weigh so many times what is printed. [-]"""
    skewed: bool = False
    """What is a tray's own is skewed (a gamma's log, third moment below zero) instead of normal."""
    known: bool = False
    """Spreads are the beliefs' medians themselves, not drawn about them."""


class Spreads(msgspec.Struct, frozen=True):
    """What is true of how much levels differ: yields [log g], stages in units of a recipe's range [-], losses [-]."""

    yields: dict[str, float]
    stages: dict[str, dict[str, float]]
    losses: dict[str, float]


class Grown(msgspec.Struct, kw_only=True):
    """One tray's truth, and how it went."""

    tray: str
    sowing: str
    recipe: Recipe
    lot: str
    sown_at: datetime
    density: float | None
    """Live seeds. [1/cm2]"""
    steps: list[StageStep] = []
    looks: list[list[datetime]] = []
    """Of each step, the looks that said "not yet"."""
    ready: datetime | None = None
    """When its last growing stage was truly over."""
    seen_after: datetime | None = None
    """The last look before it was seen ready."""
    grams: float = 0.0
    """On the day it is ready. [g]"""
    written_g: float = 0.0
    """As it was written down at the cut. [g]"""
    ended_at: datetime | None = None
    lost: bool = False

    @property
    def log_density(self) -> float:
        """Log of the density over the recipe's. [-]"""
        return math.log(self.density / self.recipe.live_seeds_per_cm2) if self.density else 0.0


def usual_recipes() -> dict[str, Recipe]:
    """The recipes of a field: some of the library, one crop on two media, one with the farm's own word, one unknown."""
    found = [standard_recipe(crop) for crop in ("broccoli", "radish", "pea", "mustard", "mizuna")]
    coir = msgspec.structs.replace(found[0], name="broccoli coir", medium=Medium(name="coir"))
    said = YieldPrior(typical_g=180.0, source=priors.FARMS_OWN)
    mine = msgspec.structs.replace(standard_recipe("arugula"), name="arugula", yield_prior=said)
    return {recipe.name: recipe for recipe in (*found, coir, mine)}


def drawn_spreads(rng: Generator, off: Off, stages: tuple[str, ...]) -> Spreads:
    """Spreads as they are believed, or off that."""

    def one(prior: SdPrior) -> float:
        luck = 0.0 if off.known else rng.standard_normal()
        return off.spreads * prior.median * math.exp(prior.log_sd * luck)

    return Spreads(
        {term: one(prior) for term, prior in priors.YIELD_SPREADS.items()},
        {stage: {term: one(prior) for term, prior in priors.STAGE_SPREADS.items()} for stage in stages},
        {term: one(prior) for term, prior in priors.LOSS_SPREADS.items()},
    )


class Field:
    """
    One farm with known truth.

    Parameters
    ----------
    rng : numpy.random.Generator
        Where chance comes from.
    trays : int
        It runs until so many trays have ended, and some sowings longer.
    habits, off : optional
        How the farm works; how far its truth lies from what is believed.
    recipes : mapping, optional
        Its recipes by name.
    """

    def __init__(
        self,
        rng: Generator,
        trays: int,
        habits: Habits | None = None,
        off: Off | None = None,
        recipes: dict[str, Recipe] | None = None,
    ) -> None:
        self.rng, self.habits, self.off = rng, habits or Habits(), off or Off()
        self.recipes = recipes or usual_recipes()
        stages = dict.fromkeys(stage.name for recipe in self.recipes.values() for stage in recipe.growing_stages)
        self.spreads = drawn_spreads(rng, self.off, tuple(stages))
        self.slopes = {name: mean + sd * rng.standard_normal() for name, (mean, sd) in FIXED_PRIOR.items()}
        self._effects: dict[tuple[str, ...], float] = {}
        self.settings = FarmSettings(name="Lantern Loft", rounds=ROUNDS)
        self.shelves = {"A1": Shelf(name="A1", rack="A", room="loft", kind="lit", spots=9)}
        days = 7 * (trays / (self.habits.sowings_a_week * (self.habits.most_trays + 1) / 2)) + 60
        self._readings = self._warmths(int(days) + 60) if self.habits.logs_warmth else []
        self._climate = Climate(FarmState(shelves=self.shelves, readings=self._readings))
        self.grown: list[Grown] = []
        self._sow(days)
        self._born = [one.sown_at for one in self.grown]
        self.ends = sorted(one.ended_at for one in self.grown if one.ended_at is not None)

    # What is true ----------------------------------------------------------------------------------------------------

    def effect(self, *key: str, sd: float) -> float:
        """The effect of one level, drawn when it is first met."""
        if key not in self._effects:
            self._effects[key] = sd * self.rng.standard_normal()
        return self._effects[key]

    def _tray_luck(self) -> float:
        if not self.off.skewed:
            return float(self.rng.standard_normal())
        # The log of a gamma of shape 2: skewness -0.78; mean psi(2) = 0.4228, variance psi'(2) = 0.6449 (from memory).
        return (math.log(self.rng.gamma(2.0)) - 0.4228) / math.sqrt(0.6449)

    def shared(self, one: Grown) -> float:
        """Log grams a cm2 that a tray's recipe, lot, season and sowing make of it, density and warmth left out."""
        recipe, spreads, belief = one.recipe, self.spreads.yields, yield_belief(one.recipe)
        season = str(season_of(one.sown_at.date()))
        total = belief.mu + math.log(self.off.level)
        if belief.own:
            off = self.effect("grams", "words", sd=priors.WORD_TOGETHER)
            off += self.effect("grams", "word", recipe.name, sd=priors.WORD_APART)
            total += belief.level_sd * off
        else:
            total += self.effect("grams", "crop", recipe.crop, sd=belief.level_sd)
            total += self.effect("grams", "house", sd=priors.HOUSE_SD)
            total += self.effect("grams", "recipe", recipe.name, sd=spreads["recipe"])
            total += self.effect("grams", "medium", recipe.medium.name, sd=priors.MEDIUM_SD)
        total += self.effect("grams", "lot", one.lot, sd=spreads["lot"])
        total += self.effect("grams", "season", season, sd=spreads["season"])
        return total + self.effect("grams", "sowing", one.sowing, sd=spreads["sowing"])

    def _weigh(self, one: Grown) -> None:
        recipe, total = one.recipe, self.shared(one)
        total += self.slopes[DENSITY] * one.log_density + self.slopes[DENSITY_SQUARED] * one.log_density**2
        total += self.slopes[WARMTH] * self._log_pace(one) + self.slopes[BLACKOUT] * _blackout_extra(one)
        total += self._tray_luck() * self.spreads.yields["tray"]
        one.grams = math.exp(total) * recipe.tray.area_cm2

    def _log_pace(self, one: Grown) -> float:
        standard = days = 0.0
        for step in one.steps[:-1]:
            stage = one.recipe.stage(step.stage)
            if step.until is not None and self._climate.warmth_of("loft", stage.base_c, stage.at_c) is not None:
                standard += self._climate.standard_days("loft", stage.base_c, stage.at_c, step.since, step.until)
                days += (step.until - step.since) / DAY
        return math.log(standard / days) if days > 0 else 0.0

    def stage_days(self, one: Grown, stage: Stage) -> float:
        """True length of a stage. [standard d]"""
        belief = stage_belief(stage)
        if belief is None or belief.by_clock:
            return stage.days_typical
        sds, season = self.spreads.stages[stage.name], str(season_of(one.sown_at.date()))
        eta = self.effect(stage.name, "house", sd=priors.STAGE_HOUSE)
        for term, name in (("recipe", one.recipe.name), ("lot", one.lot), ("season", season), ("sowing", one.sowing)):
            eta += self.effect(stage.name, term, name, sd=sds[term])
        return math.exp(belief.mu + belief.sd * (eta + self._tray_luck() * sds["tray"]))

    def _chance_lost(self, one: Grown) -> float:
        sds, season = self.spreads.losses, str(season_of(one.sown_at.date()))
        logit = math.log(priors.LOSS_SHARE / (1 - priors.LOSS_SHARE))
        logit += self.effect("lost", "house", sd=priors.LOSS_LEVEL_SD)
        for term, name in (("recipe", one.recipe.name), ("season", season), ("sowing", one.sowing)):
            logit += self.effect("lost", term, name, sd=sds[term])
        return 1 / (1 + math.exp(-logit))

    def _warmths(self, days: int) -> list[Reading]:
        """A room's temperature at each look: the year, the week and the day move it. [°C]"""
        count, drift = 2 * days, 0.0
        found = []
        for number in range(-20, count):
            drift = 0.95 * drift + 0.35 * self.rng.standard_normal()
            value = 20.5 + 1.5 * math.sin(2 * math.pi * number / 730) + drift + 0.4 * self.rng.standard_normal()
            found.append(Reading(at=BEGIN + GAP * number, what="temperature", value=value, where="loft"))
        return found

    # How it went -----------------------------------------------------------------------------------------------------

    def _sow(self, days: float) -> None:
        names = list(self.recipes)
        of_crop: dict[str, int] = {}
        number = 0
        for week in range(int(days / 7) + 1):
            chosen = self.rng.choice(len(names), size=min(self.habits.sowings_a_week, len(names)), replace=False)
            for at, pick in enumerate(chosen):
                recipe = self.recipes[names[int(pick)]]
                number, met = number + 1, of_crop.get(recipe.crop, 0)
                of_crop[recipe.crop] = met + 1
                sown = BEGIN + DAY * (7 * week + at) + timedelta(hours=2)
                self._sow_one(recipe, f"s{number}", f"{recipe.crop} {met // LOT_SOWINGS}", sown)

    def _sow_one(self, recipe: Recipe, sowing: str, lot: str, sown: datetime) -> None:
        rng, usual = self.rng, recipe.live_seeds_per_cm2
        density = (
            usual * math.exp(0.3 * rng.standard_normal()) if self.habits.densities and rng.random() < 0.4 else usual
        )
        trays = [
            Grown(tray=f"{sowing}.{number}", sowing=sowing, recipe=recipe, lot=lot, sown_at=sown, density=density)
            for number in range(1, int(rng.integers(1, self.habits.most_trays + 1)) + 1)
        ]
        together = rng.random() < self.habits.together
        began = {one.tray: sown for one in trays}
        for stage in recipe.growing_stages:
            over = {one.tray: self._over(one, stage, began[one.tray]) for one in trays}
            if together:
                middle = sorted(over.values())[len(trays) // 2]
                over = dict.fromkeys(over, middle)
            looks = self._looks(max(over.values()))
            for one in trays:
                began[one.tray] = self._seen(one, stage, began[one.tray], over[one.tray], looks)
        for one in trays:
            self._end(one, began[one.tray])
        self.grown += trays

    def _over(self, one: Grown, stage: Stage, since: datetime) -> datetime:
        days = self._climate.calendar_days(
            "loft", stage.base_c, stage.at_c, since, np.array([self.stage_days(one, stage)])
        )
        return since + DAY * min(float(days[0]), 60.0)

    def _looks(self, last: datetime) -> set[datetime]:
        """Looks at a sowing that are missed, up to some after it is over."""
        upto = int((last - BEGIN) / GAP) + 10
        missed = self.rng.random(60) < self.habits.missed
        return {BEGIN + GAP * (upto - at) for at in range(60) if missed[at]}

    def _seen(self, one: Grown, stage: Stage, since: datetime, over: datetime, missed: set[datetime]) -> datetime:
        """Write down a stage that is over at a moment, as the grower saw it; gives when it was seen."""
        if not stage.cue:
            one.steps.append(StageStep(stage=stage.name, since=since, until=over, spot="A1.1"))
            one.looks.append([])
            return over
        seen: list[datetime] = []
        at = BEGIN + GAP * math.floor((since - BEGIN) / GAP + 1)
        while at < over or at in missed:
            if at < over and at not in missed:
                seen.append(at)
            at += GAP
        step = StageStep(stage=stage.name, since=since, until=at, spot="A1.1")
        if seen:
            step.last_not_yet = seen[-1]
        one.steps.append(step)
        one.looks.append(seen)
        one.ready, one.seen_after = over, (seen[-1] if seen else since)
        return at

    def _end(self, one: Grown, ready: datetime) -> None:
        one.steps.append(StageStep(stage=one.recipe.stages[-1].name, since=ready, spot="A1.1"))
        one.looks.append([])
        rng = self.rng
        one.lost = rng.random() < self._chance_lost(one)
        if one.lost:
            one.ended_at = one.sown_at + (ready - one.sown_at) * float(rng.uniform(0.2, 1.0))
            return
        self._weigh(one)
        waited = int(rng.integers(0, one.recipe.cut_window_days + 1))
        slope = math.log1p(one.recipe.growth_a_day) + self.slopes[WAITED]
        one.ended_at = ready + DAY * waited
        slip = (0.1 if rng.random() < 0.5 else 10.0) if rng.random() < self.habits.mistyped else 1.0
        one.written_g = slip * one.grams * math.exp(slope * waited)

    # How the book stood ----------------------------------------------------------------------------------------------

    def moment_of(self, ended: int) -> datetime:
        """The first moment at which so many trays have ended."""
        return self.ends[ended - 1] if ended else BEGIN

    def state(self, at: datetime) -> FarmState:
        """The farm as its book stood at a moment."""
        trays = [self._as_of(one, at) for one in self.grown[: bisect_left(self._born, at)]]
        done = sorted(
            (tray for tray in trays if tray.ended_at is not None), key=lambda tray: (tray.ended_at, tray.tray)
        )
        return FarmState(
            settings=self.settings,
            shelves=dict(self.shelves),
            recipes=dict(self.recipes),
            sowings=self._sowings(trays),
            ended={tray.tray: tray for tray in done},
            trays={tray.tray: tray for tray in trays if tray.ended_at is None},
            readings=[reading for reading in self._readings if reading.at <= at],
            horizon=at,
        )

    @staticmethod
    def _sowings(trays: list[Tray]) -> dict[str, Sowing]:
        found: dict[str, Sowing] = {}
        for tray in trays:
            found.setdefault(
                tray.sowing,
                Sowing(
                    sowing=tray.sowing,
                    recipe=tray.recipe,
                    crop=tray.crop,
                    sown_at=tray.sown_at,
                    trays=(),
                    lots=dict.fromkeys(tray.lots, 1.0),
                ),
            )
        return found

    @staticmethod
    def _as_of(one: Grown, at: datetime) -> Tray:
        ended = one.ended_at is not None and one.ended_at <= at
        now = one.ended_at if ended and one.ended_at is not None else at
        steps = [
            _step_as_of(step, looks, now) for step, looks in zip(one.steps, one.looks, strict=True) if step.since <= now
        ]
        return Tray(
            tray=one.tray,
            sowing=one.sowing,
            recipe=one.recipe.name,
            crop=one.recipe.crop,
            sown_at=one.sown_at,
            seed_g=1.0,
            lots=(one.lot,),
            live_seeds_per_cm2=one.density,
            fate=("discarded" if one.lost else "cut") if ended else "growing",
            steps=steps,
            ended_at=one.ended_at if ended else None,
            grams=one.written_g if ended and not one.lost else None,
            stripped=ended,
            reason="mould" if ended and one.lost else "",
        )


def _blackout_extra(one: Grown) -> float:
    """Days under a blackout cover beyond the recipe's. [d]"""
    covered = {stage.name: stage.days_typical for stage in one.recipe.growing_stages if stage.cover == "blackout"}
    return sum(
        (step.until - step.since) / DAY - covered[step.stage]
        for step in one.steps
        if step.stage in covered and step.until is not None
    )


def _step_as_of(step: StageStep, looks: list[datetime], at: datetime) -> StageStep:
    if step.until is not None and step.until <= at:
        return step
    seen = [look for look in looks if look <= at]
    return msgspec.structs.replace(step, until=None, last_not_yet=seen[-1] if seen else None)
