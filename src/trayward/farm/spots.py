"""Spots: which are free, in walking order, and what speaks against putting a tray on one.

A spot holds one tray, ever. On a shelf that takes stacks a floor position has several spots, one above the other; the
trays of a floor position may not be more than the smallest stack that the stages standing there allow.
"""

from __future__ import annotations

import re
import string
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Literal

from trayward.errors import Finding
from trayward.farm.places import Shelf, shelf_of, spot_name
from trayward.farm.recipes import Stage, stage_called
from trayward.farm.state import FarmState, Tray

UNMOVED: Mapping[str, str | None] = {}
"""Nothing is being moved at the same time."""
UNTURNED: Mapping[str, Stage] = {}
"""No tray begins a stage at the same time."""


def find_spot(state: FarmState, spot: str) -> tuple[Shelf, int, int] | None:
    """The shelf, floor position (from 1) and level (from 0) of a spot, or None if the farm has no such spot."""
    shelf = state.shelves.get(shelf_of(spot))
    if shelf is None:
        return None
    place = spot[len(shelf.name) + 1 :]
    level = string.ascii_lowercase.find(place[-1:]) if shelf.stack > 1 else 0
    digits = place[:-1] if shelf.stack > 1 else place
    if not (digits.isascii() and digits.isdigit()) or not 0 <= level < shelf.stack:
        return None
    position = int(digits)
    if not 1 <= position <= shelf.spots or spot_name(shelf.name, position, level, shelf.stack) != spot:
        return None
    return shelf, position, level


def stage_of(state: FarmState, tray: Tray) -> Stage | None:
    """The stage a tray is in, as its recipe has it now; None where the recipe no longer has it."""
    return stage_called(state.recipes.get(tray.recipe), tray.stage)


def holder_of(state: FarmState, spot: str, moved: Mapping[str, str | None] = UNMOVED) -> str | None:
    """Who stands on a spot, once what is moved has moved."""
    return moved[spot] if spot in moved else state.spots.get(spot)


def walking_shelves(state: FarmState) -> list[Shelf]:
    """The shelves in walking order: by their place in the round, then by name, `A2` before `A10`."""
    return sorted(state.shelves.values(), key=_walking_key)


def free_spots(
    state: FarmState,
    ground: Literal["dark", "lit"],
    stack: int,
    *,
    moved: Mapping[str, str | None] = UNMOVED,
    turning: Mapping[str, Stage] = UNTURNED,
) -> list[str]:
    """
    The spots that trays of one stage may go to, in walking order.

    Parameters
    ----------
    state : FarmState
        The farm now.
    ground : "dark" or "lit"
        What kind of shelf the stage needs.
    stack : int
        How many trays the stage allows on each other, the lowest counted.
    moved : mapping of spot to tray or None, optional
        Spots that change hands at the same moment: who stands there afterwards, None for nobody.
    turning : mapping of tray to Stage, optional
        Trays that begin a stage at the same moment, and which: what may stand on them is what that stage allows.

    Returns
    -------
    list of str
        By shelf, floor position and level, so that taking the first n of the list leaves no gap in a stack: an upper
        level comes only where the lower one is taken or comes just before it.
    """
    return [
        spot
        for shelf in walking_shelves(state)
        if shelf.kind == ground
        for position in range(1, shelf.spots + 1)
        for spot in _free_levels(state, shelf, position, stack, moved, turning)
    ]


def spot_problem(
    state: FarmState,
    spot: str,
    stage: Stage,
    *,
    tray: str = "",
    moved: Mapping[str, str | None] = UNMOVED,
) -> Finding | None:
    """
    What speaks against putting a tray in some stage on a spot.

    Parameters
    ----------
    state : FarmState
        The farm now.
    spot : str
        Where it is to stand.
    stage : Stage
        The stage it is in then.
    tray : str, optional
        Its name, for the message.
    moved : mapping of spot to tray or None, optional
        Spots that change hands at the same moment: who stands there afterwards, None for nobody.

    Returns
    -------
    Finding or None
        `spot-unknown`, `spot-taken` and `stack-too-high` are wrong, `spot-ground` (wrong kind of shelf) is odd.
    """
    found = find_spot(state, spot)
    who = f"tray {tray}" if tray else "another tray"
    if found is None:
        return _wrong("spot-unknown", f"spot {spot} = none: the farm has no spot of that name.", _near(state, spot))
    holder = holder_of(state, spot, moved)
    if holder is not None:
        message = f"spot {spot} = tray {holder}: a spot holds one tray, and {who} cannot stand there too."
        return _wrong("spot-taken", message, f"Name a free spot, or say first where {holder} went.")
    return _stack_problem(state, found, stage, moved) or _ground_problem(spot, found[0], stage)


def _stack_problem(
    state: FarmState, found: tuple[Shelf, int, int], stage: Stage, moved: Mapping[str, str | None]
) -> Finding | None:
    shelf, position, _ = found
    if shelf.stack == 1:
        return None
    others = list(_trays_at(state, shelf, position, moved))
    limit = min([stage.stack, *(_stack_of(state, other, stage) for other in others)])
    if len(others) < limit:
        return None
    floor = spot_name(shelf.name, position, 0, 1)
    message = f"stack at {floor} = {len(others) + 1} trays: what stands there may be stacked {limit} high."
    return _wrong("stack-too-high", message, "Put it on another floor position.")


def _ground_problem(spot: str, shelf: Shelf, stage: Stage) -> Finding | None:
    if stage.ground in ("bench", shelf.kind):
        return None
    message = f"spot {spot} = {shelf.kind} shelf: the stage {stage.name!r} wants a {stage.ground} one."
    return Finding(code="spot-ground", severity="odd", message=message, remedy=f"Move it to a {stage.ground} shelf.")


def _free_levels(
    state: FarmState,
    shelf: Shelf,
    position: int,
    stack: int,
    moved: Mapping[str, str | None],
    turning: Mapping[str, Stage],
) -> Iterator[str]:
    if shelf.stack == 1:
        # Nearly all spots of a large farm: nothing to be weighed against what stands above or below.
        name = spot_name(shelf.name, position, 0, 1)
        if stack >= 1 and holder_of(state, name, moved) is None:
            yield name
        return
    names = [spot_name(shelf.name, position, level, shelf.stack) for level in range(shelf.stack)]
    held = {name: holder for name in names if (holder := holder_of(state, name, moved)) is not None}
    stages = [turning.get(tray) or stage_of(state, state.trays[tray]) for tray in held.values()]
    limit = min([shelf.stack, stack, *(stage.stack for stage in stages if stage)])
    free = [name for name in names if name not in held]
    yield from free[: max(0, limit - len(held))]


def _trays_at(state: FarmState, shelf: Shelf, position: int, moved: Mapping[str, str | None]) -> Iterator[str]:
    for level in range(shelf.stack):
        holder = holder_of(state, spot_name(shelf.name, position, level, shelf.stack), moved)
        if holder is not None:
            yield holder


def _stack_of(state: FarmState, tray: str, same_sowing: Stage) -> int:
    """How high a tray may be stacked; one that is only now being sown is in the same stage as its neighbours."""
    standing = state.trays.get(tray)
    stage = stage_of(state, standing) if standing is not None else same_sowing
    return stage.stack if stage is not None else 1


def _walking_key(shelf: Shelf) -> tuple[int, tuple[tuple[int, str], ...]]:
    return shelf.order, _by_number(shelf.name)


@lru_cache(maxsize=4096)
def _by_number(name: str) -> tuple[tuple[int, str], ...]:
    parts = re.findall(r"\d+|\D+", name)
    return tuple((int(part), "") if part.isdecimal() else (-1, part) for part in parts)


def _near(state: FarmState, spot: str) -> str:
    shelf = state.shelves.get(shelf_of(spot))
    if shelf is None:
        known = ", ".join(shelf.name for shelf in walking_shelves(state)[:8])
        return f"Shelves: {known}." if known else "Set up the shelves first."
    names = shelf.spot_names()
    return f"Shelf {shelf.name} has {names[0]} to {names[-1]}." if names else f"Shelf {shelf.name} is closed."


def _wrong(code: str, message: str, remedy: str) -> Finding:
    return Finding(code=code, severity="wrong", message=message, remedy=remedy)
