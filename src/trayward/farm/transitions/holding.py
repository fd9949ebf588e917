"""What a tray holds: its spot and its kit. The only place where either changes hands."""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from datetime import datetime

from trayward.farm.entries import Entry
from trayward.farm.holds import hold_of, suspects_mould
from trayward.farm.kit_clear import way_out
from trayward.farm.kit_marks import let_go
from trayward.farm.kit_owners import owe
from trayward.farm.recipes import Recipe
from trayward.farm.spots import find_spot
from trayward.farm.state import FarmState, Tray
from trayward.farm.transitions.say import Findings, odd, wrong


def kit_needed(recipe: Recipe, stage: str) -> dict[str, int]:
    """What one tray holds of each pool in a stage."""
    needed: dict[str, int] = {}
    for need in recipe.kit:
        if not need.stages or stage in need.stages:
            needed[need.pool] = needed.get(need.pool, 0) + need.each
    return needed


def kit_missing(
    state: FarmState, entry: Entry, wanted: Mapping[str, int], at: datetime, *, refuse: bool = False
) -> Findings:
    """Findings for pools that have fewer ready than wanted. A farm that keeps no kit is asked nothing.

    `refuse`: where the farm refuses to sow on what is not cleared, that is wrong and not only odd.
    """
    found: Findings = []
    for pool, count in wanted.items() if state.kit else ():
        kept = state.kit.get(pool)
        if kept is None:
            message = f"kit {pool} = none: the recipe wants {count}."
            found.append(odd(entry, "kit-unknown", message, "Set up the pool, or correct the recipe."))
        elif 0 < count > kept.ready(at):
            message = f"kit {pool} = {max(0, kept.ready(at))} ready: {count} wanted."
            say = wrong if refuse and kept.pool.clearing.refuse else odd
            found.append(say(entry, "kit-short", message, way_out(state, kept, at)))
    return found


def hold_kit(state: FarmState, tray: Tray, needed: Mapping[str, int], *, suspect: bool = False) -> None:
    """Give a tray the kit it needs from now on; what it lets go of is dirty, and `suspect` where mould was seen."""
    suspect = suspect or bool((hold := hold_of(tray)) and suspects_mould(hold))
    for pool in (*tray.kit, *(pool for pool in needed if pool not in tray.kit)):
        kept = state.kit.get(pool)
        if kept is None:
            continue
        change = needed.get(pool, 0) - tray.kit.get(pool, 0)
        kept.in_use += change
        kept.uses += max(0, change)
        kept.dirty += max(0, -change)
        owe(kept, "dirty", tray.tray, -change)
        if suspect:
            kept.suspect += max(0, -change)
        if kept.on and not needed.get(pool, 0):
            let_go(kept, tray.tray, "dirty", suspect=suspect)
    tray.kit = {pool: count for pool, count in needed.items() if count and pool in state.kit}


def send_kit_away(state: FarmState, tray: Tray) -> None:
    """The kit of a live tray went with it to the customer."""
    for pool, count in tray.kit.items():
        state.kit[pool].in_use -= count
        state.kit[pool].away += count
        owe(state.kit[pool], "away", tray.tray, count)
        let_go(state.kit[pool], tray.tray, "away")
    tray.kit = {}


def leave_spot(state: FarmState, tray: Tray) -> None:
    """The tray's spot is free."""
    if tray.spot is not None:
        del state.spots[tray.spot]
        tray.spot = None


def take_spot(state: FarmState, tray: Tray, spot: str | None) -> None:
    """Put a tray that stands nowhere on a spot, unless the spot is taken or is none: then it stands nowhere."""
    if spot is not None and spot not in state.spots and find_spot(state, spot) is not None:
        state.spots[spot] = tray.tray
        tray.spot = spot
        tray.steps[-1].spot = spot


def done_with(state: FarmState, tray: Tray) -> None:
    """The tray needs nobody any more."""
    state.ended[tray.tray] = state.trays.pop(tray.tray)


def to_change(state: FarmState, name: str) -> Tray | None:
    """The tray of that name, to be changed: of one that is done with a new value, as copies of the state share it."""
    ended = state.ended.get(name)
    if ended is None:
        return state.trays.get(name)
    fresh = state.ended[name] = copy(ended)
    return fresh
