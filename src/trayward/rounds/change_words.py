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
from trayward.words import Filled, Own, filled, in_a_row


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
    words: str
    match body:
        case PlaceSet(shelf=shelf) if not shelf.spots:
            words = filled("shelf {shelf} is closed", shelf=Own(shelf.name))
        case RecipeSet(recipe=recipe, dropped=True):
            words = filled("recipe {recipe} is sown no more", recipe=Own(recipe.name))
        case CropFactSet(crop=crop, name=name):
            fact = state.crop_facts.get(crop, {}).get(name)
            words = entry_words(body, units)
            if fact is not None:
                words = filled("{said} instead of {old}", said=words, old=str(fact.value))
        case SeedReceived(lot=lot, expected_on=None) if lot in state.seed:
            words = filled("seed lot {lot} has come: {said}", lot=Own(lot), said=entry_words(body, units))
        case SupplyReceived(supply=name, lot=lot, expected_on=None) if _is_ordered(state, name, lot):
            words = filled("lot {lot} has come: {said}", lot=Own(lot), said=entry_words(body, units))
        case _:
            known = _thing(state, body)
            words = _of_thing(*known, units) if known is not None else _new(entry_words(body, units))
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
            return filled("shelf {shelf}", shelf=Own(shelf.name)), state.shelves.get(shelf.name), shelf
        case KitSet(pool=pool):
            held = state.kit.get(pool.name)
            return filled("kit {pool}", pool=pool.name), held.pool if held is not None else None, pool
        case RecipeSet(recipe=recipe):
            dropped = recipe.name in state.dropped_recipes
            known = None if dropped else state.recipes.get(recipe.name)
            return filled("recipe {recipe}", recipe=Own(recipe.name)), known, recipe
        case ProductSet(product=product):
            named = filled("product {product}", product=Own(product.name))
            return named, state.products.get(product.name), product
        case CustomerSet(customer=customer):
            named = filled("customer {customer}", customer=Own(customer.name))
            return named, state.customers.get(customer.name), customer
        case OrderPlaced(order=order) | OrderChanged(order=order):
            return filled("order {order}", order=Own(order.order)), state.orders.get(order.order), order
        case StandingOrderSet(standing=standing):
            named = filled("standing order {standing}", standing=Own(standing.standing))
            return named, state.standing.get(standing.standing), standing
        case SupplySet(supply=supply):
            kept = state.supplies.get(supply.name)
            now = kept.supply if kept is not None and not kept.dropped else None
            return filled("supply {supply}", supply=Own(supply.name)), now, supply
        case OfferSet(offer=offer):
            return filled("offer of {offer}", offer=Own(offer.key)), state.offers.get(offer.key), offer
        case SensorSet(sensor=sensor):
            return filled("sensor {sensor}", sensor=Own(sensor.name)), state.sensors.get(sensor.name), sensor
    return None


def _of_thing(name: str, before: Any, after: Any, units: ShownUnits) -> Filled:
    if before is None:
        return in_a_row((_new(name), told(traits_of(after, units))), ": ")
    found = differences(traits_of(before, units), traits_of(after, units))
    return in_a_row((name, in_a_row(found, "; ") or "set anew, alike in all that is told here"), ": ")


def _new(named: str) -> Filled:
    return filled("new {named}", named=named)
