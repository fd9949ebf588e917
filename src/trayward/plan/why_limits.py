"""Which limits bind, what one more of each would be worth, and which are gone beyond."""

from __future__ import annotations

import numpy as np

from trayward.plan.days import Floats
from trayward.plan.prices import use_of
from trayward.plan.told import Told
from trayward.plan.types import Limit
from trayward.plan.why import Why
from trayward.plan.words import amount_words, day_words, days_words

PRESSED = 0.5
"""A limit gone beyond by less than this, the mean over scenarios, is not told of. [the limit's unit]"""
LEAST_WORTH = 0.01
"""A limit is told of where one more of it for a week is worth this. [farm's currency]"""


def limit_worths(why: Why) -> list[Limit]:
    """The limits that bind, week by week: how much there is, and what one more all week would be worth."""
    told, shared, found = why.told, why.decision.shared, []
    for place, number in enumerate(shared.numbers):
        weeks: dict[tuple[int, int], list[int]] = {}
        for day in np.flatnonzero(why.decision.price[place] > 1e-6).tolist():
            year, week, _ = told.days.day(day).isocalendar()
            weeks.setdefault((year, week), []).append(day)
        for days in weeks.values():
            worth = float(why.decision.price[place, days].sum())
            if worth >= LEAST_WORTH:
                found.append(_worth(told, number, float(shared.has[place, days[0]]), days, worth))
    return found


def _worth(told: Told, number: int, has: float, days: list[int], worth: float) -> Limit:
    name, unit = told.task.limits.names[number], told.task.limits.units[number]
    first, last = told.days.day(days[0]), told.days.day(days[-1])
    more = "a minute more on each day" if unit == "min" else "one more"
    words = f"{name}: all {amount_words(has, unit)} taken {days_words(first, last)}; {more} would bring {worth:.2f}."
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
    for place, number in enumerate(shared.numbers):
        press = told.task.press[number]
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
