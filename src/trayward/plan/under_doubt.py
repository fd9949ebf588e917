"""A plan under doubt: from the farm and its outlook over many scenarios to a plan that says its chances."""

from __future__ import annotations

from datetime import datetime, timedelta

import msgspec
import numpy as np

from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.outlook.ahead import Outlook
from trayward.plan.advice import cut_advice, earnings
from trayward.plan.best_served import cost_best_served
from trayward.plan.build import Task
from trayward.plan.changes import find_changes
from trayward.plan.days import Days, Floats
from trayward.plan.decide import Decision, Effort, Sticking, decide, decide_again, decision_with
from trayward.plan.demand import CropDemand, OpenLine, Want, crop_demand, gather
from trayward.plan.done import plan_before, sown_against
from trayward.plan.futures import Biology, Chance, Futures, draw_futures, known_futures
from trayward.plan.habits import habit_notes, habits_of
from trayward.plan.letting_down import LettingDown, letting_downs, room_for
from trayward.plan.plot_layout import lay_out_plots
from trayward.plan.plots import Plot, relieved
from trayward.plan.spot import spot_wants
from trayward.plan.start import Start, takes_of
from trayward.plan.tasks import task_of, way_notes
from trayward.plan.told import Told, standing_choices
from trayward.plan.told_lines import read_lines
from trayward.plan.told_money import read_money
from trayward.plan.told_sowings import read_cuts, read_racks, read_sowings
from trayward.plan.types import Limit, Plan
from trayward.plan.uses import DISCARD
from trayward.plan.ways import Ways, find_ways
from trayward.plan.why import Why
from trayward.plan.why_limits import limit_worths, pressed
from trayward.plan.why_lines import line_reasons
from trayward.plan.why_short import Raised
from trayward.plan.why_sowings import sowing_reasons
from trayward.plan.words import FEW
from trayward.words import counted, listed

USUAL = Effort()
STICKS = 2
"""Today's and tomorrow's sowings stay as they were planned, unless a change is worth it. [d]"""


def under_doubt(
    state: FarmState,
    outlook: Outlook,
    at: datetime,
    days: Days,
    lines: list[OpenLine],
    effort: Effort,
    biology: Biology | None,
    start: Start | None = None,
) -> Plan:
    """The plan of some days over scenarios; see `make_plan`."""
    told, note = weighed(state, outlook, at, days, lines, effort, biology, start=start)
    return plan_of(state, at, told, note, effort)


def weighed(
    state: FarmState,
    outlook: Outlook,
    at: datetime,
    days: Days,
    lines: list[OpenLine],
    effort: Effort,
    biology: Biology | None = None,
    *,
    start: Start | None = None,
    shared: Chance | None = None,
    beside: Task | None = None,
) -> tuple[Told, str]:
    """
    What is decided, with all that is needed to tell it, and a note on spot orders.

    Parameters
    ----------
    start : Start, optional
        Another plan's trays: the search begins from them too, so that what comes out is no worse than they are.
    shared : Chance, optional
        The farm this one is held against: what may come is then the same for both.
    beside : Task, optional
        What that farm's plan weighed: what both want is let down at the same price.
    """
    assert state.settings is not None, "make_plan has seen to it"
    settings, rng = state.settings, np.random.default_rng(effort.seed)
    alike = biology is not None and biology.certain and not settings.plan_spot_orders
    scenarios = 1 if alike else effort.scenarios + effort.checked
    wants = gather(lines, settings.money)
    amounts = np.repeat(np.array([[want.amount for want in wants]]), scenarios, axis=0).reshape(scenarios, len(wants))
    spot, note = _spot(state, at, days, settings, scenarios, rng)
    if shared is not None:
        rng = np.random.default_rng(effort.seed)
        spot = _in_step(spot, _spot(shared.state, at, days, shared.outlook.settings, scenarios, rng)[0])
    if spot is not None:
        wants, amounts = wants + spot[0], np.concatenate([amounts, spot[1]], axis=1)
    demand = _most_wanted(wants, amounts)
    ways = find_ways(state, outlook, at, demand, days)
    task = task_of(state, at, days, wants, demand, ways)
    futures = _futures(state, outlook, at, ways, days, scenarios, rng, biology, shared)
    crops = list(dict.fromkeys([*task.demand, *(group.recipe.crop for group in futures.stood)]))
    plots, press = relieved(lay_out_plots(task, ways.ways, futures, settings, crops, effort.scenarios), task.limits)
    letting_down = letting_downs(wants, lines, plots, settings)
    task = task._replace(press=press, prices=letting_down.with_room())
    task = task._replace(prices=_prices(task, letting_down, plots, amounts, effort, beside))
    starts = None if start is None else takes_of(start, plots, ways.ways, futures, days)
    decision = decide(
        task, plots, lines, amounts, effort, _sticking(state, ways, days, _calm(settings, effort)), starts
    )
    return Told(task, ways, futures, lines, decision, settings, {}, _met(decision), habits_of(state, days.first)), note


def weighed_again(state: FarmState, told: Told, start: Start, effort: Effort) -> Told:
    """What was decided, or what the search comes to from other trays where that is better."""
    decision, ways = told.decision, told.ways
    starts = takes_of(start, decision.plots, ways.ways, told.futures, told.days)
    found = decide_again(decision, starts, effort, _sticking(state, ways, told.days, _calm(told.settings, effort)))
    return told if found is decision else _decided_so(told, found)


def weighed_with(told: Told, start: Start) -> Told:
    """What was decided, had it been other trays, as near as the farm's choices come to them."""
    starts = takes_of(start, told.decision.plots, told.ways.ways, told.futures, told.days)
    return _decided_so(told, decision_with(told.decision, starts))


def _decided_so(told: Told, decision: Decision) -> Told:
    return told._replace(decision=decision, cut_days={}, met=_met(decision))


def _met(decision: Decision) -> dict[int, Floats]:
    return {claim.line: got for claim, got in zip(decision.claims, decision.served.met, strict=True)}


def _prices(
    task: Task, letting_down: LettingDown, plots: list[Plot], amounts: Floats, effort: Effort, beside: Task | None
) -> Floats:
    """What letting down costs, of wants that another farm has too as it does there; or a shelf more would change it."""
    there = {} if beside is None else dict(zip(map(_price_key, beside.wants), beside.prices.tolist(), strict=True))
    keys = [_price_key(want) for want in task.wants]
    if there.keys() >= set(keys):
        return np.array([there[key] for key in keys])
    own = letting_down.where(room_for(task, plots, amounts, effort.scenarios))
    return np.array([there.get(key, price) for key, price in zip(keys, own.tolist(), strict=True)])


def _price_key(want: Want) -> tuple[object, ...]:
    return (*_key(want), round(want.worth, 9), round(want.regret, 9))


Spot = tuple[list[Want], Floats]


def _in_step(own: Spot | None, other: Spot | None) -> Spot | None:
    """Spot orders of a farm whose large cases fall together with those of the farm it is held against."""
    if own is None or other is None:
        return own
    column = {_key(want): number for number, want in enumerate(other[0])}
    amounts = own[1].copy()
    for number, want in enumerate(own[0]):
        if _key(want) in column:
            order = np.argsort(other[1][:, column[_key(want)]], kind="stable")
            amounts[order, number] = np.sort(own[1][:, number])
    return own[0], amounts


def _key(want: Want) -> tuple[object, ...]:
    return want.product, want.parts, want.day, want.live


def _spot(
    state: FarmState, at: datetime, days: Days, settings: FarmSettings, scenarios: int, rng: np.random.Generator
) -> tuple[Spot | None, str]:
    """Wants for spot orders that may come, where the farm plans for them, and a note that says so."""
    from trayward.outlook.demand import look_for_orders, spot_note

    demand = look_for_orders(state, at)
    note = spot_note(state, at, demand)
    return (None if demand is None else spot_wants(demand, days, settings.money, scenarios, rng)), note


def _most_wanted(wants: list[Want], amounts: Floats) -> dict[str, CropDemand]:
    """As much as is wanted in any scenario: no more trays are offered than that much could take."""
    most = zip(wants, amounts.max(axis=0), strict=True)
    return crop_demand([msgspec.structs.replace(want, amount=float(top)) for want, top in most])


def _futures(
    state: FarmState,
    outlook: Outlook,
    at: datetime,
    ways: Ways,
    days: Days,
    scenarios: int,
    rng: np.random.Generator,
    biology: Biology | None,
    shared: Chance | None,
) -> Futures:
    if biology is None:
        return draw_futures(state, outlook, ways.ways, days, scenarios, rng, shared)
    return known_futures(state, at, ways.ways, days, biology, scenarios)


def _calm(settings: FarmSettings, effort: Effort) -> float:
    return settings.calm if effort.calm else 0.0


def _sticking(state: FarmState, ways: Ways, days: Days, calm: float) -> Sticking | None:
    """Today's and tomorrow's sowings of the plan kept before, as far as they are not done."""
    before = plan_before(state)
    if before is None or calm <= 0:
        return None
    number = {way.recipe.name: count for count, way in enumerate(ways.ways)}
    if not days.first - timedelta(days=STICKS) <= before.first <= days.first:
        return None
    done, _ = sown_against(before, state)
    kept = {
        (number[one.planned.recipe], days.index(one.planned.sow_on)): float(one.left)
        for one in done
        if one.left > 0 and one.planned.recipe in number and 0 <= days.index(one.planned.sow_on) < STICKS
    }
    return Sticking(kept, STICKS, calm)


# Telling it -----------------------------------------------------------------------------------------------------------


def plan_of(state: FarmState, at: datetime, told: Told, note: str, effort: Effort) -> Plan:
    """What was decided, told as a plan."""
    why, decision, tell = Why(told), told.decision, effort.reasons
    reasons = line_reasons(why) if tell else Raised({}, {}, [])
    lines = read_lines(told, reasons.why, reasons.raised)
    asked = sum(want.worth * want.amount for want in told.task.wants)
    limits = _merged([*pressed(why), *reasons.limits, *limit_worths(why)])
    plan = Plan(
        made_at=at,
        first=told.days.first,
        last=told.days.day(told.days.count - 1),
        sowings=read_sowings(told, sowing_reasons(why) if tell else {}),
        cuts=read_cuts(told),
        lines=lines,
        limits=tuple(sorted(limits, key=lambda limit: (limit.first, limit.limit))),
        money=read_money(told),
        objective=round(asked - decision.cost, 2),
        advice=cut_advice(told),
        earnings=earnings(why) if tell else (),
        racks=read_racks(told),
        scenarios=effort.scenarios,
        full=round(sum(line.chance or 0.0 for line in lines), 2),
        notes=_notes(told, note, effort, state),
    )
    changes = find_changes(plan_before(state), plan, state)
    gap, served = _gaps(decision, asked)
    return msgspec.structs.replace(plan, changes=changes, gap=gap, gap_served=served)


def _gaps(decision: Decision, asked: float) -> tuple[float | None, float | None]:
    """How far from the best at most, as a share of all that is asked for: by the rule, and served best. [-]"""
    best = cost_best_served(decision.search) if decision.proof is not None else decision.cost
    # Asked for last: the proof goes on while all else is worked out.
    bound = decision.bound()
    gaps = [round(max(0.0, (cost - bound) / asked), 6) if asked > 0 else 0.0 for cost in (decision.cost, best)]
    return (gaps[0], min(gaps)) if np.isfinite(bound) or asked <= 0 else (None, None)


def _merged(limits: list[Limit]) -> list[Limit]:
    """Limits of the same name, days and words once, with all their lines."""
    found: dict[tuple[object, ...], Limit] = {}
    for limit in limits:
        key = limit.limit, limit.first, limit.last, limit.message
        before = found.get(key)
        lines = limit.lines if before is None else tuple(dict.fromkeys(before.lines + limit.lines))
        found[key] = msgspec.structs.replace(limit, lines=lines)
    return list(found.values())


def _notes(told: Told, note: str, effort: Effort, state: FarmState) -> tuple[str, ...]:
    notes = [
        f"Chosen over {effort.scenarios} ways the coming weeks may go; chances are read off {effort.checked} others."
    ]
    notes += habit_notes(told.habits)
    notes += [note] if note else []
    notes += way_notes(told.ways, told.task.limits)
    notes += _unwanted(told)
    for crop in sorted({way.recipe.crop for way in told.ways.ways}):
        lives = {recipe.cold_room_days for recipe in state.recipes.values() if recipe.crop == crop}
        if len(lives) > 1:
            notes.append(f"Recipes of {crop} keep differently; each tray is counted by its own.")
    return tuple(dict.fromkeys(notes))


def _unwanted(told: Told) -> list[str]:
    """Standing trays that no order has a use for."""
    idle: dict[str, list[str]] = {}
    for plot, choice, names in standing_choices(told):
        if plot.choices.how[choice] == DISCARD:
            idle.setdefault(plot.crop, []).extend(names)
    return [
        f"No order has a use for {counted(len(trays), 'standing tray')} of {crop}: {listed(trays, most=FEW)}."
        for crop, trays in sorted(idle.items())
    ]
