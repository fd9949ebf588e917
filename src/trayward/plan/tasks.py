"""What every plan is made from, whether over one cautious future or over many."""

from __future__ import annotations

from datetime import datetime

import numpy as np

from trayward.farm.calendar import local_day
from trayward.farm.holds import lot_held
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.plan.build import Stock, Task
from trayward.plan.days import Days
from trayward.plan.demand import CropDemand, Want
from trayward.plan.limits import Limits
from trayward.plan.ways import Ways


def task_of(
    state: FarmState, at: datetime, days: Days, wants: list[Want], demand: dict[str, CropDemand], ways: Ways
) -> Task:
    """The task of a farm, before its trays that stand and the prices of letting down are put in."""
    settings = state.settings_or_usual
    limits = Limits(state, settings, days, at)
    return Task(
        days=days,
        wants=wants,
        prices=np.zeros(len(wants)),
        demand=demand,
        limits=limits,
        standing=[],
        seed=ways.seed,
        stock=_stock(state, settings, days),
        disposal=settings.money.disposal_kg / 1000,
        press=np.zeros(limits.has.shape),
    )


def _stock(state: FarmState, settings: FarmSettings, days: Days) -> list[Stock]:
    """Cut crop in the cold room that is still good, and not held back."""
    found = []
    for lot in state.harvests.values():
        last = days.index(local_day(lot.cut_at, settings)) + lot.cold_room_days
        if lot.left_g > 0 and last >= 0 and not lot_held(state, lot):
            found.append(Stock(harvest=lot.harvest, crop=lot.crop, grams=lot.left_g, last=last))
    return found


def way_notes(ways: Ways, limits: Limits) -> list[str]:
    """What was found odd about the ways to grow, and the kit they name that the farm has not set up."""
    pools = {need.pool for way in ways.ways for need in way.recipe.kit} - set(limits.pool_number)
    kit = [f"Kit {pool!r} is named by a recipe but not set up; the plan does not count it." for pool in sorted(pools)]
    return [*ways.notes, *kit]
