"""How long the round takes: in a running program that knows the farm, and as a command typed afresh.

Warm: a program with the farm's state in memory is told one answer, as a grower gives it, then asked for the round; its
peer is a look at the end of the book, the least any reading of it does. Cold: `trayward round --json` in a new process,
first on a book with nothing kept for speed (the whole book is folded, the outlook learned from nothing, and both kept),
then without a checkpoint alone (folded again, the outlook as kept), then with all that was just kept; its peer is
`trayward --help`, a command that opens no book.
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
NOTHING, UNFOLDED, ALL_KEPT = "nothing kept", "no checkpoint", "with checkpoint"


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
        found += [*_warm_figures(filled.size_words(size), warm), *_cold_figures(filled.size_words(size), cold)]
    return found


def _warm_figures(size: str, warm: dict[str, Any]) -> list[Figure]:
    found = []
    for name, share in (("p50", 0.5), ("p95", 0.95)):
        mine, bare = (quantile(warm[key], share) * 1000 for key in ("rounds", "heads"))
        found.append(Figure(f"warm round after an answer, {name}", size, mine, "ms", HEAD, bare))
    found.append(Figure("rows of that round", size, warm["rows"], "rows", "trays growing", warm["growing"]))
    found.append(Figure("peak memory with the farm in it", size, warm["peak_mib"], "MiB", "before", warm["before_mib"]))
    return found


def _cold_figures(size: str, cold: dict[str, list[float]]) -> list[Figure]:
    name, bare = "trayward round --json", median(cold["bare"]) * 1000
    return [
        Figure(f"{name}, {words}", size, median(cold[words]) * 1000, "ms", HELP, bare)
        for words in (NOTHING, UNFOLDED, ALL_KEPT)
    ]


def _cold(book: Path) -> dict[str, list[float]]:
    """Times of the first command on a book, of later ones, and of one that opens no book. [s]"""
    at = _drop_kept(book, what_was_learned=True)
    asked = ("round", "--json", "--book", str(book), "--at", at.isoformat())
    _typed("--help")
    found = {NOTHING: [timed(lambda: _typed(*asked))]}
    _drop_kept(book, what_was_learned=False)
    found[UNFOLDED] = [timed(lambda: _typed(*asked))]
    pairs = [(timed(lambda: _typed(*asked)), timed(lambda: _typed("--help"))) for _ in range(COLD_RUNS)]
    return found | {ALL_KEPT: [mine for mine, _ in pairs], "bare": [bare for _, bare in pairs]}


def _typed(*words: str) -> None:
    subprocess.run([*COMMAND, *words], check=True, capture_output=True)


def _drop_kept(path: Path, *, what_was_learned: bool) -> datetime:
    """Make the book forget its checkpoints, or all it keeps for speed; gives a moment a little after its last entry."""
    from trayward.store import open_book
    from trayward.store.schema import CHECKPOINT, WORKED_OUT

    with open_book(path) as book:
        with book.writing() as connection:
            connection.execute(CHECKPOINT.delete())
            if what_was_learned:
                connection.execute(WORKED_OUT.delete())
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
