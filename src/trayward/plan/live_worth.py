"""What trays of a crop that go out live are worth, and what changes of a tray change of it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from trayward.plan.crop_model import Tiers
from trayward.plan.days import Floats, Ints
from trayward.plan.plots import Choices
from trayward.plan.uses import LIVE


class _Due(NamedTuple):
    """One due day."""

    own: Ints
    """The choices that serve it (k,)."""
    counts: Floats
    """How much of a tray each is in each scenario (k + 1, s): 1 where it is ready by then; the last is no tray. [-]"""
    amounts: list[Floats]
    """How many trays are wanted (s,), what is worth most first."""
    worths: list[float]
    """Of one tray. [currency]"""

    def there(self, take: Floats) -> Floats:
        """How many trays are ready by then (s,)."""
        found: Floats = take[self.own] @ self.counts[:-1]
        return found

    def brought(self, there: Floats) -> Floats:
        """What so many trays (c, s) bring, the mean over scenarios (c,). [currency]"""
        found = np.zeros(len(there))
        for amount, worth in zip(self.amounts, self.worths, strict=True):
            part = np.minimum(there, amount)
            found += part.mean(axis=1) * worth
            there = there - part
        return found


class LiveWorth:
    """
    What live trays are worth.

    Parameters
    ----------
    choices : Choices
        All choices of the crop (n).
    tiers : Tiers
        What is wanted of it live, by due day and worth.
    """

    def __init__(self, choices: Choices, tiers: Tiers) -> None:
        own = np.flatnonzero(choices.how == LIVE)
        self._dues = [_due(choices, tiers, own, int(due)) for due in np.unique(choices.due[own])]
        # The last place is no tray at all, and all choices that are not live.
        self._at_due = np.full(len(choices.how) + 1, -1)
        self._place = np.full(len(choices.how) + 1, -1)
        for number, due in enumerate(self._dues):
            self._at_due[due.own], self._place[due.own] = number, np.arange(len(due.own))

    def of(self, take: Floats) -> float:
        """What the live ones of some trays of each choice (n,) bring, the mean over scenarios. [currency]"""
        return sum(float(due.brought(due.there(take)[None])[0]) for due in self._dues)

    def more(self, take: Floats, off: Ints, on: Ints) -> Floats:
        """What each change of one tray (c,) brings beyond that; -1: from nowhere, or to nowhere. [currency]"""
        found = np.zeros(len(on))
        for number, due in enumerate(self._dues):
            leaves, comes = self._at_due[off] == number, self._at_due[on] == number
            touched = np.flatnonzero(leaves | comes)
            if not len(touched):
                continue
            gone = due.counts[np.where(leaves[touched], self._place[off[touched]], -1)]
            come = due.counts[np.where(comes[touched], self._place[on[touched]], -1)]
            there = due.there(take)
            found[touched] += due.brought(there - gone + come) - due.brought(there[None])
        return found


def _due(choices: Choices, tiers: Tiers, own: Ints, number: int) -> _Due:
    own = own[choices.due[own] == number]
    wanted = np.flatnonzero(tiers.due == number)
    wanted = wanted[np.argsort(-tiers.worth[wanted], kind="stable")]
    amounts = [tiers.amount[:, tier] for tier in wanted]
    counts = np.concatenate([choices.grams[:, own].T, np.zeros((1, len(choices.grams)))])
    return _Due(own, counts, amounts, [float(tiers.worth[tier]) for tier in wanted])
