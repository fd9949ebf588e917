"""The choices of each crop, in every scenario: how many trays to sow on which day and how long they may stand.

A plot is one crop with its due days, its wants and its choices. Of each choice it says, scenario by scenario, from
which due day on and up to which a tray can serve, what it weighs, and which days of which limits it takes up.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from trayward.plan.build import Stock
from trayward.plan.days import Floats, Ints
from trayward.plan.demand import CropDemand
from trayward.plan.limits import HANDS, OFF, Limits
from trayward.plan.seed import SeedStock
from trayward.plan.uses import DISCARD

Halves = NDArray[np.float32]
CLEARED = 0
"""How long trays stand ready that are cleared today; what is thrown away in its time stands longer. [d]"""


class Choices(NamedTuple):
    """One column a choice (n), one row a scenario (s)."""

    way: Ints
    """Number of the way to grow (n,); -1 for standing trays."""
    group: Ints
    """Number of the group of standing trays (n,); -1 for trays to be sown."""
    evening: NDArray[np.bool_]
    """Whether trays are sown in the evening, where others are in the morning (n,)."""
    sow: Ints
    stand: Ints
    """Days a ready tray may stand before it is cut (n,): a standing one just so long, others till they are first needed
    and then at the latest. One more than the window: the first due day is passed over."""
    how: Ints
    due: Ints
    """Number of the live due day (n,); -1 for trays to be cut."""
    upper: Floats
    cost: Floats
    """Of one tray, the mean over scenarios (n,). [currency]"""
    seed_g: Floats
    grams: Floats
    """When it is cut (s, n). [g]"""
    first: Ints
    """Number of the first due day it can serve (s, n)."""
    last: Ints
    """Number of the last; before the first where it serves none (s, n)."""
    leave: Ints
    """The day it leaves its spot: when it is first needed, or can stand no longer (s, n)."""
    ready: Ints


class Plot(NamedTuple):
    """One crop."""

    crop: str
    demand: CropDemand
    choices: Choices
    groups: list[tuple[int, Ints, float]]
    """Standing trays: the group's number, its choices, how many trays."""
    stock: list[Stock]
    seed: SeedStock | None
    uses: dict[int, Halves]
    """Limit -> how much of it each choice takes up, on each day, in each scenario that is counted (n, s, days)."""


def with_scenarios(plot: Plot, some: slice) -> Plot:
    """A plot with some of its scenarios; what choices take up stays that of those the plan is chosen by."""
    choices = plot.choices
    cut = choices._replace(
        grams=choices.grams[some],
        first=choices.first[some],
        last=choices.last[some],
        leave=choices.leave[some],
        ready=choices.ready[some],
    )
    return plot._replace(choices=cut)


def relieved(plots: Sequence[Plot], limits: Limits) -> tuple[list[Plot], Floats]:
    """
    Plots whose standing trays fit the spots and the kit, and by how much they do not, in the mean over scenarios.

    Trays that stand do so even where the book knows of too few spots or too little kit. They are counted as taking all
    there is, and no more: so none is thrown away for it, and nothing new is sown into it.

    Returns
    -------
    list of Plot, array
        The latter by limit and day. [the limit's unit]
    """
    press = np.zeros(limits.has.shape)
    tight = [limit for limit in range(len(limits.has)) if limit not in (HANDS, OFF)]
    found = [plot._replace(uses=dict(plot.uses)) for plot in plots]
    for limit in tight:
        need = sum((_standing_need(plot, limit) for plot in plots if limit in plot.uses), np.zeros((1, 1)))
        over = np.maximum(need - limits.has[limit], 0.0)
        if over.max() <= 1e-6:
            continue
        press[limit] = over.mean(axis=0)
        share = np.where(over > 0, limits.has[limit] / np.maximum(need, 1e-9), 1.0)
        for plot in found:
            if limit in plot.uses:
                stands = (plot.choices.way < 0)[:, None, None]
                plot.uses[limit] = np.where(stands, plot.uses[limit] * share, plot.uses[limit]).astype(np.float32)
    return found, press


def _standing_need(plot: Plot, limit: int) -> Floats:
    """What the standing trays somebody wants take up, each leaving as soon as it can (s, days)."""
    choices = plot.choices
    need = np.zeros(plot.uses[limit].shape[1:])
    for _, own, size in plot.groups:
        leaves = own[choices.how[own] != DISCARD]
        if len(leaves):
            need += size * plot.uses[limit][leaves[np.argmin(choices.stand[leaves])]]
    return need
