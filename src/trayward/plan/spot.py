"""Spot orders that usually come, as wants the plan can weigh: by product and day, with how much in each scenario."""

from __future__ import annotations

import numpy as np
from numpy.random import Generator

from trayward.farm.settings import Money
from trayward.outlook.demand import SpotDemand, SpotKey
from trayward.plan.days import Days, Floats
from trayward.plan.demand import Want

LEAST = 0.02
"""Of a product's busiest day, a day that is expected to bring less than this share is left out. [-]"""


def spot_wants(
    demand: SpotDemand, days: Days, money: Money, scenarios: int, rng: Generator
) -> tuple[list[Want], Floats]:
    """
    Wants for spot orders that may still come.

    Returns
    -------
    list of Want, array
        One for each product and day, `amount` being the mean; and how much in each scenario (scenarios, wants).
    """
    drawn = demand.draws(days.first, days.count, scenarios, rng)
    products: dict[tuple[str, tuple[tuple[str, float], ...], bool], list[int]] = {}
    for number, key in enumerate(drawn.keys):
        products.setdefault((key.product, tuple((p.crop, p.share) for p in key.parts), key.unit == "trays"), []).append(
            number
        )
    wants, amounts = [], [np.zeros((scenarios, 0))]
    for (product, parts, live), own in products.items():
        amount = drawn.amount[:, own].sum(axis=1)
        amount = np.rint(amount) if live else amount
        mean = amount.mean(axis=0)
        worth, regret = _money([drawn.keys[n] for n in own], drawn.amount[:, own].mean(axis=(0, 2)), money)
        for day in np.flatnonzero(mean > LEAST * mean.max(initial=0.0)).tolist():
            wants.append(Want(product=product, parts=parts, day=day, live=live, amount=float(mean[day]), worth=worth,
                              regret=regret, lines=()))  # fmt: skip
            amounts.append(amount[:, day : day + 1])
    return wants, np.concatenate(amounts, axis=1)


def _money(keys: list[SpotKey], weights: Floats, money: Money) -> tuple[float, float]:
    """What a gram, or a live tray, of a product brings on the whole, and what letting it down costs beyond that."""
    if not weights.any():
        weights = np.ones(len(keys))
    worth = np.average([key.price - money.packaging * key.packs for key in keys], weights=weights)
    regret = np.average([money.shortfall * key.price * key.weight for key in keys], weights=weights)
    return float(worth), float(regret)
