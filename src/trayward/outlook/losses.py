"""The chance that a tray is thrown away before it is cut: mould, a poor stand, a dropped tray.

Trouble comes by the sowing: losses of a sowing's trays are alike more than chance would have it. Recipes and seasons
differ too. With no own tray the chance is what growers commonly see, with wide doubt.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from trayward.farm.recipes import Recipe
from trayward.outlook import priors
from trayward.outlook.counted import CountLikelihood, Counts
from trayward.outlook.grouped import Grouped
from trayward.outlook.latent import LatentFit
from trayward.outlook.latent import Spreads as LossSpreads
from trayward.outlook.latent_more import Evidence, fitted, taught
from trayward.outlook.rows import LossRow
from trayward.outlook.terms import NEW, FixedPrior, Floats, Ints

_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(21)


def mean_chance(middle: float, sd: float) -> float:
    """Mean of a chance whose logit is normal: Gauss-Hermite quadrature of 21 points. [-]"""
    chances = 1 / (1 + np.exp(-(middle + sd * _NODES)))
    return float(_WEIGHTS @ chances / _WEIGHTS.sum())


def _usual() -> float:
    """The middle logit at which the mean chance, with all that is in doubt, is what growers commonly see."""
    sds = [priors.LOSS_LEVEL_SD, *(spread.median for spread in priors.LOSS_SPREADS.values())]
    low, high = -12.0, 0.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if mean_chance(middle, math.hypot(*sds)) < priors.LOSS_SHARE else (low, middle)
    return (low + high) / 2


USUAL = _usual()


class Batches(Grouped):
    """Sowings, how many trays of each have ended and how many of these were lost; it only grows."""

    def __init__(self, recipes: Iterable[str]) -> None:
        super().__init__(recipes, ("season",))
        self.ended: Counter[int] = Counter()
        self.lost: Counter[int] = Counter()

    def take(self, rows: Iterable[LossRow]) -> None:
        """Take in how trays ended."""
        for row in rows:
            batch = self.number_of(row)
            self.ended[batch] += 1
            self.lost[batch] += row.lost

    def next(self) -> Batches:
        """Room for more sowings, the levels known so far numbered as they are."""
        other = Batches(())
        other.go_on_from(self)
        return other

    def likelihood(self) -> CountLikelihood:
        """What the numbers say of the chance."""
        lost, ended = ([of[batch] for batch in self.number.values()] for of in (self.lost, self.ended))
        counts = Counts(np.array(lost, dtype=float), np.array(ended, dtype=float))
        return CountLikelihood(counts, priors.LOSS_SPREADS["sowing"])

    def evidence(self) -> Evidence:
        """What the batches showed, as the model takes it."""
        count = len(self.number)
        terms = self.terms_of(priors.LOSS_SPREADS)
        return Evidence(self.likelihood(), np.full(count, USUAL), np.ones((count, 1)), fixed_prior_of(), terms)


def fixed_prior_of() -> FixedPrior:
    """What is believed of the level of losses before any tray; a column of ones (1,). [logit]"""
    return FixedPrior(np.zeros(1), np.array([priors.LOSS_LEVEL_SD]))


class LossLearner:
    """What the first trays of a farm teach about losses, ready for more to be added at little cost."""

    def __init__(
        self,
        recipes: Mapping[str, Recipe],
        rows: Iterable[LossRow],
        *,
        spreads: LossSpreads | None = None,
        start: Floats | None = None,
    ) -> None:
        self.recipes = recipes
        kept = [row for row in rows if row.recipe in recipes]
        self._trays = Counter(row.recipe for row in kept)
        self._lost = Counter(row.recipe for row in kept if row.lost)
        self._batches = Batches(recipes)
        self._batches.take(kept)
        self.fit: LatentFit | None = None
        if kept:
            self.fit = fitted(self._batches.evidence(), spreads, start)

    @property
    def spreads(self) -> LossSpreads | None:
        """How much recipes, seasons and sowings were found to differ."""
        return self.fit.spreads if self.fit is not None else None

    def advanced(self, rows: Iterable[LossRow]) -> LossLearner:
        """A learner that has these rows behind it too, at the spreads of this."""
        other = LossLearner.__new__(LossLearner)
        kept = [row for row in rows if row.recipe in self.recipes]
        other.recipes = self.recipes
        other._trays = self._trays + Counter(row.recipe for row in kept)
        other._lost = self._lost + Counter(row.recipe for row in kept if row.lost)
        other._batches = self._batches.next()
        other._batches.take(kept)
        other.fit = taught(self.fit, other._batches.evidence())
        return other

    def with_rows(self, rows: Iterable[LossRow]) -> LossModel:
        """What these trays and more teach."""
        other = self.advanced(rows)
        return LossModel(other._batches, other.fit, other._trays, other._lost)


class LossModel:
    """What a farm's ended trays teach about the chance to lose the next."""

    def __init__(self, batches: Batches, fitted: LatentFit | None, trays: Counter[str], lost: Counter[str]) -> None:
        self.batches, self.fit, self._trays, self._lost = batches, fitted, trays, lost
        self._told: dict[tuple[str, str], float] = {}

    @property
    def names(self) -> dict[str, dict[str, int]]:
        """Of each term, the levels' names and numbers."""
        return self.batches.levels

    def own_trays(self, recipe: Recipe) -> int:
        """Trays of a recipe that have ended."""
        return self._trays[recipe.name]

    def lost_trays(self, recipe: Recipe) -> int:
        """Trays of a recipe that were lost."""
        return self._lost[recipe.name]

    def sds(self) -> dict[str, float]:
        """How much recipes, seasons and sowings differ, on the logit scale. [-]"""
        if self.fit is None:
            return {
                "recipe": priors.LOSS_RECIPE_SD, "season": priors.LOSS_SEASON_SD, "sowing": priors.LOSS_SOWING_SD,
            }  # fmt: skip
        terms = self.fit.spreads.terms
        sowing = float(self.fit.spreads.inner[0])
        return {"recipe": float(terms["recipe"]), "season": float(terms["season"]), "sowing": sowing}

    def chance(self, recipe: Recipe, season: str) -> float:
        """The chance to lose one tray, sown in that season. [-]"""
        key = (recipe.name, season)
        if key not in self._told:
            self._told[key] = self._worked_out(recipe, season)
        return self._told[key]

    def _worked_out(self, recipe: Recipe, season: str) -> float:
        sds = self.sds()
        if self.fit is None:
            return mean_chance(USUAL, math.hypot(priors.LOSS_LEVEL_SD, *sds.values()))
        levels = self.coded([recipe], [season])
        told = self.fit.predict(np.full(1, USUAL), np.ones((1, 1)), levels)
        return mean_chance(float(told.mean[0]), math.hypot(float(told.known_sd[0]), self._luck(levels, sds)))

    @staticmethod
    def _luck(levels: Mapping[str, Ints], sds: Mapping[str, float]) -> float:
        met = [sds[term] for term in ("recipe", "season") if levels[term][0] == NEW]
        return math.hypot(sds["sowing"], *met)

    def coded(self, recipes: Sequence[Recipe], seasons: Sequence[str]) -> dict[str, Ints]:
        """Levels of trays asked for, (m,) each, `NEW` where never met."""
        return {
            "recipe": np.array([self.names["recipe"].get(recipe.name, NEW) for recipe in recipes], dtype=np.int64),
            "season": np.array([self.names["season"].get(season, NEW) for season in seasons], dtype=np.int64),
        }


def still_to_come(chance: float, ahead_days: float, whole_days: float) -> float:
    """
    The chance to lose a tray that has come so far.

    Losses are taken as spread evenly over the time a tray grows: our simplification. [-]
    """
    if whole_days <= 0:
        return chance
    left = min(1.0, max(0.0, ahead_days / whole_days))
    survived = 1 - chance * (1 - left)
    return chance * left / survived
