"""The money of a decision: what it brings and costs in each scenario it was checked by, and what is expected."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from trayward.farm.recipes import wear_of
from trayward.plan.days import Floats
from trayward.plan.limits import HANDS, LIT, OFF
from trayward.plan.told import Told
from trayward.plan.types import PlanMoney


class Earned(NamedTuple):
    """What a plan brings and costs over its weeks, in each scenario it was checked by (s,). [farm's currency]"""

    sales: Floats
    packaging: Floats
    shortfall: Floats
    disposal: Floats
    spent: dict[str, float]
    """What is alike in all: seed, medium, feed and soap, hands and energy, the latter two in the mean."""
    unsure: Floats
    """What letting down costs by the plan's own prices, which also pay for being as sure as the farm wants."""

    @property
    def margin(self) -> Floats:
        """Sales less what they cost."""
        found: Floats = self.sales - self.packaging - self.disposal - sum(self.spent.values())
        return found

    @property
    def worth(self) -> Floats:
        """The margin less the price of letting down."""
        found: Floats = self.margin - self.shortfall
        return found

    @property
    def own(self) -> Floats:
        """What the plan is chosen by: the margin less the price of not being sure."""
        found: Floats = self.margin - self.unsure
        return found


def read_money(told: Told) -> PlanMoney:
    """What the plan is expected to bring and cost over its weeks; what standing trays cost before does not count."""
    made = earned(told)
    return PlanMoney(
        sales=round(float(made.sales.mean()), 2),
        packaging=round(float(made.packaging.mean()), 2),
        shortfall=round(float(made.shortfall.mean()), 2),
        disposal=round(float(made.disposal.mean()), 2),
        **{name: round(amount, 2) for name, amount in made.spent.items()},
    )


def earned(told: Told) -> Earned:
    """What the plan brings and costs in each scenario it was checked by."""
    money, served = told.settings.money, told.decision.served
    sales, packaging, shortfall, unsure = np.zeros((4, len(served.wasted)))
    for claim, met in zip(told.decision.claims, served.met, strict=True):
        unsure += float(told.task.prices[claim.want]) * (claim.amount - met)
        if claim.line < 0:
            want = told.task.wants[claim.want]
            sales += want.worth * met
            shortfall += want.regret * (claim.amount - met)
            continue
        due, live = told.lines[claim.line].line, claim.live
        whole = float(due.trays) if live else due.grams
        sales += due.value * met / whole
        packaging += money.packaging * due.packs * met / whole
        shortfall += money.shortfall * due.weight * due.value * (claim.amount - met) / whole
    sales += sum(line.line.value * sum(line.packed.values()) / line.line.grams
                 for line in told.lines if line.line.grams > 0)  # fmt: skip
    return Earned(sales, packaging, shortfall, served.wasted * money.disposal_kg / 1000, _spent(told), unsure)


def _spent(told: Told) -> dict[str, float]:
    """Seed, medium with the wear of kit, feed and soap, hands and energy of all trays. [farm's currency]"""
    found = dict.fromkeys(("seed", "medium", "supplies", "hands", "energy"), 0.0)
    money, pools, limits = told.settings.money, told.task.limits.pools, told.task.limits
    for plot, take in zip(told.decision.checked, told.decision.takes, strict=True):
        used = np.flatnonzero(take)
        for choice in used[plot.choices.way[used] >= 0].tolist():
            way = told.ways.ways[int(plot.choices.way[choice])]
            found["seed"] += way.seed_cost * float(take[choice])
            found["medium"] += (way.medium_cost + wear_of(way.recipe.kit, pools)) * float(take[choice])
            found["supplies"] += way.care_cost * float(take[choice])
        for limit, table in plot.uses.items():
            total = float(take[used] @ table[used].sum(axis=(1, 2))) / max(1, table.shape[1])
            if limit in (HANDS, OFF):
                found["hands"] += total * money.wage_h / 60
            elif limit == LIT:
                found["energy"] += total * limits.light_kwh() * money.energy_kwh
    return found
