"""Whole trays of one crop: what a choice of trays is worth over all scenarios, and a search for a better one.

In a scenario the crop that spoils first is served first, to whom it is worth most. That is a rule a grower could follow
day by day, so the worth it gives is one that can really be had.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from trayward.plan.crop_model import CropModel
from trayward.plan.days import Floats, Ints
from trayward.plan.followed import Followed
from trayward.plan.uses import CUT, LIVE


class Moves(NamedTuple):
    """Changes of one tray (c): the choice it leaves and the one it goes to; -1: none."""

    off: Ints
    on: Ints


class CropWorth:
    """What whole trays of each choice are worth."""

    def __init__(self, model: CropModel) -> None:
        self.model, self.choices = model, model.plot.choices
        self.scenarios, self.dues = self.choices.grams.shape[0], model.dues
        choices = self.choices
        serves = (choices.first <= choices.last) & (choices.how == CUT)[None, :]
        self._spare = np.where(serves, choices.last - choices.first, 0).T
        self._first = np.where(serves, choices.first, self.dues).T
        self._grams = np.where(serves, choices.grams, 0.0).T
        _, lost = model.stock()
        self.slots = max(int(self._spare.max(initial=0)), int(np.flatnonzero(lost).max(initial=0))) + 1
        self._tiers = [self._of_due(due) for due in range(self.dues)]
        self._stock = [np.full(self.scenarios, lost[slot] if slot < self.dues else 0.0) for slot in range(self.slots)]
        self._live_own = np.flatnonzero(choices.how == LIVE)

    def _of_due(self, due: int) -> list[tuple[Floats, float]]:
        """Amounts (s,) and worths of a due day, what is worth most first."""
        tiers = self.model.all_cut
        own = np.flatnonzero(tiers.due == due)
        return [(tiers.amount[:, one], float(tiers.worth[one])) for one in own[np.argsort(-tiers.worth[own])]]

    def of(self, take: Floats) -> float:
        """What trays bring and spare, less wasted crop; the mean over scenarios. [currency]"""
        return float(self.after(take, Moves(np.array([-1]), np.array([-1])))[0])

    def after(self, take: Floats, moves: Moves) -> Floats:
        """
        The same, after each of some changes of one tray (c,).

        A change is followed from the first due day it touches until nothing of it is left; before and after that all
        is as without it.
        """
        base, comes, follow = self._base(take), self._changes(moves), Followed(self._touched(moves), self._stock)
        for due in range(self.dues):
            follow.begin(due)
            follow.left += base[due][:, None, :]
            slot, change, scenario, grams = comes[due]
            _come(follow.left, (slot, follow.row[change], scenario, grams))
            self._serve(follow.left, due, follow.worth)
            follow.worth -= follow.left[0] * self.model.disposal
            follow.left[:-1] = follow.left[1:]
            follow.left[-1] = 0.0
            follow.end(due)
        whole: Floats = follow.total() + self._live_worth(take, moves)
        return whole

    def _touched(self, moves: Moves) -> tuple[Ints, Ints]:
        """The first and the last due day each change brings or takes something on, in any scenario (c,)."""
        none = np.array([self.dues])
        begins = np.concatenate([self._first.min(axis=1, initial=self.dues), none])
        last = np.where(self._first < self.dues, self._first, -1).max(axis=1, initial=-1)
        ends = np.concatenate([last, -np.ones(1, dtype=np.int64)])
        return np.minimum(begins[moves.off], begins[moves.on]), np.maximum(ends[moves.off], ends[moves.on])

    def _base(self, take: Floats) -> Floats:
        """Grams of the trays as they are, by first due day, due days they keep beyond it, and scenario."""
        found = np.zeros((self.dues + 1, self.slots, self.scenarios))
        for used in np.flatnonzero(take):
            np.add.at(
                found,
                (self._first[used], self._spare[used], np.arange(self.scenarios)),
                self._grams[used] * take[used],
            )
        return found

    def _changes(self, moves: Moves) -> list[tuple[Ints, Ints, Ints, Floats]]:
        """What changes bring or take away, due day by due day: slot, change, scenario, grams."""
        parts = []
        for which, sign in ((moves.off, -1.0), (moves.on, 1.0)):
            real = np.flatnonzero(which >= 0)
            own, wide = which[real], (len(real), self.scenarios)
            change = np.broadcast_to(real[:, None], wide).ravel()
            scenario = np.broadcast_to(np.arange(self.scenarios)[None, :], wide).ravel()
            parts.append(
                (self._first[own].ravel(), self._spare[own].ravel(), change, scenario, sign * self._grams[own].ravel())
            )
        due, slot, change, scenario, grams = (np.concatenate(part) for part in zip(*parts, strict=True))
        order = np.argsort(due, kind="stable")
        ends = np.searchsorted(due[order], np.arange(self.dues + 1))
        return [
            tuple(part[order[ends[at] : ends[at + 1]]] for part in (slot, change, scenario, grams))  # type: ignore[misc]
            for at in range(self.dues)
        ]

    def _serve(self, left: Floats, due: int, worth: Floats) -> None:
        """Serve a due day with what spoils first, to whom it is worth most."""
        total = left.sum(axis=0)
        there = total
        for amount, price in self._tiers[due]:
            part = np.minimum(there, amount)
            worth += part * price
            there = there - part
        need = total - there
        for slot in range(self.slots):
            part = np.minimum(left[slot], need)
            left[slot] -= part
            need -= part

    def _live_worth(self, take: Floats, moves: Moves) -> Floats:
        own = self._live_own
        if not len(own):
            return np.zeros(len(moves.off))
        touched = np.flatnonzero(np.isin(moves.off, own) | np.isin(moves.on, own))
        counts = np.repeat(take[None, own], len(touched) + 1, axis=0)
        for which, sign in ((moves.off, -1.0), (moves.on, 1.0)):
            counts[1:] += sign * (which[touched, None] == own[None, :])
        brought = self._live_brought(counts)
        found = np.full(len(moves.off), brought[0])
        found[touched] = brought[1:]
        return found

    def _live_brought(self, counts: Floats) -> Floats:
        """What live trays bring, so many of each live choice (c, own)."""
        own, tiers, brought = self._live_own, self.model.all_live, np.zeros(len(counts))
        for number in np.unique(self.choices.due[own]):
            of_due = self.choices.due[own] == number
            there = counts[:, of_due] @ self.choices.grams[:, own[of_due]].T
            wanted = np.flatnonzero(tiers.due == number)
            for tier in wanted[np.argsort(-tiers.worth[wanted])]:
                part = np.minimum(there, tiers.amount[:, tier])
                brought += part.mean(axis=1) * float(tiers.worth[tier])
                there = there - part
        return brought


def _come(left: Floats, comes: tuple[Ints, Ints, Ints, Floats]) -> None:
    slot, change, scenario, grams = comes
    if len(slot):
        np.add.at(left, (slot, change, scenario), grams)
        # A tray taken off whose crop was counted already, rounding apart, leaves nothing behind.
        np.maximum(left, 0.0, out=left)


def rounded(model: CropModel, parts: Floats) -> Floats:
    """
    Whole trays from parts of trays, as many in all and at nearly the same days.

    The parts are added up in the order of sowing, and a tray is taken wherever the sum passes another half.
    """
    choices, take = model.plot.choices, np.zeros(model.count)
    order = np.lexsort((choices.stand, choices.sow, choices.way))
    for own in (order[(choices.way[order] >= 0) & (choices.how[order] == how)] for how in (CUT, LIVE)):
        total = np.floor(np.cumsum(parts[own]) + 0.5)
        take[own] = np.diff(total, prepend=0.0)
    for _, own, size in model.plot.groups:
        total = np.rint(np.cumsum(parts[own]))
        total[-1:] = size
        take[own] = np.diff(np.minimum(total, size), prepend=0.0)
    return within_seed(model, np.minimum(take, np.where(choices.group >= 0, np.inf, choices.upper)))


def within_seed(model: CropModel, take: Floats) -> Floats:
    """As many trays as there is seed for, the last sown given up first."""
    choices = model.plot.choices
    while not seed_suffices(model, take[None])[0]:
        sown = np.flatnonzero((choices.way >= 0) & (take > 0))
        take[sown[np.argmax(choices.sow[sown])]] -= 1
    return take


def seed_suffices(model: CropModel, takes: Floats) -> Floats:
    """Whether there is seed for each of some takes (c, n)."""
    choices = model.plot.choices
    fine = np.ones(len(takes), dtype=bool)
    for end, here in model.seed:
        used = (choices.way >= 0) & (choices.sow < end)
        fine &= takes[:, used] @ choices.seed_g[used] <= here + 1e-6
    return fine


NEAR = 4
"""A tray is moved by so many days at most; farther away it is one less and one more. [d]"""


def one_tray_moves(model: CropModel, take: Floats) -> Moves:
    """One tray more, or one less, of what is sown."""
    choices = model.plot.choices
    more = np.flatnonzero((choices.way >= 0) & (take < choices.upper))
    less = np.flatnonzero((choices.way >= 0) & (take > 0))
    return Moves(np.concatenate([np.full(len(more), -1), less]), np.concatenate([more, np.full(len(less), -1)]))


def moves_from(model: CropModel, take: Floats) -> Moves:
    """One tray moved: to a day nearby, to stand longer or less long, or to leave in another way."""
    choices = model.plot.choices
    more = np.flatnonzero((choices.way >= 0) & (take < choices.upper))
    off, on = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for one in np.flatnonzero(take > 0):
        if choices.way[one] >= 0:
            others = more[np.abs(choices.sow[more] - choices.sow[one]) <= NEAR]
        else:
            others = np.flatnonzero(choices.group == choices.group[one])
        others = others[others != one]
        off.append(np.full(len(others), one))
        on.append(others)
    return Moves(np.concatenate(off), np.concatenate(on))
