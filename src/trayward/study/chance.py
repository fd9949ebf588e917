"""Chance that is named: the same seed number and name give the same draw, whatever was asked before.

Policies that sow on different days must meet the same weather, customers and seed, or their difference would be luck.
So nothing is drawn in the order in which it is asked for: each draw is a hash of its own name.
"""

from __future__ import annotations

import math
from hashlib import blake2b
from statistics import NormalDist

_BELL = NormalDist()
_WIDE = 2.0**-53


class Chance:
    """
    Draws by name.

    Parameters
    ----------
    seed : int
        The number of the season; another number is another luck.

    Examples
    --------
    >>> luck = Chance(7)
    >>> luck.uniform("tray", "1") == Chance(7).uniform("tray", "1")
    True
    """

    def __init__(self, seed: int) -> None:
        self._key = seed.to_bytes(16, "big", signed=True)

    def number(self, *name: object) -> int:
        """A whole number below 2 to the 64th, to begin other generators with. [-]"""
        text = "\x1f".join(map(str, name))
        return int.from_bytes(blake2b(text.encode(), digest_size=8, key=self._key).digest(), "big")

    def uniform(self, *name: object) -> float:
        """A number between 0 and 1, neither included. [-]"""
        return ((self.number(*name) >> 11) + 0.5) * _WIDE

    def normal(self, *name: object) -> float:
        """A standard normal number. [-]"""
        return _BELL.inv_cdf(self.uniform(*name))

    def count(self, mean: float, *name: object) -> int:
        """A Poisson count, by going up its cumulative probabilities until they pass a uniform number. [-]"""
        left, chance, number = self.uniform(*name), math.exp(-mean), 0
        while left > chance and number < 1000:
            left -= chance
            number += 1
            chance *= mean / number
        return number
