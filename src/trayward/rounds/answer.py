"""A grower's answer on a round, turned into what the book is told.

Pure functions: they read the state and give bodies back, without ids and without a clock. What an answer brings with it
comes along: trays that are ready begin their next stage and, where that wants other ground, go to free spots of it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from trayward.errors import InputError, NotFoundError, require_between
from trayward.farm.entries import Body, KitUsed, Moved, RoundAnswered, StageChanged, TraySown, Watered
from trayward.farm.holds import hold_of, suspects_mould
from trayward.farm.kit_marks import dealt
from trayward.farm.recipes import Stage
from trayward.farm.spots import stage_of
from trayward.farm.state import FarmState, Tray
from trayward.farm.transitions.holding import kit_needed
from trayward.rounds.moves import new_spots
from trayward.rounds.scene import follows
from trayward.rounds.types import RoundRow
from trayward.words import listed

Cue = Literal["ready", "not yet"]
Moisture = Literal["moist", "dry"]
Way = Literal["mist", "below", "soak"]

ANSWERED = ("look", "turn", "cut", "discard")
"""Kinds of rows that can be answered; the others are jobs, done or not."""

TALLEST_MM = 1000.0
"""No microgreen stands higher than this. [mm]"""


def answer_row(
    state: FarmState,
    row: RoundRow,
    *,
    round_name: str,
    cue: Cue | None = None,
    moisture: Moisture | None = None,
    share_emerged: float | None = None,
    height_mm: float | None = None,
    problem: str = "",
    note: str = "",
    water_ml: float | None = None,
    only: Sequence[str] | None = None,
    spots: Sequence[str] | None = None,
    marks: Sequence[str] = (),
) -> tuple[Body, ...]:
    """
    What the book is told when a row is answered.

    Parameters
    ----------
    state : FarmState
        The farm now.
    row : RoundRow
        A row that looks, turns, cuts or looks close.
    round_name : str
        The round it is answered in, for instance `2026-11-25 morning`.
    cue : "ready" or "not yet", optional
        The answer to the row's question. Ready: the trays begin their next stage.
    moisture : "moist" or "dry", optional
        Dry: they were given the usual water of their stage.
    share_emerged : float, optional
        Share of the seed that is up. [-] Valid 0 to 1.
    height_mm : float, optional
        Height of the stand. [mm]
    problem, note : str, optional
        A word for trouble seen, and any words. No trouble named means none is there (any more).
    water_ml : float, optional
        Water given to each tray, where it was not the usual amount; 0 for none. [ml]
    only : sequence of str, optional
        Some of the row's trays; all of them if left out. Trays of one sowing may go separate ways.
    spots : sequence of str, optional
        Where trays that have to move go, one for each. If left out: where the row would put them, else the first free
        ones in walking order.
    marks : sequence of str, optional
        Marked kit that the next stage takes, dealt out to the trays in order.

    Returns
    -------
    tuple of Body
        To be recorded together, in this order.

    Raises
    ------
    InputError
        If the row takes no such answer, has gone on since, or there is no free spot for trays that must move.
    """
    if row.kind not in ANSWERED:
        rule = f"it is done or not done; only rows that {listed(ANSWERED)} are answered"
        raise InputError("row", row.row, rule, "Say that it is done.")
    chosen = chosen_trays(row, only)
    _require_fresh(state, row, chosen)
    return answer_trays(
        state,
        chosen,
        round_name=round_name,
        cue=cue,
        moisture=moisture,
        share_emerged=share_emerged,
        height_mm=height_mm,
        problem=problem,
        note=note,
        water_ml=water_ml,
        spots=spots,
        wished={tray: spot for tray, spot in zip(row.trays, row.to, strict=False) if spot},
        marks=marks,
    )


def answer_trays(
    state: FarmState,
    trays: Sequence[str],
    *,
    round_name: str,
    cue: Cue | None = None,
    moisture: Moisture | None = None,
    share_emerged: float | None = None,
    height_mm: float | None = None,
    problem: str = "",
    note: str = "",
    water_ml: float | None = None,
    spots: Sequence[str] | None = None,
    wished: Mapping[str, str] | None = None,
    marks: Sequence[str] = (),
) -> tuple[Body, ...]:
    """What the book is told when any trays are answered for; see `answer_row`. They may be in different stages.

    `wished`: spots to prefer for trays that have to move, where these are still free.
    """
    growing = [_growing(state, name) for name in dict.fromkeys(trays)]
    if not growing:
        raise InputError("trays", "none", "an answer is about at least one tray", "Name the trays.")
    _require_measures(share_emerged, height_mm, water_ml)
    if cue == "ready":
        _require_no_mould(problem)
        _require_free(growing)
    elif marks:
        rule = "marks are of kit that the next stage takes, and it begins with the answer ready"
        remedy = "Say of a standing tray what it is on: trayward kit use TRAY MARK."
        raise InputError("marks", listed(marks), rule, remedy)
    answered = RoundAnswered(
        trays=tuple(tray.tray for tray in growing),
        round=round_name,
        moisture=moisture,
        cue=cue,
        share_emerged=share_emerged,
        height_mm=height_mm,
        problem=problem,
        note=note,
    )
    turned = _turned(state, growing, spots, wished or {}, marks) if cue == "ready" else ()
    return (answered, *_watered(state, growing, cue, moisture, water_ml), *turned)


def _require_measures(share_emerged: float | None, height_mm: float | None, water_ml: float | None) -> None:
    if share_emerged is not None:
        require_between("share emerged", share_emerged, 0.0, 1.0, "", "Write 80 % as 0.8.")
    if height_mm is not None:
        require_between("height", height_mm, 0.0, TALLEST_MM, "mm", "Check the unit.")
    if water_ml is not None:
        require_between("water", water_ml, 0.0, 20_000.0, "ml", "Give the water of one tray.")


def _require_no_mould(problem: str) -> None:
    """Refuse that trays on which mould is suspected go on to their next stage."""
    if suspects_mould(problem):
        remedy = (
            "Answer these trays by themselves, without calling them ready; mist them: root hairs vanish, mould stays."
        )
        raise InputError("problem", problem, "a tray with suspected mould goes no further", remedy)


def _require_free(trays: Iterable[Tray]) -> None:
    """Refuse that trays which are held back go on to their next stage."""
    for tray in trays:
        if hold := hold_of(tray):
            remedy = f"Throw it away, or mist it, look close and clear it by name: trayward trouble clear {tray.tray}"
            raise InputError("tray", tray.tray, f"it is held back, {hold}, and goes no further", remedy)


def chosen_trays(row: RoundRow, only: Sequence[str] | None) -> tuple[str, ...]:
    """The row's trays, or those named of them. Raises `InputError` for one that is not in the row."""
    strange = [tray for tray in only or () if tray not in row.trays]
    if strange:
        raise InputError("trays", listed(strange), f"row {row.row} is about {listed(row.trays)}", "Name some of these.")
    return tuple(only) if only else row.trays


def _require_fresh(state: FarmState, row: RoundRow, trays: Iterable[str]) -> None:
    """Refuse an answer to a row that was made before its trays went on to another stage."""
    for name in trays:
        tray = state.tray(name)
        if tray is not None and tray.fate == "growing" and tray.stage != row.stage:
            rule = f"tray {name} is in {tray.stage} by now, the row is about {row.stage}"
            raise InputError("row", row.row, rule, "Look at the round again.")


def _growing(state: FarmState, name: str) -> Tray:
    tray = state.tray(name)
    if tray is None:
        raise NotFoundError("tray", name)
    if tray.fate != "growing":
        raise InputError("tray", name, f"it grows no more: {tray.fate}", "Leave it out.")
    return tray


# What comes along -----------------------------------------------------------------------------------------------------


def _watered(
    state: FarmState, trays: Sequence[Tray], cue: Cue | None, moisture: Moisture | None, water_ml: float | None
) -> tuple[Body, ...]:
    """Water that was given: as said, else the usual of the stage to trays that were dry."""
    if water_ml == 0 or (water_ml is None and moisture != "dry"):
        return ()
    given: dict[tuple[float, Way], list[str]] = defaultdict(list)
    for tray in trays:
        way, usual = _usual_water(state, tray, turned=cue == "ready")
        ml = water_ml if water_ml is not None else usual
        if ml > 0:
            given[ml, way].append(tray.tray)
    return tuple(Watered(trays=tuple(names), ml=ml, way=way) for (ml, way), names in given.items())


def _usual_water(state: FarmState, tray: Tray, *, turned: bool) -> tuple[Way, float]:
    """How a tray is watered: as in its stage, else as in the one it begins; from below where neither says."""
    recipe, stage = state.recipes.get(tray.recipe), stage_of(state, tray)
    after = follows(recipe, tray.stage) if recipe is not None and turned else None
    for each in (stage, after):
        if each is not None and each.water != "none":
            return each.water, each.water_ml
    return "below", stage.water_ml if stage is not None else 0.0


def _turned(
    state: FarmState, trays: Sequence[Tray], spots: Sequence[str] | None, wished: Mapping[str, str],
    marks: Sequence[str] = (),
) -> tuple[Body, ...]:  # fmt: skip
    """Next stages begun, moves to ground that suits them, and the marked kit they take. The last stage has no next."""
    turning: dict[str, Stage] = {}
    begun: dict[str, list[str]] = defaultdict(list)
    for tray in trays:
        recipe = state.recipes.get(tray.recipe)
        after = follows(recipe, tray.stage) if recipe is not None else None
        if after is not None:
            turning[tray.tray] = after
            begun[after.name].append(tray.tray)
    moves = new_spots(state, turning, spots, wished)
    changed = [StageChanged(trays=tuple(names), stage=stage) for stage, names in begun.items()]
    moved = [Moved(moves=tuple(TraySown(tray=tray, spot=spot) for tray, spot in moves.items()))] if moves else []
    return (*changed, *moved, *_on_marks(state, [tray for tray in trays if tray.tray in turning], marks))


def _on_marks(state: FarmState, trays: Sequence[Tray], marks: Sequence[str]) -> tuple[Body, ...]:
    """Marked kit that trays take with their next stage, dealt out in order."""
    if not marks:
        return ()
    needed = kit_taken(state, trays[0]) if trays else {}
    return tuple(KitUsed(tray=on.tray, marks=on.marks)
                 for on in dealt(state, marks, needed, [tray.tray for tray in trays]))  # fmt: skip


def kit_taken(state: FarmState, tray: Tray) -> dict[str, int]:
    """What of each pool a tray takes besides when its next stage begins."""
    recipe = state.recipes.get(tray.recipe)
    after = follows(recipe, tray.stage) if recipe is not None else None
    needed = kit_needed(recipe, after.name) if recipe is not None and after is not None else {}
    more = {pool: each - tray.kit.get(pool, 0) for pool, each in needed.items()}
    return {pool: each for pool, each in more.items() if each > 0 and pool in state.kit}
