"""Applying a setup file to a farm that is already there: only what differs is recorded."""

from __future__ import annotations

from collections.abc import Iterable

import msgspec

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
    RecordHabitSet,
    SeedReceived,
    SensorSet,
    StandingOrderSet,
    SupplyReceived,
    SupplySet,
)
from trayward.farm.state import FarmState


def setup_changes(state: FarmState, bodies: Iterable[Body]) -> tuple[Body, ...]:
    """
    Of what a setup file says, only what differs from the farm as it stands, so that applying a file twice adds nothing.

    What the file no longer mentions stays as it is (`left_out` names it). A lot of seed or of a supply that is already
    here is left alone: it has been used since, and a test, a weighing or a count corrects it. Pauses recorded for a
    standing order since the file was written are kept.
    """
    kept = (_change(state, body) for body in bodies)
    return tuple(body for body in kept if body is not None)


def _change(state: FarmState, body: Body) -> Body | None:
    """The body as it has to be recorded, or None where the farm is like that already."""
    match body:
        case FarmSet(settings=settings) if state.settings is not None:
            # What is given on pages of its own: a file that says nothing of it does not take it back.
            rules = settings.rules or state.settings.rules
            mail = settings.alarm_mail if settings.alarm_mail.to else state.settings.alarm_mail
            body = FarmSet(settings=msgspec.structs.replace(settings, rules=rules, alarm_mail=mail))
        case StandingOrderSet():
            return _standing_change(state, body)
        case OrderPlaced():
            return _order_change(state, body)
        case SeedReceived():
            known = state.seed.get(body.lot)
            awaited = known is not None and known.expected_on is not None and known.expected_on != body.expected_on
            return body if known is None or awaited else None
        case SupplyReceived():
            return _lot_change(state, body)
    return None if _is_so(state, body) else body


def _is_so(state: FarmState, body: Body) -> bool:
    """Whether the farm is already as the body says."""
    match body:
        case FarmSet(settings=settings):
            return state.settings == settings
        case PlaceSet(shelf=shelf):
            closed = shelf.spots == 0 and shelf.name not in state.shelves
            return closed or state.shelves.get(shelf.name) == shelf
        case KitSet(pool=pool):
            known = state.kit.get(pool.name)
            return known is not None and known.pool == pool
        case CropFactSet(crop=crop, name=name, value=value):
            fact = state.crop_facts.get(crop, {}).get(name)
            return fact is not None and fact.value == value
        case RecipeSet(recipe=recipe, dropped=dropped):
            return state.recipes.get(recipe.name) == recipe and (recipe.name in state.dropped_recipes) == dropped
        case ProductSet(product=product):
            return state.products.get(product.name) == product
        case CustomerSet(customer=customer):
            return state.customers.get(customer.name) == customer
        case SupplySet(supply=supply, dropped=dropped):
            kept = state.supplies.get(supply.name)
            return kept is not None and (kept.supply, kept.dropped) == (supply, dropped)
        case OfferSet(offer=offer):
            return state.offers.get(offer.key) == offer
        case RecordHabitSet(habit=habit):
            return state.record_habits.get(habit.key) == habit
        case SensorSet(sensor=sensor):
            return state.sensors.get(sensor.name) == sensor
    return False


def _lot_change(state: FarmState, body: SupplyReceived) -> Body | None:
    """A delivery of a supply that is new, or was on order and is here or due on another day."""
    held = state.supplies.get(body.supply)
    known = held.lots.get(body.lot) if held is not None else None
    awaited = known is not None and known.expected_on is not None and known.expected_on != body.expected_on
    return body if known is None or awaited else None


def _standing_change(state: FarmState, body: StandingOrderSet) -> Body | None:
    known = state.standing.get(body.standing.standing)
    if known is None:
        return body
    pauses = tuple(dict.fromkeys((*body.standing.pauses, *known.pauses)))
    wanted = msgspec.structs.replace(body.standing, pauses=pauses)
    same = msgspec.structs.replace(known, pauses=()) == msgspec.structs.replace(wanted, pauses=())
    return None if same and set(pauses) == set(known.pauses) else StandingOrderSet(standing=wanted)


def _order_change(state: FarmState, body: OrderPlaced) -> Body | None:
    known = state.orders.get(body.order.order)
    if known is None:
        return None if body.order.order in state.cancelled_orders else body
    return None if known == body.order else OrderChanged(order=body.order)


def left_out(state: FarmState, bodies: Iterable[Body]) -> tuple[str, ...]:
    """What the farm has and the file does not mention, as `kind:name`; applying the file leaves it as it is."""
    said = {subject for body in bodies for subject in body.subjects()}
    held = [
        *(f"shelf:{name}" for name, shelf in state.shelves.items() if shelf.spots),
        *(f"kit:{name}" for name in state.kit),
        *(f"recipe:{recipe.name}" for recipe in state.recipes_in_use()),
        *(f"product:{name}" for name in state.products),
        *(f"customer:{name}" for name in state.customers),
        *(f"order:{name}" for name, standing in state.standing.items() if not standing.ended),
        *(f"supply:{name}" for name, kept in state.supplies.items() if not kept.dropped),
        *(f"sensor:{name}" for name, sensor in state.sensors.items() if not sensor.ended),
    ]
    return tuple(name for name in held if name not in said)
