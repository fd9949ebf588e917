"""The plan's own way to decide beside the whole problem given to solvers as anybody would write it down.

One farm each of a ladder, from its first crops over a few scenarios up to all of them over 32, decided in three ways in
the same run: ours (search, then proof), the plain form (`tests/plan/plain_model.py`) given to HiGHS, and to CP-SAT with
whole grams. Each gets the same seconds for good, its model built beforehand. Every plan found is then costed the same
way: served as well as can be in every scenario, by the plain form with its trays fixed.
"""

from __future__ import annotations

import math
import os
from datetime import UTC, datetime
from time import monotonic
from typing import Any, Final, NamedTuple

from benchmarks.harness import Figure, apart, progress, run

SIZES: Final = ("Shelf 4 scenarios", "Loft 3 crops 8 scenarios", "Loft 8 scenarios", "Loft 32 scenarios",
                "Loft with half the racks 32 scenarios")  # fmt: skip
LADDER: Final[dict[str, tuple[str, int, int, float]]] = {
    "Shelf 4 scenarios": ("shelf", 99, 4, 1.0),
    "Loft 3 crops 8 scenarios": ("loft", 3, 8, 1.0),
    "Loft 8 scenarios": ("loft", 99, 8, 1.0),
    "Loft 32 scenarios": ("loft", 99, 32, 1.0),
    "Loft with half the racks 32 scenarios": ("loft", 99, 32, 0.5),
}
"""Farm, its first crops, scenarios, share of the racks and hands there are."""
WEEKS: Final = 6
AT: Final = datetime(2026, 1, 5, 7, tzinfo=UTC)
SECONDS: Final = float(os.environ.get("TRAYWARD_BENCH_SECONDS", "30"))
"""Each solver's. [s]"""
SEARCH, SHAKEN = 0.8, 0.3
"""Of its seconds, ours searches for the first share at most, and shakes what it found until the second is over; the
proof goes on beside it and after. [-]"""


class Case(NamedTuple):
    """A farm in the parts that all three start from."""

    farm: Any
    sales: float


def figures(sizes: tuple[str, ...] = SIZES) -> list[Figure]:
    """Cost beyond the best bound known, proven gap and time, of each way on each farm."""
    found = []
    for size in sizes:
        progress(f"plain models: {size}, {SECONDS:.0f} s each")
        made = {way: apart("plain_models", size, way) for way in ("ours", "highs", "cp_sat")}
        found += _figures(size, made)
    return found


def _figures(size: str, made: dict[str, dict[str, Any]]) -> list[Figure]:
    ours, rows = made["ours"], []
    bound = max(each["bound"] for each in made.values() if each["bound"] is not None)
    for way, name in (("highs", "the plain form in HiGHS"), ("cp_sat", "the plain form in CP-SAT")):
        theirs, sales = made[way], ours["sales"]
        for what, value, other, unit in (
            (
                "cost above the best bound of all",
                _above(ours, bound, sales),
                _above(theirs, bound, sales),
                "% of sales",
            ),
            ("proven gap", _gap(ours, sales), _gap(theirs, sales), "% of sales"),
            ("time", ours["seconds"], theirs["seconds"], "s"),
            ("peak memory", ours["peak_mib"], theirs["peak_mib"], "MiB"),
        ):
            # CP-SAT runs in a process of its own, whose memory is not ours to see.
            if value is not None and not (what == "peak memory" and way == "cp_sat"):
                rows.append(Figure(what, size, value, unit, name if other is not None else f"{name}: none", other))
    return rows


def _above(made: dict[str, Any], bound: float, sales: float) -> float | None:
    return None if made["cost"] is None else 100 * max(0.0, made["cost"] - bound) / sales


def _gap(made: dict[str, Any], sales: float) -> float | None:
    if made["cost"] is None or made["bound"] is None:
        return None
    return 100 * max(0.0, made["cost"] - made["bound"]) / sales


def part(size: str, way: str) -> dict[str, Any]:
    """What the new process measures."""
    case = case_of(*LADDER[size])
    began = monotonic()
    takes, bound = {"ours": _ours, "highs": _highs, "cp_sat": _cp_sat}[way](case)
    seconds = monotonic() - began
    return {"cost": _cost(case, takes), "bound": _finite(bound), "seconds": seconds, "sales": case.sales}


def _finite(number: float) -> float | None:
    return number if math.isfinite(number) else None


def case_of(name: str, crops: int, scenarios: int, share: float, *, weeks: int = WEEKS) -> Case:
    """The farm as it stands before anything is sown, with its racks and hands cut down to a share."""
    from tests.plan.plain_model import Farm as Parts
    from trayward import Farm
    from trayward.farm.calendar import local_day
    from trayward.plan.crop_model import CropModel, asked_of
    from trayward.plan.days import Days
    from trayward.plan.decide import Effort
    from trayward.plan.demand import open_lines
    from trayward.plan.prices import shared_limits
    from trayward.plan.under_doubt import weighed

    farm = Farm.create(":memory:", name, at=AT)
    state, outlook = farm.state(AT), farm.outlook(AT)
    assert state.settings is not None
    days = Days(state.settings, local_day(AT, state.settings), weeks * 7)
    effort = Effort(scenarios=scenarios, checked=0, search_seconds=0.0, proof_seconds=0.0)
    told, _ = weighed(state, outlook, AT, days, open_lines(state, days), effort)
    task, plots = told.task, told.decision.plots[:crops]
    task.limits.has[:3] *= share
    asked = [asked_of(plot, task.wants, task.prices, told.decision.amounts[:scenarios]) for plot in plots]
    models = [CropModel(plot, one, task.disposal) for plot, one in zip(plots, asked, strict=True)]
    shared = shared_limits(task.limits, models, scenarios)
    sales = sum(want.worth * want.amount * share_ for want in task.wants for crop, share_ in want.parts
                if crop in {plot.crop for plot in plots})  # fmt: skip
    return Case(Parts(plots, asked, shared, task.disposal), sales)


def _ours(case: Case) -> tuple[Any, float]:
    search, bound = searched_and_proven(case, monotonic(), SECONDS)
    return search.takes, bound


def searched_and_proven(case: Case, began: float, seconds: float) -> tuple[Any, float]:
    """Our search, at the end of its time, and what is proven beside it and after by the end of all of it."""
    import numpy as np

    from benchmarks.shaken import shake
    from trayward.plan.crop_model import CropModel
    from trayward.plan.crop_search import CropWorth, rounded
    from trayward.plan.decide import FEW, GAP, firmer_by
    from trayward.plan.farm_search import FarmSearch
    from trayward.plan.joint import begin, few_scenarios
    from trayward.plan.proof import Proof

    farm, searched = case.farm, began + SEARCH * seconds
    both = list(zip(farm.plots, farm.asked, strict=True))
    few = [CropModel(plot, asked, farm.disposal, few_scenarios(plot, FEW)) for plot, asked in both]
    begun = begin(farm.shared, few)
    starts = [rounded(model, part) for model, part in zip(few, begun.parts, strict=True)]
    search = FarmSearch(farm.shared, [CropWorth(model) for model in few], starts)
    with Proof(search, farm.plots, farm.asked, farm.disposal, begun.price, GAP * case.sales,
               lambda: monotonic() > began + seconds) as proof:  # fmt: skip
        search.settle(lambda: monotonic() > searched, firmer_by=firmer_by(max(0.0, searched - monotonic())))
        shake(search, np.random.default_rng(1), 1000, lambda: monotonic() > began + SHAKEN * seconds)
        return search, proof.of(search.cost())


def _highs(case: Case) -> tuple[Any, float]:
    from tests.plan.plain_model import plain, with_highs

    found = with_highs(plain(case.farm), seconds=SECONDS, gap=0.005, threads=2)
    return found.takes, found.bound


def _cp_sat(case: Case) -> tuple[Any, float]:
    from tests.plan.plain_model import plain, with_others

    found = with_others("cp_sat", [plain(case.farm)], seconds=SECONDS, grain=1.0)[0]
    # Whole grams flatter or wrong a plan a little: its bound is no proof for the whole problem, and is left out.
    return found.takes, -math.inf


def _cost(case: Case, takes: Any) -> float | None:
    """Of whole trays, served as well as can be."""
    import numpy as np

    from tests.plan.plain_model import plain, with_highs

    if not takes:
        return None
    found = with_highs(plain(case.farm, fixed=[np.rint(take) for take in takes]), whole=False, seconds=300.0)
    return _finite(found.cost)


if __name__ == "__main__":
    run(figures, SIZES)
