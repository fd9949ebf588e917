"""A grow room whose true biology the software does not see.

A world decides how long each stage of each tray really takes, what the tray weighs on the day it is ready, and whether
mould takes it. The same seed number gives the same world, tray by tray, whatever is asked first.

The sizes of the effects are made up for our own farm, and stand between what published sources disagree on (yields of
one crop differ two to four times between sources) and what one careful farm sees from week to week.
"""

from __future__ import annotations

import math
import random
from datetime import datetime, timedelta

import msgspec

from trayward.farm.recipes import Recipe, Stage
from trayward.outlook.priors import stage_belief


class Effects(msgspec.Struct, frozen=True, kw_only=True):
    """How much trays differ: standard deviations of the natural log; of stages, in units of the recipe's range. [-]"""

    recipe: float = 0.18
    """How far this farm's usual weight lies from the recipe's own figure."""
    lot: float = 0.08
    sowing: float = 0.10
    tray: float = 0.08
    stage_recipe: float = 0.6
    """The three of stages make about one together: of a world's trays 8 in 10 keep within what the recipe says."""
    stage_sowing: float = 0.6
    stage_tray: float = 0.5
    loss: float = 0.015
    """Share of trays lost to mould."""


class TrayTruth(msgspec.Struct, frozen=True, kw_only=True):
    """What one tray will really do, if it is looked after."""

    stage_days: dict[str, float]
    """True length of each stage. [d]"""
    grams: float
    """Weight on the day it is ready. [g]"""
    lost_in: str = ""
    """The stage in which mould takes it; empty: none."""


class SeedLabel(msgspec.Struct, frozen=True, kw_only=True):
    """What a bag of seed says of itself."""

    germination: float
    tsw_g: float
    """Weight of a thousand seeds. [g]"""
    cost: float
    """Price of the bag. [farm's currency]"""


class World:
    """True biology, from a seed number."""

    def __init__(self, seed: int, effects: Effects | None = None) -> None:
        self.seed = seed
        self.effects = effects or Effects()

    def tray(self, recipe: Recipe, sowing: str, tray: str, lot: str) -> TrayTruth:
        """The truth of one tray.

        Parameters
        ----------
        recipe : Recipe
            What it was sown to.
        sowing, tray, lot : str
            Names; trays that share one share its effect.
        """
        usual = _usual_grams(recipe)
        log_grams = math.log(usual) + sum(
            (
                self._normal("grams", "recipe", recipe.name) * self.effects.recipe,
                self._normal("grams", "lot", lot) * self.effects.lot,
                self._normal("grams", "sowing", sowing) * self.effects.sowing,
                self._normal("grams", "tray", tray) * self.effects.tray,
            )
        )
        lengths = {stage.name: self._stage_days(stage, recipe.name, sowing, tray) for stage in recipe.growing_stages}
        lost = self._uniform("loss", tray) < self.effects.loss
        late = recipe.growing_stages[-1].name
        return TrayTruth(stage_days=lengths, grams=math.exp(log_grams), lost_in=late if lost else "")

    def _stage_days(self, stage: Stage, recipe: str, sowing: str, tray: str) -> float:
        """A recipe says within what 8 of 10 trays lie; in this world that is true."""
        belief = stage_belief(stage)
        if belief is None:
            return stage.days_typical
        log_factor = belief.sd * sum(
            (
                self._normal(stage.name, "recipe", recipe) * self.effects.stage_recipe,
                self._normal(stage.name, "sowing", sowing) * self.effects.stage_sowing,
                self._normal(stage.name, "tray", tray) * self.effects.stage_tray,
            )
        )
        return stage.days_typical * math.exp(log_factor)

    def is_dry(self, tray: str, at: datetime) -> bool:
        """Whether a tray looks dry at a round: about one look in four."""
        return self._uniform("dry", tray, at.isoformat()) < 0.25

    def air(self, room: str, at: datetime) -> tuple[float, float]:
        """Temperature [°C] and relative humidity [%] of a room at a moment."""
        key = (room, at.isoformat())
        return round(20.5 + 0.9 * self._normal("warm", *key), 1), round(58.0 + 4.0 * self._normal("damp", *key))

    def seed_label(self, crop: str, lot: str, tsw_g: float) -> SeedLabel:
        """What is printed on a bag of seed: thousands differ a little in weight and life from bag to bag."""
        germination = min(0.99, 0.92 + 0.025 * self._normal("germination", lot))
        weight = tsw_g * math.exp(0.05 * self._normal("tsw", lot))
        return SeedLabel(germination=round(germination, 2), tsw_g=round(weight, 3), cost=round(18.0 + len(crop), 2))

    def _generator(self, *key: str) -> random.Random:
        return random.Random(f"{self.seed}|{'|'.join(key)}")

    def _normal(self, *key: str) -> float:
        return self._generator(*key).gauss(0.0, 1.0)

    def _uniform(self, *key: str) -> float:
        return self._generator(*key).random()


def stage_is_over(truth: TrayTruth, stage: str, since: datetime, at: datetime) -> bool:
    """Whether the cue that ends a stage can be seen at a moment."""
    days = truth.stage_days.get(stage)
    return days is not None and at - since >= timedelta(days=days)


def grown(truth: TrayTruth, recipe: Recipe, days_ready: float) -> float:
    """Weight after a tray has stood ready for some days. [g]"""
    return truth.grams * (1.0 + recipe.growth_a_day * max(days_ready, 0.0))


def _usual_grams(recipe: Recipe) -> float:
    prior = recipe.yield_prior
    for grams in (prior.typical_g, prior.low_g, prior.high_g):
        if grams is not None:
            return grams
    # A recipe nobody gave a weight for still grows something: about 0.12 g of greens on each cm2.
    return 0.12 * recipe.tray.area_cm2
