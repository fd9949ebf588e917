"""Prices on what crops share: spots, kit and hands, scenario by scenario and day by day.

At given prices every crop is a problem of its own, and together their answers prove how good a plan can be at most
(Lagrange). The best mix of the answers so far has prices, too (`mixing`); the crops are asked next half way between
those and the best prices known, for a mix of few answers exaggerates. Going beyond a limit in one scenario costs a part
of what a tray is worth, for there trays wait or are left out; so no price is higher.

References
----------
Wentges, P. (1997). Weighted Dantzig-Wolfe decomposition for linear mixed-integer programming. International
Transactions in Operational Research 4:151-162. doi 10.1016/S0969-6016(97)00001-4. (From memory.)
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from trayward.plan.crop_model import ROUNDS as ASKS
from trayward.plan.crop_model import Answered, CropModel
from trayward.plan.crop_whole import WholeTrays, raise_together
from trayward.plan.days import Floats
from trayward.plan.hands import Hands
from trayward.plan.limits import Limits
from trayward.plan.mix_worths import MixWorths
from trayward.plan.mixing import Column, Mixed, Mixing
from trayward.plan.uses import CUT

ROUNDS = 60
"""So often prices are asked for at most."""
WAY = 0.5
"""So far from the best prices known to those of the mix crops are asked. [-]"""
FIRST_ROUNDS = 2
"""In the first rounds rows are added as often as it helps, later once."""
NEAR = 0.2
"""Prices are good once the mix costs at most this share of what is enough more than is proven. [-]"""
SLOW, PATIENCE = 0.1, 3
"""Or once so many rounds gained less than this share of what is enough. [-]"""
SLOW_FOR_MIXES = 0.5
"""The same where mixes are still to be tied, which gains more. [-]"""
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


def spread(shared: Shared, price: Floats, use: Floats) -> Floats:
    """
    Prices of limits and days (limits, days), laid on the scenarios in which most is taken up (limits, scenarios, days).

    Where one unit more is worth a share of what going beyond costs, in that share of the scenarios it is gone beyond.
    """
    # Where nothing can be sown at all, no tray is worth anything, and going beyond a limit costs nothing.
    beyond = np.where(shared.beyond > 0, shared.beyond, np.inf)[:, None]
    share = np.minimum(price / beyond, 1.0) * shared.scenarios
    rank = np.argsort(np.argsort(-use, axis=1, kind="stable"), axis=1)
    found: Floats = np.clip(share[:, None, :] - rank, 0.0, 1.0) * _most(shared)
    return found


def _most(shared: Shared) -> Floats:
    """The highest price there can be, in one scenario (limits, 1, 1)."""
    most: Floats = (shared.beyond / shared.scenarios)[:, None, None]
    return most


class Priced(NamedTuple):
    """The best prices found, what they prove, and the best mix of the crops' answers."""

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
    plan: Sequence[Answered] = (),
    known: Callable[[], float] = lambda: np.inf,
    late: Callable[[], bool] = lambda: False,
    threads: Callable[[], int] = lambda: 1,
) -> Priced:
    """
    Ask the crops at better and better prices, then look closer at each for what whole trays can do.

    Parameters
    ----------
    enough : float
        Stop once no plan can be better by more than this than one that is known. [currency]
    start : array, optional
        Prices to begin with (limits, scenarios, days); none: no limit costs anything.
    plan : sequence of Answered, optional
        Trays of each crop that go together, and what they cost without the limits: good prices are found sooner.
    known : callable
        What the cheapest plan costs that is known by now. [currency]
    late : callable
        Whether time is up; the best so far is given then, and is proven all the same.
    threads : callable
        So many crops are asked at a time just now.
    """
    if not models:
        return Priced(np.zeros((len(shared.numbers), shared.scenarios, shared.has.shape[1])), 0.0, [], 0.0, 0)
    with Hands(threads) as hands:
        pricing = _Pricing(shared, models, enough, known, hands)
        return pricing.run(start, plan, late)


class _Pricing:
    def __init__(
        self,
        shared: Shared,
        models: Sequence[CropModel],
        enough: float,
        known: Callable[[], float],
        hands: Hands,
    ) -> None:
        self.shared, self.models, self.enough, self.known, self.hands = shared, models, enough, known, hands
        self.has = np.where(np.isfinite(shared.has), shared.has, 0.0)[:, None, :]
        self.mixing = Mixing(shared.has, _most(shared).ravel(), len(models), shared.scenarios)
        self.bound, self.best = -np.inf, np.zeros((len(shared.numbers), shared.scenarios, shared.has.shape[1]))
        self.costs = [-np.inf] * len(models)
        self.rounds, self.mixes = 0, any((model.cut.mix >= 0).any() for model in models)

    def run(self, start: Floats | None, plan: Sequence[Answered], late: Callable[[], bool]) -> Priced:
        self.late = late
        price = self.best if start is None else np.minimum(start, _most(self.shared))
        if plan:
            self.mixing.add([self._column(number, answer) for number, answer in enumerate(plan)])
        self._ask(np.where(np.isfinite(self.shared.has)[:, None, :], price, 0.0))
        mixed = self._climb(late)
        if self.mixes and not (late() or self._enough()):
            self._share_mixes(late)
        self._look_closer(late)
        return Priced(self.best, self.bound, mixed.takes, mixed.cost, self.rounds)

    def _climb(self, late: Callable[[], bool]) -> Mixed:
        gained, mixed = [self.bound], self.mixing.best()
        little = (SLOW_FOR_MIXES if self.mixes else SLOW) * self.enough
        while self.rounds < ROUNDS and not late():
            slow = len(gained) > PATIENCE and gained[-1] - gained[-1 - PATIENCE] < little
            if slow or mixed.cost - self.bound <= NEAR * self.enough or self._enough():
                break
            self._ask(self.best + WAY * (mixed.price - self.best))
            gained.append(self.bound)
            mixed = self.mixing.best()
        return mixed

    def _enough(self) -> bool:
        return self.known() - self.bound <= self.enough

    def _ask(self, price: Floats) -> None:
        """Ask every crop; the prices are kept if they prove more than any before."""
        often = ASKS if self.rounds < FIRST_ROUNDS else 1
        asked = self.hands.each(lambda number: self._one(number, price, often), range(len(self.models)))
        proven = sum(cost for cost, _ in asked) - self._paid(price)
        if proven > self.bound:
            self.bound, self.best, self.costs = proven, price, [cost for cost, _ in asked]
        self.mixing.add([column for _, column in asked])
        self.rounds += 1

    def _one(self, number: int, price: Floats, often: int) -> tuple[float, Column]:
        """What a crop costs at these prices, and its answer without them."""
        charge = charge_of(self.shared, self.models[number], price)
        answer = self.models[number].ask(charge, 0 if self.late() else often)
        return answer.cost, self._column(number, answer._replace(cost=answer.cost - float(charge @ answer.take)))

    def _column(self, number: int, answer: Answered) -> Column:
        return Column(number, answer.take, answer.cost, use_of(self.shared, self.models[number], answer.take))

    def _paid(self, price: Floats) -> float:
        return float((price * self.has).sum())

    def _share_mixes(self, late: Callable[[], bool]) -> None:
        """Share the worth of mixes out anew at the best prices; what that proves holds of all that comes after."""
        mixes = MixWorths(self.models)
        mixes.share_out([charge_of(self.shared, model, self.best) for model in mixes.models], late)
        asked = self.hands.each(lambda number: self._one(number, self.best, 1)[0], range(len(self.models)))
        proven = sum(asked) - self._paid(self.best)
        self.costs, self.bound = asked, max(self.bound, proven)

    # What whole trays can do -----------------------------------------------------------------------------------------

    def _look_closer(self, late: Callable[[], bool]) -> None:
        """At the best prices, branch where parts of trays still promise too much."""
        paid = self._paid(self.best)
        crops = [
            WholeTrays(model, charge_of(self.shared, model, self.best), cost)
            for model, cost in zip(self.models, self.costs, strict=True)
        ]
        raise_together(self.hands, crops, late, enough=lambda: self.known() - self.enough + paid)
        self.bound = max(self.bound, sum(crop.bound for crop in crops) - paid)
