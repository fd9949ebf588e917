"""What supplies cost in an account: a tray's medium and a pack's packaging, by what deliveries cost."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal

from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState
from trayward.farm.supplies import Occasion, SupplyKind


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
