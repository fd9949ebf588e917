"""Which limits bind, what one more of each would be worth, and which are gone beyond."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import count

import numpy as np

from trayward.dates import day_words
from trayward.plan.days import Floats
from trayward.plan.farm_search import FarmSearch
from trayward.plan.limits import DAYS_OFF, Limits
from trayward.plan.prices import Shared, use_of
from trayward.plan.told import Told
from trayward.plan.types import Limit
from trayward.plan.why import Why
from trayward.plan.words import all_words, amount_words, days_words
from trayward.units import show_money

PRESSED = 0.5
"""A limit gone beyond by less than this, the mean over scenarios, is not told of. [the limit's unit]"""
LEAST_PRICE = 1e-6
"""A limit priced below this does not bind. [farm's currency a unit]"""
HOUR = 60.0
"""Of hands an hour is one more. [min]"""
LOOKS, LEAST_LOOKS = 2, 40
"""So many looks at each crop, the mean over crops, beyond the least, a plan is given for one more of a limit. [-]"""
LEAST_WORTH = 0.01
"""A limit is told of where one more of it for a week is worth this. [farm's currency]"""


def limit_worths(why: Why) -> list[Limit]:
    """
    The limits that bind, week by week: how much there is, and what one more all the while would be worth.

    Prices of the linear model say which limits bind and when. They promise too much, as trays are whole: so the plan is
    made again with one more of the limit, and what it gains by that is shared out over the weeks as the prices are. Of
    a farm so large that its plan was not looked for to the end the prices stand as they are.
    """
    told, shared, found = why.told, why.decision.shared, []
    prices = np.where(why.decision.price > LEAST_PRICE, why.decision.price, 0.0)
    twice = _twice(told.task.limits, shared)
    for place, by_day in twice:  # the same spots or kit, counted twice a day
        prices[place] += prices[by_day]
        prices[by_day] = 0.0
    binding = np.flatnonzero(prices.any(axis=1)).tolist()
    settled = _settled(why) if binding else None
    for place in binding:
        step = HOUR if told.task.limits.units[shared.numbers[place]] == "min" else 1.0
        worth = prices[place] * step
        if settled is not None:
            worth *= _gain(settled, [place, *(day for one, day in twice if one == place)], step) / worth.sum()
        for days in _weeks(told, np.flatnonzero(prices[place]).tolist()):
            if worth[days].sum() >= LEAST_WORTH:
                has = float(shared.has[place, days[0]])
                found.append(_worth(told, shared.numbers[place], has, days, float(worth[days].sum())))
    return found


def _twice(limits: Limits, shared: Shared) -> list[tuple[int, int]]:
    """Places of the limits that are counted twice a day: in the evening, and by day."""
    place = {number: place for place, number in enumerate(shared.numbers)}
    return [(place[one], place[day]) for one, day in limits.by_day.items() if one in place and day in place]


def _settled(why: Why) -> FarmSearch | None:
    """The plan where nothing more is worth changing by itself; None where that is too far to go."""
    search = why.search.under(why.decision.shared)
    return search if _run(search) else None


def _gain(settled: FarmSearch, places: Sequence[int], step: float) -> float:
    """What a plan that is settled gains by so much more of a limit on all days, as far as it is looked for."""
    has = settled.shared.has.copy()
    has[places] += step
    search = settled.under(settled.shared._replace(has=has))
    _run(search)
    return max(0.0, settled.cost() - search.cost())


def _run(search: FarmSearch) -> bool:
    """Change trays until nothing is worth it; False where that takes too many looks."""
    looks = count()
    most = LEAST_LOOKS + LOOKS * len(search.worths)
    search.run(lambda: next(looks) >= most)
    return next(looks) < most


def _weeks(told: Told, days: list[int]) -> list[list[int]]:
    """Days of one calendar week together."""
    weeks: dict[tuple[int, int], list[int]] = {}
    for day in days:
        year, week, _ = told.days.day(day).isocalendar()
        weeks.setdefault((year, week), []).append(day)
    return list(weeks.values())


def _worth(told: Told, number: int, has: float, days: list[int], worth: float) -> Limit:
    name, unit = told.task.limits.names[number], told.task.limits.units[number]
    first, last = told.days.day(days[0]), told.days.day(days[-1])
    more = "an hour more a day" if unit == "min" else "one more"
    money = show_money(worth, told.settings.money.currency)
    words = f"{name}: {all_words(has, unit)} taken {days_words(first, last)}; {more} would bring {money}."
    if name == DAYS_OFF:
        words = f"{name}: no work is done {days_words(first, last)}; an hour a day would bring {money}."
    return Limit(
        limit=name, first=first, last=last, has=round(has, 2), short=0.0, unit=unit, message=words,
        worth=round(worth, 2),
    )  # fmt: skip


def pressed(why: Why) -> list[Limit]:
    """The limits that trays go beyond on the whole: those that stand need it, or it pays to."""
    told, shared = why.told, why.decision.shared
    has, found = shared.has[:, None, :], []
    over = np.maximum(why.search.use - has, 0.0).mean(axis=1)
    stand = np.maximum(_standing_use(why) - has, 0.0).mean(axis=1)
    pressing = told.task.press[list(shared.numbers)]
    for place, by_day in _twice(told.task.limits, shared):  # told of once, as it is when more is needed
        for table in (over, stand, pressing):
            table[place] = np.maximum(table[place], table[by_day])
            table[by_day] = 0.0
    for place, number in enumerate(shared.numbers):
        press = pressing[place]
        needs = over[place] + press
        days = np.flatnonzero(needs > PRESSED).tolist()
        if days:
            name, unit = told.task.limits.names[number], told.task.limits.units[number]
            worst = max(days, key=lambda day: needs[day])
            there, short = float(shared.has[place, worst]), float(needs[worst])
            first, last = told.days.day(days[0]), told.days.day(days[-1])
            words = f"{name}: {amount_words(there, unit)} on {day_words(told.days.day(worst))}"
            words += f", {amount_words(short, unit)} more needed"
            words += " for the trays that stand." if stand[place, worst] + press[worst] > short / 2 else "."
            found.append(Limit(limit=name, first=first, last=last, has=round(there, 2), short=round(short, 2),
                               unit=unit, message=words))  # fmt: skip
    return found


def _standing_use(why: Why) -> Floats:
    """What the trays that stand take up of the limits (limits, scenarios, days)."""
    found = np.zeros_like(why.search.use)
    for worth, take in zip(why.search.worths, why.decision.takes, strict=True):
        found += use_of(why.decision.shared, worth.model, np.where(worth.choices.way < 0, take, 0.0))
    return found
