"""What a farm's own trays teach, as plain rows: what each weighed, how long its stages took, whether it was lost.

`row_reader` reads them from trays. Lengths are in standard days (`outlook.clock`).
"""

from __future__ import annotations

from datetime import date, datetime
from typing import NamedTuple

from trayward.errors import Finding

FIRST_MONDAY = date(2024, 1, 1)
"""Seasons are counted from this Monday on."""
SEASON_DAYS = 28
"""A season is four weeks: long enough for some sowings of each recipe, short enough for the weather to hold. [d]"""


class YieldRow(NamedTuple):
    """What one cut tray weighed, and what may have moved that. Logs are natural; 0 stands for unknown or usual."""

    tray: str
    sowing: str
    """Group of trays that shared seed, water and hands: recipe, main lot and day, with bars in between."""
    recipe: str
    crop: str
    medium: str
    lot: str
    season: int
    log_grams_per_cm2: float
    waited_days: float
    """Days it stood ready before it was cut, never more than the recipe's cut window. [d]"""
    log_density: float
    """Log of live seeds sown over the recipe's. [-]"""
    log_pace: float
    """Log of the mean pace over its growing stages. [-]"""
    log_light: float
    """Log of the daily light it stood in over the farm's median shelf. [-]"""
    blackout_extra: float
    """Standard days under a blackout cover beyond the recipe's. [d]"""
    at: datetime
    trial: str


class StageRow(NamedTuple):
    """How long one stage of a tray lasted: more than `low`, at most `high`. [standard d]"""

    tray: str
    stage: str
    recipe: str
    sowing: str
    lot: str
    season: int
    low: float
    """0 where nobody looked before it was over."""
    high: float
    """Infinite where it still goes on, or was cut short."""
    at: datetime


class LossRow(NamedTuple):
    """Whether a tray that has ended was lost before anybody could use it."""

    tray: str
    recipe: str
    crop: str
    sowing: str
    lot: str
    season: int
    lost: bool
    at: datetime


class Rows(NamedTuple):
    """What some trays teach, and what in their record does not add up."""

    yields: list[YieldRow]
    stages: list[StageRow]
    losses: list[LossRow]
    findings: list[Finding]

    @classmethod
    def none(cls) -> Rows:
        """No rows yet."""
        return cls([], [], [], [])


class Birth(NamedTuple):
    """What a tray shares with its sowing."""

    group: str
    lot: str
    season: int


def season_of(day: date) -> int:
    """The season a day lies in."""
    return (day - FIRST_MONDAY).days // SEASON_DAYS
