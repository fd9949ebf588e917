"""A hundred equally likely outcomes of a range: people count dots more surely than they read a curve."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist

from trayward.outlook.types import Range

OUTCOMES = 100
NORMAL = NormalDist()


def hundred(low: float, likely: float, high: float, **wider: tuple[float, float] | None) -> list[float]:
    """
    A hundred values of which each is as likely as any other, in rising order.

    Parameters
    ----------
    low, likely, high : float
        10th, 50th and 90th percentile.
    wider : pair of float or None
        `half`: 25th and 75th percentile; `most`: 2.5th and 97.5th. None where not known.

    Returns
    -------
    list of float (100,)
        The 0.5th, 1.5th, ... 99.5th percentile: straight lines between the given ones on the scale on which a normal
        distribution is a straight line, the outermost going on.

    Examples
    --------
    >>> values = hundred(64, 95, 130)
    >>> sum(value < 64 for value in values), sum(value > 130 for value in values)
    (10, 10)
    """
    points = {0.1: low, 0.5: likely, 0.9: high}
    for shares, name in (((0.25, 0.75), "half"), ((0.025, 0.975), "most")):
        pair = wider.get(name)
        if pair is not None:
            points |= dict(zip(shares, pair, strict=True))
    known = [(NORMAL.inv_cdf(share), points[share]) for share in sorted(points)]
    return [_at(NORMAL.inv_cdf((number + 0.5) / OUTCOMES), known) for number in range(OUTCOMES)]


def hundred_weights(grams: Range) -> list[float]:
    """A hundred equally likely weights, on the log scale on which weights spread evenly. [g]"""

    def log(pair: tuple[float, float] | None) -> tuple[float, float] | None:
        return pair and (_log(pair[0]), _log(pair[1]))

    logs = hundred(_log(grams.low), _log(grams.likely), _log(grams.high), half=log(grams.half), most=log(grams.most))
    return [math.exp(value) for value in logs]


def _log(grams: float) -> float:
    return math.log(max(grams, 1e-6))


def _at(z: float, known: Sequence[tuple[float, float]]) -> float:
    """The value at a standard normal quantile, by the two known points it lies between (or the outermost two)."""
    right = next((number for number, (quantile, _) in enumerate(known) if quantile >= z), len(known) - 1)
    (first, low), (last, high) = known[max(0, right - 1)], known[max(1, right)]
    return low + (high - low) * (z - first) / (last - first)


def counted_in(values: Sequence[float], edges: Sequence[float]) -> list[int]:
    """How many values fall between each two edges; what lies outside counts with the outermost."""
    counts = [0] * (len(edges) - 1)
    for value in values:
        right = next((number for number, edge in enumerate(edges) if edge > value), len(edges))
        counts[min(max(right - 1, 0), len(counts) - 1)] += 1
    return counts
