"""What a plan says of its limits, gathered for a terminal: a sentence or two for each, however often it is told of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from trayward.dates import day_words
from trayward.plan.limit_words import late_words, too_late
from trayward.plan.types import Limit, Plan
from trayward.plan.words import FEW, all_words, days_words
from trayward.units import show_money
from trayward.words import counted, listed

TAKEN = " taken "
"""Stands in the message of a limit of which there is no more to be had on its days."""
IF_SLOW = "if trays are slow"
"""Stands there where it is so only in some of the ways the weeks may go."""
WANTED = " Wanted for "
"""Begins whom a limit is in the way of."""


def gathered(plan: Plan, limits: Sequence[Limit], currency: str = "") -> tuple[str, ...]:
    """
    A sentence or two for each of some limits of a plan, however many spans of days it is told of; the soonest first.

    Each span by itself stands in the messages of the limits.
    """
    named: dict[str, list[Limit]] = {}
    for limit in sorted(limits, key=lambda one: one.first):
        named.setdefault(limit.limit, []).append(limit)
    return tuple(words for group in named.values() for words in _gathered(plan, group, currency))


def _gathered(plan: Plan, group: Sequence[Limit], currency: str) -> list[str]:
    """What is said of one limit: where all of it is taken as one, the rest each kind once."""
    taken = [limit for limit in group if TAKEN in _said(limit)]
    alike: dict[str, list[Limit]] = {}
    for limit in group if len(taken) < 2 else [limit for limit in group if limit not in taken]:
        alike.setdefault(_kind(limit), []).append(limit)
    found = [_taken_words(plan, taken, currency)] if len(taken) > 1 else []
    return found + [_first_words(plan, limits) for limits in alike.values()]


def _kind(limit: Limit) -> str:
    """What messages have in common that differ in days and amounts alone."""
    return limit.message if TAKEN in _said(limit) else _said(limit).partition(":")[0]


def _first_words(plan: Plan, group: Sequence[Limit]) -> str:
    """The soonest of messages of one kind, on how many days more it is so, and whom it is in the way of."""
    if len(group) == 1:
        return group[0].message or group[0].limit
    crop, lines = too_late(group[0]), {line.line: line for line in plan.lines}
    wanted = [lines[name] for name in dict.fromkeys(name for limit in group for name in limit.lines) if name in lines]
    if crop and wanted:
        return late_words(crop, wanted)
    days = {limit.first for limit in group}
    more = f" So, too, on {counted(len(days) - 1, 'day')} more until {day_words(max(days))}." if len(days) > 1 else ""
    return f"{_said(group[0])}{more}{_whom(plan, group)}"


def _taken_words(plan: Plan, group: Sequence[Limit], currency: str) -> str:
    """On how many days all of a limit is taken, what one more of it would bring, and whom it is in the way of."""
    days, sure = _days_of(group), _days_of([limit for limit in group if IF_SLOW not in _said(limit)])
    has = {(limit.has, limit.unit) for limit in group}
    full = all_words(*next(iter(has))) if len(has) == 1 else "all"
    slow = len(days - sure)
    only = f", {f'{slow} of them' if sure else 'all of them'} only {IF_SLOW}" if slow else ""
    all_days = counted((plan.last - plan.first).days + 1, "day")
    first, last = min(days), max(days)
    span = days_words(first, last).removeprefix("on ")
    if len(days) <= (last - first).days:
        span = f"between {day_words(first)} and {day_words(last)}"
    when = f"on {len(days)} of {all_days}, {span}"
    return f"{group[0].limit}: {full}{TAKEN}{when}{only}.{_brings(group, currency)}{_whom(plan, group)}"


def _days_of(group: Iterable[Limit]) -> set[date]:
    return {limit.first + timedelta(days=day) for limit in group for day in range((limit.last - limit.first).days + 1)}


def _brings(group: Sequence[Limit], currency: str) -> str:
    """What one more of a limit would bring in all, and when most of it."""
    worth = [limit for limit in group if limit.worth > 0]
    if not worth:
        return ""
    more = "An hour more a day" if worth[0].unit == "min" else "One more"
    words = f" {more} would bring {show_money(sum(limit.worth for limit in worth), currency)}"
    most = max(worth, key=lambda limit: limit.worth)
    return f"{words}, most {days_words(most.first, most.last)}." if len(worth) > 1 else f"{words}."


def _whom(plan: Plan, group: Iterable[Limit]) -> str:
    """The customers with lines that a limit is in the way of, who has most of them first."""
    lines = {line.line: line for line in plan.lines}
    names = dict.fromkeys(name for limit in group for name in limit.lines if name in lines)
    many = Counter(lines[name].customer for name in names)
    told = [f"{customer} ({number})" for customer, number in many.most_common()]
    return f" In the way of {counted(len(names), 'order line')}: {listed(told, most=FEW)}." if told else ""


def _said(limit: Limit) -> str:
    """What is said of a limit, without whom it is wanted for."""
    return limit.message.partition(WANTED)[0]
