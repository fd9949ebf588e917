"""Spots: walking order, stacks, and what speaks against a spot."""

from __future__ import annotations

import pytest

from tests.farm.told import Told, codes, lantern_loft, recipe, sowing, stage
from trayward.farm.entries import PlaceSet, RecipeSet
from trayward.farm.places import Shelf
from trayward.farm.spots import find_spot, free_spots, spot_problem, walking_shelves

GERMINATE = stage("germinate", "dark", stack=3)
BLACKOUT = stage("blackout", "dark", stack=1)
LIGHT = stage("light", "lit")


def shelf(name, kind="lit", spots=2, stack=1, order=0):
    return PlaceSet(shelf=Shelf(name=name, rack=name[0], room="loft", kind=kind, spots=spots, stack=stack, order=order))


def test_shelves_are_walked_by_their_order_then_by_name_with_2_before_10():
    told = Told(shelf("A10"), shelf("A2"), shelf("B1", order=-1), shelf("A2b"))
    assert [shelf.name for shelf in walking_shelves(told.state)] == ["B1", "A2", "A2b", "A10"]


def test_free_spots_of_an_empty_dark_shelf_go_up_each_stack_first():
    assert free_spots(lantern_loft().state, "dark", 3) == [
        *("A1.1a", "A1.1b", "A1.1c"),
        *("A1.2a", "A1.2b", "A1.2c"),
        *("A1.3a", "A1.3b", "A1.3c"),
    ]


def test_trays_that_may_not_be_stacked_get_the_shelf_itself():
    assert free_spots(lantern_loft().state, "dark", 1) == ["A1.1a", "A1.2a", "A1.3a"]
    assert free_spots(lantern_loft().state, "lit", 1) == ["A2.1", "A2.2", "A2.3", "A2.4"]


def test_an_upper_level_is_free_only_where_the_lower_is_taken_or_comes_just_before():
    told = lantern_loft()
    told.say(sowing("S", "A1.1a", "A1.2a", "A1.2b"))
    assert free_spots(told.state, "dark", 3) == ["A1.1b", "A1.1c", "A1.2c", "A1.3a", "A1.3b", "A1.3c"]
    assert free_spots(told.state, "dark", 2) == ["A1.1b", "A1.3a", "A1.3b"]


def test_nothing_goes_on_a_tray_that_bears_nothing():
    told = lantern_loft()
    told.say(sowing("S", "A1.1a", stage="blackout"))
    assert free_spots(told.state, "dark", 3)[0] == "A1.2a"
    found = spot_problem(told.state, "A1.1b", GERMINATE, tray="T.1")
    assert found is not None
    assert found.sentence() == (
        "stack at A1.1 = 2 trays: what stands there may be stacked 1 high. Put it on another floor position."
    )


def test_a_tray_that_may_not_be_stacked_cannot_go_under_others():
    told = lantern_loft()
    told.say(sowing("S", "A1.1b"))
    assert codes([spot_problem(told.state, "A1.1a", BLACKOUT)]) == [("wrong", "stack-too-high")]
    assert spot_problem(told.state, "A1.1a", GERMINATE) is None


@pytest.mark.parametrize(
    "spot", ["A1.1", "A1.1d", "A1.4a", "A1.0a", "A1.01a", "A1.", "A1", "Z9.1", "", "A2.1a", "A2.5", "A2.²"]
)
def test_a_spot_the_farm_does_not_have_is_wrong(spot):
    state = lantern_loft().state
    assert find_spot(state, spot) is None
    assert codes([spot_problem(state, spot, LIGHT)]) == [("wrong", "spot-unknown")]


def test_every_spot_of_every_shelf_is_found():
    state = lantern_loft().state
    for shelf in state.shelves.values():
        for name in shelf.spot_names():
            found = find_spot(state, name)
            assert found is not None
            assert found[0] is shelf


def test_a_taken_spot_names_who_stands_there():
    told = lantern_loft()
    told.say(sowing("S", "A1.1a"))
    found = spot_problem(told.state, "A1.1a", GERMINATE, tray="T.1")
    assert found is not None
    assert found.severity == "wrong"
    assert "spot A1.1a = tray S.1: a spot holds one tray, and tray T.1 cannot stand there too." in found.message
    assert spot_problem(told.state, "A1.1a", GERMINATE, moved={"A1.1a": None}) is None


def test_the_wrong_kind_of_shelf_is_odd_and_a_bench_stage_may_stand_anywhere():
    state = lantern_loft().state
    assert codes([spot_problem(state, "A2.1", GERMINATE)]) == [("odd", "spot-ground")]
    assert spot_problem(state, "A2.1", stage("soak", "bench")) is None


def test_a_recipe_that_stacks_less_lowers_what_may_stand_on_its_trays():
    told = lantern_loft()
    told.say(sowing("S", "A1.1a"))
    flat = (
        stage("germinate", "dark", stack=2),
        stage("blackout", "dark"),
        stage("light", "lit"),
        stage("ready", "lit"),
    )
    told.say(RecipeSet(recipe=recipe(stages=flat)))
    assert free_spots(told.state, "dark", 3)[:2] == ["A1.1b", "A1.2a"]
