"""Making room by stacking: the fewest moves, against every way there is; and what a grower is told."""

from __future__ import annotations

import copy
import itertools
import random
from collections import defaultdict
from collections.abc import Iterator, Mapping

import msgspec
import pytest

from tests.rounds.loft import DAY_ONE, Loft, lantern_loft, on_day, sow
from trayward.farm.entries import Moved, RoundAnswered, TraySown
from trayward.farm.places import Shelf, floor_position, shelf_of
from trayward.farm.recipes import Medium, Recipe, Stage
from trayward.farm.spots import free_spots, stage_of
from trayward.farm.state import FarmState, StageStep, Tray
from trayward.rounds.answer import answer_trays
from trayward.rounds.moves import must_move, new_spots
from trayward.rounds.restack import NoRoomError, loose, restack, restack_to_sow

WALK = "2026-11-27 morning"
AT = on_day(3, 7.5)


def stage(name: str, stack: int, ground: str = "dark") -> Stage:
    return Stage(name=name, days_low=1, days_typical=2, days_high=3, ground=ground, stack=stack)  # type: ignore[arg-type]


def recipe(name: str, germinate: int, blackout: int) -> Recipe:
    stages = (stage("germinate", germinate), stage("blackout", blackout), stage("light", 1, "lit"))
    return Recipe(name=name, crop=name, medium=Medium(name="mat"), stages=stages, live_seeds_per_cm2=1.0)


RECIPES = {each.name: each for each in (recipe("low", 2, 1), recipe("high", 3, 1), recipe("half", 3, 2))}


def place(dice: random.Random) -> FarmState:
    """Two dark shelves that take stacks of 2 or 3, and up to 5 trays in their stages, anywhere the book allows."""
    shelves = {
        name: Shelf(name=name, rack="A", room="", kind="dark", spots=2, stack=dice.choice([2, 3]), order=order)
        for order, name in enumerate(("A1", "A2"))
    }
    state = FarmState(shelves=shelves, recipes=RECIPES)
    state.trays, state.spots = {}, {}
    for number in range(dice.randint(3, 5)):
        chosen = dice.choice(list(RECIPES.values()))
        now = chosen.stages[dice.random() < 0.2]
        free = free_spots(state, "dark", now.stack)
        if free:
            name, spot = f"T{number}", dice.choice(free)
            state.trays[name] = Tray(
                tray=name, sowing="T", recipe=chosen.name, crop=chosen.crop, sown_at=DAY_ONE, seed_g=1.0, lots=(),
                spot=spot, steps=[StageStep(stage=now.name, since=DAY_ONE)],
            )  # fmt: skip
            state.spots[spot] = name
    return state


def moved(state: FarmState, moves: Mapping[str, str]) -> FarmState | None:
    """The place after some moves; None where a pile would be too high."""
    after = copy.copy(state)
    after.trays = {
        name: msgspec.structs.replace(tray, spot=moves.get(name, tray.spot)) for name, tray in state.trays.items()
    }
    after.spots = {tray.spot: name for name, tray in after.trays.items() if tray.spot}
    piles: dict[str, list[str]] = defaultdict(list)
    for spot, name in after.spots.items():
        piles[floor_position(spot)].append(name)
    for floor, names in piles.items():
        high = [stage.stack for name in names if (stage := stage_of(after, after.trays[name]))]
        if len(names) > min([after.shelves[shelf_of(floor)].stack, *high]):
            return None
    return after if len(after.spots) == len(after.trays) else None


def lack_of(state: FarmState, turning: Mapping[str, Stage], stack: int, sown: int) -> int:
    """How many trays find no spot, told by the functions that the rounds and the desk ask."""
    moving = must_move(state, turning)
    left: dict[str, str | None] = {spot: None for name in moving if (spot := state.trays[name].spot)}
    return len(moving) + sown - len(free_spots(state, "dark", stack, moved=left, turning=turning))


def every_way(state: FarmState, turning: Mapping[str, Stage]) -> Iterator[dict[str, str]]:
    """Every way to carry trays onto floor positions where some stand, each at most once."""
    floors = sorted({floor_position(spot) for spot in state.spots})
    names = [
        name for name, tray in state.trays.items()
        if name not in turning and (now := stage_of(state, tray)) is not None and now.stack > 1
    ]  # fmt: skip
    for ends in itertools.product(floors, repeat=len(names)):
        going = {name: floor for name, floor in zip(names, ends, strict=True) if floor != floor_of(state, name)}
        taken = {spot for spot, name in state.spots.items() if name not in going}
        moves: dict[str, str] = {}
        for name, floor in going.items():
            levels = state.shelves[shelf_of(floor)].stack
            spot = next((f"{floor}{level}" for level in "abc"[:levels] if f"{floor}{level}" not in taken), None)
            if spot is None:
                break
            taken.add(spot)
            moves[name] = spot
        else:
            yield moves


def floor_of(state: FarmState, name: str) -> str:
    return floor_position(state.trays[name].spot or "")


PLACES = ("A1.1", "A1.2", "A2.1", "A2.2")


def carried(state: FarmState, moves: Mapping[str, str]) -> int:
    return sum(
        abs(PLACES.index(floor_position(spot)) - PLACES.index(floor_of(state, name))) for name, spot in moves.items()
    )


def test_no_way_makes_more_room_or_takes_fewer_moves_or_shorter_walks() -> None:
    dice, helped, several = random.Random(4), 0, 0
    while helped < 20:
        state, stack = place(dice), dice.choice([1, 1, 2, 3])
        turning = {
            name: after
            for name, tray in state.trays.items()
            if (after := RECIPES[tray.recipe].stages[1]).stack == stack
            and tray.stage == "germinate"
            and dice.random() < 0.5
        }
        sown = dice.randint(0, 3)
        lack = lack_of(state, turning, stack, sown)
        if lack <= 0:
            continue
        found = restack(state, "dark", stack, lack, turning=turning)
        if found is None and dice.random() < 0.8:  # of these there are many
            continue
        best = min(
            (max(0, lack_of(after, turning, stack, sown)), len(moves), carried(state, moves))
            for moves in every_way(state, turning)
            if (after := moved(state, moves)) is not None
        )
        if found is None:
            assert best[0] == lack
            continue
        after = moved(state, found.as_moves)
        assert after is not None
        assert max(0, lack_of(after, turning, stack, sown)) == found.lack == lack - min(lack, found.gained)
        assert (found.lack, len(found.moves), carried(state, found.as_moves)) == best
        helped, several = helped + 1, several + (len(found.moves) > 1)
    assert several > 1


def full_of_lone_trays() -> Loft:
    """A1.1 holds a pair that wants to leave the stack; A1.2 and A1.3 one germinating tray each."""
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a", "A1.1b"), sow("T", "A1.2a", "A1.3a"))
    return loft


def test_the_refusal_of_a_turn_says_what_to_stack_and_then_it_is_not_refused() -> None:
    loft = full_of_lone_trays()
    expected = (
        r"free dark spots = 0: 1 tray must go to a dark shelf: S\.2\. "
        r"Stack first: T\.1 onto A1\.3b \(then there is room for all\)\. Move trays first, or name spots\."
    )
    with pytest.raises(NoRoomError, match=expected) as refused:
        answer_trays(loft.state, ("S.1", "S.2"), round_name=WALK, cue="ready")
    assert refused.value.restack is not None
    moves = refused.value.restack.as_moves
    loft.say(AT, Moved(moves=tuple(TraySown(tray=tray, spot=spot) for tray, spot in moves.items())))
    loft.say(AT, *answer_trays(loft.state, ("S.1", "S.2"), round_name=WALK, cue="ready"))
    assert [loft.state.trays[name].spot for name in ("S.1", "S.2")] == ["A1.1a", "A1.2a"]


def test_the_neighbour_of_a_tray_that_turns_leaves_it_the_floor() -> None:
    """S.2 turns alone. T.1 is in blackout and takes nobody, so S.1 goes onto U.1 and S.2 stays."""
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a", "A1.1b"), sow("T", "A1.2a", stage="blackout"), sow("U", "A1.3a"))
    with pytest.raises(NoRoomError, match=r"Stack first: S\.1 onto A1\.3b"):
        answer_trays(loft.state, ("S.2",), round_name=WALK, cue="ready")
    loft.say(AT, Moved(moves=(TraySown(tray="S.1", spot="A1.3b"),)))
    assert new_spots(loft.state, {"S.2": loft.state.recipes["broccoli on mesh mat"].stages[1]}) == {}


def test_where_some_room_can_be_made_it_is_said_for_how_many() -> None:
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a", "A1.1b", "A1.1c"), sow("T", "A1.2a", "A1.3a"))
    with pytest.raises(NoRoomError, match=r"T\.1 onto A1\.3b \(then there is room for 1 of 2\)"):
        answer_trays(loft.state, ("S.1", "S.2", "S.3"), round_name=WALK, cue="ready")


def test_a_tray_that_is_held_back_is_not_stacked() -> None:
    loft = full_of_lone_trays()
    loft.say(AT, RoundAnswered(trays=("T.1",), round=WALK, problem="mould"))
    with pytest.raises(NoRoomError, match=r"S\.2\. Move trays first") as refused:
        answer_trays(loft.state, ("S.1", "S.2"), round_name=WALK, cue="ready")
    assert refused.value.restack is None


def test_sowing_and_the_place_as_it_stands() -> None:
    loft = full_of_lone_trays()
    assert restack_to_sow(loft.state, "dark", 4, 4) is None  # ten levels of the piles are free
    alone = restack_to_sow(loft.state, "dark", 1, 1)
    assert alone is not None
    assert alone.gained == 1
    assert alone.lack == 0
    whole = loose(loft.state)
    assert whole is not None
    # Four trays that may be stacked four high: one floor position is enough for all of them.
    assert (whole.gained, len(whole.moves)) == (2, 2)
    assert loose(lantern_loft().state) is None
