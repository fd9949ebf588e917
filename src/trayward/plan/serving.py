"""Who gets what, in every scenario: the trays of a plan served to the order lines by a rule a grower could follow.

Day after day the lines that bring and spare most come first (`farm.served_first`), small ones before large ones; each
is served from what spoils first. A
mix is served as far as its scarcest part. What nobody takes while it keeps is wasted.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from trayward.plan.days import Floats, Ints
from trayward.plan.plots import Plot
from trayward.plan.uses import CUT, LIVE

DUST = 1e-6


class Claim(NamedTuple):
    """An order line, or spot orders that may come, as they are served."""

    line: int
    """Number of the line; -1 for spot orders."""
    want: int
    day: int
    live: bool
    parts: tuple[tuple[str, float], ...]
    amount: Floats
    """What is open of it (s,): grams, or live trays."""
    worth: float
    """What one brings and spares, with all that the plan puts on letting it down. [currency]"""
    gain: float
    """The same by the account: who is served first. [currency]"""


class Source(NamedTuple):
    """What serves: trays of a choice of a plot, or crop in the cold room."""

    crop: str
    choice: int
    """-1: the cold room."""
    harvest: str


class Served(NamedTuple):
    """What came of a plan."""

    met: Floats
    """Of each claim, in each scenario (claims, s)."""
    shares: dict[tuple[int, Source], float]
    """What each source gives each claim, the mean over scenarios."""
    wasted: Floats
    """Cut crop that nobody takes (s,). [g]"""


class _Bins(NamedTuple):
    """Crop of some sources (b), in each scenario (s)."""

    sources: list[Source]
    left: Floats
    """(b, s)"""
    first: Ints
    last: Ints
    span: Ints
    """The first and the last due day each serves in any scenario (2, b)."""


def serve(plots: Sequence[Plot], takes: Sequence[Floats], claims: Sequence[Claim]) -> Served:
    """
    Serve claims, in the order of their days, with the trays of a plan.

    Parameters
    ----------
    takes : sequence of array
        Whole trays of each plot's choices (n,).
    claims : sequence of Claim
        What is wanted; any order.

    Returns
    -------
    Served
        `met` in the order of the claims.
    """
    return _Serving(plots, takes).run(claims)


class _Serving:
    def __init__(self, plots: Sequence[Plot], takes: Sequence[Floats]) -> None:
        self.scenarios = plots[0].choices.grams.shape[0] if plots else 1
        self.dues = {plot.crop: plot.demand.days for plot in plots}
        self.bins = {plot.crop: self._bins(plot, take) for plot, take in zip(plots, takes, strict=True)}
        self.live = {plot.crop: self._live(plot, take) for plot, take in zip(plots, takes, strict=True)}
        self.shares: dict[tuple[int, Source], float] = {}

    def _bins(self, plot: Plot, take: Floats) -> _Bins:
        """The cold room, then standing trays, then what is sown; what spoils on the same day is taken in that order."""
        choices, wide = plot.choices, np.ones(self.scenarios)
        stock = sorted(plot.stock, key=lambda item: item.last)
        good = [int(np.searchsorted(plot.demand.days, item.last, side="right")) - 1 for item in stock]
        used = np.flatnonzero((take > 0) & (choices.how == CUT))
        used = used[np.lexsort((choices.last[:, used].mean(axis=0), choices.way[used] >= 0))]
        first, last = choices.first[:, used].T, choices.last[:, used].T
        grams = np.where(first <= last, choices.grams[:, used].T * take[used, None], 0.0)
        left = np.concatenate([np.outer([item.grams for item in stock], wide).reshape(-1, self.scenarios), grams])
        first = np.concatenate([np.zeros((len(stock), self.scenarios), dtype=np.int64), first])
        last = np.concatenate([np.outer(good, wide).reshape(-1, self.scenarios).astype(np.int64), last])
        return _Bins(
            sources=[*(Source(plot.crop, -1, item.harvest) for item in stock),
                     *(Source(plot.crop, one, "") for one in used.tolist())],
            left=left,
            first=first,
            last=last,
            span=np.stack([first.min(axis=1), last.max(axis=1)]) if len(left) else np.zeros((2, 0), dtype=np.int64),
        )  # fmt: skip

    def _live(self, plot: Plot, take: Floats) -> dict[int, list[tuple[Source, Floats]]]:
        choices, days = plot.choices, sorted(plot.demand.live)
        found: dict[int, list[tuple[Source, Floats]]] = {}
        for one in np.flatnonzero((take > 0) & (choices.how == LIVE)).tolist():
            trays = choices.grams[:, one] * take[one]
            found.setdefault(days[int(choices.due[one])], []).append((Source(plot.crop, one, ""), trays))
        return found

    def run(self, claims: Sequence[Claim]) -> Served:
        met = np.zeros((len(claims), self.scenarios))
        order = sorted(range(len(claims)), key=lambda n: (claims[n].day, -round(claims[n].gain, 6),
                                                          float(claims[n].amount.mean()), n))  # fmt: skip
        for number in order:
            claim = claims[number]
            met[number] = self._live_met(number, claim) if claim.live else self._cut_met(number, claim)
        wasted = sum((bins.left.sum(axis=0) for bins in self.bins.values()), np.zeros(self.scenarios))
        return Served(met, self.shares, wasted)

    def _cut_met(self, number: int, claim: Claim) -> Floats:
        """As much of a claim as its scarcest part allows, taken from what spoils first."""
        grams, parts = claim.amount.copy(), []
        for crop, share in claim.parts:
            bins, due = self.bins[crop], int(np.searchsorted(self.dues[crop], claim.day))
            own = np.flatnonzero((bins.span[0] <= due) & (due <= bins.span[1]))
            there = np.where((bins.first[own] <= due) & (due <= bins.last[own]), bins.left[own], 0.0)
            grams = np.minimum(grams, there.sum(axis=0) / share)
            parts.append((bins, share, own, there))
        for bins, share, own, there in parts:
            self._take(number, bins, grams * share, own, there)
        return grams

    def _take(self, number: int, bins: _Bins, need: Floats, own: Ints, there: Floats) -> None:
        """Take what is needed (s,) of what is there of some sources (b, s), what spoils first before the rest."""
        last = bins.last[own]
        if len(own) and (np.diff(last, axis=0) < 0).any():
            order = np.argsort(last, axis=0, kind="stable")
            taken = np.empty_like(there)
            np.put_along_axis(taken, order, _first_of(np.take_along_axis(there, order, axis=0), need), axis=0)
        else:
            taken = _first_of(there, need)
        bins.left[own] -= taken
        for one, mean in zip(own.tolist(), taken.mean(axis=1).tolist(), strict=True):
            self._share(number, bins.sources[one], mean)

    def _live_met(self, number: int, claim: Claim) -> Floats:
        left = claim.amount.copy()
        for source, trays in self.live[claim.parts[0][0]].get(claim.day, []):
            part = np.minimum(trays, left)
            np.subtract(trays, part, out=trays)
            left = left - part
            self._share(number, source, float(part.mean()))
        met: Floats = claim.amount - left
        return met

    def _share(self, number: int, source: Source, mean: float) -> None:
        if mean > DUST:
            key = (number, source)
            self.shares[key] = self.shares.get(key, 0.0) + mean


def _first_of(there: Floats, need: Floats) -> Floats:
    """What is needed (s,), taken from the first of what is there (b, s)."""
    before = np.cumsum(there, axis=0) - there
    taken: Floats = np.clip(need - before, 0.0, there)
    return taken
