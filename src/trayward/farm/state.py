"""The farm as the book tells it: the values that the fold of the entries produces.

Values here are plain and mutable only inside the fold (`farm.fold`); everyone else reads them.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal

import msgspec

from trayward.errors import Finding
from trayward.farm.bills import BillHeld, Billing, Buyer, DeliveryMade, PriceList, Thrown
from trayward.farm.crops import Fact
from trayward.farm.kit import PoolState
from trayward.farm.orders import Customer, Order, Product, StandingOrder
from trayward.farm.places import Shelf
from trayward.farm.recalls import Contact, Recall
from trayward.farm.recipes import Recipe
from trayward.farm.records import Habit, RecordHeld
from trayward.farm.sensors import AlarmHeld, Sensor
from trayward.farm.settings import USUAL_SETTINGS, FarmSettings
from trayward.farm.supplies import Offer, SupplyHeld, Taken
from trayward.farm.trials import Trial

Fate = Literal["growing", "cut", "discarded", "delivered"]


FOLD = 15
"""Grows whenever the same entries fold to another state than before: states kept by an older fold are then let go."""


class StageStep(msgspec.Struct, kw_only=True):
    """One stage a tray went through. The change lies between `last_not_yet` and `until`: it is seen only at rounds."""

    stage: str
    since: datetime
    last_not_yet: datetime | None = None
    """The last look in this stage that answered "not yet"."""
    last_silent: datetime | None = None
    """The last look in a growing stage that left open whether the cue shows; let go once a "not yet" says more."""
    until: datetime | None = None
    spot: str | None = None
    """The spot it stood on in this stage, the last one if it moved within it; kept when the tray ends."""


class Trouble(msgspec.Struct, kw_only=True):
    """Trouble seen on a tray once, and what became of it."""

    at: datetime
    by: str
    entry: str
    """The entry that says so."""
    sign: str
    cause: str = ""
    where: str = ""
    share: float | None = None
    hold: str = ""
    """Why the tray is held back, until it is cleared."""
    stage: str = ""
    """The stage it was in then."""
    spot: str | None = None
    """Where it stood then."""
    cleared_at: datetime | None = None
    cleared_by: str = ""
    found: str = ""
    """What it was instead."""


class Tray(msgspec.Struct, kw_only=True):
    """One tray of a sowing. Grown, cut, discarded or delivered; its kit is free once stripped (or away, delivered)."""

    tray: str
    sowing: str
    recipe: str
    crop: str
    sown_at: datetime
    seed_g: float
    """Seed on this tray. [g]"""
    lots: tuple[str, ...]
    live_seeds_per_cm2: float | None = None
    """Density as sown, from the lot's figures on that day [1/cm2]; None where the lot's figures are blank."""
    spot: str | None = None
    fate: Fate = "growing"
    steps: list[StageStep] = []
    """Stages so far, the last one being the present."""
    kit: dict[str, int] = {}
    """What it holds of each kit pool now."""
    last_look: datetime | None = None
    last_water: datetime | None = None
    last_round: str = ""
    """The last round it was answered in."""
    moisture: Literal["moist", "dry"] | None = None
    share_emerged: float | None = None
    height_mm: float | None = None
    problem: str = ""
    troubles: list[Trouble] = []
    """Trouble seen on it, in the order of happening."""
    ended_at: datetime | None = None
    grams: float | None = None
    """Cut weight, all cuts together. [g]"""
    cuts: int = 0
    stripped: bool = False
    reason: str = ""
    trial: str = ""

    @property
    def stage(self) -> str:
        """The stage it is in, or was in when it ended."""
        return self.steps[-1].stage

    @property
    def stage_since(self) -> datetime:
        """When that stage began."""
        return self.steps[-1].since


class Sowing(msgspec.Struct, kw_only=True):
    """Trays sown together."""

    sowing: str
    recipe: str
    crop: str
    sown_at: datetime
    trays: tuple[str, ...]
    lots: dict[str, float]
    """Grams from each lot. [g]"""


class SeedLot(msgspec.Struct, kw_only=True):
    """A delivery of seed and what is left of it."""

    lot: str
    crop: str
    received_at: datetime
    received_g: float
    left_g: float
    """Grams left; below zero only with a finding."""
    variety: str = ""
    supplier: str = ""
    supplier_lot: str = ""
    germination: float | None = None
    """The label's share that sprouts, 0 to 1."""
    tsw_g: float | None = None
    sprouted: int = 0
    tested: int = 0
    """Seeds that sprouted, of those tested, over all tests of this lot."""
    tests: list[tuple[datetime, int, int]] = []
    """Each test on its own: when, how many sprouted, of how many. Seed ages between them (`farm.live_seed`)."""
    cost: float = 0.0
    treated: bool = False
    expected_on: date | None = None
    """Set while it is on order and not yet here."""

    @property
    def live_share(self) -> float | None:
        """Share that sprouts as it was said: by the farm's own tests where there are any, else the label, else None.

        What is likely today, with doubt and age, is `farm.live_seed`.
        """
        return self.sprouted / self.tested if self.tested else self.germination

    @property
    def tested_at(self) -> datetime | None:
        """When it was last tested."""
        return self.tests[-1][0] if self.tests else None


class HarvestLot(msgspec.Struct, kw_only=True):
    """What was cut together and how much of it is still loose in the cold room."""

    harvest: str
    crop: str
    cut_at: datetime
    grams: float
    left_g: float
    trays: tuple[str, ...]
    cold_room_days: int
    by_tray: dict[str, float] = {}
    """What each tray gave to it. [g]"""


class PackLot(msgspec.Struct, kw_only=True):
    """One filling of packs and how many are still here."""

    pack: str
    product: str
    packed_at: datetime
    packs: int
    left: int
    pack_g: float
    parts: dict[str, float]
    best_before: date | None = None


class Reading(msgspec.Struct, frozen=True):
    """A reading kept in the state for the outlook."""

    at: datetime
    what: str
    value: float
    where: str
    sensor: str = ""
    """The sensor whose hour it is the mean of; empty: read by hand."""


class LinePromised(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What kept plans promised of an order line on each day one was kept; see `farm.promised`."""

    due: date
    customer: str = ""
    live: bool = False
    amount: float = 0.0
    """Grams, or live trays, that the promises are of. [g], [-]"""
    ahead: tuple[int, ...] = ()
    """Days from each promise to the line's day. [d]"""
    told: tuple[int, ...] = ()
    """The chances that were told. [1/10000]"""
    read: tuple[int, ...] = ()
    """The same as they were read off, before the farm's record was followed. [1/10000]"""
    asked: float | None = None
    """What was asked for when the line's day was over, 0 if nothing any more; None: no plan was kept since. [g], [-]"""
    changed: int = 0
    """Promises of other amounts, from before the order was changed."""


class FarmState(msgspec.Struct, kw_only=True):
    """Everything the book says is so at one moment. `horizon` is the latest `at` of any entry folded in."""

    settings: FarmSettings | None = None
    shelves: dict[str, Shelf] = {}
    kit: dict[str, PoolState] = {}
    recipes: dict[str, Recipe] = {}
    dropped_recipes: set[str] = set()
    crop_facts: dict[str, dict[str, Fact]] = {}
    """What the farm says of its crops: crop -> column -> fact."""
    products: dict[str, Product] = {}
    customers: dict[str, Customer] = {}
    seed: dict[str, SeedLot] = {}
    orders: dict[str, Order] = {}
    order_placed: dict[str, datetime] = {}
    """When each of these orders was first placed; changing it leaves that. It tells how far ahead orders come."""
    cancelled_orders: set[str] = set()
    """Orders taken off again, so that reading the same order sheet once more does not bring them back."""
    standing: dict[str, StandingOrder] = {}
    sowings: dict[str, Sowing] = {}
    trials: dict[str, Trial] = {}
    trays: dict[str, Tray] = {}
    """Trays that are growing, or ended but not yet stripped: what a round may have to do with."""
    ended: dict[str, Tray] = {}
    """Trays that are done with: what the outlook learns from."""
    spots: dict[str, str] = {}
    """Spot -> tray, for the spots that are taken."""
    harvests: dict[str, HarvestLot] = {}
    packs: dict[str, PackLot] = {}
    delivered: dict[str, float] = {}
    """Line -> grams delivered. [g]"""
    delivered_trays: dict[str, int] = {}
    deliveries: list[DeliveryMade] = []
    """What went out, delivery by delivery, in the order of happening, at the prices of its day."""
    thrown: list[Thrown] = []
    """Cut crop that was thrown away, in the order of happening."""
    price_lists: dict[str, list[PriceList]] = {}
    """Customer -> their own price lists, by the day they hold from."""
    billing: Billing | None = None
    """How invoices are written; None: nobody said."""
    buyers: dict[str, Buyer] = {}
    """Customer -> whom invoices are written to."""
    bills: dict[str, BillHeld] = {}
    """Invoices and credit notes by their names, in the order of their numbers."""
    billed: dict[str, str] = {}
    """Delivered line (`BillLine.source`) -> the invoice that asks for it."""
    contacts: dict[str, Contact] = {}
    """Customer -> how they are reached at once."""
    recalls: dict[str, Recall] = {}
    """Recalls that were tried out or had to be, by their names."""
    record_habits: dict[str, Habit] = {}
    """How often hygiene records are kept, by kind and area (`farm.records.key_of`)."""
    records_last: dict[str, datetime] = {}
    """When each kind of record was last written down for an area, by kind and area."""
    records_words: dict[str, dict[str, str]] = {}
    """What words the last of them had in each field, by kind and area; figures are measured anew each time."""
    records_open: dict[str, RecordHeld] = {}
    """Records that somebody in charge has not looked at yet, by their entries."""
    sensors: dict[str, Sensor] = {}
    """Sensors by their names, ended ones too: their readings are still there."""
    alarms: dict[str, AlarmHeld] = {}
    """Alarms of sensors by their names, answered ones too, in the order they were raised."""
    hours_summed: datetime | None = None
    """The end of the latest hour of the sensors that stands in the book."""
    supplies: dict[str, SupplyHeld] = {}
    """Supplies other than seed, by name."""
    offers: dict[str, Offer] = {}
    """What suppliers ask, by thing and supplier (`farm.supplies.offer_key`)."""
    taken: list[Taken] = []
    """What feeds and washings took of supplies, and what of them or of seed went otherwise, in order."""
    readings: list[Reading] = []
    last_plan: str = ""
    """The last plan kept, as JSON; empty: none."""
    promised: dict[str, LinePromised] = {}
    """Line -> what kept plans promised of it."""
    findings: list[Finding] = []
    fold: int = FOLD
    """Which fold made it."""
    began: datetime | None = None
    """When the book begins: what was due before is not this book's to deliver."""
    horizon: datetime | None = None
    entries: int = 0
    """How many entries were folded in, struck ones included."""

    @property
    def settings_or_usual(self) -> FarmSettings:
        """The farm's settings; the usual ones while it has none."""
        return self.settings or USUAL_SETTINGS

    def growing(self) -> list[Tray]:
        """The trays that are growing, in the order they were sown."""
        return [tray for tray in self.trays.values() if tray.fate == "growing"]

    def tray(self, name: str) -> Tray | None:
        """A tray, whether it still stands or is done with."""
        return self.trays.get(name) or self.ended.get(name)

    def recipes_in_use(self) -> list[Recipe]:
        """The recipes that are still sown, in the order they were set; those that were dropped are left out."""
        return [recipe for name, recipe in self.recipes.items() if name not in self.dropped_recipes]

    def crops_in_use(self) -> tuple[str, ...]:
        """The crops of the recipes that are still sown, each once, in the order of the recipes."""
        return tuple(dict.fromkeys(recipe.crop for recipe in self.recipes_in_use()))

    def recipe_of(self, tray: Tray) -> Recipe:
        """The recipe a tray was sown to."""
        return self.recipes[tray.recipe]
