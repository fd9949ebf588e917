"""Which level each tray of a trial was sown for."""

from __future__ import annotations

from datetime import date

from trayward.farm.calendar import local_day
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.farm.trials import Trial


def trial_levels(state: FarmState, trial: Trial, settings: FarmSettings) -> dict[str, float]:
    """
    The level that each tray of a trial was sown for, by the order drawn for its day.

    A day on which some of the trial's trays were sown by hand has no such order; its trays are left out. [1/cm2], [d]
    """
    days: dict[date, dict[str, list[str]]] = {}
    for tray in (*state.trays.values(), *state.ended.values()):
        if tray.trial == trial.name:
            days.setdefault(local_day(tray.sown_at, settings), {}).setdefault(tray.sowing, []).append(tray.tray)
    levels: dict[str, float] = {}
    for number, day in enumerate(sorted(days)):
        sowings = sorted(days[day], key=lambda sowing: (len(sowing), sowing))  # as they were named, A to Z
        order = trial.orders[number] if number < len(trial.orders) else trial.levels
        if len(sowings) == len(order):
            for sowing, level in zip(sowings, order, strict=True):
                levels |= dict.fromkeys(days[day][sowing], level)
    return levels
