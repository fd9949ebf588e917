"""What the records say takes seconds to work out: long work for another process, one job for each page."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import msgspec

from trayward.bootstrap import Farm
from trayward.desk.learning import Loss, RecipeLesson, StageLesson
from trayward.errors import Finding
from trayward.web.work import job

if TYPE_CHECKING:
    from trayward.outlook.learning.density import DensityResponse
    from trayward.outlook.learning.drift import Drift
    from trayward.outlook.learning.effects import LotEffect
    from trayward.outlook.learning.shares import Spread
    from trayward.outlook.learning.standouts import StandOuts
    from trayward.outlook.learning.trials import TrialSaid
    from trayward.outlook.learning.worth_trying import NextTrial
    from trayward.outlook.types import Calibration

WEEKS = 12
"""How far back promises are held against what happened. [weeks]"""


class RecipesLearned(msgspec.Struct, frozen=True, kw_only=True):
    """Weights, days and losses by recipe, and what was left out of them."""

    lessons: tuple[RecipeLesson, ...]
    losses: tuple[Loss, ...]
    left_out: tuple[Finding, ...]


class Apart(msgspec.Struct, frozen=True, kw_only=True):
    """What makes trays differ: causes, lots, and the weeks."""

    spread: Spread
    stand_outs: tuple[StandOuts, ...]
    stages: tuple[StageLesson, ...]
    lots: tuple[LotEffect, ...]
    drift: Drift


class Trials(msgspec.Struct, frozen=True, kw_only=True):
    """The trial worth making, and what those under way say so far."""

    proposed: NextTrial
    said: tuple[TrialSaid, ...]


def recipes(farm: Farm, at: datetime) -> RecipesLearned:
    """What each recipe gives here."""
    return RecipesLearned(lessons=farm.recipes_learned(at), losses=farm.losses(at), left_out=farm.outlook_findings(at))


def apart(farm: Farm, at: datetime) -> Apart:
    """What makes trays differ."""
    return Apart(
        spread=farm.spread(at), stand_outs=farm.stand_outs(at), stages=farm.stage_learning(at),
        lots=farm.lot_effects(at), drift=farm.drift(at),
    )  # fmt: skip


def density(farm: Farm, at: datetime, *, recipe: str) -> DensityResponse:
    """How a recipe's weight answers to density."""
    return farm.density_response(recipe, at)


def promises(farm: Farm, at: datetime) -> Calibration:
    """Whether past ranges held."""
    return farm.calibration(at, weeks=WEEKS)


def trials(farm: Farm, at: datetime) -> Trials:
    """The trial worth making, and those under way."""
    said = tuple(farm.trial_said(name, at) for name in farm.state(at).trials)
    return Trials(proposed=farm.next_trial(at), said=said)


job("learn-recipes", recipes)
job("learn-apart", apart)
job("learn-density", density)
job("learn-promises", promises)
job("learn-trials", trials)
