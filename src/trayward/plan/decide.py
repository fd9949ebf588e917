"""Decide under doubt: whole trays by day and recipe that are worth most over many scenarios, and how near to the best.

The crops are weighed together in a linear model of a few scenarios, then whole trays are changed one by one over all
of them; prices on the limits they share prove how much better any plan could be. What is promised of the plan (chances,
expected grams and money) is read off other scenarios than those it was chosen by.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import nullcontext
from time import monotonic
from typing import NamedTuple

import msgspec
import numpy as np

from trayward.plan.build import Task
from trayward.plan.crop_model import Asked, CropModel, asked_of
from trayward.plan.crop_search import CropWorth, Moves, rounded, within_seed
from trayward.plan.days import Floats
from trayward.plan.demand import OpenLine, Want
from trayward.plan.farm_search import BETTER, FIRMER, FarmSearch
from trayward.plan.joint import begin, few_scenarios
from trayward.plan.plots import Plot, with_scenarios
from trayward.plan.prices import Shared, shared_limits, unsure, use_of_all
from trayward.plan.proof import Proof
from trayward.plan.serving import Claim, Served, serve

FEW = 6
"""Scenarios of each crop in the linear model the search begins from. [-]"""
GAP = 0.005
"""The proof stops once no plan can be better by more than this share of all sales asked for. [-]"""


FIRM_BY = 0.6
"""Limits are firm after this share of the search's time at the latest, so that the plan of a large farm keeps them too;
each step before has an equal part of it. [-]"""
CALM_SECONDS = 5.0
"""So long at least, out of time or not, trays that the plan before had for the first days may go where that is worth
its price: left as they are they may stand where there is no kit or room for them any more. [s]"""
HELD = 1e9
"""A price at which the first days stay as they were planned. [currency]"""


class Effort(msgspec.Struct, frozen=True, kw_only=True):
    """How hard to try."""

    scenarios: int = 32
    """Scenarios the plan is chosen by."""
    checked: int = 96
    """More scenarios, that what is promised is read off."""
    search_seconds: float = 20.0
    """A safety net for the search; it ends by itself. [s]"""
    proof_seconds: float = 4.0
    """How long to look for a better proof, beside the search and the reasons; 0: none is looked for. [s]"""
    seed: int = 1
    reasons: bool = True
    """Whether to work out reasons: why each sowing and line is as it is, and what would change it."""
    calm: bool = True
    """Whether today's and tomorrow's sowings of the plan kept before stay unless a change brings more than `calm`."""


class Sticking(NamedTuple):
    """What is kept of the plan before: trays of a way on a day, and what each tray more or less costs."""

    kept: dict[tuple[int, int], float]
    """(way, day) -> trays."""
    days: int
    """How many days from the first it holds for. [d]"""
    price: float
    """[currency]"""


class Decision(NamedTuple):
    """What was decided, with all that is needed to say why."""

    plots: list[Plot]
    """With the scenarios it was chosen by."""
    checked: list[Plot]
    """The same choices with other scenarios."""
    search: FarmSearch
    """The crops with their trays, to be weighed again."""
    shared: Shared
    takes: list[Floats]
    price: Floats
    """What one more of each limit is worth (limits, days). [currency]"""
    cost: float
    proof: Proof | None
    """Looked for while all else is worked out; None where none is."""
    claims: list[Claim]
    served: Served
    """In the scenarios it was checked by."""
    amounts: Floats
    """How much of each want there is in each scenario (s, wants)."""

    def bound(self) -> float:
        """No plan costs less [currency]; waits for the proof. Minus infinity where none was looked for."""
        return -np.inf if self.proof is None else self.proof.of(self.cost)


def decide(
    task: Task,
    whole: Sequence[Plot],
    lines: Sequence[OpenLine],
    amounts: Floats,
    effort: Effort,
    sticking: Sticking | None = None,
    starts: Sequence[Floats] | None = None,
) -> Decision:
    """
    Choose whole trays.

    Parameters
    ----------
    whole : sequence of Plot
        The crops in all scenarios: those to choose by first, then those to check by; where there are no more, they
        serve for both.
    amounts : array
        How much of each want there is in each scenario (s, wants).
    sticking : Sticking, optional
        What is kept of the plan before, unless a change is worth more than its price.
    starts : sequence of array, optional
        Trays of each plot's choices that the search begins from once more; what comes out cheaper is taken.
    """
    scenarios = len(amounts)
    chosen = min(effort.scenarios, scenarios)
    plots = [with_scenarios(plot, slice(0, chosen)) for plot in whole]
    rest = slice(chosen if scenarios > chosen else 0, scenarios)
    asked = [asked_of(plot, task.wants, task.prices, amounts[:chosen]) for plot in plots]
    few = [
        CropModel(plot, one, task.disposal, few_scenarios(plot, FEW)) for plot, one in zip(plots, asked, strict=True)
    ]
    shared = shared_limits(task.limits, few, chosen)
    begun = begin(shared, few, told=effort.reasons or effort.proof_seconds > 0)
    starting = _starts(few, begun.parts, sticking)
    shared = unsure(shared, use_of_all(shared, few, starting))
    search = FarmSearch(shared, [CropWorth(model) for model in few], starting)
    proof = _proof(search, plots, asked, task, begun.price, effort)
    with proof or nullcontext():
        search = _settled(search, effort, sticking, starts)
    if proof is not None:
        proof.found(search.cost())
    checked = [with_scenarios(plot, rest) for plot in whole]
    claims = claims_of(task.wants, task.prices, lines, amounts[rest])
    served = serve(checked, search.takes, claims)
    return Decision(plots, checked, search, shared, search.takes, begun.price, search.cost(), proof,
                    claims, served, amounts)  # fmt: skip


def _settled(
    search: FarmSearch, effort: Effort, sticking: Sticking | None, starts: Sequence[Floats] | None
) -> FarmSearch:
    """The search at its end, or the one from other trays that came out cheaper."""
    models = [worth.model for worth in search.worths]
    late, firmer = _until(effort.search_seconds), firmer_by(effort.search_seconds)
    if sticking is not None:  # all else first, then what is better by more than its price
        search.settle(late, _sticky(models, search, sticking._replace(price=HELD)), firmer_by=firmer)
        search.run(_late_again(late), _sticky(models, search, sticking))
    else:
        search.settle(late, firmer_by=firmer)
    return search if starts is None else _or_from(search, starts, late, sticking)


def decide_again(
    decision: Decision, starts: Sequence[Floats], effort: Effort, sticking: Sticking | None = None
) -> Decision:
    """The same decision, or a cheaper one that the search comes to from other trays than those it began from."""
    search = _or_from(decision.search, starts, _until(effort.search_seconds), sticking)
    return decision if search is decision.search else _decided(decision, search)


def decision_with(decision: Decision, takes: Sequence[Floats]) -> Decision:
    """The same decision, had it come to other trays; as many of them as there is seed for."""
    worths = decision.search.worths
    takes = [within_seed(worth.model, take.copy()) for worth, take in zip(worths, takes, strict=True)]
    return _decided(decision, FarmSearch(decision.shared, worths, takes))


def _decided(decision: Decision, search: FarmSearch) -> Decision:
    served = serve(decision.checked, search.takes, decision.claims)
    return decision._replace(search=search, takes=search.takes, cost=search.cost(), served=served)


def _or_from(
    search: FarmSearch, starts: Sequence[Floats], late: Callable[[], bool], sticking: Sticking | None
) -> FarmSearch:
    """A search, or another from given trays where that comes out cheaper, moving away from the plan before counted."""
    models = [worth.model for worth in search.worths]
    takes = [within_seed(model, take.copy()) for model, take in zip(models, starts, strict=True)]
    other = FarmSearch(search.shared, search.worths, takes)
    other.run(late, _sticky(models, other, sticking))
    costs = [one.cost() + _away(models, one, sticking) for one in (search, other)]
    return other if costs[1] < costs[0] - BETTER else search


def _until(seconds: float) -> Callable[[], bool]:
    end = monotonic() + seconds
    return lambda: monotonic() > end


def _late_again(late: Callable[[], bool]) -> Callable[[], bool]:
    """Late, but with some time from now on whatever was before."""
    again = _until(CALM_SECONDS)
    return lambda: again() and late()


def firmer_by(seconds: float) -> Callable[[int], bool]:
    """Whether it is time, of so many seconds from now on, for a search to go on from a step to firmer limits."""
    each = FIRM_BY * seconds / len(FIRMER)
    ends = [_until(each * (1 + step)) for step in range(len(FIRMER))]
    return lambda step: ends[step]()


def claims_of(wants: Sequence[Want], prices: Floats, lines: Sequence[OpenLine], amounts: Floats) -> list[Claim]:
    """Order lines, and spot orders that may come (amounts (s, wants)), as they are served."""
    found = []
    for number, want in enumerate(wants):
        worth = want.worth + float(prices[number])
        if not want.lines:
            gain = want.worth + want.regret
            found.append(Claim(-1, number, want.day, want.live, want.parts, amounts[:, number], worth, gain))
        for line in want.lines:
            open_ = float(lines[line].trays) if want.live else lines[line].grams
            wide = np.full(len(amounts), open_)
            gain = lines[line].gain
            found.append(Claim(line, number, want.day, want.live, want.parts, wide, worth, gain))
    return found


# Where the search begins ----------------------------------------------------------------------------------------------


def _starts(models: Sequence[CropModel], parts: Sequence[Floats], sticking: Sticking | None) -> list[Floats]:
    takes = [rounded(model, part) for model, part in zip(models, parts, strict=True)]
    if sticking is not None:
        takes = [within_seed(m, _kept(m, take, sticking)) for m, take in zip(models, takes, strict=True)]
    return takes


def _kept(model: CropModel, take: Floats, sticking: Sticking) -> Floats:
    """The trays of the first days as they were planned before."""
    choices, found = model.plot.choices, take.copy()
    soon = np.flatnonzero((choices.way >= 0) & (choices.sow < sticking.days))
    for way, day in {(int(choices.way[one]), int(choices.sow[one])) for one in soon}:
        own = soon[(choices.way[soon] == way) & (choices.sow[soon] == day)]
        wanted = sticking.kept.get((way, day), 0.0)
        while found[own].sum() > wanted:
            found[own[np.argmax(found[own])]] -= 1
        while found[own].sum() < wanted:
            found[own[np.argmax(found[own])]] += 1
    return found


def _sticky(
    models: Sequence[CropModel], search: FarmSearch, sticking: Sticking | None
) -> Callable[[int, Moves], Floats] | None:
    """What a change costs that moves the first days away from the plan before; one that moves back is spared it."""
    if sticking is None or sticking.price <= 0:
        return None

    def cost(number: int, moves: Moves) -> Floats:
        choices, take = models[number].plot.choices, search.takes[number]
        soon = np.append((choices.way >= 0) & (choices.sow < sticking.days), False)
        away: Floats = np.zeros(len(moves.on))
        for which, sign in ((moves.off, -1.0), (moves.on, 1.0)):
            for one in np.flatnonzero(soon[which]):
                choice = int(which[one])
                way, day = int(choices.way[choice]), int(choices.sow[choice])
                other = int((moves.on if sign < 0 else moves.off)[one])
                if other >= 0 and (int(choices.way[other]), int(choices.sow[other])) == (way, day):
                    continue
                now = float(take[(choices.way == way) & (choices.sow == day)].sum())
                kept = sticking.kept.get((way, day), 0.0)
                away[one] += abs(now + sign - kept) - abs(now - kept)
        return away * sticking.price

    return cost


def _away(models: Sequence[CropModel], search: FarmSearch, sticking: Sticking | None) -> float:
    """What it costs that the first days are not as they were planned before. [currency]"""
    if sticking is None:
        return 0.0
    now: dict[tuple[int, int], float] = {}
    for model, take in zip(models, search.takes, strict=True):
        choices = model.plot.choices
        for one in np.flatnonzero((take > 0) & (choices.way >= 0) & (choices.sow < sticking.days)).tolist():
            key = int(choices.way[one]), int(choices.sow[one])
            now[key] = now.get(key, 0.0) + float(take[one])
    keys = now.keys() | sticking.kept.keys()
    return sticking.price * sum(abs(now.get(key, 0.0) - sticking.kept.get(key, 0.0)) for key in keys)


# The proof ------------------------------------------------------------------------------------------------------------


def _proof(
    search: FarmSearch, plots: Sequence[Plot], asked: Sequence[Asked], task: Task, price: Floats, effort: Effort
) -> Proof | None:
    """A proof to be looked for while the search goes on, if one is asked for."""
    if effort.proof_seconds <= 0 or not plots:
        return None
    enough = GAP * sum(want.worth * want.amount for want in task.wants)
    return Proof(search, plots, asked, task.disposal, price, enough, _until(effort.proof_seconds))
