"""What a plan is worth if it is served as well as can be: all of a scenario known beforehand, nobody's rule followed.

The search and the grower serve by a rule. The proof knows none: it says what no plan can be better than, however it is
served. So a part of what lies between is the rule's, and this tells how much.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from trayward.plan.crop_model import KILO, CropModel
from trayward.plan.days import Floats, Ints
from trayward.plan.farm_search import FarmSearch
from trayward.plan.mix_worths import ALIKE
from trayward.plan.model import Model, RowName
from trayward.plan.solve import solve
from trayward.plan.uses import CUT, LIVE


def cost_best_served(search: FarmSearch) -> float:
    """What all trays of a search cost, with what is let down and goes beyond the limits; served best. [currency]"""
    models = [worth.model for worth in search.worths]
    own = sum(
        model.forgone + float(model.plot.choices.cost @ take) for model, take in zip(models, search.takes, strict=True)
    )
    return own - best_brought(models, search.takes) + search.taken.cost()


def best_brought(models: Sequence[CropModel], takes: Sequence[Floats]) -> float:
    """
    What whole trays bring and spare at most, less throwing away the rest: the mean over scenarios. [currency]

    Parameters
    ----------
    models : sequence of CropModel
        All scenarios of their plots count, however few they hold themselves.
    takes : sequence of array
        Trays of each one's choices (n,).
    """
    scenarios = len(models[0].plot.choices.grams) if models else 0
    costs = [solve(_served(models, takes, scenario)).cost for scenario in range(scenarios)]
    return -float(np.mean(costs)) if costs else 0.0


def _served(models: Sequence[CropModel], takes: Sequence[Floats], scenario: int) -> Model:
    """Who is served with what in one scenario, a mix in whole shares of its parts."""
    problem = Model()
    parts: dict[int, list[tuple[int, float, float]]] = {}
    for model, take in zip(models, takes, strict=True):
        met, tiers = _cut(problem, model, take, scenario), model.all_cut
        for tier in np.flatnonzero(tiers.mix >= 0).tolist():
            amount, share = float(tiers.amount[scenario, tier]), float(tiers.share[tier])
            parts.setdefault(int(tiers.mix[tier]), []).append((int(met[tier]), share, amount / share))
        _live(problem, model, take, scenario)
    for mix, (one, *others) in parts.items():
        for other in others:
            if abs(one[2] - other[2]) < ALIKE:
                row = problem.add_rows(np.zeros(1), np.zeros(1), [RowName("mix", "", mix)])
                problem.add_entries(row, np.array([one[0], other[0]]), np.array([1 / one[1], -1 / other[1]]))
    return problem


def _cut(problem: Model, model: CropModel, take: Floats, scenario: int) -> Ints:
    """What is there on each due day is served, thrown away or left, as far as it keeps; the columns of what is met."""
    tiers, dues = model.all_cut, model.dues
    met = problem.add_columns(-tiers.worth / KILO, 0.0, tiers.amount[scenario] * KILO)
    if not dues:
        return met
    comes, keeps = _comes(model, take, scenario)
    left = problem.add_columns(np.zeros(dues), 0.0, keeps * KILO)
    waste = problem.add_columns(np.full(dues, model.disposal / KILO), 0.0, np.inf)
    rows = problem.add_rows(comes * KILO, comes * KILO, [RowName("supply", model.plot.crop, 0)] * dues)
    problem.add_entries(rows[tiers.due], met, 1.0)
    problem.add_entries(rows, left, 1.0)
    problem.add_entries(rows, waste, 1.0)
    problem.add_entries(rows[1:], left[:-1], -1.0)
    return met


def _comes(model: CropModel, take: Floats, scenario: int) -> tuple[Floats, Floats]:
    """Grams that come by each due day, and that are good after it, if nobody took any (dues,). [g]"""
    choices, dues = model.plot.choices, model.dues
    first, last = choices.first[scenario], choices.last[scenario]
    used = np.flatnonzero((take > 0) & (choices.how == CUT) & (first <= last))
    grams = choices.grams[scenario, used] * take[used]
    stock, lost = model.stock()
    comes, gone = np.zeros(dues), lost[:dues].copy()
    comes[0] = stock
    np.add.at(comes, first[used], grams)
    np.add.at(gone, last[used], grams)
    return comes, np.maximum(np.cumsum(comes) - np.cumsum(gone), 0.0)


def _live(problem: Model, model: CropModel, take: Floats, scenario: int) -> None:
    tiers, choices = model.all_live, model.plot.choices
    met = problem.add_columns(-tiers.worth, 0.0, tiers.amount[scenario])
    for due in np.unique(tiers.due):
        own = np.flatnonzero((take > 0) & (choices.how == LIVE) & (choices.due == due))
        there = np.array([float(choices.grams[scenario, own] @ take[own])])
        row = problem.add_rows(np.array([-np.inf]), there, [RowName("live", model.plot.crop, int(due))])
        problem.add_entries(row, met[tiers.due == due], 1.0)
