"""How long a stage lasts: the recipe's range first, the farm's own trays soon after.

A stage's end is seen only on rounds: it lies between the last "not yet" and the round that said "ready", and of a tray
still growing only "not before" is known. Times are standard days (warmth counted where the farm logs it), on a log
scale in units of the recipe's own range, so that every recipe that has the stage teaches the others how much sowings
and trays differ.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import timedelta
from functools import cached_property

import msgspec
import numpy as np

from trayward.farm.recipes import Recipe
from trayward.outlook import priors
from trayward.outlook.censored import IntervalLikelihood, Intervals
from trayward.outlook.grouped import Grouped
from trayward.outlook.latent import LatentFit
from trayward.outlook.latent import Spreads as StageSpreads
from trayward.outlook.latent_more import Evidence, fitted, taught
from trayward.outlook.laws import Blurred, blurred
from trayward.outlook.priors import StageBelief, stage_belief
from trayward.outlook.rows import StageRow
from trayward.outlook.terms import NEW, FixedPrior, Floats, Ints, Term
from trayward.outlook.unsure import log_sd_error, reliabilities, residual_error

DAY = timedelta(days=1)
GROWING = ("lot", "season")
"""Terms that meet levels never seen before; sowings do too, and are not terms: their effect is summed over."""


class StageLaw(msgspec.Struct, frozen=True, kw_only=True):
    """Log standard days of one stage of one tray: a middle, doubt about what is known, luck to come. [log d]

    `scale` is what one unit of the model's common scale makes, counted from `usual`. [log d]
    """

    mu: float
    usual: float
    scale: float
    known_sd: float
    lot_sd: float
    season_sd: float
    sowing_sd: float
    tray_sd: float
    unsure: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    """Standard errors of the logs of the last four. [-]"""

    def tray(self) -> Blurred:
        """What one tray will do."""
        return blurred(self.mu, self.known_sd, self.parts)

    @property
    def parts(self) -> list[tuple[float, float]]:
        """What is new to a tray of a new sowing: each standard deviation, and the standard error of its log."""
        sds = (self.lot_sd, self.season_sd, self.sowing_sd, self.tray_sd)
        return list(zip(sds, self.unsure, strict=True))


class StageAsked(msgspec.Struct, frozen=True, kw_only=True):
    """A tray whose stage's length is asked for."""

    recipe: Recipe
    lot: str = ""
    season: str = ""


class Scales:
    """How each recipe's days become the common scale: log days less its usual, in units of its range."""

    def __init__(self, stage: str, recipes: Mapping[str, Recipe]) -> None:
        self.beliefs: dict[str, StageBelief] = {}
        for name, recipe in recipes.items():
            belief = next((stage_belief(one) for one in recipe.growing_stages if one.name == stage), None)
            if belief is not None and not belief.by_clock:
                self.beliefs[name] = belief
        self.sds = {name: belief.sd for name, belief in self.beliefs.items()}

    def widened(self, trays: Mapping[str, int]) -> Scales:
        """
        Scales once own trays were seen through the stage.

        A range narrower than plants keep to is the recipe's word only: it counts as a few trays.
        """
        other = Scales.__new__(Scales)
        other.beliefs = self.beliefs
        other.sds = {name: _widened(sd, trays.get(name, 0)) for name, sd in self.sds.items()}
        return other

    def scaled(self, recipe: str, days: float) -> float:
        """Days on the common scale; none at all lie below everything, endless ones above."""
        if days <= 0:
            return -math.inf
        return (math.log(days) - self.beliefs[recipe].mu) / self.sds[recipe]


def _widened(sd: float, trays: int) -> float:
    living = max(sd, priors.LIVING_STAGE_SD)
    word = priors.STAGE_WORD_TRAYS
    return math.sqrt((word * sd**2 + trays * living**2) / (word + trays))


class Groups(Grouped):
    """Sowings in one stage, and what their trays showed; it only grows."""

    def __init__(self, scales: Scales) -> None:
        super().__init__(scales.beliefs, GROWING)
        self.scales = scales
        self.seen: Counter[tuple[int, float, float]] = Counter()
        """Group, low, high -> trays."""
        self._sorted: dict[int, list[tuple[float, float, int]]] | None = None
        self._sums: tuple[Floats, Floats] | None = None

    def take(self, rows: Iterable[StageRow]) -> None:
        """Take in what trays showed."""
        self._sorted = self._sums = None
        for row in rows:
            low, high = self.scales.scaled(row.recipe, row.low), self.scales.scaled(row.recipe, row.high)
            self.seen[self.number_of(row), low, high] += 1

    def of(self, number: int) -> list[tuple[float, float, int]]:
        """Low, high and trays of one group."""
        if self._sorted is None:
            self._sorted = {}
            for (group, low, high), count in self.seen.items():
                self._sorted.setdefault(group, []).append((low, high, count))
        return self._sorted[number]

    def freedoms(self, sowing_sd: float, tray_sd: float) -> tuple[Floats, float]:
        """
        How much each sowing tells of its own pace (groups,) and all trays of how single trays differ. [-]

        A tray seen to end within a span tells as much as one whose end is known give or take the span's own spread,
        its width over the root of 12; one that only lasted longer than its last look is not counted.
        """
        trays, spans = self._ended()
        each = tray_sd**2 + np.divide(spans, trays, out=np.zeros(len(trays)), where=trays > 0)
        # Trays of a sowing are looked at together: what the looks blur, more trays do not make sharper.
        blur = each - tray_sd**2 + tray_sd**2 / np.maximum(trays, 1.0)
        told = np.where(trays > 0, sowing_sd**2 / np.maximum(sowing_sd**2 + blur, 1e-12), 0.0)
        sharp = np.square(tray_sd**2 / np.maximum(each, 1e-12))
        return told, float((np.maximum(trays - 1, 0.0) * sharp).sum())

    def _ended(self) -> tuple[Floats, Floats]:
        """Of each sowing, trays seen to end, and the sum of their spans' own variances (groups,)."""
        if self._sums is None:
            trays, spans = np.zeros(len(self.number)), np.zeros(len(self.number))
            for (group, low, high), count in self.seen.items():
                if math.isfinite(low) and math.isfinite(high):
                    trays[group] += count
                    spans[group] += count * (high - low) ** 2 / 12
            self._sums = trays, spans
        return self._sums

    def next(self) -> Groups:
        """Room for more sowings, the levels known so far numbered as they are."""
        other = Groups(self.scales)
        other.go_on_from(self)
        return other

    def intervals(self) -> Intervals:
        """All of it as arrays."""
        told = np.array([(*seen, count) for seen, count in self.seen.items()], dtype=float).reshape(-1, 4)
        return Intervals(told[:, 0].astype(np.int64), told[:, 1], told[:, 2], told[:, 3])

    def terms(self) -> list[Term]:
        """The groups' levels as terms."""
        return self.terms_of(priors.STAGE_SPREADS)


INNER_PRIORS = (priors.STAGE_SPREADS["sowing"], priors.STAGE_SPREADS["tray"])


def fixed_prior_of() -> FixedPrior:
    """What is believed before any tray of how far the house is off the recipes' days (1,), on the model's scale. [-]"""
    return FixedPrior(np.zeros(1), np.array([priors.STAGE_HOUSE]))


def likelihood_of(groups: Groups) -> IntervalLikelihood:
    """What looks at trays told: each group's stage ended between two moments, or not yet."""
    return IntervalLikelihood(groups.intervals(), len(groups.number), INNER_PRIORS)


RECENT = 2_000
"""How many of the last sowings teach what a stage lasts: plenty to know recipes by, and lots of long ago are gone."""


def evidence_of(groups: Groups) -> Evidence:
    """What groups showed, as the model takes it."""
    ones = np.ones((len(groups.number), 1))
    return Evidence(likelihood_of(groups), np.zeros(len(ones)), ones, fixed_prior_of(), groups.terms())


def _recent(rows: list[StageRow]) -> list[StageRow]:
    """The rows of the last sowings."""
    sowings = list(dict.fromkeys(row.sowing for row in reversed(rows)))
    if len(sowings) <= RECENT:
        return rows
    last = set(sowings[:RECENT])
    return [row for row in rows if row.sowing in last]


class StageLearner:
    """
    What the first trays of a farm teach about one stage, ready for more to be added at little cost.

    Parameters
    ----------
    stage : str
        The stage's name, in whatever recipe.
    recipes : mapping
        The farm's recipes by name.
    rows : sequence of StageRow
        What the spreads are sought in.
    spreads : optional
        As found before in the same rows; then nothing is sought.
    start : array, optional
        Standard coefficients found with these spreads, to begin from.
    """

    def __init__(
        self,
        stage: str,
        recipes: Mapping[str, Recipe],
        rows: Iterable[StageRow],
        *,
        spreads: StageSpreads | None = None,
        start: Floats | None = None,
    ) -> None:
        self.stage = stage
        self._given = Scales(stage, recipes)
        kept = [row for row in rows if row.recipe in self._given.beliefs]
        self._trays = Counter(row.recipe for row in kept if row.high < math.inf)
        self._sowings = frozenset((row.recipe, row.sowing) for row in kept if row.high < math.inf)
        self._sown = Counter(recipe for recipe, _ in self._sowings)
        self._sought_in = self._trays
        """Own trays by recipe when the scales were set: they stay as they are until spreads are sought again."""
        self.groups = Groups(self._given.widened(self._trays))
        self.groups.take(_recent(kept))
        self._earlier: tuple[Groups, ...] = ()
        self.fit: LatentFit | None = None
        if kept:
            self.fit = fitted(evidence_of(self.groups), spreads, start)

    @property
    def spreads(self) -> StageSpreads | None:
        """How much recipes, lots, seasons, sowings and trays were found to differ."""
        return self.fit.spreads if self.fit is not None else None

    def advanced(self, rows: Iterable[StageRow]) -> StageLearner:
        """A learner that has these rows behind it too, at the spreads of this."""
        other = StageLearner.__new__(StageLearner)
        other.stage, other._given, other._sought_in = self.stage, self._given, self._sought_in
        kept = [row for row in rows if row.recipe in self._given.beliefs]
        other._trays = self._trays + Counter(row.recipe for row in kept if row.high < math.inf)
        met = frozenset((row.recipe, row.sowing) for row in kept if row.high < math.inf) - self._sowings
        other._sowings, other._sown = self._sowings | met, self._sown + Counter(recipe for recipe, _ in met)
        other.groups = self.groups.next()
        fresh = Counter({recipe: count for recipe, count in other._trays.items() if recipe not in self._sought_in})
        other.groups.scales = self._given.widened(self._sought_in + fresh)
        other.groups.take(kept)
        other._earlier = (*self._earlier, self.groups)
        other.fit = taught(self.fit, evidence_of(other.groups))
        return other

    def with_rows(self, rows: Iterable[StageRow]) -> StageModel:
        """What these trays and more teach."""
        other = self.advanced(rows)
        seen = (*other._earlier, other.groups)
        return StageModel(self.stage, seen, other.fit, other._trays, other._sown)


class StageModel:
    """What a farm's trays teach about the length of one stage."""

    def __init__(
        self,
        stage: str,
        seen: tuple[Groups, ...],
        fitted: LatentFit | None,
        trays: Counter[str],
        sowings: Counter[str],
    ) -> None:
        self._seen, self.groups = seen, seen[-1]
        self.stage, self.fit = stage, fitted
        self.scales = self.groups.scales
        self._trays, self._sowings = trays, sowings
        self._told: dict[tuple[object, ...], StageLaw] = {}
        self.sowings_told: dict[tuple[object, ...], Floats] = {}
        """What was worked out of single sowings; see `times`."""

    @property
    def names(self) -> dict[str, dict[str, int]]:
        """Of each term, the levels' names and numbers."""
        return self.groups.levels

    def own_trays(self, recipe: Recipe) -> int:
        """Trays of a recipe seen through the stage."""
        return self._trays[recipe.name]

    def own_sowings(self, recipe: Recipe) -> int:
        """Sowings of a recipe seen through the stage."""
        return self._sowings[recipe.name]

    def prior_trays(self) -> float:
        """How many own trays, each of another sowing, a recipe's range counts as. [-]"""
        sds = self.sds()
        within = math.hypot(sds["lot"], sds["season"], sds["sowing"], sds["tray"])
        return (within / math.hypot(priors.STAGE_HOUSE, priors.STAGE_RECIPE)) ** 2

    def sds(self) -> dict[str, float]:
        """How much lots, seasons, sowings and trays differ, in units of a recipe's range. [-]"""
        if self.fit is None:
            return {term: priors.STAGE_SPREADS[term].median for term in (*GROWING, "sowing", "tray")}
        sowing, tray = (float(sd) for sd in self.fit.spreads.inner)
        return {term: float(self.fit.spreads.terms[term]) for term in GROWING} | {"sowing": sowing, "tray": tray}

    @cached_property
    def unsure(self) -> dict[str, float]:
        """Standard errors of the logs of these. [-]"""
        if self.fit is None:
            return {term: priors.STAGE_SPREADS[term].log_sd for term in (*GROWING, "sowing", "tray")}
        sds, errors = self.sds(), self.fit.effect_se
        found = {term: log_sd_error(sds[term], errors[term], priors.STAGE_SPREADS[term]) for term in GROWING}
        taken = 1 + sum(
            reliabilities(self.fit.spreads.terms[term], errors[term]).sum() for term in ("recipe", *GROWING)
        )
        freedoms = [groups.freedoms(sds["sowing"], sds["tray"]) for groups in self._seen]
        sowings = sum(float(np.square(told).sum()) for told, _ in freedoms) - float(taken)
        found["sowing"] = residual_error(sowings, priors.STAGE_SPREADS["sowing"])
        found["tray"] = residual_error(sum(free for _, free in freedoms), priors.STAGE_SPREADS["tray"])
        return found

    def recipe_more(self, recipe: Recipe) -> float:
        """
        What doubt about the spread of recipes adds to a recipe's own effect, in units of its range. [-]

        What its trays do not tell of a recipe is believed to be as large as recipes differ; nobody knows that for sure,
        and its mean square is larger than the square of its likeliest value.
        """
        if self.fit is None:
            return 0.0
        level = self.names["recipe"].get(recipe.name, NEW)
        own = float(self.fit.spreads.terms["recipe"] if level == NEW else self.fit.effect_se["recipe"][level])
        return own * self._recipes_stretch

    @cached_property
    def _recipes_stretch(self) -> float:
        """How much larger, doubt about the spread of recipes makes what is not known of one. [-]"""
        if self.fit is None:
            return 0.0
        sd, errors = float(self.fit.spreads.terms["recipe"]), self.fit.effect_se["recipe"]
        return math.sqrt(math.expm1(2 * log_sd_error(sd, errors, priors.STAGE_SPREADS["recipe"]) ** 2))

    def law(self, asked: StageAsked, belief: StageBelief) -> StageLaw:
        """The stage's length for one tray of a new sowing, as known now."""
        key = (asked.recipe.name, asked.lot, asked.season, belief)
        found = self._told.get(key)
        if found is None:
            found = self._told[key] = self.laws([(asked, belief)])[0]
        return found

    def laws(self, asked: Sequence[tuple[StageAsked, StageBelief]]) -> list[StageLaw]:
        """The stage's length for single trays of new sowings, each for itself."""
        sds = self.sds()
        if self.fit is None:
            known = math.hypot(priors.STAGE_HOUSE, priors.STAGE_RECIPE)
            return [self._law(one, belief, 0.0, known, sds) for one, belief in asked]
        levels = self.coded([one for one, _ in asked])
        told = self.fit.predict(np.zeros(len(asked)), np.ones((len(asked), 1)), levels)
        laws = []
        for at, (one, belief) in enumerate(asked):
            met = {term: 0.0 if levels[term][at] != NEW else sds[term] for term in GROWING}
            known = math.hypot(float(told.known_sd[at]), self.recipe_more(one.recipe))
            if levels["recipe"][at] == NEW:
                known = math.hypot(known, float(self.fit.spreads.terms["recipe"]))
            laws.append(self._law(one, belief, float(told.mean[at]), known, sds | met))
        return laws

    def coded(self, asked: Sequence[StageAsked]) -> dict[str, Ints]:
        """Levels of trays asked for, (m,) each, `NEW` where never met."""
        named = {
            "recipe": [one.recipe.name for one in asked],
            "lot": [one.lot for one in asked],
            "season": [one.season for one in asked],
        }
        return {
            term: np.array([self.names[term].get(name, NEW) for name in names], dtype=np.int64)
            for term, names in named.items()
        }

    def scale(self, recipe: Recipe, belief: StageBelief) -> float:
        """Log days that one unit of the common scale makes for a recipe. [log d]"""
        known = self.scales.beliefs.get(recipe.name)
        return self.scales.sds[recipe.name] if known == belief else belief.sd

    def _law(
        self, asked: StageAsked, belief: StageBelief, mean: float, known: float, sds: Mapping[str, float]
    ) -> StageLaw:
        scale = self.scale(asked.recipe, belief)
        return StageLaw(
            mu=belief.mu + scale * mean,
            usual=belief.mu,
            scale=scale,
            known_sd=scale * known,
            lot_sd=scale * sds["lot"],
            season_sd=scale * sds["season"],
            sowing_sd=scale * sds["sowing"],
            tray_sd=scale * sds["tray"],
            unsure=(self.unsure["lot"], self.unsure["season"], self.unsure["sowing"], self.unsure["tray"]),
        )


def clock_law(belief: StageBelief) -> StageLaw:
    """The law of a stage that no cue ends: as long as the recipe says."""
    return StageLaw(
        mu=belief.mu,
        usual=belief.mu,
        scale=belief.sd,
        known_sd=0.0,
        lot_sd=0.0,
        season_sd=0.0,
        sowing_sd=0.0,
        tray_sd=belief.sd,
    )


def seen_of(groups: Groups, sowing: str) -> Intervals | None:
    """What the trays of one sowing showed in a stage, as one group; None where nothing."""
    number = groups.number.get(sowing)
    if number is None:
        return None
    told = np.array(groups.of(number), dtype=float)
    return Intervals(np.zeros(len(told), dtype=np.int64), told[:, 0], told[:, 1], told[:, 2])
