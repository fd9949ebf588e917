"""One crop, one day, one harvest: the plan sows what the textbooks of the newsvendor say."""

from __future__ import annotations

from collections.abc import Callable
from statistics import NormalDist
from typing import Any

import numpy as np
import pytest

from tests.plan.doubts import Typical, set_farm, simple_plot
from tests.plan.farms import NOW, farm, lot, order, recipe, trays
from trayward.farm.recipes import Recipe
from trayward.farm.settings import Money
from trayward.farm.state import FarmState
from trayward.outlook.ahead import look_ahead
from trayward.plan import under_doubt
from trayward.plan.days import Floats
from trayward.plan.decide import Effort
from trayward.plan.demand import Want, for_sure
from trayward.plan.futures import Futures, SownFuture
from trayward.plan.make import make_plan
from trayward.plan.serving import Claim, Served, serve
from trayward.plan.types import Plan

DEMAND = NormalDist(200, 80)
"""Cachon and Terwiesch, Matching Supply with Demand, 3rd ed., published solutions to chapter 12, Q12.1."""
PRICE, COST, SALVAGE = 20.0, 12.0, 8.0
"""The same. What is left over still brings 8; so a unit costs 4 for sure, and one sold brings 12."""
COUNT = 128
"""Scenarios: midpoints of as many equal parts of the distribution, so that no luck of the draw is in the answers."""
DAY = 5


def midpoints(distribution: NormalDist, count: int = COUNT) -> Floats:
    """One value from the middle of each of some equal parts; nobody orders less than nothing."""
    values = [distribution.inv_cdf((number + 0.5) / count) for number in range(count)]
    return np.array([max(value, 0.0) for value in values])


def one_gram_trays(*, cost: float, disposal: float = 0.0, sure: float = 0.5, shortfall: float = 0.0) -> FarmState:
    """A farm with trays of one gram, so that trays are units; they cost what is said and must be cut on the day."""
    seed = lot(grams=1e6)
    seed.cost = 0.0
    state = farm(
        recipes=(recipe(grams=1.0, window=0, keeps=0, medium=cost),),
        lots=(seed,),
        dark=10_000,
        lit=10_000,
        money=Money(disposal_kg=1000 * disposal, shortfall=shortfall),
    )
    return set_farm(state, caution=sure, plan_spot_orders=True, calm=0.0)


def with_demand(state: FarmState, monkeypatch: pytest.MonkeyPatch, amounts: Floats, worth: float) -> Plan:
    """The plan of a farm whose only demand is spot orders of a gram's worth, so many grams in each scenario."""
    want = Want(product="radish", parts=(("radish", 1.0),), day=DAY, live=False, amount=float(amounts.mean()),
                worth=worth, regret=0.0, lines=())  # fmt: skip
    whole = np.concatenate([amounts, amounts])[:, None]
    monkeypatch.setattr(under_doubt, "_spot", lambda *_: (([want], whole), ""))
    effort = Effort(scenarios=len(amounts), checked=len(amounts), proof_seconds=0)
    return make_plan(state, look_ahead(state, NOW), NOW, weeks=3, effort=effort, biology=Typical(state.recipes))


# How much to sow ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("disposal", [0.0, 1.0])
def test_the_plan_sows_the_textbooks_critical_fractile_of_a_demand(
    monkeypatch: pytest.MonkeyPatch, disposal: float
) -> None:
    """
    PLAN-01: critical ratio 8 / 12, exact quantity 234.5 (the book's 235.2 rounds z up to 0.44).

    Too little costs 20 - 12 = 8 a unit and too much 12 - 8 = 4, whether 4 is lost on the tray or partly on throwing its
    crop away. Within a tray, and half the space between two scenarios, 1.1 there.
    """
    under, over = PRICE - COST, COST - SALVAGE
    cost = over - disposal
    made = with_demand(one_gram_trays(cost=cost, disposal=disposal), monkeypatch, midpoints(DEMAND), under + cost)
    assert trays(made) == pytest.approx(DEMAND.inv_cdf(under / (under + over)), abs=1.6)
    assert trays(made) == pytest.approx(234.5, abs=1.6)


@pytest.mark.parametrize("sure", [0.8, 0.9])
def test_a_farm_that_wants_to_be_surer_sows_the_fractile_it_wants(monkeypatch: pytest.MonkeyPatch, sure: float) -> None:
    """`sure` above the critical ratio takes its place: Arrow, Harris and Marschak (1951), from memory."""
    made = with_demand(one_gram_trays(cost=4.0, sure=sure), monkeypatch, midpoints(DEMAND), 12.0)
    spacing = DEMAND.inv_cdf(sure + 1 / COUNT) - DEMAND.inv_cdf(sure)
    assert trays(made) == pytest.approx(DEMAND.inv_cdf(sure), abs=1 + spacing)


def test_a_farm_content_with_less_still_sows_all_that_pays(monkeypatch: pytest.MonkeyPatch) -> None:
    made = with_demand(one_gram_trays(cost=4.0, sure=0.3), monkeypatch, midpoints(DEMAND), 12.0)
    assert trays(made) == pytest.approx(DEMAND.inv_cdf(2 / 3), abs=1.6)


def test_nothing_is_sown_for_orders_nobody_placed_that_would_not_pay_for_their_trays(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A gram that brings 3 is not worth a tray that costs 4, however sure its sale and the farm wants to be."""
    made = with_demand(one_gram_trays(cost=4.0, sure=0.8), monkeypatch, midpoints(DEMAND), 3.0)
    assert trays(made) == 0


def unsure_yield(shares: Floats) -> Callable[..., Futures]:
    """Trays ready on the day due, all of a scenario with the same share of a gram."""

    def futures(_state: FarmState, _outlook: Any, _at: Any, ways: Any, days: Any, scenarios: int, *_: Any) -> Futures:
        wide = np.resize(shares, scenarios)
        sown = [_sown(way.recipe, days.count, wide) for way in ways.ways]
        return Futures(sown, [None] * len(sown), [], scenarios)

    return futures


def _sown(grown: Recipe, days: int, grams: Floats) -> SownFuture:
    lengths = np.cumsum([0, *(int(stage.days_typical) for stage in grown.growing_stages)])
    begins = np.arange(days)[None, :, None] + lengths[None, None, :]
    begins = np.repeat(begins, len(grams), axis=0)
    return SownFuture(begins, np.zeros_like(begins), np.repeat(grams[:, None], days, axis=1), begins[..., -1])


def test_where_the_yield_is_unsure_the_plan_sows_more_than_the_mean_yield_asks_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """
    PLAN-04: 100 wanted, yields uniform from 0.7 to 1.0; 6 lost on each too little, 2 on each too many: 127.3 trays.

    Henig and Gerchak (1990); Yano and Lee (1995), doi 10.1287/opre.43.2.311 (both from memory). Planning on the mean
    would sow 117.6. Trays are free here, a gram brings 6 and one thrown away costs 2. Within a tray.
    """
    shares = 0.7 + 0.3 * (np.arange(COUNT) + 0.5) / COUNT
    state = one_gram_trays(cost=0.0, disposal=2.0)
    state.orders["radish-5"] = order(DAY, 100, price=6.0)
    set_farm(state, plan_spot_orders=False)
    monkeypatch.setattr(under_doubt, "_futures", unsure_yield(shares))
    effort = Effort(scenarios=COUNT, checked=COUNT, proof_seconds=0)
    made = make_plan(state, look_ahead(state, NOW), NOW, weeks=3, effort=effort)
    assert trays(made) == pytest.approx(127.3, abs=1.0)
    (line,) = made.lines
    assert line.chance == pytest.approx(float((trays(made) * shares >= 99.5).mean()), abs=1e-4)


# What comes of it -----------------------------------------------------------------------------------------------------

MANY = 20_000
Q = DEMAND.inv_cdf(2 / 3)
BELOW_NOTHING = 80 * (NormalDist().pdf(2.5) - 2.5 * NormalDist().cdf(-2.5))
"""The normal law lets demand be negative; here nobody orders less than nothing, which is 0.16 more in the mean."""


def served(units: float) -> tuple[Served, Floats]:
    """What so many one-gram trays do for the demand."""
    amounts = midpoints(DEMAND, MANY)
    ones = np.ones((MANY, 1))
    plot = simple_plot("radish", ones, np.zeros((MANY, 1)), np.zeros((MANY, 1)), [DAY])
    claim = Claim(-1, 0, DAY, False, (("radish", 1.0),), amounts, 12.0, 12.0)
    return serve([plot], [np.array([units])], [claim]), amounts


def test_serving_gives_the_textbooks_expected_sales_leftover_and_profit() -> None:
    """PLAN-02: lost sales 17.60, sales 182.40, leftover 52.06, profit 1250.9."""
    came, amounts = served(Q)
    sales, left = float(came.met.mean()), float(came.wasted.mean())
    assert sales == pytest.approx(182.40 + BELOW_NOTHING, abs=0.05)
    assert float((amounts - came.met[0]).mean()) == pytest.approx(17.60, abs=0.05)
    assert left == pytest.approx(52.06 - BELOW_NOTHING, abs=0.05)
    assert sales + left == pytest.approx(Q, abs=1e-6)
    profit = PRICE * sales + SALVAGE * left - COST * Q
    assert profit == pytest.approx(1250.9 + (PRICE - SALVAGE) * BELOW_NOTHING, abs=0.5)


def test_the_chance_to_meet_a_demand_is_the_normal_laws() -> None:
    """PLAN-03: P(D < 400) = 0.9938, P(D < 100) = 0.1056, P(160 < D < 240) = 0.3830."""

    def chance(units: float) -> float:
        came, amounts = served(units)
        return float((came.met[0] >= amounts - 1e-9).mean())

    assert chance(400.0) == pytest.approx(0.9938, abs=2e-4)
    assert chance(100.0) == pytest.approx(0.1056, abs=2e-4)
    assert chance(240.0) - chance(160.0) == pytest.approx(0.3830, abs=2e-4)


def test_the_price_of_letting_down_makes_the_critical_ratio_what_the_farm_wants() -> None:
    """(worth + price - cost) / (worth + price) is the share asked for, wherever the sale alone does not reach it."""
    for worth, cost, sure in [(0.05, 0.03, 0.8), (12.0, 4.0, 0.9), (0.0, 0.02, 0.95)]:
        whole = worth + for_sure(worth, cost, sure)
        assert (whole - cost) / whole == pytest.approx(sure)
    assert for_sure(12.0, 4.0, 2 / 3) == pytest.approx(0.0, abs=1e-9)
    assert for_sure(12.0, 4.0, 0.5) == 0.0
