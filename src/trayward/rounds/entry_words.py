"""What any entry of the book says, in plain words: one sentence a kind, for lists of entries and changes of the setup.

A tray's or a lot's story tells the same from its own side; its words are used where they fit.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import singledispatch

import msgspec

from trayward.farm.entries import (
    Body,
    CropFactSet,
    CustomerSet,
    Cut,
    Delivered,
    Discarded,
    FarmSet,
    Fed,
    KitBody,
    KitSet,
    LineDelivered,
    Measured,
    Moved,
    Note,
    OrderCancelled,
    OrderChanged,
    OrderPlaced,
    Packed,
    PlaceSet,
    PlanKept,
    ProductSet,
    ReadingTaken,
    RecipeSet,
    RoundAnswered,
    Sanitised,
    SeedReceived,
    SeedTested,
    SeedWeighed,
    SowingMade,
    StageChanged,
    StandingOrderPaused,
    StandingOrderSet,
    Stripped,
    Struck,
    ThrownAway,
    TrialSet,
    Washed,
    Watered,
)
from trayward.farm.settings import ShownUnits
from trayward.farm.state import FarmState
from trayward.plan.types import Plan
from trayward.rounds.sayings import Life, joined, lot_words, tray_words
from trayward.rounds.traits import told, traits_of
from trayward.rounds.words import counted, day_words, listed
from trayward.units import show_length, show_mass, show_temperature

MOST = 8
"""So many names are told one by one."""


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
    rinse = f"rinsed at {show_temperature(body.rinse_c, units.temperature)}" if body.rinse_c is not None else ""
    soap = f"with {body.soap}" if body.soap else ""
    return joined(f"{body.count} x {body.pool} washed", soap, rinse, body.note)


@entry_words.register
def _(body: Sanitised, units: ShownUnits) -> str:
    return joined(
        f"{body.count} x {body.pool} sanitised with {body.agent}",
        f"{body.strength_ppm:g} ppm" if body.strength_ppm is not None else "",
        f"for {body.contact_min:g} min" if body.contact_min is not None else "",
        f"in water of {show_temperature(body.water_c, units.temperature)}" if body.water_c is not None else "",
        body.note,
    )


@entry_words.register
def _(body: KitBody, units: ShownUnits) -> str:
    del units
    if body.KIND == "kit returned":
        return f"{body.count} x {body.pool} came back, to be washed"
    return joined(f"{body.count} x {body.pool} counted in all", getattr(body, "reason", ""))


# Reading, saying, striking --------------------------------------------------------------------------------------------

READINGS = {"temperature": "temperature", "humidity": "humidity", "ph": "pH", "ec": "EC", "ppfd": "light"}
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
def _(body: ReadingTaken, units: ShownUnits) -> str:
    return reading_words(body, units)


@entry_words.register
def _(body: Note, units: ShownUnits) -> str:
    del units
    about = [subject.partition(":")[2] for subject in body.about]
    return f"note{f' about {_names(about)}' if about else ''}: {body.text}"


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
    del units
    return f"took entry {body.entry} back: {body.reason}"
