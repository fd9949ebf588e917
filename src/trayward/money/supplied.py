"""What feed, soap and sanitiser cost in an account, by what deliveries of them cost."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from trayward.farm.settings import Money
from trayward.farm.state import FarmState
from trayward.farm.supplies import Taken, exact
from trayward.farm.supply_costs import taken_since
from trayward.money.coins import share_out, to_micro


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


def loose_cost(taken: Taken, unpriced: dict[str, float]) -> int:
    """
    What supplies cost that went otherwise than by a tray, a pack or a washing. [millionths of the currency]

    `unpriced` is told how much of a supply had no price; seed without one is told of with the trays sown of it.
    """
    if taken.cost is not None:
        return to_micro(taken.cost)
    for name, amount in taken.amounts.items():
        if taken.of != "seed missing" and amount > 0:
            unpriced[name] = unpriced.get(name, 0.0) + amount
    return 0


def stands_for_it(state: FarmState, taken: Taken, money: Money) -> bool:
    """
    Whether a figure of the farm counts already what went by hand, so that it is not counted twice.

    Where nothing takes a medium off by itself each tray counts with its recipe's own figure, and where nothing takes
    packaging off each pack does with the farm's. What was thrown away never was under a tray.
    """
    if taken.of in ("thrown away", "seed missing"):
        return False
    for name in taken.amounts:
        supply = state.supplies[name].supply
        takers = {each.of for each in supply.taken}
        if supply.kind == "medium" and "tray" not in takers:
            return any(recipe.medium.cost > 0 for recipe in state.recipes_in_use())
        if supply.kind == "packaging" and "pack" not in takers:
            return money.packaging > 0
    return False


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
