"""The season's bound as a model: which trays are sown, how each leaves, and what of it goes to which order.

Cut crop and orders meet in flows: from all options that serve the same due days to each of these days. Every option so
stands in one row of supply only, which keeps a season of three months as quick as a plan of six weeks.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import msgspec
import numpy as np
from scipy import sparse

from trayward.farm.orders import LineDue
from trayward.farm.settings import Money
from trayward.plan.days import Bools, Floats, Ints
from trayward.plan.demand import OpenLine, Want, gather
from trayward.plan.model import Model, RowName
from trayward.plan.uses import CUT, LIVE
from trayward.study.bound_layout import Layout
from trayward.study.bound_trays import Season

LIMIT, MIX = "limit", "mix"
"""The rows that tie crops together."""
CRUMB = 1e-6
"""Less than this is no gain. [farm's currency]"""


class Prices(NamedTuple):
    """What ties the crops, put into prices, so that each crop can be weighed by itself."""

    limits: Floats
    """Of each limit on each day (limits, days). [currency a unit]"""
    parts: list[Floats]
    """Of each want, what a gram (or live tray) of each of its parts earns. [currency/g]"""


def wants_of(lines: Sequence[LineDue], season: Season, money: Money) -> list[Want]:
    """Lines alike in product, day and price, gathered."""
    due = [OpenLine(line=line, day=season.days.index(line.due), grams=line.grams, trays=line.trays) for line in lines]
    return gather(due, money)


def gain(want: Want) -> float:
    """What one gram or live tray of a want earns: its sale, and that nobody is let down. [farm's currency]"""
    return want.worth + want.regret


class Book(msgspec.Struct, frozen=True, kw_only=True):
    """A season laid out, with what it is wanted for."""

    layout: Layout
    wants: list[Want]
    season: Season
    disposal: float
    """Throwing away a gram. [currency/g]"""

    @property
    def regret(self) -> float:
        """What letting everybody down costs. [farm's currency]"""
        return sum(want.regret * want.amount for want in self.wants)

    # What columns cost -----------------------------------------------------------------------------------------------

    def option_costs(self, limits: Floats) -> Floats:
        """Of every option, at prices of the limits (limits, days). [farm's currency]"""
        options, count = self.layout.options, self.season.count
        cost = options.cost + np.where((options.how == CUT) & ~options.good, options.gives * self.disposal, 0.0)
        if limits.any():
            total = np.hstack([np.zeros((len(limits), 1)), np.cumsum(limits, axis=1)])
            for span in self.layout.spans():
                until = np.clip(np.maximum(span.until, span.first), 0, count)
                cost[span.rows] += span.each * (
                    total[span.limit, until] - total[span.limit, np.clip(span.first, 0, count)]
                )
        return cost

    def tray_costs(self, limits: Floats) -> Floats:
        """Of every tray. [farm's currency]"""
        cost: Floats = self.layout.trays.cost + limits.ravel() @ self.sown_uses()
        return cost

    def sown_uses(self) -> sparse.csr_matrix:
        """What trays take of each limit and day on the day they are sown."""
        return self.layout.limits.sown(self.layout.trays.recipe, self.layout.trays.sow)

    def uses(self, options: Ints) -> sparse.csr_matrix:
        """What some options take of each limit and day (rows, as `Limits.sown`)."""
        place = np.full(len(self.layout.options.tray), -1)
        place[options] = np.arange(len(options))
        count, found = self.season.count, []
        for span in self.layout.spans():
            own = place[span.rows] >= 0
            first, until = np.clip(span.first[own], 0, count), np.clip(span.until[own], 0, count)
            length = np.maximum(until - first, 0)
            spread = np.repeat(np.arange(len(length)), length)
            day = np.arange(length.sum()) - np.repeat(np.cumsum(length) - length, length) + first[spread]
            found.append((span.limit * count + day, place[span.rows][own][spread], np.full(len(day), span.each)))
        row, column, each = (np.concatenate([part[number] for part in found]) for number in range(3))
        size = (self.layout.limits.has.size, len(options))
        return sparse.csr_matrix((each, (row, column)), shape=size)

    def options_of(self, crop: int) -> Ints:
        """All options of a crop's trays."""
        return np.flatnonzero(self.layout.trays.crop[self.layout.options.tray] == crop)

    def early(self, crop: int) -> Ints:
        """The trays of a crop that are likely to be of use."""
        return np.flatnonzero((self.layout.trays.crop == crop) & self.layout.trays.early)

    def cheapest(self, options: Ints, cost: Floats) -> Ints:
        """Of the options of a tray on a day, those that no other betters: none gives as much at no greater cost."""
        all_ = self.layout.options
        keys = all_.leave[options], all_.how[options], all_.tray[options]
        ranked = options[np.lexsort((cost[options], -all_.gives[options], *keys))]
        first: Bools = np.ones(len(ranked), dtype=bool)
        for part in (all_.tray, all_.how, all_.leave):
            first[1:] &= part[ranked[1:]] == part[ranked[:-1]]
        first[1:] = ~first[1:]
        # Each group lies so far below the one before that only its own costs are compared.
        apart = 2.0 * float(np.ptp(cost[ranked]) if len(ranked) else 0.0) + 1.0
        lowered = cost[ranked] - apart * np.cumsum(first)
        least = np.minimum.accumulate(lowered)
        kept = first.copy()
        kept[1:] |= lowered[1:] < least[:-1] - CRUMB
        return np.sort(ranked[kept])


class Growing:
    """A model of some crops that trays, options and limits are added to.

    Parameters
    ----------
    book : Book
        The season.
    crops : sequence of int
        Whose orders count.
    scope : array
        All options that may be added.
    parts : list of array, optional
        What each part of each want earns; if left out what the whole want earns, once all its parts are there.
    whole : bool
        Whether trays are whole.
    """

    def __init__(
        self, book: Book, crops: Sequence[int], scope: Ints, *, parts: list[Floats] | None = None, whole: bool = False
    ) -> None:
        self.book, self.layout, self.parts, self.whole = book, book.layout, parts, whole
        self.model = Model()
        self.trays, self.sown = np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
        self.options, self.taken = self.trays, self.sown
        self.served: dict[tuple[int, int], int] = {}
        """The column of each part of each want."""
        self.due: dict[int, Ints] = {}
        """The row of each due day of a crop."""
        self.live: dict[int, Ints] = {}
        """The row of a crop's live trays on each day; -1: none are due."""
        self.limits: Ints = self.trays
        self._limit_rows: Ints = self.trays
        self._column = np.full(len(self.layout.trays.sow), -1, dtype=np.int64)
        self._row = np.full(len(self.layout.trays.sow), -1, dtype=np.int64)
        self._goes = np.full(len(self.layout.options.tray), -1, dtype=np.int64)
        self._orders(crops)
        crop_of = self.layout.trays.crop[self.layout.options.tray[scope]]
        for crop in crops:
            self._supply(crop, scope[crop_of == crop])
            self._live(crop, scope[crop_of == crop])

    # What is asked for -----------------------------------------------------------------------------------------------

    def _orders(self, crops: Sequence[int]) -> None:
        """A column for each part of each want; a mix goes out as far as its scarcest part."""
        wanted = {self.layout.crops[crop] for crop in crops}
        for number, want in enumerate(self.book.wants):
            tied = self.parts is None and len(want.parts) > 1
            mix = self.model.add_columns(np.array([-gain(want)]), 0.0, want.amount)[0] if tied else -1
            for place, (crop, share) in enumerate(want.parts):
                if crop not in wanted:
                    continue
                earns = 0.0 if tied else gain(want) / share if self.parts is None else self.parts[number][place]
                most = want.amount * (1.0 if want.live else share)
                column = int(self.model.add_columns(np.array([-earns]), 0.0, most)[0])
                self.served[number, place] = column
                if tied:
                    row = self._rows([RowName(MIX, str(number), place)])
                    self.model.add_entries(row, np.array([mix, column]), np.array([share, -1.0]))

    def _rows(self, names: list[RowName], *, equal: bool = False) -> Ints:
        low = np.zeros(len(names)) if equal else np.full(len(names), -np.inf)
        return self.model.add_rows(low, np.zeros(len(names)), names)

    def _supply(self, crop: int, scope: Ints) -> None:
        """Grams flow from what is cut to the due days it is good for."""
        all_, name = self.layout.options, self.layout.crops[crop]
        demand, cut = self.layout.demand[name], scope[all_.how[scope] == CUT]
        kinds = np.column_stack([all_.first[cut], all_.last[cut], all_.good[cut]])
        kinds, which = (
            np.unique(kinds, axis=0, return_inverse=True) if len(cut) else (kinds, np.zeros(0, dtype=np.int64))
        )
        rows = self._rows([RowName("supply", name, int(kind[0])) for kind in kinds])
        self._goes[cut] = rows[which.ravel()] if len(cut) else rows
        length = kinds[:, 1] - kinds[:, 0] + 1
        kind = np.repeat(np.arange(len(kinds)), length)
        due = np.arange(length.sum()) - np.repeat(np.cumsum(length) - length, length) + kinds[kind, 0]
        # What goes out is not thrown away.
        flows = self.model.add_columns(np.where(kinds[kind, 2] == 1, 0.0, -self.book.disposal), 0.0, np.inf)
        self.model.add_entries(rows[kind], flows, 1.0)
        self.due[crop] = self._rows([RowName("due", name, int(day)) for day in demand.dues], equal=True)
        self.model.add_entries(self.due[crop][due], flows, -1.0)
        for want, column in self._served_of(name, live=False):
            row = self.due[crop][np.searchsorted(demand.dues, want.day)]
            self.model.add_entries(row, np.array([column]), 1.0)

    def _live(self, crop: int, scope: Ints) -> None:
        """As many live trays go out as leave on the day."""
        all_, name = self.layout.options, self.layout.crops[crop]
        days = np.flatnonzero(self.layout.demand[name].live)
        self.live[crop] = np.full(self.book.season.count, -1)
        self.live[crop][days] = self._rows([RowName("live", name, int(day)) for day in days])
        for want, column in self._served_of(name, live=True):
            self.model.add_entries(self.live[crop][want.day], np.array([column]), 1.0)
        leaving = scope[all_.how[scope] == LIVE]
        self._goes[leaving] = self.live[crop][all_.leave[leaving]]

    def _served_of(self, crop: str, *, live: bool) -> list[tuple[Want, int]]:
        return [
            (self.book.wants[number], column)
            for (number, place), column in self.served.items()
            if self.book.wants[number].live == live and self.book.wants[number].parts[place][0] == crop
        ]

    # What can be done ------------------------------------------------------------------------------------------------

    def goes(self, options: Ints) -> Ints:
        """The rows that some options give to."""
        found: Ints = self._goes[options]
        return found

    def add_trays(self, trays: Ints, cost: Floats) -> None:
        """Add trays, with those of lower number or after them. `cost`: of each of the season's trays."""
        trays = np.setdiff1d(trays, self.trays)
        columns = self.model.add_columns(cost[trays], 0.0, 1.0, whole=self.whole)
        self._column[trays] = columns
        self._row[trays] = self._rows([RowName("tray", "", 0)] * len(trays))
        self.model.add_entries(self._row[trays], columns, -1.0)
        later = trays[self.layout.trays.before[trays] >= 0]
        rows = self._rows([RowName("before", "", 0)] * len(later))
        self.model.add_entries(rows, self._column[later], 1.0)
        self.model.add_entries(rows, self._column[self.layout.trays.before[later]], -1.0)
        self._charge(self.book.sown_uses()[:, trays], columns, self.limits, self._limit_rows)
        self.trays, self.sown = np.append(self.trays, trays), np.append(self.sown, columns)

    def add_options(self, options: Ints, cost: Floats) -> None:
        """Add options of trays that are there. `cost`: of each of the season's options."""
        options, all_ = np.setdiff1d(options, self.options), self.layout.options
        columns = self.model.add_columns(cost[options], 0.0, 1.0, whole=self.whole)
        self.model.add_entries(self._row[all_.tray[options]], columns, 1.0)
        self.model.add_entries(self._goes[options], columns, -all_.gives[options])
        if len(self.limits):
            self._charge(self.book.uses(options), columns, self.limits, self._limit_rows)
        self.options, self.taken = np.append(self.options, options), np.append(self.taken, columns)

    def add_limits(self, limits: Ints) -> None:
        """Add limits, by their row in `Book.uses`."""
        limits = np.setdiff1d(limits, self.limits)
        has = self.layout.limits.has.ravel()[limits]
        rows = self.model.add_rows(np.full(len(limits), -np.inf), has, [RowName(LIMIT, str(row), 0) for row in limits])
        self._charge(self.book.uses(self.options), self.taken, limits, rows)
        self._charge(self.book.sown_uses()[:, self.trays], self.sown, limits, rows)
        self.limits, self._limit_rows = np.append(self.limits, limits), np.append(self._limit_rows, rows)

    def _charge(self, table: sparse.csr_matrix, columns: Ints, limits: Ints, rows: Ints) -> None:
        part = table[limits].tocoo()
        self.model.add_entries(rows[part.row], columns[part.col], part.data)

    def uses(self, values: Floats) -> Floats:
        """How much of each limit and day an answer takes."""
        total: Floats = self.book.uses(self.options) @ values[self.taken]
        total += self.book.sown_uses()[:, self.trays] @ values[self.sown]
        return total
