"""Prices on what crops share: spots, kit and hands, scenario by scenario and day by day.

At given prices every crop is a problem of its own, and together their answers prove how good a plan can be at most
(Lagrange). The prices are moved towards where the crops' answers, in the mean over the rounds so far, take more than
there is, and away from where they leave some over (the volume algorithm); the same mean is parts of trays that nearly
keep the limits. Going beyond a limit in one scenario costs a part of what a tray is worth, for there trays wait or are
left out; so no price is higher.

References
----------
Barahona, F. and Anbil, R. (2000). The volume algorithm: producing primal solutions with a subgradient method.
Mathematical Programming 87:385-399. doi 10.1007/s101070050002. (From memory.)
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import NamedTuple

import numpy as np

from trayward.plan.crop_model import ROUNDS as ASKS
from trayward.plan.crop_model import Answered, CropModel
from trayward.plan.crop_whole import WholeTrays, raise_together
from trayward.plan.days import Floats
from trayward.plan.limits import Limits
from trayward.plan.uses import CUT

ROUNDS = 120
"""So often prices are asked for at most."""
NEW = 0.2
"""What the newest answers count for in the mean of all. [-]"""
STEP, SHORTER, PATIENCE = 0.3, 0.66, 5
"""How far prices go at first, as a share of the way to the mean; after so many rounds without gain, less far. [-]"""
FIRST_ROUNDS = 2
"""In the first rounds rows are added as often as it helps, later once."""
SLOW = 0.1
"""Prices are good once so many rounds gained less than this share of what is enough. [-]"""
SOFT = 0.2
"""Going beyond a limit in one scenario, by what a tray takes of it on one day, costs this share of the dearest tray's
worth: a tray that finds no room waits, and only one that waits for days is lost; what is still to be sown can be left
out when it comes to that. Whole seasons on tight racks earned more so than where each scenario was spared for. [-]"""
UNSURE, SURE = 2.0, 30.0
"""Going beyond it in the mean over scenarios costs this many times what the dearest tray is worth: on days on which
scenarios differ, so that part of a tray too many is no reason to sow none, and on days on which they agree. [-]"""
FIRM = 1.5
"""The same where prices of limits are told: one more of a limit is worth no more than this. [-]"""


class Shared(NamedTuple):
    """The limits crops share."""

    numbers: tuple[int, ...]
    """Of the limits that have an end."""
    has: Floats
    """(limits, days)"""
    beyond: Floats
    """What one unit more than there is costs, on one day of one scenario, before it is shared out (limits,)."""
    firm: Floats
    """The most that one unit more can be worth (limits,)."""
    sure: Floats
    """What one unit more than there is costs in the mean over scenarios (limits, days)."""
    scenarios: int


def shared_limits(limits: Limits, models: Sequence[CropModel], scenarios: int) -> Shared:
    """The limits that have an end on any day, and what going beyond them costs."""
    numbers = [int(number) for number in np.flatnonzero(np.isfinite(limits.has).any(axis=1))]
    dearest = max((_dearest(model) for model in models), default=0.0)
    each = np.array([dearest / _smallest(models, number) for number in numbers])
    has = limits.has[numbers]
    sure = np.repeat(SURE * each[:, None], has.shape[1], axis=1)
    return Shared(tuple(numbers), has, SOFT * each, FIRM * each, sure, scenarios)


def unsure(shared: Shared, use: Floats) -> Shared:
    """Limits that give way in the mean where scenarios differ in what is taken up (limits, scenarios, days)."""
    differ = use.std(axis=1) > 1e-9
    return shared._replace(sure=np.where(differ, shared.sure * (UNSURE / SURE), shared.sure))


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


def use_of_all(shared: Shared, models: Sequence[CropModel], takes: Sequence[Floats]) -> Floats:
    """How much of each limit the trays of all crops take up (limits, scenarios, days)."""
    none = np.zeros((len(shared.numbers), shared.scenarios, shared.has.shape[1]))
    return sum((use_of(shared, model, take) for model, take in zip(models, takes, strict=True)), none)


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


class Priced(NamedTuple):
    """The best prices found, what they prove, and the crops' answers in the mean."""

    price: Floats
    bound: float
    """No plan costs less. [currency]"""
    mixed: list[Floats]
    """Parts of trays of each crop's choices."""
    mixed_cost: float
    """What the parts cost, beyond the limits included; the best of whole trays may be dearer. [currency]"""
    rounds: int


def find_prices(
    shared: Shared,
    models: Sequence[CropModel],
    *,
    enough: float,
    start: Floats | None = None,
    known: float = np.inf,
    late: Callable[[], bool] = lambda: False,
    threads: int = 1,
) -> Priced:
    """
    Ask the crops at better and better prices, then look closer at each for what whole trays can do.

    Parameters
    ----------
    enough : float
        Stop once no plan can be better by more than this than one that is known, or than the mean. [currency]
    start : array, optional
        Prices to begin with (limits, scenarios, days); none: no limit costs anything.
    known : float
        What a plan costs that is known. [currency]
    late : callable
        Whether time is up; the best so far is given then, and is proven all the same.
    threads : int
        So many crops are asked at a time.
    """
    if not models:
        return Priced(np.zeros((len(shared.numbers), shared.scenarios, shared.has.shape[1])), 0.0, [], 0.0, 0)
    with ThreadPoolExecutor(threads) as pool:
        pricing = _Pricing(shared, models, enough, known, pool)
        return pricing.run(start, late)


class _Pricing:
    def __init__(
        self, shared: Shared, models: Sequence[CropModel], enough: float, known: float, pool: ThreadPoolExecutor
    ) -> None:
        self.shared, self.models, self.enough, self.known, self.pool = shared, models, enough, known, pool
        self.finite = np.isfinite(shared.has)[:, None, :]
        self.has = np.where(self.finite, shared.has[:, None, :], 0.0)
        self.most = (shared.beyond / shared.scenarios)[:, None, None]
        self.bound, self.best = -np.inf, np.zeros((len(shared.numbers), shared.scenarios, shared.has.shape[1]))
        self.takes = [np.zeros(model.count) for model in models]
        self.costs = [-np.inf] * len(models)
        self.cost, self.use, self.rounds = 0.0, np.zeros_like(self.best), 0

    def run(self, start: Floats | None, late: Callable[[], bool]) -> Priced:
        price = self.best if start is None else np.minimum(start, self.most)
        self.late = late
        self._ask(price)
        self._climb(late)
        self._look_closer(late)
        return Priced(self.best, self.bound, self.takes, self.mixed_cost, self.rounds)

    @property
    def mixed_cost(self) -> float:
        return self.cost + float(over_cost(self.shared, self.use))

    def _climb(self, late: Callable[[], bool]) -> None:
        step, idle, gained = STEP, 0, [self.bound]
        while self.rounds < ROUNDS and not late():
            target = min(self.known, self.mixed_cost)
            slow = len(gained) > PATIENCE and gained[-1] - gained[-1 - PATIENCE] < SLOW * self.enough
            if target - self.bound <= self.enough or slow:
                return
            better = self._ask(self._moved(step * (target - self.bound)))
            idle = 0 if better else idle + 1
            gained.append(self.bound)
            if idle >= PATIENCE:
                step, idle = step * SHORTER, 0

    def _moved(self, gain: float) -> Floats:
        """The best prices, moved as far as should gain so much."""
        over = np.where(self.finite, self.use - self.has, 0.0) * self.most
        stuck = ((self.best <= 0) & (over < 0)) | ((self.best >= self.most) & (over > 0))
        length = float((np.where(stuck, 0.0, over) ** 2).sum())
        moved: Floats = np.clip(self.best + gain / max(length, 1e-12) * over * self.most, 0.0, self.most)
        return moved

    def _ask(self, price: Floats) -> bool:
        """Ask every crop; whether the bound they prove is better than any before."""
        often = ASKS if self.rounds < FIRST_ROUNDS else 1
        asked = list(self.pool.map(lambda model: self._one(model, price, often), self.models))
        proven = sum(answer.cost for answer, _ in asked) - self._paid(price)
        better = proven > self.bound
        if better:
            self.bound, self.best, self.costs = proven, price, [answer.cost for answer, _ in asked]
        self._mix([answer.take for answer, _ in asked], proven, price, [use for _, use in asked])
        self.rounds += 1
        return better

    def _one(self, model: CropModel, price: Floats, often: int) -> tuple[Answered, Floats]:
        answer = model.ask(charge_of(self.shared, model, price), 0 if self.late() else often)
        return answer, use_of(self.shared, model, answer.take)

    def _mix(self, takes: list[Floats], proven: float, price: Floats, uses: list[Floats]) -> None:
        """Let the newest answers into the mean."""
        new = NEW if self.rounds else 1.0
        use = np.sum(uses, axis=0)
        # What they cost without charges: what is proven holds the charges, less what the limits are paid for.
        cost = proven - float((price * (use - self.has)).sum())
        self.cost += new * (cost - self.cost)
        self.use += new * (use - self.use)
        self.takes = [old + new * (take - old) for old, take in zip(self.takes, takes, strict=True)]

    def _paid(self, price: Floats) -> float:
        return float((price * self.has).sum())

    # What whole trays can do -----------------------------------------------------------------------------------------

    def _look_closer(self, late: Callable[[], bool]) -> None:
        """At the best prices, branch where parts of trays still promise too much."""
        paid = self._paid(self.best)
        crops = [
            WholeTrays(model, charge_of(self.shared, model, self.best), cost)
            for model, cost in zip(self.models, self.costs, strict=True)
        ]
        raise_together(self.pool, crops, late, enough=self.known - self.enough + paid)
        self.bound = max(self.bound, sum(crop.bound for crop in crops) - paid)
