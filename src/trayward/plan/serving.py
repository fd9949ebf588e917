"""Who gets what, in every scenario: the trays of a plan served to the order lines by a rule a grower could follow.

Day after day the lines worth most come first, small ones before large ones; each is served from what was sown first. A
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
    """What one brings and spares. [currency]"""


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


class _Bin(NamedTuple):
    """Crop of one source."""

    source: Source
    left: Floats
    """(s,)"""
    first: Ints
    last: Ints
    span: tuple[int, int]
    """The first and last due day it serves in any scenario."""


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

    def _bins(self, plot: Plot, take: Floats) -> list[_Bin]:
        found = []
        for item in sorted(plot.stock, key=lambda item: item.last):
            good = int(np.searchsorted(plot.demand.days, item.last, side="right")) - 1
            wide = np.full(self.scenarios, float(item.grams))
            spot = np.zeros(self.scenarios, dtype=np.int64)
            found.append(_Bin(Source(plot.crop, -1, item.harvest), wide, spot, spot + good, (0, good)))
        choices = plot.choices
        used = np.flatnonzero((take > 0) & (choices.how == CUT))
        order = used[np.lexsort((choices.last[:, used].mean(axis=0), choices.way[used] >= 0))]
        for one in order.tolist():
            grams = np.where(choices.first[:, one] <= choices.last[:, one], choices.grams[:, one] * take[one], 0.0)
            first, last = choices.first[:, one], choices.last[:, one]
            span = int(first.min()), int(last.max())
            found.append(_Bin(Source(plot.crop, one, ""), grams, first, last, span))
        return found

    def _live(self, plot: Plot, take: Floats) -> dict[int, list[tuple[Source, Floats]]]:
        choices, days = plot.choices, sorted(plot.demand.live)
        found: dict[int, list[tuple[Source, Floats]]] = {}
        for one in np.flatnonzero((take > 0) & (choices.how == LIVE)).tolist():
            trays = choices.grams[:, one] * take[one]
            found.setdefault(days[int(choices.due[one])], []).append((Source(plot.crop, one, ""), trays))
        return found

    def run(self, claims: Sequence[Claim]) -> Served:
        met = np.zeros((len(claims), self.scenarios))
        order = sorted(range(len(claims)), key=lambda n: (claims[n].day, -round(claims[n].worth, 6),
                                                          float(claims[n].amount.mean()), n))  # fmt: skip
        for number in order:
            claim = claims[number]
            met[number] = self._live_met(number, claim) if claim.live else self._cut_met(number, claim)
        wasted = np.sum([one.left for bins in self.bins.values() for one in bins], axis=0)
        return Served(met, self.shares, np.broadcast_to(wasted, (self.scenarios,)).astype(float))

    def _cut_met(self, number: int, claim: Claim) -> Floats:
        grams = claim.amount.copy()
        open_bins = []
        for crop, share in claim.parts:
            due = int(np.searchsorted(self.dues[crop], claim.day))
            own = [
                (one, (one.first <= due) & (due <= one.last))
                for one in self.bins[crop]
                if one.span[0] <= due <= one.span[1]
            ]
            there = np.sum([np.where(good, one.left, 0.0) for one, good in own], axis=0) if own else np.zeros(1)
            grams = np.minimum(grams, there / share)
            open_bins.append((share, own))
        for share, own in open_bins:
            need = grams * share
            for one, good in own:
                part = np.minimum(np.where(good, one.left, 0.0), need)
                np.subtract(one.left, part, out=one.left)
                need = need - part
                self._share(number, one.source, part)
        return grams

    def _live_met(self, number: int, claim: Claim) -> Floats:
        left = claim.amount.copy()
        for source, trays in self.live[claim.parts[0][0]].get(claim.day, []):
            part = np.minimum(trays, left)
            np.subtract(trays, part, out=trays)
            left = left - part
            self._share(number, source, part)
        met: Floats = claim.amount - left
        return met

    def _share(self, number: int, source: Source, part: Floats) -> None:
        mean = float(part.mean())
        if mean > DUST:
            key = (number, source)
            self.shares[key] = self.shares.get(key, 0.0) + mean
