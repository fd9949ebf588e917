"""Spot orders that usually come are sown for where the farm wants it, and only there."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta

import numpy as np
import pytest

from tests.outlook.ordered import START, Habit, placed_by
from tests.outlook.ordered import farm as ordered_farm
from tests.plan.doubts import QUICK, set_farm, told
from tests.plan.farms import farm, recipe, trays
from trayward.farm.settings import Money
from trayward.farm.state import FarmState
from trayward.outlook.ahead import look_ahead
from trayward.outlook.demand import look_for_orders
from trayward.plan.days import Days
from trayward.plan.make import make_plan
from trayward.plan.spot import spot_wants
from trayward.plan.types import Plan

AT = datetime.combine(START + timedelta(days=140), time(7), tzinfo=UTC)
"""A Monday, after twenty weeks of orders."""
CAFE = Habit(name="Kite Cafe", chances=(0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0), products={"radish": 1.0},
             amounts={"radish": 100.0}, spread=0.05, ahead=(2, 2))  # fmt: skip
"""About 100 g of radish every Tuesday, asked for two days before."""


def grower(*, counted_on: bool) -> FarmState:
    """A farm with that history, and nothing ordered for the days to come."""
    past = ordered_farm(placed_by([CAFE], 20, 1), AT)
    state = set_farm(
        farm(recipes=(recipe(window=1, keeps=1),), money=Money(shortfall=0.5)), plan_spot_orders=counted_on
    )
    state.customers, state.products = past.customers, past.products
    state.orders, state.order_placed = past.orders, past.order_placed
    for one in state.seed.values():
        one.received_at = AT - timedelta(days=30)
        one.tests = [(AT, *one.tests[0][1:])]
    return state


def planned(state: FarmState) -> Plan:
    return make_plan(state, look_ahead(state, AT), AT, weeks=3, effort=QUICK)


def test_the_plan_sows_for_orders_that_usually_come_where_the_farm_wants_it() -> None:
    """Two Tuesdays can be sown for, tomorrow's is too soon: two trays at the least for each."""
    made = planned(grower(counted_on=True))
    assert trays(made) >= 2
    tuesdays = {(AT + timedelta(days=number)).date() for number in (8, 15)}
    assert {min(one.cut_on for one in made.sowings)} <= {
        day - timedelta(days=back) for day in tuesdays for back in (0, 1)
    }
    assert any("Counts on about 98 g a week of spot orders" in note for note in made.notes)
    assert made.lines == ()
    assert made.money.sales > 0


def test_switched_off_it_sows_nothing_for_them_and_says_so() -> None:
    made = planned(grower(counted_on=False))
    assert trays(made) == 0
    assert any(note.startswith("Leaves out about 98 g a week") for note in made.notes)


def wants(state: FarmState, scenarios: int = 300) -> tuple[list[object], np.ndarray]:
    demand = look_for_orders(state, AT)
    assert demand is not None
    assert state.settings is not None
    days = Days(state.settings, AT.date(), 21)
    found, amounts = spot_wants(demand, days, state.settings.money, scenarios, np.random.default_rng(4))
    return list(found), amounts


def test_what_usually_comes_is_wanted_on_its_weekdays_with_its_mean_and_money() -> None:
    """About 100 g every Tuesday (spread 5 %, told from twenty weeks: within 10), at 4.00 a 100 g as last asked."""
    found, amounts = wants(grower(counted_on=True))
    tuesdays = [want for want in found if want.day in (8, 15)]  # type: ignore[attr-defined]
    assert len(tuesdays) == 2
    assert amounts.shape == (300, len(found))
    for number, want in enumerate(found):
        assert want.amount == pytest.approx(float(amounts[:, number].mean()))  # type: ignore[attr-defined]
        assert want.lines == ()  # type: ignore[attr-defined]
    assert sum(want.amount for want in tuesdays) == pytest.approx(200, abs=30)  # type: ignore[attr-defined]
    assert all(want.regret == pytest.approx(0.5 * want.worth) for want in tuesdays)  # type: ignore[attr-defined]


def test_days_that_hardly_bring_anything_are_left_out() -> None:
    found, _ = wants(grower(counted_on=True))
    most = max(want.amount for want in found)  # type: ignore[attr-defined]
    assert min(want.amount for want in found) >= 0.02 * most  # type: ignore[attr-defined]


def test_what_may_come_differs_from_scenario_to_scenario_and_is_served_as_such() -> None:
    made = told(grower(counted_on=True), at=AT)
    amounts = made.decision.amounts
    assert amounts.std(axis=0).max() > 0
    for claim, met in zip(made.decision.claims, made.decision.served.met, strict=True):
        assert claim.line == -1
        assert (met <= claim.amount + 1e-9).all()
