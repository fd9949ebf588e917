"""What there is room, clean kit and time for on a day."""

from __future__ import annotations

from datetime import date, datetime

from trayward.farm.calendar import local_day
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.farm.spots import free_spots
from trayward.farm.state import FarmState


def trays_that_fit(state: FarmState, recipe: Recipe, at: datetime) -> int:
    """How many trays of a recipe there are free spots and clean kit for."""
    first = recipe.stages[0]
    room = 10_000 if first.ground == "bench" else len(free_spots(state, first.ground, first.stack))
    kit = (state.kit[need.pool].ready(at) // need.each for need in recipe.kit if need.pool in state.kit)
    return max(0, min([room, *kit]))


def minutes_spent(state: FarmState, settings: FarmSettings, day: date) -> float:
    """Minutes of hands gone today: looking at trays, and cutting and washing up. [min]"""
    looks = len(settings.rounds)
    spent = sum(state.recipe_of(tray).minutes_look * looks for tray in state.growing())
    for tray in state.growing():
        if local_day(tray.sown_at, settings) == day:
            spent += state.recipe_of(tray).minutes_sow
    for tray in state.ended.values():
        if tray.fate == "cut" and tray.ended_at is not None and local_day(tray.ended_at, settings) == day:
            spent += state.recipe_of(tray).minutes_cut + state.recipe_of(tray).minutes_wash
    return spent
