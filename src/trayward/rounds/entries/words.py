"""What any entry of the book says, as one sentence a kind, for lists of entries and changes of the setup.

A tray's or a lot's story tells the same from its own side; its words are used where they fit.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from trayward.farm import entries as kinds
from trayward.farm.entries import Body, Struck
from trayward.farm.settings import ShownUnits
from trayward.rounds.entries import cold_room, kit, money, notes, orders, records, sensors, setup, supplies, trays
from trayward.words import Own, filled

SHORT_ID = 8
"""So many letters of an entry's id are told."""

WORDS: dict[type[Body], Callable[[Any, ShownUnits], str]] = {
    kinds.FarmSet: setup.farm_set,
    kinds.PlaceSet: setup.place_set,
    kinds.KitSet: setup.kit_set,
    kinds.RecipeSet: setup.recipe_set,
    kinds.CropFactSet: setup.crop_fact_set,
    kinds.ProductSet: setup.product_set,
    kinds.CustomerSet: setup.customer_set,
    kinds.SeedReceived: supplies.seed_lot,
    kinds.SeedTested: supplies.seed_lot,
    kinds.SeedWeighed: supplies.seed_lot,
    kinds.OrderPlaced: orders.order_placed,
    kinds.OrderChanged: orders.order_changed,
    kinds.OrderCancelled: orders.order_cancelled,
    kinds.StandingOrderSet: orders.standing_order_set,
    kinds.StandingOrderPaused: orders.standing_order_paused,
    kinds.TrialSet: setup.trial_set,
    kinds.SowingMade: trays.sowing_made,
    kinds.RoundAnswered: trays.round_answered,
    kinds.Watered: trays.watered,
    kinds.Fed: trays.fed,
    kinds.Moved: trays.moved,
    kinds.StageChanged: trays.stage_changed,
    kinds.Measured: trays.measured,
    kinds.Discarded: trays.discarded,
    kinds.Cut: trays.cut,
    kinds.Stripped: trays.stripped,
    kinds.TroubleSeen: trays.trouble,
    kinds.TroubleCleared: trays.trouble,
    kinds.Packed: cold_room.packed,
    kinds.Delivered: cold_room.delivered,
    kinds.ThrownAway: cold_room.thrown_away,
    kinds.Washed: kit.washed,
    kinds.Sanitised: kit.sanitised,
    kinds.KitCounted: kit.kit_counted,
    kinds.KitReturned: kit.kit_counted,
    kinds.KitMarked: kit.kit_marked,
    kinds.KitUsed: kit.kit_used,
    kinds.KitRetired: kit.kit_retired,
    kinds.PriceListSet: money.price_list_set,
    kinds.BillingSet: money.billing_set,
    kinds.BuyerSet: money.buyer_set,
    kinds.InvoiceMade: money.invoice_made,
    kinds.InvoiceCredited: money.invoice_credited,
    kinds.InvoiceSent: money.invoice_sent,
    kinds.InvoicePaid: money.invoice_paid,
    kinds.ContactSet: records.contact_set,
    kinds.RecallKept: records.recall_kept,
    kinds.RecordWritten: records.record_written,
    kinds.RecordsReviewed: records.records_reviewed,
    kinds.RecordHabitSet: records.record_habit_set,
    kinds.SupplySet: supplies.supply_set,
    kinds.OfferSet: supplies.offer_set,
    kinds.SupplyReceived: supplies.supply_received,
    kinds.SupplyUsed: supplies.supply_used,
    kinds.SupplyCounted: supplies.supply_counted,
    kinds.SupplyThrownAway: supplies.supply_thrown_away,
    kinds.SensorSet: sensors.sensor_set,
    kinds.ReadingsSummed: sensors.readings_summed,
    kinds.AlarmRaised: sensors.alarm_raised,
    kinds.AlarmOver: sensors.alarm_over,
    kinds.AlarmAnswered: sensors.alarm_answered,
    kinds.ReadingTaken: sensors.reading_words,
    kinds.Note: notes.note,
    kinds.Photo: notes.photo,
    kinds.PlanKept: notes.plan_kept,
}
"""Which words belong to each kind of entry; those of a strike are `strike_words`."""


def entry_words(body: Body, units: ShownUnits) -> str:
    """
    What an entry says, as one sentence without a full stop.

    Examples
    --------
    >>> from trayward.farm.entries import Watered
    >>> entry_words(Watered(trays=("261125A.1",), ml=30.0, way="mist"), ShownUnits())
    '261125A.1 misted, 30 ml'
    """
    if isinstance(body, Struck):
        return strike_words(body, None, units)
    words = WORDS.get(type(body))
    return body.KIND if words is None else words(body, units)


AT_ONCE = "taken back at once"
"""Why an entry is struck a moment after it was said. It is kept in English, as the book speaks; pages translate it."""
ON_THE_ROUND = "taken back on the round"
"""Why an answer of a round is struck from its list."""


def strike_words(body: Struck, taken: Body | None, units: ShownUnits) -> str:
    """
    What is said by who takes an entry back; `taken` is what that one said, None where the book does not have it.

    Examples
    --------
    >>> from trayward.farm.entries import Note
    >>> strike_words(Struck(entry="device-0001", reason="wrong tray"), Note(text="looks well"), ShownUnits())
    'took back “note: looks well” (device-0): wrong tray'
    """
    if taken is None:
        return filled("took entry {entry} back: {reason}", entry=Own(body.entry), reason=body.reason)
    said, entry = entry_words(taken, units), Own(body.entry[:SHORT_ID])
    return filled("took back “{said}” ({entry}): {reason}", said=said, entry=entry, reason=body.reason)
