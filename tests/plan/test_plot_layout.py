"""The choices of a crop by hand: when a tray can serve, what it weighs and what it costs."""

from __future__ import annotations

import numpy as np
import pytest

from tests.plan.doubts import Typical, told, unsure_recipe
from tests.plan.farms import day, farm, lot, order, recipe
from tests.plan.test_under_doubt import on_mats, stand
from trayward.farm.kit import Pool, PoolState
from trayward.farm.places import Lamp, Shelf
from trayward.farm.recipes import Recipe
from trayward.farm.settings import Money
from trayward.farm.state import FarmState
from trayward.plan.limits import LIT
from trayward.plan.plots import Plot
from trayward.plan.uses import CUT, DISCARD


def plots(state: FarmState) -> list[Plot]:
    return told(state, biology=Typical(state.recipes)).decision.plots


def choice(plot: Plot, sow: int, *, stand: int = 0, how: int = CUT, evening: bool = False) -> int:
    """The number of a choice of what is sown, in the morning or the `evening`."""
    choices = plot.choices
    own = (choices.way >= 0) & (choices.sow == sow) & (choices.stand == stand) & (choices.how == how)
    own &= choices.evening == evening
    (found,) = np.flatnonzero(own)
    return int(found)


# When it can serve ----------------------------------------------------------------------------------------------------


def test_a_tray_serves_from_its_first_cut_to_the_end_of_its_cold_room_life() -> None:
    """Ready on day 5, cut at once, good for two days more: days 5, 6 and 7 of those asked for."""
    (plot,) = plots(farm(*(order(n, 50) for n in (4, 5, 7, 8)), recipes=(recipe(window=0, keeps=2),)))
    one = choice(plot, 0)
    dues = plot.demand.days.tolist()
    assert dues == [4, 5, 7, 8]
    assert (dues[plot.choices.first[0, one]], dues[plot.choices.last[0, one]]) == (5, 7)


def test_a_tray_that_may_stand_is_cut_when_it_is_first_needed_and_keeps_from_then_on() -> None:
    """Ready on day 5, good for a day once cut: cut at once it serves nobody, cut for day 7 it serves that and day 8."""
    (plot,) = plots(farm(*(order(n, 50) for n in (7, 8, 9)), recipes=(recipe(window=2, keeps=1),)))
    dues, choices = plot.demand.days.tolist(), plot.choices
    waits, passes = choice(plot, 0, stand=2), choice(plot, 1, stand=3)
    assert not ((choices.sow == 0) & (choices.stand == 0) & ~choices.evening).any()
    assert [dues[choices.first[0, waits]], dues[choices.last[0, waits]], choices.leave[0, waits]] == [7, 8, 7]
    # Sown a day later and passing over day 7, it is cut for day 8.
    assert [dues[choices.first[0, passes]], dues[choices.last[0, passes]], choices.leave[0, passes]] == [8, 9, 8]


def test_what_is_ready_on_a_day_off_is_cut_the_next_working_day_if_its_window_allows() -> None:
    state = farm(order(6, 50), order(12, 50), recipes=(recipe(window=1, keeps=0),), days_off=(day(5),))
    (plot,) = plots(state)
    one = choice(plot, 0, stand=1)
    assert plot.choices.leave[0, one] == 6
    shut = farm(order(6, 50), order(12, 50), recipes=(recipe(window=0, keeps=3),), days_off=(day(5),))
    assert not (plots(shut)[0].choices.sow == 0).any()


def test_nothing_is_offered_that_hardly_ever_serves_anybody() -> None:
    """Due on day 8 only, to be cut on the day: sowing on day 3 alone makes it."""
    (plot,) = plots(farm(order(8, 50), recipes=(recipe(window=0, keeps=0),)))
    assert plot.choices.sow.tolist() == [3]


def test_no_more_trays_are_offered_than_the_orders_could_take() -> None:
    (plot,) = plots(farm(order(8, 250), recipes=(recipe(window=0, keeps=0),)))
    assert plot.choices.upper.tolist() == [3.0]


# What it costs --------------------------------------------------------------------------------------------------------


def test_a_tray_costs_its_seed_medium_wear_hands_and_light() -> None:
    """Seed 10 g at 0.01; mat 0.50; wear 2 x 0.05; hands 7 + 14 min at 12 an hour; 3 nights of 0.64 kWh at 0.25."""
    grown = recipe(window=0, keeps=0, medium=0.5, minutes=(7, 0, 10, 4), kit=on_mats(2))
    state = farm(
        order(5, 50),
        recipes=(grown,),
        kit=(PoolState(pool=Pool(name="mat", count=40, wear=0.05)),),
        money=Money(wage_h=12.0, energy_kwh=0.25),
    )
    state.shelves["L"] = Shelf(
        name="L", rack="L", room="loft", kind="lit", spots=50, lamp=Lamp(count=50, watts=40.0, hours=16.0)
    )
    (plot,) = plots(state)
    assert plot.choices.cost[choice(plot, 0)] == pytest.approx(0.1 + 0.5 + 0.1 + 21 * 12 / 60 + 3 * 0.64 * 0.25)
    assert plot.choices.seed_g[choice(plot, 0)] == pytest.approx(10.0)


def test_costs_are_the_mean_over_what_may_come() -> None:
    """A tray that may stand long in the light costs the energy of its mean nights."""
    state = farm(order(9, 300), recipes=(unsure_recipe(medium=0.0),), money=Money(energy_kwh=1.0))
    state.shelves["L"] = Shelf(
        name="L", rack="L", room="loft", kind="lit", spots=50, lamp=Lamp(count=50, watts=100.0, hours=10.0)
    )
    plot = told(state).decision.checked[0]
    whole = told(state).decision.plots[0]
    nights = np.concatenate([whole.uses[LIT], plot.uses[LIT]], axis=1).sum(axis=2).mean(axis=1)
    morning = ~plot.choices.evening
    assert plot.choices.cost[morning] == pytest.approx(0.1 + nights[morning] * 1.0, rel=1e-4)


# Trays that stand -----------------------------------------------------------------------------------------------------


def test_standing_trays_may_be_cut_on_any_day_of_their_window_or_let_go() -> None:
    state = stand(farm(*(order(n, 50) for n in (2, 3, 4)), recipes=(recipe(window=2, keeps=0),)), 2)
    (plot,) = plots(state)
    own = plot.choices.way < 0
    assert sorted(plot.choices.leave[0, own & (plot.choices.how == CUT)].tolist()) == [2, 2, 3, 4]
    assert sorted(plot.choices.leave[0, own & (plot.choices.how == DISCARD)].tolist()) == [0, 4]
    ((group, choices, size),) = plot.groups
    assert (group, len(choices), size) == (0, 6, 2.0)


def test_standing_trays_nobody_wants_can_only_be_let_go() -> None:
    (plot,) = plots(stand(farm(order(9, 50), recipes=(recipe(window=0, keeps=0),)), 1))
    assert set(plot.choices.how[plot.choices.way < 0].tolist()) == {DISCARD}


def test_no_tray_is_counted_on_after_the_last_day_the_round_gives_it() -> None:
    """Ready on Sunday evening, with a window of two days it is cut on Tuesday at the latest, and from Monday on."""
    state = farm(order(8, 100.0), recipes=(recipe(window=2, keeps=0, light=3.2),))
    (plot,) = plots(state)
    choices = plot.choices
    own = np.flatnonzero((choices.sow == 1) & (choices.how == CUT) & ~choices.evening)
    assert len(own)
    assert choices.ready[0, own[0]] == 7
    assert choices.leave[0, own].max() == 8
    (early,) = plots(farm(order(9, 100.0), recipes=tuple(state.recipes.values())))
    assert not ((early.choices.sow == 1) & (early.choices.how == CUT) & ~early.choices.evening).any()


def test_two_recipes_of_a_crop_are_two_ways_to_grow_it() -> None:
    quick, slow = recipe("radish", light=2.0, grams=70.0), recipe("radish", name="radish slow", light=5.0, grams=150.0)
    (plot,) = plots(farm(order(9, 300), recipes=(quick, slow), lots=(lot(),)))
    weights = {int(way): float(plot.choices.grams[0, plot.choices.way == way].max()) for way in (0, 1)}
    assert weights == {0: 70.0, 1: 150.0}
    assert isinstance(quick, Recipe)
