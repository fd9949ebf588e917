"""What trays of unknown luck are worth on average: the prices at which a season of them is at its best.

Every recipe and day of sowing is a class of trays that nobody can tell apart before they are sown. A class is sown in
any amount, and each luck falls to its share of it; what was sown then leaves as suits its luck. Whatever a policy does
that does not know the luck of trays before they are sown, its averages over all lucks are such a season: what it sows
does not hang on the luck, so each luck has its share of what is sown. Limits and orders hold on average, too.

The season is built from strategies (a way to leave for each luck of a class), which are added as they pay at the
prices of grams and limits (column generation [1]_). Prices are drawn half way back to the best ones so far, or they
would swing [2]_.

References
----------
.. [1] G. B. Dantzig and P. Wolfe, "Decomposition principle for linear programs", Operations Research 8 (1960) 101-111.
   From memory.
.. [2] P. Wentges, "Weighted Dantzig-Wolfe decomposition for linear mixed-integer programming", International
   Transactions in Operational Research 4 (1997) 151-162. From memory.
"""

from __future__ import annotations

import time
from typing import NamedTuple

import numpy as np
from scipy import sparse

from trayward.errors import PlanError
from trayward.plan.days import Floats, Ints
from trayward.plan.model import RowName
from trayward.plan.solve import Answer, SolvedAgain
from trayward.study.bound_crops import gram_prices, option_worth, served_beyond
from trayward.study.bound_layout import Trays
from trayward.study.bound_model import LIMIT, Book, Growing, Prices, gain
from trayward.study.bound_prices import no_prices, prices_in

ROUNDS = 200
"""So often strategies are added."""
NEAR = 0.003
"""Closer than this the prices need not be. [-]"""
BACK = 0.5
"""How far new prices are drawn back to the best so far. [-]"""
SMALL = 1e-6
SECONDS = 60.0
"""Safety net of one solution. [s]"""


class Worth(NamedTuple):
    """Prices of all that a tray takes and gives."""

    prices: Prices
    cut: tuple[Floats, ...]
    """Of each crop's grams, by its due days. [currency/g]"""
    live: tuple[Floats, ...]
    """Of each crop's live trays, by day. [currency]"""


class Averages(NamedTuple):
    """The season of averages at its best."""

    worth: Worth
    margin: float
    """No season of averages earns more, of the lucks that were looked at. [farm's currency]"""


class Nets(NamedTuple):
    """What trays are worth by themselves at some prices, with their own luck known."""

    net: Floats
    """What each is worth when it leaves as suits it best, less what it costs. [farm's currency]"""
    option: Ints
    """The way it leaves; -1: thrown away."""


def classes_of(trays: Trays) -> Ints:
    """The class of each tray: its recipe and day of sowing, in their order."""
    found: Ints = np.cumsum(trays.number == 0) - 1
    return found


def nets_of(book: Book, worth: Worth) -> Nets:
    """What each tray of a season is worth by itself."""
    all_, costs = book.layout.options, book.option_costs(worth.prices.limits)
    best, option = np.zeros(len(book.layout.trays.sow)), np.full(len(book.layout.trays.sow), -1)
    for crop, (cut, live) in enumerate(zip(worth.cut, worth.live, strict=True)):
        own = book.options_of(crop)
        each, tray = option_worth(book, own, costs, cut, live), all_.tray[own]
        np.maximum.at(best, tray, each)
        taken = (each > 0) & (each >= best[tray])
        option[tray[taken]] = own[taken]
    return Nets(best - book.tray_costs(worth.prices.limits), option)


def best_averages(book: Book, most: Floats, *, seconds: float = 30.0) -> Averages:
    """
    The best season of averages, and its prices.

    Parameters
    ----------
    book : Book
        A season of which every class has as many trays (`bound_layout.Given.each`): its lucks, each as likely.
    most : array (classes,)
        How many trays of each class anybody sows. [trays]
    seconds : float
        When to stop, near the best or not. [s]
    """
    ends, mixing, again = time.perf_counter() + seconds, _Mixing(book, most), SolvedAgain()
    worth = _dear(book)
    best = Averages(worth, np.inf)
    for _ in range(ROUNDS):
        nets = nets_of(book, worth)
        mean = mixing.means(nets.net)
        margin = _at_most(book, worth, most, mean)
        best = min(best, Averages(worth, margin), key=lambda each: each.margin)
        mixing.add(nets.option, np.flatnonzero(mean > SMALL))
        try:
            answer = again.solve(mixing.model, seconds=min(SECONDS, max(ends - time.perf_counter(), 1.0)))
        except PlanError:  # the time was over
            break
        reached = -answer.cost - book.regret
        if best.margin - reached < NEAR * (1.0 + abs(answer.cost)) or time.perf_counter() > ends:
            break
        new = mixing.worth(answer)
        worth = _between(new, best.worth) if (mean > SMALL).any() else new
    return best


def _dear(book: Book) -> Worth:
    """Limits that cost nothing, and grams as dear as their dearest order."""
    prices, cut, live = no_prices(book), [], []
    dearest = dict.fromkeys(book.layout.crops, 0.0)
    for want in book.wants:
        for crop, share in want.parts:
            if not want.live:
                dearest[crop] = max(dearest[crop], gain(want) / (share * len(want.parts)))
    tray = max((gain(want) for want in book.wants if want.live), default=0.0)
    for crop in book.layout.crops:
        demand = book.layout.demand[crop]
        cut.append(np.full(len(demand.dues), dearest[crop]))
        live.append(np.where(demand.live > 0, tray, 0.0))
    return Worth(prices, tuple(cut), tuple(live))


def _between(one: Worth, two: Worth) -> Worth:
    def each(first: Floats, second: Floats) -> Floats:
        found: Floats = (1 - BACK) * first + BACK * second
        return found

    parts = [each(*pair) for pair in zip(one.prices.parts, two.prices.parts, strict=True)]
    return Worth(
        Prices(each(one.prices.limits, two.prices.limits), parts),
        tuple(each(*pair) for pair in zip(one.cut, two.cut, strict=True)),
        tuple(each(*pair) for pair in zip(one.live, two.live, strict=True)),
    )


def _at_most(book: Book, worth: Worth, most: Floats, mean: Floats) -> float:
    """What no season of averages earns more than, by prices (Lagrangian relaxation, see `bound_crops`)."""
    offset = float((worth.prices.limits * book.layout.limits.has).sum()) - book.regret
    served = sum(
        served_beyond(book, worth.prices, crop, cut, live)
        for crop, (cut, live) in enumerate(zip(worth.cut, worth.live, strict=True))
    )
    return offset + served + float(most @ np.maximum(mean, 0.0))


class _Mixing:
    """The model that strategies are added to."""

    def __init__(self, book: Book, most: Floats) -> None:
        self.book, self.of = book, classes_of(book.layout.trays)
        self.lucks = np.bincount(self.of, minlength=len(most)).astype(float)
        self.first = np.flatnonzero(book.layout.trays.number == 0)
        self.grown = Growing(book, range(len(book.layout.crops)), np.arange(len(book.layout.options.tray)))
        self.model = self.grown.model
        has = book.layout.limits.has.ravel()
        self._limits = self._rows(has, [RowName(LIMIT, str(row), 0) for row in range(len(has))])
        self._classes = self._rows(most, [RowName("tray", "", 0)] * len(most))
        self._costs = book.option_costs(np.zeros_like(book.layout.limits.has))
        self._sown = book.sown_uses()[:, self.first].tocsc()

    def _rows(self, most: Floats, names: list[RowName]) -> Ints:
        return self.model.add_rows(np.full(len(names), -np.inf), most, names)

    def means(self, net: Floats) -> Floats:
        """The mean of each class."""
        found: Floats = np.bincount(self.of, weights=net, minlength=len(self.lucks)) / self.lucks
        return found

    def add(self, option: Ints, classes: Ints) -> None:
        """A strategy of each of some classes: the option that each of their trays takes."""
        if not len(classes):
            return
        place = np.full(len(self.lucks), -1)
        place[classes] = np.arange(len(classes))
        trays = np.flatnonzero((place[self.of] >= 0) & (option >= 0))
        taken, column = option[trays], place[self.of[trays]]
        share = sparse.csr_matrix(
            (1.0 / self.lucks[self.of[trays]], (np.arange(len(trays)), column)), shape=(len(trays), len(classes))
        )
        cost = self.means(self.book.layout.trays.cost)[classes] + share.T @ self._costs[taken]
        columns = self.model.add_columns(cost, 0.0, np.inf)
        self.model.add_entries(self._classes[classes], columns, 1.0)
        uses = (self.book.uses(taken) @ share + self._sown[:, classes]).tocoo()
        self.model.add_entries(self._limits[uses.row], columns[uses.col], uses.data)
        gives = sparse.csr_matrix(
            (-self.book.layout.options.gives[taken], (self.grown.goes(taken), np.arange(len(taken)))),
            shape=(self.model.rows, len(taken)),
        )
        supply = (gives @ share).tocoo()
        self.model.add_entries(supply.row, columns[supply.col], supply.data)

    def worth(self, answer: Answer) -> Worth:
        """The prices of an answer."""
        grams = [gram_prices(crop, self.grown, answer) for crop in range(len(self.book.layout.crops))]
        prices = prices_in(self.book, self.grown, answer)
        return Worth(prices, tuple(cut for cut, _ in grams), tuple(live for _, live in grams))
