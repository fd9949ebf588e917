"""What the trays that stand need beyond the limits: they stand, even where hands, spots or kit do not suffice for them.

They are first planned alone, to need as little beyond the limits as there is any way to. That much the limits give way,
to them only; nothing new is sown into what they overdraw.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import groupby
from typing import NamedTuple

import numpy as np

from trayward.dates import day_words
from trayward.errors import PlanError
from trayward.plan.allocate import Allocation
from trayward.plan.build import STRAIN, Task
from trayward.plan.days import Floats, Ints
from trayward.plan.model import Model, RowName
from trayward.plan.options import Board
from trayward.plan.solve import solve
from trayward.plan.types import Limit
from trayward.plan.uses import LIVE
from trayward.plan.words import FEW, amount_words, days_words
from trayward.words import listed

DUST = 1e-6
"""Less than this of a limit is the arithmetic's own. [-]"""
SECONDS = 20.0
"""Safety net for the search; what it has found by then is still a way out for every tray. [s]"""


class _Used(NamedTuple):
    """One entry a use: which place (limit x days + day), which option, how much."""

    place: Ints
    option: Ints
    amount: Floats


def standing_press(task: Task, board: Board) -> Floats:
    """
    How far the standing trays have to overdraw each limit on each day, in the way out that overdraws least.

    Returns
    -------
    array of limits x days
        0 where they fit. [the limit's unit]
    """
    own = np.flatnonzero(board.options.standing >= 0)
    if not len(own):
        return np.zeros(task.limits.has.shape)
    used, has = _used(task, board), task.limits.has.ravel()
    model = Model()
    take = np.full(len(board.options.standing), -1, dtype=np.int64)
    take[own] = model.add_columns(np.zeros(len(own)), 0.0, board.options.upper[own], whole=True)
    _leave_rows(task, board, model, take)
    places, row = np.unique(used.place, return_inverse=True)
    names = [RowName("limit", task.limits.names[place // task.days.count], 0) for place in places]
    rows = model.add_rows(np.full(len(places), -np.inf), has[places], names)
    model.add_entries(rows[row], take[used.option], used.amount)
    price = np.array([STRAIN.limit(int(place // task.days.count)) for place in places])
    model.add_entries(rows, model.add_columns(price, 0.0, np.inf), -1.0)
    answer = solve(model, gap=0.0, seconds=SECONDS)
    if answer.status not in ("optimal", "stopped"):
        raise PlanError(f"No way out was found for the trays that stand ({answer.status}); please report this.")
    trays = np.zeros(len(take))
    trays[own] = np.rint(answer.values[take[own]])
    return _beyond(task, used, trays)


def _used(task: Task, board: Board) -> _Used:
    """What the options of standing trays take up of limits that are not endless."""
    limit, day, option, amount = board.uses.by_day(task.days.count)
    place = limit * task.days.count + day
    kept = (board.options.standing[option] >= 0) & np.isfinite(task.limits.has.ravel()[place]) & (amount > 0)
    return _Used(place[kept], option[kept], amount[kept])


def _leave_rows(task: Task, board: Board, model: Model, take: Ints) -> None:
    """Every tray leaves in one way; live, no more than are wanted of its crop on the day."""
    options = board.options
    for number, group in enumerate(task.standing):
        size = np.array([float(len(group.trays))])
        row = model.add_rows(size, size, [RowName("standing", group.recipe.name, number)])
        model.add_entries(row[0], take[options.standing == number], 1.0)
    for number, crop in enumerate(board.crops):
        for due, wanted in task.demand[crop].live.items():
            leaving = (options.how == LIVE) & (options.crop == number) & (options.first_due == due)
            row = model.add_rows(np.array([-np.inf]), np.array([wanted]), [RowName("live", crop, due)])
            model.add_entries(row[0], take[leaving & (options.standing >= 0)], 1.0)


def _beyond(task: Task, used: _Used, trays: Floats) -> Floats:
    """By how much these trays overdraw each limit each day."""
    has = task.limits.has
    need = np.bincount(used.place, weights=used.amount * trays[used.option], minlength=has.size).reshape(has.shape)
    over = np.maximum(need - has, 0.0)
    return np.where(over > DUST, over, 0.0)


# In words -------------------------------------------------------------------------------------------------------------


def pressed_limits(task: Task, board: Board, given: Allocation) -> tuple[Limit, ...]:
    """The limits that the standing trays overdraw in a plan, one for each week, with the worst day's amounts."""
    over = _beyond(task, _used(task, board), given.trays.astype(float))
    found = []
    for limit in np.flatnonzero(over.any(axis=1)).tolist():
        pressed = np.flatnonzero(over[limit]).tolist()
        for _, week in groupby(pressed, key=lambda day: task.days.day(day).isocalendar()[:2]):
            found.append(_limit(task, limit, list(week), over[limit]))
    return tuple(found)


def _limit(task: Task, limit: int, week: list[int], over: Floats) -> Limit:
    worst = max(week, key=lambda day: (over[day], -day))
    name, unit = task.limits.names[limit], task.limits.units[limit]
    has, short = float(task.limits.has[limit, worst]), float(over[worst])
    alike = all(abs(over[day] - short) < DUST and task.limits.has[limit, day] == has for day in week)
    dates = [task.days.day(day) for day in week]
    there, more = amount_words(has, unit), f"{amount_words(short, unit)} more needed"
    said = f"{name}: {there} {_when(dates)}, {more} for the trays that stand."
    if not alike:
        at_worst = f"at worst {there} on {day_words(task.days.day(worst))}, {more}"
        said = f"{name}: too little for the trays that stand {_when(dates)}; {at_worst}."
    return Limit(
        limit=name,
        first=dates[0],
        last=dates[-1],
        has=round(has, 2),
        short=round(short, 2),
        unit=unit,
        message=said,
    )


def _when(dates: list[date]) -> str:
    """Days in a row from the first to the last, others one by one."""
    if dates[-1] - dates[0] == timedelta(days=len(dates) - 1):
        return days_words(dates[0], dates[-1])
    days = listed([day_words(day) for day in dates], most=7)
    return f"on {days}"


def press_notes(limits: tuple[Limit, ...]) -> list[str]:
    """That the plan goes beyond what there is, and for what."""
    if not limits:
        return []
    named = listed(dict.fromkeys(limit.limit for limit in limits), most=FEW)
    return [
        f"The trays that stand need more {named} than there is on some days, whatever is decided. The plan counts them "
        "all the same, and sows nothing that would need more of it on those days."
    ]
