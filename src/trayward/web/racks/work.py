"""Long work of the racks: the outlook of every tray that stands."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta

from trayward.bootstrap import Farm
from trayward.farm.state import FarmState
from trayward.outlook.types import TrayOutlook
from trayward.web.ask import Ask
from trayward.web.work import Long, job

GOOD_FOR = timedelta(minutes=30)
"""An outlook of every tray is taken as it is for so long, as long as no tray is missing or has gone on. Our choice."""


def standing(farm: Farm, at: datetime) -> dict[str, TrayOutlook]:
    """What is likely of every tray that grows."""
    state, ahead = farm.state(at), farm.outlook(at)
    return {tray.tray: ahead.standing(tray) for tray in state.growing() if tray.recipe in state.recipes}


job("standing", standing)


def told_of_standing(ask: Ask) -> Long[dict[str, TrayOutlook]]:
    """The newest outlook of the standing trays; worked out anew where it is old, or trays have come or gone on."""
    newest: Long[dict[str, TrayOutlook]] = ask.newest("standing")
    recent = newest.as_of is not None and abs(ask.at - newest.as_of) < GOOD_FOR
    if recent and newest.value is not None and fits(ask.farm.state(ask.at), newest.value):
        return newest
    return ask.long("standing")


def fits(state: FarmState, told: Mapping[str, TrayOutlook]) -> bool:
    """Whether it tells of every tray that grows, in the stage it is in now."""
    for tray in state.growing():
        known = told.get(tray.tray)
        if known is None:
            if tray.recipe in state.recipes:
                return False
        elif known.stages and known.stages[0].stage != tray.stage:
            return False
    return True
