"""How long a linear mixed model of all cut trays takes, and one weight more between two fits.

The trays are made up: log grams by recipe, seed lot (a recipe's own), season and sowing (of one lot, in one season),
with three fixed columns. The peer is statsmodels' MixedLM with the same terms, on the sizes it does in a minute or so;
it searches the same restricted likelihood. Beyond those, a fit stands beside the least squares of its fixed columns.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterable
from statistics import median
from typing import Any, Final

from benchmarks.harness import Figure, apart, peak_mib, progress, run
from benchmarks.harness import once as timed

SIZES: Final = ("1k", "10k", "50k", "500k")
ROWS: Final = {"1k": 1_000, "10k": 10_000, "50k": 50_000, "500k": 500_000}
RECIPES: Final = 40
SEASONS: Final = 26
TRAYS_A_SOWING: Final = 6.25
SPREADS: Final = {"recipe": 0.4, "lot": 0.15, "season": 0.1, "sowing": 0.2}
TRAY_SD: Final = 0.12
PEER_SIZES: Final = ("1k",)
PEER: Final = "statsmodels MixedLM"
REPEAT: Final = {"1k": 9, "10k": 5, "50k": 5, "500k": 1}


def figures(sizes: Iterable[str] = SIZES) -> list[Figure]:
    """Time and memory of a fit of all trays, and time of one weight more, by number of trays."""
    found = []
    for size in sizes:
        progress(f"mixed_models: {size} trays")
        mine = apart("mixed_models", "ours", size)
        theirs: dict[str, Any] = {}
        if size in PEER_SIZES:
            progress(f"mixed_models: {size} trays, {PEER}")
            theirs = apart("mixed_models", "peer", size)
        found += _figures(f"{size} trays", mine, theirs)
    return found


def _figures(size: str, mine: dict[str, Any], theirs: dict[str, Any]) -> list[Figure]:
    peer = (PEER, theirs.get("fit")) if theirs else ("its fixed columns alone", mine["squares"])
    memory = (PEER, theirs.get("peak_mib")) if theirs else ("before", mine["before_mib"])
    found = [
        Figure("mixed model, rows to estimates", size, mine["fit"], "s", *peer),
        Figure("of it, the sums", size, mine["sums"], "s", "its fixed columns alone", mine["squares"]),
        Figure("peak memory of a fit", size, mine["peak_mib"], "MiB", *memory),
        Figure("one weight more, solved", size, mine["update"] * 1000, "ms", "fitted anew", mine["fit"] * 1000),
    ]
    if theirs:
        found.append(Figure("criterion", size, mine["criterion"], "-2 log L", PEER, theirs["criterion"]))
    return found


def part(whose: str, size: str) -> dict[str, Any]:
    """What the new process measures: our fit and update, or the peer's fit."""
    y, fixed, levels = trays(ROWS[size])
    return _ours(y, fixed, levels, REPEAT[size]) if whose == "ours" else _theirs(y, fixed, levels)


def trays(rows: int) -> tuple[Any, Any, dict[str, Any]]:
    """Made-up trays: log grams, fixed columns (rows, 3), and each term's level of every row."""
    import numpy as np

    rng = np.random.default_rng(rows)
    lots = 2_000 if rows > 100_000 else min(200, rows // 10)
    sowings = round(rows / TRAYS_A_SOWING)
    lot_of = rng.integers(0, lots, sowings)
    season_of = np.arange(sowings) * SEASONS // sowings
    sowing = rng.integers(0, sowings, rows)
    levels = {
        "recipe": lot_of[sowing] % RECIPES,
        "lot": lot_of[sowing],
        "season": season_of[sowing],
        "sowing": sowing,
    }
    fixed = np.column_stack([np.ones(rows), rng.normal(size=sowings)[sowing], rng.normal(size=rows)])
    y = fixed @ [5.0, 0.1, 0.05] + rng.normal(0, TRAY_SD, rows)
    for name, level in levels.items():
        y += rng.normal(0, SPREADS[name], int(level.max()) + 1)[level]
    return y, fixed, levels


def _ours(y: Any, fixed: Any, levels: dict[str, Any], repeat: int) -> dict[str, float]:
    import numpy as np

    from trayward.outlook.mixed import cross_products, fit, solve
    from trayward.outlook.terms import Term

    terms = [Term(name=name, level=level, levels=int(level.max()) + 1) for name, level in levels.items()]
    before = peak_mib()
    made: list[Any] = []
    sums, fits, squares = [], [], []
    for _ in range(repeat):
        sums.append(timed(lambda: made.append(cross_products(y, fixed, terms))))
        fits.append(sums[-1] + timed(lambda: made.append(fit(made[-1]))))
        squares.append(timed(lambda: np.linalg.lstsq(fixed, y)))
    products, fitted = made[-2:]
    one = {name: level[-1:] for name, level in levels.items()}

    def update() -> None:
        solve(products.with_rows(y[-1:], fixed[-1:], one), fitted.spreads)

    update()
    updates = [timed(update) for _ in range(11)]
    return {
        "fit": median(fits),
        "sums": median(sums),
        "squares": median(squares),
        "update": median(updates),
        "criterion": fitted.criterion,
        "before_mib": before,
    }


def _theirs(y: Any, fixed: Any, levels: dict[str, Any]) -> dict[str, float]:
    import numpy as np
    from scipy import sparse
    from statsmodels.regression.mixed_linear_model import MixedLM, VCSpec

    names = sorted(levels)
    rows = np.arange(len(y))

    def fit() -> Any:
        designs = [sparse.csr_matrix((np.ones(len(y)), (rows, levels[name]))).toarray() for name in names]
        labels = [[str(level) for level in range(design.shape[1])] for design in designs]
        spec = VCSpec(names, [[each] for each in labels], [[design] for design in designs])
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return MixedLM(y, fixed, np.ones(len(y)), exog_vc=spec).fit(reml=True)

    made: list[Any] = []
    seconds = timed(lambda: made.append(fit()))
    return {"fit": seconds, "criterion": -2 * float(made[0].llf)}


if __name__ == "__main__":
    run(figures, SIZES)
