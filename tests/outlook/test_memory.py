"""What the farm's own trays taught is remembered, and comes out as if all of them were read again."""

from __future__ import annotations

import random
from datetime import timedelta
from itertools import islice

import msgspec
import pytest

from benchmarks import books
from trayward.farm.fold import fold
from trayward.farm.settings import RoundTime
from trayward.farm.state import FarmState
from trayward.outlook.ahead import look_ahead
from trayward.outlook.memory import Memory
from trayward.outlook.shrink import Tally, effective_number
from trayward.rounds.make import make_round


def same(state: FarmState, memory: Memory) -> bool:
    """Whether a round is the same with the memory and without; likely days and weights are in its words."""
    assert state.horizon is not None
    at = state.horizon + timedelta(hours=1)
    return make_round(state, look_ahead(state, at, memory), at) == make_round(state, look_ahead(state, at), at)


def test_a_tally_gives_what_the_logs_themselves_give() -> None:
    """Each sowing's mean weighs as many independent trays as the sowing is worth."""
    draw = random.Random(4)
    logs = {f"S{number}": [draw.gauss(5.5, 0.2) for _ in range(1 + number % 4)] for number in range(40)}
    tally = Tally()
    for name, log in sorted(((sowing, log) for sowing in logs for log in logs[sowing]), key=lambda pair: pair[1]):
        tally.add(name, log)
    worth = {sowing: effective_number([len(own)]) for sowing, own in logs.items()}
    mean = sum(worth[sowing] * sum(own) / len(own) for sowing, own in logs.items()) / sum(worth.values())
    about = {sowing: sum((log - mean) ** 2 for log in own) for sowing, own in logs.items()}
    scatter = sum(worth[sowing] / len(own) * about[sowing] for sowing, own in logs.items())
    assert (tally.trays, tally.sowings) == (sum(map(len, logs.values())), 40)
    assert tally.number == pytest.approx(sum(worth.values()))
    assert tally.mean == pytest.approx(mean)
    assert tally.scatter == pytest.approx(scatter, rel=1e-9)


def test_a_tally_on_top_of_another_leaves_that_one_as_it_is() -> None:
    below, whole = Tally(), Tally()
    for tally in (below, whole):
        tally.add("A", 5.0)
    above = Tally(Tally(below))
    for tally in (above, whole):
        tally.add("A", 5.4)
        tally.add("B", 5.2)
    assert (above.trays, above.sowings, above.number, above.mean) == (3, 2, whole.number, whole.mean)
    assert (below.trays, below.sowings, below.number) == (1, 1, 1.0)


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
