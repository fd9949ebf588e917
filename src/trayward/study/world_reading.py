"""Reading a world's file key by key; every problem is noted with its line, and what to do about it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from pathlib import Path

from trayward.bootstrap import setup_bodies
from trayward.dates import WEEKDAYS
from trayward.desk.setup.file import READY_SETUPS
from trayward.desk.setup.orders import Grown, Sold, read_standing
from trayward.desk.setup.table import Table, nearest
from trayward.errors import TraywardError
from trayward.farm.entries import Body, CustomerSet, ProductSet, RecipeSet, StandingOrderSet
from trayward.farm.orders import Product, Unit
from trayward.study.customers import Beginning, Ending, Growth, SpotHabit
from trayward.study.events import BadLot, PowerCut, Slips
from trayward.study.truth import Temperature, TruthLevels
from trayward.study.world_spec import Scales, WorldSpec

LAWS = ("log-normal", "degree-days")
DAYS = tuple(day.lower() for day in WEEKDAYS)
_NO_DAY = date(2000, 1, 3)
"""Stands in for a day that is missing; the problem is noted, so nothing is made of it."""


class Known:
    """What a world's setup holds, so that the file's names can be checked."""

    def __init__(self, bodies: Iterable[Body]) -> None:
        self.customers: list[str] = []
        self.crops: list[str] = []
        self.standing: list[str] = []
        self.products: dict[str, Product] = {}
        self.first: date | None = None
        self.last = date.max
        for body in bodies:
            if isinstance(body, CustomerSet):
                self.customers.append(body.customer.name)
            elif isinstance(body, RecipeSet):
                self.crops.append(body.recipe.crop)
            elif isinstance(body, StandingOrderSet):
                self.standing.append(body.standing.standing)
            elif isinstance(body, ProductSet):
                self.products[body.product.name] = body.product

    def season(self, first: date, weeks: int) -> None:
        """Take in on which days the world is lived through."""
        if first != _NO_DAY:
            self.first, self.last = first, first + timedelta(days=7 * weeks - 1)

    def day(self, table: Table, key: str) -> date:
        """A day on which something befalls the farm: outside the season it never would."""
        day = table.day(key)
        if day is not None and self.first and not self.first <= day <= self.last:
            rule = f"it lies outside the season, {self.first} to {self.last}"
            table.wrong(key, rule, "Give a day within it.")
        return day or _NO_DAY

    def name(self, table: Table, key: str, known: Sequence[str], what: str) -> str:
        """A name that the setup has to know."""
        value = table.text(key, None, remedy=f"Name the {what}.")
        if value and known and value not in known:
            table.wrong(key, f"the setup has no such {what}", nearest(value, tuple(known)))
        return value


def read_world(root: Table, beside: Path | None) -> WorldSpec:
    """What a world's file says; problems are noted in its document."""
    setup = _setup(root, beside)
    known = Known(_bodies_of(root, setup))
    first = _monday(root)
    warm_up = root.whole("warm_up_weeks", 4, low=1, high=26)
    weeks = root.whole("weeks", low=1, high=104)
    known.season(first, warm_up + weeks)
    orders = root.table("orders")
    truth = root.table("truth")
    spec = WorldSpec(
        name=root.text("name", None, remedy="Give the world a name."),
        setup=setup,
        first=first,
        warm_up_weeks=warm_up,
        weeks=weeks,
        scales=_scales(root, orders),
        seed_weeks=root.whole("seed_weeks", 5, low=1, high=104),
        law=truth.choice("law", LAWS, "log-normal") if truth else "log-normal",
        logs_temperature=root.flag("logs_temperature", False),
        levels=_levels(truth),
        slips=_slips(root),
        power_cuts=tuple(_power_cut(table, known) for table in root.tables("power_cut")),
        bad_lots=tuple(_bad_lot(table, known) for table in root.tables("bad_lot")),
        spot=tuple(_spot(table, known) for table in (orders.tables("spot") if orders else [])),
        grows=tuple(_growth(table, known) for table in (orders.tables("grows") if orders else [])),
        ends=tuple(_ending(table, known) for table in (orders.tables("ends") if orders else [])),
        begins=_begins(orders, known),
    )
    for table in (truth, orders):
        if table is not None:
            table.finish()
    root.finish()
    return spec


def _setup(root: Table, beside: Path | None) -> str:
    name = root.text("setup", None, remedy=f"Name a ready setup ({', '.join(READY_SETUPS)}) or a setup file.")
    return str(beside / name) if beside is not None and name.endswith(".toml") else name


def _bodies_of(root: Table, setup: str) -> tuple[Body, ...]:
    try:
        return setup_bodies(setup) if setup else ()
    except TraywardError as err:
        root.wrong("setup", f"it cannot be used ({str(err).splitlines()[0]})", "Check the name or the file.")
        return ()


def _monday(root: Table) -> date:
    first = root.day("first") or _NO_DAY
    if first.weekday():
        root.wrong("first", "a season begins on a Monday", "Give the Monday before it.", first.isoformat())
    return first


def _scales(root: Table, orders: Table | None) -> Scales:
    return Scales(
        racks=root.number("racks", 1.0, low=0.05, high=50.0),
        kit=root.number("kit", 1.0, low=0.05, high=50.0),
        hands=root.number("hands", 1.0, low=0.05, high=50.0),
        orders=orders.number("scale", 1.0, low=0.05, high=50.0) if orders else 1.0,
    )


# What is hidden -------------------------------------------------------------------------------------------------------


def _levels(table: Table | None) -> TruthLevels:
    usual = TruthLevels()
    if table is None:
        return usual
    sds = {
        name: table.number(name, getattr(usual, name), high=2.0)
        for name in (
            "house", "recipe", "lot", "season", "sowing", "tray", "stage_house", "stage_recipe", "stage_sowing",
            "stage_tray", "loss_recipe", "loss_sowing",
        )
    }  # fmt: skip
    loss = table.number("loss", usual.loss, high=0.5)
    degree = table.number("grams_a_degree", usual.grams_a_degree, low=-0.2, high=0.2)
    warm = _temperature(table.table("temperature"))
    return TruthLevels(**sds, loss=loss, grams_a_degree=degree, temperature=warm)


def _temperature(table: Table | None) -> Temperature:
    usual = Temperature()
    if table is None:
        return usual
    found = Temperature(
        mean=table.number("mean", usual.mean, low=5.0, high=40.0, unit="°C"),
        rise=table.number("rise", usual.rise, low=-20.0, high=20.0, unit="°C"),
        sd=table.number("sd", usual.sd, high=5.0, unit="°C"),
        lasts=table.number("lasts", usual.lasts, high=0.99),
    )
    table.finish()
    return found


def _slips(root: Table) -> Slips:
    table = root.table("slips")
    if table is None:
        return Slips()
    found = Slips(
        typed_wrong=table.number("typed_wrong", 0.0, high=0.2),
        noticed=table.number("noticed", 0.5, high=1.0),
        missed=table.number("missed", 0.0, high=0.5),
    )
    table.finish()
    return found


def _power_cut(table: Table, known: Known) -> PowerCut:
    found = PowerCut(
        on=known.day(table, "on"),
        hours=table.number("hours", low=0.5, high=240.0, unit="h"),
        days_later=table.number("days_later", 0.0, high=10.0, unit="d"),
        grams=table.number("grams", 1.0, low=0.1, high=1.0),
    )
    table.finish()
    return found


def _bad_lot(table: Table, known: Known) -> BadLot:
    found = BadLot(
        crop=known.name(table, "crop", known.crops, "crop"),
        first=table.day("first") or _NO_DAY,
        last=table.day("last") or _NO_DAY,
        grams=table.number("grams", 1.0, low=0.05, high=1.0),
        slower=table.number("slower", 1.0, low=1.0, high=3.0),
        loss=table.number("loss", 0.0, high=0.9),
    )
    if found.last < found.first:
        table.wrong("last", f"it lies before the first day, {found.first}", "Swap the two days.")
    table.finish()
    return found


# Customers ------------------------------------------------------------------------------------------------------------


def _spot(table: Table, known: Known) -> SpotHabit:
    customer = known.name(table, "customer", known.customers, "customer")
    products = table.texts("products")
    sold = {*known.products, *known.crops}
    for product in products:
        if sold and product not in sold:
            table.wrong("products", "the farm sells no such thing", nearest(product, tuple(sorted(sold))), product)
    if not products:
        table.missing("products", 'Write for instance products = ["pea", "radish"].')
    unit, (least, most) = _amounts(table, known, products)
    found = SpotHabit(
        customer=customer,
        a_week=table.number("a_week", low=0.0, high=100.0),
        products=products or ("",),
        unit=unit,
        least=least,
        most=most,
        step=10.0 if unit == "g" else 1.0,
        ahead=_whole_pair(table, "ahead", (2, 7)),
        weekdays=_weekdays(table),
    )
    table.finish()
    return found


def _amounts(table: Table, known: Known, products: Sequence[str]) -> tuple[Unit, tuple[float, float]]:
    """One of `grams`, `packs` and `trays`, from least to most."""
    units: dict[str, Unit] = {"grams": "g", "packs": "packs", "trays": "trays"}
    given = [key for key in units if table.has(key)]
    if len(given) != 1:
        table.wrong(
            "grams", "amounts are in one of grams, packs and trays", "Write for instance grams = [40, 120].", given
        )
        return "g", (10.0, 10.0)
    key = given[0]
    for product in (known.products[name] for name in products if name in known.products):
        fits = {"grams": not product.live, "packs": product.pack_g is not None, "trays": product.live}[key]
        if not fits:
            table.wrong(key, f"{product.name} is not sold that way", "Ask for it as the setup sells it.")
    return units[key], _pair(table, key)


def _pair(table: Table, key: str) -> tuple[float, float]:
    value = table.raw(key)
    numbers = [float(item) for item in value if isinstance(item, int | float)] if isinstance(value, list) else []
    if len(numbers) != 2 or not 0 < numbers[0] <= numbers[1]:
        table.wrong(key, "must be the least and the most, both above 0", f"Write for instance {key} = [1, 3].")
        return 1.0, 1.0
    return numbers[0], numbers[1]


def _whole_pair(table: Table, key: str, usual: tuple[int, int]) -> tuple[int, int]:
    if not table.has(key):
        return usual
    low, high = _pair(table, key)
    return int(low), int(high)


def _weekdays(table: Table) -> tuple[int, ...]:
    names = table.texts("on")
    for name in names:
        if name not in DAYS:
            table.wrong("on", "is no day of the week", f"Known: {', '.join(DAYS)}.", name)
    if not names:
        table.missing("on", 'Write for instance on = ["tue", "fri"].')
    return tuple(DAYS.index(name) for name in names if name in DAYS) or (0,)


def _growth(table: Table, known: Known) -> Growth:
    found = Growth(
        customer=known.name(table, "customer", known.customers, "customer"),
        on=known.day(table, "on"),
        factor=table.number("factor", low=0.1, high=10.0),
        known_days=table.whole("known_days", 7, high=90),
    )
    table.finish()
    return found


def _ending(table: Table, known: Known) -> Ending:
    found = Ending(
        standing=known.name(table, "standing", known.standing, "standing order"),
        on=known.day(table, "on"),
        known_days=table.whole("known_days", 7, high=90),
    )
    table.finish()
    return found


def _begins(orders: Table | None, known: Known) -> tuple[Beginning, ...]:
    """New standing orders, written as a setup file writes them."""
    if orders is None:
        return ()
    days = orders.whole("begin_known_days", 10, high=90)
    sold = Sold(known.products, Grown(tuple(dict.fromkeys(known.crops))), tuple(known.customers))
    return tuple(Beginning(standing=order, known_days=days) for order in read_standing(orders, sold))
