"""Benchmarks keep one shape, their books add up, and the page they write says what they measured."""

from __future__ import annotations

import importlib
import json
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from itertools import pairwise
from pathlib import Path

import pytest

from benchmarks import appends, books, databases, filled, harness, plans, rebuild, rounds
from benchmarks.harness import Figure
from tests.postgres import Server, postgres
from tools import bench_table
from trayward import Farm
from trayward.farm.codec import decode_entry, encode_entry, normal
from trayward.farm.fold import fold

__all__ = ["postgres"]

TINY = "300"
"""Entries enough for a farm with trays growing."""


def test_the_ratio_is_the_value_over_its_peer() -> None:
    assert Figure("start", "one", 30.0, "ms", "bare", 20.0).ratio == 1.5
    assert Figure("start", "one", 30.0, "ms").ratio is None


def test_figures_as_json_carry_the_seven_keys() -> None:
    shown = json.loads(harness.as_json([Figure("start", "one", 30.0, "ms", "bare", 20.0)]))
    assert [tuple(figure) for figure in shown] == [bench_table.KEYS]


def test_the_readable_table_shows_no_more_digits_than_were_measured() -> None:
    shown = harness.readable([Figure("appends", "20 writers", 12345.678, "1/s", "one writer", 0.123456)])
    assert "12,346" in shown
    assert "0.123" in shown
    assert "0.1234" not in shown


def test_measuring_takes_the_median_after_a_warm_up() -> None:
    calls: list[int] = []
    assert harness.measure(lambda: calls.append(1), repeat=3, warm_up=2) >= 0.0
    assert len(calls) == 5


@pytest.mark.parametrize("name", bench_table.benchmark_names())
def test_every_benchmark_gives_its_figures_by_one_function(name: str) -> None:
    module = importlib.import_module(f"benchmarks.{name}")
    assert callable(module.figures)
    assert module.__doc__


def test_the_page_keeps_the_parts_of_benchmarks_not_run_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench_table, "PAGE", tmp_path / "docs" / "benchmarks.md")
    monkeypatch.setattr(bench_table, "benchmark_names", lambda: ["alpha", "beta"])
    figure = {"name": "a | b", "size": "x", "value": 2.0, "unit": "s", "peer": "", "peer_value": None, "ratio": None}
    part = bench_table.section("alpha", [figure], "2026-11-25")
    bench_table.write_page({"alpha": part, "gone": "## gone\n"})
    assert bench_table.kept_sections() == {"alpha": part}
    assert "| a \\| b | x | 2 | s | - | - | - |" in part


@pytest.mark.parametrize("spots", books.SIZES.values())
def test_a_made_up_book_adds_up(spots: int) -> None:
    state = fold(books.entries(6000, spots=spots))
    assert [finding.sentence() for finding in state.findings] == []
    assert state.entries == 6000
    assert state.ended


def test_a_made_up_book_is_the_same_for_the_same_seed_and_another_for_another() -> None:
    first = list(books.entries(2000, seed=1))
    assert first == list(books.entries(2000, seed=1))
    assert first != list(books.entries(2000, seed=2))
    assert len({entry.id for entry in first}) == 2000


def test_a_made_up_book_runs_forward() -> None:
    assert all(one.at < other.at for one, other in pairwise(books.entries(5000, spots=1200)))


def test_a_made_up_book_comes_back_from_its_bytes_as_it_went_in() -> None:
    told = list(books.entries(4000, spots=96))
    assert [decode_entry(encode_entry(entry)) for entry in told] == told
    assert [encode_entry(normal(entry)) for entry in told[:500]] == [encode_entry(entry) for entry in told[:500]]


# The benchmarks themselves, at sizes that take a moment ---------------------------------------------------------------


@pytest.fixture
def tiny(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Small books, few repeats, and no PostgreSQL."""

    @contextmanager
    def none() -> Iterator[None]:
        yield None

    monkeypatch.setattr(filled, "KEPT", tmp_path / "kept")
    for module in (appends, rebuild):
        monkeypatch.setattr(module, "postgres_if_there", none)
    monkeypatch.setattr(appends, "DESK_BOOK", TINY)
    monkeypatch.setattr(appends, "PROCESSES", 2)
    monkeypatch.setattr(appends, "TURNS", 1)
    monkeypatch.setattr(rebuild, "REPEAT_UP_TO", 0)
    monkeypatch.setattr(rounds, "COLD_RUNS", 1)
    monkeypatch.setattr(rounds, "ROUNDS", 3)


@pytest.mark.usefixtures("tiny")
@pytest.mark.parametrize(
    ("give", "names"),
    [
        (lambda: appends.figures(["1", "2"], seconds=0.05), {"durable appends", "answers recorded through the desk"}),
        (lambda: rebuild.figures([TINY]), {"rebuild projections and state", "peak memory of rebuilding"}),
        (lambda: rounds.figures([TINY]), {"warm round after an answer, p95", "trayward round --json, with checkpoint"}),
        (
            lambda: plans.figures(["Shelf"], weeks=3),
            {"plan", "sowings", "lines not met in full", "peak memory of planning"},
        ),
    ],
    ids=["appends", "rebuild", "rounds", "plans"],
)
def test_a_benchmark_gives_figures_that_were_measured(give: Callable[[], list[Figure]], names: set[str]) -> None:
    found = give()
    assert names <= {figure.name for figure in found}
    assert len({(figure.name, figure.size, figure.peer) for figure in found}) == len(found)
    for figure in found:
        assert figure.unit
        assert figure.peer
        assert figure.value >= 0.0
        assert figure.unit not in ("s", "ms", "1/s", "MiB") or (figure.value > 0.0 and figure.ratio)


@pytest.mark.usefixtures("tiny")
def test_rebuilding_is_measured_on_postgresql_too(postgres: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    @contextmanager
    def there() -> Iterator[Server]:
        yield postgres

    monkeypatch.setattr(rebuild, "postgres_if_there", there)
    sizes = {figure.size for figure in rebuild.figures([TINY])}
    assert sizes == {f"{TINY} entries, Loft, {database}" for database in ("SQLite", "PostgreSQL")}


def test_rows_of_postgresql_are_left_out_aloud_where_it_is_not(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("tests.postgres.programs", lambda: None)
    with databases.postgres_if_there() as server:
        assert server is None
    assert "left out" in capsys.readouterr().err


@pytest.mark.usefixtures("tiny")
def test_a_filled_book_is_a_whole_farm_and_is_made_once(tmp_path: Path) -> None:
    first = filled.book_copy(TINY, tmp_path)
    (kept,) = filled.KEPT.iterdir()
    made = kept.stat().st_mtime_ns
    with Farm.open(filled.book_copy(TINY, tmp_path)) as farm:
        assert farm.book.head().seq == filled.entries_of(TINY)
        assert farm.book.verify() == []
        assert farm.state(rebuild.FAR_AHEAD).growing()
        assert not farm.state(rebuild.FAR_AHEAD).findings
    assert kept.stat().st_mtime_ns == made
    assert first.parent == tmp_path


def test_sizes_are_named_as_people_say_them() -> None:
    assert [filled.entries_of(size) for size in ("10k", "100k", "1M", "500")] == [10_000, 100_000, 1_000_000, 500]
    assert [filled.farm_of(size) for size in filled.SIZES] == ["Loft", "Loft", "Barn"]


def test_the_slow_tail_is_the_value_nearly_all_stay_below() -> None:
    assert harness.quantile([5.0, 1.0, 3.0, 2.0, 4.0], 0.5) == 3.0
    assert harness.quantile([float(value) for value in range(1, 101)], 0.95) == 95.0


def test_bare_writes_that_stand_beside_the_book_wait_for_the_disk_too(tmp_path: Path) -> None:
    bare = str(tmp_path / "bare.sqlite")
    appends._make_bare(bare)
    connection, insert = appends._bare_connection(bare)
    with closing(connection):
        connection.execute(insert, ("said",))
        assert connection.execute("PRAGMA synchronous").fetchone() == (2,)  # FULL, as sqlite.org/pragma.html numbers it
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    with closing(sqlite3.connect(bare)) as other:
        assert other.execute("SELECT canonical FROM bare").fetchall() == [("said",)]


def test_sizes_can_be_chosen_on_the_command_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.argv", ["measure", "--json", "--sizes", "a,b"])
    harness.run(lambda sizes: [Figure("start", size, 1.0, "ms") for size in sizes], ("a", "b", "c"))
    assert [figure["size"] for figure in json.loads(capsys.readouterr().out)] == ["a", "b"]
