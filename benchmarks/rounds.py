"""How long the round takes: in a running program that knows the farm, and as a command typed afresh.

Warm: a program with the farm's state in memory is told one answer, as a grower gives it, then asked for the round; its
peer is a look at the end of the book, the least any reading of it does. Cold: `trayward round --json` in a new process,
first on a book without a checkpoint (the whole book is folded, and a checkpoint kept), then with the one just kept;
its peer is `trayward --help`, a command that opens no book.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Any, Final

from benchmarks import filled
from benchmarks.harness import Figure, apart, progress, quantile, run
from benchmarks.harness import once as timed

ROUNDS: Final = 40
COLD_RUNS: Final = 5
COMMAND: Final = (sys.executable, "-c", "from trayward.cli.main import main; main()")
FAR_AHEAD: Final = datetime(2999, 1, 1, tzinfo=UTC)
HEAD: Final = "look at the book's end"
HELP: Final = "trayward --help"


def figures(sizes: Iterable[str] = filled.SIZES) -> list[Figure]:
    """Time of a round, warm and cold, with books of several lengths on SQLite."""
    found = []
    for size in sizes:
        with tempfile.TemporaryDirectory(prefix="tray-bench-") as folder:
            book = filled.book_copy(size, Path(folder))
            progress(f"rounds: {filled.size_words(size)}, cold")
            cold = _cold(book)
            progress(f"rounds: {filled.size_words(size)}, warm")
            warm = apart("rounds", str(book), str(ROUNDS))
        found += [*_warm_figures(filled.size_words(size), warm), *_cold_figures(filled.size_words(size), *cold)]
    return found


def _warm_figures(size: str, warm: dict[str, Any]) -> list[Figure]:
    found = []
    for name, share in (("p50", 0.5), ("p95", 0.95)):
        mine, bare = (quantile(warm[key], share) * 1000 for key in ("rounds", "heads"))
        found.append(Figure(f"warm round after an answer, {name}", size, mine, "ms", HEAD, bare))
    found.append(Figure("rows of that round", size, warm["rows"], "rows", "trays growing", warm["growing"]))
    found.append(Figure("peak memory with the farm in it", size, warm["peak_mib"], "MiB", "before", warm["before_mib"]))
    return found


def _cold_figures(size: str, first: float, later: list[float], bare: list[float]) -> list[Figure]:
    name = "trayward round --json"
    return [
        Figure(f"{name}, no checkpoint", size, first * 1000, "ms", HELP, median(bare) * 1000),
        Figure(f"{name}, with checkpoint", size, median(later) * 1000, "ms", HELP, median(bare) * 1000),
    ]


def _cold(book: Path) -> tuple[float, list[float], list[float]]:
    """Times of the first command on a book, of later ones, and of one that opens no book. [s]"""
    at = _drop_checkpoints(book)
    asked = ("round", "--json", "--book", str(book), "--at", at.isoformat())
    _typed("--help")
    first = timed(lambda: _typed(*asked))
    pairs = [(timed(lambda: _typed(*asked)), timed(lambda: _typed("--help"))) for _ in range(COLD_RUNS)]
    return first, [mine for mine, _ in pairs], [bare for _, bare in pairs]


def _typed(*words: str) -> None:
    subprocess.run([*COMMAND, *words], check=True, capture_output=True)


def _drop_checkpoints(path: Path) -> datetime:
    """Make the book forget its checkpoints; gives a moment a little after its last entry."""
    from trayward.store import open_book
    from trayward.store.schema import CHECKPOINT

    with open_book(path) as book:
        with book.writing() as connection:
            connection.execute(CHECKPOINT.delete())
        return (book.head().horizon or FAR_AHEAD) + timedelta(minutes=5)


def part(path: str, count: str) -> dict[str, Any]:
    """What the new process measures: rounds of a farm it holds in memory. [s]"""
    from benchmarks.harness import peak_mib
    from trayward import Farm
    from trayward.farm.entries import RoundAnswered

    with Farm.open(path) as farm:
        before = peak_mib()
        start = (farm.book.head().horizon or FAR_AHEAD) + timedelta(minutes=5)
        growing = [tray.tray for tray in farm.state(start).growing()]
        shown = farm.round(start)
        rounds, heads = [], []
        for number in range(int(count)):
            at = start + timedelta(seconds=10 * (number + 1))
            said = RoundAnswered(trays=(growing[number % len(growing)],), round=shown.round, moisture="moist")
            farm.record(said, at=at)
            rounds.append(timed(lambda at=at: farm.round(at)))
            heads.append(timed(farm.book.head))
        found = {"rows": len(shown.rows), "growing": len(growing), "before_mib": before}
        return {"rounds": rounds, "heads": heads, **found}


if __name__ == "__main__":
    run(figures, filled.SIZES)
