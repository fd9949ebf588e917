"""The invented farm that benchmark books are written about: its shelves, kit, recipes, seed and customers.

Numbers here are made for measuring speed, not for growing: they are plausible, and nobody should sow by them.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Final

from trayward.farm.entries import Body, CustomerSet, FarmSet, KitSet, PlaceSet, RecipeSet, StandingOrderSet
from trayward.farm.kit import Pool
from trayward.farm.orders import Customer, LineAsked, StandingOrder
from trayward.farm.places import Lamp, Shelf
from trayward.farm.recipes import KitNeed, Medium, Recipe, Stage, YieldPrior
from trayward.farm.settings import FarmSettings

STACK: Final = 2
"""How many trays stand on each other on a dark shelf."""
SHELF_SPOTS: Final = 8
WEEKDAYS: Final = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
WORKING_DAYS: Final = 5

CROPS: Final = (
    # crop, thousand-seed weight [g], live seeds per cm2, germination, light days, grams a tray, soaked
    ("broccoli", 3.15, 4.4, 0.93, 4.5, 290.0, False),
    ("radish", 12.0, 2.0, 0.95, 3.5, 340.0, False),
    ("pea", 139.9, 1.0, 0.92, 6.0, 380.0, True),
    ("kale", 3.3, 4.2, 0.92, 5.0, 260.0, False),
    ("sunflower", 38.8, 2.0, 0.9, 5.0, 420.0, True),
    ("mustard", 2.9, 4.0, 0.92, 4.0, 240.0, False),
    ("red cabbage", 3.95, 3.8, 0.9, 5.5, 250.0, False),
    ("cress", 2.1, 5.0, 0.94, 3.5, 230.0, False),
    ("mizuna", 2.1, 4.5, 0.93, 5.0, 230.0, False),
    ("arugula", 1.9, 4.5, 0.92, 5.5, 210.0, False),
)
MEDIA: Final = (
    Medium(name="mesh mat", reusable=True, aperture_mm=0.8, cost=0.05),
    Medium(name="coir", cost=0.45),
    Medium(name="hemp", cost=0.6),
    Medium(name="soil", cost=0.3),
)
KIT_EACH: Final = {"grow trays": 1, "base trays": 1, "covers": 1}
COVERED: Final = ("germinate", "blackout")


def settings() -> FarmSettings:
    """The farm itself: hands enough that work time is no limit of the record."""
    return FarmSettings(name="Measuring Field", timezone="Europe/Berlin", work_minutes=(480.0,) * 6 + (120.0,))


def shelves(spots: int) -> list[Shelf]:
    """Two fifths of the spots dark, in stacks, the rest lit; eight floor positions a shelf. [spots]"""
    dark_positions = max(1, round(spots * 0.4 / STACK))
    lit_positions = max(1, spots - dark_positions * STACK)
    return [*shelves_of("D", dark_positions, order=0), *shelves_of("L", lit_positions, order=1000)]


def shelves_of(rack: str, positions: int, order: int) -> Iterator[Shelf]:
    """Shelves of one kind until there are that many floor positions."""
    lit = rack == "L"
    for number, first in enumerate(range(0, positions, SHELF_SPOTS), 1):
        yield Shelf(
            name=f"{rack}{number}",
            rack=rack,
            room="hall",
            kind="lit" if lit else "dark",
            spots=min(SHELF_SPOTS, positions - first),
            stack=1 if lit else STACK,
            order=order + number,
            lamp=Lamp(count=4, watts=20.0) if lit else None,
        )


def pools(spots: int) -> list[Pool]:
    """Kit for half as many trays again as there are spots, so that washing is never the limit."""
    count = spots + spots // 2 + 8
    return [Pool(name=name, count=count * each, dry_hours=10.0) for name, each in KIT_EACH.items()]


def stage(name: str, days: float, **rest: object) -> Stage:
    """A stage whose length spreads by a fifth either way."""
    whole = {"name": name, "days_low": days * 0.8, "days_typical": days, "days_high": days * 1.2, **rest}
    return Stage(**whole)  # type: ignore[arg-type]


def stages(light_days: float, soaked: bool) -> tuple[Stage, ...]:
    """The usual stages of a tray, with soaking first where the seed wants it."""
    soak = (stage("soak", 0.5, ground="bench", cue="Soaked through?", water="soak"),) if soaked else ()
    dark = {"ground": "dark", "stack": STACK}
    return (
        *soak,
        stage("germinate", 2.5, cue="More shoot than seed?", cover="weight", weight_g=1500.0, water="mist", **dark),
        stage("blackout", 1.0, cue="Tall and straight?", cover="blackout", water="mist", **dark),
        stage("light", light_days, ground="lit", cue="Canopy closed?", water="below", water_ml=400.0),
        stage("ready", 2.0, ground="lit", water="below", water_ml=300.0),
    )


def recipe(number: int) -> Recipe:
    """Recipe `number` from 0: the crops in turn, first all on the first medium, then on the next."""
    crop, _, density, _, light_days, grams, soaked = CROPS[number % len(CROPS)]
    medium = MEDIA[number // len(CROPS) % len(MEDIA)]
    kit = tuple(KitNeed(pool=name, stages=COVERED if name == "covers" else ()) for name in KIT_EACH)
    return Recipe(
        name=f"{crop} on {medium.name}",
        crop=crop,
        medium=medium,
        stages=stages(light_days, soaked),
        live_seeds_per_cm2=density,
        soak_h=8.0 if soaked else 0.0,
        kit=kit,
        yield_prior=YieldPrior(low_g=grams * 0.7, typical_g=grams, high_g=grams * 1.3, source="made for measuring"),
    )


def facts_of(crop: str) -> tuple[float, float]:
    """Thousand-seed weight [g] and share that sprouts [-] of a crop's seed."""
    return next((weight, germination) for name, weight, _, germination, *_ in CROPS if name == crop)


def seed_grams(recipe: Recipe) -> float:
    """Seed for one tray. [g]"""
    weight, germination = facts_of(recipe.crop)
    return recipe.live_seeds_per_cm2 * recipe.tray.area_cm2 / germination * weight / 1000.0


def recipe_count(spots: int) -> int:
    """Four recipes for a shelf at home, fourteen for a loft, forty for a barn."""
    return 4 if spots < 50 else 14 if spots < 400 else 40


def customers(spots: int) -> list[Customer]:
    """One customer for every ten spots, and a table of one's own."""
    return [Customer(name="own table", home=True), *(Customer(name=f"customer {n}") for n in range(1, spots // 10 + 1))]


def standing_orders(spots: int, start: date) -> list[StandingOrder]:
    """A weekly order of three lines for every customer, spread over the working week, of crops that are grown."""
    grown = [crop for crop, *_ in CROPS[: recipe_count(spots)]]
    return [
        StandingOrder(
            standing=f"W{number}",
            customer=customer.name,
            start=start,
            rule=f"FREQ=WEEKLY;BYDAY={WEEKDAYS[number % WORKING_DAYS]}",
            lines=tuple(
                LineAsked(line=str(line), product=grown[(number + line) % len(grown)], quantity=300.0)
                for line in range(1, 4)
            ),
        )
        for number, customer in enumerate(customers(spots))
    ]


def set_up(spots: int, start: date) -> list[Body]:
    """What is said once, before the first tray is sown."""
    return [
        FarmSet(settings=settings()),
        *(PlaceSet(shelf=shelf) for shelf in shelves(spots)),
        *(KitSet(pool=pool) for pool in pools(spots)),
        *(RecipeSet(recipe=recipe(number)) for number in range(recipe_count(spots))),
        *(CustomerSet(customer=customer) for customer in customers(spots)),
        *(StandingOrderSet(standing=order) for order in standing_orders(spots, start)),
    ]
