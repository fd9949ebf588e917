"""Floor positions of shelves that take stacks: what stands on each, what may move, and how high it may be stacked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from trayward.farm.holds import hold_of
from trayward.farm.places import spot_name
from trayward.farm.recipes import Stage
from trayward.farm.spots import stage_of, walking_shelves
from trayward.farm.state import FarmState

Ground = Literal["dark", "lit"]

Counts = tuple[int, ...]
"""Of each kind of tray that may move, so many. [trays]"""


@dataclass(frozen=True)
class Floor:
    """A floor position of a shelf that takes stacks, and what stands there."""

    spots: tuple[str, ...]
    """Its spots, the lowest first."""
    place: int
    """How many floor positions come before it in walking order. [-]"""
    movable: Mapping[str, int]
    """Trays that may go onto others, and how high each may be stacked, the highest first. [trays]"""
    fixed: Counts
    """How high the trays may be stacked that stay and begin no stage. [trays]"""
    begin: Counts
    """How high those may be stacked now that are about to begin a stage. [trays]"""
    begun: Counts
    """How high they may be once they have, those that go to another kind of shelf left out. [trays]"""
    closed: bool
    """Whether nothing is put here or taken away: nothing stands here, or a tray that is held back."""

    def may_be(self, kinds: Counts, ends: Counts) -> bool:
        """Whether the book would take it as long as nobody has begun a stage."""
        high = [*self.fixed, *self.begin, *_present(kinds, ends)]
        return sum(ends) + len(self.fixed) + len(self.begin) <= min([len(self.spots), *high])

    def room(self, stack: int, kinds: Counts, ends: Counts) -> int:
        """Free spots for trays so stackable, once stages have begun, less the trays that then cannot stay. [trays]"""
        others = len(self.fixed) + sum(ends)
        stay = min(len(self.begun), max(0, min(self.begun) - others)) if self.begun else 0
        high = [*self.fixed, *self.begun[:stay], *_present(kinds, ends)]
        free = min([len(self.spots), stack, *high]) - others - stay
        return max(0, free) - (len(self.begun) - stay)

    def now(self, kinds: Counts) -> Counts:
        """What stands here of each kind."""
        return tuple(sum(high == kind for high in self.movable.values()) for kind in kinds)


def _present(kinds: Counts, ends: Counts) -> Iterator[int]:
    return (kind for kind, count in zip(kinds, ends, strict=True) if count)


def standing_on(state: FarmState, ground: Ground) -> Iterator[tuple[tuple[str, ...], list[str]]]:
    """Every floor position of shelves of a kind that take stacks, in walking order: its spots and its trays."""
    for shelf in walking_shelves(state):
        if shelf.kind == ground and shelf.stack > 1:
            for position in range(1, shelf.spots + 1):
                spots = tuple(spot_name(shelf.name, position, level, shelf.stack) for level in range(shelf.stack))
                yield spots, [state.spots[spot] for spot in reversed(spots) if spot in state.spots]


def floor_of(
    state: FarmState, ground: Ground, place: int, spots: tuple[str, ...], trays: Sequence[str],
    turning: Mapping[str, Stage], top: int,
) -> Floor:  # fmt: skip
    """A floor position; `top` is how high any of them may be stacked: what may be higher is no other kind of tray."""
    stages = {name: stage_of(state, state.trays[name]) for name in trays}
    high = {name: min(top, stage.stack) if stage is not None else 1 for name, stage in stages.items()}
    turned = [name for name in trays if name in turning]
    # One that stands on the wrong kind of shelf wants to go elsewhere anyway.
    right = {name for name, stage in stages.items() if stage is not None and stage.ground in (ground, "bench")}
    movable = {name: high[name] for name in trays if name not in turning and high[name] > 1 and name in right}
    return Floor(
        spots=spots,
        place=place,
        movable=movable,
        fixed=tuple(high[name] for name in trays if name not in turning and name not in movable),
        begin=tuple(high[name] for name in turned),
        begun=tuple(sorted(turning[name].stack for name in turned if turning[name].ground in (ground, "bench"))),
        closed=not trays or any(hold_of(state.trays[name]) for name in trays),
    )
