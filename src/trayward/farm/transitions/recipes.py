"""Recipes change while trays stand in their stages."""

from __future__ import annotations

from trayward.farm.entries import Entry, RecipeSet
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState
from trayward.farm.transitions.say import Findings, between, listed, more_than_zero, twice, wrong

LAST_STAGE = "ready"
"""In its last stage a tray waits to be cut."""


def check_recipe(state: FarmState, body: RecipeSet, entry: Entry) -> Findings:
    recipe = body.recipe
    return _stage_problems(entry, recipe) + _amount_problems(entry, recipe) + _left_standing(state, entry, recipe)


def apply_recipe(state: FarmState, body: RecipeSet, entry: Entry) -> None:
    state.recipes[body.recipe.name] = body.recipe
    if body.dropped:
        state.dropped_recipes.add(body.recipe.name)
    else:
        state.dropped_recipes.discard(body.recipe.name)


def _stage_problems(entry: Entry, recipe: Recipe) -> Findings:
    names = [stage.name for stage in recipe.stages]
    found = twice(entry, f"recipe {recipe.name}, stage", names)
    if not names or names[-1] != LAST_STAGE:
        message = f"recipe {recipe.name}, last stage = {names[-1] if names else 'none'}: must be called {LAST_STAGE!r}."
        found.append(wrong(entry, "last-stage", message, "In it a tray waits, lit, to be cut."))
    for stage in recipe.stages:
        name = f"recipe {recipe.name}, {stage.name}"
        found += between(entry, f"{name}, least days", stage.days_low, 0, 400, "d")
        found += between(entry, f"{name}, days", stage.days_typical, stage.days_low, 400, "d")
        found += between(entry, f"{name}, most days", stage.days_high, stage.days_typical, 400, "d")
        found += between(entry, f"{name}, stack", stage.stack, 1, 100)
    return found


def _amount_problems(entry: Entry, recipe: Recipe) -> Findings:
    name = f"recipe {recipe.name}"
    found = more_than_zero(entry, f"{name}, density", recipe.live_seeds_per_cm2, "live seeds per cm2")
    found += more_than_zero(entry, f"{name}, tray area", recipe.tray.area_cm2, "cm2")
    found += between(entry, f"{name}, cut window", recipe.cut_window_days, 0, 60, "d")
    for need in recipe.kit:
        found += between(entry, f"{name}, kit {need.pool}", need.each, 0, 100)
    return found


def _left_standing(state: FarmState, entry: Entry, recipe: Recipe) -> Findings:
    """Trays that stand in a stage the recipe would no longer have."""
    names = {stage.name for stage in recipe.stages}
    left: dict[str, list[str]] = {}
    for tray in state.trays.values():
        if tray.recipe == recipe.name and tray.fate == "growing" and tray.stage not in names:
            left.setdefault(tray.stage, []).append(tray.tray)
    remedy = "Keep the stage until they have left it, or make a recipe of another name."
    return [
        wrong(entry, "stage-in-use", f"recipe {recipe.name}, {stage} = dropped: {listed(trays)} stand in it.", remedy)
        for stage, trays in left.items()
    ]
