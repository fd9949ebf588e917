"""How much a tray will weigh: published yields first, the farm's own cut trays soon after."""

from __future__ import annotations

import math

from trayward.farm.recipes import Recipe, YieldPrior
from trayward.farm.state import Tray
from trayward.outlook.shrink import EIGHTY, Learned, Lognormal, Tally, learn
from trayward.outlook.types import Basis

SOURCES_APART = 3.0
"""Highest over lowest published yield of one crop, where a recipe names only a typical one: 2 to 4 times in general."""
LEAST_SD = 0.1
"""Trays differ at least this much, whatever a source says. Our assumption. [log g]"""


def yield_prior(prior: YieldPrior) -> Lognormal | None:
    """What was printed or said of a tray's grams, as a lognormal; None where nothing was."""
    middle, low, high = prior.typical_g, prior.low_g, prior.high_g
    if middle is None and low and high:
        middle = math.sqrt(low * high)
    if not middle:
        return None
    apart = high / low if low and high else SOURCES_APART
    return Lognormal(math.log(middle), max(LEAST_SD, math.log(max(apart, 1.0)) / (2 * EIGHTY)))


def grown_log(tray: Tray, recipe: Recipe) -> float | None:
    """Log grams of a cut tray, put back to the day it was ready; None for one that brought nothing, or was not cut."""
    if tray.fate != "cut" or not tray.grams:
        return None
    return math.log(tray.grams) - math.log1p(recipe.growth_a_day) * _days_waited(tray, recipe)


def learn_yield(recipe: Recipe, own: Tally) -> Learned | None:
    """The recipe's log grams a tray; None where neither a source nor an own tray says anything."""
    return learn(yield_prior(recipe.yield_prior), own)


FARMS_OWN = "this farm"
"""The source of a yield that the farm gives itself, in its setup file."""


def yield_basis(recipe: Recipe, learned: Learned | None) -> Basis:
    """What a weight rests on, in one sentence."""
    if learned is None:
        words = (
            f"Nobody said what a tray of {recipe.name} weighs and none was cut yet: give the recipe a typical yield."
        )
        return Basis(own_trays=0, prior_trays=0.0, words=words)
    return Basis(
        own_trays=learned.own_trays,
        prior_trays=learned.prior_trays,
        words=basis_words(learned, "cut", recipe.yield_prior.source),
    )


def basis_words(learned: Learned, done: str, source: str = "") -> str:
    """How many own trays stand against how many trays' worth of prior."""
    own_figures = source == FARMS_OWN
    said = f" ({source})" if source else ""
    figures = "the setup file's figures" if own_figures else f"published figures{said}"
    if not learned.own_trays:
        only = "The setup file's figures only" if own_figures else f"Published figures only{said}"
        return f"{only}, counted as {learned.prior_trays:.0f} trays: none {done} here yet."
    own = f"{_count(learned.own_trays, 'own tray')} {done} in {_count(learned.own_sowings, 'sowing')}"
    if not learned.prior_trays:
        return f"{own}; no published figure."
    worth = f"{learned.prior_trays:.1f} trays" if learned.prior_trays >= 0.1 else "less than a tenth of a tray"
    return f"{own}, against {figures} counted as {worth}."


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" + ("" if number == 1 else "s")


def _days_waited(tray: Tray, recipe: Recipe) -> float:
    """Days it stood ready before it was cut, never more than the cut window. [d]"""
    last = recipe.stages[-1].name
    if tray.ended_at is None or tray.stage != last:
        return 0.0
    waited = (tray.ended_at - tray.stage_since).total_seconds() / 86400
    return min(max(waited, 0.0), float(recipe.cut_window_days))
