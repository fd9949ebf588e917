"""Why each sowing is in the plan: whom it is for, when it is likely ready, and what another day or none would cost."""

from __future__ import annotations

import numpy as np

from trayward.dates import day_words
from trayward.plan.plots import Choices
from trayward.plan.told import Told, given_by, serves_of, sowings_of
from trayward.plan.types import Serve
from trayward.plan.uses import LIVE
from trayward.plan.why import Why
from trayward.plan.words import days_words, evening_words, whom_words
from trayward.units import show_money

CENT = 0.005
"""What is worth less than nothing by more than this is better left out. [farm's currency]"""
SPAN = 0.8
"""The days between which a tray is ready are those of so many in ten. [-]"""


def sowing_reasons(why: Why) -> dict[tuple[int, int], str]:
    """(way, day) -> whom a sowing is for, when it is likely ready, and what another day or none would cost."""
    told, found = why.told, {}
    given, others = given_by(told), _otherwise(why)
    for (sow, _, way), (plot, group) in sowings_of(told).items():
        serves: list[Serve] = []
        for choice, _ in group:
            live = bool(plot.choices.how[choice] == LIVE)
            serves += serves_of(told, given.get((plot.crop, choice), {}), live=live)
        main = max(group, key=lambda item: item[1])[0]
        late = sum(trays for choice, trays in group if plot.choices.evening[choice])
        waits = evening_words(late, sum(trays for _, trays in group))
        words = [_for_whom(serves), waits, _ready_words(told, way, sow), others[plot.crop, main]]
        found[way, sow] = " ".join(part for part in words if part)
    return found


def _for_whom(serves: list[Serve]) -> str:
    return f"For {whom_words(serves)}." if serves else ""


def _ready_words(told: Told, way: int, sow: int) -> str:
    ready = told.futures.sown[way].begins[:, sow, -1]
    low, mid, high = (int(np.quantile(ready, share)) for share in ((1 - SPAN) / 2, 0.5, (1 + SPAN) / 2))
    day = told.days.day
    likely = f"Likely ready {day_words(day(mid))}"
    return f"{likely}." if low == high else f"{likely}, 8 in 10 {days_words(day(low), day(high))}."


def _otherwise(why: Why) -> dict[tuple[str, int], str]:
    """(crop, choice) -> what a tray would be worth less a working day before or after, and what it is worth at all."""
    found = {}
    for number, plot in enumerate(why.decision.plots):
        choices, take = plot.choices, why.decision.takes[number]
        moves = [(one, other) for one in np.flatnonzero((take > 0) & (choices.way >= 0)).tolist()
                 for other in (-1, *_beside(choices, one))]  # fmt: skip
        off, on = (np.array([move[side] for move in moves], dtype=np.int64) for side in (0, 1))
        lost: dict[int, list[tuple[int, float]]] = {}
        for (one, other), gain in zip(moves, why.gains(number, off, on).tolist(), strict=True):
            lost.setdefault(one, []).append((other, -gain))
        for one, told in lost.items():
            found[plot.crop, one] = _otherwise_words(choices, one, told, why.told.settings.money.currency)
    return found


def _beside(choices: Choices, choice: int) -> list[int]:
    """The same choice a working day sooner and a working day later, where there are such."""
    alike = (choices.way == choices.way[choice]) & (choices.how == choices.how[choice])
    alike &= (choices.stand == choices.stand[choice]) & (choices.due == choices.due[choice])
    alike &= choices.evening == choices.evening[choice]
    found = []
    for there in (alike & (choices.sow < choices.sow[choice]), alike & (choices.sow > choices.sow[choice])):
        others = np.flatnonzero(there)
        if len(others):
            found.append(int(others[np.argmin(np.abs(choices.sow[others] - choices.sow[choice]))]))
    return found


def _otherwise_words(choices: Choices, choice: int, lost: list[tuple[int, float]], currency: str) -> str:
    worth = next(amount for other, amount in lost if other < 0)
    if worth < -CENT:
        more = show_money(-worth, currency)
        return f"Without a tray of it the plan would be worth {more} more: you may leave one out."
    when: dict[str, list[str]] = {}
    for other, amount in lost:
        if other >= 0:
            sooner = "sooner" if choices.sow[other] < choices.sow[choice] else "later"
            when.setdefault(_less(amount, worth), []).append(sooner)
    said = [f"a day {' or '.join(days)} {less}" for less, days in when.items()]
    words = f"; {' and '.join(said)}" if said else ""
    return f"Without a tray of it the plan would lose {show_money(worth, currency)}{words}."


def _less(amount: float, worth: float) -> str:
    """What a tray would bring on another day; one that would lose more than it is worth at all would be in the way."""
    if amount > worth + 0.005:
        return "it would do more harm than good"
    return "as much" if abs(amount) < 0.005 else f"{amount:.2f} less" if amount > 0 else f"{-amount:.2f} more"
