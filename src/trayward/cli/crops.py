"""Commands for what is known: crops with their sources, and recipes."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import Any

import click
import msgspec

from trayward.cli.given import Given, group
from trayward.cli.numbers import NUMBER
from trayward.cli.outlook import sown_now
from trayward.cli.show import Column, Columns, answer, looks, range_words, table, wrapped, written
from trayward.desk.lookup import facts_of, lots_for, recipe_named
from trayward.errors import Finding, InputError, NotFoundError
from trayward.farm.crops import CropFacts, Fact
from trayward.farm.density import SeedAmount, seed_for_tray
from trayward.farm.recipes import Recipe, Stage
from trayward.farm.state import SeedLot
from trayward.library.recipes import is_our_note
from trayward.outlook.types import TrayOutlook
from trayward.rounds.measures import in_units
from trayward.rounds.traits import cut_span, days_words, minutes_words, traits_of, yield_words
from trayward.rounds.words import sentence
from trayward.sources import source
from trayward.units import show_mass
from trayward.words import counted, listed

_NOT_KNOWN = "said by this farm"
TRUST = {
    "seen": "seen there",
    "derived": "worked out",
    "memory": "from memory",
    "practice": "common practice",
    "farm": "said by this farm",
}


@group("crop", example="trayward crop")
def crop(given: Given) -> None:
    """The crops that are known, and whether this farm has a recipe for them."""
    found = _known(given)
    recipes = {name: [r.name for r in given.state.recipes.values() if r.crop == name] for name in found}
    told = {"crops": [{"crop": name, "recipes": recipes[name]} for name in found]}
    rows = [(name, facts_of(given.state, name).latin_name, ", ".join(recipes[name])) for name in found]
    answer(given, told, lambda: table(["Crop", "Latin name", "Recipes here"], rows))


def _known(given: Given) -> list[str]:
    from trayward.library.crops import crop_names

    here = {recipe.crop for recipe in given.state.recipes.values()} | set(given.state.crop_facts)
    return sorted(here | set(crop_names()))


@crop.add("facts", example="trayward crop facts broccoli")
@click.argument("name", metavar="CROP")
def facts(given: Given, name: str) -> None:
    """What is known of a CROP, each figure with its source and how far to trust it. A blank is not guessed."""
    if name not in _known(given):
        raise NotFoundError("crop", name, tuple(_known(given)), "See them with: trayward crop")
    known = facts_of(given.state, name)
    answer(given, known, lambda: _show_facts(known))


def _show_facts(known: CropFacts) -> None:
    click.echo(f"{known.crop}  {known.latin_name}  {known.family}".rstrip())
    rows = [(name, _value(fact), fact.source, TRUST[fact.trust]) for name, fact in known.facts.items()]
    table(
        [Column("Fact", whole=True), Column("Value", right=True, whole=True), Column("Source", whole=True), "Trust"],
        rows,
    )
    for key in dict.fromkeys(key for fact in known.facts.values() for key in _keys(fact.source)):
        wrapped(f"{key}: {_citation(key)}", "  ")


def _value(fact: Fact) -> str:
    value = f"{fact.value:g}" if isinstance(fact.value, float) else fact.value
    return f"{value} {fact.unit}".strip()


def _keys(text: str) -> list[str]:
    return [key for key in text.replace(",", " ").replace(";", " ").split() if key]


def _citation(key: str) -> str:
    try:
        return source(key).citation
    except NotFoundError:
        return _NOT_KNOWN


@crop.add("set", example="trayward crop set broccoli tsw_g_typ 3.3 --note 'weighed 500'", records=True)
@click.argument("name", metavar="CROP")
@click.argument("fact")
@click.argument("value")
@click.option("--note", default="", metavar="WORDS", help='How you know. Example: "weighed 500 seeds".')
def set_(given: Given, name: str, fact: str, value: str, note: str) -> None:
    """What a FACT of a CROP is on this farm; it goes before the library's. Names as in: trayward crop facts."""
    from trayward.library.crops import fact_columns

    if fact not in fact_columns():
        raise _no_such_fact(name, fact, fact_columns())
    receipt = given.farm.set_crop_fact(name, fact, _number_or_word(value), note, **given.said)
    written(given, receipt, f"On this farm {fact} of {name} is {value}.")


def _no_such_fact(crop: str, fact: str, known: Sequence[str]) -> InputError:
    """The figures nearest to what was said, and where a yield is set if that is meant."""
    near = [column for column in known if fact.lower() in column]
    near = near or difflib.get_close_matches(fact.lower(), known, n=4, cutoff=0.6)
    hint = f"Did you mean {listed(near, most=4)}?" if near else f"See them with: trayward crop facts {crop}"
    if "yield" in fact.lower():
        hint += " What trays of a recipe bring on this farm is set in the setup file, as its yield."
    return InputError("fact", fact, "crops have no figure of that name", hint)


def _number_or_word(value: str) -> float | str:
    try:
        return float(value.replace(",", "."))
    except ValueError:
        return value


# Recipes --------------------------------------------------------------------------------------------------------------


@group("recipe", example="trayward recipe")
def recipe(given: Given) -> None:
    """The farm's recipes: crop, medium, density, days and what a tray brings."""
    show_recipes(given)


@recipe.add("list", example="trayward recipe list")
def list_(given: Given) -> None:
    """Every recipe of the farm."""
    show_recipes(given)


def show_recipes(given: Given) -> None:
    """The recipes as a table, or in JSON."""
    state = given.state
    found = state.recipes_in_use()
    columns: Columns = ["Recipe", Column("Live seeds", right=True), Column("Days", right=True), "A tray brings"]
    rows = [
        (_named(one), f"{one.live_seeds_per_cm2:.2g} /cm2", f"{one.days_to_ready:.0f}", _brings(given, one))
        for one in found
    ]
    answer(given, {"recipes": found}, lambda: table(columns, rows))


def _named(one: Recipe) -> str:
    """A recipe's name, with its crop and medium where they are not in it."""
    plain = f"{one.crop} on {one.medium.name}"
    return one.name if one.name == plain else f"{one.name} ({plain})"


def _brings(given: Given, one: Recipe) -> str:
    return range_words(sown_now(given, given.farm.outlook(given.at), one).grams, given.units)


@recipe.add("show", example="trayward recipe show broccoli")
@click.argument("name", metavar="RECIPE")
def show(given: Given, name: str) -> None:
    """One RECIPE: stages, seed from the next lot, what a tray brings, kit and work, and what speaks against it."""
    one = _recipe(given, name)
    known = facts_of(given.state, one.crop)
    lot = next(iter(lots_for(given.state, one.crop, given.at)), None)
    seed = seed_for_tray(one, known, lot, given.at)
    ahead = sown_now(given, given.farm.outlook(given.at), one)
    told: dict[str, Any] = {
        "recipe": one,
        "seed_for_tray": seed,
        "lot": lot.lot if lot is not None else None,
        "outlook": ahead,
        "findings": _advice(one, known),
    }

    def human() -> None:
        _show_stages(one)
        _show_seed(given, seed, lot)
        for words in _brings_words(given, one, ahead):
            wrapped(words, "  ")
        _show_sources(one)
        looks(_advice(one, known))

    answer(given, told, human)


def _show_stages(one: Recipe) -> None:
    click.echo(f"{_named(one)}, tray {one.tray.name} of {one.tray.area_cm2:.0f} cm2")
    table(
        ["Stage", Column("Days", right=True), "Place", "Cover", "Water", "Ends when"],
        [_stage_row(stage) for stage in one.stages],
    )


def _show_seed(given: Given, seed: SeedAmount, lot: SeedLot | None) -> None:
    if seed.grams is None:
        wrapped(f"Seed: {seed.basis}.", "  ")
        return
    spoon = f", about {seed.tablespoons:.2g} tbsp" if seed.tablespoons is not None else ""
    whose = f" of lot {lot.lot}, which is next" if lot is not None else "; no lot of it is here"
    wrapped(f"Seed: {show_mass(seed.grams, given.units.mass)} a tray{spoon}{whose}; {seed.basis}.", "  ")


def _brings_words(given: Given, one: Recipe, ahead: TrayOutlook) -> Iterator[str]:
    """What a tray brings, what it holds and asks for, and how long it keeps."""
    low, likely, high = (_days(given, moment) for moment in (ahead.ready.low, ahead.ready.likely, ahead.ready.high))
    begin, basis = f"A tray sown now: ready in {low} to {high} days, likely {likely}", ahead.grams_basis.words
    if ahead.grams is None:
        yield f"{begin}, in 8 of 10. {basis}"
    else:
        yield f"{begin}; it brings {range_words(ahead.grams, given.units)}; both in 8 of 10."
        yield f"The weight rests on {basis[:1].lower()}{basis[1:]}"
    own = yield_words(one.yield_prior, given.units)
    if own:
        yield f"Yield by the recipe: {own}."
    traits = traits_of(one, given.units)
    yield sentence(traits["kit"].said if "kit" in traits else "no kit")
    window = counted(one.cut_window_days, "day")
    keeps = counted(one.cold_room_days, "day")
    yield f"Cut at {cut_span(one, given.units)}, within {window} of being ready; keeps {keeps} in the cold room."
    yield f"Minutes of hands a tray: {minutes_words(one)}."
    if one.note:
        note = in_units(one.note, given.units) if is_our_note(one.note) else one.note
        yield sentence(f"note: {note}")


def _days(given: Given, moment: datetime) -> int:
    return round((moment - given.at) / timedelta(days=1))


def _show_sources(one: Recipe) -> None:
    for key in dict.fromkeys(_keys(one.yield_prior.source)):
        if _citation(key) != _NOT_KNOWN:
            wrapped(f"{key}: {_citation(key)}", "  ")


def _stage_row(stage: Stage) -> tuple[str, ...]:
    cover = "" if stage.cover == "none" else stage.cover
    place = stage.ground + (f", {stage.stack} high" if stage.stack > 1 else "")
    return (
        stage.name,
        days_words(stage).partition(",")[0].removesuffix(" days"),
        place,
        cover,
        "" if stage.water == "none" else stage.water,
        stage.cue,
    )


def _recipe(given: Given, name: str, medium: str | None = None) -> Recipe:
    """The farm's recipe, else the library's standard one for a crop it knows."""
    from trayward.library.crops import crop_names
    from trayward.library.recipes import standard_recipe

    if medium is None and (name in given.state.recipes or name not in crop_names()):
        return recipe_named(given.state, name)
    if medium is None and any(one.crop == name for one in given.state.recipes.values()):
        return recipe_named(given.state, name)
    return standard_recipe(name, medium) if medium else standard_recipe(name)


def _advice(one: Recipe, known: CropFacts) -> list[Finding]:
    from trayward.library.advice import recipe_findings

    return list(recipe_findings(one, known))


@recipe.add("check", example='trayward recipe check amaranth --medium "mesh mat"')
@click.argument("name", metavar="[RECIPE]", required=False)
@click.option("--medium", metavar="NAME", help='The library\'s recipe for a crop on that medium. Example: "mesh mat".')
@click.option("--aperture", type=NUMBER, metavar="MM", help="Clear opening of the mesh. Example: 1.0.")
def check(given: Given, name: str | None, medium: str | None, aperture: float | None) -> None:
    """
    What speaks against a RECIPE, or the library's for a crop: seed that falls through, gel seed soaked, density.

    Without a RECIPE, all of the farm's own are looked at.
    """
    if name is None:
        _check_all(given, aperture)
        return
    one, found = _checked(given, _recipe(given, name, medium), aperture)
    answer(given, {"recipe": one.name, "findings": found}, lambda: _show_check(one, found))


def _check_all(given: Given, aperture: float | None) -> None:
    checked = [_checked(given, one, aperture) for one in given.state.recipes_in_use()]

    def human() -> None:
        for one, found in checked:
            _show_check(one, found)

    told = [{"recipe": one.name, "findings": found} for one, found in checked]
    answer(given, {"recipes": told}, human)


def _checked(given: Given, one: Recipe, aperture: float | None) -> tuple[Recipe, list[Finding]]:
    """A recipe, on a mesh of another opening if one is said, and what speaks against it."""
    if aperture is not None:
        one = msgspec.structs.replace(one, medium=msgspec.structs.replace(one.medium, aperture_mm=aperture))
    return one, _advice(one, facts_of(given.state, one.crop))


def _show_check(one: Recipe, found: list[Finding]) -> None:
    click.echo(f"{one.name}: {'worth a look before you sow.' if found else 'nothing known speaks against it.'}")
    looks(found)
