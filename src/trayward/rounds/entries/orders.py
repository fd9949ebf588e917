"""Words of entries about orders."""

from __future__ import annotations

from trayward.dates import day_words
from trayward.farm.entries import OrderCancelled, OrderChanged, OrderPlaced, StandingOrderPaused, StandingOrderSet
from trayward.farm.settings import ShownUnits
from trayward.rounds.traits import told, traits_of
from trayward.words import Own, filled, in_a_row


def order_placed(body: OrderPlaced, units: ShownUnits) -> str:
    return filled("order {order}: {told}", order=Own(body.order.order), told=told(traits_of(body.order, units)))


def order_changed(body: OrderChanged, units: ShownUnits) -> str:
    return filled("order {order} is now: {told}", order=Own(body.order.order), told=told(traits_of(body.order, units)))


def order_cancelled(body: OrderCancelled, units: ShownUnits) -> str:
    del units
    off = filled("order {order} is off", order=Own(body.order))
    return in_a_row((off, Own(body.reason)), ": ")


def standing_order_set(body: StandingOrderSet, units: ShownUnits) -> str:
    named = Own(body.standing.standing)
    return filled("standing order {standing}: {told}", standing=named, told=told(traits_of(body.standing, units)))


def standing_order_paused(body: StandingOrderPaused, units: ShownUnits) -> str:
    del units
    first, last = day_words(body.pause.first), day_words(body.pause.last)
    named = Own(body.standing)
    return filled("standing order {standing} pauses from {first} to {last}", standing=named, first=first, last=last)
