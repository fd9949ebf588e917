"""How long a plan takes, how near it is proven to be to the best at what time, and what it holds.

Each farm is one of the ready setups, as it stands before anything is sown, planned six weeks ahead over 32 scenarios in
a new process. The peer of the time is the plan over one cautious future, which knows no doubt. The ladder gives search
and proof so many seconds together: what is proven then, as a share of all sales asked for, beside the gap asked for.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from time import monotonic
from typing import Any, Final

from benchmarks.harness import Figure, apart, peak_mib, progress, run
from benchmarks.harness import once as timed

SIZES: Final = ("Shelf", "Loft", "Barn")
WEEKS: Final = 6
AT: Final = datetime(2026, 1, 5, 7, tzinfo=UTC)
"""The Monday from which the Barn's standing orders run."""
REPEAT: Final = {"Shelf": 3, "Loft": 3, "Barn": 1}
SCENARIOS: Final = 32
SECONDS: Final = {"Shelf": (2.0, 5.0), "Loft": (2.0, 5.0, 20.0), "Barn": (5.0, 20.0, 60.0)}
"""The ladder. [s]"""
TIGHT: Final = ("Loft",)
"""Farms whose ladder is climbed with half their racks and hands, too."""


def figures(sizes: Iterable[str] = SIZES, weeks: int = WEEKS) -> list[Figure]:
    """Time, gap and contents of a plan for the farms that come with the package."""
    found = []
    for size in sizes:
        progress(f"plans: {size}, {weeks} weeks")
        found += _figures(f"{size}, {weeks} weeks", apart("plans", size, str(weeks), "plan"))
        for share in (1.0, 0.5) if size in TIGHT else (1.0,):
            name = f"{size}, {weeks} weeks" + (", half the racks" if share < 1 else "")
            made = apart("plans", size, str(weeks), "ladder", str(share))
            found += _ladder(name, made)
    return found


def _figures(size: str, made: dict[str, Any]) -> list[Figure]:
    return [
        Figure("plan", size, made["plan"], "s", "over one cautious future", made["cautious"]),
        Figure(
            "of it, without proof and reasons", size, made["bare"], "s", "over one cautious future", made["cautious"]
        ),
        Figure("sowings", size, made["sowings"], "sowings", "over one cautious future", made["cautious_sowings"]),
        Figure("lines not met in full", size, made["unmet"], "lines", "lines due", made["lines"]),
        Figure("peak memory of planning", size, made["peak_mib"], "MiB", "before planning", made["before_mib"]),
    ]


def _ladder(size: str, made: dict[str, Any]) -> list[Figure]:
    rows = [
        Figure(f"proven gap after {seconds:.0f} s", size, gap, "% of sales", "gap asked for", made["asked"])
        for seconds, gap in made["gaps"]
    ]
    rows += [
        Figure(
            f"found above the cheapest after {seconds:.0f} s", size, above, "% of sales", "gap asked for", made["asked"]
        )
        for seconds, above in made["above"]
    ]
    return [*rows, Figure("peak memory of the ladder", size, made["peak_mib"], "MiB", "allowed", 2048.0)]


def part(size: str, weeks: str, what: str, share: str = "1") -> dict[str, Any]:
    """What the new process measures."""
    return _plans(size, int(weeks)) if what == "plan" else _climb(size, int(weeks), float(share))


def _plans(size: str, weeks: int) -> dict[str, Any]:
    """Plans of a new farm: as usual, without proof and reasons, and over one cautious future."""
    from trayward import Farm
    from trayward.plan.decide import Effort
    from trayward.plan.make import make_plan

    made: dict[str, list[Any]] = {"plan": [], "bare": [], "cautious": []}
    bare = Effort(proof_seconds=0.0, reasons=False)
    with (
        tempfile.TemporaryDirectory(prefix="tray-bench-") as folder,
        Farm.create(Path(folder) / "farm.sqlite", size.lower(), at=AT) as farm,
    ):
        state, outlook, before = farm.state(AT), farm.outlook(AT), peak_mib()
        ways = {
            "plan": lambda: farm.plan(AT, weeks=weeks),
            "bare": lambda: make_plan(state, outlook, AT, weeks=weeks, effort=bare),
            "cautious": lambda: make_plan(state, outlook, AT, weeks=weeks, effort=None),
        }
        times = {
            name: [timed(lambda n=name: made[n].append(ways[n]())) for _ in range(REPEAT.get(size, 1))]  # type: ignore[misc]
            for name in ways
        }
    plan = made["plan"][-1]
    return {
        **{name: median(each) for name, each in times.items()},
        "before_mib": before,
        "sowings": len(plan.sowings),
        "cautious_sowings": len(made["cautious"][-1].sowings),
        "lines": len(plan.lines),
        "unmet": sum(not line.met for line in plan.lines),
    }


def _climb(size: str, weeks: int, share: float) -> dict[str, Any]:
    """Search and proof within so many seconds together, each anew from the parts of the farm."""
    from benchmarks.plain_models import case_of
    from trayward.plan.decide import GAP

    case = case_of(size.lower(), 10**6, SCENARIOS, share, weeks=weeks)
    found = [(seconds, *decided(case, seconds)) for seconds in SECONDS.get(size, (5.0,))]
    cheapest = min(cost for _, cost, _ in found)
    return {
        "gaps": [(seconds, 100 * (cost - bound) / case.sales) for seconds, cost, bound in found],
        "above": [(seconds, 100 * (cost - cheapest) / case.sales) for seconds, cost, _ in found],
        "asked": 100 * GAP,
    }


def decided(case: Any, seconds: float) -> tuple[float, float]:
    """What the plan found in so many seconds costs, and what is proven by then."""
    from benchmarks.plain_models import searched_and_proven

    search, bound = searched_and_proven(case, monotonic(), seconds)
    return search.cost(), bound


if __name__ == "__main__":
    run(figures, SIZES)
