"""Mixes: crops that are worth something only together, as far as the scarcest of them goes.

A crop is searched by itself while the others stand as they are; how much of a mix the others allow is then known, and
a gram of this one is worth what the mix is worth that it makes whole. Before any stands, all parts of a mix would wait
for one another: so at first each is worth its part by itself, and they are tied together as the limits grow firm.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from trayward.plan.crop_search import CropWorth, Tied
from trayward.plan.days import Floats

ROUNDS = 3
"""So often it is looked at what the parts allow one another where nothing is known yet."""
SAME = 1e-9


class Mixes:
    """Which crops are parts of which mixes."""

    def __init__(self, worths: Sequence[CropWorth]) -> None:
        self.worth: dict[int, Floats] = {}
        """Of each mix, what all of it is worth (s,). [currency]"""
        self.crops: dict[int, list[int]] = {}
        for number, one in enumerate(worths):
            for mix in one.mixes:
                self.crops.setdefault(mix, []).append(number)
        self._beside = {
            number: {crop for crops in self.crops.values() if number in crops for crop in crops} - {number}
            for number, one in enumerate(worths)
            if one.mixes
        }
        for one in worths:
            tiers = one.model.all_cut
            for tier in np.flatnonzero(tiers.mix >= 0):
                whole = tiers.amount[:, tier] * (tiers.worth[tier] / tiers.share[tier])
                self.worth[int(tiers.mix[tier])] = whole

    def share(self, one: int, other: int) -> bool:
        """Whether two crops are parts of the same mix."""
        return other in self._beside.get(one, ())

    def tied(self, number: int, weight: float, worths: Sequence[CropWorth], takes: Sequence[Floats]) -> Tied:
        """What the others allow of a crop's mixes."""
        supplied = {crop: worths[crop].supplied(takes[crop]).share for crop in self._beside.get(number, ())}
        allowed = {
            mix: np.min([supplied[crop][mix] for crop in crops if crop != number], axis=0)
            for mix, crops in self.crops.items()
            if number in crops and len(crops) > 1
        }
        return Tied(weight, allowed)

    def brought(self, worths: Sequence[CropWorth], takes: Sequence[Floats]) -> float:
        """What mixes bring as far as their scarcest part goes, the mean over scenarios. [currency]"""
        supplied = {crop: worths[crop].supplied(takes[crop]).share for crops in self.crops.values() for crop in crops}
        return sum(
            float((np.min([supplied[crop][mix] for crop in crops], axis=0) * self.worth[mix]).mean())
            for mix, crops in self.crops.items()
        )


def same(one: Tied, other: Tied) -> bool:
    """Whether parts are tied alike."""
    return (
        one.weight == other.weight
        and one.allowed.keys() == other.allowed.keys()
        and all(np.abs(share - other.allowed[mix]).max() < SAME for mix, share in one.allowed.items())
    )


def all_tied(worths: Sequence[CropWorth], takes: Sequence[Floats], mixes: Mixes) -> list[CropWorth]:
    """Crops tied to one another by nothing but their trays."""
    found = [worth.alone for worth in worths]
    for _ in range(ROUNDS if mixes.crops else 0):
        tied = [mixes.tied(number, 1.0, found, takes) for number in range(len(found))]
        found = [one.tie(ties) if one.mixes else one for one, ties in zip(found, tied, strict=True)]
    return found


def brought_by_all(worths: Sequence[CropWorth], takes: Sequence[Floats], mixes: Mixes) -> float:
    """What the trays of all crops bring and spare, mixes as far as their scarcest part goes. [currency]"""
    tied = all_tied(worths, takes, mixes)
    parts = sum(one.supplied(take).counted for one, take in zip(tied, takes, strict=True) if one.mixes)
    return sum(one.of(take) for one, take in zip(tied, takes, strict=True)) - parts + mixes.brought(tied, takes)
