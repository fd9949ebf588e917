"""What any entry of the book says, in plain words: one sentence a kind, for lists of entries and changes of the setup.

A tray's or a lot's story tells the same from its own side; its words are used where they fit.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import singledispatch

import msgspec

from trayward.farm.entries import (
    AlarmAnswered,
    AlarmOver,
    AlarmRaised,
    BillingSet,
    Body,
    BuyerSet,
    ContactSet,
    CropFactSet,
    CustomerSet,
    Cut,
    Delivered,
    Discarded,
    FarmSet,
    Fed,
    InvoiceCredited,
    InvoiceMade,
    InvoicePaid,
    InvoiceSent,
    KitBody,
    KitMarked,
    KitRetired,
    KitReturned,
    KitSet,
    KitUsed,
    LineDelivered,
    Measured,
    Moved,
    Note,
    OfferSet,
    OrderCancelled,
    OrderChanged,
    OrderPlaced,
    Packed,
    Photo,
    PlaceSet,
    PlanKept,
    PriceListSet,
    ProductSet,
    ReadingsSummed,
    ReadingTaken,
    RecallKept,
    RecipeSet,
    RecordHabitSet,
    RecordsReviewed,
    RecordWritten,
    RoundAnswered,
    Sanitised,
    SeedReceived,
    SeedTested,
    SeedWeighed,
    SensorSet,
    SowingMade,
    StageChanged,
    StandingOrderPaused,
    StandingOrderSet,
    Stripped,
    Struck,
    SupplyCounted,
    SupplyReceived,
    SupplySet,
    SupplyThrownAway,
    SupplyUsed,
    ThrownAway,
    TrialSet,
    TroubleCleared,
    TroubleSeen,
    Washed,
    Watered,
)
from trayward.farm.kit_marks import marks_words
from trayward.farm.settings import ShownUnits
from trayward.farm.state import FarmState
from trayward.hygiene.words import habit_words, record_words
from trayward.plan.types import Plan
from trayward.rounds.sayings import Life, joined, lot_words, sanitise_details, tray_words, wash_details
from trayward.rounds.traits import told, traits_of
from trayward.rounds.words import counted, day_words, listed
from trayward.sensors.words import value_words
from trayward.units import show_length, show_mass, show_temperature

MOST = 8
"""So many names are told one by one."""
SHORT_ID = 8
"""So many letters of an entry's id are told."""


@singledispatch
def entry_words(body: Body, units: ShownUnits) -> str:  # noqa: ARG001 - every kind has the same two arguments
    """
    What an entry says, as one sentence without a full stop.

    Examples
    --------
    >>> entry_words(Watered(trays=("261125A.1",), ml=30.0, way="mist"), ShownUnits())
    '261125A.1 misted, 30 ml'
    """
    return body.KIND


def _life(name: str, units: ShownUnits) -> Life:
    """A story that has told nothing yet."""
    return Life(name=name, state=FarmState(), units=units)


def _names(names: Iterable[str]) -> str:
    return listed(names, most=MOST)


# Setting up -----------------------------------------------------------------------------------------------------------


@entry_words.register
def _(body: FarmSet, units: ShownUnits) -> str:
    return f"farm {told(traits_of(body.settings, units))}"


@entry_words.register
def _(body: PlaceSet, units: ShownUnits) -> str:
    if not body.shelf.spots:
        return f"shelf {body.shelf.name} closed"
    return f"shelf {body.shelf.name}: {told(traits_of(body.shelf, units))}"


@entry_words.register
def _(body: KitSet, units: ShownUnits) -> str:
    return f"kit {body.pool.name}: {told(traits_of(body.pool, units))}"


@entry_words.register
def _(body: RecipeSet, units: ShownUnits) -> str:
    if body.dropped:
        return f"recipe {body.recipe.name} sown no more"
    return f"recipe {body.recipe.name}: {told(traits_of(body.recipe, units))}"


@entry_words.register
def _(body: CropFactSet, units: ShownUnits) -> str:
    del units
    value = f"{body.value:g}" if isinstance(body.value, float) else body.value
    return joined(f"crop figure {body.name} of {body.crop} is {value} on this farm", body.note)


@entry_words.register
def _(body: ProductSet, units: ShownUnits) -> str:
    return f"product {body.product.name}: {told(traits_of(body.product, units))}"


@entry_words.register
def _(body: CustomerSet, units: ShownUnits) -> str:
    return f"customer {body.customer.name}: {told(traits_of(body.customer, units))}"


@entry_words.register
def _(body: PriceListSet, units: ShownUnits) -> str:
    del units
    prices = body.prices
    told_ = _names(f"{each.product} {each.price}" for each in prices.prices) or "none of their own"
    return f"prices of {prices.customer} from {day_words(prices.valid_from)}: {told_}"


@entry_words.register
def _(body: BillingSet, units: ShownUnits) -> str:
    del units
    rates = _names(f"{rate.name} {rate.percent} %" for rate in body.billing.rates) or "no tax"
    return f"invoices from {body.billing.seller.name}: {counted(body.billing.days, 'day')} to pay, {rates}"


@entry_words.register
def _(body: BuyerSet, units: ShownUnits) -> str:
    del units
    return f"invoices of {body.buyer.customer} are written to {body.buyer.party.name}"


@entry_words.register
def _(body: InvoiceMade, units: ShownUnits) -> str:
    del units
    return f"invoice {body.bill.name} to {body.bill.customer}: {body.bill.total} {body.bill.currency}"


@entry_words.register
def _(body: InvoiceCredited, units: ShownUnits) -> str:
    del units
    bill = body.bill
    return joined(f"credit note {bill.name} for invoice {bill.credits}: {bill.total} {bill.currency}", bill.reason)


@entry_words.register
def _(body: InvoiceSent, units: ShownUnits) -> str:
    del units
    to = f"invoice {body.invoice} sent to {body.sent.to}" if body.sent.to else f"invoice {body.invoice} sent"
    return joined(to, body.sent.way)


@entry_words.register
def _(body: InvoicePaid, units: ShownUnits) -> str:
    del units
    return joined(f"{body.paid.amount} paid for invoice {body.invoice}", body.paid.way)


# Seed and orders ------------------------------------------------------------------------------------------------------


@entry_words.register(SeedReceived)
@entry_words.register(SeedTested)
@entry_words.register(SeedWeighed)
def _(body: SeedReceived | SeedTested | SeedWeighed, units: ShownUnits) -> str:
    return f"seed lot {body.lot} {lot_words(body, _life(body.lot, units))}"


@entry_words.register
def _(body: OrderPlaced, units: ShownUnits) -> str:
    return f"order {body.order.order}: {told(traits_of(body.order, units))}"


@entry_words.register
def _(body: OrderChanged, units: ShownUnits) -> str:
    return f"order {body.order.order} is now: {told(traits_of(body.order, units))}"


@entry_words.register
def _(body: OrderCancelled, units: ShownUnits) -> str:
    del units
    return f"order {body.order} is off" + (f": {body.reason}" if body.reason else "")


@entry_words.register
def _(body: StandingOrderSet, units: ShownUnits) -> str:
    return f"standing order {body.standing.standing}: {told(traits_of(body.standing, units))}"


@entry_words.register
def _(body: StandingOrderPaused, units: ShownUnits) -> str:
    del units
    return f"standing order {body.standing} pauses from {day_words(body.pause.first)} to {day_words(body.pause.last)}"


# The life of a tray ---------------------------------------------------------------------------------------------------


@entry_words.register
def _(body: TrialSet, units: ShownUnits) -> str:
    del units
    trial = body.trial
    if body.dropped:
        return f"trial {trial.name} given up"
    unit = "live seeds a cm2" if trial.what == "density" else "days of blackout"
    levels = f"{_names(f'{level:.3g}' for level in trial.levels)} {unit}"
    days = f"{counted(trial.trays_each, 'tray')} of each on {counted(trial.blocks, 'sowing day')}"
    return joined(f"trial {trial.name}: {trial.recipe} at {levels}", days, trial.note)


@entry_words.register
def _(body: SowingMade, units: ShownUnits) -> str:
    seed = listed(f"{show_mass(used.grams, units.mass)} of lot {used.lot}" for used in body.lots)
    spots = [tray.spot for tray in body.trays if tray.spot]
    return joined(
        f"{body.sowing} sown: {counted(len(body.trays), 'tray')} of {body.recipe}",
        seed,
        f"on {_names(spots)}" if spots else "on the bench",
        f"begun in {body.stage}" if body.stage else "",
        f"for the trial {body.trial}" if body.trial else "",
        f"on kit {marks_words(mark for on in body.marks for mark in on.marks)}" if body.marks else "",
    )


@entry_words.register
def _(body: RoundAnswered, units: ShownUnits) -> str:
    said = joined(
        body.moisture or "",
        body.cue or "",
        f"{body.share_emerged:.0%} up" if body.share_emerged is not None else "",
        f"{show_length(body.height_mm, units.length)} tall" if body.height_mm is not None else "",
        f"trouble seen: {body.problem}" if body.problem else "",
        body.note,
    )
    return f"{_names(body.trays)} looked at" + (f": {said}" if said else "")


@entry_words.register(Watered)
@entry_words.register(Fed)
@entry_words.register(Discarded)
def _(body: Watered | Fed | Discarded, units: ShownUnits) -> str:
    each = " each" if len(body.trays) > 1 and not isinstance(body, Discarded) else ""
    return f"{_names(body.trays)} {tray_words(body, _life('', units))}{each}"


@entry_words.register
def _(body: Measured, units: ShownUnits) -> str:
    return f"{_names(body.trays)} {tray_words(body, _life('', units))}"


@entry_words.register(TroubleSeen)
@entry_words.register(TroubleCleared)
def _(body: TroubleSeen | TroubleCleared, units: ShownUnits) -> str:
    return f"{_names(body.trays)}: {tray_words(body, _life('', units))}"


@entry_words.register
def _(body: Moved, units: ShownUnits) -> str:
    del units
    return f"moved: {_names(f'{move.tray} to {move.spot}' if move.spot else f'{move.tray} off' for move in body.moves)}"


@entry_words.register
def _(body: StageChanged, units: ShownUnits) -> str:
    del units
    return f"{_names(body.trays)} now {body.stage}"


@entry_words.register
def _(body: Cut, units: ShownUnits) -> str:
    total = show_mass(sum(cut.grams for cut in body.trays), units.mass)
    alone = len(body.trays) == 1
    each = _names(cut.tray if alone else f"{cut.tray} {show_mass(cut.grams, units.mass)}" for cut in body.trays)
    return joined(
        f"{body.harvest} cut: {total} of {body.crop} from {each}",
        f"at {show_length(body.height_mm, units.length)}" if body.height_mm is not None else "",
        "left to grow again" if body.regrow else "",
    )


@entry_words.register
def _(body: Stripped, units: ShownUnits) -> str:
    del units
    return f"{_names(body.trays)} stripped"


# From the cold room to the customer -----------------------------------------------------------------------------------


@entry_words.register
def _(body: Packed, units: ShownUnits) -> str:
    lots = _names(f"{show_mass(part.grams, units.mass)} of {part.harvest}" for part in body.parts)
    return joined(
        f"{body.pack} packed: {counted(body.packs, 'pack')} of {body.product}",
        f"{show_mass(body.pack_g, units.mass)} each",
        f"from {lots}" if lots else "",
        f"best before {day_words(body.best_before)}" if body.best_before is not None else "",
    )


@entry_words.register
def _(body: Delivered, units: ShownUnits) -> str:
    lines = "; ".join(f"{line.line}: {_line_words(line, units)}" for line in body.lines)
    return joined(f"{body.delivery} delivered to {body.customer}", body.document) + (f": {lines}" if lines else "")


def _line_words(line: LineDelivered, units: ShownUnits) -> str:
    return joined(
        _names(f"{counted(count.packs, 'pack')} of {count.pack}" for count in line.packs),
        _names(f"{show_mass(part.grams, units.mass)} of {part.harvest}" for part in line.loose),
        _names(line.trays),
    )


@entry_words.register
def _(body: ThrownAway, units: ShownUnits) -> str:
    grams = [f"{show_mass(part.grams, units.mass)} of {part.harvest}" for part in body.parts]
    packs = [f"{counted(count.packs, 'pack')} of {count.pack}" for count in body.packs]
    return f"thrown away: {_names([*grams, *packs])}, {body.reason}"


# Kit and hygiene ------------------------------------------------------------------------------------------------------


@entry_words.register
def _(body: Washed, units: ShownUnits) -> str:
    details = wash_details(body, units)
    return joined(f"{body.count} x {body.pool} washed", marks_words(body.marks), *details, body.note)


@entry_words.register
def _(body: Sanitised, units: ShownUnits) -> str:
    return joined(
        f"{body.count} x {body.pool} sanitised with {body.agent}",
        marks_words(body.marks),
        *sanitise_details(body, units),
        body.note,
    )


@entry_words.register
def _(body: KitBody, units: ShownUnits) -> str:
    del units
    if isinstance(body, KitReturned):
        return joined(f"{body.count} x {body.pool} came back, to be washed", marks_words(body.marks))
    return joined(f"{body.count} x {body.pool} counted in all", getattr(body, "reason", ""))


@entry_words.register
def _(body: KitMarked, units: ShownUnits) -> str:
    del units
    before = f"used {counted(body.uses, 'time')} before" if body.uses else ""
    return joined(f"{body.pool} marked {marks_words(body.marks)}", before)


@entry_words.register
def _(body: KitUsed, units: ShownUnits) -> str:
    del units
    return f"{body.tray} is on {marks_words(body.marks)}"


@entry_words.register
def _(body: KitRetired, units: ShownUnits) -> str:
    del units
    instead = f"{marks_words(body.replaced_by)} instead" if body.replaced_by else ""
    return joined(f"{body.pool} {marks_words(body.marks)} {body.fate}", body.reason, instead)


# Reading, saying, striking --------------------------------------------------------------------------------------------

READINGS = {"temperature": "temperature", "humidity": "humidity", "ph": "pH", "ec": "EC", "ppfd": "light"}
LARGE = 1000.0
"""From so many g or ml on an amount is told in kg or l."""
READING_UNITS = {"humidity": " % RH", "ph": "", "ec": " dS/m", "ppfd": " umol/m2/s"}


def reading_words(body: ReadingTaken, units: ShownUnits) -> str:
    """
    A reading in the farm's unit.

    Examples
    --------
    >>> reading_words(ReadingTaken(what="temperature", value=21.0, where="A1"), ShownUnits(temperature="F"))
    'temperature at A1: 70 F'
    """
    temperature = body.what == "temperature"
    shown = (
        show_temperature(body.value, units.temperature)
        if temperature
        else f"{body.value:.3g}{READING_UNITS[body.what]}"
    )
    return f"{READINGS[body.what]}{f' at {body.where}' if body.where else ''}: {shown}"


@entry_words.register
def _(body: ContactSet, units: ShownUnits) -> str:
    del units
    told = body.contact
    ways = told.ways
    return f"{told.customer} is reached by {listed(ways)}" if ways else f"nobody knows how to reach {told.customer}"


@entry_words.register
def _(body: RecallKept, units: ShownUnits) -> str:
    told = body.recall
    deed = "recall tried out" if told.exercise else "recall"
    reached = sum(each.reached for each in told.told)
    return (
        f"{deed} {told.recall} of {told.about.partition(':')[2]}, {told.reason}: "
        f"{counted(len(told.packs), 'pack lot')}, "
        f"{reached} of {counted(len(told.told), 'customer')} reached, {show_mass(told.accounted_g, units.mass)} of "
        f"{show_mass(told.cut_g, units.mass)} accounted for, {told.minutes:.0f} min"
    )


@entry_words.register
def _(body: RecordWritten, units: ShownUnits) -> str:
    return record_words(body.record, units)


@entry_words.register
def _(body: RecordsReviewed, units: ShownUnits) -> str:
    del units
    note = f": {body.note}" if body.note else ""
    return f"{counted(len(body.entries), 'record')} reviewed{note}"


@entry_words.register
def _(body: RecordHabitSet, units: ShownUnits) -> str:
    return habit_words(body.habit, units)


@entry_words.register
def _(body: SensorSet, units: ShownUnits) -> str:
    told = body.sensor
    if told.ended:
        return f"sensor {told.name} at {told.place} ended"
    ends = [f"at least {value_words(told.what, told.low, units)}"] if told.low is not None else []
    ends += [f"at most {value_words(told.what, told.high, units)}"] if told.high is not None else []
    title = told.measure.title
    limits = f", {' and '.join(ends)}" if ends else ""
    return f"sensor {told.name} at {told.place}: {title}{limits}, every {told.every_min:g} min"


@entry_words.register
def _(body: ReadingsSummed, units: ShownUnits) -> str:
    told = [f"{each.sensor} {value_words(each.what, each.mean, units)}" for each in body.sensors]
    return f"an hour of sensors: {', '.join(told)}"


@entry_words.register
def _(body: AlarmRaised, units: ShownUnits) -> str:
    if body.value is None:
        return f"alarm: {body.sensor} at {body.place} is silent"
    shown = value_words(body.what, body.value, units)
    if body.trouble == "high":
        return f"alarm: {body.sensor} at {body.place} is too high, {shown}"
    return f"alarm: {body.sensor} at {body.place} is too low, {shown}"


@entry_words.register
def _(body: AlarmOver, units: ShownUnits) -> str:
    del units
    return f"alarm over: {body.sensor}"


@entry_words.register
def _(body: AlarmAnswered, units: ShownUnits) -> str:
    del units
    return f"alarm of {body.sensor} answered: {body.done}"


@entry_words.register
def _(body: SupplySet, units: ShownUnits) -> str:
    del units
    supply = body.supply
    if body.dropped:
        return f"supply {supply.name} is no longer used"
    least = f", at least {amount_of(supply.keep, supply.unit)} to keep" if supply.keep else ""
    return f"supply {supply.name}: {supply.kind}, counted in {supply.unit}{least}"


@entry_words.register
def _(body: OfferSet, units: ShownUnits) -> str:
    del units
    offer, thing = body.offer, f"seed of {body.offer.thing}" if body.offer.seed else body.offer.thing
    if body.dropped:
        return f"{offer.supplier} sells no {thing} any more"
    packs = ", ".join(f"{pack.price} for {pack.size:.10g}" for pack in offer.packs)
    return f"{offer.supplier} sells {thing}: {packs}"


@entry_words.register
def _(body: SupplyReceived, units: ShownUnits) -> str:
    del units
    here = f"on order for {day_words(body.expected_on)}" if body.expected_on is not None else "received"
    until = f", best before {day_words(body.best_before)}" if body.best_before is not None else ""
    return f"{amount_of(body.amount, body.unit)} of {body.supply} {here}, lot {body.lot}{until}"


@entry_words.register
def _(body: SupplyUsed, units: ShownUnits) -> str:
    del units
    return f"{amount_of(body.amount, body.unit)} of {body.supply} used{_because(body.reason)}"


@entry_words.register
def _(body: SupplyCounted, units: ShownUnits) -> str:
    del units
    lot = f", lot {body.lot}" if body.lot else ""
    return f"{body.supply}{lot} counted: {amount_of(body.amount, body.unit)}{_because(body.reason)}"


@entry_words.register
def _(body: SupplyThrownAway, units: ShownUnits) -> str:
    del units
    return f"{amount_of(body.amount, body.unit)} of {body.supply} thrown away{_because(body.reason)}"


def _because(reason: str) -> str:
    return f": {reason}" if reason else ""


def amount_of(amount: float, unit: str) -> str:
    """
    An amount of a supply, in the larger unit where that reads better.

    Examples
    --------
    >>> amount_of(48.0, "pieces"), amount_of(1.0, "pieces"), amount_of(2500.0, "ml"), amount_of(80.0, "g")
    ('48 pieces', '1 piece', '2.5 l', '80 g')
    """
    if unit == "pieces":
        return f"{amount:.6g} {'piece' if amount == 1 else 'pieces'}"
    if abs(amount) >= LARGE:
        return f"{amount / LARGE:.4g} {'kg' if unit == 'g' else 'l'}"
    return f"{amount:.4g} {unit}"


@entry_words.register
def _(body: ReadingTaken, units: ShownUnits) -> str:
    return reading_words(body, units)


@entry_words.register
def _(body: Note, units: ShownUnits) -> str:
    del units
    about = [subject.partition(":")[2] for subject in body.about]
    return f"note{f' about {_names(about)}' if about else ''}: {body.text}"


@entry_words.register
def _(body: Photo, units: ShownUnits) -> str:
    del units
    about = [subject.partition(":")[2] for subject in body.about]
    return f"photo{f' of {_names(about)}' if about else ''}" + (f": {body.note}" if body.note else "")


@entry_words.register
def _(body: PlanKept, units: ShownUnits) -> str:
    del units
    try:
        plan = msgspec.json.decode(body.plan, type=Plan)
    except msgspec.DecodeError:
        return "a plan kept, in a form that is not read any more"
    met = f"{sum(line.met for line in plan.lines)} of {counted(len(plan.lines), 'order line')} met"
    trays = counted(sum(sowing.trays for sowing in plan.sowings), "tray")
    return f"plan kept, {day_words(plan.first)} to {day_words(plan.last)}: {trays} to sow, {met}"


@entry_words.register
def _(body: Struck, units: ShownUnits) -> str:
    return strike_words(body, None, units)


def strike_words(body: Struck, taken: Body | None, units: ShownUnits) -> str:
    """
    What is said by who takes an entry back; `taken` is what that one said, None where the book does not have it.

    Examples
    --------
    >>> strike_words(Struck(entry="device-0001", reason="wrong tray"), Note(text="looks well"), ShownUnits())
    'took back “note: looks well” (device-0): wrong tray'
    """
    if taken is None:
        return f"took entry {body.entry} back: {body.reason}"
    return f"took back “{entry_words(taken, units)}” ({body.entry[:SHORT_ID]}): {body.reason}"
