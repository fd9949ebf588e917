"""How long one question of tracing takes, by the length of the book: a pack, a seed lot, a recall, a customer.

A program with the farm's state in memory asks, as the pages do. The peer is the shortest reading that any of them
needs: all that the book says of one tray. The book's own checkpoint is loaded once beforehand; what that costs stands
in a line of its own.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from benchmarks import filled
from benchmarks.harness import Figure, apart, measure_beside, once, progress, run

ASKED: Final = 5
FAR_AHEAD: Final = datetime(2999, 1, 1, tzinfo=UTC)
PEER: Final = "what the book says of one tray"


def figures(sizes: Iterable[str] = filled.SIZES) -> list[Figure]:
    """Time of one question to books of several lengths on SQLite."""
    found = []
    for size in sizes:
        with tempfile.TemporaryDirectory(prefix="tray-bench-") as folder:
            book = filled.book_copy(size, Path(folder))
            progress(f"tracing: {filled.size_words(size)}")
            part = apart("tracing", str(book))
        words = filled.size_words(size)
        found.append(Figure("open the farm and read its state, once", words, part["opened"] * 1000, "ms"))
        for name, (mine, bare) in part["asked"].items():
            found.append(Figure(name, words, mine * 1000, "ms", PEER, bare * 1000))
        found.append(Figure("things on the way of that seed lot", words, part["steps"], "things"))
    return found


def part(path: str) -> dict[str, Any]:
    """What the new process measures. [s]"""
    from trayward import Farm
    from trayward.codes.lot import coded

    with Farm.open(path) as farm:
        at = (farm.book.head().horizon or FAR_AHEAD) + timedelta(minutes=5)
        opened = once(lambda: farm.state(at))
        state = farm.state(at)
        pack = coded(list(state.packs)[-20])
        lot = max(state.seed, key=lambda name: sum(name in each.lots for each in list(state.sowings.values())[-2000:]))
        customer, tray = next(iter(state.customers)), list(state.ended)[-20]
        first = at.date() - timedelta(days=90)
        questions: dict[str, Callable[[], object]] = {
            "trace a pack both ways": lambda: farm.trace(pack, at=at),
            "trace a seed lot forward": lambda: farm.trace(lot, at=at, way="forward"),
            "recall sheet of a seed lot": lambda: farm.recall_sheet(lot, at=at),
            "trace a customer's 90 days back": lambda: farm.trace(
                f"customer:{customer}", at=at, way="back", first=first
            ),
        }
        steps = len(farm.trace(lot, at=at, way="forward").steps)
        peer = lambda: farm.book.about(f"tray:{tray}")  # noqa: E731
        asked = {name: measure_beside(ask, peer, repeat=ASKED) for name, ask in questions.items()}
        return {"opened": opened, "asked": asked, "steps": steps}


if __name__ == "__main__":
    run(figures, filled.SIZES)
