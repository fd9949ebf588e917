"""What arrives late is folded from a little way back, and comes to the same farm as from the start."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from trayward.bootstrap import Farm
from trayward.desk import back
from trayward.errors import TraywardError
from trayward.farm.codec import encode_state
from trayward.farm.entries import Entry
from trayward.farm.fold import fold
from trayward.store.book import SqlBook

START = datetime(2026, 11, 23, 8, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
PROPERTY = settings(
    max_examples=8,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=list(HealthCheck),
    # A run takes a second: add Phase.shrink to make a failing one short.
    phases=(Phase.explicit, Phase.generate),
)
SAID = st.lists(
    st.tuples(st.integers(0, 11), st.sampled_from([0, 0, 0, 1, 2, 3, 7, 15, 40]), st.integers(0, 30)),
    min_size=30,
    max_size=60,
)
"""What is said, how late it is [min], of which tray or entry."""


def say(farm: Farm, what: int, at: datetime, now: datetime, which: int) -> None:
    said: dict[str, Any] = {"at": at, "recorded": now, "sure": True}
    trays = [*farm.state(now).trays] or ["none"]
    tray = trays[which % len(trays)]
    if what == 0:
        entries = [kept.entry.id for kept in farm.book.entries() if kept.entry.at > START]
        farm.strike(entries[which % len(entries)], "it was another tray", **said)
    elif what == 1:
        farm.sow("radish", 1, **said)
    elif what == 2:
        farm.discard([tray], "mould", **said)
    elif what in (3, 4, 5):
        farm.answer([tray], cue="ready", **said)
    else:
        farm.water([tray], 10.0 + which, **said)


def from_the_start(farm: Farm, until: datetime | None = None) -> bytes:
    return encode_state(fold(farm.book.timeline(until=until), struck=farm.book.struck()))


@PROPERTY
@given(SAID)
def test_however_late_things_are_said_the_farm_is_as_folded_from_the_start(said: list[tuple[int, int, int]]) -> None:
    """Two desks on one book take turns; some of what was said is struck, late or not."""
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        patch.setattr(back, "WORTH", 1)
        patch.setattr(back, "EVERY", 5)
        patch.setattr(back, "LAG", 2 * MINUTE)
        patch.setattr(back, "BEFORE", MINUTE)
        path = Path(folder) / "farm.book"
        with Farm.create(path, "loft", at=START) as one, Farm.open(path) as other:
            now = START + MINUTE
            one.sow("broccoli", 6, at=now)
            for number, (what, late, which) in enumerate(said):
                now += MINUTE * (which % 3)
                farm = (one, other)[which % 2]
                with suppress(TraywardError):
                    say(farm, what, max(START + MINUTE, now - late * MINUTE), now, which)
                assert encode_state(farm.state(now)) == from_the_start(farm), f"after number {number}"
                then = now - MINUTE * (which % 9)
                assert encode_state(farm.state(then)) == from_the_start(farm, then), f"the past, after number {number}"
            assert encode_state(one.state(now)) == encode_state(other.state(now))


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[Entry]:
    """The entries that were read for a fold."""
    seen: list[Entry] = []
    timeline = SqlBook._timeline

    def counted(book: SqlBook, *args: Any) -> Iterator[Entry]:
        for entry in timeline(book, *args):
            seen.append(entry)
            yield entry

    monkeypatch.setattr(SqlBook, "_timeline", counted)
    return seen


@pytest.fixture
def farm(tmp_path: Path) -> Iterator[Farm]:
    """A farm of three hundred notes, one a minute."""
    with Farm.create(tmp_path / "farm.book", "shelf", at=START) as made:
        for number in range(300):
            made.note(f"note {number}", at=START + number * MINUTE)
        yield made


END = START + 299 * MINUTE


def path_of(farm: Farm) -> Path:
    assert isinstance(farm.book, SqlBook)
    assert farm.book.path is not None
    return farm.book.path


def test_of_many_late_answers_only_the_first_reads_the_whole_book(farm: Farm, read: list[Entry]) -> None:
    with Farm.open(path_of(farm)) as other:
        other.note("late", at=END - 2 * MINUTE)
        assert len(read) > 300
        read.clear()
        for number in range(10):
            other.note(f"late again {number}", at=END - 3 * MINUTE)
        assert 0 < len(read) < 10 * 30, "those of the last few minutes, each time"
        assert encode_state(other.state(END)) == from_the_start(other)


def test_what_is_later_than_what_was_kept_reads_the_whole_book_once(farm: Farm, read: list[Entry]) -> None:
    with Farm.open(path_of(farm)) as other:
        other.note("late", at=END - 2 * MINUTE)
        other.note("out of the cellar", at=END - 60 * MINUTE)
        read.clear()
        other.note("out of the cellar, too", at=END - 59 * MINUTE)
        assert 0 < len(read) < 100
        assert encode_state(other.state(END)) == from_the_start(other)


def test_who_has_seen_it_all_being_said_reads_the_whole_book_for_nothing_late(farm: Farm, read: list[Entry]) -> None:
    """Seconds late, an hour late, a slip of the thumb: the fold begins at most a third of the book back."""
    for late in (1, 2, 60):
        read.clear()
        farm.note("late", at=END - late * MINUTE)
        assert 0 < len(read) < 150
    slip = farm.note("of another tray", at=END).kept[0].entry.id
    read.clear()
    farm.strike(slip, "it was another tray", at=END)
    assert len(read) < 150
    assert encode_state(farm.state(END)) == from_the_start(farm)


def test_a_strike_of_what_was_folded_long_ago_is_not_missed(farm: Farm) -> None:
    tray = farm.sow("broccoli", 1, at=END).names[1]
    farm.note("the last word", at=END + 9 * MINUTE)
    watered = farm.water([tray], 30.0, at=END + MINUTE).kept[0].entry.id
    for number in range(60):
        farm.note(f"note {number}", at=END + 10 * MINUTE)
    farm.note("late", at=END + 9 * MINUTE)
    farm.strike(watered, "it was another tray", at=END + 10 * MINUTE)
    assert encode_state(farm.state(END + 10 * MINUTE)) == from_the_start(farm)


def test_a_moment_of_the_past_asked_for_again_is_not_folded_again(farm: Farm, read: list[Entry]) -> None:
    then = farm.state(END - 30 * MINUTE)
    read.clear()
    assert farm.state(END - 30 * MINUTE) is then
    assert read == []
    farm.note("late", at=END - 40 * MINUTE)
    assert farm.state(END - 30 * MINUTE).entries == then.entries + 1


def test_many_phones_at_once_each_a_moment_behind_read_but_the_last_seconds(
    farm: Farm, read: list[Entry], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ten answers a second, two of three of them late by up to half a second, for twelve seconds."""
    monkeypatch.setattr(back, "EVERY", 10)
    monkeypatch.setattr(back, "LAG", timedelta(seconds=1))
    most = 0
    for number in range(120):
        read.clear()
        late = 0.25 * (number % 3)
        farm.note(f"at once {number}", at=END + timedelta(seconds=10 + 0.1 * number - late))
        most = max(most, len(read))
    assert 0 < most < 60
    now = END + timedelta(seconds=30)
    assert encode_state(farm.state(now)) == from_the_start(farm)
