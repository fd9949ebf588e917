"""A farm's first setup from a few plain answers: the same bodies of entries that a setup file gives."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, time
from functools import cache

import msgspec

from trayward.desk.naming import letters
from trayward.errors import InputError
from trayward.farm.entries import Body, CustomerSet, FarmSet, KitSet, PlaceSet, RecipeSet, SeedReceived
from trayward.farm.kit import Pool
from trayward.farm.orders import Customer
from trayward.farm.places import Lamp, Shelf
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings, Money, RoundTime, ShownUnits

QUICK_DAYS, SLOW_DAYS = 9.0, 15.0
"""Up to so many days from seed to cut a crop is called quick, from so many on slow: our choice. [d]"""
SPARE = 1.2
"""Trays and mats proposed for each spot, so that some may be in the wash: our choice. [-]"""
DRY_HOURS = {"mesh mat": 24.0}
"""From washing to the next use, common practice, no source; all else `TRAY_DRY_HOURS`. [h]"""
TRAY_DRY_HOURS = 6.0
GROWN_FIRST = ("broccoli", "radish")
"""Proposed to begin with: neither needs a soak, and both are ready soon."""


class CropOffered(msgspec.Struct, frozen=True, kw_only=True):
    """A crop that can be grown from the library alone, as it is offered to who begins."""

    crop: str
    days: float
    """From the first wetting to the cut, likely. [d]"""
    yield_g: float | None
    """Likely from a tray; None where nothing is published. [g]"""
    seed_g: float | None
    """On a tray, for an ordinary lot; None where the library does not know. [g]"""
    soak_h: float
    gels: bool
    """Its wetted seed makes a gel."""

    @property
    def pace(self) -> str:
        """quick, slow, or neither."""
        return "quick" if self.days <= QUICK_DAYS else "slow" if self.days >= SLOW_DAYS else ""


class FirstPlaces(msgspec.Struct, frozen=True, kw_only=True):
    """Racks that are all alike; one shelf at home is one of them."""

    racks: int = 1
    dark: int = 1
    """Dark shelves of a rack, the first ones."""
    dark_spots: int
    lit: int = 1
    """Lit shelves of a rack."""
    lit_spots: int
    stack: int = 1
    """How many trays high a dark shelf takes."""
    lamp: Lamp | None = None
    """Over each lit shelf; None: daylight."""
    room: str = ""


class FirstSeed(msgspec.Struct, frozen=True, kw_only=True):
    """Seed that is here, or that comes on a day. [g]"""

    crop: str
    grams: float
    germination: float | None = None
    tsw_g: float | None = None
    comes: date | None = None


class FirstFarm(msgspec.Struct, frozen=True, kw_only=True):
    """Everything that is asked before the first sowing."""

    name: str
    timezone: str = "UTC"
    units: ShownUnits = ShownUnits()
    currency: str = "EUR"
    energy_kwh: float = 0.0
    """[currency/kWh]"""
    places: FirstPlaces
    medium: str = "mesh mat"
    kit: tuple[tuple[str, int], ...]
    crops: tuple[str, ...]
    seed: tuple[FirstSeed, ...] = ()
    morning: time = time(7, 0)
    evening: time | None = time(19, 0)
    """None: one look a day."""
    work_minutes: float = 60.0
    days_off: tuple[int, ...] = ()
    """Weekdays without work, Monday is 0."""
    sells: bool = False
    customer: str = ""
    """The first one, where somebody buys; empty: none yet."""


@cache
def crops_offered(medium: str) -> tuple[CropOffered, ...]:
    """The crops that the library alone can grow on a medium, the soonest ready first."""
    from trayward.library.crops import crop_names, library_facts
    from trayward.library.recipes import recipe_gaps, standard_recipe

    names = [crop for crop in crop_names() if not recipe_gaps(library_facts(crop))]
    found = [_offered(standard_recipe(crop, medium)) for crop in names]
    return tuple(sorted(found, key=lambda offered: (offered.days, offered.crop)))


def _offered(recipe: Recipe) -> CropOffered:
    from trayward.farm.density import seed_for_tray
    from trayward.library.crops import library_facts

    facts = library_facts(recipe.crop)
    return CropOffered(
        crop=recipe.crop,
        days=sum(stage.days_typical for stage in recipe.stages[:-1]),
        yield_g=recipe.yield_prior.typical_g,
        seed_g=seed_for_tray(recipe, facts, None).grams,
        soak_h=recipe.soak_h,
        gels=facts.text("mucilaginous") == "yes",
    )


def first_shelves(places: FirstPlaces) -> tuple[Shelf, ...]:
    """Every shelf of racks that are alike, in walking order; the dark ones are each rack's first."""
    return tuple(
        _shelf(places, letters(rack), number, rack * (places.dark + places.lit) + number)
        for rack in range(places.racks)
        for number in range(1, places.dark + places.lit + 1)
    )


def _shelf(places: FirstPlaces, rack: str, number: int, order: int) -> Shelf:
    dark = number <= places.dark
    return Shelf(
        name=f"{rack}{number}",
        rack=rack,
        room=places.room,
        kind="dark" if dark else "lit",
        spots=places.dark_spots if dark else places.lit_spots,
        stack=places.stack if dark else 1,
        order=order,
        lamp=None if dark else places.lamp,
    )


def kit_proposed(places: FirstPlaces, medium: str) -> tuple[tuple[str, int], ...]:
    """How many trays, mats and covers such racks use when they are full, with some in the wash."""
    from trayward.library.recipes import standard_recipe

    dark = places.racks * places.dark * places.dark_spots * places.stack
    spots = dark + places.racks * places.lit * places.lit_spots
    full = math.ceil(SPARE * spots)
    pools = [need.pool for need in standard_recipe(GROWN_FIRST[0], medium).kit]
    return tuple((pool, math.ceil(SPARE * dark) if pool == "cover" else full) for pool in pools)


def first_setup(farm: FirstFarm) -> tuple[Body, ...]:
    """
    What the answers say, as bodies of entries in the order in which the book can take them.

    Raises
    ------
    InputError
        If there is nothing to grow, or seed of a crop that is not grown.
    """
    from trayward.library.recipes import standard_recipe

    if not farm.crops:
        raise InputError("crops", "none", "a farm grows something", "Choose at least one crop.")
    for seed in farm.seed:
        if seed.crop not in farm.crops:
            raise InputError("seed", seed.crop, "this farm does not grow it", "Choose the crop, or leave its seed out.")
    return (
        FarmSet(settings=_settings(farm)),
        *(PlaceSet(shelf=shelf) for shelf in first_shelves(farm.places)),
        *(KitSet(pool=_pool(name, count)) for name, count in farm.kit),
        *(RecipeSet(recipe=standard_recipe(crop, farm.medium)) for crop in farm.crops),
        *(CustomerSet(customer=customer) for customer in _customers(farm)),
        *(_lot(seed) for seed in farm.seed),
    )


def _settings(farm: FirstFarm) -> FarmSettings:
    rounds = [RoundTime(name="morning", at=farm.morning)]
    if farm.evening is not None:
        if farm.evening <= farm.morning:
            rule = "comes before the morning's"
            raise InputError("evening", f"{farm.evening:%H:%M}", rule, "Say a later time, or leave it empty.")
        rounds.append(RoundTime(name="evening", at=farm.evening))
    return FarmSettings(
        name=farm.name,
        timezone=farm.timezone,
        sells=farm.sells,
        units=farm.units,
        rounds=tuple(rounds),
        work_minutes=work_week(farm.work_minutes, farm.days_off),
        money=Money(currency=farm.currency, energy_kwh=farm.energy_kwh),
    )


def work_week(minutes: float, days_off: Sequence[int]) -> tuple[float, float, float, float, float, float, float]:
    """The same minutes every day, none on the weekdays off (Monday is 0). [min]"""
    mon, tue, wed, thu, fri, sat, sun = (0.0 if day in days_off else minutes for day in range(7))
    return mon, tue, wed, thu, fri, sat, sun


def _pool(name: str, count: int) -> Pool:
    return Pool(name=name, count=count, dry_hours=DRY_HOURS.get(name, TRAY_DRY_HOURS))


def _customers(farm: FirstFarm) -> tuple[Customer, ...]:
    if not farm.sells:
        return (Customer(name="home", home=True),)
    return (Customer(name=farm.customer),) if farm.customer else ()


def _lot(seed: FirstSeed) -> SeedReceived:
    return SeedReceived(
        lot=f"{seed.crop} 1",
        crop=seed.crop,
        grams=seed.grams,
        germination=seed.germination,
        tsw_g=seed.tsw_g,
        expected_on=seed.comes,
    )
