"""What a farm, a shelf, a recipe, ... is like, trait by trait in plain words: to tell it, and what of it changed.

A trait is a word or two that stands for a field, with how it reads. What says nothing (no lamp, no note) has no trait.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import singledispatch
from itertools import groupby
from typing import Any, NamedTuple

from trayward.dates import WEEKDAYS, day_words
from trayward.errors import InputError
from trayward.farm.kit import Pool
from trayward.farm.kit_clear import limits_words
from trayward.farm.orders import Customer, LineAsked, Order, Product, StandingOrder
from trayward.farm.places import Shelf
from trayward.farm.recipes import KitNeed, Recipe, Stage, YieldPrior
from trayward.farm.repeats import rule_in_words
from trayward.farm.settings import FarmPaper, FarmSettings, FarmWater, ShownUnits
from trayward.rounds.words import between
from trayward.units import show_length, show_mass, show_temperature, show_volume
from trayward.words import counted, listed


class Trait(NamedTuple):
    """How one field of a thing reads: `value` put into `words` at its braces. `of`: the part of the thing it is of."""

    value: str
    words: str = "{}"
    of: str = ""

    @property
    def said(self) -> str:
        """All of it but the part."""
        return self.words.replace("{}", self.value)


Traits = dict[str, Trait]
"""By the name of what each is about, in the order in which they are told."""


def told(traits: Traits) -> str:
    """All traits in one line, those of one part together."""
    parts = groupby(traits.values(), key=lambda trait: trait.of)
    lines = [(of, ", ".join(trait.said for trait in group)) for of, group in parts]
    return "; ".join(f"{of}: {words}" if of else words for of, words in lines)


def differences(before: Traits, after: Traits) -> list[str]:
    """What is different, trait by trait: `6 spots instead of 4`, `lamp: none any more`."""
    gone = [f"{name}: none any more" for name in before if name not in after and not _part_gone(name, before, after)]
    return [
        _difference(name, before.get(name), trait) for name, trait in after.items() if before.get(name) != trait
    ] + gone


def _part_gone(name: str, before: Traits, after: Traits) -> bool:
    """Whether the whole part that a trait is of is gone, which the list of parts says."""
    of = before[name].of
    return bool(of) and all(trait.of != of for trait in after.values())


def _difference(name: str, before: Trait | None, after: Trait) -> str:
    of = f"{after.of} " if after.of else ""
    if before is None:
        return f"{of}now {after.said}" if of else f"now {name}: {after.said}"
    return f"{of}{after.said} instead of {before.value if before.words == after.words else before.said}"


def traits_made(*traits: tuple[str, str, str], of: str = "") -> Traits:
    """Traits out of (name, value, words); empty values are left out."""
    begin = f"{of} " if of else ""
    return {f"{begin}{name}": Trait(value, words, of) for name, value, words in traits if value}


# Each kind of thing ---------------------------------------------------------------------------------------------------


@singledispatch
def traits_of(thing: Any, units: ShownUnits) -> Traits:  # noqa: ARG001 - the same two arguments for every kind
    """The traits of a farm's settings, a shelf, a pool, a recipe, a product, a customer or an order."""
    raise TypeError(f"nothing is known to tell of {type(thing).__name__}")


@traits_of.register
def _(thing: Shelf, units: ShownUnits) -> Traits:
    del units
    lamp = thing.lamp
    light = ""
    if lamp is not None:
        output = f" of {lamp.umol_s:g} umol/s" if lamp.umol_s is not None else ""
        light = f"{counted(lamp.count, 'lamp')} of {lamp.watts:g} W{output}, {lamp.hours:g} h a day"
    return traits_made(
        ("kind", thing.kind, "{}"),
        ("spots", str(thing.spots), "{} spot" if thing.spots == 1 else "{} spots"),
        ("stack", str(thing.stack) if thing.stack > 1 else "", "{} high"),
        ("lamp", light, "{}"),
        ("rack", thing.rack, "rack {}"),
        ("room", thing.room, "{}"),
        ("walk", str(thing.order), "place {} in the walk"),
    )


@traits_of.register
def _(thing: Pool, units: ShownUnits) -> Traits:
    rule, warm = thing.clearing, units.temperature
    rinse = show_temperature(rule.rinse_c, warm) if rule.rinse_c is not None else ""
    return traits_made(
        ("count", str(thing.count), "{} in all"),
        ("drying", f"{thing.dry_hours:g} h", "dry {} after washing"),
        ("work", f"{thing.minutes_wash:g} min" if thing.minutes_wash else "", "{} of hands to wash one"),
        ("sanitise", "sanitised as well as washed" if thing.sanitise else "washed only", "{}"),
        ("wear", f"{thing.wear:g}" if thing.wear else "", "{} of wear a use"),
        ("life", f"{thing.lasts_uses} uses" if thing.lasts_uses else "", "lasts {}"),
        ("steps", listed(rule.steps, most=12), "washed by: {}"),
        ("rinse", rinse, "rinsed at {} or more"),
        ("limits", limits_words(thing), "sanitised with {}"),
        ("mould", "sanitised after suspected mould" if rule.after_mould else "", "{}"),
        ("uncleared", "nothing sown on it uncleared" if rule.refuse else "", "{}"),
    )


@traits_of.register
def _(thing: Product, units: ShownUnits) -> Traits:
    mix = listed((f"{part.share:.0%} {part.crop}" for part in thing.parts), most=12)
    return traits_made(
        ("crop", mix if len(thing.parts) > 1 else thing.parts[0].crop if thing.parts else "", "{}"),
        ("live", "live tray" if thing.live else "", "{}"),
        ("pack", show_mass(thing.pack_g, units.mass) if thing.pack_g is not None else "", "packs of {}"),
        ("price", f"{thing.price:.2f} a {thing.price_per}" if thing.price else "", "{}"),
    )


@traits_of.register
def _(thing: Customer, units: ShownUnits) -> Traits:
    del units
    return traits_made(
        ("home", "your own table" if thing.home else "", "{}"),
        ("weight", f"{thing.weight:g}", "letting them down counts {}"),
        ("orders", "" if thing.spot_orders else "standing orders only", "{}"),
        ("note", thing.note, "note: {}"),
    )


@traits_of.register
def _(thing: Order, units: ShownUnits) -> Traits:
    del units
    return traits_made(
        ("customer", thing.customer, "{}"),
        ("due", day_words(thing.due), "{}"),
        ("lines", lines_words(thing.lines), "{}"),
        ("note", thing.note, "note: {}"),
    )


@traits_of.register
def _(thing: StandingOrder, units: ShownUnits) -> Traits:
    del units
    pauses = listed((f"{day_words(each.first)} to {day_words(each.last)}" for each in thing.pauses), most=12)
    return traits_made(
        ("customer", thing.customer, "{}"),
        ("repeat", _repeat_words(thing.rule), "{}"),
        ("start", day_words(thing.start), "from {} on"),
        ("lines", lines_words(thing.lines), "{}"),
        ("exceptions", _days(thing.except_on), "not on {}"),
        ("extra days", _days(thing.also_on), "also on {}"),
        ("pauses", pauses, "pauses {}"),
        ("end", "ended" if thing.ended else "", "{}"),
    )


def lines_words(lines: Iterable[LineAsked], mass: str = "g") -> str:
    """Order lines as people say them, weights in a unit."""
    return ", ".join(_line_words(line, mass) for line in lines)


def _line_words(line: LineAsked, mass: str) -> str:
    unit = line.unit.removesuffix("s") if line.quantity == 1 else line.unit
    if line.price is None:
        price = ""
    else:
        price = f" at {line.price * 100:.4g} per 100 g" if line.unit == "g" else f" at {line.price:.4g} each"
    amount = show_mass(line.quantity, mass) if line.unit == "g" else f"{line.quantity:g} {unit}"
    return f"{amount} {line.product}{price}"


def _repeat_words(rule: str) -> str:
    try:
        return rule_in_words(rule)
    except InputError:  # a book may hold a rule that is not read any more
        return rule


def _days(days: Iterable[Any]) -> str:
    return listed((day_words(day) for day in days), most=12)


@traits_of.register
def _(thing: FarmSettings, units: ShownUnits) -> Traits:
    del units
    money, shown = thing.money, thing.units
    weekdays = zip(WEEKDAYS, thing.work_minutes, strict=True)
    return traits_made(
        ("name", thing.name, "{}"),
        ("time zone", thing.timezone, "clocks of {}"),
        ("rounds", listed(f"{walk.name} at {walk.at:%H:%M}" for walk in thing.rounds), "rounds {}"),
        ("work", listed((f"{day} {minutes:g}" for day, minutes in weekdays), most=7), "minutes of work {}"),
        ("days off", _days(thing.days_off), "off on {}"),
        ("caution", f"{thing.caution:.0%}", "wants orders met in full {} of the time"),
        ("calm", f"{thing.calm:g}", "plans today and tomorrow otherwise for more than {} a tray"),
        ("spot orders", _spot_orders(thing), "grows for spot orders {}"),
        ("selling", "sells" if thing.sells else "sells nothing", "{}"),
        ("units", f"{shown.mass}, {shown.volume}, {shown.length} and {shown.temperature}", "reads {}"),
        ("money", money.currency, "counts in {}"),
        ("wage", f"{money.wage_h:g}" if money.wage_h else "", "{} an hour of hands"),
        ("energy", f"{money.energy_kwh:g}" if money.energy_kwh else "", "{} a kWh"),
        ("packaging", f"{money.packaging:g}" if money.packaging else "", "{} a pack"),
        ("overheads", ", ".join(f"{each.name} {each.month:g}" for each in money.overheads), "{} a month"),
        ("disposal", f"{money.disposal_kg:g}" if money.disposal_kg else "", "{} a kg thrown away"),
        ("shortfall", f"{money.shortfall:g}", "a gram not delivered costs {} times its price"),
        ("own table", f"{money.worth_home_100g:g}", "100 g at home is worth {}"),
        ("water", _water_words(thing.water, shown), "waters with {}"),
        ("rules", thing.rules, "answers on rules: {}"),
        ("alarm mail", ", ".join((thing.alarm_mail.language, *thing.alarm_mail.to)), "alarms by e-mail: {}"),
        ("paper", _paper_words(thing.paper), "{}"),
    )


def _paper_words(paper: FarmPaper) -> str:
    """What stands on sheets and labels, in a line; nothing where it is as it comes."""
    items = [f"{each.product} {each.item}" for each in paper.gs1_items]
    parts = (
        f"prints on {paper.size}" if paper.size else "",
        f"address {', '.join(paper.address)}" if paper.address else "",
        f"labels say {paper.storage!r}" if paper.storage != FarmPaper().storage else "",
        f"labels say {paper.words!r}" if paper.words else "",
        f"codes lead to {paper.web}" if paper.web else "",
        f"GS1 prefix {paper.gs1_prefix}" if paper.gs1_prefix else "",
        f"GS1 items {', '.join(items)}" if items else "",
    )
    return ", ".join(part for part in parts if part)


def _water_words(water: FarmWater | None, units: ShownUnits) -> str:
    """The farm's water in a line; nothing where it was not stated."""
    if water is None:
        return ""
    beside = [
        f"EC {water.ec_ds_m:g} dS/m" if water.ec_ds_m else "",
        f"{water.calcium_mg:g} mg/l calcium" if water.calcium_mg else "",
        f"{water.magnesium_mg:g} mg/l magnesium" if water.magnesium_mg else "",
        show_temperature(water.temp_c, units.temperature),
        f"acid {water.acid}" if water.acid else "",
        f"feed {water.feed}".strip() if water.feed else "",
        f"1 ml of feed adds {water.feed_gain_ds_m:g} dS/m" if water.feed_gain_ds_m else "",
        "feed of {:g} to {:g} dS/m".format(*water.feed_ec_ds_m) if water.feed_ec_ds_m else "",
    ]
    first = f"water of pH {water.ph:g} and {water.alkalinity_meq:.3g} meq/l"
    return ", ".join(part for part in (first, *beside) if part)


def _spot_orders(settings: FarmSettings) -> str:
    return "as they usually come" if settings.plan_spot_orders else "once placed"


# Recipes --------------------------------------------------------------------------------------------------------------


@traits_of.register
def _(thing: Recipe, units: ShownUnits) -> Traits:
    stages: Traits = {}
    for stage in thing.stages:
        stages |= _stage_traits(stage, units)
    names = tuple(stage.name for stage in thing.stages)
    kit = listed((_kit_words(need, names) for need in thing.kit), most=12)
    return (
        traits_made(
            ("crop", thing.crop, "{}"),
            ("medium", _medium_words(thing), "on {}"),
            ("tray", _tray_words(thing, units), "tray {}"),
            ("density", f"{thing.live_seeds_per_cm2:.3g}", "{} live seeds a cm2"),
            ("soak", f"{thing.soak_h:g} h" if thing.soak_h else "", "soaked {}"),
            ("stages", ", ".join(stage.name for stage in thing.stages), "stages {}"),
        )
        | stages
        | traits_made(
            ("kit", kit, "kit: {}"),
            ("yield", yield_words(thing.yield_prior, units), "a tray brings {}"),
            ("cut window", counted(thing.cut_window_days, "day"), "to be cut within {}"),
            ("growth", f"{thing.growth_a_day:.0%}" if thing.growth_a_day else "", "{} heavier each day it waits"),
            ("cold room", counted(thing.cold_room_days, "day"), "keeps {} cold"),
            ("cut height", cut_span(thing, units), "cut at {}"),
            ("feed pH", f"{thing.feed_ph[0]:g} to {thing.feed_ph[1]:g}", "feed pH {}"),
            ("minutes", minutes_words(thing), "minutes a tray: {}"),
            ("note", thing.note, "note: {}"),
        )
    )


def cut_span(recipe: Recipe, units: ShownUnits) -> str:
    """From how low to how high a recipe is cut."""
    low, high = (show_length(height, units.length) for height in recipe.cut_height_mm)
    return between(low, high)


def _tray_words(recipe: Recipe, units: ShownUnits) -> str:
    tray = recipe.tray
    length, width, depth = (show_length(mm, units.length) for mm in (tray.length_mm, tray.width_mm, tray.depth_mm))
    return f"{tray.name} of {length} by {width}, {depth} deep"


def _medium_words(recipe: Recipe) -> str:
    medium = recipe.medium
    holes = "" if medium.square_holes else " slotted"
    told = [
        "used again" if medium.reusable else "",
        f"{medium.aperture_mm:g} mm{holes} holes" if medium.aperture_mm is not None else "",
        f"its top {medium.top_mm:g} mm up" if medium.top_mm is not None else "",
        f"{medium.cost:g} a tray" if medium.cost else "",
    ]
    beside = ", ".join(part for part in told if part)
    return f"{recipe.medium.name} ({beside})" if beside else recipe.medium.name


def _kit_words(need: KitNeed, stages: tuple[str, ...]) -> str:
    """A piece of kit and when a tray holds it: all along, from some stage on, or in some stages."""
    first = stages.index(need.stages[0]) if need.stages and need.stages[0] in stages else 0
    if not need.stages:
        when = ""
    elif need.stages == stages[first:]:
        when = f" from {need.stages[0]} on"
    else:
        when = f" in {' and '.join(need.stages)}"
    return f"{need.each} x {need.pool}{when}"


def yield_words(prior: YieldPrior, units: ShownUnits) -> str:
    """What a tray brings by a recipe's own figures, and who says so; nothing where nobody does."""
    if prior.typical_g is None:
        return ""
    likely = show_mass(prior.typical_g, units.mass)
    who = f", by {prior.source}" if prior.source else ""
    if prior.low_g is None or prior.high_g is None:
        return f"{likely}{who}"
    span = between(show_mass(prior.low_g, units.mass), show_mass(prior.high_g, units.mass))
    return f"{span}, likely {likely}{who}"


def minutes_words(recipe: Recipe) -> str:
    """Hands' work a tray, job by job."""
    return (
        f"sow {recipe.minutes_sow:g}, look {recipe.minutes_look:g}, cut {recipe.minutes_cut:g}, "
        f"wash {recipe.minutes_wash:g}"
    )


def days_words(stage: Stage) -> str:
    """How long a stage takes, fast to slow trays; hours where it is over within a day."""
    short = 0 < stage.days_high < 1
    low, middle, high = (
        f"{days * 24 if short else days:.3g}" for days in (stage.days_low, stage.days_typical, stage.days_high)
    )
    unit = "h" if short else "day" if high == "1" else "days"
    return f"{middle} {unit}" if low == middle == high else f"{low} to {high} {unit}, mostly {middle}"


def _stage_traits(stage: Stage, units: ShownUnits) -> Traits:
    none = {"none": ""}
    weight = f" and {show_mass(stage.weight_g, units.mass)}" if stage.cover == "weight" and stage.weight_g else ""
    cover = {"weight": "a cover", "blackout": "the blackout cover"} | none
    water = {"mist": "misted", "below": "watered below", "soak": "under water"} | none
    way = water[stage.water] or ("watered below only if dry" if stage.water_ml else "")
    amount = f", {show_volume(stage.water_ml, units.volume)}" if stage.water_ml else ""
    return traits_made(
        ("days", days_words(stage) if stage.days_high or stage.cue else "", "{}"),
        ("place", {"bench": "on the bench", "dark": "in the dark", "lit": "in light"}[stage.ground], "{}"),
        ("stack", str(stage.stack) if stage.stack > 1 else "", "{} high"),
        ("cover", f"{cover[stage.cover]}{weight}" if cover[stage.cover] else "", "under {}"),
        ("water", f"{way}{amount}" if way else "", "{}"),
        ("question", f"“{stage.cue}”" if stage.cue else "", "until {}"),
        ("work", f"{stage.minutes:g} min" if stage.minutes else "", "{} of hands to begin"),
        ("base", f"{stage.base_c:g} C" if stage.base_c is not None else "", "stands still below {}"),
        ("warmth", f"{stage.at_c:g} C" if stage.at_c is not None else "", "so long at {}"),
        ("how", f"“{stage.do}”" if stage.do else "", "begun so: {}"),
        of=stage.name,
    )
