"""The entries of the book: one fact each, frozen, with a kind and a version.

An entry says who says so, when it happened and when it was recorded. Its id is made by the device that says it, so
sending it twice changes nothing. Nothing is ever edited: a mistake is struck by a later entry that names it.

Bodies are plain frozen values. Units: grams, millilitres, millimetres, degrees Celsius, dS/m, umol/m2/s, per cent RH.
Times carry their offset. The registry `KINDS` maps the stored kind name to its class; `VERSION` is the version this
code writes, and older versions are lifted when read (`lift`).

There is a module for each subject, named as the one in `farm.transitions` that says what its entries do. All else
imports them from here.
"""

from __future__ import annotations

from trayward.farm.entries.bills import (
    BillingSet,
    BuyerSet,
    InvoiceCredited,
    InvoiceMade,
    InvoicePaid,
    InvoiceSent,
    PriceListSet,
)
from trayward.farm.entries.body import Body, Entry, TrayBody
from trayward.farm.entries.cold_room import Delivered, LineDelivered, LotGrams, PackCount, Packed, ThrownAway
from trayward.farm.entries.harvest import Cut, Stripped, TrayCut
from trayward.farm.entries.kit import (
    KitBody,
    KitCounted,
    KitMarked,
    KitRetired,
    KitReturned,
    KitUsed,
    Sanitised,
    Washed,
)
from trayward.farm.entries.orders import (
    OrderCancelled,
    OrderChanged,
    OrderPlaced,
    StandingOrderPaused,
    StandingOrderSet,
)
from trayward.farm.entries.recalls import ContactSet, RecallKept
from trayward.farm.entries.records import RecordHabitSet, RecordsReviewed, RecordWritten
from trayward.farm.entries.say import Note, Photo, PlanKept, ReadingTaken, Struck
from trayward.farm.entries.seed import SeedReceived, SeedTested, SeedWeighed
from trayward.farm.entries.sensors import AlarmAnswered, AlarmOver, AlarmRaised, ReadingsSummed, SensorSet
from trayward.farm.entries.setup import CropFactSet, CustomerSet, FarmSet, KitSet, PlaceSet, ProductSet, RecipeSet
from trayward.farm.entries.sowing import MarksOn, SeedUsed, SowingMade, TraySown
from trayward.farm.entries.supplies import (
    OfferSet,
    SupplyBody,
    SupplyCounted,
    SupplyReceived,
    SupplySet,
    SupplyThrownAway,
    SupplyUsed,
)
from trayward.farm.entries.trays import Discarded, Fed, Measured, Moved, RoundAnswered, StageChanged, Watered
from trayward.farm.entries.trials import TrialSet
from trayward.farm.entries.trouble import TroubleCleared, TroubleSeen

KINDS: dict[str, type[Body]] = {
    body.KIND: body
    for body in (
        FarmSet, PlaceSet, KitSet, RecipeSet, CropFactSet, ProductSet, CustomerSet,
        SeedReceived, SeedTested, SeedWeighed,
        OrderPlaced, OrderChanged, OrderCancelled, StandingOrderSet, StandingOrderPaused, TrialSet,
        SowingMade, RoundAnswered, Watered, Fed, Moved, StageChanged, Measured, Discarded, Cut, Stripped,
        TroubleSeen, TroubleCleared,
        Packed, Delivered, ThrownAway,
        Washed, Sanitised, KitCounted, KitReturned, KitMarked, KitUsed, KitRetired,
        PriceListSet, BillingSet, BuyerSet, InvoiceMade, InvoiceCredited, InvoiceSent, InvoicePaid,
        ContactSet, RecallKept,
        RecordWritten, RecordsReviewed, RecordHabitSet,
        SupplySet, OfferSet, SupplyReceived, SupplyUsed, SupplyCounted, SupplyThrownAway,
        SensorSet, ReadingsSummed, AlarmRaised, AlarmOver, AlarmAnswered,
        ReadingTaken, Note, Photo, PlanKept, Struck,
    )
}  # fmt: skip
"""Every kind of entry by its name in the book."""

__all__ = [
    "KINDS",
    "AlarmAnswered",
    "AlarmOver",
    "AlarmRaised",
    "BillingSet",
    "Body",
    "BuyerSet",
    "ContactSet",
    "CropFactSet",
    "CustomerSet",
    "Cut",
    "Delivered",
    "Discarded",
    "Entry",
    "FarmSet",
    "Fed",
    "InvoiceCredited",
    "InvoiceMade",
    "InvoicePaid",
    "InvoiceSent",
    "KitBody",
    "KitCounted",
    "KitMarked",
    "KitRetired",
    "KitReturned",
    "KitSet",
    "KitUsed",
    "LineDelivered",
    "LotGrams",
    "MarksOn",
    "Measured",
    "Moved",
    "Note",
    "OfferSet",
    "OrderCancelled",
    "OrderChanged",
    "OrderPlaced",
    "PackCount",
    "Packed",
    "Photo",
    "PlaceSet",
    "PlanKept",
    "PriceListSet",
    "ProductSet",
    "ReadingTaken",
    "ReadingsSummed",
    "RecallKept",
    "RecipeSet",
    "RecordHabitSet",
    "RecordWritten",
    "RecordsReviewed",
    "RoundAnswered",
    "Sanitised",
    "SeedReceived",
    "SeedTested",
    "SeedUsed",
    "SeedWeighed",
    "SensorSet",
    "SowingMade",
    "StageChanged",
    "StandingOrderPaused",
    "StandingOrderSet",
    "Stripped",
    "Struck",
    "SupplyBody",
    "SupplyCounted",
    "SupplyReceived",
    "SupplySet",
    "SupplyThrownAway",
    "SupplyUsed",
    "ThrownAway",
    "TrayBody",
    "TrayCut",
    "TraySown",
    "TrialSet",
    "TroubleCleared",
    "TroubleSeen",
    "Washed",
    "Watered",
]
