"""Whole trays for all crops together, changed tray by tray from where the linear model left off.

A tray is added, left out or moved wherever that is worth it over all scenarios, what it takes from the limits included;
where a limit stands in the way, a tray of one crop makes room for a tray of another.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import copy
from functools import partial
from typing import NamedTuple

import numpy as np

from trayward.plan.crop_search import (
    CropWorth,
    Moves,
    one_tray_moves,
    seed_suffices,
    sown_moves,
    standing_moves,
)
from trayward.plan.days import Floats
from trayward.plan.mixed import Mixes, all_tied, brought_by_all, same
from trayward.plan.prices import Shared
from trayward.plan.taken_up import TakenUp

BETTER = 1e-4
"""A change worth less than this is none. [currency]"""
SWEEPS = 8
"""So often all crops are gone through at most."""
FIRMING_SWEEPS, FIRMING_KINDS = 2, 3
"""The same while limits are not firm yet, and by so many kinds of changes, what is likely to be worth it first: what is
left undone then is done once they are firm."""
ADDS = 4
"""Of each crop, so many trays more are tried in the place of a tray of another crop: those that bring most. [-]"""
PAIRS = 400
"""So many exchanges between crops are weighed together: those that bring most. [-]"""
AT_A_TIME = 12
"""So many changes of a crop are made in a row at most before all are weighed anew. [-]"""
STANDING, SINGLE = -2, -1
"""The kinds of change that are another way for a standing tray, and a tray more or less; trays moved are those from 0
on."""
MOVED = (0, 100, 1500)
"""Where parts of all moves of a tray begin, those that are likely to be worth it first. A part is tried where nothing
of those before was worth it. [-]"""
EXCHANGES = 60
"""So many exchanges are made at most. [-]"""

FIRMER = (0.003, 0.01, 0.03, 0.1, 0.3)
"""Shares of its price that going beyond a limit costs on the way: trays of all crops find their places while much is
still allowed, and give way to one another as less is. [-]"""

TIED = (0.0, 0.25, 0.5, 0.75, 0.9)
"""How far the parts of mixes are tied together meanwhile."""

LARGE = 4000
"""A farm with more choices than these is searched with firm limits from the first: it comes out as good there, and in
two thirds of the time. [-]"""

Sticky = Callable[[int, Moves], Floats]
"""What changes of a crop cost beyond themselves."""


class State(NamedTuple):
    """How things stand in a search."""

    takes: tuple[Floats, ...]
    worths: tuple[CropWorth, ...]
    brings: tuple[float, ...]
    taken: TakenUp
    stuck: float
    known: tuple[dict[int, tuple[Moves, Floats]], ...]
    """What changes of each crop bring, where that was worked out."""


class Exchange(NamedTuple):
    """A tray (crop, choice) that comes for one that goes."""

    gain: float
    off: tuple[int, int]
    on: tuple[int, int]


class FarmSearch:
    """Trays of all crops, what they take up together, and changes that are worth it."""

    def __init__(self, shared: Shared, worths: Sequence[CropWorth], takes: Sequence[Floats]) -> None:
        self.mixes, self.tie = Mixes(worths), 1.0
        self.takes = [take.copy() for take in takes]
        self.worths = all_tied(worths, self.takes, self.mixes)
        self.taken = TakenUp(shared, [worth.model for worth in worths], takes)
        self.brings = [worth.of(take) for worth, take in zip(self.worths, self.takes, strict=True)]
        self.stuck = 0.0
        """What moving away from the plan before has cost so far. [currency]"""
        self._known: list[dict[int, tuple[Moves, Floats]]] = [{} for _ in self.worths]

    @property
    def shared(self) -> Shared:
        """The limits it searches under."""
        return self.taken.shared

    @property
    def use(self) -> Floats:
        """What all trays take up (limits, scenarios, days)."""
        return self.taken.use

    def cost(self) -> float:
        """Costs of all trays, and of all that is let down and goes beyond the limits. [currency]"""
        forgone = sum(
            worth.model.forgone + float(worth.choices.cost @ take)
            for worth, take in zip(self.worths, self.takes, strict=True)
        )
        own = forgone - brought_by_all(self.worths, self.takes, self.mixes)
        return own + self.taken.cost()

    def settle(
        self, late: Callable[[], bool], sticky: Sticky | None = None, *, firmer_by: Callable[[int], bool] | None = None
    ) -> None:
        """
        Change trays while limits grow firm step by step, until nothing is worth it or time is up.

        Parameters
        ----------
        firmer_by : callable, optional
            Whether it is time to go on from a step (0, 1, ...) to the next, however far it has come.

        Where limits are tight this ends nearer the best than limits that are firm from the first: a tray in the wrong
        place then has all others around it, and none can move alone. On a large farm there are always some that can.
        """
        whole = self.shared
        for step, share in enumerate(FIRMER if sum(map(len, self.takes)) <= LARGE else ()):
            self.taken = self.taken.under(whole._replace(beyond=whole.beyond * share, sure=whole.sure * share))
            over = late if firmer_by is None else partial(firmer_by, step)
            self.tie = TIED[step]
            self.run(over, sticky, FIRMING_SWEEPS, FIRMING_KINDS)
        self.taken, self.tie = self.taken.under(whole), 1.0
        self.run(late, sticky)

    def run(
        self,
        late: Callable[[], bool],
        sticky: Sticky | None = None,
        sweeps: int = SWEEPS,
        kinds: int = 1 + len(MOVED),
    ) -> None:
        """Change trays until nothing is worth it, or time is up; by the first so many kinds of changes."""
        for _ in range(sweeps):
            changed = [self._improve(number, late, sticky, kinds) for number in range(len(self.worths))]
            for number in range(len(self.worths)):
                self._heed(number)
            exchanged = self._exchange(late, sticky)
            if late() or not (any(changed) or exchanged):
                return

    def _heed(self, number: int) -> None:
        """Take a crop for what it is worth with what the others now allow of its mixes."""
        if not self.worths[number].mixes:
            return
        tied = self.mixes.tied(number, self.tie, self.worths, self.takes)
        if not same(tied, self.worths[number].tied):
            self.worths[number] = self.worths[number].tie(tied)
            self.brings[number] = self.worths[number].of(self.takes[number])
            self._known[number] = {}

    def state(self) -> State:
        """How things stand, to come back to."""
        known = tuple(dict(one) for one in self._known)
        return State(tuple(self.takes), tuple(self.worths), tuple(self.brings), self.taken, self.stuck, known)

    def under(self, shared: Shared) -> FarmSearch:
        """The same trays, with all that is known of them, under other amounts of the same limits."""
        other = copy(self)
        other.back_to(self.state()._replace(taken=self.taken.under(shared)))
        return other

    def back_to(self, state: State) -> None:
        """Let things stand again as they did."""
        self.takes, self.worths, self.brings = list(state.takes), list(state.worths), list(state.brings)
        self.taken, self.stuck = state.taken, state.stuck
        self._known = [dict(one) for one in state.known]

    # Between crops ---------------------------------------------------------------------------------------------------

    def _exchange(self, late: Callable[[], bool], sticky: Sticky | None) -> bool:
        """A tray of one crop in the place of one of another, wherever limits let no tray more in."""
        raw = [self._raw(number, sticky) for number in range(len(self.worths))]
        barred: set[tuple[int, int]] = set()
        made = False
        for _ in range(EXCHANGES):
            best = None if late() else self._best_exchange(raw, barred)
            if best is None:
                return made
            gives, takes = best.off[0], best.on[0]
            if self._made_exchange(best, sticky):
                made = True
            else:
                barred.add((gives, takes))
            for number in {gives, takes}:
                raw[number] = self._raw(number, sticky)
        return True

    def _made_exchange(self, best: Exchange, sticky: Sticky | None) -> bool:
        """
        Make an exchange, but between two parts of a mix only if it is worth it once the one has gone.

        Each by itself is worth what it is with the other there.
        """
        (gives, off), (takes, on) = best.off, best.on
        before, tied = self.state(), self.mixes.share(gives, takes)
        single = Moves(np.array([-1]), np.array([on]))
        thought = float(self._brought(takes, single)[0]) if tied else 0.0
        self.make(gives, off, -1, sticky)
        if tied:
            self._heed(takes)
            if best.gain - thought + float(self._brought(takes, single)[0]) <= BETTER:
                self.back_to(before)
                return False
        self.make(takes, -1, on, sticky)
        return True

    def _raw(self, number: int, sticky: Sticky | None, kind: int = SINGLE) -> tuple[Moves, Floats]:
        """Changes of one tray and what they bring, limits left out."""
        known = self._known[number]
        if kind not in known:
            moves = self._moves(number, kind)
            known[kind] = moves, self._brought(number, moves)
        moves, gain = known[kind]
        return moves, gain - sticky(number, moves) if sticky is not None and len(gain) else gain

    def _moves(self, number: int, kind: int) -> Moves:
        model, take = self.worths[number].model, self.takes[number]
        if kind == SINGLE:
            return one_tray_moves(model, take)
        if kind == STANDING:
            return standing_moves(model, take)
        moves, (single, gain) = sown_moves(model, take), self._raw(number, None)
        # A tray moved brings about what the one less and the one more bring, and more than that where they are near.
        less, more = np.zeros(model.count), np.zeros(model.count)
        less[single.off[single.off >= 0]] = gain[single.off >= 0]
        more[single.on[single.on >= 0]] = gain[single.on >= 0]
        order = np.argsort(-(less[moves.off] + more[moves.on]), kind="stable")
        some = order[slice(*[*MOVED, None][kind : kind + 2])]
        return Moves(moves.off[some], moves.on[some])

    def _brought(self, number: int, moves: Moves) -> Floats:
        worth, cost = self.worths[number], np.append(self.worths[number].choices.cost, 0.0)
        found: Floats = worth.more(self.takes[number], moves) + cost[moves.off] - cost[moves.on]
        return found

    def _best_exchange(self, raw: list[tuple[Moves, Floats]], barred: set[tuple[int, int]]) -> Exchange | None:
        more, less = _listed(raw, on=True), _listed(raw, on=False)
        pairs = [
            (gain + loss, one, other)
            for gain, one in more
            for loss, other in less
            if gain + loss > BETTER and one[0] != other[0] and (other[0], one[0]) not in barred
        ]
        pairs = sorted(pairs, key=lambda pair: -pair[0])[:PAIRS]
        if not pairs:
            return None
        takes, gives = [one for _, one, _ in pairs], [other for _, _, other in pairs]
        gain = np.array([pair[0] for pair in pairs]) - self.taken.beyond_exchanged(takes, gives)
        best = int(np.argmax(gain))
        model, on = self.worths[takes[best][0]].model, takes[best][1]
        after = _moved(self.takes[takes[best][0]], -1, on)
        if gain[best] <= BETTER or not seed_suffices(model, after[None])[0]:
            return None
        return Exchange(float(gain[best]), gives[best], takes[best])

    # Within a crop ---------------------------------------------------------------------------------------------------

    def _improve(self, number: int, late: Callable[[], bool], sticky: Sticky | None, kinds: int) -> bool:
        changed = False
        self._heed(number)
        while not late():
            made = self._make_best(number, *self._first(number, sticky), sticky)
            for kind in range(kinds - 1):
                made = made or self._make_best(number, *self._raw(number, sticky, kind), sticky)
            if not made:
                return changed
            changed = True
        return changed

    def _first(self, number: int, sticky: Sticky | None) -> tuple[Moves, Floats]:
        """A tray more or less, and other ways for what stands, side by side: nothing is sown in place of a tray that
        stands there unused."""
        both = [self._raw(number, sticky, kind) for kind in (STANDING, SINGLE)]
        off, on = ([moves[way] for moves, _ in both] for way in (0, 1))
        return Moves(np.concatenate(off), np.concatenate(on)), np.concatenate([gain for _, gain in both])

    def _make_best(self, number: int, moves: Moves, gain: Floats, sticky: Sticky | None) -> bool:
        """
        Make the best changes that are worth it with what they take beyond the limits; whether there were any.

        To weigh all changes takes long, to weigh one does not: so after the best one the next are weighed anew, and
        made where they still are worth it.
        """
        # No change can spare more than all that now goes beyond the limits.
        some = np.flatnonzero(gain > BETTER - self.taken.cost())
        if not len(some):
            return False
        moves, gain = Moves(moves.off[some], moves.on[some]), gain[some]
        gain = gain - self.taken.beyond(number, moves)
        made = False
        for one in np.argsort(-gain)[:AT_A_TIME]:
            if gain[one] <= BETTER:
                break
            single = Moves(moves.off[one : one + 1], moves.on[one : one + 1])
            if self._fits(number, single) and (not made or self._still(number, single, sticky)):
                self.make(number, int(single.off[0]), int(single.on[0]), sticky)
                made = True
        return made

    def _fits(self, number: int, single: Moves) -> bool:
        """Whether there is a tray to take away, room for one more of the choice, and seed."""
        model, off, on = self.worths[number].model, int(single.off[0]), int(single.on[0])
        after = _moved(self.takes[number], off, on)
        choices = model.plot.choices
        room = on < 0 or choices.way[on] < 0 or after[on] <= choices.upper[on]
        return bool(after.min(initial=0.0) >= 0 and room and seed_suffices(model, after[None])[0])

    def _still(self, number: int, single: Moves, sticky: Sticky | None) -> bool:
        price = float(sticky(number, single)[0]) if sticky is not None else 0.0
        return float(self.gains(number, single)[0]) - price > BETTER

    def gains(self, number: int, moves: Moves) -> Floats:
        """What each change brings, less what it costs and takes beyond the limits (c,)."""
        found: Floats = self._brought(number, moves) - self.taken.beyond(number, moves)
        return found

    def make(self, number: int, off: int, on: int, sticky: Sticky | None = None) -> None:
        """Take a tray away from a choice and give one to another; -1: none."""
        if sticky is not None:
            self.stuck += float(sticky(number, Moves(np.array([off]), np.array([on])))[0])
        one = _moved(np.zeros(self.worths[number].model.count), off, on)
        self.takes[number] = self.takes[number] + one
        self.taken = self.taken.with_more(number, one)
        self.brings[number] = self.worths[number].of(self.takes[number])
        self._known[number] = {}


def _moved(take: Floats, off: int, on: int) -> Floats:
    found = take.copy()
    if off >= 0:
        found[off] -= 1
    if on >= 0:
        found[on] += 1
    return found


def _listed(raw: list[tuple[Moves, Floats]], *, on: bool) -> list[tuple[float, tuple[int, int]]]:
    """Trays more, the best of each crop, or all trays less: what it brings, the crop and the choice."""
    found = []
    for number, (moves, gain) in enumerate(raw):
        which = moves.on if on else moves.off
        own = np.flatnonzero(which >= 0)
        own = own[np.argsort(-gain[own])][: ADDS if on else None]
        found += [(float(gain[one]), (number, int(which[one]))) for one in own if not on or gain[one] > BETTER]
    return found
