"""One crop's grams, followed from due day to due day: what trays are worth, and what changes of a tray change of it.

What is there on a due day is kept added up over the days it still keeps: what spoils within no due day more, within
one, and so on. What is served comes off all of these alike, for what spoils first is served first.
"""

from __future__ import annotations

from copy import copy
from typing import NamedTuple

import numpy as np

from trayward.plan.days import Bools, Floats, Ints
from trayward.plan.remembered import Remembered

DUST = 1e-9
"""Less than this is nothing. [g]"""
AT_ONCE = 256
"""So many changes are followed side by side: as many as the machine keeps near at hand. [-]"""

Tier = tuple[Floats, float]
"""What is wanted on a due day, what is worth more included (s,) [g], and how far worth then falls [currency/g]."""


class Course(NamedTuple):
    """How a crop goes with some trays, due day by due day; grams are added up over the due days they keep."""

    comes: Floats
    """What comes (dues + 1, slots, 1, s); the last is what comes too late. [g]"""
    before: Floats
    """What is there before it comes (dues + 1, slots, 1, s). [g]"""
    worth: Floats
    """What the due day brings, less what is thrown away after it (dues, 1, s). [currency]"""
    total: float
    """The same of all due days, the mean over scenarios. [currency]"""


class Follower:
    """
    A crop in its scenarios (s).

    Parameters
    ----------
    first : array
        The first due day a tray of each choice serves, the number of due days where it serves none (n, s).
    spare : array
        How many due days it keeps beyond that (n, s).
    grams : array
        What it weighs (n, s). [g]
    tiers : list of (array, float) lists
        What is wanted of each due day (s,), and what a gram of it is worth, in the order in which it is served.
    stock : array
        What is there at first, by the due days it keeps (slots,). [g]
    disposal : float
        Throwing away a gram. [currency/g]
    """

    def __init__(
        self, first: Ints, spare: Ints, grams: Floats, tiers: list[list[Tier]], stock: Floats, disposal: float
    ) -> None:
        self.dues, self.slots, self.scenarios = len(tiers), len(stock), first.shape[1]
        self.disposal, self._stock, self._of = disposal, np.cumsum(stock), np.arange(self.scenarios)
        # The last row is no tray at all: what a change leaves or goes to where it is one tray more or less, and all
        # choices that bring no grams.
        serves = np.flatnonzero((first < self.dues).any(axis=1))
        self._rows, self._choice = np.full(len(first) + 1, len(serves)), serves
        self._rows[serves] = np.arange(len(serves))
        none = np.ones((1, self.scenarios), dtype=np.int64)
        self._first = np.concatenate([first[serves], none * self.dues]).astype(np.int16)
        keeps = np.where(spare[serves] <= np.arange(self.slots)[:, None, None], grams[serves], 0.0)
        self._grams = np.concatenate([keeps, np.zeros((self.slots, *none.shape))], axis=1)
        self._begins = self._first.min(axis=1).astype(np.int64)
        self._ends = np.where(self._first < self.dues, self._first, -1).max(axis=1)
        self._tiers = [_falling(one) for one in tiers]
        self._remembered = Remembered(len(self._first))
        self._beside: Course | None = None

    def asked_for(self, tiers: list[list[Tier]]) -> Follower:
        """The same crop, of which something else is wanted."""
        other = copy(self)
        other._tiers = [_falling(one) for one in tiers]
        other._remembered, other._beside = Remembered(len(self._first)), None
        return other

    def course(self, take: Floats, known: tuple[Floats, Course] | None = None) -> Course:
        """How it goes with so many trays of each choice (n,); what is known of others holds up to where they differ."""
        trays = take[self._choice]
        if known is None:
            wide = self.slots, 1, self.scenarios
            none = np.zeros((self.dues + 1, *wide)), np.zeros((self.dues + 1, *wide)), np.zeros((self.dues, *wide[1:]))
            before, known_course = np.zeros(len(trays)), Course(*none, 0.0)
            known_course.before[0] = self._stock[:, None, None]
        else:
            before, known_course = known[0][self._choice], known[1]
        changed = np.flatnonzero(trays != before)
        begins = 0 if known is None else int(self._begins[changed].min(initial=self.dues))
        comes, there, worth = (part.copy() for part in known_course[:3])
        for one in changed:
            comes[self._first[one], :, 0, self._of] += (self._grams[:, one] * (trays[one] - before[one])).T
        for due in range(begins, self.dues):
            left = there[due] + comes[due]
            worth[due] = 0.0
            self._serve(left, due, worth[due])
            there[due + 1] = left
        return Course(comes, there, worth, float(worth.sum()) / self.scenarios)

    def more(self, course: Course, off: Ints, on: Ints) -> Floats:
        """What each change of one tray (c,) is worth beyond a course; -1: from nowhere, or to nowhere. [currency]"""
        off, on = self._rows[off], self._rows[on]
        known = self._known_beside(course)
        new = known.lacking(off, on)
        if len(new):
            known.keep(off[new], on[new], *self._followed(course, off[new], on[new]))
        return known.worth(off, on)

    def _known_beside(self, course: Course) -> Remembered:
        """What is known of changes beside a course."""
        if self._beside is not None and self._beside is not course:
            self._remembered.forget(_differ(self._beside, course))
        self._beside = course
        return self._remembered

    def _followed(self, course: Course, off: Ints, on: Ints) -> tuple[Floats, Ints, Ints]:
        """What changes (c,) are worth, and the first and last due day that they are felt on."""
        found, begins = np.zeros(len(on)), np.minimum(self._begins[off], self._begins[on])
        ends = np.maximum(self._ends[off], self._ends[on])
        over = np.zeros(len(on), dtype=np.int64)
        order = np.lexsort((ends, begins))
        for at in range(0, len(order), AT_ONCE):
            some = order[at : at + AT_ONCE]
            found[some], over[some] = self._follow(course, off[some], on[some], begins[some], ends[some])
        return found, begins, over

    def _follow(self, course: Course, off: Ints, on: Ints, begins: Ints, ends: Ints) -> tuple[Floats, Ints]:
        """
        Each change from the first due day it touches until all is as without it: its worth, and that day.

        Those that begin first are mostly over first: so those under way stand in a row, from `low` to before `high`.
        """
        worth, left = np.zeros((len(on), self.scenarios)), np.empty((self.slots, len(on), self.scenarios))
        starts = np.searchsorted(begins, np.arange(self.dues + 1)).tolist()
        comes = self._coming(off, -1.0), self._coming(on, 1.0)
        over, low, high = np.full(len(on), self.dues - 1), 0, 0
        for due in range(int(begins[0]), self.dues):
            if starts[due + 1] > high:
                left[:, high : starts[due + 1]] = course.before[due]
                high = starts[due + 1]
            if low == high:
                continue
            self._come(left, comes, due)
            now = left[:, low:high]
            now += course.comes[due]
            self._serve(now, due, worth[low:high])
            worth[low:high] -= course.worth[due]
            if due + 1 < self.dues and ends[low] <= due:
                done = self._over(now, ends[low:high], due, course.before[due + 1])
                over[low : low + done] = due
                low += done
        return worth.mean(axis=1), over

    def _coming(self, which: Ints, sign: float) -> tuple[list[int], Ints, Floats]:
        """What trays of changes bring: where each due day begins, places (row x s,), and grams there (slots, k)."""
        first = self._first[which].ravel()
        order = np.argsort(first, kind="stable")
        starts = np.searchsorted(first[order], np.arange(self.dues + 1)).tolist()
        order = order[: starts[-1]]
        return starts, order, sign * self._grams[:, which[order // self.scenarios], order % self.scenarios]

    def _come(self, left: Floats, comes: tuple[tuple[list[int], Ints, Floats], ...], due: int) -> None:
        flat = left.reshape(self.slots, -1)
        for starts, place, grams in comes:
            cut = slice(starts[due], starts[due + 1])
            if cut.start < cut.stop:
                flat[:, place[cut]] += grams[:, cut]

    def _over(self, left: Floats, ends: Ints, due: int, before: Floats) -> int:
        """How many of the first changes are over: no tray of them comes any more, and nothing of them is left."""
        done = int(np.argmax(ends > due)) if ends[-1] > due or (ends > due).any() else len(ends)
        differs = (np.abs(left[:, :done] - before) > DUST).any(axis=(0, 2))
        return int(np.argmax(differs)) if differs.any() else done

    def _serve(self, left: Floats, due: int, worth: Floats) -> None:
        """Serve a due day, to whom it is worth most, and count that, less waste, to the worth (r, s). [currency]

        What is there (slots, r, s) is then that of the next due day.
        """
        total = served = left[-1]
        for amount, fall in self._tiers[due]:
            served = np.minimum(total, amount)
            worth += served * fall
        if self._tiers[due]:
            left -= served
            np.maximum(left, 0.0, out=left)
        waste = left[0].copy()
        worth -= waste * self.disposal
        for slot in range(1, self.slots):
            np.subtract(left[slot], waste, out=left[slot - 1])
        left[-1] -= waste


def _falling(tiers: list[Tier]) -> list[Tier]:
    """
    What is wanted of a due day up to each of its worths, and how worth then falls, from wants and their worths.

    So much of each as there is, times the fall after it, adds up to what all is worth.
    """
    amounts = np.cumsum([amount for amount, _ in tiers], axis=0)
    worths = [*(worth for _, worth in tiers), 0.0]
    return [(amount, worths[at] - worths[at + 1]) for at, amount in enumerate(amounts)]


def _differ(one: Course, other: Course) -> Bools:
    """On which due days something else comes, or is there (dues,)."""
    parts = zip(one[:2], other[:2], strict=True)
    found: Bools = np.any([(np.abs(was[:-1] - now[:-1]) > DUST).any(axis=(1, 2, 3)) for was, now in parts], axis=0)
    return found
