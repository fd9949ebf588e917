"""Every kind of entry reads as a sentence, and a change of the setup as what is different."""

from __future__ import annotations

import doctest
from datetime import date, datetime, time, timedelta
from importlib import import_module
from random import Random
from typing import Any

import msgspec
import pytest

from tests.contract.telling import every_kind
from tests.rounds.loft import BROCCOLI, lantern_loft
from trayward.farm.entries import (
    CropFactSet,
    Cut,
    Delivered,
    KitSet,
    LineDelivered,
    LotGrams,
    PackCount,
    PlaceSet,
    RecipeSet,
    RoundAnswered,
    SowingMade,
    Struck,
    TrayCut,
    Watered,
)
from trayward.farm.kit import Pool
from trayward.farm.orders import Customer, LineAsked, Order, Part, Pause, Product, StandingOrder
from trayward.farm.places import Lamp, Shelf
from trayward.farm.recipes import YieldPrior
from trayward.farm.settings import FarmSettings, FarmWater, GS1Item, Overhead, ShownUnits
from trayward.rounds.change_words import change_words
from trayward.rounds.entries.words import entry_words
from trayward.rounds.traits import differences, told, traits_of

METRIC = ShownUnits()
US = ShownUnits(mass="oz", volume="cup", length="in", temperature="F")
SHELF = Shelf(name="K1", rack="K", room="kitchen", kind="lit", spots=4, order=2, lamp=Lamp(count=2, watts=24.0))
LINE = LineAsked(line="broccoli", product="broccoli", quantity=95.0)


@pytest.mark.parametrize("module", ["entries.words", "entries.sensors", "words"])
def test_the_examples_in_the_docstrings_hold(module: str) -> None:
    result = doctest.testmod(import_module(f"trayward.rounds.{module}"))
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize("units", [METRIC, US])
def test_every_kind_of_entry_reads_as_words_and_not_as_its_fields(units: ShownUnits) -> None:
    for entry in every_kind(Random(7), times=5):
        assert entry_words(entry.body, units) != entry.kind, f"{entry.kind} has no words of its own"


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (
            RoundAnswered(trays=("S.1", "S.2"), moisture="moist", cue="not yet", share_emerged=0.8, height_mm=25.4),
            "S.1 and S.2 looked at: moist, not yet, 80% up, 1 in tall",
        ),
        (Watered(trays=("S.1", "S.2"), ml=60.0), "S.1 and S.2 watered below, 1/4 cup each"),
        (
            Cut(harvest="H1", crop="pea", trays=(TrayCut(tray="S.1", grams=453.6), TrayCut(tray="S.2", grams=28.35))),
            "H1 cut: 1.06 lb of pea from S.1 1 lb and S.2 1 oz",
        ),
        (
            Delivered(
                delivery="D1",
                customer="Kite Cafe",
                lines=(
                    LineDelivered(line="O1/pea", packs=(PackCount(pack="P1", packs=2),)),
                    LineDelivered(line="O1/radish", loose=(LotGrams(harvest="H2", grams=56.7),)),
                ),
            ),
            "D1 delivered to Kite Cafe: O1/pea: 2 packs of P1; O1/radish: 2 oz of H2",
        ),
        (Struck(entry="abcd", reason="wrong tray"), "took entry abcd back: wrong tray"),
        (
            SowingMade(sowing="S", recipe="pea on coir", trays=(), lots=()),
            "S sown: 0 trays of pea on coir, on the bench",
        ),
    ],
)
def test_an_entry_says_who_or_what_and_how_much_in_the_farms_units(body: Any, words: str) -> None:
    assert entry_words(body, US) == words


# What changes ---------------------------------------------------------------------------------------------------------


def test_a_shelf_with_more_spots_says_how_many_instead_of_how_many() -> None:
    loft = lantern_loft()
    known = loft.state.shelves["A1"]
    wider = msgspec.structs.replace(known, spots=known.spots + 2)
    said = change_words(loft.state, PlaceSet(shelf=wider), METRIC)
    assert said == f"Shelf A1: {known.spots + 2} spots instead of {known.spots}."


def test_what_is_new_is_told_whole_and_what_is_gone_is_said() -> None:
    state = lantern_loft().state
    assert change_words(state, KitSet(pool=Pool(name="lid", count=3)), METRIC) == (
        "New kit lid: 3 in all, dry 12 h after washing, washed only."
    )
    dark = msgspec.structs.replace(SHELF, lamp=None)
    assert differences(traits_of(SHELF, METRIC), traits_of(dark, METRIC)) == ["lamp: none any more"]
    assert differences(traits_of(dark, METRIC), traits_of(SHELF, METRIC)) == ["now lamp: 2 lamps of 24 W, 16 h a day"]
    assert change_words(state, PlaceSet(shelf=msgspec.structs.replace(SHELF, spots=0)), METRIC) == "Shelf K1 is closed."
    fact = CropFactSet(crop="broccoli", name="tsw_g_typ", value=3.3)
    assert change_words(state, fact, METRIC) == "Crop figure tsw_g_typ of broccoli is 3.3 on this farm."


def test_a_recipe_says_which_stage_takes_longer() -> None:
    loft = lantern_loft()
    light = msgspec.structs.replace(BROCCOLI.stages[2], days_low=3.0, days_typical=4.0, days_high=5.0)
    slower = msgspec.structs.replace(BROCCOLI, stages=(*BROCCOLI.stages[:2], light, BROCCOLI.stages[3]))
    before = loft.state.recipes[BROCCOLI.name].stages[2]
    assert change_words(loft.state, RecipeSet(recipe=slower), METRIC) == (
        f"Recipe broccoli on mesh mat: light 3 to 5 days, mostly 4 instead of {before.days_low:g} to "
        f"{before.days_high:g} days, mostly {before.days_typical:g}."
    )
    shorter = msgspec.structs.replace(BROCCOLI, stages=(BROCCOLI.stages[0], *BROCCOLI.stages[2:]))
    said = change_words(loft.state, RecipeSet(recipe=shorter), METRIC)
    assert said.startswith(
        "Recipe broccoli on mesh mat: stages germinate, light, ready instead of germinate, blackout,"
    )


SAYS_ITSELF = {
    # How a thing is found again, and what is there for programs only.
    "Shelf": ("name",),
    "Pool": ("name",),
    "Product": ("name",),
    "Customer": ("name",),
    "Order": ("order", "source"),
    "StandingOrder": ("standing",),
    "Recipe": ("name",),
    "Stage": ("name",),
    "LineAsked": ("line",),
}

WATER = FarmWater(ph=7.6, alkalinity_meq=3.6, acid="citric 50 %", feed="leaf feed", feed_ec_ds_m=(1.0, 1.4))
THINGS = [
    SHELF,
    Pool(name="mesh mat", count=4),
    Product(
        name="mix",
        parts=(Part(crop="pea", share=0.4), Part(crop="radish", share=0.6)),
        pack_g=50.0,
        price=3.5,
        price_per="pack",
    ),
    Customer(name="Kite Cafe"),
    Order(order="O1", customer="Kite Cafe", due=date(2026, 12, 4), lines=(LINE,)),
    StandingOrder(standing="kite", customer="Kite Cafe", start=date(2026, 12, 4), rule="FREQ=WEEKLY", lines=(LINE,)),
    BROCCOLI,
    FarmSettings(name="Lantern Loft"),
    FarmSettings(name="Lantern Loft", water=WATER),
]


@pytest.mark.parametrize("thing", THINGS, ids=lambda thing: type(thing).__name__)
def test_whatever_a_setup_changes_of_a_thing_is_told(thing: Any) -> None:
    """Each field is changed by itself; none of them may go by unsaid."""
    for path, other in _changed_by_one_field(thing):
        assert differences(traits_of(thing, METRIC), traits_of(other, METRIC)), f"a change of {path} is not told"
        assert told(traits_of(other, METRIC))


def _changed_by_one_field(thing: Any, path: str = "") -> list[tuple[str, Any]]:
    found: list[tuple[str, Any]] = []
    for field in msgspec.structs.fields(type(thing)):
        if field.name in SAYS_ITSELF.get(type(thing).__name__, ()):
            continue
        value = getattr(thing, field.name)
        for where, other in _others(field.name, value):
            found.append((f"{path}{where}", msgspec.structs.replace(thing, **{field.name: other})))
    return found


INSTEAD: dict[str, Any] = {
    "kind": "dark", "ground": "bench", "cover": "weight", "water": "mist", "price_per": "100 g", "unit": "packs",
    "rule": "FREQ=DAILY", "mass": "oz", "volume": "cup", "temperature": "F", "length": "in", "timezone": "UTC+1",
    "except_on": (date(2026, 12, 25),), "also_on": (date(2026, 12, 24),), "days_off": (date(2026, 12, 25),),
    "pauses": (Pause(first=date(2026, 12, 24), last=date(2026, 12, 31)),), "umol_s": 60.0, "aperture_mm": 1.5,
    "base_c": 4.0, "at_c": 24.0, "pack_g": 60.0, "price": 4.0, "stages": ("blackout",), "at": time(8, 0),
    "address": ("Under the Roof 1",), "gs1_items": (GS1Item(product="pea", item="0001"),),
    "steps": ("scrape", "rinse warm"), "rinse_c": 60.0, "ppm_least": 50.0, "ppm_most": 200.0, "contact_min": 2.0,
    "water_least_c": 10.0, "water_most_c": 40.0,
    "overheads": (Overhead(name="rent", month=300.0),),
    "to": ("ada@lantern-loft.example",), "top_mm": 12.0, "low_g": 80.0, "typical_g": 95.0, "high_g": 115.0,
}  # fmt: skip


def _others(name: str, value: Any) -> list[tuple[str, Any]]:
    """Other values of a field, each different in one thing."""
    if isinstance(value, msgspec.Struct):
        if isinstance(value, YieldPrior) and value.typical_g is None:
            return []
        return _changed_by_one_field(value, f"{name}.")
    if isinstance(value, tuple) and value and isinstance(value[0], msgspec.Struct):
        rest = [(f"{name}[1:]", value[1:])]
        return rest + [(where, (one, *value[1:])) for where, one in _changed_by_one_field(value[0], f"{name}[0].")]
    if isinstance(value, bool):
        return [(name, not value)]
    if isinstance(value, datetime | date):
        return [(name, value + timedelta(days=1))]
    if name == "water" and value is None:
        return [(name, WATER)]
    if name in INSTEAD:
        return [(name, INSTEAD[name])] if INSTEAD[name] != value else []
    if isinstance(value, int | float):
        return [(name, value + 1)]
    if isinstance(value, tuple):
        return [(name, (*value[:-1], value[-1] + 1))]
    if isinstance(value, str):
        return [(name, f"{value}x")]
    raise AssertionError(f"{name} = {value!r} is not changed by this test")
