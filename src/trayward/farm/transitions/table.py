"""Which check and which change belong to each kind of entry."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from trayward.farm import entries as kinds
from trayward.farm.entries import Body, Entry
from trayward.farm.state import FarmState
from trayward.farm.transitions import (
    cold_room,
    harvest,
    kit,
    moves,
    orders,
    recipes,
    record,
    seed,
    setup,
    sowing,
    trays,
    trials,
)
from trayward.farm.transitions.say import Findings


class Transition(NamedTuple):
    """A kind's check and change."""

    check: Callable[[FarmState, Any, Entry], Findings]
    apply: Callable[[FarmState, Any, Entry], None]
    whole: bool = False
    """True: an entry with something wrong about it changes nothing. False: `apply` does what can be done."""


TRANSITIONS: dict[type[Body], Transition] = {
    kinds.FarmSet: Transition(setup.check_farm, setup.apply_farm, whole=True),
    kinds.PlaceSet: Transition(setup.check_place, setup.apply_place, whole=True),
    kinds.KitSet: Transition(setup.check_kit, setup.apply_kit, whole=True),
    kinds.RecipeSet: Transition(recipes.check_recipe, recipes.apply_recipe, whole=True),
    kinds.CropFactSet: Transition(setup.check_crop_fact, setup.apply_crop_fact, whole=True),
    kinds.ProductSet: Transition(setup.check_product, setup.apply_product, whole=True),
    kinds.CustomerSet: Transition(setup.check_customer, setup.apply_customer, whole=True),
    kinds.SeedReceived: Transition(seed.check_received, seed.apply_received, whole=True),
    kinds.SeedTested: Transition(seed.check_tested, seed.apply_tested, whole=True),
    kinds.SeedWeighed: Transition(seed.check_weighed, seed.apply_weighed, whole=True),
    kinds.OrderPlaced: Transition(orders.check_placed, orders.apply_placed),
    kinds.OrderChanged: Transition(orders.check_changed, orders.apply_changed),
    kinds.OrderCancelled: Transition(orders.check_cancelled, orders.apply_cancelled),
    kinds.StandingOrderSet: Transition(orders.check_standing_set, orders.apply_standing_set),
    kinds.StandingOrderPaused: Transition(orders.check_paused, orders.apply_paused, whole=True),
    kinds.TrialSet: Transition(trials.check_trial, trials.apply_trial, whole=True),
    kinds.SowingMade: Transition(sowing.check_sown, sowing.apply_sown),
    kinds.RoundAnswered: Transition(trays.check_answered, trays.apply_answered),
    kinds.Watered: Transition(trays.check_watered, trays.apply_watered),
    kinds.Fed: Transition(trays.check_fed, trays.apply_watered),
    kinds.Moved: Transition(moves.check_moved, moves.apply_moved),
    kinds.StageChanged: Transition(trays.check_stage, trays.apply_stage),
    kinds.Measured: Transition(trays.check_measured, trays.apply_measured),
    kinds.Discarded: Transition(trays.check_discarded, trays.apply_discarded),
    kinds.Cut: Transition(harvest.check_cut, harvest.apply_cut),
    kinds.Stripped: Transition(harvest.check_stripped, harvest.apply_stripped),
    kinds.Packed: Transition(cold_room.check_packed, cold_room.apply_packed),
    kinds.Delivered: Transition(cold_room.check_delivered, cold_room.apply_delivered),
    kinds.ThrownAway: Transition(cold_room.check_thrown_away, cold_room.apply_thrown_away),
    kinds.Washed: Transition(kit.check_washed, kit.apply_washed, whole=True),
    kinds.Sanitised: Transition(kit.check_sanitised, kit.apply_sanitised, whole=True),
    kinds.KitCounted: Transition(kit.check_counted, kit.apply_counted, whole=True),
    kinds.KitReturned: Transition(kit.check_returned, kit.apply_returned, whole=True),
    kinds.ReadingTaken: Transition(record.check_reading, record.apply_reading, whole=True),
    kinds.Note: Transition(record.check_nothing, record.apply_nothing),
    kinds.PlanKept: Transition(record.check_plan, record.apply_plan, whole=True),
    kinds.Struck: Transition(record.check_nothing, record.apply_nothing),
}
"""A new kind of entry is a pair of functions and a line here."""
