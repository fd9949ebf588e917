"""The plan asked again, for reasons: each is the plan weighed anew with one tray more, less or on another day."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from trayward.plan.crop_search import Moves
from trayward.plan.days import Floats, Ints
from trayward.plan.prices import over_cost, use_of
from trayward.plan.serving import Claim
from trayward.plan.told import Told


class Why:
    """Asks the plan again, for reasons."""

    def __init__(self, told: Told) -> None:
        self.told, self.decision = told, told.decision
        self.plots = {plot.crop: number for number, plot in enumerate(self.decision.plots)}
        self.search = self.decision.search
        self.over = float(over_cost(self.decision.shared, self.search.use))
        self.tied = _tied([plot.crop for plot in self.decision.plots], self.decision.claims)

    def gains(self, crop: int, off: Ints, on: Ints) -> Floats:
        """What changes of one tray of a crop bring, limits counted (c,). [farm's currency]"""
        if not len(off):
            return np.zeros(0)
        return self.search.gains(crop, Moves(np.asarray(off), np.asarray(on)))

    def use_after(self, crop: int, on: int) -> Floats:
        """What is taken up of the limits after one tray more."""
        model = self.search.worths[crop].model
        one = np.zeros(model.count)
        one[on] = 1.0
        found: Floats = self.search.use + use_of(self.decision.shared, model, one)
        return found


def _tied(crops: Sequence[str], claims: Sequence[Claim]) -> dict[str, frozenset[str]]:
    """Each crop and those that mixes tie to it, directly or through others."""
    found = {crop: frozenset([crop]) for crop in crops}
    for parts in {claim.parts for claim in claims}:
        together = frozenset().union(*(found[crop] for crop, _ in parts))
        found.update(dict.fromkeys(together, together))
    return found
