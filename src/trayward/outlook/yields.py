"""How much a tray will weigh: a mixed model of log grams a cm2, published figures first, the farm's own soon after.

Each cut tray's log yield, less the published middle of its recipe, is this farm's own effect, its crop's and recipe's,
the medium's, what density, waiting, warmth, light and blackout make of it, its seed lot's, its season's, its sowing's,
and chance. Trays of a sowing rise and fall together; a tray of a new sowing takes its own luck in all of them.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any

import msgspec
import numpy as np

from trayward.errors import Finding
from trayward.farm.recipes import Recipe
from trayward.farm.state import Tray
from trayward.outlook import priors
from trayward.outlook.laws import EIGHTY, Blurred, blurred
from trayward.outlook.mixed import CrossProducts, Fit, Spreads, cross_products, fit, solve
from trayward.outlook.priors import FARMS_OWN, YieldBelief, rms, yield_belief
from trayward.outlook.row_reader import RowReader
from trayward.outlook.rows import YieldRow
from trayward.outlook.terms import NEW, FixedPrior, Floats, Ints, Term
from trayward.outlook.unsure import log_sd_error, reliabilities, residual_error
from trayward.science.response import DENSITY_ELASTICITY, LIGHT_ELASTICITY

HOUSE, DENSITY, DENSITY_SQUARED, WAITED, WARMTH, LIGHT, BLACKOUT = FIXED = (
    "this farm",
    "density",
    "density squared",
    "waited",
    "warmth",
    "light",
    "blackout",
)
"""The fixed effects: of this farm on the log yield, of log density and its square, of each day it stood ready, of the
log pace of warmth, of log daily light, of each day more of blackout than the recipe's."""

FIXED_PRIOR = {
    HOUSE: (0.0, priors.HOUSE_SD),
    DENSITY: DENSITY_ELASTICITY,
    DENSITY_SQUARED: (-0.11, 0.08),
    WAITED: (0.0, 0.04),
    WARMTH: (0.0, 0.3),
    LIGHT: LIGHT_ELASTICITY,
    BLACKOUT: (-0.03, 0.05),
}

GROWING = ("lot", "season", "sowing")
"""Terms that meet levels never seen before."""
DENSITY_BY_CROP_SD = 0.10
"""How much crops differ in their answer to density. Our choice. [-]"""
SLOPES = "density by crop"
WORDS, WORD = "words", "word"
"""How far the farm's own word is off: on all its recipes together, and on each besides."""
TERMS = ("crop", "medium", "recipe", WORDS, WORD, SLOPES, *GROWING)
"""All that trays are put into groups by."""
WILD = math.log(5.0)
"""A weight five times off its fellows is taken for a slip of the hand. Our choice. [log g]"""
ALONE = 3
"""With fewer fellows than this a weight is held against the published figure."""


class YieldLaw(msgspec.Struct, frozen=True, kw_only=True):
    """Log grams of one tray: a middle, doubt about what is known of it, and the luck still to come. All sd [log g]."""

    mu: float
    known_sd: float
    lot_sd: float
    season_sd: float
    sowing_sd: float
    tray_sd: float
    unsure: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    """Standard errors of the logs of the last four. [-]"""

    def tray(self) -> Blurred:
        """What one tray will do."""
        parts = (self.lot_sd, self.season_sd, self.sowing_sd, self.tray_sd)
        return blurred(self.mu, self.known_sd, list(zip(parts, self.unsure, strict=True)))


class Asked(msgspec.Struct, frozen=True, kw_only=True):
    """A tray whose weight is asked for: its recipe, and what is known of where it comes from."""

    recipe: Recipe
    lot: str = ""
    season: str = ""
    sowing: str = ""
    log_density: float = 0.0
    log_pace: float = 0.0
    log_light: float = 0.0
    blackout_extra: float = 0.0
    seed_doubt: float = 0.0
    """How far its live seeds may be off, as a share: it counts until trays of its lot are cut. [-]"""


def asked_of(recipe: Recipe, lot: str, season: str, sowing: str, tray: Tray | None, reader: RowReader) -> Asked:
    """What is known of a tray before it is cut: the density it was sown at, the warmth and light it stands in."""
    density = 0.0
    if tray is not None and tray.live_seeds_per_cm2 and recipe.live_seeds_per_cm2 > 0:
        density = math.log(tray.live_seeds_per_cm2 / recipe.live_seeds_per_cm2)
    pace, light = reader.likely_pace(recipe), reader.likely_light(tray) if tray is not None else 0.0
    return Asked(
        recipe=recipe,
        lot=lot,
        season=season,
        sowing=sowing,
        log_density=density,
        log_pace=pace,
        log_light=light,
        seed_doubt=reader.seed_doubt(lot),
    )


class Levels:
    """Names of the levels of each term, as numbers; it only grows."""

    def __init__(self, recipes: Mapping[str, Recipe]) -> None:
        self.beliefs = {name: yield_belief(recipe) for name, recipe in recipes.items()}
        self.names: dict[str, dict[str, int]] = {term: {} for term in TERMS}
        self.crop_sds: list[float] = []
        published: dict[str, float] = {}
        for name, belief in self.beliefs.items():
            if not belief.own:
                published.setdefault(recipes[name].crop, belief.level_sd)
        for name, recipe in recipes.items():
            self._meet(name, recipe, published)

    def _meet(self, name: str, recipe: Recipe, published: Mapping[str, float]) -> None:
        """Every recipe of the farm has its levels from the start: they carry what is believed of it."""
        belief = self.beliefs[name]
        if self.code("crop", recipe.crop) == len(self.crop_sds):
            self.crop_sds.append(published.get(recipe.crop, belief.level_sd))
        self.code("medium", recipe.medium.name)
        self.code("recipe", name)
        self.code(WORDS, FARMS_OWN)
        self.code(WORD, name)
        self.code(SLOPES, recipe.crop)

    def code(self, term: str, name: str) -> int:
        """The number of a level, a new one where it was never met."""
        names = self.names[term]
        return names.setdefault(name, len(names))

    def known(self, term: str, name: str) -> int:
        """The number of a level, or `NEW`."""
        return self.names[term].get(name, NEW)

    def copy(self) -> Levels:
        """Another that may grow on its own."""
        other = Levels.__new__(Levels)
        other.beliefs, other.crop_sds = self.beliefs, self.crop_sds
        other.names = {term: dict(names) for term, names in self.names.items()}
        return other


class Design(msgspec.Struct, frozen=True):
    """Rows as arrays: y (n,), fixed (n, p), and by term levels (n,) and columns (n, 1)."""

    y: Floats
    fixed: Floats
    levels: dict[str, Ints]
    columns: dict[str, Floats]


def design_of(rows: Sequence[YieldRow], recipes: Mapping[str, Recipe], levels: Levels) -> Design:
    """Rows as arrays, coding levels as they are met."""
    beliefs = [levels.beliefs[row.recipe] for row in rows]
    published, said = _whose(beliefs)
    gained = [math.log1p(recipes[row.recipe].growth_a_day) * row.waited_days for row in rows]
    middles = [belief.mu for belief in beliefs]
    y = np.array([row.log_grams_per_cm2 for row in rows]) - np.array(middles) - np.array(gained)
    told = np.array(
        [(row.log_density, row.waited_days, row.log_pace, row.log_light, row.blackout_extra) for row in rows]
    ).reshape(-1, 5)
    density = told[:, 0]
    fixed = np.column_stack((published, density, density**2, told[:, 1:]))
    return Design(
        y=y.reshape(-1), fixed=fixed, levels=_coded(rows, recipes, levels), columns=_columns(published, said, density)
    )


def _coded(rows: Sequence[YieldRow], recipes: Mapping[str, Recipe], levels: Levels) -> dict[str, Ints]:
    crops = {name: recipe.crop for name, recipe in recipes.items()}
    media = {name: recipe.medium.name for name, recipe in recipes.items()}
    named = {
        "crop": [crops[row.recipe] for row in rows],
        "medium": [media[row.recipe] for row in rows],
        "recipe": [row.recipe for row in rows],
        WORDS: [FARMS_OWN for _ in rows],
        WORD: [row.recipe for row in rows],
        SLOPES: [row.crop for row in rows],
        "lot": [row.lot for row in rows],
        "season": [str(row.season) for row in rows],
        "sowing": [row.sowing for row in rows],
    }
    return {
        term: np.array([levels.code(term, name) for name in names], dtype=np.int64) for term, names in named.items()
    }


def _whose(beliefs: Sequence[YieldBelief]) -> tuple[Floats, Floats]:
    """1 where a figure is published (n,); how far off it may be where it is the farm's own (n,), else 0. [log g]"""
    published = np.array([not belief.own for belief in beliefs], dtype=float)
    return published, np.array([belief.level_sd if belief.own else 0.0 for belief in beliefs])


def _columns(published: Floats, said: Floats, density: Floats) -> dict[str, Floats]:
    """What the farm says of its own recipe already holds the crop's, the recipe's and the medium's effect."""
    one, word = published.reshape(-1, 1), said.reshape(-1, 1)
    return {"crop": one, "recipe": one, "medium": one, WORDS: word, WORD: word, SLOPES: density.reshape(-1, 1)}


def terms_of(design: Design, levels: Levels) -> list[Term]:
    """The groups whose effects are estimated, each with every row's level (n,) and its spread or a prior. [log g]"""

    def term(name: str, **more: object) -> Term:
        return Term(
            name=name,
            level=design.levels[name],
            levels=len(levels.names[name]),
            columns=design.columns.get(name),
            **more,  # type: ignore[arg-type]
        )

    return [
        term("crop", known_sd=np.array(levels.crop_sds)),
        term("medium", known_sd=priors.MEDIUM_SD),
        term(SLOPES, known_sd=DENSITY_BY_CROP_SD),
        *(term(name, sd_prior=priors.WORD_SPREADS[name]) for name in (WORDS, WORD)),
        *(term(name, sd_prior=priors.YIELD_SPREADS[name]) for name in ("recipe", *GROWING)),
    ]


def fixed_prior_of() -> FixedPrior:
    """Means and standard deviations of the fixed effects before any tray (p,), in the order of `FIXED_PRIOR`."""
    means, sds = zip(*FIXED_PRIOR.values(), strict=True)
    return FixedPrior(np.array(means), np.array(sds))


RESIDUAL_PRIOR = priors.YIELD_SPREADS["tray"]


class YieldLearner:
    """
    What the first trays of a farm teach about yield, ready for more trays to be added at little cost.

    Parameters
    ----------
    recipes : mapping
        The farm's recipes by name.
    rows : sequence of YieldRow
        The trays the spreads are sought in. Rows of recipes that the farm no longer has are left out.
    spreads : Spreads, optional
        As found before in the same rows; then nothing is sought.
    """

    def __init__(
        self, recipes: Mapping[str, Recipe], rows: Iterable[YieldRow], *, spreads: Spreads | None = None
    ) -> None:
        self.recipes = dict(recipes)
        self._levels = Levels(recipes)
        self._rows, self._wild = part_wild([row for row in rows if row.recipe in recipes], self._levels.beliefs)
        self._logs = _logs_of(self._rows)
        self._counts = _counted(self._rows)
        self._products: CrossProducts | None = None
        self.spreads = spreads
        if self._rows:
            design = design_of(self._rows, recipes, self._levels)
            self._products = cross_products(design.y, design.fixed, terms_of(design, self._levels))
            if spreads is None:
                found = fit(self._products, fixed_prior=fixed_prior_of(), residual_prior=RESIDUAL_PRIOR)
                self.spreads = found.spreads

    def advanced(self, rows: Iterable[YieldRow]) -> YieldLearner:
        """A learner that has these rows behind it too, at the spreads of this."""
        mine = [row for row in rows if row.recipe in self.recipes]
        kept, wild = part_wild(mine, self._levels.beliefs, among=self._logs)
        if self._products is None and kept:
            return YieldLearner(self.recipes, mine)
        other = YieldLearner.__new__(YieldLearner)
        other.recipes, other.spreads = self.recipes, self.spreads
        other._levels, other._products = self._levels.copy(), self._products
        other._rows, other._wild = [*self._rows, *kept], [*self._wild, *wild]
        other._logs = _logs_of(kept, self._logs)
        other._counts = _counted(kept, self._counts)
        if kept and self._products is not None:
            design = design_of(kept, self.recipes, other._levels)
            other._products = self._products.with_rows(design.y, design.fixed, design.levels, design.columns)
        return other

    def with_rows(self, rows: Iterable[YieldRow]) -> YieldModel:
        """What these trays and more teach."""
        other, fitted = self.advanced(rows), None
        if other._products is not None and other.spreads is not None:
            fitted = solve(other._products, other.spreads, fixed_prior=fixed_prior_of())
        return YieldModel(self.recipes, other._levels, other._rows, other._wild, fitted, other._counts)


Counts = tuple[Counter[str], frozenset[tuple[str, str]], Counter[str]]
"""Trays by recipe, all sowings with their recipes, and how many each has."""
Logs = Mapping[str, Floats]
"""What the trays of each recipe weighed. [log g/cm2]"""


def _counted(rows: Sequence[YieldRow], before: Counts | None = None) -> Counts:
    trays, known, sowings = before or (Counter(), frozenset(), Counter())
    fresh = frozenset((row.recipe, row.sowing) for row in rows) - known
    trays = trays + Counter(row.recipe for row in rows)
    return trays, known | fresh, sowings + Counter(recipe for recipe, _ in fresh)


def _logs_of(rows: Sequence[YieldRow], before: Logs | None = None) -> Logs:
    """Logs by recipe, after those from before; recipes that no row is of are handed on as they are."""
    fresh: dict[str, list[float]] = {}
    for row in rows:
        fresh.setdefault(row.recipe, []).append(row.log_grams_per_cm2)
    before = before or {}
    return {**before, **{recipe: np.append(before.get(recipe, ()), logs) for recipe, logs in fresh.items()}}


class YieldModel:
    """What a farm's cut trays teach about the weight of the next."""

    fixed_names = FIXED

    def __init__(
        self,
        recipes: Mapping[str, Recipe],
        levels: Levels,
        rows: list[YieldRow],
        set_aside: list[YieldRow],
        fitted: Fit | None,
        counts: Counts,
    ) -> None:
        self.recipes, self.rows, self.set_aside, self.fit = recipes, rows, set_aside, fitted
        self.levels = levels
        self.findings = tuple(_wild_finding(row, recipes[row.recipe]) for row in set_aside)
        self._trays = counts[0]
        self._told: dict[tuple[object, ...], YieldLaw] = {}
        self._sowings = counts[2]

    @property
    def names(self) -> dict[str, dict[str, int]]:
        """Of each term, the levels' names and numbers."""
        return self.levels.names

    def own_trays(self, recipe: Recipe) -> int:
        """Trays of a recipe it rests on."""
        return self._trays[recipe.name]

    def own_sowings(self, recipe: Recipe) -> int:
        """Sowings of a recipe it rests on."""
        return self._sowings[recipe.name]

    def knows(self, recipe: Recipe) -> bool:
        """Whether anybody, the farm's own trays included, says what a tray of it weighs."""
        return self.belief(recipe).said or self.own_trays(recipe) > 0

    def belief(self, recipe: Recipe) -> YieldBelief:
        """What was believed of a recipe before any tray."""
        known = self.recipes.get(recipe.name)
        return self.levels.beliefs[recipe.name] if known == recipe else yield_belief(recipe)

    def prior_trays(self, recipe: Recipe) -> float:
        """How many own trays, each of another sowing, what was believed counts as. [-]"""
        belief = self.belief(recipe)
        if belief.own:
            return (self._within(recipe) / belief.level_sd) ** 2
        # As the model weighs one tray: at the likely spreads, not at what doubt of these makes of a range.
        level = math.hypot(belief.level_sd, priors.HOUSE_SD, priors.RECIPE_SD, priors.MEDIUM_SD)
        return (math.hypot(*self.sds().values()) / level) ** 2

    def law(self, asked: Asked) -> YieldLaw:
        """The weight of one tray on the day it is ready, as known now."""
        key = (asked.recipe.name, asked.recipe.yield_prior, *msgspec.structs.astuple(asked)[1:])
        found = self._told.get(key)
        if found is None:
            found = self._told[key] = self.laws([asked])[0]
        return found

    def laws(self, asked: Sequence[Asked]) -> list[YieldLaw]:
        """The weights of single trays, each for itself."""
        if self.fit is None:
            return [self._believed(one) for one in asked]
        told = zip(asked, *self.looked_up(asked), strict=True)
        return [self._law(one, mean, known, new) for one, mean, known, new in told]

    def looked_up(self, asked: Sequence[Asked]) -> tuple[list[float], list[float], list[dict[str, float]]]:
        """Of each, the mean of what is known [log g/cm2 off the published], doubt about it, and luck of new levels."""
        assert self.fit is not None, "without rows there is nothing to look up"
        fixed, levels, columns = self.design(asked)
        told = self.fit.predict(fixed, levels, columns)
        new = [
            {term: float(np.broadcast_to(told.new_sd.get(term, 0.0), len(asked))[at]) for term in GROWING}
            for at in range(len(asked))
        ]
        return told.mean.tolist(), told.known_sd.tolist(), new

    def design(self, asked: Sequence[Asked]) -> tuple[Floats, dict[str, Ints], dict[str, Floats]]:
        """Trays asked for, as arrays: fixed (m, p), levels (m,) with `NEW`, columns (m, 1)."""
        published, said = _whose([self.belief(one.recipe) for one in asked])
        told = np.array([(one.log_density, 0.0, one.log_pace, one.log_light, one.blackout_extra) for one in asked])
        density = told[:, 0]
        fixed = np.column_stack((published, density, density**2, told[:, 1:]))
        known = self.levels.known
        levels = {
            "crop": [known("crop", one.recipe.crop) for one in asked],
            "medium": [known("medium", one.recipe.medium.name) for one in asked],
            "recipe": [known("recipe", one.recipe.name) for one in asked],
            WORDS: [known(WORDS, FARMS_OWN) for _ in asked],
            WORD: [known(WORD, one.recipe.name) for one in asked],
            SLOPES: [known(SLOPES, one.recipe.crop) for one in asked],
            "lot": [known("lot", one.lot) for one in asked],
            "season": [known("season", one.season) for one in asked],
            "sowing": [known("sowing", one.sowing) for one in asked],
        }
        coded = {term: np.array(of, dtype=np.int64) for term, of in levels.items()}
        return fixed, coded, _columns(published, said, density)

    def seed_sd(self, asked: Asked) -> float:
        """What doubt of its live seeds makes of a tray's weight, by how weight answers to density. [log g]"""
        slope = float(self.fit.fixed[FIXED.index(DENSITY)]) if self.fit is not None else FIXED_PRIOR[DENSITY][0]
        return abs(slope) * asked.seed_doubt

    def _law(self, asked: Asked, mean: float, known: float, new: Mapping[str, float]) -> YieldLaw:
        belief, share = self.belief(asked.recipe), self.share(asked.recipe)
        assert self.fit is not None
        return YieldLaw(
            mu=math.log(asked.recipe.tray.area_cm2) + belief.mu + mean,
            known_sd=known,
            lot_sd=math.hypot(new["lot"] * share, self.seed_sd(asked) if new["lot"] else 0.0),
            season_sd=new["season"] * share,
            sowing_sd=new["sowing"] * share,
            tray_sd=self.fit.spreads.residual * share,
            unsure=self._unsure,
        )

    def _believed(self, asked: Asked) -> YieldLaw:
        belief, share = self.belief(asked.recipe), self.share(asked.recipe)
        level = belief.level_sd
        if not belief.own:
            recipe = rms(priors.YIELD_SPREADS["recipe"])
            level = math.hypot(level, priors.HOUSE_SD, recipe, priors.MEDIUM_SD)
        (slope, _), (bend, _) = FIXED_PRIOR[DENSITY], FIXED_PRIOR[DENSITY_SQUARED]
        effect = slope * asked.log_density + bend * asked.log_density**2
        return YieldLaw(
            mu=math.log(asked.recipe.tray.area_cm2) + belief.mu + effect,
            known_sd=level,
            lot_sd=math.hypot(priors.LOT_SD * share, self.seed_sd(asked)),
            season_sd=priors.SEASON_SD * share,
            sowing_sd=priors.SOWING_SD * share,
            tray_sd=priors.TRAY_SD * share,
            unsure=self._unsure,
        )

    def sds(self) -> dict[str, float]:
        """How much lots, seasons, sowings and trays differ on this farm. [log g]"""
        if self.fit is None:
            return {
                "lot": priors.LOT_SD, "season": priors.SEASON_SD, "sowing": priors.SOWING_SD, "tray": priors.TRAY_SD,
            }  # fmt: skip
        spreads = self.fit.spreads
        return {term: float(spreads.terms[term]) for term in GROWING} | {"tray": spreads.residual}

    @cached_property
    def unsure(self) -> dict[str, float]:
        """Standard errors of the logs of these. [-]"""
        if self.fit is None:
            return {term: priors.YIELD_SPREADS[term].log_sd for term in (*GROWING, "tray")}
        found, told = {}, 0.0
        sds: dict[str, Any] = {"medium": priors.MEDIUM_SD, SLOPES: DENSITY_BY_CROP_SD, **self.fit.spreads.terms}
        sds["crop"] = np.array(self.levels.crop_sds)
        for term, errors in self.fit.effect_se.items():
            sd = sds[term]
            told += float(reliabilities(sd, errors[:, 0]).sum())
            if term in GROWING:
                found[term] = log_sd_error(float(sd), errors[:, 0], priors.YIELD_SPREADS[term])
        return found | {"tray": residual_error(self.fit.rows - told, RESIDUAL_PRIOR)}

    @property
    def _unsure(self) -> tuple[float, float, float, float]:
        unsure = self.unsure
        return unsure["lot"], unsure["season"], unsure["sowing"], unsure["tray"]

    def _within(self, recipe: Recipe) -> float:
        """How much trays of a recipe differ, sown apart; the farm's own word counts as a few trays. [log g]"""
        farm = self._farms_within
        said = self.belief(recipe).tray_sd
        if said is None:
            return farm
        trays = self.own_trays(recipe)
        word = priors.OWN_WORD_TRAYS
        return math.sqrt((word * said**2 + trays * farm**2) / (word + trays))

    def share(self, recipe: Recipe) -> float:
        """How much trays of a recipe differ, against the farm's trays in general. [-]"""
        return self._within(recipe) / self._farms_within

    @cached_property
    def _farms_within(self) -> float:
        """How much trays of one recipe differ, sown apart: so much that their 80 % range comes out. [log g]"""
        unsure = self.unsure
        parts = [(sd, unsure[term]) for term, sd in self.sds().items()]
        return math.log(blurred(0.0, 0.0, parts).quantile(0.9)) / EIGHTY


def part_wild(
    rows: list[YieldRow], beliefs: Mapping[str, YieldBelief], *, among: Logs | None = None
) -> tuple[list[YieldRow], list[YieldRow]]:
    """Rows to learn from, and rows too far off their fellows (or, few as they are, the published figure) to believe."""
    all_logs = _logs_of(rows, among)
    logs = {recipe: all_logs[recipe] for recipe in dict.fromkeys(row.recipe for row in rows)}
    middles = {recipe: float(np.median(of)) if len(of) >= ALONE else beliefs[recipe].mu for recipe, of in logs.items()}
    reach = {
        recipe: WILD if len(of) >= ALONE else max(WILD, 4 * beliefs[recipe].level_sd) for recipe, of in logs.items()
    }
    wild = [abs(row.log_grams_per_cm2 - middles[row.recipe]) > reach[row.recipe] for row in rows]
    if not any(wild):
        return rows, []
    kept = [row for row, odd in zip(rows, wild, strict=True) if not odd]
    return kept, [row for row, odd in zip(rows, wild, strict=True) if odd]


def _wild_finding(row: YieldRow, recipe: Recipe) -> Finding:
    grams = math.exp(row.log_grams_per_cm2) * recipe.tray.area_cm2
    return Finding(
        code="weight-wild",
        severity="odd",
        message=f"tray {row.tray} = {grams:.0f} g: more than five times off what trays of {row.recipe} weigh; "
        "the outlook leaves it out.",
        remedy=f"If it was typed wrong, strike it and say it again; see it with: trayward tray story {row.tray}",
        about=f"tray:{row.tray}",
    )
