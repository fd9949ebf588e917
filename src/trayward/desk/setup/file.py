"""The setup file: one human-written TOML text that describes a farm, as entries ready for the book."""

from __future__ import annotations

from collections import Counter
from functools import lru_cache
from importlib.resources import files

from trayward.desk.setup.changes import left_out, setup_changes
from trayward.desk.setup.model import read_crop_facts, read_pools, read_seed, read_settings, read_shelves
from trayward.desk.setup.orders import Grown, Sold, read_customers, read_orders, read_products, read_standing
from trayward.desk.setup.recipes import Library, read_media, read_recipes
from trayward.desk.setup.records import read_habits
from trayward.desk.setup.sensors import read_sensors
from trayward.desk.setup.supplies import read_supplies
from trayward.desk.setup.table import Document, Table, nearest
from trayward.errors import InputError, NotFoundError, SetupError
from trayward.farm.crops import Fact
from trayward.farm.entries import (
    Body,
    CropFactSet,
    CustomerSet,
    FarmSet,
    KitSet,
    OrderPlaced,
    PlaceSet,
    ProductSet,
    RecipeSet,
    RecordHabitSet,
    SensorSet,
    StandingOrderSet,
)
from trayward.farm.recipes import Medium, Recipe

__all__ = ["READY_SETUPS", "left_out", "read_setup", "ready_setup", "ready_setup_text", "setup_changes"]

READY_SETUPS = ("shelf", "loft", "barn")
"""Farms that come with the package; `barn` is made from a seed number."""


def read_setup(text: str, *, name: str) -> tuple[Body, ...]:
    """
    What a setup file says, as bodies of entries in the order in which the book can take them.

    Parameters
    ----------
    text : str
        The file's text, in TOML.
    name : str
        What to call the file in messages.

    Raises
    ------
    SetupError
        If anything in it cannot be used. Every problem found is listed: file, line, key = value: rule. Way out.
    """
    document = Document(text, name)
    if document.problems:
        raise SetupError(document.sentences())
    bodies = _bodies(document.root())
    if document.problems:
        raise SetupError(document.sentences())
    return bodies


def _bodies(root: Table) -> tuple[Body, ...]:
    from trayward.library.crops import fact_columns
    from trayward.library.recipes import standard_media

    settings = read_settings(root)
    shelves = read_shelves(root)
    pools = read_pools(root)
    facts = read_crop_facts(root, fact_columns())
    recipes, lost = read_recipes(
        root, _library(facts), read_media(root, standard_media()), tuple(pool.name for pool in pools)
    )
    grown = Grown(tuple(dict.fromkeys(recipe.crop for recipe in recipes)), lost)
    products = read_products(root, grown)
    customers = read_customers(root)
    seed = read_seed(root)
    sold = Sold(products, grown, tuple(customer.name for customer in customers))
    standing = read_standing(root, sold)
    orders = read_orders(root, sold)
    supplies = read_supplies(root, grown)
    sensors = read_sensors(root, settings.timezone)
    habits = read_habits(root, settings)
    root.finish()
    _refuse_doubles(root)
    return (
        FarmSet(settings=settings),
        *(PlaceSet(shelf=shelf) for shelf in shelves),
        *(KitSet(pool=pool) for pool in pools),
        *facts,
        *(RecipeSet(recipe=recipe) for recipe in recipes),
        *(ProductSet(product=product) for product in products.values()),
        *(CustomerSet(customer=customer) for customer in customers),
        *seed,
        *(StandingOrderSet(standing=entry) for entry in standing),
        *(OrderPlaced(order=order) for order in orders),
        *supplies,
        *(SensorSet(sensor=sensor) for sensor in sensors),
        *(RecordHabitSet(habit=habit) for habit in habits),
    )


def _library(facts: list[CropFactSet]) -> Library:
    """The library's recipes, with this farm's own figures put before the library's."""
    from trayward.library.crops import crop_names, facts_for
    from trayward.library.recipes import standard_recipe

    said: dict[str, dict[str, Fact]] = {}
    for fact in facts:
        said.setdefault(fact.crop, {})[fact.name] = Fact(value=fact.value, trust="farm", note=fact.note)

    def recipe(crop: str, medium: Medium) -> Recipe:
        if crop not in said and crop not in crop_names():
            raise InputError("crop", crop, "the library knows no such crop", nearest(crop, crop_names()))
        return standard_recipe(crop, medium, facts_for(crop, said))

    return recipe


def _refuse_doubles(root: Table) -> None:
    """Two tables of one kind may not share a name: the second would quietly take the place of the first."""
    for key, label in (
        ("rack", "name"), ("kit", "name"), ("medium", "name"), ("recipe", "name"), ("product", "name"),
        ("customer", "name"), ("seed", "lot"), ("standing", "name"), ("order", "name"),
        ("supply", "name"), ("sensor", "name"),
    ):  # fmt: skip
        tables = root.tables(key)
        counts = Counter(str(table.values.get(label)) for table in tables if label in table.values)
        seen: set[str] = set()
        for table in tables:
            named = str(table.values.get(label))
            if counts[named] > 1 and named in seen:
                table.wrong(label, "another one has that name", "Give each its own name.")
            seen.add(named)


# Ready setups ---------------------------------------------------------------------------------------------------------


@lru_cache(8)
def ready_setup(name: str, *, seed: int = 1) -> tuple[Body, ...]:
    """
    A farm that comes with the package: `shelf` (home), `loft` (Lantern Loft) or `barn` (made from `seed`).

    Read once: what it says does not change while the program runs, and its bodies cannot be changed.

    Raises
    ------
    NotFoundError
        If there is none of that name.
    """
    if name == "barn":
        from trayward.desk.setup.barn import barn_setup

        return barn_setup(seed)
    return read_setup(ready_setup_text(name), name=f"{name}.toml")


def ready_setup_text(name: str) -> str:
    """The text of a ready setup, to start one's own file from. `InputError` for `barn`: it is made from a number."""
    if name == "barn":
        rule = "it is generated from a number when a farm is made of it, so there is no file to show"
        raise InputError(
            "setup", name, rule, "Copy another and change it: trayward init --setup loft --show, or shelf."
        )
    if name not in READY_SETUPS:
        raise NotFoundError("ready setup", name, tuple(ready for ready in READY_SETUPS if ready != "barn"))
    return (files("trayward.desk.setup") / "ready" / f"{name}.toml").read_text(encoding="utf-8")
