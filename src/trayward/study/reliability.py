"""Whether promised chances held: of the lines that were given 9 in 10, were 9 in 10 met in full?

The same line is promised anew every day until it is due, and the lines of a season share its lots and its weather. So
promises are many and the news in them is little: intervals are those of as many independent promises as the season to
season spread bears out, and of no more than there are lines.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date
from itertools import pairwise

import msgspec
import numpy as np

from trayward.study.types import Promise

EDGES = (0.0, 0.2, 0.4, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98, 1.0)
"""Ends of the bins: narrow at the top, where plans promise. [-]"""
AHEAD = ((0, 2), (3, 6), (7, 13), (14, 400))
"""From so many to so many days ahead. [d]"""
ENOUGH = 100
"""Bins with fewer promises are shown, and not judged by."""
Z = 1.959964


class CalibrationBin(msgspec.Struct, frozen=True, kw_only=True):
    """Promises of about the same chance. [-]"""

    chance_from: float
    chance_to: float
    promised: float
    """Mean chance promised."""
    kept: float
    """Share of them that was met in full."""
    kept_low: float
    kept_high: float
    """Where the share may truly lie, 95 %."""
    promises: int
    lines: int
    """Lines these are promises of."""

    @property
    def off(self) -> float:
        """Kept less promised. [-]"""
        return self.kept - self.promised


class AheadBin(msgspec.Struct, frozen=True, kw_only=True):
    """Promises made about as long before the day. [d], [-]"""

    days_from: int
    days_to: int
    promised: float
    kept: float
    promises: int


class Promises(msgspec.Struct, frozen=True, kw_only=True):
    """How far promised chances were off, in all."""

    promises: int = 0
    largest_off_points: float | None = None
    """Of the bins with enough promises: the largest difference of kept and promised, in points. [%]"""
    surely_off_points: float | None = None
    """The same with every bin as near to its promise as chance leaves open. [%]"""
    mean_off_points: float | None = None
    """Mean difference over all promises, by bin and without its sign. [%]"""
    by_days_ahead: tuple[AheadBin, ...] = ()


class Reliability(msgspec.Struct, frozen=True, kw_only=True):
    """Promised chances of a policy held against what happened."""

    bins: tuple[CalibrationBin, ...] = ()
    told: Promises = Promises()


class _Held(msgspec.Struct, frozen=True):
    season: int
    line: tuple[int, str, date]
    chance: float
    kept: bool
    days_ahead: int


def reliability(promises: Mapping[int, Sequence[Promise]]) -> Reliability:
    """
    Hold promises against what happened.

    Parameters
    ----------
    promises : mapping of int to sequence of Promise
        Those of each season, by its seed.

    Returns
    -------
    Reliability
        By chance promised, and by how long before.
    """
    held = [
        _Held(seed, (seed, one.line, one.due), one.chance, one.kept, one.days_ahead)
        for seed, many in promises.items()
        for one in many
    ]
    if not held:
        return Reliability()
    bins = tuple(_bin(low, high, _between(held, low, high)) for low, high in _spans() if _between(held, low, high))
    judged = [one for one in bins if one.promises >= ENOUGH]
    told = Promises(
        promises=len(held),
        largest_off_points=max((100 * abs(one.off) for one in judged), default=None),
        surely_off_points=max((100 * _surely_off(one) for one in judged), default=None),
        mean_off_points=100 * sum(abs(one.off) * one.promises for one in bins) / len(held),
        by_days_ahead=_by_days_ahead(held),
    )
    return Reliability(bins=bins, told=told)


def _spans() -> list[tuple[float, float]]:
    return list(pairwise(EDGES))


def _between(held: Sequence[_Held], low: float, high: float) -> list[_Held]:
    last = high == EDGES[-1]
    return [one for one in held if low <= one.chance < high or (last and one.chance >= high)]


def _bin(low: float, high: float, held: Sequence[_Held]) -> CalibrationBin:
    kept = sum(one.kept for one in held) / len(held)
    lines = len({one.line for one in held})
    least, most = wilson(kept, *effective(held, lines))
    return CalibrationBin(
        chance_from=low,
        chance_to=high,
        promised=sum(one.chance for one in held) / len(held),
        kept=kept,
        kept_low=least,
        kept_high=most,
        promises=len(held),
        lines=lines,
    )


def effective(held: Sequence[_Held], lines: int) -> tuple[float, float]:
    """
    How many independent promises these are worth, and by how much the interval is wider for few seasons. [-]

    References
    ----------
    E. L. Korn and B. I. Graubard, "Confidence intervals for proportions with small expected number of positive counts
    estimated from survey data", Survey Methodology 24 (1998) 193-201: the sample size over the design effect (from
    memory; they put it into the exact interval, here it goes into Wilson's).
    """
    from scipy.special import stdtrit

    seasons, number = sorted({one.season for one in held}), len(held)
    if len(seasons) < 2:
        return float(lines), Z
    kept = sum(one.kept for one in held) / number
    off = np.zeros(len(seasons))
    at = {season: place for place, season in enumerate(seasons)}
    for one in held:
        off[at[one.season]] += one.kept - kept
    variance = len(seasons) / (len(seasons) - 1) * float(off @ off) / number**2
    plain = kept * (1 - kept)
    worth = min(float(lines), plain / variance) if variance > 0 and plain > 0 else float(lines)
    return max(1.0, worth), float(stdtrit(len(seasons) - 1, 0.975))


def wilson(share: float, number: float, z: float = Z) -> tuple[float, float]:
    """
    Where a share may truly lie that was seen in so many cases. [-]

    References
    ----------
    E. B. Wilson, "Probable inference, the law of succession, and statistical inference", Journal of the American
    Statistical Association 22 (1927) 209-212.

    Examples
    --------
    >>> tuple(round(end, 3) for end in wilson(0.9, 100))
    (0.826, 0.945)
    """
    z2 = z * z
    middle = (share + z2 / (2 * number)) / (1 + z2 / number)
    half = z / (1 + z2 / number) * math.sqrt(share * (1 - share) / number + z2 / (4 * number * number))
    return max(0.0, middle - half), min(1.0, middle + half)


def _surely_off(one: CalibrationBin) -> float:
    return max(0.0, one.kept_low - one.promised, one.promised - one.kept_high)


def _by_days_ahead(held: Sequence[_Held]) -> tuple[AheadBin, ...]:
    found = []
    for low, high in AHEAD:
        here = [one for one in held if low <= one.days_ahead <= high]
        if here:
            promised, kept = sum(one.chance for one in here) / len(here), sum(one.kept for one in here) / len(here)
            found.append(AheadBin(days_from=low, days_to=high, promised=promised, kept=kept, promises=len(here)))
    return tuple(found)
