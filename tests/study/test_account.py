"""The account counts a tray and a line as the plan does, and as one would by hand."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from trayward.bootstrap import Farm
from trayward.farm.calendar import day_start
from trayward.farm.orders import LineDue, Part
from trayward.farm.recipes import Recipe
from trayward.farm.settings import Money
from trayward.plan.days import Days
from trayward.plan.limits import HANDS, LIT, OFF, Limits
from trayward.plan.uses import CUT, DISCARD, LIVE, Life, Uses, charge
from trayward.study.account import How, Rates, Tally, line_met, line_money, tray_cost
from trayward.study.world_file import SeasonWorld, world_named

DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def world() -> SeasonWorld:
    return world_named("loft medium")


@pytest.fixture(scope="module")
def farm(world: SeasonWorld) -> Farm:
    return Farm.create(":memory:", world.setup_bodies(), at=day_start(world.first, world.settings))


@pytest.fixture(scope="module")
def rates(world: SeasonWorld, farm: Farm) -> Rates:
    start = day_start(world.first, world.settings)
    return Rates(farm.state(start), world.settings, world.first)


def recipe_of(farm: Farm, world: SeasonWorld, crop: str) -> Recipe:
    state = farm.state(day_start(world.first, world.settings))
    return next(recipe for recipe in state.recipes.values() if recipe.crop == crop)


@pytest.mark.parametrize("crop", ["broccoli", "pea", "basil", "red cabbage"])
@pytest.mark.parametrize(("how", "number"), [("cut", CUT), ("live", LIVE), ("thrown", DISCARD)])
def test_a_tray_costs_what_the_plan_says_it_costs(
    how: How, number: int, crop: str, farm: Farm, world: SeasonWorld, rates: Rates
) -> None:
    """Hands and light of an option on working days, charged by `plan.uses`; day 0 is a Monday."""
    recipe = recipe_of(farm, world, crop)
    starts = list(range(0, 2 * len(recipe.stages), 2))
    leave = starts[-1] + (2 if starts[-1] % 7 == 6 or (starts[-1] + 1) % 7 == 6 else 1)
    start = day_start(world.first, world.settings)
    days = Days(world.settings, world.first, 40)
    limits = Limits(farm.state(start), world.settings, days, start)
    uses, column = Uses(), np.zeros(1, dtype=np.int64)
    life = Life(recipe, recipe.stages, np.array([starts]), np.array([leave]), number)
    charge(uses, column, life, limits, days, len(world.settings.rounds))
    money = world.settings.money
    hands = uses.totals((HANDS, OFF), 1)[0] * money.wage_h / 60
    light = uses.totals((LIT,), 1)[0] * limits.light_kwh() * money.energy_kwh
    cost = tray_cost(recipe, rates, starts=starts, leave=leave, how=how, seed=0.4)
    assert cost.hands == pytest.approx(hands)
    assert cost.energy == pytest.approx(light)
    assert cost.seed == 0.4


def test_a_broccoli_tray_by_hand(farm: Farm, world: SeasonWorld, rates: Rates) -> None:
    """Sown on day 0, blackout on 3, light on 4, ready on 8, cut on 9, at 15 EUR an hour and two walks a day.

    Minutes: 5 sowing, 8 cutting, 4 washing, 1 + 1 + 1.5 to begin stages, 9 x 2 x 0.2 looking, 1 for the mat: 25.1.
    Wear: mat 0.10, mesh tray 0.04, solid tray 0.03, cover 0.02.
    """
    cost = tray_cost(recipe_of(farm, world, "broccoli"), rates, starts=(0, 3, 4, 8), leave=9, how="cut")
    assert cost.hands == pytest.approx(25.1 * 15 / 60)
    assert cost.medium == pytest.approx(0.19)
    assert cost.energy == pytest.approx(5 * rates.lit_day)


def test_a_tray_lost_in_the_dark_has_cost_no_light(farm: Farm, world: SeasonWorld, rates: Rates) -> None:
    recipe = recipe_of(farm, world, "broccoli")
    lost = tray_cost(recipe, rates, starts=(0, 3), leave=4, how="thrown")
    assert lost.energy == 0.0
    assert lost.hands < tray_cost(recipe, rates, starts=(0, 3, 4, 8), leave=9, how="thrown").hands


def line(done_g: float, **more: object) -> LineDue:
    settled = {"packs": 4.0, "pack_g": 50.0, "weight": 2.0, "value": 15.2, **more}
    return LineDue(
        line="a/1", customer="Moth & Marrow", product="garden mix", due=date(2026, 3, 3), parts=(Part(crop="kale"),),
        live=False, grams=200.0, trays=0, done_g=done_g, **settled,  # type: ignore[arg-type]
    )  # fmt: skip


def test_three_packs_of_four_bring_three_quarters() -> None:
    """Value 15.20 for 4 packs; packaging 0.22 each; half a price on top for letting a customer of weight 2 down."""
    found = line_money(line(150.0), line_met(line(150.0)), Money(packaging=0.22, shortfall=0.5))
    assert found.sales == pytest.approx(11.4)
    assert found.packaging == pytest.approx(0.66)
    assert found.shortfall == pytest.approx(0.5 * 2.0 * 15.2 * 0.25)


def test_more_than_was_asked_brings_no_more() -> None:
    assert line_met(line(260.0)) == 1.0


def test_a_tally_adds_up_by_day_and_by_part() -> None:
    tally = Tally(date(2026, 3, 2), 3)
    tally.add_lines([line(100.0)], Money(packaging=0.22, shortfall=1.0))
    tally.add(date(2026, 3, 4), "disposal", 0.5)
    assert tally.margin == pytest.approx(7.6 - 0.44 - 15.2 - 0.5)
    assert tally.money == pytest.approx(tally.margin + 15.2)
    assert tally.by_day() == pytest.approx((0.0, 7.6 - 0.44 - 15.2, tally.margin))
