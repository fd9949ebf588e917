"""Rows of cut trays of which only the weight and what they are grouped by matter."""

from __future__ import annotations

from datetime import datetime

from trayward.farm.recipes import Recipe
from trayward.outlook.rows import YieldRow


def plain_row(
    name: str, recipe: Recipe, log_grams_per_cm2: float, *, sowing: str, lot: str, season: int, at: datetime
) -> YieldRow:
    """A tray sown, warmed and lit as usual, and cut on the day it was ready."""
    return YieldRow(
        tray=name,
        sowing=sowing,
        recipe=recipe.name,
        crop=recipe.crop,
        medium=recipe.medium.name,
        lot=lot,
        season=season,
        log_grams_per_cm2=log_grams_per_cm2,
        waited_days=0.0,
        log_density=0.0,
        log_pace=0.0,
        log_light=0.0,
        blackout_extra=0.0,
        at=at,
        trial="",
    )
