"""Words of entries about orders."""

from __future__ import annotations

from trayward.dates import day_words
from trayward.farm.entries import OrderCancelled, OrderChanged, OrderPlaced, StandingOrderPaused, StandingOrderSet
from trayward.farm.settings import ShownUnits
from trayward.rounds.traits import told, traits_of


def order_placed(body: OrderPlaced, units: ShownUnits) -> str:
    return f"order {body.order.order}: {told(traits_of(body.order, units))}"


def order_changed(body: OrderChanged, units: ShownUnits) -> str:
    return f"order {body.order.order} is now: {told(traits_of(body.order, units))}"


def order_cancelled(body: OrderCancelled, units: ShownUnits) -> str:
    del units
    return f"order {body.order} is off" + (f": {body.reason}" if body.reason else "")


def standing_order_set(body: StandingOrderSet, units: ShownUnits) -> str:
    return f"standing order {body.standing.standing}: {told(traits_of(body.standing, units))}"


def standing_order_paused(body: StandingOrderPaused, units: ShownUnits) -> str:
    del units
    return f"standing order {body.standing} pauses from {day_words(body.pause.first)} to {day_words(body.pause.last)}"
