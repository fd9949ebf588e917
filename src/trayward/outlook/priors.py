"""What is believed before the farm's own trays speak: published figures, their spread, and how much trays differ.

Yields are thought of on a log scale, in grams a cm2 of growing area. A published figure tells where a crop lies, give
or take what sources differ by (two to four times for one crop); it says nothing of how much the trays of one farm
differ. That is a belief of our own, below, until the farm's book says better.
"""

from __future__ import annotations

import math
from functools import lru_cache
from statistics import median

import msgspec

from trayward.errors import NotFoundError
from trayward.farm.recipes import Recipe, Stage, TraySize, YieldPrior
from trayward.library.crops import crop_names, library_facts
from trayward.library.yields import family_yield_prior
from trayward.library.yields import yield_prior as crop_yield_prior
from trayward.outlook.laws import EIGHTY, blurred, log_sd_of_range
from trayward.outlook.terms import SdPrior


def rms(prior: SdPrior) -> float:
    """Root of the mean square of a spread that is not known for sure: its log is normal about that of the median."""
    return prior.median * math.exp(prior.log_sd**2)


def of_rms(sd: float, log_sd: float) -> SdPrior:
    """A spread that is not known for sure, with the root of its mean square."""
    return SdPrior(sd * math.exp(-(log_sd**2)), log_sd)


FARMS_OWN = "this farm"
"""The source of a yield that the farm gives itself, in its setup file."""

SOURCES_APART = 3.0
"""Highest over lowest published yield of one crop: two to four times. Used where a source gives one figure only. [-]"""
OWN_APART = 2.0
"""Where the farm itself names one usual weight: 8 of 10 trays within about 1.4 times either way. Our choice. [-]"""
LEAST_SD = 0.1
"""Trays differ at least this much, whatever is said of them. Our choice. [log g]"""

HOUSE_SD = 0.20
"""How far one farm's trays lie from the published figures, over all its crops. Our choice. [log g]"""
RECIPE_SD, LOT_SD, SEASON_SD, SOWING_SD, TRAY_SD = 0.10, 0.08, 0.05, 0.12, 0.12
"""How much recipes of a crop, lots, seasons, sowings and trays differ, until the farm's own. Our choice. [log g]"""
MEDIUM_SD = 0.10
"""How much one medium yields more than another, other things equal. Our choice. [log g]"""
YIELD_SPREADS = {
    "recipe": SdPrior(RECIPE_SD, 0.7),
    "lot": SdPrior(LOT_SD, 0.7),
    "season": SdPrior(SEASON_SD, 0.7),
    "sowing": SdPrior(SOWING_SD, 0.6),
    "tray": SdPrior(TRAY_SD, 0.5),
}
"""The same with doubt about the spreads themselves. Our choice."""
WORD_LEVEL = math.sqrt(0.4)
"""How far trays lie from what the farm says of a recipe, in units of the range it gives; the rest of the range is how
much its trays differ. Our choice. [-]"""
WORD_TOGETHER, WORD_APART = math.sqrt(0.3), math.sqrt(0.7)
"""How far a farm's words on all its recipes are off together, and each besides, in units of that. Our choice. [-]"""
WORD_SPREADS = {"words": of_rms(WORD_TOGETHER, 0.6), "word": of_rms(WORD_APART, 0.6)}
"""The same with doubt about the spreads themselves: medians lower, so that the mean squares are those. Our choice."""
OWN_WORD_TRAYS = 4.0
"""How many own trays the farm's own word on the spread of its trays counts as. Our choice. [-]"""
ANY_CROP_SD = 0.6
"""Log sd about the library's middle yield, for a crop nobody says anything of. Our choice. [log g]"""


class YieldBelief(msgspec.Struct, frozen=True, kw_only=True):
    """What is believed of a recipe's log grams a cm2 before any tray.

    `level_sd` is doubt about where this farm's trays will lie: of a published figure with the farm's own effect and the
    recipe's left out; of one that the farm gave itself (`own`) all of it. `tray_sd` is then the spread of its trays,
    else None. `said` is False where neither the recipe nor the library says anything.
    """

    mu: float
    level_sd: float
    own: bool = False
    tray_sd: float | None = None
    source: str = ""
    said: bool = True


def yield_belief(recipe: Recipe) -> YieldBelief:
    """
    What is believed of a recipe's yield.

    Parameters
    ----------
    recipe : Recipe
        Its `yield_prior` speaks first [g]; where it is blank, crops like its crop do; failing those, all crops.

    Returns
    -------
    YieldBelief
        On the log of grams a cm2.
    """
    if _middle(recipe.yield_prior) is not None:
        return _belief(recipe.yield_prior, recipe.tray.area_cm2)
    borrowed = _borrowed(recipe.crop)
    if borrowed is not None:
        return _belief(borrowed, TraySize().area_cm2)
    return YieldBelief(mu=_any_crop(), level_sd=ANY_CROP_SD, said=False)


def _belief(prior: YieldPrior, area_cm2: float) -> YieldBelief:
    middle = _middle(prior)
    assert middle is not None, "asked only where something is said"
    mu = math.log(middle / area_cm2)
    own = prior.source in ("", FARMS_OWN)
    apart = prior.high_g / prior.low_g if prior.low_g and prior.high_g else OWN_APART if own else SOURCES_APART
    if own:
        spread = max(LEAST_SD, log_sd_of_range(1.0, max(apart, 1.0)))
        level, trays = spread * WORD_LEVEL, spread * math.sqrt(1 - WORD_LEVEL**2)
        return YieldBelief(mu=mu, level_sd=level, own=True, tray_sd=trays, source=prior.source)
    spread = log_sd_of_range(1.0, max(apart, 1.0))
    return YieldBelief(mu=mu, level_sd=_left_over(spread), source=prior.source)


@lru_cache(maxsize=256)
def _left_over(spread: float) -> float:
    """The level's sd with which the range of a new farm's tray is as wide as sources differ by; found by halving."""
    parts = [(prior.median, prior.log_sd) for term, prior in YIELD_SPREADS.items() if term != "recipe"]
    others = math.hypot(HOUSE_SD, rms(YIELD_SPREADS["recipe"]), MEDIUM_SD)
    # Sources that happen to agree are still doubted: one trial is not every farm.
    low, high = 0.05, max(spread, 0.05)
    for _ in range(40):
        middle = (low + high) / 2
        if math.log(blurred(0.0, math.hypot(middle, others), parts).quantile(0.9)) > EIGHTY * spread:
            high = middle
        else:
            low = middle
    return low


def _middle(prior: YieldPrior) -> float | None:
    if prior.typical_g:
        return prior.typical_g
    return math.sqrt(prior.low_g * prior.high_g) if prior.low_g and prior.high_g else None


@lru_cache(maxsize=256)
def _borrowed(crop: str) -> YieldPrior | None:
    """What the library says of the crop, or of crops like it; None where it knows neither."""
    try:
        found = crop_yield_prior(library_facts(crop))
        if _middle(found) is None:
            found = family_yield_prior(crop)
    except NotFoundError:
        return None
    return found if _middle(found) is not None else None


@lru_cache(maxsize=1)
def _any_crop() -> float:
    """The middle of all yields in the library, as log grams a cm2."""
    priors = [crop_yield_prior(library_facts(name)) for name in crop_names()]
    return math.log(median(middle for prior in priors if (middle := _middle(prior))) / TraySize().area_cm2)


# Stage times ---------------------------------------------------------------------------------------------------------

LEAST_STAGE_SD = 0.02
"""Even a stage that ends by the clock varies this much. Our choice. [log d]"""
LIVING_STAGE_SD = 0.10
"""A stage that plants end varies about this much, however narrow the recipe's range. Our choice. [log d]"""
STAGE_WORD_TRAYS = 4.0
"""How many own trays a recipe's own narrow range counts as. Our choice. [-]"""
STAGE_HOUSE, STAGE_RECIPE, STAGE_LOT, STAGE_SEASON, STAGE_SOWING, STAGE_TRAY = (
    math.sqrt(share) for share in (0.15, 0.30, 0.05, 0.10, 0.25, 0.15)
)
"""The recipe's range of a stage, shared out: how far this farm, a recipe, lots, seasons, sowings and trays differ, as
standard deviations in units of that range's own. Their squares make one, so that with no own tray the outlook is the
recipe's range. The shares are our choice. [-]"""

STAGE_UNSURE = 0.6
"""Doubt about these spreads themselves, on the log scale. Our choice. [-]"""
STAGE_SPREADS = {
    term: of_rms(sd, STAGE_UNSURE)
    for term, sd in {
        "recipe": STAGE_RECIPE,
        "lot": STAGE_LOT,
        "season": STAGE_SEASON,
        "sowing": STAGE_SOWING,
        "tray": STAGE_TRAY,
    }.items()
}
"""The shares with that doubt: medians lower, so that the mean squares are the shares still."""


class StageBelief(msgspec.Struct, frozen=True, kw_only=True):
    """What a recipe says of a stage: the log of its usual standard days, and the log sd of its 80 % range."""

    mu: float
    sd: float
    by_clock: bool
    """No cue ends it: it takes as long as the recipe says."""


def stage_belief(stage: Stage) -> StageBelief | None:
    """The recipe's range of a stage's days on a log scale; None for a stage that takes no time."""
    if stage.days_typical <= 0:
        return None
    low = max(stage.days_low, stage.days_typical / 4) if stage.days_low <= stage.days_typical else stage.days_typical
    high = max(stage.days_high, stage.days_typical)
    sd = max(LEAST_STAGE_SD, log_sd_of_range(low, high))
    return StageBelief(mu=math.log(stage.days_typical), sd=sd, by_clock=not stage.cue)


# Losses --------------------------------------------------------------------------------------------------------------

LOSS_SHARE = 0.03
"""Share of trays thrown away before they are cut, where nothing is known. Common practice, no source. [-]"""
LOSS_LEVEL_SD, LOSS_RECIPE_SD, LOSS_SEASON_SD, LOSS_SOWING_SD = 0.8, 0.6, 0.4, 0.8
"""Doubt about it, and how much recipes, seasons and sowings differ, on the logit scale. Our choice. [-]"""

LOSS_SPREADS = {
    "recipe": SdPrior(LOSS_RECIPE_SD, 0.5),
    "season": SdPrior(LOSS_SEASON_SD, 0.5),
    "sowing": SdPrior(LOSS_SOWING_SD, 0.5),
}
"""The same with doubt about the spreads themselves. Our choice."""
