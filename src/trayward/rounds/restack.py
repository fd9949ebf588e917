"""Making room on shelves that take stacks: trays that stand alone are put onto each other, in the fewest moves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

import msgspec

from trayward.errors import InputError
from trayward.farm.recipes import Stage
from trayward.farm.spots import UNTURNED, free_spots
from trayward.farm.state import FarmState
from trayward.rounds.restack_floors import Counts, Floor, Ground, floor_of, standing_on
from trayward.rounds.restack_search import Option, best_ends
from trayward.words import listed


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """One tray carried from a spot to another."""

    tray: str
    crop: str
    start: str
    spot: str


class Restack(msgspec.Struct, frozen=True, kw_only=True):
    """Moves that make room, to be made all at once."""

    moves: tuple[Step, ...]
    gained: int
    """So many trays more have room then; floor positions, where no number was asked for. [trays]"""
    lack: int = 0
    """So many still have none. [trays]"""

    @property
    def as_moves(self) -> dict[str, str]:
        """Tray -> spot, as `Farm.move` takes them."""
        return {step.tray: step.spot for step in self.moves}


class NoRoomError(InputError):
    """Trays find no free spot; says which moves of others would make room, where any would."""

    restack: Restack | None = None


def restack(
    state: FarmState,
    ground: Ground,
    stack: int = 1,
    lack: int | None = None,
    *,
    turning: Mapping[str, Stage] = UNTURNED,
) -> Restack | None:
    """
    The fewest moves that make room by putting trays onto each other; of as few, those that are carried least far.

    Each tray moves at most once, onto a floor position where trays stand now, and no pile gets higher than what stands
    in it may be stacked. Trays that are about to begin a stage do not move, nor do trays that are held back, and none
    comes onto these. A tray that shares a floor position with one that will need it alone may leave it to that one.

    Parameters
    ----------
    state : FarmState
        The farm now.
    ground : "dark" or "lit"
        The kind of shelf there is too little room on.
    stack : int
        How high the trays may be stacked that look for room. [trays]
    lack : int, optional
        How many of them find none. As many floor positions as can be are freed if left out. [trays]
    turning : mapping of tray to Stage, optional
        Trays that are about to begin a stage, and which. Those that then cannot stay are among those who look for room.

    Returns
    -------
    Restack or None
        None where restacking makes no room at all.

    Notes
    -----
    Best among all moves that never have more than `UNDER_WAY` trays between the floor positions before one and those
    after it; only who would carry more at once past the same place could do with fewer moves.
    """
    if lack is not None and lack < 1:
        return None
    standing = list(standing_on(state, ground))
    top = max((len(spots) for spots, _ in standing), default=1)
    floors = [
        floor_of(state, ground, place, spots, trays, turning, top) for place, (spots, trays) in enumerate(standing)
    ]
    kinds = tuple(sorted({high for floor in floors for high in floor.movable.values()}))
    if not kinds:
        return None
    chosen, gained = best_ends(floors, kinds, stack, lack)
    if gained < 1:
        return None
    return Restack(moves=_steps(state, chosen, kinds), gained=gained, lack=max(0, (lack or 0) - gained))


def restack_to_sow(state: FarmState, ground: Ground, stack: int, trays: int) -> Restack | None:
    """The moves that make room for trays to be sown; None where there is room, or restacking makes none. [trays]"""
    return restack(state, ground, stack, trays - len(free_spots(state, ground, stack)))


def loose(state: FarmState) -> Restack | None:
    """The moves that free as many floor positions as can be, on all shelves that take stacks."""
    grounds: tuple[Ground, ...] = ("dark", "lit")
    found = [made for ground in grounds if (made := restack(state, ground)) is not None]
    if not found:
        return None
    return Restack(moves=tuple(step for made in found for step in made.moves), gained=sum(m.gained for m in found))


def _steps(state: FarmState, chosen: Sequence[tuple[Floor, Option]], kinds: Counts) -> tuple[Step, ...]:
    """Which tray goes where. Of each kind the first that is taken up goes to the first place: so no two ways cross."""
    up: dict[int, list[str]] = defaultdict(list)
    down: dict[int, list[str]] = defaultdict(list)
    for floor, option in chosen:
        going: set[str] = set()
        for kind, by in zip(kinds, option.by, strict=True):
            leave = [name for name, high in floor.movable.items() if high == kind][: max(0, -by)]
            up[kind] += leave
            going.update(leave)
        free = iter([spot for spot in floor.spots if state.spots.get(spot) is None or state.spots[spot] in going])
        for kind, by in zip(kinds, option.by, strict=True):
            down[kind] += [next(free) for _ in range(by)]
    pairs = [pair for kind in kinds for pair in zip(up[kind], down[kind], strict=True)]
    trays = ((state.trays[name], spot) for name, spot in pairs)
    return tuple(Step(tray=tray.tray, crop=tray.crop, start=tray.spot or "", spot=spot) for tray, spot in trays)


# In words -------------------------------------------------------------------------------------------------------------


def no_room(thing: str, free: int, rule: str, wanted: int, found: Restack | None, remedy: str) -> NoRoomError:
    """The refusal of trays that find no room: what may be stacked first stands before the other ways out.

    `remedy`: the other ways out, as a sentence of their own. `wanted`: how many trays look for room. [trays]
    """
    error = NoRoomError(thing, free, rule, f"{stack_first(found, wanted)} {remedy}" if found is not None else remedy)
    error.restack = found
    return error


def stack_first(found: Restack, wanted: int) -> str:
    """
    What to stack, and for how many of the trays wanted there is room then.

    Examples
    --------
    >>> step = Step(tray="260313B.1", crop="broccoli", start="D1.2a", spot="D2.1b")
    >>> stack_first(Restack(moves=(step,), gained=1), 3)
    'Stack first: 260313B.1 onto D2.1b (then there is room for all).'
    >>> stack_first(Restack(moves=(step,), gained=1, lack=1), 3)
    'Stack first: 260313B.1 onto D2.1b (then there is room for 2 of 3).'
    """
    moves = listed([_onto(step.tray, step.spot) for step in found.moves], most=4)
    if not found.lack:
        return f"Stack first: {moves} (then there is room for all)."
    return f"Stack first: {moves} (then there is room for {wanted - found.lack} of {wanted})."


def _onto(tray: str, spot: str) -> str:
    return f"{tray} onto {spot}"
