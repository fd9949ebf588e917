"""Prices on what crops share: spots, kit and hands, scenario by scenario and day by day.

At given prices every crop is a problem of its own, and together their answers prove how good a plan can be at most
(Lagrange). The prices come from a small model that mixes the crops' answers so far within the limits (Dantzig and
Wolfe); each crop is then asked again at the new prices. Going beyond a limit in one scenario costs what a tray is worth
in that scenario, for that is what has to be given up there.

References
----------
Dantzig, G. B. and Wolfe, P. (1960). Decomposition principle for linear programs. Operations Research 8:101-111.
doi 10.1287/opre.8.1.101.
Wentges, P. (1997). Weighted Dantzig-Wolfe decomposition for linear mixed-integer programming. International
Transactions in Operational Research 4:151-162. doi 10.1016/S0969-6016(97)00001-4. (Both from memory.)
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from trayward.plan.crop_model import Answered, CropModel
from trayward.plan.days import Floats
from trayward.plan.limits import Limits
from trayward.plan.model import Model, RowName
from trayward.plan.solve import solve
from trayward.plan.uses import CUT

ROUNDS = 25
"""So often prices are asked for at most."""
MOST_ROWS = 600
"""So many limits at a time come into the small model, the worst first."""
SMOOTH = 0.5
"""How far new prices go from the best so far towards those of the small model. [-]"""
HARD = 1.5
"""Going beyond a limit costs this many times what the dearest tray is worth. [-]"""


class Shared(NamedTuple):
    """The limits crops share."""

    numbers: tuple[int, ...]
    """Of the limits that have an end."""
    has: Floats
    """(limits, days)"""
    beyond: Floats
    """What one unit more than there is costs, on one day of one scenario, before it is shared out (limits,)."""
    scenarios: int


def shared_limits(limits: Limits, models: Sequence[CropModel], scenarios: int) -> Shared:
    """The limits that have an end on any day, and what going beyond them costs."""
    numbers = [int(number) for number in np.flatnonzero(np.isfinite(limits.has).any(axis=1))]
    dearest = max((_dearest(model) for model in models), default=0.0)
    beyond = [HARD * dearest / _smallest(models, number) for number in numbers]
    return Shared(tuple(numbers), limits.has[numbers], np.array(beyond), scenarios)


def _dearest(model: CropModel) -> float:
    """What a tray usually brings and spares: its mean weight at the mean worth of what is wanted. [currency]"""
    grams, tiers = model.plot.choices.grams[:, model.plot.choices.how == CUT], model.all_cut
    amount = tiers.amount.mean(axis=0)
    cut = float(grams.mean()) * float(np.average(tiers.worth, weights=amount)) if grams.size and amount.any() else 0.0
    return max(cut, float(model.all_live.worth.mean()) if len(model.all_live.worth) else 0.0)


def _smallest(models: Sequence[CropModel], limit: int) -> float:
    """The least of a limit that any tray takes on its busiest day."""
    least = [
        float(model.plot.uses[limit].max(axis=(1, 2))[model.plot.uses[limit].max(axis=(1, 2)) > 0].min(initial=np.inf))
        for model in models
        if limit in model.plot.uses
    ]
    found = min(least, default=1.0)
    return found if np.isfinite(found) else 1.0


def use_of(shared: Shared, model: CropModel, take: Floats) -> Floats:
    """How much of each limit so many trays take up (limits, scenarios, days)."""
    used = np.flatnonzero(take)
    days = shared.has.shape[1]
    found = np.zeros((len(shared.numbers), shared.scenarios, days))
    for place, number in enumerate(shared.numbers):
        if number in model.plot.uses and len(used):
            found[place] = np.tensordot(take[used], model.plot.uses[number][used], axes=1)
    return found


def charge_of(shared: Shared, model: CropModel, price: Floats) -> Floats:
    """What each choice costs besides, at prices of the limits (limits, scenarios, days) -> (n,)."""
    charge = np.zeros(model.count)
    for place, number in enumerate(shared.numbers):
        if number in model.plot.uses and price[place].any():
            scenario, day = np.nonzero(price[place])
            charge += model.plot.uses[number][:, scenario, day] @ price[place, scenario, day]
    return charge


def over_cost(shared: Shared, use: Floats) -> Floats:
    """What going beyond the limits costs, the mean over scenarios (..., limits, scenarios, days) -> (...)."""
    over = np.maximum(use - shared.has[:, None, :], 0.0)
    cost: Floats = (over.sum(axis=(-1, -2)) * shared.beyond).sum(axis=-1) / shared.scenarios
    return cost


class Column(NamedTuple):
    """One answer of one crop."""

    crop: int
    take: Floats
    cost: float
    """Without charges."""
    use: Floats


class Priced(NamedTuple):
    """The best prices found, what they prove, and the crops' answers mixed within the limits."""

    price: Floats
    bound: float
    """No plan costs less. [currency]"""
    mixed: list[Floats]
    """Parts of trays of each crop's choices."""
    mixed_cost: float
    rounds: int


def find_prices(
    shared: Shared,
    models: Sequence[CropModel],
    *,
    enough: float,
    start: Floats | None = None,
    late: Callable[[], bool] = lambda: False,
) -> Priced:
    """
    Ask the crops at better and better prices, until no mix of answers can be better by more than `enough`.

    Parameters
    ----------
    start : array, optional
        Prices to begin with (limits, scenarios, days); none: no limit costs anything.
    late : callable
        Whether time is up; the best so far is given then.
    """
    return _Pricing(shared, models, enough).run(start, late)


class _Pricing:
    def __init__(self, shared: Shared, models: Sequence[CropModel], enough: float) -> None:
        self.shared, self.models, self.enough = shared, models, enough
        self.columns: list[Column] = []
        self.rows: list[tuple[int, int, int]] = []
        self.bound, self.best = -np.inf, np.zeros((len(shared.numbers), shared.scenarios, shared.has.shape[1]))

    def run(self, start: Floats | None, late: Callable[[], bool]) -> Priced:
        price = self.best if start is None else start
        self._ask(price)
        if start is not None:
            self._ask(self.best * 0.0)
        rounds = 1
        weights, cost, wanted = self._mix()
        while cost - self.bound > self.enough and rounds < ROUNDS and not late():
            price = self.best + SMOOTH * (wanted - self.best) if rounds > 1 else wanted
            before = self.bound
            if not self._ask(price) or self.bound <= before:
                self._ask(wanted)
            weights, cost, wanted = self._mix()
            rounds += 1
        mixed = [np.zeros(model.count) for model in self.models]
        for column, weight in zip(self.columns, weights, strict=True):
            mixed[column.crop] += weight * column.take
        return Priced(self.best, self.bound, mixed, cost, rounds)

    def _ask(self, price: Floats) -> bool:
        """Ask every crop; whether the bound they prove is better than any before."""
        charges = [charge_of(self.shared, model, price) for model in self.models]
        answers = [model.ask(charge) for model, charge in zip(self.models, charges, strict=True)]
        proven = sum(answer.cost for answer in answers) - self._paid(price)
        better = proven > self.bound
        if better:
            self.bound, self.best = proven, price
        for number, (answer, charge) in enumerate(zip(answers, charges, strict=True)):
            self._keep(number, answer, charge)
        return better

    def _paid(self, price: Floats) -> float:
        finite = np.where(np.isfinite(self.shared.has), self.shared.has, 0.0)
        return float((price * finite[:, None, :]).sum())

    def _keep(self, number: int, answer: Answered, charge: Floats) -> None:
        use = use_of(self.shared, self.models[number], answer.take)
        self.columns.append(Column(number, answer.take, answer.cost - float(charge @ answer.take), use))

    # The small model -------------------------------------------------------------------------------------------------

    def _mix(self) -> tuple[Floats, float, Floats]:
        """The best mix of answers: the weight of each, its cost, and the prices of the limits in it."""
        while True:
            answer_values, answer_cost, prices = self._solved()
            if not self._add_rows(answer_values):
                return answer_values, answer_cost, prices

    def _solved(self) -> tuple[Floats, float, Floats]:
        model, shared = Model(), self.shared
        weight = model.add_columns(np.array([column.cost for column in self.columns]), 0.0, np.inf)
        one = np.ones(len(self.models))
        rows = model.add_rows(one, one, [RowName("mix", m.plot.crop, 0) for m in self.models])
        model.add_entries(rows[np.array([column.crop for column in self.columns])], weight, 1.0)
        if self.rows:
            limit, scenario, day = (np.array(part) for part in zip(*self.rows, strict=True))
            names = [RowName("limit", str(number), int(at)) for number, at in zip(limit, day, strict=True)]
            caps = model.add_rows(np.full(len(names), -np.inf), shared.has[limit, day], names)
            for place, column in enumerate(self.columns):
                used = column.use[limit, scenario, day]
                some = np.flatnonzero(used)
                model.add_entries(caps[some], weight[place], used[some])
            over = model.add_columns(shared.beyond[limit] / shared.scenarios, 0.0, np.inf)
            model.add_entries(caps, over, -1.0)
        answer = solve(model)
        price = np.zeros_like(self.best)
        if self.rows:
            price[limit, scenario, day] = np.maximum(0.0, -answer.prices[caps])
        return answer.values[weight], answer.cost, price

    def _add_rows(self, weights: Floats) -> bool:
        """Bring in the limits that a mix goes beyond; whether there were any."""
        used = np.flatnonzero(weights > 1e-9)
        use = sum((weights[one] * self.columns[one].use for one in used), np.zeros_like(self.best))
        more = worst_places(self.shared, use, self.rows)
        self.rows += more
        return bool(more)


def worst_places(shared: Shared, use: Floats, known: Sequence[tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    """Limit, scenario and day where a use goes beyond what there is, the worst first; without those known already."""
    over = (use - shared.has[:, None, :]) * shared.beyond[:, None, None]
    if known:
        limit, scenario, day = (np.array(part) for part in zip(*known, strict=True))
        over[limit, scenario, day] = 0.0
    places = np.argwhere(over > 1e-6 * max(1.0, float(shared.beyond.max(initial=1.0))))
    order = np.argsort(-over[tuple(places.T)])[:MOST_ROWS]
    return [(int(a), int(b), int(c)) for a, b, c in places[order]]
