"""Words of entries that set the farm up: settings, shelves, kit, recipes, what is sold and to whom, trials."""

from __future__ import annotations

from trayward.farm.entries import CropFactSet, CustomerSet, FarmSet, KitSet, PlaceSet, ProductSet, RecipeSet, TrialSet
from trayward.farm.settings import ShownUnits
from trayward.rounds.entries.names import names
from trayward.rounds.sayings import joined
from trayward.rounds.traits import told, traits_of
from trayward.words import counted


def farm_set(body: FarmSet, units: ShownUnits) -> str:
    return f"farm {told(traits_of(body.settings, units))}"


def place_set(body: PlaceSet, units: ShownUnits) -> str:
    if not body.shelf.spots:
        return f"shelf {body.shelf.name} closed"
    return f"shelf {body.shelf.name}: {told(traits_of(body.shelf, units))}"


def kit_set(body: KitSet, units: ShownUnits) -> str:
    return f"kit {body.pool.name}: {told(traits_of(body.pool, units))}"


def recipe_set(body: RecipeSet, units: ShownUnits) -> str:
    if body.dropped:
        return f"recipe {body.recipe.name} sown no more"
    return f"recipe {body.recipe.name}: {told(traits_of(body.recipe, units))}"


def crop_fact_set(body: CropFactSet, units: ShownUnits) -> str:
    del units
    value = f"{body.value:g}" if isinstance(body.value, float) else body.value
    return joined(f"crop figure {body.name} of {body.crop} is {value} on this farm", body.note)


def product_set(body: ProductSet, units: ShownUnits) -> str:
    return f"product {body.product.name}: {told(traits_of(body.product, units))}"


def customer_set(body: CustomerSet, units: ShownUnits) -> str:
    return f"customer {body.customer.name}: {told(traits_of(body.customer, units))}"


def trial_set(body: TrialSet, units: ShownUnits) -> str:
    del units
    trial = body.trial
    if body.dropped:
        return f"trial {trial.name} given up"
    unit = "live seeds a cm2" if trial.what == "density" else "days of blackout"
    levels = f"{names(f'{level:.3g}' for level in trial.levels)} {unit}"
    days = f"{counted(trial.trays_each, 'tray')} of each on {counted(trial.blocks, 'sowing day')}"
    return joined(f"trial {trial.name}: {trial.recipe} at {levels}", days, trial.note)
