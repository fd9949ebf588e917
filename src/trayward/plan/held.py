"""Promised chances held against what came of them: how sure a share is that so many promises show.

The same line is promised anew every day until it is due, and lines share their lots and their weather. So promises are
many and the news in them is little: ranges are those of as many independent promises as the spread between groups bears
out (weeks of a farm, or seasons of a study), and of no more than there are lines.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence

import msgspec
import numpy as np

AHEAD = ((0, 2), (3, 6), (7, 13), (14, 400))
"""From so many to so many days ahead. [d]"""
Z = 1.959964


class Held(msgspec.Struct, frozen=True):
    """One promise and whether it was kept."""

    group: int
    """What shares its luck: a season, or a week."""
    line: Hashable
    chance: float
    kept: bool
    days_ahead: int


class AheadBin(msgspec.Struct, frozen=True, kw_only=True):
    """Promises made about as long before the day. [d], [-]"""

    days_from: int
    days_to: int
    promised: float
    kept: float
    promises: int


def between(held: Sequence[Held], low: float, high: float, last: float) -> list[Held]:
    """Promises of a chance from one end to below the other; of the last bin with its end."""
    return [one for one in held if low <= one.chance < high or (high == last and one.chance >= high)]


def share_kept(held: Sequence[Held]) -> float:
    """The share of some promises that were kept. [-]"""
    return sum(one.kept for one in held) / len(held)


def mean_told(held: Sequence[Held]) -> float:
    """The mean chance of some promises. [-]"""
    return sum(one.chance for one in held) / len(held)


def range_kept(held: Sequence[Held]) -> tuple[float, float]:
    """Where the share kept may truly lie, 95 %. [-]"""
    return wilson(share_kept(held), *effective(held, len({one.line for one in held})))


def by_days_ahead(held: Sequence[Held]) -> tuple[AheadBin, ...]:
    """Promises by how long before the day they were made."""
    found = []
    for low, high in AHEAD:
        here = [one for one in held if low <= one.days_ahead <= high]
        if here:
            found.append(
                AheadBin(
                    days_from=low, days_to=high, promised=mean_told(here), kept=share_kept(here), promises=len(here)
                )
            )
    return tuple(found)


def effective(held: Sequence[Held], lines: int) -> tuple[float, float]:
    """
    How many independent promises these are worth, and by how much the interval is wider for few groups. [-]

    References
    ----------
    E. L. Korn and B. I. Graubard, "Confidence intervals for proportions with small expected number of positive counts
    estimated from survey data", Survey Methodology 24 (1998) 193-201: the sample size over the design effect (from
    memory; they put it into the exact interval, here it goes into Wilson's).
    """
    from scipy.special import stdtrit

    groups, number = sorted({one.group for one in held}), len(held)
    if len(groups) < 2:
        return float(lines), Z
    kept = share_kept(held)
    off = np.zeros(len(groups))
    at = {group: place for place, group in enumerate(groups)}
    for one in held:
        off[at[one.group]] += one.kept - kept
    variance = len(groups) / (len(groups) - 1) * float(off @ off) / number**2
    plain = kept * (1 - kept)
    worth = min(float(lines), plain / variance) if variance > 0 and plain > 0 else float(lines)
    return max(1.0, worth), float(stdtrit(len(groups) - 1, 0.975))


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
