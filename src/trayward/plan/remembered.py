"""What changes of a tray were found to be worth, kept for as long as the due days they hang on stay as they were.

A change is felt from the first due day it touches until all is as without it. Trays that come or go on other days
change nothing of it: on a Barn more than half of what is asked is known already.
"""

from __future__ import annotations

import numpy as np

from trayward.plan.days import Bools, Floats, Ints


class Remembered:
    """
    The worth of changes from one row to another.

    Parameters
    ----------
    rows : int
        How many rows there are: choices of a tray, and one for no tray at all.
    """

    def __init__(self, rows: int) -> None:
        self._worth = np.zeros((rows, rows))
        self._known = np.zeros((rows, rows), dtype=bool)
        self._begins, self._ends = (np.zeros((rows, rows), dtype=np.int16) for _ in range(2))

    def worth(self, off: Ints, on: Ints) -> Floats:
        """What changes (c,) are worth that are all known. [currency]"""
        found: Floats = self._worth[off, on]
        return found

    def lacking(self, off: Ints, on: Ints) -> Ints:
        """Which of some changes (c,) are not known, each once (k,)."""
        new = np.flatnonzero(~self._known[off, on])
        _, once = np.unique(off[new] * len(self._known) + on[new], return_index=True)
        found: Ints = new[once]
        return found

    def keep(self, off: Ints, on: Ints, worth: Floats, begins: Ints, ends: Ints) -> None:
        """Keep what changes (k,) are worth, and the first and last due day that they are felt on."""
        self._worth[off, on], self._known[off, on] = worth, True
        self._begins[off, on], self._ends[off, on] = begins, ends

    def forget(self, differs: Bools) -> None:
        """Forget what hangs on any of the due days that are not as they were (dues,)."""
        edges = np.flatnonzero(np.diff(np.concatenate([[False], differs, [False]])))
        for first, after in edges.reshape(-1, 2).tolist():
            self._known &= (self._ends < first) | (self._begins >= after)
