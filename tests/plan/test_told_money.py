"""The money of a plan adds up, as at a till."""

from __future__ import annotations

import math

import pytest

from tests.plan.doubts import certain, doubtful, told
from tests.plan.farms import day, farm, order, recipe
from tests.plan.test_rules import some_farm
from tests.plan.test_under_doubt import EXACT, HOME, PUNNET
from trayward.dates import day_words
from trayward.farm.settings import Money
from trayward.plan.decide import Effort
from trayward.plan.told_money import read_money

FEW = Effort(scenarios=12, checked=60, proof_seconds=0, reasons=False)


def test_the_money_of_a_plan_without_doubt_is_that_of_a_till() -> None:
    """Two trays: 20 g seed at 0.01, mats at 0.50, 13 min each at 12 an hour; 150 g sold at 0.10, 50 g thrown away."""
    grown = recipe(window=0, keeps=0, medium=0.5, minutes=(5, 0, 8, 0))
    made = certain(farm(order(5, 150), recipes=(grown,), money=Money(wage_h=12.0, disposal_kg=2.0)))
    money = made.money
    assert (money.sales, money.seed, money.medium) == (15.0, 0.2, 1.0)
    assert money.hands == pytest.approx(2 * 13 * 12 / 60)
    assert money.disposal == pytest.approx(0.1)
    assert money.margin == pytest.approx(15.0 - 0.2 - 1.0 - 5.2 - 0.1)
    assert money.shortfall == 0.0


def test_what_is_let_down_is_priced_but_is_not_money() -> None:
    made = certain(farm(order(4, 100, price=0.2), recipes=(EXACT,), money=Money(shortfall=1.5)))
    assert made.money.shortfall == pytest.approx(30.0)
    assert made.money.margin == 0.0


def test_packaging_is_paid_for_what_is_delivered() -> None:
    made = certain(farm(order(5, 4, product="punnet", unit="packs", price=3.0), recipes=(EXACT,), products=(PUNNET,),
                        money=Money(packaging=0.25)))  # fmt: skip
    assert (made.money.sales, made.money.packaging) == (12.0, 1.0)


def test_what_the_house_eats_brings_no_money_and_is_grown() -> None:
    made = certain(farm(order(5, 100, product="for the house", price=0.0), recipes=(EXACT,), products=(HOME,)))
    assert made.money.sales == 0.0
    assert made.lines[0].chance == 1.0


def test_expected_money_is_the_mean_of_the_money_in_each_scenario() -> None:
    made = told(some_farm(1), effort=FEW)
    decision, settings = made.decision, made.settings.money
    sales = [0.0] * 60
    for claim, met in zip(decision.claims, decision.served.met, strict=True):
        due = made.lines[claim.line].line
        for scenario in range(60):
            sales[scenario] += due.value * float(met[scenario]) / due.grams
    money = read_money(made)
    assert money.sales == pytest.approx(math.fsum(sales) / 60, abs=0.01)
    assert money.disposal == pytest.approx(float(decision.served.wasted.mean()) * settings.disposal_kg / 1000, abs=0.01)
    costs = sum(float(plot.choices.cost @ take) for plot, take in zip(decision.checked, decision.takes, strict=True))
    assert money.seed + money.medium + money.hands + money.energy == pytest.approx(costs, rel=0.02)


def test_the_objective_is_what_is_asked_for_less_what_the_plan_costs() -> None:
    made = told(some_farm(1), effort=FEW)
    plan = doubtful(some_farm(1), effort=FEW)
    asked = sum(want.worth * want.amount for want in made.task.wants)
    assert plan.objective == pytest.approx(asked - made.decision.cost, abs=0.01)
    assert day_words(day(0)) == "Mon 30 Nov"
