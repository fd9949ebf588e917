"""What supplies cost in an account, by what deliveries cost: a tray's medium and feed, a pack's packaging, agents."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal

from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState
from trayward.farm.supplies import Occasion, SupplyKind, Taken, exact
from trayward.money.coins import share_out, to_micro


def medium_cost(state: FarmState, recipe: Recipe, sown_at: datetime) -> float:
    """
    What one tray took of supplies, or the medium's own cost where no delivery of one says a price. [currency]

    A supply of the kind `medium` with a price stands for the recipe's own figure; other supplies a tray takes come on
    top of either.
    """
    costs = list(_costs(state, "tray", (recipe.name, recipe.medium.name), sown_at))
    medium = [cost for kind, cost in costs if kind == "medium"]
    other = sum((cost for kind, cost in costs if kind != "medium"), Decimal(0))
    return (float(sum(medium, Decimal(0))) if medium else recipe.medium.cost) + float(other)


def pack_cost(state: FarmState, product: str, packed_at: datetime) -> float | None:
    """What the supplies of one pack cost; None where no delivery says a price. [currency]"""
    costs = [cost for _, cost in _costs(state, "pack", (product,), packed_at)]
    return float(sum(costs, Decimal(0))) if costs else None


def _costs(
    state: FarmState, of: Occasion, names: tuple[str, ...], at: datetime
) -> Iterator[tuple[SupplyKind, Decimal]]:
    """What was taken of each supply that had a price then, with its kind. [currency]"""
    for held in state.supplies.values():
        amount = held.amount_for(of, *names)
        price = held.price_at(at) if amount else None
        if price is not None:
            yield held.supply.kind, price * Decimal(repr(amount))


# Feed and agents ------------------------------------------------------------------------------------------------------


def taken_since(state: FarmState, since: datetime, until: datetime | None = None) -> Sequence[Taken]:
    """What feeds and washings took from a moment on, and before another."""
    first = bisect_left(state.taken, since, key=lambda each: each.at)
    last = bisect_left(state.taken, until, key=lambda each: each.at) if until is not None else None
    return state.taken[first:last]


def taken_cost(state: FarmState, taken: Taken, unpriced: dict[str, float]) -> int:
    """
    What a feed or a washing took, at what each supply cost then. [millionths of the currency]

    `unpriced` is told how much had no price, by supply [unit of it].
    """
    cost = Decimal(0)
    for name, amount in taken.amounts.items():
        held = state.supplies.get(name)
        price = held.price_at(taken.at) if held is not None else None
        if price is None:
            unpriced[name] = unpriced.get(name, 0.0) + amount
        else:
            cost += price * exact(amount)
    return to_micro(cost)


class Feeding:
    """What the feed of each tray cost, of feeds from a moment on. [millionths of the currency]"""

    def __init__(self, state: FarmState, since: datetime) -> None:
        self.cost: dict[str, int] = {}
        self.unpriced: dict[str, dict[str, float]] = {}
        """Tray -> supply -> what of it had no price. [unit of it]"""
        for taken in taken_since(state, since):
            if taken.of == "litre" and taken.trays:
                self._add(state, taken)

    def _add(self, state: FarmState, taken: Taken) -> None:
        """Every tray of a feed got as much; shared out so that not a millionth is lost."""
        unpriced: dict[str, float] = {}
        names = list(taken.trays)
        for name, part in zip(names, share_out(taken_cost(state, taken, unpriced), [1.0] * len(names)), strict=True):
            self.cost[name] = self.cost.get(name, 0) + part
            for supply, amount in unpriced.items():
                own = self.unpriced.setdefault(name, {})
                own[supply] = own.get(supply, 0.0) + amount / len(names)
