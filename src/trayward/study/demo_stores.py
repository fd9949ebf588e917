"""Lantern Loft's stores: what it buys beside seed, what suppliers ask, deliveries as they are wanted, and a count.

Suppliers and prices are invented; what a tray, a wash or a litre takes is common practice, no source.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import NamedTuple

from trayward.desk.desk import Desk
from trayward.farm.calendar import local_day
from trayward.farm.settings import FarmSettings
from trayward.farm.supplies import Offer, PackPrice, Supply, SupplyHeld, TakenBy

QUAY, MILL = "Quay Supplies", "Mill Lane Packaging"
HARBOUR = "Harbour Seed Loft"
FEED = "leaf feed"
FEED_ML = 150.0
"""Of feed mix for each lit tray. [ml]"""
FEED_DAYS = (0, 3)
"""Mondays and Thursdays."""
COUNT_BACK = 12
"""So many days before today everything is counted. [d]"""
MISSED = {"pack box": 9.0, "soap": 40.0}
"""What the count finds less than the book expects: boxes crushed, soap spilt. [unit]"""


class Stocked(NamedTuple):
    """A supply with what a delivery of it is and costs."""

    supply: Supply
    amount: float
    cost: Decimal
    supplier: str
    keeps: int | None = None
    """Days until what is on the pack. [d]"""


STOCK = (
    Stocked(
        Supply(
            name="coir", kind="medium", unit="g", taken=(TakenBy(of="tray", amount=120.0, name="coir"),), keep=3000.0
        ),
        10_000.0, Decimal("16.50"), QUAY,
    ),
    Stocked(
        Supply(name="pack box", kind="packaging", taken=(TakenBy(of="pack", amount=1.0),), keep=120.0),
        500.0, Decimal("62.00"), MILL,
    ),
    Stocked(
        Supply(name=FEED, kind="feed", unit="ml", taken=(TakenBy(of="litre", amount=2.0, name=FEED),), keep=100.0),
        500.0, Decimal("11.90"), QUAY, 540,
    ),
    Stocked(
        Supply(name="soap", kind="agent", unit="ml", taken=(TakenBy(of="washed", amount=1.5),), keep=500.0),
        2000.0, Decimal("9.80"), QUAY,
    ),
    Stocked(
        Supply(name="sanitiser", kind="agent", unit="ml", taken=(TakenBy(of="sanitised", amount=2.0),), keep=500.0),
        2000.0, Decimal("21.40"), QUAY, 365,
    ),
)  # fmt: skip


def _offer(thing: str, supplier: str, *packs: tuple[float, str, int], seed: bool = False, lead: float = 4.0) -> Offer:
    prices = tuple(PackPrice(size=size, price=Decimal(price), least=least) for size, price, least in packs)
    return Offer(thing=thing, seed=seed, supplier=supplier, packs=prices, lead_days=lead, delivery=Decimal("4.90"))


OFFERS = (
    *(_offer(each.supply.name, each.supplier, (each.amount, str(each.cost), 1)) for each in STOCK),
    _offer("pack box", QUAY, (250.0, "34.50", 1), (250.0, "29.00", 4)),
    _offer("pea", HARBOUR, (1000.0, "6.20", 1), (5000.0, "27.50", 1), seed=True, lead=7.0),
    _offer("sunflower", HARBOUR, (1000.0, "9.40", 1), seed=True, lead=7.0),
    _offer("broccoli", HARBOUR, (1000.0, "26.00", 1), seed=True, lead=7.0),
    _offer("radish", HARBOUR, (1000.0, "14.50", 1), seed=True, lead=7.0),
)


class LoftStores:
    """Sets the stores up, and keeps them from running out as a person would: late now and then, never empty."""

    def __init__(self, farm: Desk, settings: FarmSettings, today: date, *, name: str) -> None:
        self.farm, self.settings, self.today, self.name = farm, settings, today, name
        self._counted = False

    def begin(self, at: datetime) -> None:
        """What it buys, of whom, and a first delivery of each."""
        for each in STOCK:
            self.farm.set_supply(each.supply, at=at, by=self.name)
            self._receive(each, at)
        for offer in OFFERS:
            self.farm.set_offer(offer, at=at, by=self.name)

    def _receive(self, each: Stocked, at: datetime, expected_on: date | None = None) -> None:
        best = local_day(at, self.settings) + timedelta(days=each.keeps) if each.keeps is not None else None
        self.farm.receive_supply(
            each.supply.name, each.amount, cost=each.cost, supplier=each.supplier, best_before=best,
            document=f"{at:%y%m%d}", expected_on=expected_on, at=at, by=self.name, sure=True,
        )  # fmt: skip

    def work(self, day: date, at: datetime) -> None:
        """A day's work in the stores: buy what is low, feed what stands in the light, count once."""
        held = self.farm.state(at).supplies
        for each in STOCK:
            if held[each.supply.name].stock < each.supply.keep:
                self._receive(each, at)
        if day.weekday() in FEED_DAYS:
            self._feed(at)
        if not self._counted and day >= self.today - timedelta(days=COUNT_BACK):
            self._counted = True
            self._count(at)

    def end(self, at: datetime) -> None:
        """The evening before today: boxes are on their way."""
        boxes = next(each for each in STOCK if each.supply.kind == "packaging")
        self._receive(boxes, at, expected_on=self.today + timedelta(days=3))

    def _feed(self, at: datetime) -> None:
        state = self.farm.state(at)
        lit = [tray.tray for tray in state.growing() if state.recipe_of(tray).stage(tray.stage).ground == "lit"]
        if lit:
            self.farm.feed(lit, FEED_ML, feed=FEED, at=at, by=self.name, sure=True)

    def _count(self, at: datetime) -> None:
        held = self.farm.state(at).supplies
        amounts = {name: _found(kept, MISSED.get(name, 0.0)) for name, kept in held.items()}
        self.farm.count_supplies(amounts, at=at, by=self.name, sure=True)


def _found(held: SupplyHeld, missed: float) -> float:
    return max(round(held.stock - missed), 0)
