"""Sowings of today that find too little room, and the moves of other trays that would make some."""

from __future__ import annotations

from trayward.farm.state import FarmState
from trayward.rounds.restack import Restack, restack_to_sow
from trayward.web.sow.view import DayShown


def stacking_of(today: DayShown, state: FarmState) -> dict[int, Restack]:
    """Number of a sowing of today -> the moves that make room for it, where there is too little and they make some."""
    found: dict[int, Restack] = {}
    for one in today.sowings:
        recipe = state.recipes.get(one.recipe)
        begin = recipe.stages[0] if recipe is not None else None
        if begin is not None and begin.ground != "bench":
            made = restack_to_sow(state, begin.ground, begin.stack, one.first)
            if made is not None:
                found[one.number] = made
    return found
