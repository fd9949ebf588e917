"""A whole season planned at once by somebody who knows it: what our own search comes to with nothing unknown.

The bound says what nobody can beat; this says what can be had, so the two hold the best season between them. It is only
asked of worlds in which nothing is left to luck, where all trays of a sowing are alike: a plan chooses whole trays of a
sowing, not single trays by the luck each will have. Like the bound, it finds seed in the bag on every day.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import msgspec
import numpy as np

from trayward.errors import InputError
from trayward.farm.calendar import day_start
from trayward.farm.gone import LITTLE
from trayward.outlook.ahead import untaught
from trayward.plan.build import Task
from trayward.plan.days import Days, Floats
from trayward.plan.decide import Decision, Effort, claims_of, decide
from trayward.plan.demand import OpenLine, crop_demand, gather, open_lines
from trayward.plan.futures import known_futures
from trayward.plan.letting_down import letting_downs
from trayward.plan.plot_layout import lay_out_plots
from trayward.plan.plots import Plot, relieved
from trayward.plan.seed import SeedStock
from trayward.plan.serving import serve
from trayward.plan.tasks import task_of
from trayward.plan.ways import Way, find_ways
from trayward.study.biology import TrueBiology
from trayward.study.bound import season_laid_open
from trayward.study.ledger import Ledger
from trayward.study.world_file import SeasonWorld

PLENTY = 1e7
"""More seed than a season can take. [g]"""

Prices = Literal["account", "farm"]
"""What letting a line down costs in choosing: as the season's account counts it, or as a farm's plan does, which also
meets small lines at a loss and keeps spare trays for the chance it wants."""


class AtOnce(msgspec.Struct, frozen=True, kw_only=True):
    """A season planned at once."""

    margin: float
    """By the season's account. [currency]"""
    counted: float
    """The same, had each crop of a mix been worth its part alone, as the search counts. [currency]"""
    trays: int
    full: int
    """Lines met in full."""
    lines: int


class Decided(NamedTuple):
    """A season planned at once, with all that was decided."""

    told: AtOnce
    decision: Decision
    ways: list[Way]
    days: Days


class Certain(TrueBiology):
    """Everything is known, also of the trays that are not sown yet."""

    certain = True


def season_at_once(world: SeasonWorld, seed: int, *, prices: Prices = "account", seconds: float = 600.0) -> AtOnce:
    """
    Plan all of a season on its first day, with all orders and the true biology known.

    Parameters
    ----------
    world : SeasonWorld
        One with nothing left to luck.
    prices : "account" or "farm"
        What letting a line down costs in choosing; the margin is by the account either way.
    seconds : float
        A safety net for the search; it ends by itself. [s]

    Raises
    ------
    InputError
        If single trays of the world have luck of their own.
    """
    return plan_at_once(world, seed, prices=prices, seconds=seconds).told


def plan_at_once(world: SeasonWorld, seed: int, *, prices: Prices = "account", seconds: float = 600.0) -> Decided:
    """The same with all that was decided."""
    task, plots, lines, amounts, ways = _problem(world, seed, prices)
    effort = Effort(scenarios=1, checked=0, search_seconds=seconds, proof_seconds=0.0, reasons=False)
    decision = decide(task, plots, lines, amounts, effort)
    return Decided(_told(task, lines, decision), decision, ways, task.days)


def _problem(
    world: SeasonWorld, seed: int, prices: Prices
) -> tuple[Task, list[Plot], list[OpenLine], Floats, list[Way]]:
    _require_no_luck(world)
    state, _ = season_laid_open(world, seed)
    settings, at = world.settings, day_start(world.first, world.settings)
    biology = Certain(Ledger(world.truth(seed), settings), world.lot_on, world.events(seed).missed)
    days = Days(settings, world.first, world.days)
    lines = open_lines(state, days)
    wants = gather(lines, settings.money)
    amounts = np.array([[want.amount for want in wants]])
    ways = find_ways(state, untaught(state, at), at, crop_demand(wants), days)
    task = task_of(state, at, days, wants, crop_demand(wants), ways)
    futures = known_futures(state, at, ways.ways, days, biology, 1)
    laid, press = relieved(lay_out_plots(task, ways.ways, futures, settings, list(task.demand)), task.limits)
    plots = [plot._replace(seed=_enough(plot.seed)) for plot in laid]
    account = np.array([want.regret for want in wants])
    told = account if prices == "account" else letting_downs(wants, lines, plots, settings).with_room()
    return task._replace(press=press, prices=told), plots, lines, amounts, ways.ways


def _enough(seed: SeedStock | None) -> SeedStock | None:
    """As much seed as anybody could sow, from the first day on."""
    if seed is None:
        return None
    lots = [msgspec.structs.replace(stock, day=0, left_g=PLENTY) for stock in seed.lots]
    return msgspec.structs.replace(seed, lots=lots)


def _require_no_luck(world: SeasonWorld) -> None:
    levels = world.spec.levels
    if levels.tray or levels.stage_tray or levels.loss:
        rule = "single trays have luck of their own there, which no plan of whole sowings can choose by"
        raise InputError("world", world.name, rule, "Take one with nothing left to luck: loft loose steady.")


def _told(task: Task, lines: list[OpenLine], decision: Decision) -> AtOnce:
    account = np.array([want.regret for want in task.wants])
    claims = claims_of(task.wants, account, lines, decision.amounts)
    met = serve(decision.checked, decision.takes, claims).met[:, 0]
    asked = np.array([float(claim.amount[0]) for claim in claims])
    worth = np.array([claim.worth for claim in claims])
    sales = sum(want.worth * want.amount for want in task.wants)
    trays = sum(float(plot.choices.cost @ take) for plot, take in zip(decision.plots, decision.takes, strict=True))
    return AtOnce(
        margin=float(sales - worth @ (asked - met) - trays),
        counted=float(sales - decision.cost),
        trays=round(sum(float(take.sum()) for take in decision.takes)),
        full=int((met >= asked * (1 - LITTLE)).sum()),
        lines=len(claims),
    )
