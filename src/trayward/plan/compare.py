"""Two plans side by side: of the farm as it is, and of the farm as it might be; in money and in service."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from trayward.farm.due import lines_due
from trayward.plan.compare_figures import (
    crops_beside,
    customers_beside,
    limits_beside,
    lines_turned,
    margin_of,
    money_beside,
    service_beside,
    worth_of,
)
from trayward.plan.compare_types import Between, Comparison, Side
from trayward.plan.compare_words import between_words, first_words, lines_words
from trayward.plan.supposed import Supposition

TRIFLE = 1e-4
"""A difference of less than this share of all that is asked for is none to a grower. [-]"""
SEARCHED = 2e-3
"""Searches of the same farm end so far apart where each began from the other's trays: nothing to 0.2 % of all that is
asked for at the Loft, over nine changes. Of plans held against each other, less than this is no difference. [-]"""


def compare(as_it_is: Side, with_it: Side, what: Sequence[Supposition], between: Between | None = None) -> Comparison:
    """
    Hold the plan of a farm as it might be against the plan of the farm as it is.

    Parameters
    ----------
    as_it_is, with_it : Side
        Each farm with its plan, both made at the same moment for the same days.
    what : sequence of Supposition
        What is different between them.
    between : Between, optional
        What lies between them future by future, where they were planned beside each other.

    Returns
    -------
    Comparison
        Planned beside each other, the plans are told apart where the range of their mean difference in worth (margin
        less the price of letting down) does not hold zero. Else only where it is larger than what both searches left
        open, in the plans' own objective and in money alike.
    """
    before, after = as_it_is.plan, with_it.plan
    weeks = ((before.last - before.first).days + 1) / 7
    money, service = money_beside(before, after), service_beside(before, after)
    worth, margin = worth_of(after) - worth_of(before), margin_of(after) - margin_of(before)
    settings = as_it_is.state.settings
    currency = settings.money.currency if settings else ""
    if between is None:
        doubt = _left_open(as_it_is) + _left_open(with_it)
        told = abs(worth) > max(doubt, TRIFLE * _asked(as_it_is)) and abs(after.objective - before.objective) > doubt
        told = told and (worth > 0) == (after.objective > before.objective)
        first = first_words(told, (worth / weeks, margin / weeks, doubt / weeks), currency)
    else:
        worth, margin, doubt = between.mean, between.margin, (between.high - between.low) / 2
        told = between.low * between.high > 0 and abs(worth) > SEARCHED * _asked(as_it_is) and between.agrees
        first = between_words(between, weeks, currency, told=told)
    met, unmet = lines_turned(before, after)
    return Comparison(
        what_if=tuple(one.words() for one in what),
        verdict=f"{first} {lines_words(before, after)}",
        told_apart=told,
        worth_a_week=round(worth / weeks, 2),
        margin_a_week=round(margin / weeks, 2),
        doubt_a_week=round(doubt / weeks, 2),
        currency=currency,
        first=before.first,
        last=before.last,
        money=money,
        service=service,
        customers=customers_beside(before, after),
        crops=crops_beside(before, after),
        limits=limits_beside(before, after),
        newly_met=met,
        no_longer_met=unmet,
        notes=tuple(dict.fromkeys(note for note in (one.note() for one in what) if note)),
        as_it_is=before,
        with_it=after,
        between=between,
    )


def _left_open(side: Side) -> float:
    """How much better than its plan the best plan of a farm may be. [currency]

    The plan states it as a share of its objective, or of all that is asked for where that is more; where it was not
    looked into, nobody knows.
    """
    return inf if side.plan.gap is None else side.plan.gap * max(abs(side.plan.objective), _asked(side))


def _asked(side: Side) -> float:
    """What all lines due would bring. [currency]"""
    return sum(line.value for line in lines_due(side.state, side.plan.first, side.plan.last))
