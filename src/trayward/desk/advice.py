"""What the library has to say of a recipe as it is set, and of trays as they are sown to it."""

from __future__ import annotations

import msgspec

from trayward.desk.lookup import facts_of
from trayward.errors import Finding
from trayward.farm.entries import Body, Entry, RecipeSet, SowingMade
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState
from trayward.library.advice import recipe_findings


def advice(state: FarmState, entry: Entry) -> tuple[Finding, ...]:
    """
    Whether the recipe that an entry is about can work.

    Setting a recipe that cannot work is wrong. Trays that were sown to one are sown: that is odd, and only what loses
    the seed is said again at every sowing.

    Parameters
    ----------
    state : FarmState
        The farm, for its own figures of the crop.
    entry : Entry
        What is about to be said; entries of other kinds give nothing.
    """
    found = _about(state, entry.body)
    return tuple(msgspec.structs.replace(finding, entries=(entry.id,)) for finding in found)


def _about(state: FarmState, body: Body) -> list[Finding]:
    if isinstance(body, RecipeSet) and not body.dropped:
        return _of(state, body.recipe)
    if isinstance(body, SowingMade) and body.recipe in state.recipes:
        found = _of(state, state.recipes[body.recipe])
        loses = [finding for finding in found if finding.severity == "wrong" or "mesh" in finding.code]
        return [msgspec.structs.replace(finding, severity="odd") for finding in loses]
    return []


def _of(state: FarmState, recipe: Recipe) -> list[Finding]:
    return recipe_findings(recipe, facts_of(state, recipe.crop))
