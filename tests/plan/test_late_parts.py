"""Which part of a mix is too late to sow: only one that cut crop and standing trays do not cover."""

from __future__ import annotations

import pytest

from tests.plan.farms import day, farm, line, lot, order, plan, recipe
from tests.plan.test_limits import in_the_cold_room, limit, stand
from trayward.farm.orders import Part, Product
from trayward.farm.state import FarmState
from trayward.plan.types import Plan

SLOW = recipe(window=1, keeps=3)
"""Radish, five days from sowing; 100 g a tray."""
QUICK = recipe("pea", dark=1.0, light=2.0, window=1, keeps=1)
"""Pea, three days from sowing; 100 g a tray."""
MIX = Product(name="mix", parts=(Part(crop="radish", share=0.5), Part(crop="pea", share=0.5)), price=10.0)


def mixed(number: int, *, pea_seed: float = 1000.0, grams: float = 200) -> FarmState:
    """A farm with one line of mix due on a day."""
    lots = (lot(), lot("pea", pea_seed))
    return farm(order(number, grams, product="mix"), recipes=(SLOW, QUICK), lots=lots, products=(MIX,))


def why(made: Plan, name: str) -> str:
    return line(made, name).why


def test_a_slow_part_that_lies_in_the_cold_room_is_not_what_is_too_late() -> None:
    """Due on day 2: radish takes five days but 100 g of it lie cut; pea takes three and there is none."""
    state = mixed(2)
    state.harvests["H1"] = in_the_cold_room(100, age=0, keeps=3)
    made = plan(state)
    assert "Too late to sow pea: it takes 3 days when slow, so it had to be sown by Sun 29 Nov" in why(made, "mix-2/1")
    assert "radish" not in limit(made, "time").message.split(" Wanted for")[0]
    assert (limit(made, "time").has, limit(made, "time").short) == (2.0, 1.0)


def test_a_slow_part_that_stands_ready_in_time_is_not_what_is_too_late() -> None:
    made = plan(stand(mixed(2), 1))
    assert "Too late to sow pea" in why(made, "mix-2/1")
    assert "Too late to sow radish" not in why(made, "mix-2/1")


def test_standing_trays_that_are_ready_only_after_the_day_do_not_count() -> None:
    """Ready on day 2, wanted on day 1: neither part is there, and the slower is named."""
    made = plan(stand(mixed(1), 1))
    assert "Too late to sow radish" in why(made, "mix-1/1")


def test_cut_crop_that_does_not_keep_until_the_day_does_not_count() -> None:
    state = mixed(2)
    state.harvests["H1"] = in_the_cold_room(100, age=2, keeps=3)
    assert "Too late to sow radish" in why(plan(state), "mix-2/1")


def test_a_mix_short_of_a_part_that_could_be_sown_in_time_is_not_called_late() -> None:
    """Due on day 3: radish lies cut, pea can still be sown today, but there is seed for one tray of the two."""
    state = mixed(3, pea_seed=10.0, grams=400)
    state.harvests["H1"] = in_the_cold_room(200, age=0, keeps=3)
    made = plan(state)
    assert line(made, "mix-3/1").met_grams == pytest.approx(200, abs=1)
    assert [one.limit for one in made.limits] == ["seed of pea"]
    assert "Too late" not in why(made, "mix-3/1")
    assert "Seed of pea: 10 g" in why(made, "mix-3/1")


def test_a_slow_part_there_is_too_little_of_is_what_is_too_late() -> None:
    """Radish lies cut for half of the mix; pea can be sown for all of it."""
    state = mixed(3)
    state.harvests["H1"] = in_the_cold_room(50, age=0, keeps=3)
    made = plan(state)
    assert line(made, "mix-3/1").met_grams == pytest.approx(100, abs=1)
    assert "Too late to sow radish" in why(made, "mix-3/1")


def test_cut_crop_the_plan_gives_to_others_does_not_count() -> None:
    """The 100 g of radish that lie cut go to a dearer line of the same day; none is left for the mix."""
    state = mixed(3)
    state.orders["loose"] = order(3, 100, name="loose", price=5.0)
    state.harvests["H1"] = in_the_cold_room(100, age=0, keeps=3)
    made = plan(state)
    assert line(made, "loose/1").met
    assert "Too late to sow radish" in why(made, "mix-3/1")


def test_standing_trays_the_plan_gives_to_others_do_not_count() -> None:
    state = mixed(3)
    state.orders["loose"] = order(3, 100, name="loose", price=5.0)
    made = plan(stand(state, 1))
    assert line(made, "loose/1").met
    assert "Too late to sow radish" in why(made, "mix-3/1")
    made = plan(stand(state, 2))
    assert all(one.met for one in made.lines)


def test_a_part_without_a_recipe_that_lies_cut_is_not_what_is_lacking() -> None:
    """Nobody grows radish here any more, but enough of it lies cut; pea is what comes too late."""
    state = mixed(2)
    state.harvests["H1"] = in_the_cold_room(100, age=0, keeps=3)
    state.dropped_recipes.add("radish")
    made = plan(state)
    assert "Too late to sow pea" in why(made, "mix-2/1")
    assert "no recipe" not in why(made, "mix-2/1")


def test_live_trays_are_late_only_beyond_those_that_stand() -> None:
    live = Product(name="live radish", parts=(Part(crop="radish"),), live=True, price=12.0, price_per="tray")
    asked = order(3, 2, product="live radish", unit="trays", price=12.0)
    made = plan(stand(farm(asked, recipes=(SLOW,), products=(live,)), 1))
    assert line(made, "live radish-3/1").met_trays == 1
    assert "1 live tray short. Too late to sow radish" in why(made, "live radish-3/1")
    assert limit(made, "time").first == day(3)
