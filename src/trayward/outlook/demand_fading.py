"""Several ways to learn from weeks, side by side: how fast the past fades, and how far rows are taken to be alike.

Nobody knows beforehand whether a farm's customers keep to their habits for years or change them by the month. So each
way foretells every week from the weeks before, and counts as much as it foretold well lately: of each customer by
itself, with what all customers together say for those whose own weeks do not tell.

References
----------
Raftery, A. E., Karny, M. and Ettler, P. (2010). Online prediction under model uncertainty via dynamic model averaging:
application to a cold rolling mill. Technometrics 52(1):52-66. doi:10.1198/TECH.2009.08104
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from trayward.outlook.terms import Floats, Ints

HALF_LIVES: Final = np.array([3.0, 8.0, 26.0, 104.0])
"""After so many weeks a week counts half. Our choice. [weeks]"""
KEPT: Final = 0.5 ** (1.0 / HALF_LIVES)
"""What is left of a week's weight after another. [-]"""
SCORES_KEPT: Final = 0.5 ** (1.0 / 26.0)
"""So much of what is said of the ways is left after a week. Our choice. [-]"""
SCORED: Final = 52
"""The last so many weeks say which way is best: before them, customers were others. Our choice. [weeks]"""
BLOCK: Final = 200_000
"""Numbers worked on at once: few enough for a core's own memory, many enough that small farms take one step."""


def faded(weeks: Floats) -> Floats:
    """Sums over weeks (w, ...) for each half-life (h, ...), each week counting less the longer ago it is."""
    age = np.arange(len(weeks), 0, -1.0)
    return np.tensordot(KEPT[:, None] ** age, weeks, axes=1)


def further(weeks: float) -> Floats:
    """What is left of the evidence for each half-life (h,) when another `weeks` lie ahead. [-]"""
    return np.asarray(KEPT**weeks)


def blocks(weeks: int, size: int) -> Iterator[slice]:
    """Weeks in blocks, for work of `size` numbers a week."""
    step = max(1, BLOCK // max(1, size))
    return (slice(at, min(at + step, weeks)) for at in range(0, weeks, step))


def before_each(start: Floats, weeks: Floats) -> tuple[Floats, Floats]:
    """Faded sums as they stood before each of some weeks (w, h, ...), and after the last (h, ...)."""
    kept = KEPT.reshape(-1, *(1,) * (weeks.ndim - 1))
    found = np.empty((len(weeks), *start.shape))
    for at, week in enumerate(weeks):
        found[at] = start
        start = kept * (start + week)
    return found, start


def recent(scores: Floats) -> Floats:
    """Scores of weeks (w, ...) added up, each week counting less the longer ago it is."""
    return np.tensordot(SCORES_KEPT ** np.arange(len(scores) - 1, -1, -1.0), scores, axes=1)


def trust(scores: Floats) -> Floats:
    """
    How far each way is trusted for each row.

    Parameters
    ----------
    scores : (g, c)
        Log chance that each way gave to what each row did.

    Returns
    -------
    (c, g)
        Adding up to one. The rows' common leaning is found by fixed steps of the EM rule, from even trust.
    """
    odds = np.exp(scores - scores.max(axis=0)).T
    ways, rows = scores.shape
    common = np.full(ways, 1.0 / ways)
    for _ in range(20):
        own = odds * common
        own /= own.sum(axis=1, keepdims=True)
        common = (1.0 + own.sum(axis=0)) / (ways + rows)
    own = odds * common
    return np.asarray(own / own.sum(axis=1, keepdims=True))


def pick(weights: Floats, n: int, rng: np.random.Generator) -> Ints:
    """A way for each row in each of `n` cases (n, c), by their weights (c, g)."""
    chances = rng.random((n, len(weights), 1))
    picked = (np.cumsum(weights, axis=1) < chances).sum(axis=2)
    return np.asarray(np.minimum(picked, weights.shape[1] - 1))
