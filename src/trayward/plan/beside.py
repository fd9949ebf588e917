"""Two farms planned for the same futures, so that what lies between their plans is the change and not the luck.

Both are weighed over the same scenarios (common random numbers): what both sow, and what stands on both, does the same
in the same scenario. Each search begins from the other's trays too, until neither plan gains by it, and each farm takes
over the other's plan where that serves it better; so neither is behind only because its search took a worse turn.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from math import sqrt
from typing import NamedTuple

import numpy as np

from trayward.farm.state import FarmState
from trayward.outlook.ahead import Outlook
from trayward.plan.compare_types import CENT, Between
from trayward.plan.days import Floats
from trayward.plan.decide import Effort
from trayward.plan.demand import open_lines
from trayward.plan.farm_search import BETTER
from trayward.plan.futures import Biology, Chance
from trayward.plan.make import plan_days
from trayward.plan.start import start_of
from trayward.plan.told import Told
from trayward.plan.told_money import earned
from trayward.plan.types import Plan
from trayward.plan.under_doubt import plan_of, weighed, weighed_again, weighed_with

TURNS = 4
"""So often at most each search begins from the other's trays. [-]"""
SURE = 0.95
"""How sure the range of the mean difference is. [-]"""


class Pair(NamedTuple):
    """Two plans and what lies between them."""

    as_it_is: Plan
    with_it: Plan
    between: Between


class Weighed(NamedTuple):
    """Both decisions, before they are put into words."""

    as_it_is: Told
    with_it: Told
    notes: tuple[str, str]


def plan_beside(
    state: FarmState,
    outlook: Outlook,
    other: FarmState,
    ahead: Outlook,
    at: datetime,
    *,
    weeks: int,
    effort: Effort,
    biology: Biology | None = None,
) -> Pair:
    """
    Plan a farm as it is and as it might be, for the same futures.

    Parameters
    ----------
    state, outlook : FarmState, Outlook
        The farm as it is, and what is likely on it.
    other, ahead : FarmState, Outlook
        The farm as it might be, with no tray that does not stand on the first; and what is likely there.
    at : datetime
        Now.
    weeks : int
        How far to plan. [weeks] Valid 3 to 8.
    biology : Biology, optional
        Somebody who knows how trays will grow, asked instead of the outlook; then there is one future.

    Returns
    -------
    Pair
        The plan of the farm as it is may be better than that planned alone: what the other's search came upon serves
        it too.

    Raises
    ------
    InputError
        If `weeks` lies outside its range.
    PlanError
        If the farm has no settings yet.

    References
    ----------
    Law, A. M. (2015). Simulation modeling and analysis, 5th ed., chapter 10 on the paired-t interval and section 11.2
    on common random numbers. (From memory.)
    """
    made = weigh_beside(state, outlook, other, ahead, at, weeks=weeks, effort=effort, biology=biology)
    return Pair(
        plan_of(state, at, made.as_it_is, made.notes[0], effort),
        plan_of(other, at, made.with_it, made.notes[1], effort),
        between(made.as_it_is, made.with_it),
    )


def weigh_beside(
    state: FarmState,
    outlook: Outlook,
    other: FarmState,
    ahead: Outlook,
    at: datetime,
    *,
    weeks: int,
    effort: Effort,
    biology: Biology | None = None,
) -> Weighed:
    """Both decisions; see `plan_beside`."""
    (_, days), (_, others) = plan_days(state, at, weeks), plan_days(other, at, weeks)
    before, note = weighed(state, outlook, at, days, open_lines(state, days), effort, biology)
    luck = Chance(state, outlook, tuple(way.recipe for way in before.ways.ways))
    after, other_note = weighed(
        other, ahead, at, others, open_lines(other, others), effort, biology,
        start=start_of(before), shared=luck, beside=before.task,
    )  # fmt: skip
    for _ in range(TURNS):
        better = weighed_again(state, before, start_of(after), effort)
        if better is before:
            break
        before = better
        after = weighed_again(other, after, start_of(before), effort)
    before = _better(before, after)
    return Weighed(before, _better(after, before), (note, other_note))


def _better(told: Told, other: Told) -> Told:
    """What was decided, or the other's trays where they do better over all scenarios, those of the check included.

    A search knows only those it chose by, and may have taken their luck for merit.
    """
    taken = weighed_with(told, start_of(other))
    limits = [one.decision.search.taken.cost() for one in (told, taken)]
    own, others = earned(told).own, earned(taken).own
    chosen, checked = told.decision.shared.scenarios, len(own)
    gain = chosen * (told.decision.cost - taken.decision.cost)
    gain += checked * (float((others - own).mean()) + limits[0] - limits[1])
    return taken if gain > BETTER * (chosen + checked) else told


def between(as_it_is: Told, with_it: Told) -> Between:
    """What the second decision is worth more than the first, future by future."""
    before, after = earned(as_it_is), earned(with_it)
    more: Floats = after.worth - before.worth
    own: Floats = after.own - before.own
    mean, half, own_mean, own_half = float(more.mean()), _half(more), float(own.mean()), _half(own)
    tenth, ninetieth = np.quantile(more, (0.1, 0.9))
    return Between(
        count=len(more),
        mean=mean,
        low=mean - half,
        high=mean + half,
        tenth=float(tenth),
        ninetieth=float(ninetieth),
        better=float((more > CENT).mean()),
        worse=float((more < -CENT).mean()),
        margin=float(after.margin.mean() - before.margin.mean()),
        own=own_mean,
        own_low=own_mean - own_half,
        own_high=own_mean + own_half,
    )


def _half(more: Sequence[float] | Floats) -> float:
    """Half the width of the range of a mean, by Student's t. [currency]"""
    count = len(more)
    if count < 2:
        return 0.0
    from scipy.special import stdtrit

    return float(stdtrit(count - 1, (1 + SURE) / 2)) * float(np.std(more, ddof=1)) / sqrt(count)
