"""All crops in one linear model with a few scenarios each: parts of trays and prices to begin the search with.

The limits are weighed in the mean over all scenarios here; the search that follows weighs them in each, too.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from trayward.plan.crop_model import CropModel
from trayward.plan.days import Floats, Ints
from trayward.plan.mix_worths import tie_mixes
from trayward.plan.model import Model, RowName
from trayward.plan.plots import Plot
from trayward.plan.prices import Shared, use_of_all
from trayward.plan.solve import Again
from trayward.plan.uses import CUT

SPARE, SPARE_ROUNDS = 1.5, 1
"""So many standard deviations of what is taken up are kept free of each limit, once they are known. [-]"""


class Begun(NamedTuple):
    """Where the search begins."""

    parts: list[Floats]
    """Parts of trays of each crop's choices."""
    price: Floats
    """What one more of each limit is worth (limits, days). [currency]"""


def few_scenarios(plot: Plot, count: int) -> Ints:
    """Scenarios that stand for all: one from the middle of each part, from the lightest to the heaviest."""
    choices = plot.choices
    grams = np.where((choices.how == CUT)[None, :] & (choices.first <= choices.last), choices.grams, 0.0)
    order = np.argsort(grams.sum(axis=1), kind="stable")
    count = min(count, len(order))
    return order[((np.arange(count) + 0.5) * len(order) / count).astype(np.int64)]


def begin(shared: Shared, models: Sequence[CropModel], *, told: bool = True) -> Begun:
    """
    Solve all crops together.

    Parameters
    ----------
    models : sequence of CropModel
        Of a few scenarios each; their plots have all.
    told : bool
        Whether prices are told or proven by: what one more of a limit is worth if it is not to be gone beyond. Else
        they are those of limits that give way.
    """
    if not models:
        return Begun([], np.zeros(shared.has.shape))
    joint = Model()
    first = [_put_in(joint, model) for model in models]
    tie_mixes(joint, models, first)
    rows, over = _limit_rows(joint, shared, models, first)
    solver = Again(joint)
    for more in range(SPARE_ROUNDS + 1):
        values, _ = solver.solve()
        parts = [values[at + model.take] for at, model in zip(first, models, strict=True)]
        if more < SPARE_ROUNDS:
            spare = SPARE * use_of_all(shared, models, parts).std(axis=1)
            solver.set_row_tops(rows.ravel(), np.maximum(shared.has - spare, 0.0).ravel())
    if told:
        solver.set_costs(over.ravel(), np.repeat(shared.firm, over.shape[1]))
        solver.solve()
    price = np.maximum(0.0, -solver.row_prices()[rows])
    return Begun(parts, price)


def _put_in(joint: Model, model: CropModel) -> int:
    at = joint.append(model.model, whole=False)
    spans, scenarios = model.spans.lesser, model.scenarios
    if len(spans):
        span, scenario = np.repeat(spans, scenarios), np.tile(np.arange(scenarios), len(spans))
        found = model.spans.gives[span, scenario]
        names = [RowName("span", model.plot.crop, 0)] * len(span)
        rows = joint.add_rows(np.full(len(span), -np.inf), model.spans.stock[span, scenario], names)
        row, column = np.nonzero(found)
        joint.add_entries(rows[row], at + model.take[column], -found[row, column].astype(float))
        ends, due = model.spans.ends[span], model.cut.due
        row, want = np.nonzero((due >= ends[:, :1]) & (due <= ends[:, 1:]))
        joint.add_entries(rows[row], at + model.met[scenario[row], want], 1.0)
    return at


def _limit_rows(joint: Model, shared: Shared, models: Sequence[CropModel], first: Sequence[int]) -> tuple[Ints, Ints]:
    """A row for each limit and day, and a column for what goes beyond it (limits, days)."""
    count, days = shared.has.shape
    has = np.where(np.isfinite(shared.has), shared.has, np.inf).ravel()
    names = [RowName("limit", str(number), day) for number in shared.numbers for day in range(days)]
    rows = joint.add_rows(np.full(count * days, -np.inf), has, names).reshape(count, days)
    beyond = np.zeros((count, days), dtype=np.int64)
    for place, number in enumerate(shared.numbers):
        for model, at in zip(models, first, strict=True):
            if number in model.plot.uses:
                mean = model.plot.uses[number].mean(axis=1)
                choice, day = np.nonzero(mean)
                joint.add_entries(rows[place, day], at + model.take[choice], mean[choice, day].astype(float))
        beyond[place] = joint.add_columns(np.full(days, shared.beyond[place]), 0.0, np.inf)
        joint.add_entries(rows[place], beyond[place], -1.0)
    return rows, beyond
