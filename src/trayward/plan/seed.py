"""Seed for the plan: what a tray takes from each lot, what is in stock, and what is still to come."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import msgspec

from trayward.dates import day_words
from trayward.errors import NotFoundError
from trayward.farm.crops import CropFacts
from trayward.farm.density import seed_for_tray
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState, SeedLot
from trayward.farm.use_first import seed_place
from trayward.library.crops import facts_for
from trayward.plan.days import Days
from trayward.plan.types import SeedTaken
from trayward.plan.words import FEW
from trayward.words import listed


class LotStock(msgspec.Struct, kw_only=True):
    """A lot that may be sown from, from a day on. `worth` turns its grams into grams of the crop's first lot."""

    lot: SeedLot
    day: int
    left_g: float
    worth: float = 1.0


class SeedStock(msgspec.Struct, kw_only=True):
    """The lots of a crop, the one to use first before the others."""

    crop: str
    facts: CropFacts
    lots: list[LotStock]
    at: datetime
    notes: tuple[str, ...] = ()

    def per_tray(self, recipe: Recipe, lot: SeedLot | None = None) -> float | None:
        """Grams for a tray from a lot (the first, if not said); None where a figure is missing."""
        first = self.lots[0].lot if self.lots else None
        return seed_for_tray(recipe, self.facts, lot or first, self.at).grams

    def missing(self, recipe: Recipe) -> tuple[str, ...]:
        """What to ask the grower before a tray's seed can be weighed."""
        return seed_for_tray(recipe, self.facts, self.lots[0].lot if self.lots else None).missing

    def price(self) -> float:
        """What a gram of the first lot costs. [currency/g]"""
        for stock in self.lots:
            if stock.lot.received_g > 0:
                return stock.lot.cost / stock.lot.received_g
        return 0.0

    def arrivals(self) -> list[tuple[int, float]]:
        """Day and grams of the first lot's kind, in the order they come."""
        by_day: dict[int, float] = {}
        for stock in self.lots:
            by_day[stock.day] = by_day.get(stock.day, 0.0) + stock.left_g * stock.worth
        return sorted(by_day.items())

    def copied(self) -> SeedStock:
        """The same seed, to take from without taking from this."""
        return msgspec.structs.replace(self, lots=[msgspec.structs.replace(lot) for lot in self.lots])

    def take(self, grams: float, day: int) -> tuple[SeedTaken, ...]:
        """Take grams (of the first lot's kind) on a day from the lots that have come, in line; grams of each lot."""
        taken = []
        for stock in self.lots:
            here = min(stock.left_g * stock.worth, grams) if stock.day <= day else 0.0
            if here > 1e-9:
                stock.left_g -= here / stock.worth
                grams -= here
                taken.append(SeedTaken(lot=stock.lot.lot, grams=round(here / stock.worth, 2)))
        return tuple(taken)


EVER = 10**6
"""A day beyond any plan. [d]"""


def seed_by_then(stock: SeedStock | None, last: int = EVER) -> list[tuple[int, float]]:
    """Each day on which more seed comes, then a last one, and the grams of the first lot's kind that come before it."""
    arrivals = stock.arrivals() if stock is not None else []
    ends = [day for day, _ in arrivals if day > 0] + [last]
    return [(end, sum(grams for day, grams in arrivals if day < end)) for end in ends]


def seed_stock(state: FarmState, crop: str, recipes: Sequence[Recipe], days: Days, at: datetime) -> SeedStock:
    """The seed of a crop that may be sown in the plan's days, as old as it is at `at`.

    Treated lots are left out, and the notes say so.
    """
    facts = _facts(crop, state)
    stocks, notes = [], []
    for lot in state.seed.values():
        # The book puts seed on the shelf when it comes: until then a lot on order has nothing left, and all to come.
        grams = lot.left_g if lot.expected_on is None else lot.received_g
        if lot.crop != crop or grams <= 0:
            continue
        if lot.treated:
            notes.append(f"Seed lot {lot.lot} of {crop} is treated and is not sown: defer to its label.")
            continue
        if lot.expected_on is not None and lot.expected_on <= days.first:
            late = f"Seed lot {lot.lot} of {crop} was to come {day_words(lot.expected_on)} and is not here by the book"
            notes.append(f"{late}; it is counted from tomorrow. Receive it, or say when it comes.")
        stocks.append(LotStock(lot=lot, day=_day_here(lot, days), left_g=grams))
    if len(stocks) > 1:
        stocks.sort(key=lambda stock: (stock.day, seed_place(stock.lot, facts, at, state.settings)))
    found = SeedStock(crop=crop, facts=facts, lots=stocks, at=at, notes=tuple(notes))
    _weigh(found, recipes[0])
    return found


def _facts(crop: str, state: FarmState) -> CropFacts:
    try:
        return facts_for(crop, state.crop_facts)
    except NotFoundError:
        return CropFacts(crop=crop, facts=state.crop_facts.get(crop, {}))


def _day_here(lot: SeedLot, days: Days) -> int:
    """The first day of the plan on which a lot can be sown."""
    if lot.expected_on is None:
        return 0
    return max(1, days.index(lot.expected_on))


def _weigh(stock: SeedStock, recipe: Recipe) -> None:
    """Put the lots' grams into those of the first; lots whose figures are missing cannot be weighed out."""
    weights = [stock.per_tray(recipe, lot.lot) for lot in stock.lots]
    first = next((grams for grams in weights if grams), None)
    usable = []
    for lot, grams in zip(stock.lots, weights, strict=True):
        if first and grams:
            lot.worth = first / grams
            usable.append(lot)
        else:
            missing = seed_for_tray(recipe, stock.facts, lot.lot).missing
            name, figures = lot.lot.lot, listed(missing, most=FEW)
            stock.notes += (f"Seed lot {name} of {stock.crop} cannot be weighed out: say {figures}.",)
    stock.lots = usable
