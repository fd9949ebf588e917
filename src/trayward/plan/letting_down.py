"""What letting an order down costs beyond the sale: by the account, as a promise, and to be as sure as is wished.

Where there is room for all, the largest of the three. Where lines want the same scarce places the last two would choose
by what is dear to grow or small, and not by what brings and matters most; there every line is raised alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from trayward.farm.settings import FarmSettings
from trayward.plan.build import Task
from trayward.plan.crop_model import CropModel, asked_of
from trayward.plan.days import Bools, Floats
from trayward.plan.demand import OpenLine, Want, for_sure, promise
from trayward.plan.joint import begin, few_scenarios
from trayward.plan.plots import Plot, with_scenarios
from trayward.plan.prices import shared_limits
from trayward.plan.uses import CUT, LIVE

FEW = 3
"""Scenarios of each crop in the linear model that says where places are scarce. [-]"""
SCARCE = 0.3
"""There is no room for all where what a gram's places could earn for others is this share of what growing it costs. It
was chosen on one season of `loft tight`. [-]"""
LEAST_GRAMS = 1.0
"""So much a tray weighs at least, for what a gram of it costs. [g]"""


class LettingDown(NamedTuple):
    """What letting down one gram or live tray of each want costs beyond the sale (wants,). [currency]"""

    account: Floats
    """By what the farm says."""
    promised: Floats
    """That makes growing even the smallest of its lines worth a tray."""
    sure: Floats
    """That makes it worth sowing until it is met as often as the farm wants."""
    worth: Floats
    amount: Floats

    def with_room(self) -> Floats:
        """Where there is room for all."""
        return np.maximum(self.account, np.maximum(self.promised, self.sure))

    def without(self) -> Floats:
        """Where there is not: all are raised alike, by as much as being sure raises them together."""
        account, sure = self.worth + self.account, self.worth + np.maximum(self.account, self.sure)
        raised = float(self.amount @ sure) / max(float(self.amount @ account), 1e-9)
        return raised * account - self.worth

    def where(self, room: Floats) -> Floats:
        """With so much room for each want (wants,), 1: for all of it. [-]"""
        return np.maximum(self.account, room * self.with_room() + (1 - room) * self.without())


def letting_downs(
    wants: Sequence[Want], lines: Sequence[OpenLine], plots: Sequence[Plot], settings: FarmSettings
) -> LettingDown:
    """What letting down costs, by the crops' plots with all their scenarios."""
    trays = {}
    for plot in plots:
        sown = (plot.choices.way >= 0) & (plot.choices.how == CUT)
        if sown.any():
            trays[plot.crop] = float(plot.choices.cost[sown].min()), float(np.median(plot.choices.grams[:, sown]))
    promised, sure = [], []
    for want in wants:
        cost = sum(
            (trays[crop][0] if want.live else trays[crop][0] / max(trays[crop][1], LEAST_GRAMS)) * share
            for crop, share in want.parts
            if crop in trays
        )
        # Nobody has asked yet for what usually comes: no promise makes it worth growing at a loss.
        pays = bool(want.lines) or want.worth + want.regret > cost
        promised.append(promise(want, list(lines), trays) if want.lines else 0.0)
        sure.append(for_sure(want.worth, cost, settings.caution) if pays else 0.0)
    account, worth, amount = (np.array([getattr(w, name) for w in wants]) for name in ("regret", "worth", "amount"))
    return LettingDown(account, np.array(promised), np.array(sure), worth, amount)


# Room -----------------------------------------------------------------------------------------------------------------


def room_for(task: Task, whole: Sequence[Plot], amounts: Floats, scenarios: int) -> Floats:
    """
    How much room there is for each want: whether its places could earn more for others.

    Parameters
    ----------
    task : Task
        With the prices that hold where there is room.
    amounts : array
        How much of each want there is in each scenario (s, wants).
    scenarios : int
        So many of them are looked at, the first.

    Returns
    -------
    array
        (wants,) 1: places are free; 0: what they could earn is `SCARCE` of what growing costs, or more. [-]
    """
    if not whole or not task.wants:
        return np.ones(len(task.wants))
    count = min(scenarios, len(amounts))
    plots = [with_scenarios(plot, slice(0, count)) for plot in whole]
    models = [
        CropModel(plot, asked_of(plot, task.wants, task.prices, amounts[:count]), task.disposal,
                  few_scenarios(plot, FEW))
        for plot in plots
    ]  # fmt: skip
    shared = shared_limits(task.limits, models, count)
    price = begin(shared, models, told=False).price
    rents = {plot.crop: (plot, _rent(plot, shared.numbers, price)) for plot in plots}
    return np.array([_room(want, rents) for want in task.wants])


def _rent(plot: Plot, numbers: Sequence[int], price: Floats) -> Floats:
    """What the places of a tray of each choice could earn (n,). [currency]"""
    rent = np.zeros(len(plot.choices.way))
    for place, number in enumerate(numbers):
        if number in plot.uses:
            rent += plot.uses[number].mean(axis=1) @ price[place]
    return rent


def _room(want: Want, rents: dict[str, tuple[Plot, Floats]]) -> float:
    """Of one want; by the choice of each part that is cheapest, its places paid for."""
    cost = rent = 0.0
    for crop, share in want.parts:
        plot, of_trays = rents.get(crop, (None, None))
        if plot is None or of_trays is None:
            continue
        able = _able(plot, want)
        if able.any():
            grams = 1.0 if want.live else np.maximum(np.median(plot.choices.grams, axis=0), LEAST_GRAMS)
            costs, own = plot.choices.cost / grams, of_trays / grams
            best = np.flatnonzero(able)[np.argmin((costs + own)[able])]
            cost, rent = cost + share * float(costs[best]), rent + share * float(own[best])
    return 1.0 - min(1.0, rent / cost / SCARCE) if cost > 0 else 1.0


def _able(plot: Plot, want: Want) -> Bools:
    """Which choices to sow are likely to serve a want (n,)."""
    choices = plot.choices
    if want.live:
        due = sorted(plot.demand.live).index(want.day)
        found: Bools = (choices.way >= 0) & (choices.how == LIVE) & (choices.due == due)
        return found
    due = int(np.searchsorted(plot.demand.days, want.day))
    likely = ((choices.first <= due) & (choices.last >= due)).mean(axis=0) > 1 / 2
    able: Bools = (choices.way >= 0) & (choices.how == CUT) & likely
    return able
