"""Commands for what is known: crops with their sources, and recipes."""

from __future__ import annotations

from typing import Any

import click
import msgspec

from trayward.cli.given import Given, group
from trayward.cli.show import Column, Columns, answer, looks, table, wrapped, written
from trayward.desk.lookup import facts_of, recipe_named
from trayward.errors import Finding, NotFoundError
from trayward.farm.crops import CropFacts, Fact
from trayward.farm.recipes import Recipe, Stage
from trayward.sources import source
from trayward.units import show_mass

TRUST = {
    "seen": "seen in the source",
    "derived": "worked out from the source",
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
    table([Column("Fact", whole=True), Column("Value", right=True, whole=True), "Source", "Trust"], rows)
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
        return "said by this farm"


@crop.add("set", example="trayward crop set broccoli tsw_g_typ 3.3 --note 'weighed 500'", records=True)
@click.argument("name", metavar="CROP")
@click.argument("fact")
@click.argument("value")
@click.option("--note", default="", metavar="WORDS", help='How you know. Example: "weighed 500 seeds".')
def set_(given: Given, name: str, fact: str, value: str, note: str) -> None:
    """What a FACT of a CROP is on this farm; it goes before the library's. Names as in: trayward crop facts."""
    from trayward.library.crops import fact_columns

    if fact not in fact_columns():
        raise NotFoundError("fact", fact, tuple(fact_columns()), "See them with: trayward crop facts broccoli")
    receipt = given.farm.set_crop_fact(name, fact, _number_or_word(value), note, **given.said)
    written(given, receipt, f"On this farm {fact} of {name} is {value}.")


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
    found = [one for one in state.recipes.values() if one.name not in state.dropped_recipes]
    columns: Columns = [
        "Recipe",
        "Crop",
        "Medium",
        Column("Live seeds", right=True),
        Column("Days", right=True),
        "A tray brings",
    ]
    rows = [
        (
            one.name,
            one.crop,
            one.medium.name,
            f"{one.live_seeds_per_cm2:.2g} /cm2",
            f"{one.days_to_ready:.0f}",
            _brings(given, one),
        )
        for one in found
    ]
    answer(given, {"recipes": found}, lambda: table(columns, rows))


def _brings(given: Given, one: Recipe) -> str:
    from trayward.cli.show import range_words

    outlook = given.farm.outlook(given.at).proposed(one, given.at)
    return range_words(outlook.grams, given.units)


@recipe.add("show", example="trayward recipe show broccoli")
@click.argument("name", metavar="RECIPE")
def show(given: Given, name: str) -> None:
    """One RECIPE with its stages, its seed and what speaks against it."""
    from trayward.farm.density import seed_for_tray

    one = _recipe(given, name)
    known = facts_of(given.state, one.crop)
    seed = seed_for_tray(one, known, None)
    told: dict[str, Any] = {"recipe": one, "seed_for_tray": seed, "findings": _advice(one, known)}

    def human() -> None:
        click.echo(f"{one.name}: {one.crop} on {one.medium.name}, tray {one.tray.name} of {one.tray.area_cm2:.0f} cm2")
        table(
            ["Stage", Column("Days", right=True), "Place", "Cover", "Water", "Ends when"],
            [_stage_row(s) for s in one.stages],
        )
        if seed.grams is not None:
            spoon = f", about {seed.tablespoons:.2g} tbsp" if seed.tablespoons is not None else ""
            wrapped(f"Seed: {show_mass(seed.grams, given.units.mass)} a tray{spoon}; {seed.basis}.", "  ")
        else:
            wrapped(f"Seed: {seed.basis}.", "  ")
        looks(_advice(one, known))

    answer(given, told, human)


def _stage_row(stage: Stage) -> tuple[str, ...]:
    days = (
        f"{stage.days_typical:g}" if stage.days_low == stage.days_high else f"{stage.days_low:g} to {stage.days_high:g}"
    )
    cover = "" if stage.cover == "none" else stage.cover
    place = stage.ground + (f", {stage.stack} high" if stage.stack > 1 else "")
    return (stage.name, days, place, cover, "" if stage.water == "none" else stage.water, stage.cue)


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
@click.argument("name", metavar="RECIPE")
@click.option("--medium", metavar="NAME", help='The library\'s recipe for a crop on that medium. Example: "mesh mat".')
@click.option("--aperture", type=float, metavar="MM", help="Clear opening of the mesh. Example: 1.0.")
def check(given: Given, name: str, medium: str | None, aperture: float | None) -> None:
    """What speaks against a RECIPE, or the library's for a crop: seed that falls through, gel seed soaked, density."""
    one = _recipe(given, name, medium)
    if aperture is not None:
        one = msgspec.structs.replace(one, medium=msgspec.structs.replace(one.medium, aperture_mm=aperture))
    found = _advice(one, facts_of(given.state, one.crop))
    answer(given, {"recipe": one.name, "findings": found}, lambda: _show_check(one, found))


def _show_check(one: Recipe, found: list[Finding]) -> None:
    if not found:
        click.echo(f"{one.name}: nothing known speaks against it.")
    looks(found)
