"""Make a plan: from the farm as it is and what is likely, to whole trays by day and recipe."""

from __future__ import annotations

from datetime import datetime

import msgspec
import numpy as np

from trayward.errors import InputError, PlanError
from trayward.farm.calendar import local_day
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.outlook.ahead import Outlook
from trayward.plan.allocate import allocate
from trayward.plan.build import Task, build
from trayward.plan.changes import find_changes
from trayward.plan.days import Days, Floats
from trayward.plan.decide import Effort
from trayward.plan.demand import OpenLine, Want, crop_demand, gather, open_lines, promise
from trayward.plan.done import plan_before
from trayward.plan.futures import Biology
from trayward.plan.options import Board, lay_out
from trayward.plan.press import press_notes, pressed_limits, standing_press
from trayward.plan.reasons import find_reasons
from trayward.plan.results import Read, read_cuts, read_lines, read_money, read_sowings, unwanted_notes
from trayward.plan.solve import Answer, solve
from trayward.plan.standing import standing_trays
from trayward.plan.start import Start
from trayward.plan.tasks import task_of, way_notes
from trayward.plan.types import Plan
from trayward.plan.under_doubt import USUAL, under_doubt
from trayward.plan.ways import Ways, find_ways

GAP = 0.005
"""The search stops once the plan is proven to lie within this share of the best possible: of its objective, or of all
sales asked for where those are more (a margin near nothing would make a share of it mean nothing). [-]"""
SECONDS = 60.0
"""Safety net for the search; the gap is what stops it. [s]"""


def make_plan(
    state: FarmState,
    outlook: Outlook,
    at: datetime,
    *,
    weeks: int = 6,
    effort: Effort | None = USUAL,
    biology: Biology | None = None,
    start: Start | None = None,
) -> Plan:
    """
    Propose whole trays by day and recipe, from the day of `at` on.

    Parameters
    ----------
    state : FarmState
        The farm as its book tells it.
    outlook : Outlook
        What is likely; the plan counts on its cautious days and weights.
    at : datetime
        Now.
    weeks : int
        How far to plan. [weeks] Valid 3 to 8.
    effort : Effort, optional
        Over how many scenarios, and how long to look for a proof. None: over one cautious future.
    biology : Biology, optional
        Somebody who knows how trays will grow, asked instead of the outlook.
    start : Start, optional
        Another plan's trays, yesterday's say: the search begins from them too, so that the plan is no worse than they
        are. Over one cautious future it is not needed.

    Returns
    -------
    Plan
        Every line due in those weeks is in it, met or not.

    Raises
    ------
    InputError
        If `weeks` lies outside its range.
    PlanError
        If the farm has no settings yet.
    """
    settings, days = plan_days(state, at, weeks)
    lines = open_lines(state, days)
    if effort is not None:
        return under_doubt(state, outlook, at, days, lines, effort, biology, start)
    wants = gather(lines, settings.money)
    demand = crop_demand(wants)
    ways = find_ways(state, outlook, at, demand, days)
    task = task_of(state, at, days, wants, demand, ways)
    task = task._replace(standing=standing_trays(state, outlook, settings, days))
    return _plan(state, settings, at, task, ways, lines)


def plan_days(state: FarmState, at: datetime, weeks: int) -> tuple[FarmSettings, Days]:
    """The settings and the days of a plan. Raises as `make_plan` does."""
    if not 3 <= weeks <= 8:
        raise InputError("weeks", weeks, "must lie in [3, 8]", "Plan for three to eight weeks.", "weeks")
    if state.settings is None:
        raise PlanError("The farm has no settings yet, so its days are not known. Set it up first.")
    return state.settings, Days(state.settings, local_day(at, state.settings), weeks * 7)


def _plan(
    state: FarmState, settings: FarmSettings, at: datetime, task: Task, ways: Ways, lines: list[OpenLine]
) -> Plan:
    board = lay_out(ways, task.standing, task.demand, task.limits, settings, task.days)
    task = task._replace(prices=_prices(task.wants, lines, board), press=standing_press(task, board))
    built = build(task, board)
    asked = sum(want.worth * want.amount for want in task.wants)
    answer = solve(built.model, gap=GAP, least=max(0.01, GAP * asked), seconds=SECONDS)
    if answer.status not in ("optimal", "stopped"):
        raise PlanError(f"The plan's own limits contradict each other ({answer.status}); please report this.")
    gap = answer.gap * abs(answer.cost) / max(abs(answer.cost), asked, 1e-9) if answer.gap else 0.0
    given = allocate(task, board, lines, answer.values[built.take], answer.values[built.met])
    read = Read(task, board, ways, lines, given)
    reasons, pressed = find_reasons(read, settings), pressed_limits(task, board, given)
    plan = Plan(
        made_at=at,
        first=task.days.first,
        last=task.days.day(task.days.count - 1),
        sowings=read_sowings(read),
        cuts=read_cuts(read),
        lines=read_lines(read, reasons.lines),
        limits=tuple(sorted(pressed + reasons.limits, key=lambda limit: (limit.first, limit.limit))),
        money=read_money(read, settings),
        objective=round(-answer.cost, 2),
        gap=round(gap, 6),
        notes=(*_notes(read, settings, answer, gap, state), *press_notes(pressed)),
    )
    return msgspec.structs.replace(plan, changes=find_changes(plan_before(state), plan, state))


def _prices(wants: list[Want], lines: list[OpenLine], board: Board) -> Floats:
    """What letting down one gram or tray of each want costs the model beyond the sale."""
    tray_cost = {}
    for number, crop in enumerate(board.crops):
        sown = (board.options.crop == number) & (board.options.way >= 0)
        if sown.any():
            tray_cost[crop] = (float(board.options.cost[sown].min()), float(board.options.grams[sown].max()))
    return np.array([max(want.regret, promise(want, lines, tray_cost)) for want in wants])


def _notes(read: Read, settings: FarmSettings, answer: Answer, gap: float, state: FarmState) -> tuple[str, ...]:
    notes = [f"Counts on weights and days that {settings.caution:.0%} of trays do at least as well as."]
    if answer.status == "stopped":
        notes.append(f"Stopped after {SECONDS:.0f} s; a better plan may exist, by {gap:.1%} of sales at most.")
    notes += way_notes(read.ways, read.task.limits)
    for crop, life in sorted(read.board.life.items()):
        if len({recipe.cold_room_days for recipe in state.recipes.values() if recipe.crop == crop}) > 1:
            notes.append(f"Recipes of {crop} keep differently; the plan counts on {life} days for all.")
    return tuple(dict.fromkeys(notes + unwanted_notes(read)))
