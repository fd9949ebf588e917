"""Whether promised chances held: of the lines that were given 9 in 10, were 9 in 10 met in full?

The lines of a season share its lots and its weather; `plan.held` says how much news is in so many promises.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import msgspec

from trayward.plan.held import AheadBin, Held, between, by_days_ahead, mean_told, range_kept, share_kept
from trayward.study.types import Promise

EDGES = (0.0, 0.2, 0.4, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98, 1.0)
"""Ends of the bins: narrow at the top, where plans promise. [-]"""
ENOUGH = 100
"""Bins with fewer promises are shown, and not judged by."""


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
        Held(seed, (seed, one.line, one.due), one.chance, one.kept, one.days_ahead)
        for seed, many in promises.items()
        for one in many
    ]
    if not held:
        return Reliability()
    spans = [(low, high, between(held, low, high, EDGES[-1])) for low, high in pairwise(EDGES)]
    bins = tuple(_bin(low, high, here) for low, high, here in spans if here)
    judged = [one for one in bins if one.promises >= ENOUGH]
    told = Promises(
        promises=len(held),
        largest_off_points=max((100 * abs(one.off) for one in judged), default=None),
        surely_off_points=max((100 * _surely_off(one) for one in judged), default=None),
        mean_off_points=100 * sum(abs(one.off) * one.promises for one in bins) / len(held),
        by_days_ahead=by_days_ahead(held),
    )
    return Reliability(bins=bins, told=told)


def _bin(low: float, high: float, held: Sequence[Held]) -> CalibrationBin:
    least, most = range_kept(held)
    return CalibrationBin(
        chance_from=low,
        chance_to=high,
        promised=mean_told(held),
        kept=share_kept(held),
        kept_low=least,
        kept_high=most,
        promises=len(held),
        lines=len({one.line for one in held}),
    )


def _surely_off(one: CalibrationBin) -> float:
    return max(0.0, one.kept_low - one.promised, one.promised - one.kept_high)
