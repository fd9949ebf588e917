"""The whole problem of a plan as anybody would write it down: every scenario, every tray, every due day, every limit.

Whole trays of every choice; in each scenario what each choice, and each harvest in the cold room, gives each due day it
can serve; what is wasted; and what goes beyond a limit on a day. No sums that run on, no rows that help: only slow. It
knows nothing of how the package solves it, and goes to HiGHS or, through OR-tools, to other solvers. `random_farm`
makes small farms of any kind to try it on.
"""

from __future__ import annotations

import math
import pickle
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.random import Generator

from tests.plan.farms import NOW, lot
from trayward.farm.crops import CropFacts
from trayward.plan.build import Stock
from trayward.plan.crop_model import Asked
from trayward.plan.days import Floats
from trayward.plan.demand import CropDemand
from trayward.plan.plots import Choices, Plot
from trayward.plan.prices import Shared
from trayward.plan.seed import LotStock, SeedStock
from trayward.plan.uses import CUT, DISCARD, LIVE


class Farm(NamedTuple):
    """Crops, what is wanted of them, and the limits they share."""

    plots: list[Plot]
    asked: list[Asked]
    shared: Shared
    disposal: float


class Plain:
    """Minimise cost x values + offset: columns, and rows of column -> coefficient."""

    def __init__(self) -> None:
        self.cost: list[float] = []
        self.upper: list[float] = []
        self.whole: list[bool] = []
        self.grams: list[bool] = []
        self.rows: list[tuple[dict[int, float], float, float]] = []
        self.offset = 0.0
        self.takes: list[list[int]] = []
        self.mixed: dict[tuple[int, int], int] = {}
        """How much is met of a mix in a scenario: (mix, scenario) -> column."""

    def column(self, cost: float, upper: float = math.inf, *, whole: bool = False, grams: bool = False) -> int:
        """A column from 0 up; gives its number. `grams` says what it counts."""
        self.cost.append(float(cost))
        self.upper.append(float(upper))
        self.whole.append(whole)
        self.grams.append(grams)
        return len(self.cost) - 1

    def row(self, entries: dict[int, float], least: float, most: float) -> None:
        """A row between two ends."""
        self.rows.append((entries, float(least), float(most)))


def plain(farm: Farm, *, fixed: Sequence[Floats] | None = None) -> Plain:
    """The whole problem; with the trays fixed, only who is served with what is left to decide."""
    model, share = Plain(), 1.0 / farm.shared.scenarios
    for number, (plot, asked) in enumerate(zip(farm.plots, farm.asked, strict=True)):
        choices = plot.choices
        take = [model.column(cost, upper, whole=True) for cost, upper in zip(choices.cost, choices.upper, strict=True)]
        model.takes.append(take)
        for _, own, size in plot.groups:
            model.row({take[one]: 1.0 for one in own}, size, size)
        _seed(model, plot, take)
        if fixed is not None:
            for column, trays in zip(take, fixed[number], strict=True):
                model.row({column: 1.0}, trays, trays)
        for scenario in range(farm.shared.scenarios):
            _cut(model, plot, asked, take, scenario, share, farm.disposal)
            _live(model, plot, asked, take, scenario, share)
    _limits(model, farm, share)
    return model


def _seed(model: Plain, plot: Plot, take: list[int]) -> None:
    """Whatever was sown up to a day came from seed that was there by then."""
    if plot.seed is None:
        lots: list[tuple[int, float]] = []
    else:
        lots = [(stock.day, stock.left_g * stock.worth) for stock in plot.seed.lots]
    choices = plot.choices
    for day in sorted(set(choices.sow[choices.way >= 0].tolist())):
        sown = list(np.flatnonzero((choices.way >= 0) & (choices.sow <= day)))
        here = sum(grams for at, grams in lots if at <= day)
        model.row({take[one]: float(choices.seed_g[one]) for one in sown}, -math.inf, here)


def _cut(model: Plain, plot: Plot, asked: Asked, take: list[int], scenario: int, share: float, disposal: float) -> None:
    choices, dues = plot.choices, plot.demand.days
    comes: list[dict[int, float]] = [{} for _ in dues]
    for one in np.flatnonzero(choices.how == CUT):
        first, last = int(choices.first[scenario, one]), int(choices.last[scenario, one])
        if first <= last:
            flows = [model.column(0.0, grams=True) for _ in range(first, last + 1)]
            wasted = model.column(share * disposal, grams=True)
            gives = dict.fromkeys([*flows, wasted], 1.0)
            model.row({**gives, take[one]: -float(choices.grams[scenario, one])}, 0.0, 0.0)
            for due, flow in zip(range(first, last + 1), flows, strict=True):
                comes[due][flow] = 1.0
    for item in plot.stock:
        good = [due for due in range(len(dues)) if dues[due] <= item.last]
        if good:
            flows = [model.column(0.0, grams=True) for _ in good]
            wasted = model.column(share * disposal, grams=True)
            model.row(dict.fromkeys([*flows, wasted], 1.0), item.grams, item.grams)
            for due, flow in zip(good, flows, strict=True):
                comes[due][flow] = 1.0
    for due in range(len(dues)):
        _served(model, asked, 0, due, scenario, share, comes[due])


def _live(model: Plain, plot: Plot, asked: Asked, take: list[int], scenario: int, share: float) -> None:
    choices = plot.choices
    for due in set(asked.due[asked.live == 1].tolist()):
        own = np.flatnonzero((choices.how == LIVE) & (choices.due == due))
        there = {take[one]: float(choices.grams[scenario, one]) for one in own}
        _served(model, asked, 1, due, scenario, share, there)


def _served(
    model: Plain, asked: Asked, live: int, due: int, scenario: int, share: float, comes: dict[int, float]
) -> None:
    """What each want of a due day gets is at most what comes; the rest of it is let down. Live trays may stay over."""
    met = {}
    for want in np.flatnonzero((asked.live == live) & (asked.due == due)):
        amount, worth = float(asked.amount[scenario, want]), float(asked.worth[want])
        if len(asked.mix) and asked.mix[want] >= 0:
            met[_mixed(model, asked, int(want), scenario, share)] = -float(asked.share[want])
            continue
        met[model.column(-share * worth, amount, grams=not live)] = -1.0
        model.offset += share * worth * amount
    model.row({**comes, **met}, 0.0, math.inf if live else 0.0)


def _mixed(model: Plain, asked: Asked, want: int, scenario: int, share: float) -> int:
    """How much is met of a mix, the same for all its parts."""
    key = int(asked.mix[want]), scenario
    if key not in model.mixed:
        worth, amount = float(asked.worth[want]), float(asked.amount[scenario, want] / asked.share[want])
        model.mixed[key] = model.column(-share * worth, amount, grams=True)
        model.offset += share * worth * amount
    return model.mixed[key]


def _limits(model: Plain, farm: Farm, share: float) -> None:
    shared = farm.shared
    for place, number in enumerate(shared.numbers):
        for scenario in range(shared.scenarios):
            for day in np.flatnonzero(np.isfinite(shared.has[place])):
                entries = {}
                for plot, take in zip(farm.plots, model.takes, strict=True):
                    if number in plot.uses:
                        used = plot.uses[number][:, scenario, day]
                        entries |= {take[one]: float(used[one]) for one in np.flatnonzero(used)}
                if entries:
                    over = model.column(share * float(shared.beyond[place]))
                    model.row({**entries, over: -1.0}, -math.inf, float(shared.has[place, day]))


# Solvers --------------------------------------------------------------------------------------------------------------


class Found(NamedTuple):
    """What a solver says: the best cost found, what it proves, and the trays of each crop's choices."""

    cost: float
    bound: float
    takes: list[Floats]
    status: str


def with_highs(
    model: Plain, *, whole: bool = True, seconds: float = 60.0, gap: float = 1e-9, threads: int = 1
) -> Found:
    """HiGHS, as it comes."""
    import highspy

    # Another number of threads than before is taken only by a new pool of them.
    highspy.Highs.resetGlobalScheduler(True)
    solver, size = highspy.Highs(), len(model.cost)
    for name, value in {"output_flag": False, "threads": threads, "time_limit": seconds, "mip_rel_gap": gap}.items():
        solver.setOptionValue(name, value)
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_, lp.offset_ = size, len(model.rows), model.offset
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = np.array(model.cost), np.zeros(size), np.array(model.upper)
    lp.row_lower_ = np.array([least for _, least, _ in model.rows])
    lp.row_upper_ = np.array([most for _, _, most in model.rows])
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.cumsum([0, *(len(entries) for entries, _, _ in model.rows)])
    lp.a_matrix_.index_ = np.array([column for entries, _, _ in model.rows for column in entries])
    lp.a_matrix_.value_ = np.array([value for entries, _, _ in model.rows for value in entries.values()])
    if whole:
        kinds = highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger
        lp.integrality_ = [kinds[int(kind)] for kind in model.whole]
    solver.passModel(lp)
    solver.run()
    info = solver.getInfo()
    if info.primal_solution_status != 2:
        bound = info.mip_dual_bound if whole else -math.inf
        return Found(math.inf, bound, [], solver.modelStatusToString(solver.getModelStatus()))
    bound = info.mip_dual_bound if whole else info.objective_function_value
    status = "optimal" if solver.getModelStatus() == highspy.HighsModelStatus.kOptimal else "stopped"
    return Found(info.objective_function_value, bound, takes_of(model, solver.getSolution().col_value), status)


def with_others(solver: str, models: Sequence[Plain], **words: float) -> list[Found]:
    """
    Models given to `scip`, `glop` or `cp_sat` of `or_tools.py`, in a process of their own.

    OR-tools brings a HiGHS with it that goes by the same name as ours, so the two cannot live in one process.
    """
    done = subprocess.run(
        [sys.executable, "-m", "tests.plan.or_tools"],
        input=pickle.dumps((solver, list(models), words)),
        stdout=subprocess.PIPE,
        check=True,
        cwd=Path(__file__).resolve().parents[2],
    )
    found: list[Found] = pickle.loads(done.stdout)
    return found


def takes_of(model: Plain, values: Sequence[float]) -> list[Floats]:
    return [np.array([values[column] for column in take]) for take in model.takes]


# Small farms of any kind ----------------------------------------------------------------------------------------------


def random_farm(
    rng: Generator,
    *,
    crops: int = 2,
    scenarios: int = 3,
    dues: int = 3,
    choices: int = 4,
    most: int = 2,
    tiers: int = 2,
) -> Farm:
    """
    A farm without sense but with everything: light and heavy trays, lost ones, standing trays, live ones, a cold room.

    Parameters
    ----------
    most : int
        No choice takes more trays.
    tiers : int
        Wants of a due day, each worth something else; with 1 all of a crop are worth the same.
    """
    days, limits = 2 * dues + 2, (0, 1)
    plots, asked = [], []
    for number in range(crops):
        plot = _random_plot(rng, f"crop {number}", scenarios, dues, choices, most, days, limits)
        plots.append(plot)
        asked.append(_random_asked(rng, plot, scenarios, dues, tiers))
    has = np.round(rng.uniform(0.5, 1.5, (len(limits), days)) * crops * most)
    has[1, rng.integers(days)] = np.inf
    beyond = rng.uniform(2.0, 20.0, len(limits))
    sure = np.repeat(20 * beyond[:, None], days, axis=1)
    shared = Shared(limits, has, beyond, beyond, sure, scenarios)
    return Farm(plots, asked, shared, disposal=0.002)


def mixed_farm(rng: Generator, *, mixes: int = 2, **size: int) -> Farm:
    """The same, and mixes of all crops besides, worth more than what is wanted by itself; their grams in tens."""
    farm = random_farm(rng, **size)
    asked = list(farm.asked)
    for mix in range(mixes):
        shares = rng.dirichlet(np.full(len(asked), 3.0))
        amount, worth = 10.0 * rng.integers(10, 60), float(rng.uniform(0.05, 0.12))
        for number, (one, share) in enumerate(zip(asked, shares, strict=True)):
            due = int(rng.integers(len(farm.plots[number].demand.days)))
            asked[number] = _with_part(one, due, mix, amount * share, worth, share)
    return farm._replace(asked=asked)


def _with_part(asked: Asked, due: int, mix: int, grams: float, worth: float, share: float) -> Asked:
    alone, wide = np.full(len(asked.due), -1), np.full((len(asked.amount), 1), grams)
    return Asked(
        due=np.append(asked.due, due),
        amount=np.concatenate([asked.amount, wide], axis=1),
        worth=np.append(asked.worth, worth),
        live=np.append(asked.live, 0),
        mix=np.append(asked.mix if len(asked.mix) else alone, mix),
        share=np.append(asked.share if len(asked.share) else np.ones(len(alone)), share),
    )


def _random_plot(
    rng: Generator, crop: str, scenarios: int, dues: int, count: int, most: int, days: int, limits: tuple[int, ...]
) -> Plot:
    due_days = np.sort(rng.choice(days, dues, replace=False))
    standing, wide = 2 if rng.random() < 0.5 else 0, (scenarios, count)
    how = np.where(rng.random(count) < 0.2, LIVE, CUT)
    how[:standing] = (CUT, DISCARD)[: max(0, standing)]
    first = rng.integers(0, dues, wide)
    last = np.minimum(dues - 1, first + rng.integers(-1, 3, wide))
    grams = np.where(rng.random(wide) < 0.1, 0.0, rng.integers(4, 30, wide) * 10.0)
    last = np.where((grams > 0) & (how == CUT), last, first - 1)
    grams = np.where(how == LIVE, (rng.random(wide) < 0.8) * 1.0, np.where(how == CUT, grams, 0.0))
    group = np.where(np.arange(count) < standing, 0, -1)
    way = np.where(group >= 0, -1, 0)
    choice = Choices(
        way=way,
        group=group,
        evening=np.zeros(count, dtype=bool),
        sow=np.where(group >= 0, 0, rng.integers(0, days, count)),
        stand=np.zeros(count, dtype=np.int64),
        how=how,
        due=np.where(how == LIVE, rng.integers(0, 2, count), -1),
        upper=np.where(group >= 0, 2.0, float(most)),
        cost=np.where(group >= 0, 0.3, rng.uniform(0.5, 4.0, count)),
        seed_g=np.where(group >= 0, 0.0, 10.0),
        grams=grams,
        first=first,
        last=last,
        leave=first,
        ready=first,
    )
    stock = [Stock(harvest="H", crop=crop, grams=60.0, last=int(due_days[-2]))] if rng.random() < 0.5 else []
    uses = {limit: _random_use(rng, count, scenarios, days) for limit in limits}
    groups = [(0, np.flatnonzero(group == 0), 2.0)] if standing else []
    demand = CropDemand(days=due_days, grams=np.zeros(dues), live={0: 1.0, 1: 1.0})
    return Plot(crop, demand, choice, groups, stock, _random_seed(rng, crop, days), uses)


def _random_use(rng: Generator, count: int, scenarios: int, days: int) -> Floats:
    use = np.zeros((count, scenarios, days), dtype=np.float32)
    for one in range(count):
        for scenario in range(scenarios):
            begin = rng.integers(days)
            use[one, scenario, begin : begin + rng.integers(1, 5)] = rng.choice([0.5, 1.0, 2.0])
    return use


def _random_seed(rng: Generator, crop: str, days: int) -> SeedStock:
    """A lot that is there and one that comes: for three trays at first, and for a few more later."""
    lots = [
        LotStock(lot=lot(crop, name="first"), day=0, left_g=30.0),
        LotStock(lot=lot(crop, name="second"), day=int(rng.integers(1, days)), left_g=10.0 * rng.integers(0, 6)),
    ]
    return SeedStock(crop=crop, facts=CropFacts(crop=crop), lots=lots, at=NOW)


def random_takes(rng: Generator, farm: Farm) -> list[Floats]:
    """Whole trays that groups and seed allow."""
    return [_random_take(rng, plot) for plot in farm.plots]


def _random_take(rng: Generator, plot: Plot) -> Floats:
    choices, take = plot.choices, np.zeros(len(plot.choices.upper))
    for _, own, size in plot.groups:
        np.add.at(take, rng.choice(own, int(size)), 1.0)
    sown = np.flatnonzero(choices.way >= 0)
    for one in rng.permutation(np.repeat(sown, choices.upper[sown].astype(np.int64))):
        take[one] += 1.0
        if rng.random() < 0.5 or not _seed_fits(plot, take):
            take[one] -= 1.0
    return take


def _seed_fits(plot: Plot, take: Floats) -> bool:
    choices, lots = plot.choices, plot.seed.lots if plot.seed is not None else []
    return all(
        float((choices.seed_g * take)[(choices.way >= 0) & (choices.sow <= day)].sum())
        <= sum(one.left_g for one in lots if one.day <= day) + 1e-9
        for day in set(choices.sow.tolist())
    )


def _random_asked(rng: Generator, plot: Plot, scenarios: int, dues: int, tiers: int) -> Asked:
    due = np.repeat(np.arange(dues), tiers)
    worth = rng.uniform(0.02, 0.12, tiers)
    amount = rng.integers(0, 25, (1, len(due))) * 10.0 * np.ones((scenarios, 1))
    some = rng.random(len(due)) < 0.3
    amount[:, some] *= rng.integers(0, 2, (scenarios, int(some.sum())))
    live = np.array([0, 1])
    return Asked(
        due=np.concatenate([due, live]),
        amount=np.concatenate([amount, np.ones((scenarios, 2))], axis=1),
        worth=np.concatenate([np.tile(worth, dues), rng.uniform(1.0, 8.0, 2)]),
        live=np.concatenate([np.zeros(len(due), dtype=np.int64), np.ones(2, dtype=np.int64)]),
    )
