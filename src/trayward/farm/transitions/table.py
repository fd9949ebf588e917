"""Which check and which change belong to each kind of entry."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from trayward.farm import entries as kinds
from trayward.farm.entries import Body, Entry
from trayward.farm.state import FarmState
from trayward.farm.transitions import (
    bills,
    cold_room,
    harvest,
    kit,
    marks,
    moves,
    orders,
    recalls,
    recipes,
    record,
    records,
    seed,
    sensors,
    setup,
    sowing,
    supplies,
    trays,
    trials,
    trouble,
)
from trayward.farm.transitions.say import Findings

Check = Callable[[FarmState, Any, Entry], Findings]
Apply = Callable[[FarmState, Any, Entry], None]


class Transition(NamedTuple):
    """A kind's check and change."""

    check: Check
    apply: Apply
    whole: bool = False
    """True: an entry with something wrong about it changes nothing. False: `apply` does what can be done."""


def _counting(check: Check, apply: Apply, whole: bool = False) -> Transition:
    """A kind by which supplies are used too: what it takes of each is counted off beside its own change."""

    def check_both(state: FarmState, body: Any, entry: Entry) -> Findings:
        found = check(state, body, entry)
        return found + supplies.running_short(state, body, entry) if state.supplies else found

    def apply_both(state: FarmState, body: Any, entry: Entry) -> None:
        taken = supplies.taken_by(state, body) if state.supplies else []
        trays = supplies.trays_of(state, body) if taken else {}
        apply(state, body, entry)
        supplies.take_all(state, taken, entry)
        supplies.note_taken(state, body, taken, trays, entry)

    return Transition(check_both, apply_both, whole)


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
    kinds.SowingMade: _counting(sowing.check_sown, sowing.apply_sown),
    kinds.RoundAnswered: Transition(trays.check_answered, trays.apply_answered),
    kinds.Watered: Transition(trays.check_watered, trays.apply_watered),
    kinds.Fed: _counting(trays.check_fed, trays.apply_watered),
    kinds.Moved: Transition(moves.check_moved, moves.apply_moved),
    kinds.StageChanged: Transition(trays.check_stage, trays.apply_stage),
    kinds.Measured: Transition(trays.check_measured, trays.apply_measured),
    kinds.Discarded: Transition(trays.check_discarded, trays.apply_discarded),
    kinds.Cut: Transition(harvest.check_cut, harvest.apply_cut),
    kinds.Stripped: Transition(harvest.check_stripped, harvest.apply_stripped),
    kinds.TroubleSeen: Transition(trouble.check_seen, trouble.apply_seen),
    kinds.TroubleCleared: Transition(trouble.check_cleared, trouble.apply_cleared),
    kinds.Packed: _counting(cold_room.check_packed, cold_room.apply_packed),
    kinds.Delivered: Transition(cold_room.check_delivered, cold_room.apply_delivered),
    kinds.ThrownAway: Transition(cold_room.check_thrown_away, cold_room.apply_thrown_away),
    kinds.Washed: _counting(kit.check_washed, kit.apply_washed, whole=True),
    kinds.Sanitised: _counting(kit.check_sanitised, kit.apply_sanitised, whole=True),
    kinds.KitCounted: Transition(kit.check_counted, kit.apply_counted, whole=True),
    kinds.KitReturned: Transition(kit.check_returned, kit.apply_returned, whole=True),
    kinds.KitMarked: Transition(marks.check_marked, marks.apply_marked, whole=True),
    kinds.KitUsed: Transition(marks.check_used, marks.apply_used),
    kinds.KitRetired: Transition(marks.check_retired, marks.apply_retired, whole=True),
    kinds.PriceListSet: Transition(bills.check_prices, bills.apply_prices, whole=True),
    kinds.BillingSet: Transition(bills.check_billing, bills.apply_billing, whole=True),
    kinds.BuyerSet: Transition(bills.check_buyer, bills.apply_buyer, whole=True),
    kinds.InvoiceMade: Transition(bills.check_invoice, bills.apply_invoice),
    kinds.InvoiceCredited: Transition(bills.check_credit, bills.apply_credit),
    kinds.InvoiceSent: Transition(bills.check_sent, bills.apply_sent),
    kinds.InvoicePaid: Transition(bills.check_paid, bills.apply_paid),
    kinds.ContactSet: Transition(recalls.check_contact, recalls.apply_contact, whole=True),
    kinds.RecallKept: Transition(recalls.check_recall, recalls.apply_recall, whole=True),
    kinds.RecordWritten: Transition(records.check_record, records.apply_record),
    kinds.RecordsReviewed: Transition(records.check_review, records.apply_review),
    kinds.RecordHabitSet: Transition(records.check_habit, records.apply_habit, whole=True),
    kinds.SensorSet: Transition(sensors.check_sensor, sensors.apply_sensor, whole=True),
    kinds.ReadingsSummed: Transition(sensors.check_hour, sensors.apply_hour, whole=True),
    kinds.AlarmRaised: Transition(sensors.check_raised, sensors.apply_raised, whole=True),
    kinds.AlarmOver: Transition(sensors.check_known, sensors.apply_over, whole=True),
    kinds.AlarmAnswered: Transition(sensors.check_answered, sensors.apply_answered, whole=True),
    kinds.SupplySet: Transition(supplies.check_supply, supplies.apply_supply, whole=True),
    kinds.OfferSet: Transition(supplies.check_offer, supplies.apply_offer, whole=True),
    kinds.SupplyReceived: Transition(supplies.check_received, supplies.apply_received, whole=True),
    kinds.SupplyUsed: Transition(supplies.check_used, supplies.apply_used, whole=True),
    kinds.SupplyCounted: Transition(supplies.check_counted, supplies.apply_counted, whole=True),
    kinds.SupplyThrownAway: Transition(supplies.check_thrown, supplies.apply_thrown, whole=True),
    kinds.ReadingTaken: Transition(record.check_reading, record.apply_reading, whole=True),
    kinds.Note: Transition(record.check_nothing, record.apply_nothing),
    kinds.Photo: Transition(record.check_photo, record.apply_nothing),
    kinds.PlanKept: Transition(record.check_plan, record.apply_plan, whole=True),
    kinds.Struck: Transition(record.check_nothing, record.apply_nothing),
}
"""A new kind of entry is a pair of functions and a line here."""
