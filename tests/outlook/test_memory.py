"""What the farm's own trays taught is remembered, and comes out as if all of them were read again."""

from __future__ import annotations

from datetime import timedelta
from itertools import islice, pairwise

import msgspec
import pytest

from benchmarks import books
from trayward.farm.copying import copied
from trayward.farm.fold import fold
from trayward.farm.settings import RoundTime
from trayward.farm.state import FarmState
from trayward.outlook.ahead import look_ahead
from trayward.outlook.kept import Kept, kept_in, kept_out
from trayward.outlook.memory import GROWTH, Memory, base_of
from trayward.outlook.row_reader import RowReader
from trayward.rounds.make import make_round


def same(state: FarmState, memory: Memory) -> bool:
    """Whether a round is the same with the memory and without; likely days and weights are in its words."""
    assert state.horizon is not None
    at = state.horizon + timedelta(hours=1)
    return make_round(state, look_ahead(state, at, memory), at) == make_round(state, look_ahead(state, at), at)


def test_a_growing_book_is_learned_from_as_if_it_were_read_anew() -> None:
    told, memory = books.entries(3_600, spots=96), Memory()
    state = fold(islice(told, 1_200))
    assert same(state, memory)
    for _ in range(4):
        state = fold(islice(told, 600), start=state)
        assert same(state, memory)


def test_what_was_learned_in_parts_is_not_learned_again() -> None:
    state, memory = fold(books.entries(4_000, spots=96)), Memory()
    assert sum(1 for _ in memory.learn(state)) > 3
    with pytest.MonkeyPatch.context() as patch:
        for learner in ("YieldLearner", "StageLearner", "LossLearner"):
            patch.setattr(f"trayward.outlook.memory.{learner}", lambda *_, **__: pytest.fail("learned again"))
        memory.lessons(state)
    assert same(state, memory)


def test_a_standing_tray_is_read_again_only_when_something_was_said_of_it() -> None:
    state, memory, read = fold(books.entries(4_000, spots=96)), Memory(), list[str]()
    memory.lessons(state)
    tray = next(tray for tray in state.trays.values() if tray.stage == "light")
    tray.steps[-1].last_not_yet = state.horizon
    with pytest.MonkeyPatch.context() as patch:
        reading = RowReader.read
        patch.setattr(
            RowReader, "read", lambda self, tray, rows: (read.append(tray.tray), reading(self, tray, rows))[1]
        )
        memory.lessons(state)
    assert read == [tray.tray]
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


def test_the_spreads_are_sought_again_when_there_is_a_quarter_more_to_learn_from() -> None:
    bases = sorted({base_of(count) for count in range(5_000)})
    assert bases[:6] == [0, 1, 2, 3, 4, 5]
    assert all(after <= max(before + 1, before * GROWTH + 1) for before, after in pairwise(bases))
    assert all(base_of(count) <= count < GROWTH * base_of(count) + 1.5 for count in range(1, 5_000))


def test_what_was_read_and_found_serves_the_next_process_and_gives_the_same_outlook() -> None:
    state, told = fold(books.entries(5_000, spots=96)), list[bytes]()
    before = Memory(keep=lambda more: told.append(kept_out(more)))
    assert same(state, before)
    assert len(told) == 1
    assert kept_in(told[0]).rows is not None
    read: list[str] = []
    after = Memory(kept_in(told[0]), keep=lambda more: told.append(kept_out(more)))
    with pytest.MonkeyPatch.context() as patch:
        reading = RowReader.read
        patch.setattr(
            RowReader, "read", lambda self, tray, rows: (read.append(tray.tray), reading(self, tray, rows))[1]
        )
        after.lessons(state)
    assert set(read) == set(state.trays), "ended trays are not read again"
    assert same(state, after)
    assert len(told) == 1, "nothing was sought again"


def test_what_was_kept_of_another_book_is_not_taken_for_this() -> None:
    first, second = (fold(books.entries(4_000, spots=96, seed=seed)) for seed in (1, 2))
    told: list[bytes] = []
    Memory(keep=lambda more: told.append(kept_out(more))).lessons(first)
    assert same(second, Memory(kept_in(told[0])))


def test_a_weight_struck_since_is_not_remembered() -> None:
    state, told = fold(books.entries(5_000, spots=96)), list[bytes]()
    Memory(keep=lambda more: told.append(kept_out(more))).lessons(state)
    tray = next(tray for tray in state.ended.values() if tray.grams)
    tray.grams = (tray.grams or 0.0) * 0.5
    assert same(state, Memory(kept_in(told[0])))


def test_more_trays_than_were_kept_are_read_on_top() -> None:
    told, entries = list[bytes](), books.entries(6_000, spots=96)
    state = fold(islice(entries, 5_000))
    Memory(keep=lambda more: told.append(kept_out(more))).lessons(state)
    assert same(fold(entries, start=state), Memory(kept_in(told[0])))


def test_what_was_kept_is_not_told_twice_when_the_book_is_folded_again() -> None:
    """A late entry folds the book anew: another state of the same trays, read on top of the same rows."""
    told = list[bytes]()
    first, more = (fold(books.entries(count, spots=96)) for count in (5_000, 6_000))
    Memory(keep=lambda kept: told.append(kept_out(kept))).lessons(first)
    memory = Memory(kept_in(told[0]))
    assert same(more, memory)
    again = fold(books.entries(6_000, spots=96))
    assert same(again, memory)
    assert len(memory.lessons(again).yields.rows) == len(Memory().lessons(again).yields.rows)


def test_a_state_that_begins_with_the_same_trays_is_read_on_and_another_from_its_start() -> None:
    """What is said late makes another state, of nearly the same things."""
    entries = books.entries(6_000, spots=96)
    state = fold(islice(entries, 5_000))
    memory, read = Memory(), list[str]()
    memory.lessons(state)
    later, more = copied(state), [*state.ended]
    fold(entries, start=later)
    with pytest.MonkeyPatch.context() as patch:
        reading = RowReader.read
        patch.setattr(
            RowReader, "read", lambda self, tray, rows: (read.append(tray.tray), reading(self, tray, rows))[1]
        )
        memory.lessons(later)
    assert set(read) == {*later.trays, *later.ended} - {*more}
    assert same(later, memory)
    other = copied(later)
    tray = next(tray for tray in other.ended.values() if tray.grams)
    other.ended[tray.tray] = msgspec.structs.replace(tray, grams=(tray.grams or 0.0) * 0.5)
    assert same(other, memory), "all is read again"


def test_what_cannot_be_read_is_as_if_nothing_had_been_kept() -> None:
    assert kept_in(None) == kept_in(b"not what was kept") == kept_in(kept_out(Kept(model=0))) == Kept()
