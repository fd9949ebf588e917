"""Mixes: crops that are worth something only together, as far as the scarcest of them goes.

A crop is searched by itself while the others stand as they are; how much of a mix the others allow is then known, and
a gram of this one is worth what the mix is worth that it makes whole. Before any stands, all parts of a mix would wait
for one another: so at first each is worth its part by itself, and they are tied together as the limits grow firm.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from trayward.plan.crop_search import CropWorth, Supplied, Tied
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
        for one in worths:
            tiers = one.model.all_cut
            for tier in np.flatnonzero(tiers.mix >= 0):
                whole = tiers.amount[:, tier] * (tiers.worth[tier] / tiers.share[tier])
                self.worth[int(tiers.mix[tier])] = whole

    def among(self, number: int) -> list[int]:
        """The crops that share a mix with a crop, itself left out."""
        return sorted({crop for crops in self.crops.values() if number in crops for crop in crops} - {number})

    def tied(self, number: int, weight: float, supplied: Sequence[Supplied | None]) -> Tied:
        """What the others allow of a crop's mixes."""
        allowed = {}
        for mix, crops in self.crops.items():
            if number in crops:
                others = [found.share[mix] for crop in crops if crop != number and (found := supplied[crop])]
                if others:
                    allowed[mix] = np.min(others, axis=0)
        return Tied(weight, allowed)

    def brought(self, supplied: Sequence[Supplied | None]) -> float:
        """What mixes bring as far as their scarcest part goes, the mean over scenarios. [currency]"""
        total = 0.0
        for mix, crops in self.crops.items():
            shares = [found.share[mix] for crop in crops if (found := supplied[crop])]
            total += float((np.min(shares, axis=0) * self.worth[mix]).mean())
        return total


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
        supplied = [one.supplied(take) if one.mixes else None for one, take in zip(found, takes, strict=True)]
        found = [one.tie(mixes.tied(number, 1.0, supplied)) if one.mixes else one for number, one in enumerate(found)]
    return found


def brought_by_all(worths: Sequence[CropWorth], takes: Sequence[Floats], mixes: Mixes) -> float:
    """What the trays of all crops bring and spare, mixes as far as their scarcest part goes. [currency]"""
    tied = all_tied(worths, takes, mixes)
    supplied = [one.supplied(take) if one.mixes else None for one, take in zip(tied, takes, strict=True)]
    own = sum(
        one.of(take) - (found.counted if found else 0.0) for one, take, found in zip(tied, takes, supplied, strict=True)
    )
    return own + mixes.brought(supplied)
