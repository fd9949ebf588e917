"""Small invented farms for the plan's tests, with figures that can be worked by hand."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, time, timedelta

from trayward.farm.crops import Fact
from trayward.farm.kit import Pool, PoolState
from trayward.farm.orders import Customer, LineAsked, Order, Part, Product, StandingOrder
from trayward.farm.places import Lamp, Shelf
from trayward.farm.recipes import KitNeed, Medium, Recipe, Stage, TraySize, YieldPrior
from trayward.farm.settings import FarmSettings, Money, RoundTime
from trayward.farm.state import FarmState, SeedLot
from trayward.outlook.ahead import look_ahead
from trayward.plan.make import make_plan
from trayward.plan.types import LineOutlook, Plan

MONDAY = date(2026, 11, 30)
"""The first day of every plan here."""
NOW = datetime(2026, 11, 30, 8, 0, tzinfo=UTC)
ROUNDS = (RoundTime(name="morning", at=time(7)), RoundTime(name="evening", at=time(19)))
TRAY = TraySize(length_mm=500.0, width_mm=200.0)
"""1000 cm2: at one live seed per cm2, 10 g a thousand and all of it alive, a tray takes 10 g of seed."""


def day(number: int) -> date:
    """A day of the plan, counted from its first Monday, day 0."""
    return MONDAY + timedelta(days=number)


def recipe(
    crop: str = "radish",
    *,
    name: str = "",
    dark: float = 2.0,
    light: float = 3.0,
    grams: float = 100.0,
    window: int = 1,
    keeps: int = 3,
    stack: int = 1,
    kit: tuple[KitNeed, ...] = (),
    growth: float = 0.0,
    minutes: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0),
    medium: float = 0.0,
) -> Recipe:
    """Whole days and nearly no doubt: ready after `dark` + `light` days. Minutes: sow, look, cut, wash."""
    stages = (
        Stage(name="germinate", days_low=dark, days_typical=dark, days_high=dark, ground="dark", stack=stack),
        Stage(name="light", days_low=light, days_typical=light, days_high=light, ground="lit"),
        Stage(name="ready", days_low=1.0, days_typical=1.0, days_high=1.0, ground="lit"),
    )
    sow, look, cut, wash = minutes
    return Recipe(
        name=name or crop,
        crop=crop,
        medium=Medium(name="mesh mat", cost=medium),
        stages=stages,
        live_seeds_per_cm2=1.0,
        tray=TRAY,
        kit=kit,
        yield_prior=YieldPrior(low_g=grams, typical_g=grams, high_g=grams),
        cut_window_days=window,
        growth_a_day=growth,
        cold_room_days=keeps,
        minutes_sow=sow,
        minutes_look=look,
        minutes_cut=cut,
        minutes_wash=wash,
    )


ALL_ALIVE = 10**9
"""Seeds tested, all of which sprouted: so many that no doubt and no age is left, and grams come out round."""


def lot(crop: str = "radish", grams: float = 10_000.0, *, name: str = "", expected: date | None = None) -> SeedLot:
    """Seed of 10 g a thousand, all of it alive, 0.01 a gram."""
    return SeedLot(
        lot=name or f"lot {crop}",
        crop=crop,
        received_at=NOW - timedelta(days=30),
        received_g=grams,
        left_g=grams,
        germination=1.0,
        tests=[(NOW, ALL_ALIVE, ALL_ALIVE)],
        sprouted=ALL_ALIVE,
        tested=ALL_ALIVE,
        tsw_g=10.0,
        cost=0.01 * grams,
        expected_on=expected,
    )


def order(
    number: int,
    quantity: float,
    *,
    product: str = "radish",
    unit: str = "g",
    price: float = 0.1,
    name: str = "",
    customer: str = "Copper Ladle",
) -> Order:
    """An order of one line due on a day of the plan; `price` is for a gram, pack or tray."""
    line = LineAsked(line="1", product=product, quantity=quantity, unit=unit, price=price)  # type: ignore[arg-type]
    return Order(order=name or f"{product}-{number}", customer=customer, due=day(number), lines=(line,))


def farm(
    *orders: Order,
    recipes: tuple[Recipe, ...] = (),
    lots: tuple[SeedLot, ...] | None = None,
    dark: int = 50,
    dark_stack: int = 1,
    lit: int = 50,
    kit: tuple[PoolState, ...] = (),
    work: tuple[float, ...] = (600.0,) * 7,
    days_off: tuple[date, ...] = (),
    money: Money | None = None,
    products: tuple[Product, ...] = (),
    customers: tuple[Customer, ...] = (),
) -> FarmState:
    """A roomy farm, so that each test can make one thing scarce. Caution is a half: typical is what is counted on."""
    recipes = recipes or (recipe(),)
    lots = tuple(lot(crop) for crop in dict.fromkeys(r.crop for r in recipes)) if lots is None else lots
    return FarmState(
        settings=FarmSettings(
            name="Lantern Loft",
            rounds=ROUNDS,
            work_minutes=work,  # type: ignore[arg-type]
            days_off=days_off,
            money=money or Money(),
            caution=0.5,
        ),
        shelves={
            "D": Shelf(name="D", rack="D", room="loft", kind="dark", spots=dark, stack=dark_stack),
            "L": Shelf(name="L", rack="L", room="loft", kind="lit", spots=lit),
        },
        kit={pool.pool.name: pool for pool in kit},
        recipes={one.name: one for one in recipes},
        products={product.name: product for product in products},
        customers={customer.name: customer for customer in customers},
        seed={one.lot: one for one in lots},
        orders={one.order: one for one in orders},
    )


def plan(state: FarmState, *, weeks: int = 3, at: datetime = NOW) -> Plan:
    """The plan of a farm, over one cautious future: what comes out can be worked by hand."""
    return make_plan(state, look_ahead(state, at), at, weeks=weeks, effort=None)


def line(made: Plan, name: str) -> LineOutlook:
    """A line of a plan by its name."""
    return next(one for one in made.lines if one.line == name)


def limit_names(made: Plan) -> set[str]:
    """The limits a plan names."""
    return {limit.limit for limit in made.limits}


def trays(made: Plan, crop: str = "") -> int:
    """Trays sown in all."""
    return sum(sowing.trays for sowing in made.sowings if not crop or sowing.crop == crop)


def pool(name: str, count: int, *, dry_hours: float = 12.0, **now: int) -> PoolState:
    """A kit pool; `now` says how many are dirty, away or lost."""
    return PoolState(pool=Pool(name=name, count=count, dry_hours=dry_hours), **now)  # type: ignore[arg-type]


# A farm like Lantern Loft in size -------------------------------------------------------------------------------------


def big_farm(*, spots: int, crops: int, lines: int, seed: int = 1, customers: int = 9) -> FarmState:
    """A farm with that many lit spots, recipes and standing lines a week; the same seed gives the same farm."""
    draw = random.Random(seed)
    names = [f"crop {number}" for number in range(crops)]
    recipes = [_drawn_recipe(name, draw) for name in names]
    mixes = [
        Product(name=f"mix {n}", parts=tuple(Part(crop=c, share=1 / 3) for c in draw.sample(names, 3)), price=7.0)
        for n in range(3)
    ]
    loose = [Product(name=name, parts=(Part(crop=name),), price=draw.uniform(4, 8)) for name in names]
    state = farm(
        recipes=tuple(recipes),
        lots=tuple(lot(name, 1e6) for name in names),
        dark=spots // 6,
        dark_stack=4,
        lit=spots,
        kit=(pool("mesh tray", spots * 2), pool("solid tray", spots * 2), pool("cover", spots)),
        work=(spots * 8.0,) * 6 + (0.0,),
        money=Money(wage_h=18.0, energy_kwh=0.3, packaging=0.15, disposal_kg=0.1, shortfall=1.0),
        products=(*mixes, *loose),
        customers=tuple(Customer(name=f"customer {n}", weight=draw.choice([1.0, 1.0, 2.0])) for n in range(customers)),
    )
    state.settings = FarmSettings(
        name="Lantern Loft",
        rounds=ROUNDS,
        work_minutes=state.settings.work_minutes if state.settings else (0.0,) * 7,
        money=state.settings.money if state.settings else Money(),
        caution=0.8,
    )
    state.shelves["L"] = Shelf(
        name="L", rack="L", room="loft", kind="lit", spots=spots, lamp=Lamp(count=spots // 4, watts=40.0, hours=16.0)
    )
    grams = spots * 45.0 / lines
    for number in range(lines):
        product = draw.choice([*mixes, *loose]).name
        asked = LineAsked(line="1", product=product, quantity=float(round(grams * draw.uniform(0.4, 1.6), -1)))
        state.standing[f"s{number}"] = StandingOrder(
            standing=f"s{number}",
            customer=f"customer {number % customers}",
            start=MONDAY,
            rule=f"FREQ=WEEKLY;BYDAY={draw.choice(['TU', 'WE', 'TH', 'FR', 'SA'])}",
            lines=(asked,),
        )
    return state


def _drawn_recipe(name: str, draw: random.Random) -> Recipe:
    light = float(draw.randint(3, 7))
    made = recipe(
        name,
        dark=3.0,
        light=light,
        grams=float(draw.randint(80, 250)),
        window=draw.randint(1, 3),
        keeps=5,
        stack=4,
        kit=(
            KitNeed(pool="mesh tray"),
            KitNeed(pool="solid tray"),
            KitNeed(pool="cover", stages=("germinate",)),
        ),
        minutes=(6.0, 0.3, 10.0, 4.0),
        medium=0.1,
    )
    spread = tuple(
        Stage(
            name=stage.name,
            days_low=stage.days_typical * 0.8,
            days_typical=stage.days_typical,
            days_high=stage.days_typical * 1.25,
            ground=stage.ground,
            stack=stage.stack,
            minutes=1.0,
        )
        for stage in made.stages
    )
    wide = YieldPrior(low_g=(made.yield_prior.typical_g or 0) * 0.6, typical_g=made.yield_prior.typical_g,
                      high_g=(made.yield_prior.typical_g or 0) * 1.6)  # fmt: skip
    return Recipe(
        **{field: getattr(made, field) for field in made.__struct_fields__ if field not in ("stages", "yield_prior")},
        stages=spread,
        yield_prior=wide,
    )


RADISH_TSW = Fact(value=10.0, unit="g")
