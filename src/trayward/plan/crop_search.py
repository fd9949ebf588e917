"""Whole trays of one crop: what a choice of trays is worth over all scenarios, and a search for a better one.

In a scenario the crop that spoils first is served first, to whom it is worth most. That is a rule a grower could follow
day by day, so the worth it gives is one that can really be had.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from copy import copy
from typing import NamedTuple

import numpy as np

from trayward.plan.crop_model import CropModel
from trayward.plan.days import Floats, Ints
from trayward.plan.followed import DUST, Course, Follower
from trayward.plan.live_worth import LiveWorth
from trayward.plan.uses import CUT, LIVE


class Moves(NamedTuple):
    """Changes of one tray (c): the choice it leaves and the one it goes to; -1: none."""

    off: Ints
    on: Ints


class Tied(NamedTuple):
    """How far the parts of mixes are worth something only together."""

    weight: float
    """From 0, where each gram of a part brings what a gram of the mix does, to 1: none brings anything without the
    others, and what is short of a part is short of the mix."""
    allowed: Mapping[int, Floats]
    """Mix -> the share of it that the other parts allow (s,)."""


FREE = Tied(0.0, {})
"""Parts of mixes are worth something by themselves."""


class Supplied(NamedTuple):
    """What comes of the mixes a crop is a part of."""

    share: dict[int, Floats]
    """Mix -> the share of it for which there is enough of this crop (s,)."""
    counted: float
    """What their grams are counted to bring, the mean over scenarios. [currency]"""


class CropWorth:
    """What whole trays of each choice are worth."""

    def __init__(self, model: CropModel) -> None:
        self.model, self.choices = model, model.plot.choices
        self.scenarios, self.dues = self.choices.grams.shape[0], model.dues
        choices = self.choices
        serves = (choices.first <= choices.last) & (choices.how == CUT)[None, :]
        spare = np.where(serves, choices.last - choices.first, 0).T
        first = np.where(serves, choices.first, self.dues).T
        grams = np.where(serves, choices.grams, 0.0).T
        _, lost = model.stock()
        slots = max(int(spare.max(initial=0)), int(np.flatnonzero(lost).max(initial=0))) + 1
        stock = np.zeros(slots)
        stock[: self.dues] = lost[: self.dues][:slots]
        self.tied = FREE
        self.alone = self
        """The same where parts of mixes are worth something by themselves."""
        self._orders = [self._order(due) for due in range(self.dues)]
        self.mixes = [int(mix) for mix in model.all_cut.mix if mix >= 0]
        tiers = [self._of_due(due) for due in range(self.dues)]
        self._follower = Follower(first, spare, grams, tiers, stock, model.disposal)
        self._live = LiveWorth(choices, model.all_live)
        self._known: tuple[Floats, Course] | None = None
        self._supplied: tuple[Floats, Supplied] | None = None

    def _order(self, due: int) -> list[int]:
        """The tiers of a due day, what is worth most first."""
        tiers = self.model.all_cut
        own = np.flatnonzero(tiers.due == due)
        return [int(one) for one in own[np.argsort(-tiers.worth[own], kind="stable")]]

    def _of_due(self, due: int) -> list[tuple[Floats, float]]:
        """Amounts (s,) and worths of a due day, in the order in which they are served."""
        return [wanted for one in self._orders[due] for wanted in self._wanted(one)]

    def _wanted(self, tier: int) -> list[tuple[Floats, float]]:
        """What is wanted for a tier; of a mix what the other parts allow, and the rest as far as it counts."""
        tiers, weight = self.model.all_cut, self.tied.weight
        amount, worth = tiers.amount[:, tier], float(tiers.worth[tier])
        mix = int(tiers.mix[tier])
        if mix not in self.tied.allowed or weight <= 0:
            return [(amount, worth)]
        within = amount * self.tied.allowed[mix]
        found = [(within, weight * worth / float(tiers.share[tier]) + (1.0 - weight) * worth)]
        return found if weight >= 1.0 else [*found, (amount - within, (1.0 - weight) * worth)]

    def tie(self, tied: Tied) -> CropWorth:
        """The same crop, with its parts of mixes tied to the others."""
        other = copy(self.alone)
        other.tied, other._known, other._supplied = tied, None, None
        other._follower = self._follower.asked_for([other._of_due(due) for due in range(self.dues)])
        return other

    def supplied(self, take: Floats) -> Supplied:
        """For how much of each mix there is enough of this crop; kept until other trays are asked for."""
        if self._supplied is None or not np.array_equal(self._supplied[0], take):
            self._supplied = take.copy(), self._supplies(take)
        return self._supplied[1]

    def _supplies(self, take: Floats) -> Supplied:
        course, tiers, shares, counted = self._course(take), self.model.all_cut, {}, 0.0
        for due in sorted({int(due) for due in tiers.due[tiers.mix >= 0]}):
            there = course.before[due][-1, 0] + course.comes[due][-1, 0]
            for tier in self._orders[due]:
                mix = int(tiers.mix[tier])
                if mix >= 0:
                    shares[mix] = _share_of(there, tiers.amount[:, tier])
                for amount, worth in self._wanted(tier):
                    served = np.minimum(there, amount)
                    there = there - served
                    counted += float(served.mean()) * worth if mix >= 0 else 0.0
        return Supplied(shares, counted)

    def of(self, take: Floats) -> float:
        """What trays bring and spare, less wasted crop; the mean over scenarios. [currency]"""
        return self._course(take).total + self._live.of(take)

    def more(self, take: Floats, moves: Moves) -> Floats:
        """
        What each of some changes of one tray brings beyond that (c,). [currency]

        A change is followed from the first due day it touches until nothing of it is left; before and after that all
        is as without it.
        """
        cut = self._follower.more(self._course(take), moves.off, moves.on)
        return cut + self._live.more(take, moves.off, moves.on)

    def _course(self, take: Floats) -> Course:
        """How it goes with some trays; kept until others are asked for, as changes of the same ones mostly are."""
        if self._known is None or not np.array_equal(self._known[0], take):
            self._known = take.copy(), self._follower.course(take, self._known)
        return self._known[1]


def _share_of(there: Floats, amount: Floats) -> Floats:
    """For which share of an amount there is enough (s,); all of it where nothing is wanted."""
    found: Floats = np.where(amount > 0, np.minimum(there / np.maximum(amount, DUST), 1.0), 1.0)
    return found


def rounded(model: CropModel, parts: Floats) -> Floats:
    """
    Whole trays from parts of trays, as many in all and at nearly the same days.

    The parts are added up in the order of sowing, and a tray is taken wherever the sum passes another half.
    """
    choices, take = model.plot.choices, np.zeros(model.count)
    order = np.lexsort((choices.stand, choices.evening, choices.sow, choices.way))
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


def standing_moves(model: CropModel, take: Floats) -> Moves:
    """A tray that stands, let to leave in another way: cut sooner or later, sold live, or not used at all."""
    choices = model.plot.choices
    stands = np.flatnonzero((take > 0) & (choices.way < 0))
    return _to_others(stands, lambda one: np.flatnonzero(choices.group == choices.group[one]))


def sown_moves(model: CropModel, take: Floats) -> Moves:
    """A tray to be sown, moved: to a day nearby, to stand longer or less long, or to leave in another way."""
    choices = model.plot.choices
    more = np.flatnonzero((choices.way >= 0) & (take < choices.upper))
    sown = np.flatnonzero((take > 0) & (choices.way >= 0))
    return _to_others(sown, lambda one: more[np.abs(choices.sow[more] - choices.sow[one]) <= NEAR])


def _to_others(taken: Ints, near: Callable[[int], Ints]) -> Moves:
    """A tray of each choice moved to every other that is near."""
    off, on = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for one in taken.tolist():
        others = near(one)
        others = others[others != one]
        off.append(np.full(len(others), one))
        on.append(others)
    return Moves(np.concatenate(off), np.concatenate(on))
