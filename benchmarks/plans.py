"""How long a plan takes, how near it is proven to be to the best, and what it holds.

Each farm is one of the ready setups, as it stands before anything is sown, planned six weeks ahead in a new process.
The peer of the time is the same model solved without whole numbers: a lower bound, for no search can do with less.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from typing import Any, Final

from benchmarks.harness import Figure, apart, peak_mib, progress, run
from benchmarks.harness import once as timed

SIZES: Final = ("Shelf", "Loft", "Barn")
WEEKS: Final = 6
AT: Final = datetime(2026, 1, 5, 7, tzinfo=UTC)
"""The Monday from which the Barn's standing orders run."""
REPEAT: Final = {"Shelf": 5, "Loft": 3, "Barn": 1}
RELAXED: Final = "its model without whole numbers"


def figures(sizes: Iterable[str] = SIZES, weeks: int = WEEKS) -> list[Figure]:
    """Time, gap and contents of a plan for the farms that come with the package."""
    found = []
    for size in sizes:
        progress(f"plans: {size}, {weeks} weeks")
        found += _figures(f"{size}, {weeks} weeks", apart("plans", size, str(weeks)))
    return found


def _figures(size: str, made: dict[str, Any]) -> list[Figure]:
    return [
        Figure("plan", size, made["plan"], "s", RELAXED, made["relaxed"]),
        Figure("of it, the search", size, made["search"], "s", RELAXED, made["relaxed"]),
        Figure("proven gap", size, made["gap"] * 100, "%", "gap asked for", made["gap_asked"] * 100),
        Figure("sowings", size, made["sowings"], "sowings", "whole-number columns", made["columns"]),
        Figure("lines not met in full", size, made["unmet"], "lines", "lines due", made["lines"]),
        Figure("peak memory of planning", size, made["peak_mib"], "MiB", "before planning", made["before_mib"]),
    ]


def part(size: str, weeks: str) -> dict[str, Any]:
    """What the new process measures: plans of a new farm, and the relaxed model of the last one."""
    from trayward import Farm
    from trayward.plan import make

    plans: list[Any] = []
    with (
        tempfile.TemporaryDirectory(prefix="tray-bench-") as folder,
        Farm.create(Path(folder) / "farm.sqlite", size.lower(), at=AT) as farm,
        _watched(make) as searches,
    ):
        before = peak_mib()
        times = [timed(lambda: plans.append(farm.plan(AT, weeks=int(weeks)))) for _ in range(REPEAT.get(size, 1))]
    plan, search = plans[-1], searches[-1]
    found = {"plan": median(times), "search": median(each["seconds"] for each in searches), "before_mib": before}
    return {**found, **_contents(plan), **_relaxed(search["model"]), "gap_asked": make.GAP}


def _contents(plan: Any) -> dict[str, float]:
    unmet = sum(not line.met for line in plan.lines)
    return {"gap": plan.gap, "sowings": len(plan.sowings), "lines": len(plan.lines), "unmet": unmet}


@contextmanager
def _watched(make: Any) -> Iterator[list[dict[str, Any]]]:
    """Look over the planner's shoulder: every model it hands to the solver, and how long that takes. [s]"""
    solve: Callable[..., Any] = make.solve
    seen: list[dict[str, Any]] = []

    def watched(model: Any, **rest: Any) -> Any:
        answers: list[Any] = []
        seconds = timed(lambda: answers.append(solve(model, **rest)))
        seen.append({"model": model, "seconds": seconds})
        return answers[0]

    make.solve = watched
    try:
        yield seen
    finally:
        make.solve = solve


def _relaxed(model: Any) -> dict[str, float]:
    """The time of the model without whole numbers, and how many of those it had. [s]"""
    from trayward.plan.solve import solve

    columns = int(model.whole.sum())
    model.loosen()
    return {"relaxed": median(timed(lambda: solve(model)) for _ in range(3)), "columns": columns}


if __name__ == "__main__":
    run(figures, SIZES)
