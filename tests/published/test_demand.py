"""The forecast of spot orders on real demand, beside simple rules: daily portions of seven dishes in one restaurant.

The data is that of the Python package ddop (BSD-3-Clause, copyright 2007-2020 the ddop developers; its README stands
beside it): 765 days. It is one buyer who wants something of nearly everything every day, so it tests levels, weekdays
and ranges, and not whether a customer orders at all. Restaurants are typical buyers, but this is not produce demand.
"""

from __future__ import annotations

import csv
import os
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from trayward.farm.orders import Customer, LineAsked, Order, Part, Product
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.outlook.demand import look_for_orders

DATA = Path(os.environ.get("TRAYWARD_TEST_DATA") or Path(__file__).parents[3] / "shared" / "data")
FILE = DATA / "demand-restaurant-daily" / "restaurant_daily_demand.csv"
DISHES = ("calamari", "fish", "shrimp", "chicken", "koefte", "lamb", "steak")
SHARES = np.array([0.1, 0.25, 0.5, 0.75, 0.9])
BEGIN, JUDGED = 30, 22
"""The first week foretold, and how many weeks before it the rules take their ranges from. [weeks]"""


class Score(NamedTuple):
    """Mean pinball loss [portions] and share of 80 % ranges that held, by day and dish (dishes,) and by week."""

    day_loss: float
    day_held: np.ndarray
    week_loss: float
    week_held: float


def demand() -> tuple[list[date], np.ndarray]:
    """The days, and portions by day and dish."""
    if not FILE.exists():
        pytest.skip("the open data on a restaurant's daily demand is not there")
    with FILE.open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    return [date.fromisoformat(row["date"]) for row in rows], np.array(
        [[float(row[dish]) for dish in DISHES] for row in rows]
    )


def pinball(quantiles: np.ndarray, came: np.ndarray) -> float:
    """Koenker & Bassett (1978), Econometrica 46:33-50 (from memory): the loss whose least mean is at the quantile."""
    off = came - quantiles
    share = SHARES.reshape(-1, *[1] * came.ndim)
    return float(np.maximum(share * off, (share - 1) * off).mean())


def scored(days: list[np.ndarray], weeks: list[np.ndarray], came: list[np.ndarray]) -> Score:
    """Quantiles (5, day, dish) and (5, dish), week by week, against what came (day, dish)."""
    held = [(real >= foretold[0]) & (real <= foretold[-1]) for foretold, real in zip(days, came, strict=True)]
    week_held = [
        (real.sum(axis=0) >= foretold[0]) & (real.sum(axis=0) <= foretold[-1])
        for foretold, real in zip(weeks, came, strict=True)
    ]
    return Score(
        float(np.mean([pinball(foretold, real) for foretold, real in zip(days, came, strict=True)])),
        np.mean(held, axis=(0, 1)),
        float(np.mean([pinball(foretold, real.sum(axis=0)) for foretold, real in zip(weeks, came, strict=True)])),
        float(np.mean(week_held)),
    )


def ours(days: list[date], portions: np.ndarray, starts: range) -> Score:
    """Every seventh day at 7:00, the week from that day on; each day's order is placed at noon of the day itself."""
    orders = [
        Order(
            order=day.isoformat(),
            customer="restaurant",
            due=day,
            lines=tuple(
                LineAsked(line=str(number), product=dish, quantity=amount)
                for number, (dish, amount) in enumerate(zip(DISHES, row, strict=True))
                if amount > 0
            ),
        )
        for day, row in zip(days, portions, strict=True)
    ]
    luck, by_day, by_week = np.random.default_rng(1), [], []
    for start in starts:
        past = [order for order in orders[:start] if order.lines]
        state = FarmState(
            settings=FarmSettings(name="Lantern Loft", plan_spot_orders=True),
            customers={"restaurant": Customer(name="restaurant")},
            products={dish: Product(name=dish, parts=(Part(crop=dish),)) for dish in DISHES},
            orders={order.order: order for order in past},
            order_placed={order.order: datetime.combine(order.due, time(12), tzinfo=UTC) for order in past},
        )
        found = look_for_orders(state, datetime.combine(days[start], time(7), tzinfo=UTC))
        assert found is not None
        draws = found.draws(days[start], 7, 400, luck)
        keys = [key.product for key in draws.keys]
        amount = draws.amount[:, [keys.index(dish) for dish in DISHES], :].transpose(0, 2, 1)
        by_day.append(np.quantile(amount, SHARES, axis=0))
        by_week.append(np.quantile(amount.sum(axis=1), SHARES, axis=0))
    return scored(by_day, by_week, [portions[start : start + 7] for start in starts])


def rule(portions: np.ndarray, starts: range, weeks: int) -> Score:
    """The mean of the same weekday in the last weeks, with the range of what that rule missed by in 22 weeks before."""
    by_day, by_week = [], []
    usual = np.full_like(portions, np.nan)
    for day in range(7 * weeks, len(portions)):
        usual[day] = portions[[day - 7 * (back + 1) for back in range(weeks)]].mean(axis=0)
    for start in starts:
        off = (portions - usual)[start - 7 * JUDGED : start].reshape(JUDGED, 7, -1)
        middle = usual[start : start + 7]
        by_day.append(np.maximum(0.0, middle + np.quantile(off.reshape(-1, len(DISHES)), SHARES, axis=0)[:, None]))
        by_week.append(middle.sum(axis=0) + np.quantile(off.sum(axis=1), SHARES, axis=0))
    return scored(by_day, by_week, [portions[start : start + 7] for start in starts])


def test_real_demand_is_foretold_better_than_by_simple_rules_and_ranges_hold() -> None:
    """
    Measured when this was written, 79 weeks: loss a day 1.69 portions (last week's weekday 2.19, mean of four 1.78), a
    week 5.7 (6.8, 6.0); 83 in 100 ranges for 80 held by day (81, 79), 81 by week (74, 69).
    """
    days, portions = demand()
    starts = range(7 * BEGIN, len(days) - 7, 7)
    found, last, four = ours(days, portions, starts), rule(portions, starts, 1), rule(portions, starts, 4)
    assert len(starts) == 79
    assert found.day_loss < 0.97 * four.day_loss
    assert found.day_loss < 0.85 * last.day_loss
    assert found.week_loss < min(four.week_loss, last.week_loss)
    assert 0.77 <= found.day_held.mean() <= 0.87
    # A dish at a time, 550 days in 79 weeks: shared weeks leave about 4 points of chance.
    assert found.day_held.min() >= 0.73
    assert found.day_held.max() <= 0.91
    assert 0.75 <= found.week_held <= 0.87
