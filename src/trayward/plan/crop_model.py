"""One crop's choices and scenarios as a linear model: the most its sowings can be worth at given prices of the limits.

Whole numbers are left out, and a tray lighter or heavier than a small order would then be sown in parts. Rows that
whole trays keep (`whole_rows`) undo most of that; they are added where the answer breaks them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from trayward.plan.days import Bools, Floats, Ints
from trayward.plan.demand import Want
from trayward.plan.model import Model, RowName
from trayward.plan.plots import Plot
from trayward.plan.seed import seed_by_then
from trayward.plan.solve import Again
from trayward.plan.uses import CUT, LIVE
from trayward.plan.whole_rows import Rows, Spans

KILO = 0.01
"""Grams in the model are in hundreds, so that its figures are of one size. [1/g]"""
ROUNDS = 6
"""So often rows are added."""
LITTLE = 1e-5
"""A gain of less than this share of all that is wanted is not worth another round. [-]"""


NONE: Ints = np.zeros(0, dtype=np.int64)
NO_SHARES: Floats = np.zeros(0)


class Asked(NamedTuple):
    """What is wanted of one crop, cut grams and live trays (k), in each scenario (s)."""

    due: Ints
    """Number of the due day (k,), among the cut or the live ones."""
    amount: Floats
    """(s, k)"""
    worth: Floats
    """What one gram or tray brings, and spares (k,). [currency]"""
    live: Ints
    mix: Ints = NONE
    """The want it is a part of, for mixes (k,); -1: it is wanted by itself. Left out: all are."""
    share: Floats = NO_SHARES
    """Which share of the mix it is (k,)."""


class Tiers(NamedTuple):
    """Wants of a due day that are worth the same, together (t); a part of a mix stays by itself."""

    due: Ints
    amount: Floats
    """(s, t)"""
    worth: Floats
    mix: Ints
    """The want it is a part of; -1: none."""
    share: Floats


def asked_of(plot: Plot, wants: Sequence[Want], prices: Floats, amounts: Floats) -> Asked:
    """
    What is wanted of a crop. Of a mix each gram brings as much as the mix does, whatever part it is.

    Parameters
    ----------
    prices : array
        What letting down one of each want costs beyond the sale (wants,). [currency]
    amounts : array
        How much is wanted in each scenario (s, wants).
    """
    rows, columns = [], []
    live_days = sorted(plot.demand.live)
    for number, want in enumerate(wants):
        for crop, share in want.parts:
            if crop == plot.crop and share > 0:
                worth = want.worth + float(prices[number])
                due = live_days.index(want.day) if want.live else int(np.searchsorted(plot.demand.days, want.day))
                mix = number if len(want.parts) > 1 and not want.live else -1
                rows.append((due, worth, int(want.live), mix, share))
                columns.append(amounts[:, number] * (1.0 if want.live else share))
    table = np.array(rows, dtype=float).reshape(-1, 5)
    amount = np.stack(columns, axis=1) if columns else np.zeros((len(amounts), 0))
    whole = table.astype(np.int64)
    return Asked(whole[:, 0], amount, table[:, 1], whole[:, 2], whole[:, 3], table[:, 4])


def _tiers(asked: Asked, own: Bools) -> Tiers:
    mix = asked.mix[own] if len(asked.mix) else np.full(int(own.sum()), -1)
    share = np.where(mix < 0, 1.0, asked.share[own] if len(asked.share) else 1.0)
    keys = np.stack([asked.due[own].astype(float), np.round(asked.worth[own], 9), mix.astype(float), share], axis=1)
    tiers, where = np.unique(keys, axis=0, return_inverse=True)
    amount = np.zeros((len(asked.amount), len(tiers)))
    np.add.at(amount.T, where.ravel(), asked.amount[:, own].T)
    worth, share = (np.asarray(tiers[:, place], dtype=float) for place in (1, 3))
    return Tiers(tiers[:, 0].astype(np.int64), amount, worth, tiers[:, 2].astype(np.int64), share)


class Answered(NamedTuple):
    """Trays of each choice, in parts, and what they cost less what they bring."""

    take: Floats
    cost: float


class CropModel:
    """
    The linear model of a plot, to be asked again at other prices.

    Parameters
    ----------
    plot : Plot
        The crop, (s) scenarios.
    asked : Asked
        What is wanted of it.
    disposal : float
        Throwing away a gram. [currency/g]
    some : array, optional
        Only these of the scenarios.
    """

    def __init__(self, plot: Plot, asked: Asked, disposal: float, some: Ints | None = None) -> None:
        self.plot, choices = plot, plot.choices
        some = np.arange(choices.grams.shape[0]) if some is None else some
        self.grams, self.first, self.last = choices.grams[some], choices.first[some], choices.last[some]
        self.count, self.scenarios = len(choices.upper), len(some)
        self.dues, self.disposal = len(plot.demand.days), disposal
        self.all_cut, self.all_live = _tiers(asked, asked.live == 0), _tiers(asked, asked.live == 1)
        self.cut = self.all_cut._replace(amount=self.all_cut.amount[some])
        self.live = self.all_live._replace(amount=self.all_live.amount[some])
        forgone = (asked.amount * asked.worth).sum(axis=1)
        self.forgone = float(forgone.mean())
        """What letting all down would cost, in all scenarios: costs are those of the whole problem."""
        self.own_forgone = float(forgone[some].mean())
        """The same in those it has; added to its own costs."""
        self.seed = seed_by_then(plot.seed)
        self.model, self.spans = self._build(), self._spans()
        self._solver: Again | None = None
        self._found: list[tuple[Ints, Ints, Floats]] = []

    # The model -------------------------------------------------------------------------------------------------------

    def _build(self) -> Model:
        model, choices = Model(), self.plot.choices
        self.take = model.add_columns(choices.cost, 0.0, choices.upper, whole=True)
        model.offset = self.own_forgone
        self.met = np.zeros((self.scenarios, len(self.cut.due)), dtype=np.int64)
        for scenario in range(self.scenarios):
            self._scenario(model, scenario)
        self._live_rows(model)
        for group, own, size in self.plot.groups:
            row = model.add_rows(np.array([size]), np.array([size]), [RowName("standing", self.plot.crop, group)])
            model.add_entries(row[0], self.take[own], 1.0)
        self._seed_rows(model)
        return model

    def _scenario(self, model: Model, scenario: int) -> None:
        """What is left after each due day is what was left before and comes, less what is served and wasted.

        What is left can only be of trays that still keep.
        """
        due, worth, dues, crop = self.cut.due, self.cut.worth, self.dues, self.plot.crop
        share = 1.0 / self.scenarios
        self.met[scenario] = model.add_columns(-worth * share / KILO, 0.0, self.cut.amount[scenario] * KILO)
        if not dues:
            return
        waste = model.add_columns(np.full(dues, self.disposal * share / KILO), 0.0, np.inf)
        left = model.add_columns(np.zeros(dues), 0.0, np.inf)
        stock, lost = self.stock()
        comes = np.zeros(dues)
        comes[0] = stock * KILO
        keeps = (stock - np.cumsum(lost)[:dues]) * KILO
        balance = model.add_rows(comes, comes, [RowName("supply", crop, 0)] * dues)
        keep = model.add_rows(np.full(dues, -np.inf), keeps, [RowName("keep", crop, 0)] * dues)
        choices = self.plot.choices
        serves = np.flatnonzero((self.first[scenario] <= self.last[scenario]) & (choices.how == CUT))
        first, last = self.first[scenario, serves], self.last[scenario, serves]
        grams = self.grams[scenario, serves] * KILO
        model.add_entries(balance[first], self.take[serves], -grams)
        day, tray = _each_day(first, last)
        model.add_entries(keep[day], self.take[serves[tray]], -grams[tray])
        model.add_entries(balance[due], self.met[scenario], 1.0)
        for rows, columns, sign in ((balance, waste, 1.0), (balance, left, 1.0), (keep, left, 1.0)):
            model.add_entries(rows, columns, sign)
        model.add_entries(balance[1:], left[:-1], -1.0)

    def stock(self) -> tuple[float, Floats]:
        """Grams in the cold room, and by the number of the last due day they are good for. [g]"""
        lost = np.zeros(self.dues + 1)
        for item in self.plot.stock:
            last = int(np.searchsorted(self.plot.demand.days, item.last, side="right")) - 1
            if last >= 0:
                lost[last] += item.grams
        return float(lost.sum()), lost

    def _live_rows(self, model: Model) -> None:
        due = self.live.due
        choices = self.plot.choices
        for scenario in range(self.scenarios if len(due) else 0):
            met = model.add_columns(-self.live.worth / self.scenarios, 0.0, self.live.amount[scenario])
            for number in np.unique(due):
                row = model.add_rows(np.array([-np.inf]), np.zeros(1), [RowName("live", self.plot.crop, int(number))])
                model.add_entries(row[0], met[due == number], 1.0)
                own = np.flatnonzero((choices.how == LIVE) & (choices.due == number))
                model.add_entries(row[0], self.take[own], -self.grams[scenario, own])

    def _seed_rows(self, model: Model) -> None:
        """Up to each arrival of seed no more is sown than had come before it."""
        choices = self.plot.choices
        sown = np.flatnonzero(choices.way >= 0)
        if not len(sown):
            return
        for end, here in self.seed:
            used = sown[choices.sow[sown] < end]
            row = model.add_rows(np.array([-np.inf]), np.array([here * KILO]), [RowName("seed", self.plot.crop, end)])
            model.add_entries(row[0], self.take[used], choices.seed_g[used] * KILO)

    # Rows that whole trays keep --------------------------------------------------------------------------------------

    def _spans(self) -> Spans:
        wanted = np.zeros((self.scenarios, self.dues + 1))
        np.add.at(wanted.T, self.cut.due + 1, self.cut.amount.T * KILO)
        serves = (self.first <= self.last) & (self.plot.choices.how == CUT)[None, :]
        good = np.searchsorted(self.plot.demand.days, [item.last for item in self.plot.stock], side="right") - 1
        stock = [(int(last), item.grams * KILO) for last, item in zip(good, self.plot.stock, strict=True)]
        grams = np.where(serves, self.grams, 0.0) * KILO
        return Spans(np.cumsum(wanted, axis=1), grams, self.first, self.last, stock)

    def tighten(self, values: Floats, *, deep: bool) -> bool:
        """Add the rows that an answer breaks; whether there were any."""
        rows = self.broken(values, deep=deep)
        if len(rows.top):
            self.add(rows)
        return bool(len(rows.top))

    def broken(self, values: Floats, *, deep: bool) -> Rows:
        """The rows that an answer breaks."""
        served = np.zeros((self.scenarios, self.dues))
        np.add.at(served.T, self.cut.due, values[self.met].T)
        return self.spans.broken(served, values[self.take], deep=deep)

    def add(self, rows: Rows) -> None:
        """Hold all answers from now on to some rows."""
        self.solver.add_rows(np.full(len(rows.top), -np.inf), rows.top, self.entries_of(rows))
        self._found.append((rows.span, rows.scenario, rows.weight))

    def found(self) -> Iterator[Rows]:
        """The rows that were added so far, some at a time: all of them at once are large."""
        return (self.spans.rows(*some) for some in self._found)

    def entries_of(self, rows: Rows) -> Floats:
        """What rows take of each column of the model (r, columns)."""
        entries = np.zeros((len(rows.top), self.model.columns))
        entries[:, self.take] = -rows.coefficient
        ends = self.spans.ends[rows.span]
        inside = (self.cut.due >= ends[:, :1]) & (self.cut.due <= ends[:, 1:])
        row, want = np.nonzero(inside)
        entries[row, self.met[rows.scenario[row], want]] = 1.0
        return entries

    def value_mixes(self, worths: Mapping[int, Floats]) -> None:
        """
        Let parts of mixes be worth something else from now on.

        Parameters
        ----------
        worths : mapping of int to array
            Tier (of `cut`) -> what a gram of it brings in each scenario (s,). [currency/g]
        """
        for tier, worth in worths.items():
            self.solver.set_costs(self.met[:, tier], -worth / self.scenarios / KILO)

    # Asking it -------------------------------------------------------------------------------------------------------

    @property
    def solver(self) -> Again:
        """The model in the solver's hands, made when it is first asked."""
        if self._solver is None:
            self._solver = Again(self.model)
        return self._solver

    def ask(self, charge: Floats, rounds: int = ROUNDS, *, deep: bool = False) -> Answered:
        """
        The best answer, in parts of trays, where each choice costs so much besides (n,).

        Parameters
        ----------
        rounds : int
            So often rows that whole trays keep are added at most.
        deep : bool
            Look for all such rows, not only for the simplest.
        """
        self.solver.set_costs(self.take, self.plot.choices.cost + charge)
        values, cost = self.solver.solve()
        for _ in range(rounds):
            if not self.tighten(values, deep=deep):
                break
            before = cost
            values, cost = self.solver.solve()
            if cost - before < LITTLE * max(1.0, abs(self.own_forgone)):
                break
        return Answered(values[self.take], cost)


def _each_day(first: Ints, until: Ints) -> tuple[Ints, Ints]:
    """Every day from the first to before the last of some spans, and the span it is of."""
    length = until - first
    span = np.repeat(np.arange(len(first)), length)
    day = np.arange(int(length.sum())) - np.repeat(np.cumsum(length) - length, length) + first[span]
    return day, span
