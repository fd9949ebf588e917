"""Finding what somebody means: a tray, a whole sowing, a spot or a shelf, by the names growers use."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from trayward.errors import InputError, NotFoundError
from trayward.farm.crops import CropFacts
from trayward.farm.recipes import Recipe, Stage
from trayward.farm.state import FarmState, SeedLot, Tray
from trayward.farm.use_first import seed_in_line
from trayward.library.crops import facts_for


def trays_named(state: FarmState, names: Sequence[str], *, also: Sequence[str] = ()) -> list[Tray]:
    """The trays that `names` mean: tray names, sowings (their growing trays), spots, or shelves (what stands there).

    `also`: what else may be named where it is asked, to be offered where a name is nearly so.

    Raises
    ------
    NotFoundError
        If a name means no tray.
    """
    if not names:
        raise InputError("trays", "none", "at least one must be named", "Name trays, a sowing, a spot or a shelf.")
    found: dict[str, Tray] = {}
    for name in names:
        for tray in _trays_of(state, name, tuple(also)):
            found[tray.tray] = tray
    return list(found.values())


def _trays_of(state: FarmState, name: str, also: tuple[str, ...]) -> list[Tray]:
    tray = state.tray(name)
    if tray is not None:
        return [tray]
    if name in state.sowings:
        members = [state.tray(member) for member in state.sowings[name].trays]
        standing = [tray for tray in members if tray is not None and tray.fate == "growing"]
        return standing or [tray for tray in members if tray is not None]
    on_spot = [tray for spot, tray in state.spots.items() if spot == name or spot.startswith(f"{name}.")]
    if on_spot:
        return [state.trays[tray] for tray in on_spot]
    if name in state.shelves:
        raise NotFoundError("tray", name, remedy=f"Nothing stands on shelf {name}.")
    remedy = "See what stands with: trayward tray"
    also = (*also, *state.sowings, *state.shelves)
    raise NotFoundError("tray", name, tuple(tray.tray for tray in state.growing()), remedy, also)


def recipe_named(state: FarmState, name: str) -> Recipe:
    """A recipe by its name, or by its crop where the farm has just one recipe for it."""
    if name in state.recipes:
        return state.recipes[name]
    sown = state.recipes_in_use()
    for_crop = [recipe for recipe in sown if recipe.crop == name]
    if len(for_crop) == 1:
        return for_crop[0]
    if for_crop:
        known = ", ".join(recipe.name for recipe in for_crop)
        raise InputError("recipe", name, f"this crop has several: {known}", "Name the one you mean.")
    names, crops = tuple(recipe.name for recipe in sown), tuple(recipe.crop for recipe in sown)
    raise NotFoundError("recipe", name, names, "Add one to the farm's setup file.", crops)


def stage_named(recipe: Recipe, name: str) -> Stage:
    """A stage of a recipe by its name."""
    for stage in recipe.stages:
        if stage.name == name:
            return stage
    raise NotFoundError(f"stage of {recipe.name}", name, tuple(stage.name for stage in recipe.stages))


def facts_of(state: FarmState, crop: str) -> CropFacts:
    """What is known of a crop, the farm's own word first."""
    return facts_for(crop, state.crop_facts)


def lots_for(state: FarmState, crop: str, at: datetime) -> list[SeedLot]:
    """The crop's seed lots that are here and not empty, the one to use first before the others."""
    lots = [lot for lot in state.seed.values() if lot.crop == crop and lot.left_g > 0.05 and lot.expected_on is None]
    came = [lot for lot in lots if lot.received_at <= at]
    return seed_in_line(came, facts_of(state, crop), at, state.settings) if len(came) > 1 else came
