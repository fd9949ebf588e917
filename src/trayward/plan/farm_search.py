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
from trayward.plan.days import Floats, Ints
from trayward.plan.mixed import Mixes, all_tied, brought_by_all, same
from trayward.plan.prices import Shared, over_cost, use_of

BETTER = 1e-4
"""A change worth less than this is none. [currency]"""
SWEEPS = 8
"""So often all crops are gone through at most."""
FIRMING_SWEEPS, FIRMING_KINDS = 2, 3
"""The same while limits are not firm yet, and by so many kinds of changes, what is likely to be worth it first: what is
left undone then is done once they are firm."""
AT_ONCE = 128
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

Sticky = Callable[[int, Moves], Floats]
"""What changes of a crop cost beyond themselves."""


class State(NamedTuple):
    """How things stand in a search."""

    takes: tuple[Floats, ...]
    worths: tuple[CropWorth, ...]
    uses: tuple[Floats, ...]
    brings: tuple[float, ...]
    use: Floats
    sown: Floats
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
        self.shared, self.mixes, self.tie = shared, Mixes(worths), 1.0
        self.takes = [take.copy() for take in takes]
        self.worths = all_tied(worths, self.takes, self.mixes)
        self.uses = [use_of(shared, worth.model, take) for worth, take in zip(self.worths, self.takes, strict=True)]
        self.use = sum(self.uses, np.zeros((len(shared.numbers), shared.scenarios, shared.has.shape[1])))
        self.brings = [worth.of(take) for worth, take in zip(self.worths, self.takes, strict=True)]
        self._means = [_mean_tables(shared, worth) for worth in self.worths]
        self._sown = np.zeros(shared.has.shape)
        for worth, take, table in zip(self.worths, self.takes, self._means, strict=True):
            self._sown = self._sown + _of_sown(worth, take, table)
        self._most = [
            {limit: uses.max(axis=0, initial=0.0) for limit, uses in worth.model.plot.uses.items()}
            for worth in self.worths
        ]
        self._left: tuple[Floats, Floats] | None = None
        self.stuck = 0.0
        """What moving away from the plan before has cost so far. [currency]"""
        self._known: list[dict[int, tuple[Moves, Floats]]] = [{} for _ in self.worths]

    def limits_cost(self) -> float:
        """What goes beyond the limits costs, in single scenarios and in the mean. [currency]"""
        over = np.minimum(np.maximum(self.use.mean(axis=1) - self.shared.has, 0.0), self._sown)
        return float(over_cost(self.shared, self.use)) + float((over * self.shared.sure).sum())

    def cost(self) -> float:
        """Costs of all trays, and of all that is let down and goes beyond the limits. [currency]"""
        forgone = sum(
            worth.model.forgone + float(worth.choices.cost @ take)
            for worth, take in zip(self.worths, self.takes, strict=True)
        )
        own = forgone - brought_by_all(self.worths, self.takes, self.mixes)
        return own + self.limits_cost()

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
        place then has all others around it, and none can move alone.
        """
        whole = self.shared
        for step, share in enumerate(FIRMER):
            self.shared = whole._replace(beyond=whole.beyond * share, sure=whole.sure * share)
            over = late if firmer_by is None else partial(firmer_by, step)
            self.tie = TIED[step]
            self.run(over, sticky, FIRMING_SWEEPS, FIRMING_KINDS)
        self.shared, self.tie = whole, 1.0
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
        lists = tuple(self.takes), tuple(self.worths), tuple(self.uses), tuple(self.brings)
        return State(*lists, self.use, self._sown, self.stuck, known)

    def under(self, shared: Shared) -> FarmSearch:
        """The same trays, with all that is known of them, under other amounts of the same limits."""
        other = copy(self)
        other.shared, other._left = shared, None
        other.back_to(self.state())
        return other

    def back_to(self, state: State) -> None:
        """Let things stand again as they did."""
        self.takes, self.worths = list(state.takes), list(state.worths)
        self.uses, self.brings = list(state.uses), list(state.brings)
        self.use, self._sown, self.stuck = state.use, state.sown, state.stuck
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
        worth, cost = self.worths[number], np.concatenate([self.worths[number].choices.cost, [0.0]])
        if not len(moves.on):
            return np.zeros(0)
        found: Floats = worth.after(self.takes[number], moves) - self.brings[number] + cost[moves.off] - cost[moves.on]
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
        rooms, prices, cells = self._full()
        change = self._at(cells, takes) - self._at(cells, gives)
        over = np.maximum(change - rooms, 0.0) @ prices - np.maximum(-rooms, 0.0) @ prices
        gain = np.array([pair[0] for pair in pairs]) - over - self._sure(takes, gives)
        best = int(np.argmax(gain))
        model, on = self.worths[takes[best][0]].model, takes[best][1]
        after = _moved(self.takes[takes[best][0]], -1, on)
        if gain[best] <= BETTER or not seed_suffices(model, after[None])[0]:
            return None
        return Exchange(float(gain[best]), gives[best], takes[best])

    def _full(self) -> tuple[Floats, Floats, list[tuple[int, Ints, Ints]]]:
        """Where a tray of any crop could go beyond a limit: the room left (m,), its price, and the places by limit."""
        rooms, prices, cells = [np.zeros(0)], [np.zeros(0)], []
        for place, limit in enumerate(self.shared.numbers):
            most = max((float(one[limit].max(initial=0.0)) for one in self._most if limit in one), default=0.0)
            room = self.shared.has[place][None, :] - self.use[place]
            scenario, day = np.nonzero(room < most)
            cells.append((limit, scenario, day))
            rooms.append(room[scenario, day])
            prices.append(np.full(len(day), self.shared.beyond[place] / self.shared.scenarios))
        return np.concatenate(rooms), np.concatenate(prices), cells

    def _at(self, cells: list[tuple[int, Ints, Ints]], trays: list[tuple[int, int]]) -> Floats:
        """What single trays (crop, choice) take at some places (trays, m)."""
        width = sum(len(day) for _, _, day in cells)
        found = np.zeros((len(trays), width))
        known: dict[tuple[int, int], Floats] = {}
        for row, (number, choice) in enumerate(trays):
            if (number, choice) not in known:
                uses = self.worths[number].model.plot.uses
                parts = [
                    uses[limit][choice, scenario, day] if limit in uses else np.zeros(len(day))
                    for limit, scenario, day in cells
                ]
                known[number, choice] = np.concatenate(parts)
            found[row] = known[number, choice]
        return found

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
        some = np.flatnonzero(gain > BETTER - self.limits_cost())
        if not len(some):
            return False
        moves, gain = Moves(moves.off[some], moves.on[some]), gain[some]
        gain = gain - self._beyond(number, moves)
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
        found: Floats = self._brought(number, moves) - self._beyond(number, moves)
        return found

    def _beyond(self, number: int, moves: Moves) -> Floats:
        """What each change takes beyond the limits costs, in single scenarios and in the mean (c,)."""
        used, places = np.unique(np.concatenate([moves.off, moves.on]), return_inverse=True)
        if len(used) and used[0] < 0:  # no tray at all stands last in what follows, as -1 does
            used, places = used[1:], places - 1
        off, on = np.split(places, 2)
        return self._over(number, used, off, on) + self._sure_of(number, used, off, on)

    def _sure_of(self, number: int, used: Ints, off: Ints, on: Ints) -> Floats:
        """What is sown beyond the limits in the mean costs more after each change among some choices of a crop (c,)."""
        means = self._means[number][used]
        where = np.nonzero(self._room() < means.max(axis=0, initial=0.0))
        if not len(where[0]):
            return np.zeros(len(on))
        takes = np.concatenate([means[:, where[0], where[1]], np.zeros((1, len(where[0])))])
        new = takes * np.append(self.worths[number].choices.way[used] >= 0, False)[:, None]
        return self._sure_cost(where, takes[on] - takes[off], new[on] - new[off])

    def _sure(self, on: Sequence[tuple[int, int]], off: Sequence[tuple[int, int]]) -> Floats:
        """The same after exchanges of a tray (crop, choice) that comes for one that goes."""
        most = np.max([self._means[crop][choice] for crop, choice in {*on, *off}], axis=0)
        where = np.nonzero(self._room() < most)
        if not len(where[0]):
            return np.zeros(len(on))
        change, sown = np.zeros((len(on), len(where[0]))), np.zeros((len(on), len(where[0])))
        for which, sign in ((on, 1.0), (off, -1.0)):
            takes = sign * np.array([self._means[crop][choice][where] for crop, choice in which])
            new = np.array([self.worths[crop].choices.way[choice] >= 0 for crop, choice in which])
            change += takes
            sown += takes * new[:, None]
        return self._sure_cost(where, change, sown)

    def _sure_cost(self, where: tuple[Ints, ...], change: Floats, sown: Floats) -> Floats:
        room, price, before = self._room()[where], self.shared.sure[where], self._sown[where]
        after = np.minimum(np.maximum(change - room, 0.0), before + sown) @ price
        found: Floats = after - np.minimum(np.maximum(-room, 0.0), before) @ price
        return found

    def _room(self) -> Floats:
        """What is left of the limits in the mean over scenarios (limits, days)."""
        if self._left is None or self._left[0] is not self.use:
            self._left = self.use, self.shared.has - self.use.mean(axis=1)
        return self._left[1]

    def _over(self, number: int, used: Ints, off: Ints, on: Ints) -> Floats:
        """What going beyond the limits costs more after each change among some choices (c,)."""
        tables, rooms, prices = self._tight(number, used)
        if not len(rooms):
            return np.zeros(len(on))
        base = np.maximum(-rooms, 0.0) @ prices
        found = np.empty(len(on))
        for at in range(0, len(found), AT_ONCE):
            cut = slice(at, at + AT_ONCE)
            change = tables[on[cut]] - tables[off[cut]] - rooms
            found[cut] = np.maximum(change, 0.0, out=change) @ prices
        return found - base

    def _tight(self, number: int, used: Ints) -> tuple[Floats, Floats, Floats]:
        """
        Where one tray more could go beyond a limit.

        Returns
        -------
        what choices take (used + 1, m); the last row is no tray
        the room left (m,)
        its price (m,)
        """
        shared, uses = self.shared, self.worths[number].model.plot.uses
        tables, rooms, prices = [np.zeros((len(used), 0))], [np.zeros(0)], [np.zeros(0)]
        for place, limit in enumerate(shared.numbers):
            if limit in uses and uses[limit].size:
                room = (shared.has[place] - self.use[place]).ravel()
                cells = np.flatnonzero(room < self._most[number][limit].ravel())
                if len(cells):
                    own = uses[limit].reshape(len(uses[limit]), -1)
                    tables.append(own[used[:, None], cells].astype(np.float64))
                    rooms.append(room[cells])
                    prices.append(np.full(len(cells), shared.beyond[place] / shared.scenarios))
        table = np.concatenate(tables, axis=1)
        return np.concatenate([table, np.zeros((1, table.shape[1]))]), np.concatenate(rooms), np.concatenate(prices)

    def make(self, number: int, off: int, on: int, sticky: Sticky | None = None) -> None:
        """Take a tray away from a choice and give one to another; -1: none."""
        worth, one = self.worths[number], np.zeros(self.worths[number].model.count)
        if sticky is not None:
            self.stuck += float(sticky(number, Moves(np.array([off]), np.array([on])))[0])
        one = _moved(one, off, on)
        self.takes[number] = self.takes[number] + one
        change = use_of(self.shared, worth.model, one)
        self.uses[number] = self.uses[number] + change
        self.use = self.use + change
        self._sown = self._sown + _of_sown(worth, one, self._means[number])
        self.brings[number] = worth.of(self.takes[number])
        self._known[number] = {}


def _mean_tables(shared: Shared, worth: CropWorth) -> Floats:
    """What each choice takes of the limits, the mean over scenarios (n, limits, days)."""
    found = np.zeros((worth.model.count, *shared.has.shape))
    for place, number in enumerate(shared.numbers):
        if number in worth.model.plot.uses:
            found[:, place] = worth.model.plot.uses[number].mean(axis=1)
    return found


def _of_sown(worth: CropWorth, take: Floats, means: Floats) -> Floats:
    """What the trays to be sown take of the limits, the mean over scenarios (limits, days)."""
    own = np.flatnonzero((take != 0) & (worth.choices.way >= 0))
    found: Floats = np.tensordot(take[own], means[own], axes=1)
    return found


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
