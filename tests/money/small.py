"""A farm small enough to reckon by hand: two crops, a dark and a lit shelf, two customers."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

from trayward import Farm
from trayward.farm.entries import Body, CustomerSet, FarmSet, KitSet, PlaceSet, ProductSet, RecipeSet, SeedReceived
from trayward.farm.kit import Pool
from trayward.farm.orders import Customer, LineAsked, Part, Product
from trayward.farm.places import Lamp, Shelf
from trayward.farm.recipes import KitNeed, Medium, Recipe, Stage
from trayward.farm.settings import FarmSettings, Money, RoundTime

MONDAY = date(2026, 11, 2)
CAFE, DINER = "Corner Cafe", "Harbour Diner"
MONEY = Money(currency="EUR", wage_h=12.0, energy_kwh=0.30, packaging=0.20, disposal_kg=0.50)


def on(day: int, hour: float = 8.0) -> datetime:
    """A moment so many days after the farm began."""
    return datetime.combine(MONDAY, time(0), tzinfo=UTC) + timedelta(days=day, hours=hour)


def recipe(crop: str) -> Recipe:
    """Three days in the dark, three in the light."""
    return Recipe(
        name=crop,
        crop=crop,
        medium=Medium(name="mat", cost=0.15),
        stages=(
            Stage(name="germinate", days_low=2, days_typical=3, days_high=4, ground="dark", stack=2),
            Stage(name="light", days_low=2, days_typical=3, days_high=4, ground="lit", minutes=2.0),
            Stage(name="ready", days_low=1, days_typical=2, days_high=3, ground="lit"),
        ),
        live_seeds_per_cm2=1.0,
        kit=(KitNeed(pool="tray"),),
        minutes_sow=5.0,
        minutes_look=0.5,
        minutes_cut=10.0,
        minutes_wash=4.0,
    )


def bodies(money: Money = MONEY) -> tuple[Body, ...]:
    """The farm."""
    settings = FarmSettings(
        name="Lantern Loft",
        money=money,
        rounds=(RoundTime(name="morning", at=time(7)), RoundTime(name="evening", at=time(19))),
    )
    lamp = Lamp(count=2, watts=30.0, hours=16.0)
    return (
        FarmSet(settings=settings),
        PlaceSet(shelf=Shelf(name="D1", rack="D", room="loft", kind="dark", spots=4, stack=2)),
        PlaceSet(shelf=Shelf(name="L1", rack="L", room="loft", kind="lit", spots=4, lamp=lamp)),
        PlaceSet(shelf=Shelf(name="L2", rack="L", room="loft", kind="lit", spots=4, lamp=lamp)),
        KitSet(pool=Pool(name="tray", count=40, wear=0.05)),
        RecipeSet(recipe=recipe("pea")),
        RecipeSet(recipe=recipe("radish")),
        ProductSet(product=Product(name="pea", parts=(Part(crop="pea"),), price=3.0)),
        ProductSet(
            product=Product(name="radish", parts=(Part(crop="radish"),), pack_g=50.0, price=2.25, price_per="pack")
        ),
        CustomerSet(customer=Customer(name=CAFE)),
        CustomerSet(customer=Customer(name=DINER)),
        SeedReceived(lot="P1", crop="pea", grams=5000.0, cost=20.0, germination=0.9, tsw_g=200.0),
        SeedReceived(lot="R1", crop="radish", grams=1000.0, cost=18.0, germination=0.9, tsw_g=12.0),
    )


def farm_made(money: Money = MONEY) -> Farm:
    """The farm with an empty book but for its setup."""
    return Farm.create(":memory:", bodies(money), at=on(0, 6))


def grown(farm: Farm, crop: str, trays: int, grams: float, *, cut_on: int = 7, sown_on: int = 0) -> str:
    """Trays sown, turned on days 3 and 6 after, and cut; the harvest lot."""
    said = farm.sow(crop, trays, grams_per_tray=250.0 if crop == "pea" else 30.0, at=on(sown_on), sure=True)
    names = said.names[1:]
    farm.begin(names, "light", at=on(sown_on + 3), sure=True)
    farm.begin(names, "ready", at=on(sown_on + 6), sure=True)
    return farm.cut(dict.fromkeys(names, grams / trays), at=on(cut_on, 9), sure=True).names[0]


def ordered(
    farm: Farm,
    customer: str,
    product: str,
    quantity: float,
    *,
    due: int = 7,
    unit: str = "g",
    price: float | None = None,
) -> str:
    """An order of one line; the order."""
    line = LineAsked(line="1", product=product, quantity=quantity, unit=unit, price=price)  # type: ignore[arg-type]
    return farm.place_order(customer, MONDAY + timedelta(days=due), [line], at=on(0, 7), sure=True).names[0]


def a_week() -> Farm:
    """Two pea trays and a radish tray, sold to two customers; some pea is thrown away, a radish order falls short."""
    farm = farm_made()
    ordered(farm, CAFE, "pea", 300.0)
    ordered(farm, DINER, "pea", 150.0, price=0.04)
    ordered(farm, DINER, "radish", 5.0, unit="packs")
    pea = grown(farm, "pea", 2, 600.0)
    grown(farm, "radish", 1, 200.0, sown_on=0)
    farm.pack("radish", 4, at=on(7, 10))
    for customer in (CAFE, DINER):
        farm.deliver_due(customer, MONDAY + timedelta(days=7), at=on(7, 11), sure=True)
    farm.throw_away({pea: 100.0}, "past its day", at=on(8, 9))
    return farm
