"""The search for the fewest moves that make room by stacking: floor positions gone through once, in walking order.

What stands where is counted by kinds: of two trays that may be stacked alike it makes no difference which one goes. Of
all that is under way between the floor positions before one and those after it only the best is kept (dynamic
programming). How far trays are carried in all is what is under way at each step from one to the next, added up.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Mapping, Sequence
from itertools import product
from math import inf
from operator import sub
from typing import NamedTuple

from trayward.rounds.restack_floors import Counts, Floor

UNDER_WAY = 6
"""No more trays than this are ever between the floor positions before one and those after it. [trays] Our choice."""

LARGE = 60
"""Where more floor positions could change, only the first of those that are alike are looked at. [-] Our choice: moves
are as few all the same, and carried not much further."""


class Option(NamedTuple):
    """How a floor position may end."""

    ends: Counts
    by: Counts
    """What comes, of each kind; below 0: goes. [trays]"""
    gain: int
    goes: int


Key = tuple[Counts, int]
"""What is under way of each kind, below 0 where more was put down so far; and what was gained so far. [trays]"""
Cost = tuple[int, int, int, int]
"""Less what was gained, moves, how far trays were carried, and how far from who looks for room they were taken up: the
lower the better, the first before the others."""


def _options(floor: Floor, kinds: Counts, stack: int) -> list[Option]:
    """Every way a floor position may end, as it stands the first."""
    now = floor.now(kinds)
    before = floor.room(stack, kinds, now)
    counts = range(min(len(floor.spots), max(kinds)) + 1)
    others = [ends for ends in product(counts, repeat=len(kinds)) if floor.may_be(kinds, ends)]
    return [Option(now, (0,) * len(kinds), 0, 0)] + [
        Option(
            ends=ends,
            by=tuple(end - here for end, here in zip(ends, now, strict=True)),
            gain=floor.room(stack, kinds, ends) - before,
            goes=sum(max(0, here - end) for end, here in zip(ends, now, strict=True)),
        )
        for ends in others
        if ends != now
    ]


def best_ends(
    floors: Sequence[Floor], kinds: Counts, stack: int, lack: int | None
) -> tuple[list[tuple[Floor, Option]], int]:
    """How each floor position ends where most is gained that is wanted, in the fewest moves; and what is gained."""
    open_floors = _with_options(floors, kinds, stack)
    # Of moves that are else as good, those nearest to the trays that go on: these are carried to what becomes free.
    home = next((floor.place for floor in floors if floor.begin), 0)
    found = _gone_through(open_floors, kinds, None, home)
    if lack is None or found[1] <= lack:
        return found
    # More could be had than is wanted: of all that suffice the fewest moves, looked for among few first.
    most, all_moves = lack, sum(option.goes for _, option in found[0])
    while most < 2 * all_moves:
        few = _gone_through(_enough(open_floors, most, home), kinds, lack, home, most)
        if few[1] >= lack:
            return few
        most *= 2
    return found


Layer = dict[Key, tuple[Cost, Key, Option]]
Open = Sequence[tuple[Floor, list[Option]]]


def _enough(floors: Open, most: int, home: int) -> Open:
    """On a large farm, of floor positions that are alike only as many as so few moves can touch, those near home."""
    if len(floors) <= LARGE:
        return floors
    seen: Counter[int] = Counter()
    found = []
    for floor, options in sorted(floors, key=lambda each: abs(each[0].place - home)):
        seen[id(options)] += 1
        if seen[id(options)] <= 2 * most:
            found.append((floor, options))
    return sorted(found, key=lambda each: each[0].place)


def _with_options(floors: Sequence[Floor], kinds: Counts, stack: int) -> list[tuple[Floor, list[Option]]]:
    """Floor positions that may end otherwise than they stand, and how."""
    known: dict[Hashable, list[Option]] = {}
    found = []
    for floor in floors:
        # Where more stands than may, nobody can tell what else would be taken: that is left as it is.
        if floor.closed or not floor.may_be(kinds, floor.now(kinds)):
            continue
        like = (len(floor.spots), floor.now(kinds), floor.fixed, floor.begin, floor.begun)
        if like not in known:
            known[like] = _options(floor, kinds, stack)
        if len(known[like]) > 1:
            found.append((floor, known[like]))
    return found


def _gone_through(
    floors: Open, kinds: Counts, lack: int | None, home: int, most: float = inf
) -> tuple[list[tuple[Floor, Option]], int]:
    """The best end of each floor position in no more moves than `most`; without `lack`, the more gained the better."""
    nothing: Counts = (0,) * len(kinds)
    layers: list[Layer] = []
    reached: dict[Key, Cost] = {(nothing, 0): (0, 0, 0, 0)}
    at = 0
    for floor, options in floors:
        layers.append(_after(reached, options, (floor.place - at, abs(floor.place - home)), lack, most))
        at, reached = floor.place, {key: cost for key, (cost, _, _) in layers[-1].items()}
    ends = {key: cost for key, cost in reached.items() if key[0] == nothing}
    best = min(ends, key=lambda key: (max(0, lack - key[1]), ends[key][1:]) if lack is not None else (0, ends[key]))
    gained, chosen = -ends[best][0], []
    for (floor, _), layer in zip(reversed(floors), reversed(layers), strict=True):
        _, before, option = layer[best]
        chosen.append((floor, option))
        best = before
    return chosen[::-1], gained


def _after(
    reached: Mapping[Key, Cost], options: Sequence[Option], steps: tuple[int, int], lack: int | None, most: float
) -> Layer:
    """The best of all that can be under way past a floor position, `steps` on from the one before, and from home."""
    layer: Layer = {}
    for key, (less, moves, far, away) in reached.items():
        under_way, gained = key
        carried = far + steps[0] * sum(map(abs, under_way))
        for ends_with in options:
            after = tuple(map(sub, under_way, ends_with.by))
            if sum(map(abs, after)) > UNDER_WAY:
                continue
            # Counted apart only where so much is wanted and no more; else the more the better.
            so_far = gained + ends_with.gain if lack is not None else 0
            moved = moves + ends_with.goes
            if lack is not None and (abs(so_far) > lack + UNDER_WAY or moved - sum(min(0, n) for n in after) > most):
                continue
            cost = (less - ends_with.gain, moved, carried, away + steps[1] * ends_with.goes)
            found = layer.get((after, so_far))
            if found is None or cost < found[0]:
                layer[after, so_far] = (cost, key, ends_with)
    return layer
