"""How long the seed bench takes over a million seeds, beside the plainest numpy that gives the same answer.

The peers check nothing of what they are given and tell nothing of what is wrong with it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.special import erf

from benchmarks.harness import Figure, measure_beside, progress, run
from trayward.science.mesh import falls_through, share_retained
from trayward.science.seeds import grams_for_density, seeds_in_grams
from trayward.science.spread import counts_by_cell, spread_of_counts

SEEDS = 1_000_000
REPEAT = 9
LENGTH, WIDTH, CELL = 508.0, 254.0, 10.0


def figures() -> list[Figure]:
    """Time for a million seeds, openings, densities or places."""
    found = []
    for name, (mine, peer, words) in _pairs().items():
        progress(f"seed bench: {name}, {REPEAT} times")
        ours, theirs = measure_beside(mine, peer, repeat=REPEAT)
        found.append(Figure(f"seed bench, {name}", "1e6", ours * 1000, "ms", words, theirs * 1000))
    return found


def _pairs() -> dict[str, tuple[Callable[[], object], Callable[[], object], str]]:
    rng = np.random.default_rng(20261126)
    widths = rng.normal(1.6, 0.15, SEEDS).clip(0.5)
    thick = widths * rng.uniform(0.6, 1.0, SEEDS)
    openings = rng.uniform(0.5, 3.0, SEEDS)
    densities = rng.uniform(0.5, 12.0, SEEDS)
    along, across = rng.uniform(0, LENGTH, SEEDS), rng.uniform(0, WIDTH, SEEDS)
    counts = rng.poisson(5.0, SEEDS).astype(float)
    edges = [np.arange(0, LENGTH + 1e-9, CELL), np.arange(0, WIDTH + 1e-9, CELL)]
    return {
        "which fall through a mesh": (
            lambda: falls_through(widths, 1.4, thick),
            lambda: np.sqrt((widths**2 + thick**2) / 2) <= 1.4,
            "numpy, unchecked",
        ),
        "share held by an opening": (
            lambda: share_retained(1.6, 0.15, openings, thickness_mm=1.2),
            lambda: 0.5 - 0.5 * erf((openings - 1.6) / 0.15 / np.sqrt(2)),
            "scipy erf, round seed alone",
        ),
        "grams for a density": (
            lambda: grams_for_density(densities, 1290.0, 3.15, 0.9),
            lambda: densities * 1290.0 * 3.15 / 1000 / 0.9,
            "numpy, unchecked",
        ),
        "seeds in grams": (
            lambda: seeds_in_grams(densities, 3.15),
            lambda: densities / 3.15 * 1000,
            "numpy, unchecked",
        ),
        "places sorted into cells": (
            lambda: counts_by_cell(along, across, LENGTH, WIDTH, CELL),
            lambda: np.histogram2d(along, across, bins=edges),
            "numpy histogram2d",
        ),
        "evenness of cells": (
            lambda: spread_of_counts(counts),
            lambda: (counts.mean(), counts.var()),
            "numpy mean and variance",
        ),
    }


if __name__ == "__main__":
    run(figures)
