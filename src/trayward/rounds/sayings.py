"""How each kind of entry reads in a story: one sentence, in the trade's words and the farm's units."""

# ruff: noqa: ARG001 - every saying has the same two arguments, so that one table of them can be called alike

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import singledispatch

from trayward.dates import day_words
from trayward.farm.entries import (
    Body,
    Cut,
    Delivered,
    Discarded,
    Fed,
    Measured,
    Moved,
    Note,
    Packed,
    Photo,
    RecallKept,
    RecordWritten,
    RoundAnswered,
    Sanitised,
    SeedReceived,
    SeedTested,
    SeedUsed,
    SeedWeighed,
    SowingMade,
    StageChanged,
    Stripped,
    ThrownAway,
    TroubleCleared,
    TroubleSeen,
    Washed,
    Watered,
)
from trayward.farm.recipes import Recipe, Stage, stage_called
from trayward.farm.settings import ShownUnits
from trayward.farm.state import FarmState
from trayward.hygiene.words import record_words
from trayward.rounds.scene import is_last
from trayward.units import show_length, show_mass, show_temperature, show_volume
from trayward.words import Filled, Own, counted, filled, in_a_list, in_a_row, listed


@dataclass
class Life:
    """What a story has told so far of its tray or lot, because later sentences lean on it."""

    name: str
    state: FarmState
    units: ShownUnits
    sown_at: datetime | None = None
    recipe: Recipe | None = None
    stage_name: str = ""
    spot: str | None = None

    @property
    def stage(self) -> Stage | None:
        """The stage the story is in, as the recipe has it now."""
        return self.named(self.stage_name)

    def named(self, stage: str) -> Stage | None:
        """A stage of the recipe by name."""
        stages = self.recipe.stages if self.recipe is not None else ()
        return next((each for each in stages if each.name == stage), None)

    def follow(self, body: Body, at: datetime) -> None:
        """Take in what a tray's entry changed."""
        if isinstance(body, SowingMade):
            self.sown_at, self.recipe = at, self.state.recipes.get(body.recipe)
            self.stage_name = body.stage or (self.recipe.stages[0].name if self.recipe is not None else "")
            self.spot = next((sown.spot for sown in body.trays if sown.tray == self.name), None)
        elif isinstance(body, StageChanged):
            self.stage_name = body.stage
        elif isinstance(body, Moved):
            self.spot = next((move.spot for move in body.moves if move.tray == self.name), self.spot)

    def mass(self, grams: float) -> str:
        """A weight in the farm's unit."""
        return show_mass(grams, self.units.mass)


# A tray ---------------------------------------------------------------------------------------------------------------


@singledispatch
def tray_words(body: Body, life: Life) -> str:
    """What an entry says of a tray."""
    return body.KIND


@tray_words.register
def _(body: SowingMade, life: Life) -> str:
    recipe = life.state.recipes.get(body.recipe)
    begun = recipe.stages[0].name if recipe is not None and not body.stage else body.stage
    stage = stage_called(recipe, begun)
    spot = next((sown.spot for sown in body.trays if sown.tray == life.name), None)
    seed = listed(f"{life.mass(used.grams / len(body.trays))} of lot {used.lot}" for used in body.lots)
    soaking = "in water to soak" if stage is not None and stage.ground == "bench" else ""
    trial = f"for the trial {body.trial}" if body.trial else ""
    return joined("sown", seed, f"on {spot}" if spot else soaking, _cover_words(stage, None), trial)


@tray_words.register
def _(body: RoundAnswered, life: Life) -> str:
    question = life.stage.cue if life.stage is not None and life.stage.cue else "Ready?"
    answers = {"ready": f"“{question}” yes", "not yet": f"“{question}” not yet"}
    said = joined(
        body.moisture or "",
        f"{_percent(body.share_emerged)} up" if body.share_emerged is not None else "",
        f"{show_length(body.height_mm, life.units.length)} tall" if body.height_mm is not None else "",
        answers.get(body.cue or "", ""),
        filled("trouble seen: {problem}", problem=Own(body.problem)) if body.problem else "",
        Own(body.note),
    )
    return filled("looked at: {said}", said=said) if said else "looked at"


@tray_words.register
def _(body: Watered, life: Life) -> str:
    way = {"mist": "misted", "below": "watered below", "soak": "soaked"}[body.way]
    return joined(way, show_volume(body.ml, life.units.volume))


@tray_words.register
def _(body: Fed, life: Life) -> str:
    return joined("fed below", fed_words(body, life.units.volume))


def fed_words(body: Fed, volume: str) -> str:
    """How much of which feed a tray was given, and how it was measured; volumes in the unit named."""
    much = show_volume(body.ml, volume)
    return joined(
        filled("{amount} of {harvest}", amount=much, harvest=Own(body.feed)) if body.feed else much,
        f"pH {body.ph:g}" if body.ph is not None else "",
        f"EC {body.ec:g} dS/m" if body.ec is not None else "",
    )


@tray_words.register
def _(body: TroubleSeen, life: Life) -> str:
    del life
    return joined(
        f"trouble seen: {body.sign}",
        f"likely {body.cause}" if body.cause else "",
        f"at {body.where}" if body.where and body.where != "all over" else body.where,
        f"{_percent(body.share)} of the tray" if body.share is not None else "",
        f"held back, {body.hold}" if body.hold else "",
        Own(body.note),
    )


@tray_words.register
def _(body: TroubleCleared, life: Life) -> str:
    del life
    return joined(f"cleared, it was {body.found}", Own(body.note))


@tray_words.register
def _(body: Moved, life: Life) -> str:
    to = next((move.spot for move in body.moves if move.tray == life.name), None)
    if to is None:
        return f"taken off {life.spot}" if life.spot else "taken off the shelf"
    return f"moved from {life.spot} to {to}" if life.spot else f"put on {to}"


@tray_words.register
def _(body: StageChanged, life: Life) -> str:
    if is_last(life.recipe, body.stage):
        return "ready, waits to be cut"
    return joined(f"{body.stage} begins", _cover_words(life.named(body.stage), life.stage))


@tray_words.register
def _(body: Measured, life: Life) -> str:
    if body.what == "height_mm":
        return f"measured: {show_length(body.value, life.units.length)} tall"
    if body.what == "weight_g":
        return f"measured: {life.mass(body.value)}"
    return f"measured: {body.what.replace('_', ' ')} {body.value:g} {body.unit}".strip()


@tray_words.register
def _(body: Discarded, life: Life) -> str:
    return filled("thrown away: {reason}", reason=body.reason)


@tray_words.register
def _(body: Cut, life: Life) -> str:
    grams = next((cut.grams for cut in body.trays if cut.tray == life.name), 0.0)
    height = f" at {show_length(body.height_mm, life.units.length)}" if body.height_mm is not None else ""
    again = "left to grow again" if body.regrow else ""
    return joined(f"cut{height}", life.mass(grams), f"harvest lot {body.harvest}", again)


@tray_words.register
def _(body: Stripped, life: Life) -> str:
    return "stripped, its kit is to be washed"


@tray_words.register
def _(body: Delivered, life: Life) -> str:
    lines = [line.line for line in body.lines if life.name in line.trays]
    return joined(f"gone out live to {body.customer}", f"for {listed(lines)}" if lines else "")


@tray_words.register
def _(body: Note, life: Life) -> str:
    return filled("note: {text}", text=Own(body.text))


@tray_words.register
def _(body: Photo, life: Life) -> str:
    return joined("photo taken", Own(body.note))


def _cover_words(stage: Stage | None, before: Stage | None) -> str:
    if stage is None:
        return ""
    if stage.cover == "weight":
        return "covered and weighted" if stage.weight_g > 0 else "covered"
    if stage.cover == "blackout":
        return "under the blackout cover"
    return "uncovered" if before is not None and before.cover != "none" else ""


# A lot, of seed or of harvest -----------------------------------------------------------------------------------------


@singledispatch
def lot_words(body: Body, life: Life) -> str:
    """What an entry says of a lot."""
    return body.KIND


@lot_words.register
def _(body: SeedReceived, life: Life) -> str:
    named = joined(Own(body.crop), Own(body.variety))
    what = filled("{grams} of {crop} seed", grams=life.mass(body.grams), crop=named)
    of_theirs = Own(body.supplier_lot)
    label = filled("supplier's lot {supplier_lot}", supplier_lot=of_theirs) if of_theirs else ""
    said = joined(
        filled("from {supplier}", supplier=Own(body.supplier)) if body.supplier else "",
        label,
        f"its label says {_percent(body.germination)} sprout" if body.germination is not None else "",
        f"{body.tsw_g:g} g a thousand seeds" if body.tsw_g is not None else "",
        "treated: the label says what it may be used for" if body.treated else "",
    )
    if body.expected_on is not None:
        expected = filled("expected {day_words}", day_words=day_words(body.expected_on))
        return joined("on order", what, said, expected)
    return filled("received, {seed}", seed=joined(what, said))


@lot_words.register
def _(body: SeedTested, life: Life) -> str:
    sprouted = ""
    if body.sprouted is not None and body.tested:
        sprouted = f"{body.sprouted} of {body.tested} sprouted ({_percent(body.sprouted / body.tested)})"
    days = f" in {body.days:g} days" if sprouted and body.days is not None else ""
    weight = f"{body.tsw_g:g} g a thousand seeds" if body.tsw_g is not None else ""
    return f"tested: {joined(sprouted + days, weight)}"


@lot_words.register
def _(body: SeedWeighed, life: Life) -> str:
    return joined(f"weighed, {life.mass(body.grams)} left", body.reason)


@lot_words.register
def _(body: SowingMade, life: Life) -> str:
    grams = sum(used.grams for used in _of_lot(body, life.name))
    return f"sown, {life.mass(grams)} on {counted(len(body.trays), 'tray')} of {body.sowing}, {body.recipe}"


@lot_words.register
def _(body: Cut, life: Life) -> str:
    total = sum(cut.grams for cut in body.trays)
    return f"cut, {life.mass(total)} of {body.crop} from {listed((cut.tray for cut in body.trays), most=8)}"


@lot_words.register
def _(body: Packed, life: Life) -> str:
    grams = sum(part.grams for part in body.parts if part.harvest == life.name)
    packs = f"{counted(body.packs, 'pack')} of {life.mass(body.pack_g)} {body.product}"
    best = f"best before {day_words(body.best_before)}" if body.best_before is not None else ""
    return joined(f"packed, {life.mass(grams)} into {packs}", f"pack lot {body.pack}", best)


@lot_words.register
def _(body: Delivered, life: Life) -> str:
    grams = sum(part.grams for line in body.lines for part in line.loose if part.harvest == life.name)
    return f"gone out loose to {body.customer}, {life.mass(grams)}"


@lot_words.register
def _(body: ThrownAway, life: Life) -> str:
    grams = sum(part.grams for part in body.parts if part.harvest == life.name)
    return filled("thrown away, {amount}: {reason}", amount=life.mass(grams), reason=body.reason)


@lot_words.register
def _(body: RecallKept, life: Life) -> str:
    deed = "recall tried out" if body.recall.exercise else "called back"
    return f"{deed}, {body.recall.recall}: {body.recall.reason}"


@lot_words.register
def _(body: RecordWritten, life: Life) -> str:
    return record_words(body.record, life.units)


@lot_words.register
def _(body: Note, life: Life) -> str:
    return filled("note: {text}", text=Own(body.text))


@lot_words.register
def _(body: Photo, life: Life) -> str:
    return joined("photo taken", Own(body.note))


def _of_lot(body: SowingMade, lot: str) -> list[SeedUsed]:
    return [used for used in body.lots if used.lot == lot]


def _percent(share: float) -> str:
    return f"{share * 100:.0f} %"


def joined(*parts: str) -> Filled:
    """The parts that say something, with commas."""
    return in_a_row(parts)


def wash_details(body: Washed, units: ShownUnits) -> tuple[str, ...]:
    """With what kit was washed, how warm it was rinsed, and which steps were left out; empty where not said."""
    return (
        filled("with {}", Own(body.soap)) if body.soap else "",
        f"rinsed at {show_temperature(body.rinse_c, units.temperature)}" if body.rinse_c is not None else "",
        filled("left out: {}", in_a_list(body.left_out)) if body.left_out else "",
    )


def sanitise_details(body: Sanitised, units: ShownUnits) -> tuple[str, ...]:
    """How strong the agent was, for how long and in what water; empty where not said."""
    return (
        f"{body.strength_ppm:g} ppm" if body.strength_ppm is not None else "",
        f"for {body.contact_min:g} min" if body.contact_min is not None else "",
        f"in water of {show_temperature(body.water_c, units.temperature)}" if body.water_c is not None else "",
    )
