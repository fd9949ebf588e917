"""What there is room, clean kit and time for on a day."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from trayward.farm.calendar import local_day
from trayward.farm.recipes import KitNeed, Recipe, Stage
from trayward.farm.settings import FarmSettings
from trayward.farm.spots import free_spots
from trayward.farm.state import FarmState

DAY = timedelta(days=1)


def trays_that_fit(state: FarmState, recipe: Recipe, at: datetime) -> int:
    """
    How many trays of a recipe there are free spots and clean kit for.

    What is needed only once a soak is over may dry meanwhile; what trays in their soak will take is theirs.
    """
    first = recipe.stages[0]
    room = 10_000 if first.ground == "bench" else len(free_spots(state, first.ground, first.stack))
    return max(0, min([room, *(_kit_for(state, recipe, need, at) for need in recipe.kit if need.pool in state.kit)]))


def _kit_for(state: FarmState, recipe: Recipe, need: KitNeed, at: datetime) -> int:
    """For how many trays of a recipe, sown now, there will be kit when they need it."""
    first, pool = recipe.stages[0], state.kit[need.pool]
    if not _after_first(first, need):
        return pool.ready(at) // need.each
    return (pool.ready(at + first.days_typical * DAY) - _spoken_for(state, need.pool)) // need.each


def _spoken_for(state: FarmState, pool: str) -> int:
    """How much of a pool trays in their first stage will take once it is over."""
    return sum(
        need.each
        for tray in state.growing()
        for need in state.recipe_of(tray).kit
        if need.pool == pool and tray.stage == state.recipe_of(tray).stages[0].name
        and _after_first(state.recipe_of(tray).stages[0], need)
    )  # fmt: skip


def _after_first(first: Stage, need: KitNeed) -> bool:
    """Whether a tray takes kit only after its first stage."""
    return bool(need.stages) and first.name not in need.stages


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
