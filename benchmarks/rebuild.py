"""How long it takes to make everything again from the book: the projections, and the state by folding it.

Each is done by a new process, whose peak memory stands beside the time. The peer, a process that reads the same rows
and decodes their JSON without making anything of them, is a bound: no rebuilding in Python gets under it. The growth
says how far the time departs from growing with the number of entries (1: it does not).
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from typing import Any, Final

from benchmarks import filled
from benchmarks.databases import postgres_if_there
from benchmarks.harness import Figure, apart, progress, run
from benchmarks.harness import once as timed

FAR_AHEAD: Final = datetime(2999, 1, 1, tzinfo=UTC)
BOUND: Final = "read and decode the rows"
ON_POSTGRES: Final = 100_000
"""The longest book measured on PostgreSQL unless sizes are named: filling 1M takes longer than all the rest."""
REPEAT_UP_TO: Final = 100_000
"""Books up to this long are measured three times, longer ones once."""


def figures(sizes: Iterable[str] = filled.SIZES) -> list[Figure]:
    """Time and memory to rebuild projections and state, on SQLite and PostgreSQL."""
    sizes = tuple(sizes)
    with tempfile.TemporaryDirectory(prefix="tray-bench-") as folder:
        found = _on("SQLite", sizes, lambda size: str(filled.book_copy(size, Path(folder))))
    with postgres_if_there() as server:
        if server is not None:
            asked_for = sizes != filled.SIZES
            short = [size for size in sizes if asked_for or filled.entries_of(size) <= ON_POSTGRES]
            found += _on("PostgreSQL", short, lambda size: _filled_postgres(server.fresh(), size))
    return found


def _filled_postgres(url: str, size: str) -> str:
    from trayward.store import open_book

    progress(f"rebuild: filling PostgreSQL with {filled.size_words(size)}")
    with open_book(url, create=True) as book:
        filled.fill(book, size)
    return url


def _on(database: str, sizes: Iterable[str], book_of: Callable[[str], str]) -> list[Figure]:
    """The figures of one database, size after size."""
    found: list[Figure] = []
    before: tuple[int, float] | None = None
    for size in sizes:
        url = book_of(size)
        progress(f"rebuild: {database}, {filled.size_words(size)}")
        rebuilt, read = _measured(url, 3 if filled.entries_of(size) <= REPEAT_UP_TO else 1)
        found += _figures(f"{filled.size_words(size)}, {database}", rebuilt, read)
        whole = rebuilt["projections"] + rebuilt["state"]
        now = (filled.entries_of(size), whole)
        if before is not None:
            found.append(_growth(f"{filled.size_words(size)}, {database}", before, now))
        before = now
    return found


def _measured(url: str, repeat: int) -> tuple[dict[str, float], dict[str, float]]:
    """Medians of what rebuilding and only reading take, turn about. [s], [MiB]"""
    pairs = [(apart("rebuild", "rebuild", url), apart("rebuild", "read", url)) for _ in range(repeat)]
    return _medians([mine for mine, _ in pairs]), _medians([theirs for _, theirs in pairs])


def _medians(runs: list[dict[str, Any]]) -> dict[str, float]:
    return {key: median(each[key] for each in runs) for key in runs[0]}


def _figures(size: str, rebuilt: dict[str, float], read: dict[str, float]) -> list[Figure]:
    whole = rebuilt["projections"] + rebuilt["state"]
    return [
        Figure("rebuild projections and state", size, whole, "s", BOUND, read["seconds"]),
        Figure("of it, projections", size, rebuilt["projections"], "s", BOUND, read["seconds"]),
        Figure("of it, fold the state, keep it", size, rebuilt["state"], "s", BOUND, read["seconds"]),
        Figure("peak memory of rebuilding", size, rebuilt["peak_mib"], "MiB", BOUND, read["peak_mib"]),
    ]


def _growth(size: str, before: tuple[int, float], now: tuple[int, float]) -> Figure:
    """Growth of the time from one size to the next, over the growth of the book."""
    longer = now[0] / before[0]
    return Figure("growth of rebuilding", size, now[1] / before[1], "-", "as many times longer", longer)


def part(what: str, url: str) -> dict[str, float]:
    """What the new process does, and how long it took. [s]"""
    return _rebuild(url) if what == "rebuild" else _read(url)


def _rebuild(url: str) -> dict[str, float]:
    from trayward import Farm

    with Farm.open(url) as farm:
        projections = timed(farm.book.rebuild)
        state = timed(lambda: farm.state(FAR_AHEAD))
    return {"projections": projections, "state": state}


def _read(url: str) -> dict[str, float]:
    import msgspec

    from trayward.store import open_book

    decode = msgspec.json.Decoder().decode
    with open_book(url) as book:
        began = time.perf_counter()
        for row in book.rows():
            decode(row.canonical)
        return {"seconds": time.perf_counter() - began}


if __name__ == "__main__":
    run(figures, filled.SIZES)
