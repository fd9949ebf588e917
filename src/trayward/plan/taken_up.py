"""What the trays of all crops take up of the limits together, and what a change would take beyond them.

Beyond a limit in a single scenario trays wait, which costs a part of what one is worth; beyond it in the mean over
scenarios they could not have been sown, and what is sown pays for that besides. A change of a tray touches few days of
few limits: only where one tray more could go beyond are they looked at.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy

import numpy as np

from trayward.plan.crop_model import CropModel
from trayward.plan.crop_search import Moves
from trayward.plan.days import Floats, Ints
from trayward.plan.prices import Shared, over_cost, use_of, use_of_all

AT_ONCE = 128
"""So many changes are weighed at a time. [-]"""

Tray = tuple[int, int]
"""A tray of a crop: the number of the crop, and the choice."""


class TakenUp:
    """
    What trays take up of the limits.

    Parameters
    ----------
    shared : Shared
        The limits.
    models : sequence of CropModel
        Of all crops.
    takes : sequence of array
        Trays of each crop's choices (n,).
    """

    def __init__(self, shared: Shared, models: Sequence[CropModel], takes: Sequence[Floats]) -> None:
        self.shared, self._models = shared, models
        self.use = use_of_all(shared, models, takes)
        """By all trays (limits, scenarios, days)."""
        self._means = [_mean_tables(shared, model) for model in models]
        self._sown = np.zeros(shared.has.shape)
        for number, take in enumerate(takes):
            self._sown = self._sown + self._of_sown(number, take)
        self._most = [
            {limit: uses.max(axis=0, initial=0.0) for limit, uses in model.plot.uses.items()} for model in models
        ]
        self._left: tuple[Floats, Floats] | None = None

    def cost(self) -> float:
        """What goes beyond the limits costs, in single scenarios and in the mean. [currency]"""
        over = np.minimum(np.maximum(self.use.mean(axis=1) - self.shared.has, 0.0), self._sown)
        return float(over_cost(self.shared, self.use)) + float((over * self.shared.sure).sum())

    def under(self, shared: Shared) -> TakenUp:
        """The same trays under other amounts, or other prices, of the same limits."""
        other = copy(self)
        other.shared, other._left = shared, None
        return other

    def with_more(self, number: int, more: Floats) -> TakenUp:
        """After some trays more, or less, of the choices of a crop (n,)."""
        other = copy(self)
        other.use = self.use + use_of(self.shared, self._models[number], more)
        other._sown = self._sown + self._of_sown(number, more)
        return other

    def beyond(self, number: int, moves: Moves) -> Floats:
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
        new = takes * np.append(self._models[number].plot.choices.way[used] >= 0, False)[:, None]
        return self._sure_cost(where, takes[on] - takes[off], new[on] - new[off])

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
        shared, uses = self.shared, self._models[number].plot.uses
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

    # Trays of one crop for those of another --------------------------------------------------------------------------

    def beyond_exchanged(self, on: Sequence[Tray], off: Sequence[Tray]) -> Floats:
        """The same after exchanges of a tray that comes for one that goes (c,)."""
        rooms, prices, cells = self._full()
        change = self._at(cells, on) - self._at(cells, off)
        over: Floats = np.maximum(change - rooms, 0.0) @ prices - np.maximum(-rooms, 0.0) @ prices
        return over + self._sure(on, off)

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

    def _at(self, cells: list[tuple[int, Ints, Ints]], trays: Sequence[Tray]) -> Floats:
        """What single trays take at some places (trays, m)."""
        width = sum(len(day) for _, _, day in cells)
        found = np.zeros((len(trays), width))
        known: dict[Tray, Floats] = {}
        for row, (number, choice) in enumerate(trays):
            if (number, choice) not in known:
                uses = self._models[number].plot.uses
                parts = [
                    uses[limit][choice, scenario, day] if limit in uses else np.zeros(len(day))
                    for limit, scenario, day in cells
                ]
                known[number, choice] = np.concatenate(parts)
            found[row] = known[number, choice]
        return found

    def _sure(self, on: Sequence[Tray], off: Sequence[Tray]) -> Floats:
        """What is sown beyond the limits in the mean costs more after each exchange (c,)."""
        most = np.max([self._means[crop][choice] for crop, choice in {*on, *off}], axis=0)
        where = np.nonzero(self._room() < most)
        if not len(where[0]):
            return np.zeros(len(on))
        change, sown = np.zeros((len(on), len(where[0]))), np.zeros((len(on), len(where[0])))
        for which, sign in ((on, 1.0), (off, -1.0)):
            takes = sign * np.array([self._means[crop][choice][where] for crop, choice in which])
            new = np.array([self._models[crop].plot.choices.way[choice] >= 0 for crop, choice in which])
            change += takes
            sown += takes * new[:, None]
        return self._sure_cost(where, change, sown)

    def _of_sown(self, number: int, take: Floats) -> Floats:
        """What the trays to be sown take of the limits, the mean over scenarios (limits, days)."""
        own = np.flatnonzero((take != 0) & (self._models[number].plot.choices.way >= 0))
        found: Floats = np.tensordot(take[own], self._means[number][own], axes=1)
        return found


def _mean_tables(shared: Shared, model: CropModel) -> Floats:
    """What each choice takes of the limits, the mean over scenarios (n, limits, days)."""
    found = np.zeros((model.count, *shared.has.shape))
    for place, number in enumerate(shared.numbers):
        if number in model.plot.uses:
            found[:, place] = model.plot.uses[number].mean(axis=1)
    return found
