"""What a change of the setup comes to, in plain words: a new thing whole, of a known one what is different."""

from __future__ import annotations

from typing import Any

from trayward.farm.entries import (
    Body,
    CropFactSet,
    CustomerSet,
    FarmSet,
    KitSet,
    OfferSet,
    OrderChanged,
    OrderPlaced,
    PlaceSet,
    ProductSet,
    RecipeSet,
    SeedReceived,
    SensorSet,
    StandingOrderSet,
    SupplyReceived,
    SupplySet,
)
from trayward.farm.settings import ShownUnits
from trayward.farm.state import FarmState
from trayward.rounds import traits_stores  # noqa: F401 - tells what supplies, offers and sensors are like
from trayward.rounds.entries.words import entry_words
from trayward.rounds.traits import differences, told, traits_of
from trayward.rounds.words import sentence


def change_words(state: FarmState, body: Body, units: ShownUnits) -> str:
    """
    What of the farm as it stands a body would change.

    Parameters
    ----------
    state : FarmState
        The farm before it.
    body : Body
        What a setup file says, as it would be recorded.
    units : ShownUnits
        The units the farm reads.

    Returns
    -------
    str
        For instance "Shelf K1: 6 spots instead of 4." or "New kit lids: 20 in all, dry 6 h after washing."
    """
    match body:
        case PlaceSet(shelf=shelf) if not shelf.spots:
            words = f"shelf {shelf.name} is closed"
        case RecipeSet(recipe=recipe, dropped=True):
            words = f"recipe {recipe.name} is sown no more"
        case CropFactSet(crop=crop, name=name):
            fact = state.crop_facts.get(crop, {}).get(name)
            words = entry_words(body, units) + (f" instead of {fact.value}" if fact is not None else "")
        case SeedReceived(lot=lot, expected_on=None) if lot in state.seed:
            words = f"seed lot {lot} has come: {entry_words(body, units)}"
        case SupplyReceived(supply=name, lot=lot, expected_on=None) if _is_ordered(state, name, lot):
            words = f"lot {lot} has come: {entry_words(body, units)}"
        case _:
            known = _thing(state, body)
            words = _of_thing(*known, units) if known is not None else f"new {entry_words(body, units)}"
    return sentence(words)


def _is_ordered(state: FarmState, supply: str, lot: str) -> bool:
    held = state.supplies.get(supply)
    return held is not None and lot in held.lots


Known = tuple[str, Any, Any]
"""What to call a thing, how it is, and how it would be."""


def _thing(state: FarmState, body: Body) -> Known | None:
    """The thing a body sets; nothing where it sets none."""
    match body:
        case FarmSet(settings=settings):
            return "farm", state.settings, settings
        case PlaceSet(shelf=shelf):
            return f"shelf {shelf.name}", state.shelves.get(shelf.name), shelf
        case KitSet(pool=pool):
            held = state.kit.get(pool.name)
            return f"kit {pool.name}", held.pool if held is not None else None, pool
        case RecipeSet(recipe=recipe):
            dropped = recipe.name in state.dropped_recipes
            return f"recipe {recipe.name}", None if dropped else state.recipes.get(recipe.name), recipe
        case ProductSet(product=product):
            return f"product {product.name}", state.products.get(product.name), product
        case CustomerSet(customer=customer):
            return f"customer {customer.name}", state.customers.get(customer.name), customer
        case OrderPlaced(order=order) | OrderChanged(order=order):
            return f"order {order.order}", state.orders.get(order.order), order
        case StandingOrderSet(standing=standing):
            return f"standing order {standing.standing}", state.standing.get(standing.standing), standing
        case SupplySet(supply=supply):
            kept = state.supplies.get(supply.name)
            return f"supply {supply.name}", kept.supply if kept is not None and not kept.dropped else None, supply
        case OfferSet(offer=offer):
            return f"offer of {offer.key}", state.offers.get(offer.key), offer
        case SensorSet(sensor=sensor):
            return f"sensor {sensor.name}", state.sensors.get(sensor.name), sensor
    return None


def _of_thing(name: str, before: Any, after: Any, units: ShownUnits) -> str:
    if before is None:
        return f"new {name}: {told(traits_of(after, units))}"
    found = differences(traits_of(before, units), traits_of(after, units))
    return f"{name}: {'; '.join(found) or 'set anew, alike in all that is told here'}"
