"""How long stage times take to fit, beside an independent fitter of the same intervals without any groups.

Made-up trays of one stage, six a sowing, looked at every half day: 40 recipes, 200 lots, 26 seasons. The peer is
scipy.stats on censored data; it knows one mean and one spread, no recipe, lot, season or sowing, so it does far less.
"""

from __future__ import annotations

import math
import time
from typing import Any

import numpy as np

from benchmarks.harness import Figure, measure, measure_beside, progress, run
from trayward.outlook.censored import IntervalLikelihood, Intervals
from trayward.outlook.latent import LatentFit, fit_latent, settle
from trayward.outlook.terms import FixedPrior, Floats, Term

SIZES = ("1k", "10k", "50k", "500k")
TRAYS = {"1k": 1_000, "10k": 10_000, "50k": 50_000, "500k": 500_000}
A_SOWING = 6
LEVELS = {"recipe": 40, "lot": 200, "season": 26}
SPREADS = {"recipe": 0.3, "lot": 0.1, "season": 0.05}
SHARED, OWN = 0.1, 0.05
"""What sowings and trays differ by. [log d]"""
BETWEEN_LOOKS = 0.5
"""[d]"""
STILL_GOING = 0.05
PEER_TRAYS = 50_000
"""The peer's memory and time grow with the trays; at the largest size it is left out."""


def made(trays: int, seed: int = 1) -> tuple[Intervals, list[Term], int]:
    """Intervals of that many trays, the terms of their sowings, and how many sowings there are."""
    draw = np.random.default_rng(seed)
    sowings = trays // A_SOWING
    level = {name: draw.integers(0, number, sowings) for name, number in LEVELS.items()}
    effects = [draw.normal(0, SPREADS[name], number)[level[name]] for name, number in LEVELS.items()]
    middle = (1.2 + sum(effects) + draw.normal(0, SHARED, sowings))[:, None]
    days = np.exp(middle + draw.normal(0, OWN, (sowings, A_SOWING)))
    first = draw.uniform(0, BETWEEN_LOOKS, (sowings, 1))
    low = np.floor((days - first) / BETWEEN_LOOKS) * BETWEEN_LOOKS + first
    going = draw.random((sowings, 1)) < STILL_GOING
    high = np.where(going, math.inf, np.log(low + BETWEEN_LOOKS))
    low = np.where(low > 0, np.log(np.maximum(low, 1e-9)), -math.inf)
    terms = [Term(name=name, level=level[name], levels=number) for name, number in LEVELS.items()]
    return Intervals(np.repeat(np.arange(sowings), A_SOWING), low.ravel(), high.ravel()), terms, sowings


def fit(intervals: Intervals, terms: list[Term], sowings: int, spreads: LatentFit | None = None) -> LatentFit:
    """All of a fit from the intervals on; with an earlier one, only the coefficients at its spreads."""
    likelihood = IntervalLikelihood(intervals, sowings)
    flat = FixedPrior(np.zeros(1), np.full(1, math.inf))
    one, offset = np.ones((sowings, 1)), np.zeros(sowings)
    if spreads is not None:
        return settle(likelihood, offset, one, flat, terms, spreads.spreads, start=spreads)
    return fit_latent(likelihood, offset, one, flat, terms)


def censored(low: Floats, high: Floats) -> Any:
    """The same trays as scipy takes them."""
    from scipy import stats

    between = np.isfinite(low) & np.isfinite(high)
    return stats.CensoredData(
        interval=np.column_stack([low, high])[between],
        left=high[np.isinf(low) & np.isfinite(high)],
        right=low[np.isinf(high) & np.isfinite(low)],
    )


def figures(sizes: tuple[str, ...] = SIZES) -> list[Figure]:
    """Time of a whole fit, and of settling the coefficients after an earlier one."""
    from scipy import stats

    found = []
    for size in sizes:
        trays = TRAYS[size]
        intervals, terms, sowings = made(trays)
        repeat = 3 if trays <= PEER_TRAYS else 1
        progress(f"latent models: {size} trays, {repeat} times")
        name, shown = "fit of one stage's times", f"{size} trays"
        began = time.perf_counter()
        fitted = fit(intervals, terms, sowings)
        mine = time.perf_counter() - began
        if trays <= PEER_TRAYS:
            peer = censored(intervals.low, intervals.high)
            mine, theirs = measure_beside(
                lambda given=(intervals, terms, sowings): fit(*given),
                lambda peer=peer: stats.norm.fit(peer),
                repeat=repeat,
                warm_up=0,
            )
            found.append(Figure(name, shown, mine, "s", "scipy CensoredData, no groups", theirs))
        else:
            found.append(Figure(name, shown, mine, "s"))
        again = measure(lambda given=(intervals, terms, sowings, fitted): fit(*given), repeat=repeat, warm_up=0)
        found.append(
            Figure("settle after an earlier fit, one stage", shown, again * 1000, "ms", "whole fit", mine * 1000)
        )
    return found


if __name__ == "__main__":
    run(figures, SIZES)
