"""What supplies cost a tray or a pack, by what deliveries of them cost: the plan and the account reckon alike."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState, Tray
from trayward.farm.supplies import Occasion, SupplyHeld, SupplyKind, Taken

LATELY = timedelta(days=56)
"""So far back the record says what a tray takes of feed and agents: eight weeks. Our choice."""
ENOUGH = 5
"""From so many trays of a recipe on its own count; from fewer those of the whole farm do. Our choice. [-]"""


def medium_cost(state: FarmState, recipe: Recipe, at: datetime, *, ahead: bool = False) -> float:
    """
    What one tray took of supplies, or the medium's own cost where no delivery of one says a price. [currency]

    A supply of the kind `medium` with a price stands for the recipe's own figure; other supplies a tray takes come on
    top of either. `ahead`: of a tray still to be sown, so that supplies no longer kept do not count.
    """
    costs = list(_costs(state, "tray", (recipe.name, recipe.medium.name), at, ahead=ahead))
    medium = [cost for kind, cost in costs if kind == "medium"]
    other = sum((cost for kind, cost in costs if kind != "medium"), Decimal(0))
    return (float(sum(medium, Decimal(0))) if medium else recipe.medium.cost) + float(other)


def pack_cost(state: FarmState, product: str, packed_at: datetime) -> float | None:
    """What the supplies of one pack cost; None where no delivery says a price. [currency]"""
    costs = [cost for _, cost in _costs(state, "pack", (product,), packed_at)]
    return float(sum(costs, Decimal(0))) if costs else None


def _costs(
    state: FarmState, of: Occasion, names: tuple[str, ...], at: datetime, *, ahead: bool = False
) -> Iterator[tuple[SupplyKind, Decimal]]:
    """What is taken of each supply that has a price then, with its kind. [currency]"""
    for held in state.supplies.values():
        amount = held.amount_for(of, *names) if not (ahead and held.dropped) else 0.0
        price = (_price_ahead(held, at) if ahead else held.price_at(at)) if amount else None
        if price is not None:
            yield held.supply.kind, price * Decimal(repr(amount))


def _price_ahead(held: SupplyHeld, at: datetime) -> Decimal | None:
    """What a unit costs that is still to be used; of what was never used, what its deliveries cost. [currency/unit]"""
    price = held.price_at(at)
    return held.average if price is None else price


def taken_since(state: FarmState, since: datetime, until: datetime | None = None) -> Sequence[Taken]:
    """What feeds and washings took from a moment on, and before another."""
    first = bisect_left(state.taken, since, key=lambda each: each.at)
    last = bisect_left(state.taken, until, key=lambda each: each.at) if until is not None else None
    return state.taken[first:last]


# What a tray still to be sown will take -------------------------------------------------------------------------------


class CareCosts:
    """
    What a tray takes of feed, soap and sanitiser, at what they cost now. [currency]

    How much goes by the record of the last eight weeks: what the trays of a recipe that left in them were fed, and what
    washing kit for trays of it took. Before there is a record a tray counts with one washing of its kit.

    Parameters
    ----------
    state : FarmState
        The farm.
    at : datetime
        Now.
    """

    def __init__(self, state: FarmState, at: datetime) -> None:
        self._state, self._at = state, at
        self._prices = {name: float(_price_ahead(held, at) or 0) for name, held in state.supplies.items()}
        self._left: dict[str, int] = defaultdict(int)
        """Recipe -> trays that left lately."""
        self._spent: dict[str, float] = defaultdict(float)
        """Recipe -> what these were fed, and what washing took for trays of it. [currency]"""
        if any(self._prices.values()):
            self._read(at - LATELY)

    def of(self, recipe: Recipe) -> float:
        """What a tray of a recipe takes. [currency]"""
        if self._left[recipe.name] >= ENOUGH:
            return self._spent[recipe.name] / self._left[recipe.name]
        trays = sum(self._left.values())
        return sum(self._spent.values()) / trays if trays >= ENOUGH else self._one_washing(recipe)

    def _read(self, since: datetime) -> None:
        left = {tray.tray: tray for tray in _left_since(self._state, since)}
        for tray in left.values():
            self._left[tray.recipe] += 1
        begin = min((tray.sown_at for tray in left.values()), default=since)
        for taken in taken_since(self._state, min(begin, since), self._at):
            if taken.trays and (taken.of == "litre" or taken.at >= since):
                self._share(taken, left)

    def _share(self, taken: Taken, left: dict[str, Tray]) -> None:
        """To the recipes of its trays by pieces; of a feed only what trays got that have left."""
        cost = sum(self._prices.get(name, 0.0) * amount for name, amount in taken.amounts.items())
        each = cost / sum(taken.trays.values())
        for name, pieces in taken.trays.items() if cost else ():
            tray = left.get(name) if taken.of == "litre" else self._state.tray(name)
            if tray is not None:
                self._spent[tray.recipe] += each * pieces

    def _one_washing(self, recipe: Recipe) -> float:
        found = 0.0
        for need in recipe.kit:
            kept = self._state.kit.get(need.pool)
            wanted: tuple[Occasion, ...] = ("washed", "sanitised") if kept and kept.pool.sanitise else ("washed",)
            for of in wanted if kept is not None else ():
                costs = _costs(self._state, of, (need.pool,), self._at, ahead=True)
                found += need.each * sum(float(cost) for _, cost in costs)
        return found


def _left_since(state: FarmState, since: datetime) -> Iterator[Tray]:
    """Trays that left since a moment; those that were stripped long ago are not looked at."""
    for tray in reversed(state.ended.values()):
        if tray.ended_at is not None and tray.ended_at < since - LATELY:
            break
        if tray.ended_at is not None and tray.ended_at >= since:
            yield tray
    for tray in state.trays.values():
        if tray.ended_at is not None and tray.ended_at >= since:
            yield tray
