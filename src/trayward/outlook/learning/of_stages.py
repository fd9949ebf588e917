"""What explains the spread of stage times, and which lots are slow or quick: asked of days as of weights."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from trayward.farm.recipes import Recipe
from trayward.outlook.latent import LatentFit, Spreads, settle
from trayward.outlook.learning.shares import ONE_LOT_EACH, Spread, spread_words, variance_shares
from trayward.outlook.learning.standouts import NO_LIKE, StandOuts, stand_outs, with_a_like
from trayward.outlook.rows import Rows, StageRow
from trayward.outlook.stages import INNER_PRIORS, Groups, StageLearner, fixed_prior_of, likelihood_of
from trayward.outlook.terms import Floats, SdPrior

if TYPE_CHECKING:
    from trayward.outlook.ahead import Outlook

STEP = 0.15
"""Step of the second differences: wide enough to see past the rounding of the fit. [log sd]"""
INNER = ("sowing", "tray")


class Seen(NamedTuple):
    """All that was seen of a stage on a farm, and the model of it."""

    stage: str
    groups: Groups
    fit: LatentFit | None


def seen_of_stages(outlook: Outlook) -> list[Seen]:
    """The stages of a farm that a cue ends, each with all its sowings, at the spreads the outlook found."""
    state, lessons = outlook.state, outlook.lessons
    rows = Rows.none()
    for tray in (*state.ended.values(), *state.trays.values()):
        lessons.reader.read(tray, rows)
    by_stage: dict[str, list[StageRow]] = {}
    for row in rows.stages:
        by_stage.setdefault(row.stage, []).append(row)
    found = []
    for stage, model in lessons.stages.items():
        spreads = model.fit.spreads if model.fit is not None else None
        found.append(seen_of(stage, state.recipes, by_stage.get(stage, []), spreads))
    return found


def seen_of(
    stage: str, recipes: Mapping[str, Recipe], rows: Sequence[StageRow], spreads: Spreads | None = None
) -> Seen:
    """All that was seen of one stage; its spreads sought where they are not given."""
    learner = StageLearner(stage, recipes, rows, spreads=spreads)
    return Seen(stage, learner.groups, learner.fit)


def stage_spread(model: Seen) -> Spread:
    """What explains the spread of a stage's days on this farm, counted in units of each recipe's own range."""
    about = f"days in {model.stage}"
    if model.fit is None:
        words = f"Nothing is known of the spread of {about} yet: no tray was seen through it here."
        return Spread(about="days", stage=model.stage, words=words)
    names = [*model.fit.spreads.terms, *INNER]
    sds = np.array([*(float(np.ravel(sd)[0]) for sd in model.fit.spreads.terms.values()), *model.fit.spreads.inner])
    seen = [len(set(codes)) for codes in (model.groups.codes[name] for name in model.fit.spreads.terms)]
    trays = sum(model.groups.seen.values())
    counts = [*seen, len(model.groups.number), trays]
    cov = log_sd_covariance(model, np.log(np.maximum(sds, 1e-6)))
    # A cause with one level only moves all trays alike: it explains nothing of how they differ.
    kept = [at for at, name in enumerate(names) if counts[at] > 1 or name == "tray"]
    shares = variance_shares(
        [names[at] for at in kept],
        np.log(np.maximum(sds[kept], 1e-6)),
        cov[np.ix_(kept, kept)],
        [counts[at] for at in kept],
    )
    alone = {"recipe", "lot"} <= {names[at] for at in kept} and not with_a_like(_pairs(model))
    words = spread_words(about, shares) + (ONE_LOT_EACH if alone else "")
    return Spread(about="days", stage=model.stage, trays=trays, shares=shares, words=words, one_lot_each=alone)


def log_sd_covariance(model: Seen, log_sds: Floats) -> Floats:
    """
    Covariance of the errors of the log sds of a stage model: terms in their order, then sowing and tray. (k, k)

    Notes
    -----
    The inverse of half the second differences of -2 log marginal likelihood (Laplace's) and the priors. A direction
    that the trays tell nothing of keeps its prior's doubt.
    """
    told = [term.sd_prior for term in model.groups.terms()] + list(INNER_PRIORS)
    believed = np.array([prior.log_sd**-2 if isinstance(prior, SdPrior) else 1e-2 for prior in told])
    second = _second_differences(model, log_sds) / 2 + np.diag(believed)
    # Whatever the trays seem to say, they do not take from what was known before.
    scale = 1 / np.sqrt(believed)
    values, vectors = np.linalg.eigh(second * np.outer(scale, scale))
    inverse = (vectors / np.maximum(values, 1.0)) @ vectors.T
    return np.asarray(inverse * np.outer(scale, scale))


def _second_differences(model: Seen, log_sds: Floats) -> Floats:
    """Of the criterion, without the priors. (k, k)"""
    assert model.fit is not None
    names, fit = list(model.fit.spreads.terms), model.fit
    likelihood, terms, prior = likelihood_of(model.groups), model.groups.terms(), fixed_prior_of()
    ones = np.ones((likelihood.groups, 1))
    count = len(log_sds)

    def criterion(*moved: tuple[int, float]) -> float:
        at = log_sds.copy()
        for place, step in moved:
            at[place] += step
        sds = np.exp(at)
        spreads = Spreads(sds[len(names) :], dict(zip(names, sds[: len(names)].tolist(), strict=True)))
        return settle(likelihood, np.zeros(len(ones)), ones, prior, terms, spreads, start=fit).criterion

    here = criterion()
    up = [criterion((k, STEP)) for k in range(count)]
    down = [criterion((k, -STEP)) for k in range(count)]
    found = np.diag([up[k] + down[k] - 2 * here for k in range(count)])
    for i, j in combinations(range(count), 2):
        both, none = criterion((i, STEP), (j, STEP)), criterion((i, -STEP), (j, -STEP))
        found[i, j] = found[j, i] = (both + none - up[i] - down[i] - up[j] - down[j] + 2 * here) / 2
    return found / STEP**2


def stage_stand_outs(model: Seen) -> StandOuts:
    """Lots whose trays stay longer or shorter in a stage than their like."""
    if model.fit is None or not model.groups.number:
        return StandOuts(kind="lot", looked_at=0, words=NO_LIKE["lot"])
    groups, effects, errors = model.groups, model.fit.effects["lot"], model.fit.effect_se["lot"]
    scales = _scale_of_lots(model)
    paired = with_a_like(_pairs(model))
    at = {name: place for name, place in groups.levels["lot"].items() if name in paired and name and place in scales}
    trays = dict.fromkeys(at.values(), 0)
    for (group, _, _), count in groups.seen.items():
        lot = groups.codes["lot"][group]
        if lot in trays:
            trays[lot] += count
    places = list(at.values())
    scale = np.array([scales[place] for place in places])
    return stand_outs(
        "lot",
        list(at),
        effects[places] * scale,
        errors[places] * scale,
        float(np.ravel(model.fit.spreads.terms["lot"])[0]) * scale,
        len(groups.number) - len(scales) + 1,
        [trays[place] for place in places],
        about="days",
        stage=model.stage,
    )


def _pairs(model: Seen) -> list[tuple[str, str]]:
    """Recipe and lot of each sowing."""
    levels, codes = model.groups.levels, model.groups.codes
    recipes, lots = ({at: name for name, at in levels[term].items()} for term in ("recipe", "lot"))
    return [(recipes[recipe], lots[lot]) for recipe, lot in zip(codes["recipe"], codes["lot"], strict=True)]


def _scale_of_lots(model: Seen) -> dict[int, float]:
    """What one unit of the common scale makes for the recipe a lot is sown to. [log d]"""
    recipes = {number: name for name, number in model.groups.levels["recipe"].items()}
    found: dict[int, float] = {}
    for recipe, lot in zip(model.groups.codes["recipe"], model.groups.codes["lot"], strict=True):
        found.setdefault(lot, model.groups.scales.sds[recipes[recipe]])
    return found
