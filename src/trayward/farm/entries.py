"""The entries of the book: one fact each, frozen, with a kind and a version.

An entry says who says so, when it happened and when it was recorded. Its id is made by the device that says it, so
sending it twice changes nothing. Nothing is ever edited: a mistake is struck by a later entry that names it.

Bodies are plain frozen values. Units: grams, millilitres, millimetres, degrees Celsius, dS/m, umol/m2/s, per cent RH.
Times carry their offset. The registry `KINDS` maps the stored kind name to its class; `VERSION` is the version this
code writes, and older versions are lifted when read (`lift`).
"""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import ClassVar, Literal

import msgspec

from trayward.farm.bills import Bill, Billing, Buyer, Paid, PriceList, Sent
from trayward.farm.kit import Pool
from trayward.farm.orders import Customer, Order, Pause, Product, StandingOrder
from trayward.farm.places import Shelf
from trayward.farm.recalls import Contact, Recall
from trayward.farm.recipes import Recipe
from trayward.farm.records import Habit, HygieneRecord
from trayward.farm.sensors import Sensor, SensorHour, Trouble, What
from trayward.farm.settings import FarmSettings
from trayward.farm.supplies import Offer, Supply, SupplyUnit
from trayward.farm.trials import Trial


class Body(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What an entry says. `KIND` is its name in the book for ever; `VERSION` grows when its shape changes."""

    KIND: ClassVar[str] = ""
    VERSION: ClassVar[int] = 1

    def subjects(self) -> tuple[str, ...]:
        """What the entry is about, as `kind:name` strings, for looking things up; no order is promised."""
        return ()


# Setting up -----------------------------------------------------------------------------------------------------------


class FarmSet(Body, frozen=True, kw_only=True):
    """The farm's settings are these from now on."""

    KIND = "farm set"
    settings: FarmSettings


class PlaceSet(Body, frozen=True, kw_only=True):
    """A shelf is as said from now on; 0 spots closes it."""

    KIND = "place set"
    shelf: Shelf

    def subjects(self) -> tuple[str, ...]:
        return (f"shelf:{self.shelf.name}",)


class KitSet(Body, frozen=True, kw_only=True):
    """A pool of kit is as said from now on."""

    KIND = "kit set"
    VERSION = 2
    pool: Pool

    def subjects(self) -> tuple[str, ...]:
        return (f"kit:{self.pool.name}",)


class RecipeSet(Body, frozen=True, kw_only=True):
    """A recipe is as said from now on; trays already sown keep the stages they have reached."""

    KIND = "recipe set"
    recipe: Recipe
    dropped: bool = False
    """True: no longer sown; trays of it standing now are still looked after."""

    def subjects(self) -> tuple[str, ...]:
        return (f"recipe:{self.recipe.name}", f"crop:{self.recipe.crop}")


class CropFactSet(Body, frozen=True, kw_only=True):
    """The grower says what a crop's figure is on this farm; it goes before the library's."""

    KIND = "crop fact set"
    crop: str
    name: str
    """Column of the crop table, for instance `tsw_g_typ`."""
    value: float | str
    note: str = ""

    def subjects(self) -> tuple[str, ...]:
        return (f"crop:{self.crop}",)


class ProductSet(Body, frozen=True, kw_only=True):
    """Something the farm sells, with its price, from now on."""

    KIND = "product set"
    product: Product

    def subjects(self) -> tuple[str, ...]:
        return (f"product:{self.product.name}",)


class CustomerSet(Body, frozen=True, kw_only=True):
    """A customer is as said from now on."""

    KIND = "customer set"
    customer: Customer

    def subjects(self) -> tuple[str, ...]:
        return (f"customer:{self.customer.name}",)


# Seed -----------------------------------------------------------------------------------------------------------------


class SeedReceived(Body, frozen=True, kw_only=True):
    """A delivery of seed. `germination` is the label's share that sprouts (0 to 1); None where it does not say."""

    KIND = "seed received"
    lot: str
    crop: str
    grams: float
    variety: str = ""
    supplier: str = ""
    supplier_lot: str = ""
    germination: float | None = None
    tsw_g: float | None = None
    """Weight of a thousand seeds. [g]"""
    cost: float = 0.0
    """What the whole delivery cost. [farm's currency]"""
    treated: bool = False
    """True: the seed is treated with anything. Defer to the label: treated seed is not for eating fresh."""
    document: str = ""
    expected_on: date | None = None
    """Set: the seed is on order and arrives that day; recording it again without this field receives it."""

    def subjects(self) -> tuple[str, ...]:
        return (f"lot:{self.lot}", f"crop:{self.crop}")


class SeedTested(Body, frozen=True, kw_only=True):
    """A seed test: `sprouted` of `tested` seeds came up, and / or the weight of a thousand seeds."""

    KIND = "seed tested"
    lot: str
    sprouted: int | None = None
    tested: int | None = None
    tsw_g: float | None = None
    days: float | None = None

    def subjects(self) -> tuple[str, ...]:
        return (f"lot:{self.lot}",)


class SeedWeighed(Body, frozen=True, kw_only=True):
    """Seed left in a lot, as the scale says; the record must agree with it from now on."""

    KIND = "seed weighed"
    lot: str
    grams: float
    reason: str = ""

    def subjects(self) -> tuple[str, ...]:
        return (f"lot:{self.lot}",)


# Orders ---------------------------------------------------------------------------------------------------------------


class OrderPlaced(Body, frozen=True, kw_only=True):
    """Somebody wants something on a day."""

    KIND = "order placed"
    order: Order

    def subjects(self) -> tuple[str, ...]:
        return (f"order:{self.order.order}", f"customer:{self.order.customer}")


class OrderChanged(Body, frozen=True, kw_only=True):
    """The order is as said from now on (all of it)."""

    KIND = "order changed"
    order: Order

    def subjects(self) -> tuple[str, ...]:
        return (f"order:{self.order.order}", f"customer:{self.order.customer}")


class OrderCancelled(Body, frozen=True, kw_only=True):
    """The order is off."""

    KIND = "order cancelled"
    order: str
    reason: str = ""

    def subjects(self) -> tuple[str, ...]:
        return (f"order:{self.order}",)


class StandingOrderSet(Body, frozen=True, kw_only=True):
    """A repeating order is as said from now on (all of it)."""

    KIND = "standing order set"
    standing: StandingOrder

    def subjects(self) -> tuple[str, ...]:
        return (f"order:{self.standing.standing}", f"customer:{self.standing.customer}")


class StandingOrderPaused(Body, frozen=True, kw_only=True):
    """No deliveries of a repeating order for a while."""

    KIND = "standing order paused"
    standing: str
    pause: Pause

    def subjects(self) -> tuple[str, ...]:
        return (f"order:{self.standing}",)


class TrialSet(Body, frozen=True, kw_only=True):
    """A trial is as said from now on; sowings that carry its name are its trays."""

    KIND = "trial set"
    trial: Trial
    dropped: bool = False
    """True: it is given up. Its trays stay what they are."""

    def subjects(self) -> tuple[str, ...]:
        return (f"trial:{self.trial.name}", f"recipe:{self.trial.recipe}")


# The life of a tray ---------------------------------------------------------------------------------------------------


class TraySown(msgspec.Struct, frozen=True, kw_only=True):
    """One tray of a sowing and where it went; no spot while it needs none (soaking)."""

    tray: str
    spot: str | None = None


class SeedUsed(msgspec.Struct, frozen=True, kw_only=True):
    """Grams out of one seed lot, for all trays of the sowing together. [g]"""

    lot: str
    grams: float


class MarksOn(msgspec.Struct, frozen=True, kw_only=True):
    """The marked mats, trays or covers that one tray is on, under or in."""

    tray: str
    marks: tuple[str, ...]


class SowingMade(Body, frozen=True, kw_only=True):
    """Trays sown together from the same recipe and seed lots, shared evenly over the trays."""

    KIND = "sowing made"
    VERSION = 2
    sowing: str
    recipe: str
    trays: tuple[TraySown, ...]
    lots: tuple[SeedUsed, ...]
    stage: str = ""
    """Stage they begin in; empty: the recipe's first."""
    trial: str = ""
    marks: tuple[MarksOn, ...] = ()
    """Which marked kit each tray got; only trays that got some."""

    def subjects(self) -> tuple[str, ...]:
        trays = tuple(f"tray:{tray.tray}" for tray in self.trays)
        lots = tuple(f"lot:{used.lot}" for used in self.lots)
        marks = dict.fromkeys(f"mark:{mark}" for on in self.marks for mark in on.marks)
        return (f"sowing:{self.sowing}", f"recipe:{self.recipe}", *trays, *lots, *marks)


class TrayBody(Body, frozen=True, kw_only=True):
    """An entry about some trays."""

    trays: tuple[str, ...]

    def subjects(self) -> tuple[str, ...]:
        return tuple(f"tray:{tray}" for tray in self.trays)


class RoundAnswered(TrayBody, frozen=True, kw_only=True):
    """What the grower saw on a round. Only what was said is set."""

    KIND = "round answered"
    round: str = ""
    """Which walk: `2026-11-25 morning`; empty for a look outside the rounds."""
    moisture: Literal["moist", "dry"] | None = None
    cue: Literal["ready", "not yet"] | None = None
    share_emerged: float | None = None
    height_mm: float | None = None
    problem: str = ""
    """A word for trouble seen, for instance `mould`, `fallen`, `uneven`; empty: none seen."""
    note: str = ""


class Watered(TrayBody, frozen=True, kw_only=True):
    """Water given, to each tray. [ml]"""

    KIND = "watered"
    ml: float
    way: Literal["mist", "below", "soak"] = "below"


class Fed(TrayBody, frozen=True, kw_only=True):
    """Feed given, to each tray, from below. [ml], EC [dS/m]"""

    KIND = "fed"
    ml: float
    ph: float | None = None
    ec: float | None = None
    feed: str = ""


class Moved(Body, frozen=True, kw_only=True):
    """Trays went to other spots, all at once, so two may swap."""

    KIND = "moved"
    moves: tuple[TraySown, ...]

    def subjects(self) -> tuple[str, ...]:
        return tuple(f"tray:{move.tray}" for move in self.moves)


class StageChanged(TrayBody, frozen=True, kw_only=True):
    """Trays begin a stage."""

    KIND = "stage changed"
    stage: str


class Measured(TrayBody, frozen=True, kw_only=True):
    """A measure of each of some trays. `what` says which: height_mm, weight_g, canopy_share, ..."""

    KIND = "measured"
    what: str
    value: float
    unit: str = ""


class Discarded(TrayBody, frozen=True, kw_only=True):
    """Trays thrown away."""

    KIND = "discarded"
    reason: str


class TroubleSeen(TrayBody, frozen=True, kw_only=True):
    """Trouble seen on trays, also on ones that were cut: the sign, and what is thought to be behind it."""

    KIND = "trouble seen"
    sign: str
    """What eyes and nose tell, by the guide's name or in a word of one's own: `white fuzz`, `fallen`."""
    cause: str = ""
    """What it most likely is, by the guide's name; empty: nobody said."""
    where: str = ""
    """Where on the tray, in a word: `edge`, `middle`, `corner`, `all over`."""
    share: float | None = None
    """Share of the tray that has it, 0 to 1."""
    looks: dict[str, bool] = {}
    """What a close look answered, question by question: `gone when misted`: true."""
    hold: str = ""
    """Why the trays are held back from cutting, packing and sale until somebody clears them; empty: they are not."""
    note: str = ""


class TroubleCleared(TrayBody, frozen=True, kw_only=True):
    """Somebody looked close: what the trays were held back for was something else."""

    KIND = "trouble cleared"
    found: str
    """What it was instead: `root hairs`."""
    note: str = ""


class TrayCut(msgspec.Struct, frozen=True, kw_only=True):
    """Grams from one tray. [g]"""

    tray: str
    grams: float


class Cut(Body, frozen=True, kw_only=True):
    """Trays cut together into one harvest lot. `regrow`: the trays stay for another cut."""

    KIND = "cut"
    harvest: str
    crop: str
    trays: tuple[TrayCut, ...]
    height_mm: float | None = None
    regrow: bool = False

    def subjects(self) -> tuple[str, ...]:
        return (f"harvest:{self.harvest}", f"crop:{self.crop}", *(f"tray:{tray.tray}" for tray in self.trays))


class Stripped(TrayBody, frozen=True, kw_only=True):
    """Trays scraped clean of roots; their kit is now dirty."""

    KIND = "stripped"


# From the cold room to the customer -----------------------------------------------------------------------------------


class PackCount(msgspec.Struct, frozen=True, kw_only=True):
    """Some packs of one filling."""

    pack: str
    packs: int


class LotGrams(msgspec.Struct, frozen=True, kw_only=True):
    """Grams out of one harvest lot. [g]"""

    harvest: str
    grams: float


class Packed(Body, frozen=True, kw_only=True):
    """Packs filled from harvest lots. `parts` is the total over all packs."""

    KIND = "packed"
    pack: str
    product: str
    packs: int
    pack_g: float
    parts: tuple[LotGrams, ...]
    best_before: date | None = None

    def subjects(self) -> tuple[str, ...]:
        return (f"pack:{self.pack}", f"product:{self.product}", *(f"harvest:{part.harvest}" for part in self.parts))


class LineDelivered(msgspec.Struct, frozen=True, kw_only=True):
    """What went out for one line: packs, loose grams of harvest lots, or live trays."""

    line: str
    packs: tuple[PackCount, ...] = ()
    loose: tuple[LotGrams, ...] = ()
    trays: tuple[str, ...] = ()


class Delivered(Body, frozen=True, kw_only=True):
    """A delivery to a customer."""

    KIND = "delivered"
    delivery: str
    customer: str
    lines: tuple[LineDelivered, ...]
    document: str = ""

    def subjects(self) -> tuple[str, ...]:
        found = [f"delivery:{self.delivery}", f"customer:{self.customer}"]
        for line in self.lines:
            found.append(f"order:{line.line.rpartition('/')[0]}")
            found += [f"pack:{count.pack}" for count in line.packs]
            found += [f"harvest:{part.harvest}" for part in line.loose]
            found += [f"tray:{tray}" for tray in line.trays]
        return tuple(dict.fromkeys(found))


class ThrownAway(Body, frozen=True, kw_only=True):
    """Cut crop that will not be sold, loose out of harvest lots or in packs."""

    KIND = "thrown away"
    parts: tuple[LotGrams, ...] = ()
    packs: tuple[PackCount, ...] = ()
    reason: str

    def subjects(self) -> tuple[str, ...]:
        lots = tuple(f"harvest:{part.harvest}" for part in self.parts)
        return (*lots, *(f"pack:{count.pack}" for count in self.packs))


# Kit and hygiene ------------------------------------------------------------------------------------------------------


class KitBody(Body, frozen=True, kw_only=True):
    """An entry about some of a kit pool."""

    pool: str
    count: int

    def subjects(self) -> tuple[str, ...]:
        return (f"kit:{self.pool}", *_mark_subjects(getattr(self, "marks", ())))


def _mark_subjects(marks: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f"mark:{mark}" for mark in dict.fromkeys(marks))


class Washed(KitBody, frozen=True, kw_only=True):
    """Kit washed; it dries from now."""

    KIND = "washed"
    VERSION = 2
    soap: str = ""
    rinse_c: float | None = None
    note: str = ""
    marks: tuple[str, ...] = ()
    """Which ones, where they carry marks; empty: nobody said, or all that were dirty."""
    left_out: tuple[str, ...] = ()
    """Steps of the farm's washing that were left out."""


class Sanitised(KitBody, frozen=True, kw_only=True):
    """Kit sanitised. Defer to the label, local codes and licensed practice for agent, strength and time."""

    KIND = "sanitised"
    VERSION = 2
    agent: str
    strength_ppm: float | None = None
    contact_min: float | None = None
    water_c: float | None = None
    note: str = ""
    marks: tuple[str, ...] = ()
    """Which ones, where they carry marks; empty: nobody said, or all that waited for it."""


class KitCounted(KitBody, frozen=True, kw_only=True):
    """How many of a pool there are in all, as counted; the pool holds that many from now on."""

    KIND = "kit counted"
    reason: str = ""


class KitReturned(KitBody, frozen=True, kw_only=True):
    """Kit back from customers who bought live trays; it comes back dirty."""

    KIND = "kit returned"
    VERSION = 2
    marks: tuple[str, ...] = ()
    """Which ones, where they carry marks; empty: nobody said, or all that were away."""


class KitMarked(Body, frozen=True, kw_only=True):
    """Things of a pool carry these marks from now on; they are things the pool counts already."""

    KIND = "kit marked"
    pool: str
    marks: tuple[str, ...]
    uses: int = 0
    """Uses that each has had so far. [-]"""

    def subjects(self) -> tuple[str, ...]:
        return (f"kit:{self.pool}", *_mark_subjects(self.marks))


class KitUsed(Body, frozen=True, kw_only=True):
    """Which marked kit a standing tray is on, where its sowing did not say or said others."""

    KIND = "kit used"
    tray: str
    marks: tuple[str, ...]

    def subjects(self) -> tuple[str, ...]:
        return (f"tray:{self.tray}", *_mark_subjects(self.marks))


class KitRetired(Body, frozen=True, kw_only=True):
    """Marked things are used no more, and others may take their place; the pool holds so many less, or more."""

    KIND = "kit retired"
    pool: str
    marks: tuple[str, ...]
    fate: Literal["retired", "lost"] = "retired"
    reason: str = ""
    replaced_by: tuple[str, ...] = ()
    """Marks of new things that take their place."""

    def subjects(self) -> tuple[str, ...]:
        return (f"kit:{self.pool}", *_mark_subjects((*self.marks, *self.replaced_by)))


# Prices and invoices --------------------------------------------------------------------------------------------------


class PriceListSet(Body, frozen=True, kw_only=True):
    """A customer's own prices from a day on; a list of the same day is replaced whole."""

    KIND = "price list set"
    VERSION = 2
    prices: PriceList

    def subjects(self) -> tuple[str, ...]:
        return (f"customer:{self.prices.customer}", *(f"product:{each.product}" for each in self.prices.prices))


class BillingSet(Body, frozen=True, kw_only=True):
    """How the farm writes its invoices from now on."""

    KIND = "billing set"
    billing: Billing


class BuyerSet(Body, frozen=True, kw_only=True):
    """Whom a customer's invoices are written to from now on."""

    KIND = "buyer set"
    buyer: Buyer

    def subjects(self) -> tuple[str, ...]:
        return (f"customer:{self.buyer.customer}",)


class InvoiceMade(Body, frozen=True, kw_only=True):
    """An invoice. It is never struck: a credit note corrects it."""

    KIND = "invoice made"
    bill: Bill

    def subjects(self) -> tuple[str, ...]:
        return (f"invoice:{self.bill.name}", f"customer:{self.bill.customer}")


class InvoiceCredited(Body, frozen=True, kw_only=True):
    """A credit note, for some lines of an invoice or all. `again`: what it takes away may be asked for anew."""

    KIND = "invoice credited"
    bill: Bill
    again: bool = False

    def subjects(self) -> tuple[str, ...]:
        return (f"invoice:{self.bill.name}", f"invoice:{self.bill.credits}", f"customer:{self.bill.customer}")


class InvoiceSent(Body, frozen=True, kw_only=True):
    """An invoice or a credit note went to the customer."""

    KIND = "invoice sent"
    invoice: str
    sent: Sent

    def subjects(self) -> tuple[str, ...]:
        return (f"invoice:{self.invoice}",)


class InvoicePaid(Body, frozen=True, kw_only=True):
    """Money came for an invoice."""

    KIND = "invoice paid"
    invoice: str
    paid: Paid

    def subjects(self) -> tuple[str, ...]:
        return (f"invoice:{self.invoice}",)


# Recalls --------------------------------------------------------------------------------------------------------------


class ContactSet(Body, frozen=True, kw_only=True):
    """How a customer is reached at once, from now on."""

    KIND = "contact set"
    contact: Contact

    def subjects(self) -> tuple[str, ...]:
        return (f"customer:{self.contact.customer}",)


class RecallKept(Body, frozen=True, kw_only=True):
    """A recall that was tried out, or had to be: what was called back, who was reached, and how long it took."""

    KIND = "recall kept"
    VERSION = 2
    recall: Recall

    def subjects(self) -> tuple[str, ...]:
        told = self.recall
        lots = (*(f"harvest:{name}" for name in told.harvests), *(f"pack:{name}" for name in told.packs))
        customers = (f"customer:{each.customer}" for each in told.told)
        return tuple(dict.fromkeys((f"recall:{told.recall}", told.about, *lots, *customers)))


# Hygiene records ------------------------------------------------------------------------------------------------------


class RecordWritten(Body, frozen=True, kw_only=True):
    """A hygiene record: a cleaning, a temperature of the cold room, a water test, a training, ..."""

    KIND = "record written"
    record: HygieneRecord

    def subjects(self) -> tuple[str, ...]:
        area = (f"place:{self.record.area}",) if self.record.area else ()
        return tuple(dict.fromkeys((f"record:{self.record.kind}", *area, *self.record.about)))


class RecordsReviewed(Body, frozen=True, kw_only=True):
    """Somebody in charge looked at records, named by their entries."""

    KIND = "records reviewed"
    entries: tuple[str, ...]
    note: str = ""

    def subjects(self) -> tuple[str, ...]:
        return tuple(f"entry:{name}" for name in self.entries)


class RecordHabitSet(Body, frozen=True, kw_only=True):
    """How often a kind of record is kept somewhere, and its limits there, from now on."""

    KIND = "record habit set"
    VERSION = 2
    habit: Habit

    def subjects(self) -> tuple[str, ...]:
        return (f"record:{self.habit.kind}",)


# Sensors --------------------------------------------------------------------------------------------------------------


class SensorSet(Body, frozen=True, kw_only=True):
    """A sensor is as said from now on."""

    KIND = "sensor set"
    sensor: Sensor

    def subjects(self) -> tuple[str, ...]:
        return (f"sensor:{self.sensor.name}", f"place:{self.sensor.place}")


class ReadingsSummed(Body, frozen=True, kw_only=True):
    """An hour of the sensors. Their readings stand beside the book; said again where more of that hour came late."""

    KIND = "readings summed"
    hour: datetime
    """Its beginning."""
    taken_until: datetime
    """Readings that came in later are not in it."""
    sensors: tuple[SensorHour, ...]

    def subjects(self) -> tuple[str, ...]:
        return tuple(f"sensor:{each.sensor}" for each in self.sensors)


class AlarmRaised(Body, frozen=True, kw_only=True):
    """A sensor was beyond a limit for too long, or was not heard of."""

    KIND = "alarm raised"
    alarm: str
    sensor: str
    place: str
    what: What
    trouble: Trouble
    since: datetime
    value: float | None = None
    """The worst so far, in the unit of the measure; None of a silent sensor."""
    limit: float | None = None

    def subjects(self) -> tuple[str, ...]:
        return (f"alarm:{self.alarm}", f"sensor:{self.sensor}", f"place:{self.place}")


class AlarmOver(Body, frozen=True, kw_only=True):
    """It came back within its limits, or was heard of again."""

    KIND = "alarm over"
    alarm: str
    sensor: str
    until: datetime
    value: float | None = None
    """The worst there was, in the unit of the measure."""

    def subjects(self) -> tuple[str, ...]:
        return (f"alarm:{self.alarm}", f"sensor:{self.sensor}")


class AlarmAnswered(Body, frozen=True, kw_only=True):
    """Somebody saw to an alarm, and says what was done."""

    KIND = "alarm answered"
    alarm: str
    sensor: str
    done: str

    def subjects(self) -> tuple[str, ...]:
        return (f"alarm:{self.alarm}", f"sensor:{self.sensor}")


# Supplies -------------------------------------------------------------------------------------------------------------


class SupplySet(Body, frozen=True, kw_only=True):
    """A supply other than seed is as said from now on: what it is, what takes of it, how much should be there."""

    KIND = "supply set"
    supply: Supply
    dropped: bool = False
    """True: it is no longer used; what is left of it stays in the book."""

    def subjects(self) -> tuple[str, ...]:
        return (f"supply:{self.supply.name}",)


class OfferSet(Body, frozen=True, kw_only=True):
    """What a supplier asks for a supply or for seed of a crop, from now on."""

    KIND = "offer set"
    offer: Offer
    dropped: bool = False
    """True: it is not sold by them any more."""

    def subjects(self) -> tuple[str, ...]:
        return (f"{'crop' if self.offer.seed else 'supply'}:{self.offer.thing}",)


class SupplyBody(Body, frozen=True, kw_only=True):
    """An entry about some of a supply. `unit` is the supply's own, so that the entry can be read alone."""

    supply: str
    amount: float
    """How much. [unit]"""
    unit: SupplyUnit
    """What it is counted in."""
    lot: str = ""
    """Which delivery of it; empty: what is to be used first, or all of it."""

    def subjects(self) -> tuple[str, ...]:
        return (f"supply:{self.supply}",)


class SupplyReceived(SupplyBody, frozen=True, kw_only=True):
    """A delivery of a supply, here or on order."""

    KIND = "supply received"
    best_before: date | None = None
    cost: Decimal | None = None
    """What all of it cost, without tax that comes back. [farm's currency]"""
    supplier: str = ""
    supplier_lot: str = ""
    document: str = ""
    expected_on: date | None = None
    """Set: it is on order and arrives that day; recording it again without this field receives it."""


class SupplyUsed(SupplyBody, frozen=True, kw_only=True):
    """Some of a supply was used, beside what the book counts off by itself."""

    KIND = "supply used"
    reason: str = ""


class SupplyCounted(SupplyBody, frozen=True, kw_only=True):
    """What there is of a supply in all, or of one lot of it, as counted: from now on that holds."""

    KIND = "supply counted"
    reason: str = ""


class SupplyThrownAway(SupplyBody, frozen=True, kw_only=True):
    """Some of a supply was thrown away: spoilt, spilt, past its day."""

    KIND = "supply thrown away"
    reason: str


# Reading, saying, striking --------------------------------------------------------------------------------------------


class ReadingTaken(Body, frozen=True, kw_only=True):
    """A reading of an instrument, at a place or of a water. Units: C, % RH, pH, dS/m, umol/m2/s."""

    KIND = "reading taken"
    what: Literal["temperature", "humidity", "ph", "ec", "ppfd"]
    value: float
    where: str = ""

    def subjects(self) -> tuple[str, ...]:
        return (f"place:{self.where}",) if self.where else ()


class Note(Body, frozen=True, kw_only=True):
    """Words, about anything."""

    KIND = "note"
    text: str
    about: tuple[str, ...] = ()
    """Subjects as `kind:name`."""

    def subjects(self) -> tuple[str, ...]:
        return self.about


class Photo(Body, frozen=True, kw_only=True):
    """A photo taken of something; the picture itself stands beside the book under its hash."""

    KIND = "photo"
    sha256: str
    """Of the picture's bytes as they are kept, in hex."""
    about: tuple[str, ...] = ()
    """Subjects as `kind:name`."""
    note: str = ""

    def subjects(self) -> tuple[str, ...]:
        return (*self.about, f"photo:{self.sha256}")


class PlanKept(Body, frozen=True, kw_only=True):
    """A plan the grower looked at and kept, so the next one can say what changed."""

    KIND = "plan kept"
    plan: msgspec.Raw
    """The plan as JSON, in the form of `trayward plan --json`."""


class Struck(Body, frozen=True, kw_only=True):
    """An earlier entry is taken back; it stays in the book, and the state is as if it had never been said."""

    KIND = "struck"
    entry: str
    reason: str

    def subjects(self) -> tuple[str, ...]:
        return (f"entry:{self.entry}",)


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


class Entry(msgspec.Struct, frozen=True, kw_only=True):
    """One fact in the book."""

    id: str
    """Made by the device that says it; 8 to 64 letters, digits, `-` or `_`."""
    at: datetime
    """When it happened, with offset."""
    recorded: datetime
    """When it was said, with offset."""
    by: str
    """Who says so."""
    body: Body

    @property
    def kind(self) -> str:
        """The name of the entry's kind."""
        return self.body.KIND
