"""What the records say: spread, lots, drift, losses, density, and whether past ranges held."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import msgspec

from trayward.desk.lookup import recipe_named
from trayward.desk.planning import Planning
from trayward.farm.calendar import local_day
from trayward.outlook.types import Calibration, Range, TrayOutlook

if TYPE_CHECKING:
    from trayward.outlook.learning.density import DensityResponse
    from trayward.outlook.learning.drift import Drift
    from trayward.outlook.learning.effects import LotEffect
    from trayward.outlook.learning.shares import Spread
    from trayward.outlook.learning.standouts import StandOuts
    from trayward.outlook.learning.troubles import Patterns
    from trayward.plan.kept_word import KeptWord


class Loss(msgspec.Struct, frozen=True, kw_only=True):
    """How many trays of a recipe ended, how many of them were thrown away, and the chance for the next. [-]"""

    recipe: str
    ended: int
    lost: int
    chance: float


class StageLesson(msgspec.Struct, frozen=True, kw_only=True):
    """What the rounds say of the days of a stage."""

    spread: Spread
    stand_outs: StandOuts


class RecipeLesson(msgspec.Struct, frozen=True, kw_only=True):
    """A recipe as this farm's trays have taught it, beside what it began with: the published or the setup's figures.

    Weight of a tray on the day it is ready [g], None where nobody knows; days from sowing to ready. [d]
    """

    recipe: str
    crop: str
    grams: Range | None
    began_grams: Range | None
    days: Range
    began_days: Range
    cut: int
    """Own trays that the weight rests on."""
    seen: int
    """Own trays that the days rest on."""
    grams_words: str
    days_words: str


class Learning(Planning):
    """What this farm's own trays have taught. Nothing is recorded."""

    def recipes_learned(self, at: datetime) -> tuple[RecipeLesson, ...]:
        """Each recipe that is sown: what a tray weighs and how long it takes, and what was believed before any tray."""
        from trayward.outlook.ahead import untaught

        state = self.state(at)
        taught, bare = self._look_ahead(state, at), untaught(state, at)
        return tuple(
            _lesson(taught.proposed(recipe, at), bare.proposed(recipe, at), at) for recipe in state.recipes_in_use()
        )

    def spread(self, at: datetime) -> Spread:
        """What explains the spread of the weights."""
        from trayward.outlook.learning.shares import yield_spread

        return yield_spread(self.outlook(at).yields)

    def stand_outs(self, at: datetime) -> tuple[StandOuts, ...]:
        """Recipes, lots and sowing days whose weights stand out by more than chance gives."""
        from trayward.outlook.learning.standouts import yield_stand_outs

        return yield_stand_outs(self.outlook(at).yields)

    def stage_learning(self, at: datetime) -> tuple[StageLesson, ...]:
        """What explains the spread of each stage's days, and which lots are slow or quick in it."""
        from trayward.outlook.learning.of_stages import seen_of_stages, stage_spread, stage_stand_outs

        seen = seen_of_stages(self.outlook(at))
        return tuple(StageLesson(spread=stage_spread(one), stand_outs=stage_stand_outs(one)) for one in seen)

    def lot_effects(self, at: datetime) -> tuple[LotEffect, ...]:
        """What each seed lot does to the weight."""
        from trayward.outlook.learning.effects import lot_effects

        return lot_effects(self.outlook(at).yields)

    def drift(self, at: datetime) -> Drift:
        """Whether weights change slowly."""
        from trayward.outlook.learning.drift import drift_of

        return drift_of(self.outlook(at).yields)

    def losses(self, at: datetime) -> tuple[Loss, ...]:
        """Trays thrown away, by recipe; the most at risk first."""
        ahead, state = self.outlook(at), self.state(at)
        found = [
            Loss(
                recipe=recipe.name,
                ended=ahead.losses.own_trays(recipe),
                lost=ahead.losses.lost_trays(recipe),
                chance=ahead.proposed(recipe, at).loss,
            )
            for recipe in state.recipes_in_use()
        ]
        return tuple(sorted(found, key=lambda one: (-one.chance, one.recipe)))

    def trouble_patterns(self, at: datetime) -> Patterns:
        """How often each trouble comes with a crop, seed lot, shelf, density or damp air, against the rest."""
        from trayward.outlook.learning.troubles import trouble_patterns

        return trouble_patterns(self.state(at), at)

    def density_response(self, name: str, at: datetime) -> DensityResponse:
        """How the weight of a recipe (or its crop) answers to density, and which density pays best."""
        from trayward.outlook.learning.of_farm import density_response

        state = self.state(at)
        return density_response(self.outlook(at).yields, state, recipe_named(state, name), at)

    def calibration(self, at: datetime, *, weeks: int = 12) -> Calibration:
        """How often the ranges foretold in past weeks held what then happened."""
        from trayward.outlook.calibration import calibration

        return calibration(self.state(at), at, weeks=weeks)

    def kept_word(self, at: datetime) -> KeptWord:
        """How the chances that kept plans told of order lines came out."""
        from trayward.plan.kept_word import kept_word

        return kept_word(self.state(at), local_day(at, self.settings(at)))


def _lesson(taught: TrayOutlook, bare: TrayOutlook, at: datetime) -> RecipeLesson:
    return RecipeLesson(
        recipe=taught.recipe,
        crop=taught.crop,
        grams=taught.grams,
        began_grams=bare.grams,
        days=_days(taught, at),
        began_days=_days(bare, at),
        cut=taught.grams_basis.own_trays,
        seen=taught.time_basis.own_trays,
        grams_words=taught.grams_basis.words,
        days_words=taught.time_basis.words,
    )


def _days(told: TrayOutlook, at: datetime) -> Range:
    low, likely, high = (
        (moment - at).total_seconds() / 86400 for moment in (told.ready.low, told.ready.likely, told.ready.high)
    )
    return Range(low=low, likely=likely, high=high)
