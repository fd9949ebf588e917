"""The barn: a large farm made from a seed number, for measuring speed. Everything in it is invented.

1,200 spots, 40 recipes, 120 customers and about 800 order lines a week. The same number always makes the same farm.
"""

from __future__ import annotations

import random
from datetime import date, time

import msgspec

from trayward.farm.entries import (
    Body,
    CustomerSet,
    FarmSet,
    KitSet,
    PlaceSet,
    ProductSet,
    RecipeSet,
    SeedReceived,
    StandingOrderSet,
)
from trayward.farm.kit import Pool
from trayward.farm.orders import Customer, LineAsked, Part, Product, StandingOrder
from trayward.farm.places import Lamp, Shelf
from trayward.farm.recipes import Medium, Recipe, YieldPrior
from trayward.farm.settings import FarmSettings, Money, RoundTime

SPOTS, RECIPES, CUSTOMERS, LINES_A_WEEK = 1200, 40, 120, 800
START = date(2026, 1, 5)
"""Standing orders begin in this week; a Monday."""

_DARK_SHELVES, _LIT_SHELVES, _SPOTS_A_SHELF, _STACK = 33, 84, 8, 2
_DELIVERY_DAYS = ("MO", "TU", "WE", "TH", "FR", "SA")
_MEDIA = (
    Medium(name="mesh mat", reusable=True, aperture_mm=1.0, cost=0.10),
    Medium(name="coir", cost=0.60),
)
_KITCHENS = ("kitchen", "bistro", "canteen", "grocer", "stall", "tavern", "deli", "school kitchen")
_FIRST = (
    "Amber", "Brindle", "Cobalt", "Dapple", "Ember", "Fallow", "Gilded", "Hollow", "Indigo", "Jasper", "Kelp", "Lilac",
    "Mossy", "Nettle", "Ochre",
)  # fmt: skip
_SECOND = ("Badger", "Cricket", "Dormouse", "Egret", "Ferret", "Gosling", "Heron", "Ibis")


def barn_setup(seed: int = 1) -> tuple[Body, ...]:
    """
    A farm of 1,200 spots, as bodies of entries in the order in which the book can take them.

    Parameters
    ----------
    seed : int
        The number everything random is drawn from.

    Returns
    -------
    tuple of Body
        The same for the same number.
    """
    draw = random.Random(seed)
    recipes = _recipes(draw)
    products = _products(draw, recipes)
    customers = _customers(draw)
    return (
        FarmSet(settings=_settings(seed)),
        *(PlaceSet(shelf=shelf) for shelf in _shelves()),
        *(KitSet(pool=pool) for pool in _pools()),
        *(RecipeSet(recipe=recipe) for recipe in recipes),
        *(ProductSet(product=product) for product in products),
        *(CustomerSet(customer=customer) for customer in customers),
        *_seed_lots(draw, recipes),
        *(StandingOrderSet(standing=standing) for standing in _standing(draw, products, customers)),
    )


def _settings(seed: int) -> FarmSettings:
    return FarmSettings(
        name=f"Barn {seed}",
        timezone="Europe/Dublin",
        rounds=(RoundTime(name="morning", at=time(6, 0)), RoundTime(name="evening", at=time(18, 0))),
        work_minutes=(1900.0, 1900.0, 1900.0, 1900.0, 1900.0, 1300.0, 0.0),
        money=Money(currency="EUR", wage_h=15.0, energy_kwh=0.30, packaging=0.20, disposal_kg=0.12),
    )


def _shelves() -> list[Shelf]:
    """Dark shelves first, then lit ones, five shelves a rack, ten racks a room."""
    lamp = Lamp(count=4, watts=36.0, umol_s=92.0, hours=16.0)
    made = []
    for number in range(_DARK_SHELVES + _LIT_SHELVES):
        dark = number < _DARK_SHELVES
        rack, level = f"{'D' if dark else 'L'}{number // 5 + 1:02d}-", number % 5 + 1
        made.append(
            Shelf(
                name=f"{rack}{level}",
                rack=rack.rstrip("-"),
                room=f"room {number // 50 + 1}",
                kind="dark" if dark else "lit",
                spots=_SPOTS_A_SHELF,
                stack=_STACK if dark else 1,
                order=number + 1,
                lamp=None if dark else lamp,
            )
        )
    return made


def _pools() -> list[Pool]:
    return [
        Pool(name="mesh tray", count=940, dry_hours=8.0, sanitise=True, wear=0.04),
        Pool(name="mesh mat", count=920, dry_hours=20.0, minutes_wash=0.5, sanitise=True),
        Pool(name="solid tray", count=960, dry_hours=8.0, sanitise=True, wear=0.03),
        Pool(name="cover", count=330, dry_hours=8.0, wear=0.02),
    ]


# Crops ----------------------------------------------------------------------------------------------------------------


def _recipes(draw: random.Random) -> list[Recipe]:
    """The library's recipes on mats, then on coir, until there are enough; the barn's own yield where one is blank."""
    from trayward.errors import InputError
    from trayward.library.crops import crop_names
    from trayward.library.recipes import standard_recipe

    made: list[Recipe] = []
    for medium in _MEDIA:
        for crop in crop_names():
            try:
                recipe = standard_recipe(crop, medium)
            except InputError:
                continue  # the library lacks figures for this crop, so the barn does not grow it
            made.append(msgspec.structs.replace(recipe, yield_prior=_yield(draw, made, recipe), **_FAST_HANDS))
    return made[:RECIPES]


_FAST_HANDS = {"minutes_sow": 4.0, "minutes_look": 0.1, "minutes_cut": 6.0, "minutes_wash": 2.5}
"""A barn has benches and machines. [min]"""


def _yield(draw: random.Random, made: list[Recipe], recipe: Recipe) -> YieldPrior:
    """An invented yield, the same for every medium the crop grows on, so that the farm is complete."""
    for other in made:
        if other.crop == recipe.crop:
            return other.yield_prior
    typical = recipe.yield_prior.typical_g or draw.uniform(110.0, 200.0)
    typical = round(typical * draw.uniform(0.8, 0.95))
    return YieldPrior(
        low_g=round(typical * 0.8), typical_g=float(typical), high_g=round(typical * 1.22), source="invented"
    )


def _seed_lots(draw: random.Random, recipes: list[Recipe]) -> list[SeedReceived]:
    from trayward.library.crops import library_facts

    lots = []
    for number, crop in enumerate(dict.fromkeys(recipe.crop for recipe in recipes), start=1):
        tsw = library_facts(crop).number("tsw_g_typ") or 1.0
        lots.append(
            SeedReceived(
                lot=f"B{number:02d}-1",
                crop=crop,
                grams=round(3000.0 * tsw + 8000.0),
                germination=round(draw.uniform(0.84, 0.96), 2),
                tsw_g=round(tsw * draw.uniform(0.95, 1.05), 3),
                cost=round(draw.uniform(80.0, 400.0), 2),
            )
        )
    return lots


# Selling --------------------------------------------------------------------------------------------------------------


def _products(draw: random.Random, recipes: list[Recipe]) -> list[Product]:
    """Every crop loose, some in packs, six mixes and four live trays."""
    crops = list(dict.fromkeys(recipe.crop for recipe in recipes))
    prices = {crop: round(draw.uniform(2.8, 6.5), 2) for crop in crops}
    loose = [Product(name=crop, parts=(Part(crop=crop),), price=prices[crop]) for crop in crops]
    packs = [
        Product(
            name=f"{crop} pack",
            parts=(Part(crop=crop),),
            pack_g=50.0,
            price=round(prices[crop] * 0.6, 2),
            price_per="pack",
        )
        for crop in crops[:12]
    ]
    live = [
        Product(name=f"live {crop} tray", parts=(Part(crop=crop),), live=True, price=16.0, price_per="tray")
        for crop in ("pea", "radish", "sunflower", "broccoli")
    ]
    return [*loose, *packs, *(_mix(draw, crops, number) for number in range(1, 7)), *live]


def _mix(draw: random.Random, crops: list[str], number: int) -> Product:
    parts = tuple(Part(crop=crop, share=share) for crop, share in zip(draw.sample(crops, 3), _SHARES, strict=True))
    return Product(name=f"barn mix {number}", parts=parts, pack_g=60.0, price=3.2, price_per="pack")


_SHARES = (0.5, 0.3, 0.2)


def _customers(draw: random.Random) -> list[Customer]:
    names = [f"{first} {second} {draw.choice(_KITCHENS)}" for first in _FIRST for second in _SECOND]
    return [Customer(name=name, weight=draw.choice((0.7, 1.0, 1.0, 1.5))) for name in names[:CUSTOMERS]]


def _standing(draw: random.Random, products: list[Product], customers: list[Customer]) -> list[StandingOrder]:
    """Deliveries on one to three days a week for every customer, until there are lines enough for a week."""
    made: list[StandingOrder] = []
    lines = 0
    while lines < LINES_A_WEEK:
        customer = customers[len(made) % len(customers)]
        taken = {standing.rule for standing in made if standing.customer == customer.name}
        days = [day for day in _DELIVERY_DAYS if f"FREQ=WEEKLY;BYDAY={day}" not in taken]
        wanted = min(draw.randint(2, 5), LINES_A_WEEK - lines)
        chosen = draw.sample(products, wanted)
        made.append(
            StandingOrder(
                standing=f"b{len(made) + 1:03d}",
                customer=customer.name,
                start=START,
                rule=f"FREQ=WEEKLY;BYDAY={draw.choice(days)}",
                lines=tuple(_line(draw, number, product) for number, product in enumerate(chosen, start=1)),
            )
        )
        lines += wanted
    return made


def _line(draw: random.Random, number: int, product: Product) -> LineAsked:
    if product.live:
        return LineAsked(line=str(number), product=product.name, quantity=1.0, unit="trays")
    if product.pack_g is not None:
        return LineAsked(line=str(number), product=product.name, quantity=float(draw.randint(1, 2)), unit="packs")
    grams = float(draw.randrange(20, 81, 10))
    return LineAsked(line=str(number), product=product.name, quantity=grams, unit="g")
