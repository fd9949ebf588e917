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
from trayward.library.recipes import is_our_note
from trayward.rounds.words import between
from trayward.units import show_length, show_mass, show_temperature, show_volume
from trayward.words import Filled, Own, counted, filled, in_a_list, in_a_row


class Trait(NamedTuple):
    """How one field of a thing reads: `value` put into `words` at its braces. `of`: the part of the thing it is of."""

    value: str
    words: str = "{}"
    of: str = ""

    @property
    def said(self) -> Filled:
        """All of it but the part."""
        return filled(self.words, self.value)


Traits = dict[str, Trait]
"""By the name of what each is about, in the order in which they are told."""


def told(traits: Traits) -> Filled:
    """All traits in one line, those of one part together."""
    parts = groupby(traits.values(), key=lambda trait: trait.of)
    lines = [(of, in_a_row(trait.said for trait in group)) for of, group in parts]
    return in_a_row((in_a_row((of, words), ": ") for of, words in lines), "; ")


def differences(before: Traits, after: Traits) -> list[Filled]:
    """What is different, trait by trait: `6 spots instead of 4`, `lamp: none any more`."""
    gone = [
        filled("{name}: none any more", name=name)
        for name in before
        if name not in after and not _part_gone(name, before, after)
    ]
    return [
        _difference(name, before.get(name), trait) for name, trait in after.items() if before.get(name) != trait
    ] + gone


def _part_gone(name: str, before: Traits, after: Traits) -> bool:
    """Whether the whole part that a trait is of is gone, which the list of parts says."""
    of = before[name].of
    return bool(of) and all(trait.of != of for trait in after.values())


def _difference(name: str, before: Trait | None, after: Trait) -> Filled:
    said = in_a_row((after.of, after.said), " ")
    if before is None:
        if after.of:
            return filled("{part} now {said}", part=after.of, said=after.said)
        return filled("now {name}: {said}", name=name, said=after.said)
    old = before.value if before.words == after.words else before.said
    return filled("{said} instead of {old}", said=said, old=old)


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
        light = filled(
            "{lamps} of {watts} W, {hours} h a day" if lamp.umol_s is None
            else "{lamps} of {watts} W of {umol_s} umol/s, {hours} h a day",
            lamps=counted(lamp.count, "lamp"), watts=f"{lamp.watts:g}", hours=f"{lamp.hours:g}",
            umol_s="" if lamp.umol_s is None else f"{lamp.umol_s:g}",
        )  # fmt: skip
    return traits_made(
        ("kind", thing.kind, "{}"),
        ("spots", str(thing.spots), "{} spot" if thing.spots == 1 else "{} spots"),
        ("stack", str(thing.stack) if thing.stack > 1 else "", "{} high"),
        ("lamp", light, "{}"),
        ("rack", Own(thing.rack), "rack {}"),
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
        ("steps", in_a_list(rule.steps, most=12), "washed by: {}"),
        ("rinse", rinse, "rinsed at {} or more"),
        ("limits", limits_words(thing), "sanitised with {}"),
        ("mould", "sanitised after suspected mould" if rule.after_mould else "", "{}"),
        ("uncleared", "nothing sown on it uncleared" if rule.refuse else "", "{}"),
    )


@traits_of.register
def _(thing: Product, units: ShownUnits) -> Traits:
    mix = in_a_list((_amount_of(f"{part.share:.0%}", part.crop) for part in thing.parts), most=12)
    price = filled("{price} a {per}", price=f"{thing.price:.2f}", per=thing.price_per) if thing.price else ""
    return traits_made(
        ("crop", mix if len(thing.parts) > 1 else Own(thing.parts[0].crop) if thing.parts else "", "{}"),
        ("live", "live tray" if thing.live else "", "{}"),
        ("pack", show_mass(thing.pack_g, units.mass) if thing.pack_g is not None else "", "packs of {}"),
        ("price", price, "{}"),
    )


def _amount_of(amount: str, name: str) -> Filled:
    """So much of a crop or of something sold."""
    return filled("{amount} {product}", amount=amount, product=Own(name))


@traits_of.register
def _(thing: Customer, units: ShownUnits) -> Traits:
    del units
    return traits_made(
        ("home", "your own table" if thing.home else "", "{}"),
        ("weight", f"{thing.weight:g}", "letting them down counts {}"),
        ("orders", "" if thing.spot_orders else "standing orders only", "{}"),
        ("note", Own(thing.note), "note: {}"),
    )


@traits_of.register
def _(thing: Order, units: ShownUnits) -> Traits:
    del units
    return traits_made(
        ("customer", Own(thing.customer), "{}"),
        ("due", day_words(thing.due), "{}"),
        ("lines", lines_words(thing.lines), "{}"),
        ("note", Own(thing.note), "note: {}"),
    )


@traits_of.register
def _(thing: StandingOrder, units: ShownUnits) -> Traits:
    del units
    spans = (filled("{first} to {last}", first=day_words(one.first), last=day_words(one.last)) for one in thing.pauses)
    pauses = in_a_list(spans, most=12)
    return traits_made(
        ("customer", Own(thing.customer), "{}"),
        ("repeat", _repeat_words(thing.rule), "{}"),
        ("start", day_words(thing.start), "from {} on"),
        ("lines", lines_words(thing.lines), "{}"),
        ("exceptions", _days(thing.except_on), "not on {}"),
        ("extra days", _days(thing.also_on), "also on {}"),
        ("pauses", pauses, "pauses {}"),
        ("end", "ended" if thing.ended else "", "{}"),
    )


def lines_words(lines: Iterable[LineAsked], mass: str = "g") -> Filled:
    """Order lines as people say them, weights in a unit."""
    return in_a_row(_line_words(line, mass) for line in lines)


def _line_words(line: LineAsked, mass: str) -> Filled:
    unit = line.unit.removesuffix("s") if line.quantity == 1 else line.unit
    amount = show_mass(line.quantity, mass) if line.unit == "g" else f"{line.quantity:g} {unit}"
    asked = _amount_of(amount, line.product)
    if line.price is None:
        return asked
    if line.unit == "g":
        return filled("{asked} at {price} per 100 g", asked=asked, price=f"{line.price * 100:.4g}")
    return filled("{asked} at {price} each", asked=asked, price=f"{line.price:.4g}")


def _repeat_words(rule: str) -> str:
    try:
        return rule_in_words(rule)
    except InputError:  # a book may hold a rule that is not read any more
        return rule


def _days(days: Iterable[Any]) -> Filled:
    return in_a_list((day_words(day) for day in days), most=12)


@traits_of.register
def _(thing: FarmSettings, units: ShownUnits) -> Traits:
    del units
    money, shown = thing.money, thing.units
    weekdays = zip(WEEKDAYS, thing.work_minutes, strict=True)
    rounds = in_a_list(filled("{name} at {time}", name=walk.name, time=f"{walk.at:%H:%M}") for walk in thing.rounds)
    mass_and_so_on = (shown.mass, shown.volume, shown.length, shown.temperature)
    return traits_made(
        ("name", Own(thing.name), "{}"),
        ("time zone", Own(thing.timezone), "clocks of {}"),
        ("rounds", rounds, "rounds {}"),
        ("work", in_a_list((f"{day} {minutes:g}" for day, minutes in weekdays), most=7), "minutes of work {}"),
        ("days off", _days(thing.days_off), "off on {}"),
        ("caution", f"{thing.caution:.0%}", "wants orders met in full {} of the time"),
        ("calm", f"{thing.calm:g}", "plans today and tomorrow otherwise for more than {} a tray"),
        ("spot orders", _spot_orders(thing), "grows for spot orders {}"),
        ("selling", "sells" if thing.sells else "sells nothing", "{}"),
        ("units", in_a_list(map(Own, mass_and_so_on)), "reads {}"),
        ("money", money.currency, "counts in {}"),
        ("wage", f"{money.wage_h:g}" if money.wage_h else "", "{} an hour of hands"),
        ("energy", f"{money.energy_kwh:g}" if money.energy_kwh else "", "{} a kWh"),
        ("packaging", f"{money.packaging:g}" if money.packaging else "", "{} a pack"),
        ("overheads", in_a_row(f"{each.name} {each.month:g}" for each in money.overheads), "{} a month"),
        ("disposal", f"{money.disposal_kg:g}" if money.disposal_kg else "", "{} a kg thrown away"),
        ("shortfall", f"{money.shortfall:g}", "a gram not delivered costs {} times its price"),
        ("own table", f"{money.worth_home_100g:g}", "100 g at home is worth {}"),
        ("water", _water_words(thing.water, shown), "waters with {}"),
        ("rules", thing.rules, "answers on rules: {}"),
        ("alarm mail", Own(", ".join((thing.alarm_mail.language, *thing.alarm_mail.to))), "alarms by e-mail: {}"),
        ("paper", _paper_words(thing.paper), "{}"),
    )


def _paper_words(paper: FarmPaper) -> Filled:
    """What stands on sheets and labels, in a line; nothing where it is as it comes."""
    items = [f"{each.product} {each.item}" for each in paper.gs1_items]
    storage = paper.storage if paper.storage != FarmPaper().storage else ""
    said = (
        ("prints on {}", paper.size),
        ("address {}", ", ".join(paper.address)),
        ("labels say {}", repr(storage) if storage else ""),
        ("labels say {}", repr(paper.words) if paper.words else ""),
        ("codes lead to {}", paper.web),
        ("GS1 prefix {}", paper.gs1_prefix),
        ("GS1 items {}", ", ".join(items)),
    )
    return in_a_row(filled(words, Own(value)) for words, value in said if value)


def _water_words(water: FarmWater | None, units: ShownUnits) -> Filled | str:
    """The farm's water in a line; nothing where it was not stated."""
    if water is None:
        return ""
    first = filled(
        "water of pH {ph} and {alkalinity} meq/l", ph=f"{water.ph:g}", alkalinity=f"{water.alkalinity_meq:.3g}"
    )
    low, high = water.feed_ec_ds_m or (0.0, 0.0)
    beside = [
        f"EC {water.ec_ds_m:g} dS/m" if water.ec_ds_m else "",
        filled("{} mg/l calcium", f"{water.calcium_mg:g}") if water.calcium_mg else "",
        filled("{} mg/l magnesium", f"{water.magnesium_mg:g}") if water.magnesium_mg else "",
        show_temperature(water.temp_c, units.temperature),
        filled("acid {}", water.acid) if water.acid else "",
        filled("feed {}", Own(water.feed.strip())) if water.feed else "",
        filled("1 ml of feed adds {} dS/m", f"{water.feed_gain_ds_m:g}") if water.feed_gain_ds_m else "",
        filled("feed of {low} to {high} dS/m", low=f"{low:g}", high=f"{high:g}") if water.feed_ec_ds_m else "",
    ]
    return in_a_row((first, *beside))


def _spot_orders(settings: FarmSettings) -> str:
    return "as they usually come" if settings.plan_spot_orders else "once placed"


# Recipes --------------------------------------------------------------------------------------------------------------


@traits_of.register
def _(thing: Recipe, units: ShownUnits) -> Traits:
    stages: Traits = {}
    for stage in thing.stages:
        stages |= _stage_traits(stage, units)
    names = tuple(stage.name for stage in thing.stages)
    kit = in_a_list((_kit_words(need, names) for need in thing.kit), most=12)
    return (
        traits_made(
            ("crop", Own(thing.crop), "{}"),
            ("medium", _medium_words(thing), "on {}"),
            ("tray", _tray_words(thing, units), "tray {}"),
            ("density", f"{thing.live_seeds_per_cm2:.3g}", "{} live seeds a cm2"),
            ("soak", f"{thing.soak_h:g} h" if thing.soak_h else "", "soaked {}"),
            ("stages", in_a_row(stage.name for stage in thing.stages), "stages {}"),
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
            ("note", _note_words(thing), "note: {}"),
        )
    )


def _note_words(recipe: Recipe) -> str:
    return in_a_row(recipe.note.split("; "), "; ") if is_our_note(recipe.note) else Own(recipe.note)


def cut_span(recipe: Recipe, units: ShownUnits) -> str:
    """From how low to how high a recipe is cut."""
    low, high = (show_length(height, units.length) for height in recipe.cut_height_mm)
    return between(low, high)


def _tray_words(recipe: Recipe, units: ShownUnits) -> Filled:
    tray = recipe.tray
    length, width, depth = (show_length(mm, units.length) for mm in (tray.length_mm, tray.width_mm, tray.depth_mm))
    return filled(
        "{name} of {length} by {width}, {depth} deep", name=Own(tray.name), length=length, width=width, depth=depth
    )


def _medium_words(recipe: Recipe) -> Filled | str:
    medium = recipe.medium
    holes = "{} mm holes" if medium.square_holes else "{} mm slotted holes"
    said = in_a_row((
        "used again" if medium.reusable else "",
        filled(holes, f"{medium.aperture_mm:g}") if medium.aperture_mm is not None else "",
        filled("its top {} mm up", f"{medium.top_mm:g}") if medium.top_mm is not None else "",
        filled("{} a tray", f"{medium.cost:g}") if medium.cost else "",
    ))  # fmt: skip
    return filled("{medium} ({beside})", medium=medium.name, beside=said) if said else medium.name


def _kit_words(need: KitNeed, stages: tuple[str, ...]) -> Filled:
    """A piece of kit and when a tray holds it: all along, from some stage on, or in some stages."""
    first = stages.index(need.stages[0]) if need.stages and need.stages[0] in stages else 0
    piece = filled("{each} x {pool}", each=str(need.each), pool=need.pool)
    if not need.stages:
        return piece
    if need.stages == stages[first:]:
        return filled("{piece} from {stage} on", piece=piece, stage=need.stages[0])
    return filled("{piece} in {stages}", piece=piece, stages=in_a_row(need.stages, " and "))


def yield_words(prior: YieldPrior, units: ShownUnits) -> Filled | str:
    """What a tray brings by a recipe's own figures, and who says so; nothing where nobody does."""
    if prior.typical_g is None:
        return ""
    said: Filled | str = show_mass(prior.typical_g, units.mass)
    if prior.low_g is not None and prior.high_g is not None:
        span = between(show_mass(prior.low_g, units.mass), show_mass(prior.high_g, units.mass))
        said = filled("{span}, likely {likely}", span=span, likely=said)
    return filled("{said}, by {source}", said=said, source=prior.source) if prior.source else said


def minutes_words(recipe: Recipe) -> Filled:
    """Hands' work a tray, job by job."""
    work = (recipe.minutes_sow, recipe.minutes_look, recipe.minutes_cut, recipe.minutes_wash)
    sow, look, cut, wash = (f"{minutes:g}" for minutes in work)
    return filled("sow {sow}, look {look}, cut {cut}, wash {wash}", sow=sow, look=look, cut=cut, wash=wash)


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
    weight = show_mass(stage.weight_g, units.mass) if stage.cover == "weight" and stage.weight_g else ""
    cover = {"weight": "under a cover", "blackout": "under the blackout cover"} | none
    water = {"mist": "misted", "below": "watered below", "soak": "under water"} | none
    way = water[stage.water] or ("watered below only if dry" if stage.water_ml else "")
    amount = show_volume(stage.water_ml, units.volume) if stage.water_ml else ""
    return traits_made(
        ("days", days_words(stage) if stage.days_high or stage.cue else "", "{}"),
        ("place", {"bench": "on the bench", "dark": "in the dark", "lit": "in light"}[stage.ground], "{}"),
        ("stack", str(stage.stack) if stage.stack > 1 else "", "{} high"),
        ("cover", filled("under a cover and {}", weight) if weight else cover[stage.cover], "{}"),
        ("water", in_a_row((way, amount)) if way else "", "{}"),
        ("question", filled("“{}”", stage.cue) if stage.cue else "", "until {}"),
        ("work", f"{stage.minutes:g} min" if stage.minutes else "", "{} of hands to begin"),
        ("base", f"{stage.base_c:g} C" if stage.base_c is not None else "", "stands still below {}"),
        ("warmth", f"{stage.at_c:g} C" if stage.at_c is not None else "", "so long at {}"),
        ("how", filled("“{}”", stage.do) if stage.do else "", "begun so: {}"),
        of=stage.name,
    )
