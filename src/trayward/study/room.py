"""Making room: germinating trays that stand alone are stacked, as the plan counts them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection

from trayward.farm.places import floor_position
from trayward.farm.spots import find_spot, stage_of
from trayward.farm.state import FarmState, Tray


def stacked_up(state: FarmState, turning: Collection[str] = ()) -> dict[str, str]:
    """
    Moves that stack trays which stand lower than their stage allows; each tray moves at most once.

    Parameters
    ----------
    turning : collection of str
        Trays that want to go on and need a floor position each: what shares theirs is stacked elsewhere first, so that
        they may stay where they are.
    """
    alone: list[Tray] = []
    beside: list[Tray] = []
    for standing in _by_floor(state).values():
        staying = [tray for tray in standing if tray.tray not in turning]
        if len(staying) == 1 and _may_be_stacked(state, staying[0]):
            (alone if len(standing) == 1 else beside).append(staying[0])
    pairs = list(zip(beside, alone, strict=False))
    left = alone[len(pairs) :]
    half = len(left) // 2
    pairs += zip(left[half * 2 - 1 : half - 1 : -1], left[:half], strict=False)
    return {mover.tray: spot for mover, other in pairs if (spot := _above(state, other)) is not None}


def _by_floor(state: FarmState) -> dict[str, list[Tray]]:
    found: dict[str, list[Tray]] = defaultdict(list)
    for spot, name in state.spots.items():
        found[floor_position(spot)].append(state.trays[name])
    return found


def _may_be_stacked(state: FarmState, tray: Tray) -> bool:
    stage = stage_of(state, tray)
    place = find_spot(state, tray.spot) if tray.spot else None
    return stage is not None and stage.stack > 1 and place is not None and place[0].stack > 1


def _above(state: FarmState, tray: Tray) -> str | None:
    """A free level on the floor position where a tray stands."""
    place = find_spot(state, tray.spot or "")
    if place is None:
        return None
    floor = floor_position(tray.spot or "")
    levels = (spot for spot in place[0].spot_names() if floor_position(spot) == floor)
    return next((spot for spot in levels if spot not in state.spots), None)
