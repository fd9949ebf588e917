"""What the farm's own trays taught is remembered, and comes out as if all of them were read again."""

from __future__ import annotations

from datetime import timedelta
from itertools import islice

import msgspec

from benchmarks import books
from trayward.farm.fold import fold
from trayward.farm.settings import RoundTime
from trayward.farm.state import FarmState
from trayward.outlook.ahead import look_ahead
from trayward.outlook.memory import Memory
from trayward.rounds.make import make_round


def same(state: FarmState, memory: Memory) -> bool:
    """Whether a round is the same with the memory and without; likely days and weights are in its words."""
    assert state.horizon is not None
    at = state.horizon + timedelta(hours=1)
    return make_round(state, look_ahead(state, at, memory), at) == make_round(state, look_ahead(state, at), at)


def test_a_growing_book_is_learned_from_as_if_it_were_read_anew() -> None:
    told, memory = books.entries(6_000, spots=96), Memory()
    state = fold(islice(told, 2_000))
    assert same(state, memory)
    for _ in range(4):
        state = fold(islice(told, 1_000), start=state)
        assert same(state, memory)


def test_recipes_and_rounds_set_anew_put_old_trays_in_another_light() -> None:
    state, memory = fold(books.entries(4_000, spots=96)), Memory()
    assert same(state, memory)
    state.recipes = {
        name: msgspec.structs.replace(each, growth_a_day=0.2, cut_window_days=1) for name, each in state.recipes.items()
    }
    assert same(state, memory)
    assert state.settings is not None
    once = (RoundTime(name="noon", at=state.settings.rounds[0].at),)
    state.settings = msgspec.structs.replace(state.settings, rounds=once)
    assert same(state, memory)


def test_another_state_is_not_taken_for_the_one_remembered() -> None:
    memory = Memory()
    for spots in (96, 12, 96):
        assert same(fold(books.entries(3_000, spots=spots)), memory)
