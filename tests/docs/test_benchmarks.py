"""Benchmarks keep one shape, their books add up, and the page they write says what they measured."""

from __future__ import annotations

import importlib
import json
from itertools import pairwise
from pathlib import Path

import pytest

from benchmarks import books, harness
from benchmarks.harness import Figure
from tools import bench_table
from trayward.farm.codec import decode_entry, encode_entry, normal
from trayward.farm.fold import fold


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
