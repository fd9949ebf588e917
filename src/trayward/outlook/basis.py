"""What an outlook rests on, in one sentence: own trays against how many trays' worth of published figures."""

from __future__ import annotations

from trayward.farm.recipes import Recipe
from trayward.library.yields import BORROWED
from trayward.outlook.memory import Lessons
from trayward.outlook.priors import FARMS_OWN
from trayward.outlook.stages import StageModel
from trayward.outlook.types import Basis
from trayward.outlook.yields import YieldModel

MOST_LENDERS = 3
"""So many of the crops that a yield is borrowed from are named."""


def grams_basis(recipe: Recipe, yields: YieldModel) -> Basis:
    """What a weight rests on."""
    own, belief = yields.own_trays(recipe), yields.belief(recipe)
    if not yields.knows(recipe):
        words = (
            f"Nobody said what a tray of {recipe.name} weighs and none was cut yet: give the recipe a typical yield."
        )
        return Basis(own_trays=0, prior_trays=0.0, words=words)
    worth = yields.prior_trays(recipe) if belief.said else 0.0
    words = _words(own, yields.own_sowings(recipe), "cut", _figures(belief.source), worth)
    return Basis(own_trays=own, prior_trays=worth, words=words)


def _figures(source: str) -> str:
    """Whose figures a weight began with."""
    if source == FARMS_OWN:
        return "the setup file's figures"
    if source.startswith(BORROWED):
        lenders = source.removeprefix(BORROWED).split(", ")
        more = f" and {len(lenders) - MOST_LENDERS} more" if len(lenders) > MOST_LENDERS else ""
        return f"figures borrowed from crops like it ({', '.join(lenders[:MOST_LENDERS])}{more})"
    return f"published figures ({source})" if source else "published figures"


def time_basis(recipe: Recipe, lessons: Lessons) -> Basis:
    """What the times rest on: the best known stage speaks for all."""
    models = [
        model for stage in recipe.growing_stages if (model := _cued(lessons.stages.get(stage.name), recipe)) is not None
    ]
    if not models:
        return Basis(own_trays=0, prior_trays=0.0, words="The recipe's stages end by the clock.")
    best = max(models, key=lambda model: model.own_trays(recipe))
    own, worth = best.own_trays(recipe), best.prior_trays()
    words = _words(own, best.own_sowings(recipe), "seen through", "the recipe's stage lengths", worth)
    return Basis(own_trays=own, prior_trays=worth, words=words)


def _cued(model: StageModel | None, recipe: Recipe) -> StageModel | None:
    return model if model is not None and recipe.name in model.scales.beliefs else None


def _words(own: int, sowings: int, done: str, figures: str, worth: float) -> str:
    if not own:
        return f"{figures[0].upper()}{figures[1:]} only, counted as {_trays(worth)}: none {done} here yet."
    mine = f"{_count(own, 'own tray')} {done} in {_count(sowings, 'sowing')}"
    return f"{mine}, against {figures} counted as {_trays(worth)}." if worth else f"{mine}; no published figure."


def _trays(worth: float) -> str:
    if worth < 0.1:
        return "less than a tenth of a tray"
    return f"{worth:.1f} trays" if worth < 9.95 else f"{worth:.0f} trays"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" + ("" if number == 1 else "s")
