"""A farm's own looks at one stage of a crop, each with how warm its room was: what a base temperature is fitted to."""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import datetime

from trayward.farm.state import FarmState, StageStep, Tray
from trayward.outlook.clock import DAY, Climate
from trayward.outlook.row_reader import LEAST_DAYS, RowReader
from trayward.science.growth import LINEAR_TO_C
from trayward.science.warm_fit import WarmLook

FLOOR_C = -10.0
"""Warmth is averaged above this, below every base: so the mean of the degrees that count can be had again. [°C]"""


def warm_looks(state: FarmState, at: datetime, crop: str, stage: str) -> list[WarmLook]:
    """
    What a farm's trays of a crop showed of one stage, where their room's temperature was logged.

    Parameters
    ----------
    state : FarmState
        The farm.
    at : datetime
        Now.
    crop, stage : str
        Which crop, and which of its stages.

    Returns
    -------
    list of WarmLook
        A look for each tray that was seen through the stage, or is known to last longer; warmth beyond 25 °C counts as
        25 °C.
    """
    climate = Climate(state, at)
    reader = RowReader(state, climate)
    trays = (*state.ended.values(), *state.trays.values())
    return [look for tray in trays if tray.crop == crop for look in _of_tray(tray, stage, state, climate, reader)]


def _of_tray(tray: Tray, stage: str, state: FarmState, climate: Climate, reader: RowReader) -> Iterable[WarmLook]:
    trial = state.trials.get(tray.trial) if tray.trial else None
    if trial is not None and trial.what == "blackout":
        return  # a trial set how long it stood in the dark
    for number, step in enumerate(tray.steps):
        room = climate.room_of(step.spot)
        if step.stage != stage or not climate.logged(room):
            continue
        bounds = _bounds(tray, number, step, reader)
        if bounds is not None:
            low, high, until = bounds
            yield WarmLook(temp_c=_mean_c(climate, room, step.since, until), low_d=low, high_d=high)


def _bounds(tray: Tray, number: int, step: StageStep, reader: RowReader) -> tuple[float, float, datetime] | None:
    """Between which days of the calendar a stage ended, and until when its warmth counts; None: nobody looked."""
    if step.until is None:
        seen = step.last_not_yet
        return ((seen - step.since) / DAY, math.inf, seen) if seen is not None and seen > step.since else None
    high = (step.until - step.since) / DAY
    looked = reader.looked_before(tray, number)
    low = (looked - step.since) / DAY if looked is not None else 0.0
    return (max(0.0, min(low, 0.999 * high)), high, step.until) if high > LEAST_DAYS else None


def _mean_c(climate: Climate, room: str, since: datetime, until: datetime) -> float:
    """Mean of the temperatures of a room, none counted above 25 °C. [°C]"""
    pace = climate.mean_pace(room, FLOOR_C, LINEAR_TO_C, since, until)
    return FLOOR_C + pace * (LINEAR_TO_C - FLOOR_C)
