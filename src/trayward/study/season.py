"""A season lived through: a farm in memory, a world that hides its truth, a policy, and what came of it."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import timedelta

from trayward.bootstrap import Farm
from trayward.farm.calendar import day_start, local_day
from trayward.farm.orders import LineDue
from trayward.farm.state import FarmState, Tray
from trayward.study.account import How, Rates, Tally, in_full, price_of_seed, tray_cost
from trayward.study.keeper import Keeper, Policy
from trayward.study.ledger import Ledger
from trayward.study.policies import Planned, policy_of
from trayward.study.shares import good_until
from trayward.study.types import Promise, SeasonResult, SeasonTask
from trayward.study.world_file import SeasonWorld, world_named

DAY = timedelta(days=1)


def run_season(task: SeasonTask) -> SeasonResult:
    """
    Live through one season.

    Parameters
    ----------
    task : SeasonTask
        World, seed number and policy.

    Returns
    -------
    SeasonResult
        The same for the same task, but for `seconds`.
    """
    return live_season(task, world_named(task.world))


def live_season(
    task: SeasonTask, world: SeasonWorld, decides: Callable[[Ledger], Policy] | None = None
) -> SeasonResult:
    """
    Live through one season of a world that is read already; see `run_season`.

    Parameters
    ----------
    decides : callable, optional
        What decides instead of the task's policy; it is shown which tray of the book is which of the truth.
    """
    began = time.perf_counter()
    start = day_start(world.first, world.settings)
    ledger = Ledger(world.truth(task.seed), world.settings)
    policy = policy_of(task, world, ledger) if decides is None else decides(ledger)
    with Farm.create(":memory:", world.setup_bodies(), at=start, by="keeper") as farm:
        keeper = Keeper(farm, world, policy, ledger, world.events(task.seed), world.orders(task.seed))
        for number in range(world.days):
            keeper.live(world.first + number * DAY)
        end = day_start(world.last + DAY, world.settings)
        lines = farm.due(world.first_due, world.last, at=end)
        return _result(task, world, farm.state(end), lines, keeper, time.perf_counter() - began)


def _result(
    task: SeasonTask, world: SeasonWorld, state: FarmState, lines: list[LineDue], keeper: Keeper, seconds: float
) -> SeasonResult:
    tally = season_tally(world, state, lines)
    cut = sum(lot.grams for lot in state.harvests.values()) - keeper.phantom_g
    delivered = sum(state.delivered.values())
    good = _still_good(world, state)
    wasted = max(cut - delivered - good, 0.0)
    tally.add(world.last, "disposal", wasted * world.settings.money.disposal_kg / 1000)
    return SeasonResult(
        task=task,
        margin=tally.margin,
        money=tally.money,
        parts=tally.parts,
        lines=len(lines),
        full_on_time=sum(in_full(line) for line in lines),
        asked_g=sum(line.grams for line in lines),
        delivered_g=delivered,
        cut_g=cut,
        unsold_g=wasted + keeper.spoiled_g,
        by_day=tally.by_day(),
        promises=_promises(keeper, lines),
        seconds=seconds,
        notes=_notes(state),
    )


def season_tally(world: SeasonWorld, state: FarmState, lines: list[LineDue]) -> Tally:
    """Lines and trays of a season as the book has them at its end; what was thrown away is not in it."""
    tally = Tally(world.first, world.days)
    tally.add_lines(lines, world.settings.money)
    rates = Rates(state, world.settings, world.first)
    for trays in (state.ended, state.trays):
        for tray in trays.values():
            if tray.ended_at is not None:
                _add_tray(tally, tray, state, rates, world)
    return tally


_HOW: dict[str, How] = {"cut": "cut", "delivered": "live", "discarded": "thrown"}


def _add_tray(tally: Tally, tray: Tray, state: FarmState, rates: Rates, world: SeasonWorld) -> None:
    settings = world.settings
    sown = local_day(tray.sown_at, settings)
    assert tray.ended_at is not None, "asked only of trays that have left"
    left = local_day(tray.ended_at, settings)
    starts = [(local_day(step.since, settings) - sown).days for step in tray.steps]
    seed = tray.seed_g * price_of_seed(state, tray.lots[0]) if tray.lots else 0.0
    cost = tray_cost(
        state.recipe_of(tray), rates, starts=starts, leave=(left - sown).days, how=_HOW[tray.fate], seed=seed
    )
    tally.add_tray(left, cost)


def _still_good(world: SeasonWorld, state: FarmState) -> float:
    """Cut crop in the cold room that is good beyond the last day: for orders that count no more. [g]"""
    return sum(lot.left_g for lot in state.harvests.values() if good_until(lot, world.settings) > world.last)


def _promises(keeper: Keeper, lines: list[LineDue]) -> tuple[Promise, ...]:
    if not isinstance(keeper.policy, Planned):
        return ()
    by_name = {line.line: line for line in lines}
    return tuple(
        Promise(line=name, due=by_name[name].due, days_ahead=ahead, chance=chance, kept=in_full(by_name[name]))
        for (name, _), (ahead, chance) in keeper.policy.chances.items()
        if name in by_name
    )


def _notes(state: FarmState) -> tuple[str, ...]:
    fates: dict[str, int] = {}
    for tray in (*state.ended.values(), *state.trays.values()):
        fates[tray.fate] = fates.get(tray.fate, 0) + 1
    told = ", ".join(f"{count} {fate}" for fate, count in sorted(fates.items()))
    return (f"{sum(fates.values())} trays: {told}.", f"{state.entries} entries in the book.")
