"""Changes of one crop's trays, followed from due day to due day only while anything of them is left."""

from __future__ import annotations

import numpy as np

from trayward.plan.days import Floats, Ints

DUST = 1e-9
"""Less than this is nothing. [g]"""


class Followed:
    """Changes that are under way, a row each, below a first row for how things are without any."""

    def __init__(self, touched: tuple[Ints, Ints], stock: list[Floats]) -> None:
        begins, self.ends = touched
        self.order = np.argsort(begins, kind="stable")
        self.begins = begins[self.order]
        self.row = np.zeros(len(begins), dtype=np.int64)
        """Of each change (c,)."""
        self.left = np.stack(stock)[:, None, :] if stock else np.zeros((1, 1, 1))
        """Grams by due days they keep, row and scenario."""
        self.worth = np.zeros(self.left.shape[1:])
        self._under_way = np.zeros(0, dtype=np.int64)
        self._more = np.zeros(len(begins))

    def begin(self, due: int) -> None:
        """Take up the changes that begin on a due day."""
        new = self.order[slice(*np.searchsorted(self.begins, (due, due + 1)))]
        if len(new):
            self.row[new] = len(self._under_way) + 1 + np.arange(len(new))
            self._under_way = np.concatenate([self._under_way, new])
            self.left = np.concatenate([self.left, np.repeat(self.left[:, :1], len(new), axis=1)], axis=1)
            self.worth = np.concatenate([self.worth, np.repeat(self.worth[:1], len(new), axis=0)])

    def end(self, due: int) -> None:
        """Drop the changes of which nothing is left."""
        come = self.ends[self._under_way] <= due
        if 2 * come.sum() < len(come):
            return
        same = np.abs(self.left[:, 1:] - self.left[:, :1]).max(axis=(0, 2), initial=0.0) < DUST
        over = come & same
        if 4 * over.sum() > len(over):
            self._more[self._under_way[over]] = (self.worth[1:][over] - self.worth[0]).mean(axis=1)
            stays = np.concatenate([[True], ~over])
            self.left, self.worth = self.left[:, stays], self.worth[stays]
            self._under_way = self._under_way[~over]
            self.row[self._under_way] = 1 + np.arange(len(self._under_way))

    def total(self) -> Floats:
        """What all is worth after each change (c,)."""
        self._more[self._under_way] = (self.worth[1:] - self.worth[0]).mean(axis=1)
        whole: Floats = self._more + self.worth[0].mean()
        return whole
