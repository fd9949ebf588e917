"""The farm's own answer to density and blackout, out of its yield model: curves, what pays best, the next trial."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, datetime, timedelta

import numpy as np

from trayward.errors import InputError
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState, Tray
from trayward.farm.trials import Lever, Trial
from trayward.outlook.learning.contrasts import Contrast, joint
from trayward.outlook.learning.density import (
    DensityResponse,
    TrayPoint,
    best_level,
    bounds_of,
    curve_of,
    density_words,
    sown_alike,
)
from trayward.outlook.learning.money import Money, money_of, published_densities
from trayward.outlook.learning.response import Bounds, Response
from trayward.outlook.learning.trials import TrialSaid, TrialTray, trial_said
from trayward.outlook.learning.worth_trying import (
    WEEKS,
    NextTrial,
    Pace,
    Worthwhile,
    candidates,
    next_trial,
    weigh,
)
from trayward.outlook.rows import YieldRow
from trayward.outlook.terms import NEW, Floats
from trayward.outlook.yields import (
    BLACKOUT,
    DENSITY,
    DENSITY_BY_CROP_SD,
    DENSITY_SQUARED,
    FIXED_PRIOR,
    HOUSE,
    WORD,
    WORDS,
    Asked,
    YieldModel,
    design_of,
)

LOOK_BACK = timedelta(days=56)
"""How fast a recipe is sown is told by its last eight weeks. [d]"""
BLACKOUT_REACH = 1.0
"""A blackout is tried at most a day shorter or longer than usual: the straight line says nothing further off. [d]"""

LEAST_BLACKOUT = 0.5
"""The least a trial proposes: from one walk to the next. A tray without any is no row of the blackout's. [d]"""


# The curve ------------------------------------------------------------------------------------------------------------


def response_of(model: YieldModel, recipe: Recipe, what: Lever = "density") -> Response:
    """
    What is believed of log grams a tray of a recipe against density or blackout, this farm's trays counted.

    Parameters
    ----------
    model : YieldModel
        What the farm's trays teach; without any, the published belief.
    recipe : Recipe
        The recipe; its own density (or blackout) is where the curve is centred.
    what : {"density", "blackout"}
        What is chosen.

    Returns
    -------
    Response
        For a new sowing of a lot and season not seen yet.
    """
    law = model.law(Asked(recipe=recipe))
    powers = 3 if what == "density" else 2
    if model.fit is None:
        slopes = [DENSITY, DENSITY_SQUARED] if what == "density" else [BLACKOUT]
        mean = np.array([law.mu, *(FIXED_PRIOR[name][0] for name in slopes)])
        sds = np.array([law.known_sd, *(FIXED_PRIOR[name][1] for name in slopes)])
        if what == "density":
            sds[1] = math.hypot(sds[1], DENSITY_BY_CROP_SD)
        cov = np.diag(sds**2)
    else:
        mean, cov = joint(model.fit, _contrasts(model, recipe, what))
        mean = mean + np.array([_constant(model, recipe), *[0.0] * (powers - 1)])
    centre = recipe.live_seeds_per_cm2 if what == "density" else blackout_of(recipe)
    return Response(
        what=what,
        centre=centre,
        mean=mean,
        cov=cov,
        tray_sd=law.tray_sd,
        day_sd=law.sowing_sd,
        other_sd=math.hypot(law.lot_sd, law.season_sd),
    )


def _constant(model: YieldModel, recipe: Recipe) -> float:
    """What the model's outcome is taken from: the published middle of a tray. [log g]"""
    return math.log(recipe.tray.area_cm2) + model.belief(recipe).mu


def _contrasts(model: YieldModel, recipe: Recipe, what: Lever) -> list[Contrast]:
    """The recipe's level, and what the log density (and its square) or a day of blackout multiplies."""
    names = model.fixed_names
    fixed, levels, columns = model.design([Asked(recipe=recipe)])

    def only(name: str, weight: float = 1.0) -> Floats:
        return np.array([weight if each == name else 0.0 for each in names])

    def weight_of(term: str) -> float:
        return float(columns[term][0, 0]) if term in columns else 1.0

    standing = {
        term: (int(levels[term][0]), weight_of(term))
        for term in ("crop", "medium", "recipe", WORDS, WORD)
        if int(levels[term][0]) != NEW
    }
    found = [Contrast(only(HOUSE, float(fixed[0, names.index(HOUSE)])), standing)]
    if what == "blackout":
        return [*found, Contrast(only(BLACKOUT), {})]
    crop = int(levels["density by crop"][0])
    by_crop = {"density by crop": (crop, 1.0)} if crop != NEW else {}
    return [*found, Contrast(only(DENSITY), by_crop), Contrast(only(DENSITY_SQUARED), {})]


def blackout_of(recipe: Recipe) -> float:
    """Usual days under a blackout cover. [d]"""
    return sum(stage.days_typical for stage in recipe.growing_stages if stage.cover == "blackout")


def tray_points(model: YieldModel, state: FarmState, recipe: Recipe) -> tuple[TrayPoint, ...]:
    """The recipe's cut trays of known density, with all that the model knows of them but density and day taken out."""
    rows = [row for row in model.rows if row.recipe == recipe.name and density_of(state, row.tray) is not None]
    if model.fit is None or not rows:
        return ()
    design = design_of(rows, model.recipes, model.levels.copy())
    others = [k for k, name in enumerate(model.fixed_names) if name not in (HOUSE, DENSITY, DENSITY_SQUARED)]
    taken = design.fixed[:, others] @ model.fit.fixed[others]
    for term in ("lot", "season"):
        taken = taken + model.fit.effects[term][design.levels[term], 0]
    logs = design.y - taken + _constant(model, recipe)
    return tuple(
        TrayPoint(tray=row.tray, level=density_of(state, row.tray) or 0.0, grams=math.exp(log))
        for row, log in zip(rows, logs.tolist(), strict=True)
    )


def density_of(state: FarmState, tray: str) -> float | None:
    """Live seeds a cm2 a tray was sown at, by the lot's figures on that day; None where they were blank. [1/cm2]"""
    found = state.tray(tray)
    density = found.live_seeds_per_cm2 if found is not None else None
    return density if density is not None and 0 < density < math.inf else None


def density_bounds(model: YieldModel, state: FarmState, recipe: Recipe) -> Bounds:
    """Between which densities something can be said of a recipe: published, or tried on this farm."""
    tried = tried_densities(model, state, recipe.crop)
    return bounds_of(published_densities(state, recipe.crop), tried, recipe.live_seeds_per_cm2)


def tried_densities(model: YieldModel, state: FarmState, crop: str) -> list[float]:
    """Densities of a crop's cut trays, where they are known. [1/cm2]"""
    return [density for row in model.rows if row.crop == crop if (density := density_of(state, row.tray))]


def density_response(
    model: YieldModel, state: FarmState, recipe: Recipe, at: datetime, money: Money | None = None
) -> DensityResponse:
    """
    Weight against density for a recipe's crop on this farm, and the density that pays best.

    Parameters
    ----------
    money : Money, optional
        What a gram brings and the seed costs, where the grower says so; looked up in orders and deliveries if left out.
    """
    response, bounds = response_of(model, recipe), density_bounds(model, state, recipe)
    points = tray_points(model, state, recipe)
    known = money if money is not None else money_of(state, recipe, at)
    worth = known.worth("density")
    best = best_level(response, worth, bounds, recipe.live_seeds_per_cm2) if worth is not None else None
    own = tried_densities(model, state, recipe.crop)
    said = density_words(recipe.crop, response, bounds, len(own), alike=sown_alike(own))
    if best is not None:
        said = f"{said} {best.words} That holds where every gram is sold ({known.words})."
    else:
        said = f"{said} To say what pays best, give {' and '.join(known.missing)}."
    return DensityResponse(
        crop=recipe.crop,
        recipe=recipe.name,
        bounds=bounds,
        curve=curve_of(response, bounds),
        trays=points,
        own_trays=len(own),
        best=best,
        words=said,
    )


# The next trial -------------------------------------------------------------------------------------------------------


def pace_of(state: FarmState, recipe: Recipe, at: datetime) -> Pace | None:
    """How fast a recipe was sown in the last eight weeks; None where it was not, or on one day only."""
    sown: dict[date, int] = {}
    for sowing in state.sowings.values():
        if sowing.recipe == recipe.name and at - LOOK_BACK <= sowing.sown_at <= at:
            day = sowing.sown_at.date()
            sown[day] = sown.get(day, 0) + len(sowing.trays)
    if len(sown) < 2:
        return None
    began = state.began or at
    weeks = max(2.0, min(LOOK_BACK, at - began) / timedelta(days=7))
    return Pace(
        trays_a_week=sum(sown.values()) / weeks, days_a_week=len(sown) / weeks, days_to_cut=recipe.days_to_ready
    )


def blackout_bounds(recipe: Recipe) -> Bounds | None:
    """Between which days of blackout a trial may go: a day about the usual; None for a recipe without one."""
    usual = blackout_of(recipe)
    if usual <= 0:
        return None
    low, high = max(LEAST_BLACKOUT, usual - BLACKOUT_REACH), usual + BLACKOUT_REACH
    low = min(low, usual)
    return Bounds(low=low, high=high, words=f"{low:.2g} to {high:.2g} days of blackout")


def weighed_trials(
    model: YieldModel, state: FarmState, recipe: Recipe, at: datetime, money: Money | None = None
) -> tuple[list[Worthwhile], float]:
    """The trials a farm could make with a recipe, weighed; and what the recipe brings over the horizon. [currency]"""
    pace = pace_of(state, recipe, at)
    known = money if money is not None else money_of(state, recipe, at)
    if pace is None or known.gram is None:
        return [], 0.0
    found = []
    levers: tuple[tuple[Lever, Bounds | None, float], ...] = (
        ("density", density_bounds(model, state, recipe), recipe.live_seeds_per_cm2),
        ("blackout", blackout_bounds(recipe), blackout_of(recipe)),
    )
    for what, bounds, present in levers:
        worth = known.worth(what)
        if worth is None or bounds is None:
            continue
        response = response_of(model, recipe, what)
        choices = candidates(bounds, what, present, pace)
        found += [weigh(recipe.name, response, worth, bounds, pace, one) for one in choices]
    usual = response_of(model, recipe).expected_grams(np.array([recipe.live_seeds_per_cm2]))[0]
    return found, float(usual) * known.gram * pace.trays_a_week * WEEKS


def trial_worth_making(model: YieldModel, state: FarmState, at: datetime) -> NextTrial:
    """The next trial worth making on a farm: which levels of which recipe, on how many trays; or none."""
    weighed: list[Worthwhile] = []
    brings: dict[str, float] = {}
    for name, recipe in state.recipes.items():
        if name in state.dropped_recipes:
            continue
        mine, brings[name] = weighed_trials(model, state, recipe, at)
        weighed += mine
    return next_trial(weighed, brings)


# A trial's analysis ---------------------------------------------------------------------------------------------------


def trial_result(model: YieldModel, state: FarmState, name: str, at: datetime) -> TrialSaid:
    """
    What a trial has said so far.

    Raises
    ------
    InputError
        If the farm has no trial of that name, or no longer its recipe.
    """
    trial = state.trials.get(name)
    if trial is None or trial.recipe not in state.recipes:
        rule = "the farm has no trial of that name" if trial is None else f"its recipe {trial.recipe} is gone"
        raise InputError("trial", name, rule, f"Trials: {', '.join(state.trials) or 'none'}.")
    recipe = state.recipes[trial.recipe]
    trays = [tray for tray in _all_trays(state) if tray.trial == name and tray.recipe == trial.recipe]
    rows = {row.tray: row for row in model.rows if row.trial == name and row.recipe == trial.recipe}
    cut = [_trial_tray(rows[tray.tray], tray, recipe, trial) for tray in trays if tray.tray in rows]
    present = recipe.live_seeds_per_cm2 if trial.what == "density" else blackout_of(recipe)
    return trial_said(
        trial,
        [one for one in cut if one is not None],
        response_of(model, recipe, trial.what),
        money_of(state, recipe, at).worth(trial.what),
        present,
        growing=[tray.tray for tray in trays if tray.fate == "growing"],
        lost=[tray.tray for tray in trays if tray.fate == "discarded"],
        off=[tray.tray for tray in trays if tray.fate == "cut" and tray.tray not in {one.tray for one in cut if one}],
    )


def _all_trays(state: FarmState) -> Sequence[Tray]:
    return [*state.ended.values(), *state.trays.values()]


def _trial_tray(row: YieldRow, tray: Tray, recipe: Recipe, trial: Trial) -> TrialTray | None:
    level = tray.live_seeds_per_cm2 if trial.what == "density" else blackout_days(tray, recipe)
    if level is None:
        return None
    grown = math.log1p(recipe.growth_a_day) * row.waited_days
    return TrialTray(
        tray=row.tray,
        level=level,
        block=row.sowing,
        log_grams=row.log_grams_per_cm2 + math.log(recipe.tray.area_cm2) - grown,
    )


def blackout_days(tray: Tray, recipe: Recipe) -> float:
    """Days a tray spent under a blackout cover. [d]"""
    dark = {stage.name for stage in recipe.growing_stages if stage.cover == "blackout"}
    steps = [step for step in tray.steps if step.stage in dark and step.until is not None]
    return sum((step.until - step.since) / timedelta(days=1) for step in steps if step.until is not None)
