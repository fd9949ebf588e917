"""Words of entries that set the farm up: settings, shelves, kit, recipes, what is sold and to whom, trials."""

from __future__ import annotations

from trayward.farm.entries import CropFactSet, CustomerSet, FarmSet, KitSet, PlaceSet, ProductSet, RecipeSet, TrialSet
from trayward.farm.settings import ShownUnits
from trayward.rounds.traits import told, traits_of
from trayward.words import Own, counted, filled, in_a_list, in_a_row


def farm_set(body: FarmSet, units: ShownUnits) -> str:
    return filled("farm {told}", told=told(traits_of(body.settings, units)))


def place_set(body: PlaceSet, units: ShownUnits) -> str:
    if not body.shelf.spots:
        return filled("shelf {shelf} closed", shelf=Own(body.shelf.name))
    return filled("shelf {shelf}: {told}", shelf=Own(body.shelf.name), told=told(traits_of(body.shelf, units)))


def kit_set(body: KitSet, units: ShownUnits) -> str:
    return filled("kit {pool}: {told}", pool=body.pool.name, told=told(traits_of(body.pool, units)))


def recipe_set(body: RecipeSet, units: ShownUnits) -> str:
    if body.dropped:
        return filled("recipe {recipe} sown no more", recipe=Own(body.recipe.name))
    return filled("recipe {recipe}: {told}", recipe=Own(body.recipe.name), told=told(traits_of(body.recipe, units)))


def crop_fact_set(body: CropFactSet, units: ShownUnits) -> str:
    del units
    value = f"{body.value:g}" if isinstance(body.value, float) else body.value
    figure, crop = body.name, Own(body.crop)
    said = filled("crop figure {figure} of {crop} is {value} on this farm", figure=figure, crop=crop, value=value)
    return in_a_row((said, Own(body.note)))


def product_set(body: ProductSet, units: ShownUnits) -> str:
    named = Own(body.product.name)
    return filled("product {product}: {told}", product=named, told=told(traits_of(body.product, units)))


def customer_set(body: CustomerSet, units: ShownUnits) -> str:
    named = Own(body.customer.name)
    return filled("customer {customer}: {told}", customer=named, told=told(traits_of(body.customer, units)))


def trial_set(body: TrialSet, units: ShownUnits) -> str:
    del units
    trial = body.trial
    if body.dropped:
        return filled("trial {trial} given up", trial=Own(trial.name))
    of_density = trial.what == "density"
    begin = filled(
        "trial {trial}: {recipe} at {levels} live seeds a cm2" if of_density
        else "trial {trial}: {recipe} at {levels} days of blackout",
        trial=Own(trial.name), recipe=Own(trial.recipe), levels=in_a_list(f"{level:.3g}" for level in trial.levels),
    )  # fmt: skip
    trays, days = counted(trial.trays_each, "tray"), counted(trial.blocks, "sowing day")
    return in_a_row((begin, filled("{trays} of each on {days}", trays=trays, days=days), Own(trial.note)))
