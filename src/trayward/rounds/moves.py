"""Where trays go when they begin a stage: off the dark shelf, out of the stack, or nowhere because they stand right."""

from __future__ import annotations

import string
from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Literal

from trayward.errors import InputError
from trayward.farm.places import floor_position, shelf_of
from trayward.farm.recipes import Stage
from trayward.farm.spots import find_spot, free_spots, stage_of
from trayward.farm.state import FarmState, Tray
from trayward.rounds.restack import NoRoomError, Restack, no_room, restack
from trayward.rounds.scene import follows, is_last, spot_order
from trayward.words import counted, listed


def new_spots(
    state: FarmState,
    turning: Mapping[str, Stage],
    spots: Sequence[str] | None = None,
    wished: Mapping[str, str] | None = None,
) -> dict[str, str]:
    """
    New spots for trays that begin a stage.

    Counted is how things stand once all of them have gone on: what their new stages bear, and the spots they leave.

    Parameters
    ----------
    state : FarmState
        The farm now.
    turning : mapping of tray to Stage
        The stage each is about to begin.
    spots : sequence of str, optional
        Where they are to go: one for each tray that has to move, or one for every tray turned. The first free spots in
        walking order if left out.
    wished : mapping of tray to spot, optional
        Spots to prefer, where they are still free.

    Returns
    -------
    dict of tray to spot
        Only the trays that move.

    Raises
    ------
    NoRoomError
        If too few spots are free; it says which moves of others would make room, where any would.
    InputError
        If the number of spots named fits neither.
    """
    moving = must_move(state, turning)
    if spots is not None:
        return _as_said(list(turning), moving, spots)
    found: dict[str, str] = {}
    moved: dict[str, str | None] = {spot: None for name in moving if (spot := state.trays[name].spot)}
    # Trays that bear nothing choose first: they need a floor to themselves, the others fit in beside each other.
    for (ground, stack), names in sorted(by_need(turning, moving).items(), key=lambda need: need[0][1]):
        free = free_spots(state, ground, stack, moved=moved, turning=turning)
        if len(free) < len(names):
            raise _no_room(state, turning, (ground, stack), len(free), names)
        given = _given_out(names, free, wished or {})
        found.update(given)
        moved |= {spot: name for name, spot in given.items()}
    return {name: found[name] for name in moving}


def restack_to_turn(state: FarmState, trays: Sequence[str]) -> Restack | None:
    """The moves of others that make room for trays to go on to their next stage; None where none would, or all have."""
    turning: dict[str, Stage] = {}
    for name in trays:
        tray = state.trays[name]
        recipe = state.recipes.get(tray.recipe)
        after = follows(recipe, tray.stage) if recipe is not None else None
        if after is not None:
            turning[name] = after
    try:
        new_spots(state, turning)
    except NoRoomError as error:
        return error.restack
    return None


def _given_out(names: Sequence[str], free: Sequence[str], wished: Mapping[str, str]) -> dict[str, str]:
    """A free spot for each tray: all as wished if all of that is free, else the first ones, which leave no gap."""
    asked = {name: wished[name] for name in names if wished.get(name) in free}
    if len(set(asked.values())) == len(names):
        return asked
    return dict(zip(names, free, strict=False))


def must_move(state: FarmState, turning: Mapping[str, Stage]) -> list[str]:
    """Trays that cannot stay: on the wrong kind of shelf, on none, or in a stack too high for their new stage."""
    staying: dict[str, list[str]] = defaultdict(list)
    moving: list[str] = []
    for name, stage in turning.items():
        if stage.ground == "bench":
            continue
        tray = state.trays[name]
        place = find_spot(state, tray.spot) if tray.spot else None
        if tray.spot is None or place is None or place[0].kind != stage.ground:
            moving.append(name)
        else:
            staying[floor_position(tray.spot)].append(name)
    for floor, names in staying.items():
        moving += _top_of_stack(state, turning, floor, names, set(moving))
    return [name for name in turning if name in moving]


def _top_of_stack(
    state: FarmState, turning: Mapping[str, Stage], floor: str, names: Sequence[str], gone: set[str]
) -> list[str]:
    """Of the trays that turn on one floor position, those above what their new stages allow; the lowest stay."""
    shelf = state.shelves[shelf_of(floor)]
    levels = (f"{floor}{letter}" for letter in string.ascii_lowercase[: shelf.stack]) if shelf.stack > 1 else (floor,)
    standing = [state.spots[spot] for spot in levels if spot in state.spots]
    others = [tray for tray in standing if tray not in turning and tray not in gone]
    limit = min(turning[name].stack for name in names)
    by_level = sorted(names, key=lambda name: spot_order(state.trays[name].spot))
    return by_level[max(0, limit - len(others)) :]


def by_need(turning: Mapping[str, Stage], moving: Sequence[str]) -> dict[tuple[Literal["dark", "lit"], int], list[str]]:
    needs: dict[tuple[Literal["dark", "lit"], int], list[str]] = defaultdict(list)
    for name in moving:
        ground: Literal["dark", "lit"] = "dark" if turning[name].ground == "dark" else "lit"
        needs[ground, turning[name].stack].append(name)
    return needs


def _as_said(turning: Sequence[str], moving: Sequence[str], spots: Sequence[str]) -> dict[str, str]:
    for names in (moving, turning):
        if len(spots) == len(names):
            return dict(zip(names, spots, strict=True))
    if not moving:
        rule, remedy = "none of these trays has to move", f"Name none, or one for each of the {len(turning)}."
    else:
        rule, remedy = f"{counted(len(moving), 'tray')} must move: {listed(moving)}", "Name one spot for each."
    raise InputError("spots", listed(spots), rule, remedy)


def _no_room(
    state: FarmState,
    turning: Mapping[str, Stage],
    need: tuple[Literal["dark", "lit"], int],
    free: int,
    names: Sequence[str],
) -> NoRoomError:
    """Say what is in the way and what will make room."""
    ground, stack = need
    soon = _soon_gone(state, ground)
    gone = f"Cut or move first: {listed(soon, most=4)}. Or name spots." if soon else "Move trays first, or name spots."
    rule = f"{counted(len(names), 'tray')} must go to a {ground} shelf: {listed(names)}"
    found = restack(state, ground, stack, len(names) - free, turning=turning)
    return no_room(f"free {ground} spots", free, rule, len(names), found, gone)


def _soon_gone(state: FarmState, ground: str) -> list[str]:
    """Trays on shelves of that kind that leave it next, the longest in their stage first, each with its spot."""
    leaving = [tray for tray in state.growing() if _stands_on(state, tray, ground) and _leaves(state, tray, ground)]
    ordered = sorted(
        leaving, key=lambda tray: (not is_last(state.recipes.get(tray.recipe), tray.stage), tray.stage_since)
    )
    return [f"{tray.tray} ({tray.stage}) on {tray.spot}" for tray in ordered]


def _stands_on(state: FarmState, tray: Tray, ground: str) -> bool:
    place = find_spot(state, tray.spot) if tray.spot else None
    return place is not None and place[0].kind == ground


def _leaves(state: FarmState, tray: Tray, ground: str) -> bool:
    """Whether the tray's next step takes it off this ground: it is ready to cut, or its next stage wants another."""
    recipe = state.recipes.get(tray.recipe)
    stage = stage_of(state, tray)
    if recipe is None or stage is None or is_last(recipe, stage.name):
        return True
    after = recipe.next_stage(stage.name)
    return after is None or after.ground != ground
