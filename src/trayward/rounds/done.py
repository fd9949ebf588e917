"""Jobs of a round said to be done: a row and what was weighed or counted, turned into what the book is told.

Pure functions like `answer`: bodies only, no ids, no clock; names of sowings and lots are made by whoever calls.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from trayward.errors import InputError
from trayward.farm.entries import (
    Body,
    Cut,
    Discarded,
    RoundAnswered,
    Sanitised,
    SeedUsed,
    SowingMade,
    StageChanged,
    Stripped,
    TrayCut,
    TraySown,
    Washed,
)
from trayward.farm.state import FarmState
from trayward.rounds.answer import chosen_trays
from trayward.rounds.scene import BENCH, follows, is_last
from trayward.rounds.types import RoundRow, RowKind
from trayward.words import listed

NEAR_G = 0.05
"""Grams that rounding may add up to over the lots of a sowing. [g]"""


def sowing_from_row(
    state: FarmState,
    row: RoundRow,
    *,
    sowing: str,
    trays: int | None = None,
    grams: float | None = None,
    lots: Mapping[str, float] | None = None,
    spots: Sequence[str] | None = None,
) -> SowingMade:
    """
    The sowing of a sow row.

    Parameters
    ----------
    state : FarmState
        The farm now.
    row : RoundRow
        A sow row.
    sowing : str
        Name of the sowing, for instance `261125A`; its trays are `261125A.1`, ...
    trays : int, optional
        How many were sown; what the row says if left out.
    grams : float, optional
        Seed on each tray; what the row says if left out. [g]
    lots : mapping of str to float, optional
        Grams from each lot for all trays together; the row's lots, one after the other, if left out. [g]
    spots : sequence of str, optional
        Where each tray went; the row's spots if left out.

    Raises
    ------
    InputError
        If it is no sow row, or seed or spots do not reach.
    """
    _require(row, "sow")
    count = row.count if trays is None else trays
    if count < 1:
        raise InputError("trays", count, "at least 1 is sown", "Give a whole number of trays.")
    used = dict(lots) if lots else _seed_used(state, row, count, grams)
    recipe = state.recipes.get(row.recipe)
    bench = recipe is not None and recipe.stage(row.stage).ground == BENCH
    places = [None] * count if bench else _places(row, count, spots)
    return SowingMade(
        sowing=sowing,
        recipe=row.recipe,
        trays=tuple(TraySown(tray=f"{sowing}.{number}", spot=spot) for number, spot in enumerate(places, start=1)),
        lots=tuple(SeedUsed(lot=lot, grams=round(part, 3)) for lot, part in used.items()),
    )


def _seed_used(state: FarmState, row: RoundRow, count: int, grams: float | None) -> dict[str, float]:
    """Grams from each of the row's lots in turn, until the trays have theirs."""
    said = next((amount.value for amount in row.amounts if amount.what == "seed" and amount.each), None)
    each = grams if grams is not None else said
    if each is None:
        raise InputError(
            "seed", "unknown", "a sowing says how much seed each tray got", "Weigh it, in grams a tray.", "g"
        )
    missing = each * count
    used: dict[str, float] = {}
    for name in row.lots:
        held = state.seed[name].left_g if name in state.seed else 0.0
        if (part := min(held, missing)) > 0:
            used[name] = part
            missing -= part
    if missing > NEAR_G or not used:
        rule = f"lots {listed(row.lots) or 'none'} are short by {missing:.0f} g"
        raise InputError("seed", f"{each * count:.0f}", rule, "Sow fewer trays, or name the lots.", "g")
    return used


def _places(row: RoundRow, count: int, spots: Sequence[str] | None) -> list[str | None]:
    given = list(spots) if spots is not None else list(row.spots)
    if len(given) < count or (spots is not None and len(given) != count):
        rule = f"each of the {count} trays needs one"
        raise InputError("spots", len(given), rule, "Name one for each tray, or sow fewer.")
    return [*given[:count]]


def cut_from_row(
    state: FarmState,
    row: RoundRow,
    *,
    harvest: str,
    grams: Mapping[str, float] | float,
    round_name: str = "",
    height_mm: float | None = None,
    regrow: bool = False,
) -> tuple[Body, ...]:
    """
    The cut of a cut row; trays that were not yet called ready are so first, because cutting them says it.

    Parameters
    ----------
    grams : mapping of tray to float, or float
        Weight of each tray cut, or of all the row's trays together, shared evenly. [g]
    harvest : str
        Name of the harvest lot, for instance `H261204A`.
    round_name : str
        The round it is done in.
    """
    _require(row, "cut")
    weights = dict(grams) if isinstance(grams, Mapping) else {tray: grams / len(row.trays) for tray in row.trays}
    chosen = chosen_trays(row, tuple(weights))
    cut = Cut(
        harvest=harvest,
        crop=row.crop,
        trays=tuple(TrayCut(tray=tray, grams=weights[tray]) for tray in chosen),
        height_mm=height_mm,
        regrow=regrow,
    )
    return (*_called_ready(state, chosen, round_name), cut)


def _called_ready(state: FarmState, trays: Sequence[str], round_name: str) -> tuple[Body, ...]:
    """For trays one stage before the last: seen ready, and in their last stage from now on."""
    almost: dict[str, str] = {}
    for name in trays:
        tray = state.trays.get(name)
        recipe = state.recipes.get(tray.recipe) if tray is not None else None
        after = follows(recipe, tray.stage) if tray is not None and recipe is not None else None
        if after is not None and is_last(recipe, after.name):
            almost[name] = after.name
    if not almost:
        return ()
    begun = [
        StageChanged(trays=tuple(name for name in almost if almost[name] == stage), stage=stage)
        for stage in dict.fromkeys(almost.values())
    ]
    return (RoundAnswered(trays=tuple(almost), round=round_name, cue="ready"), *begun)


def strip_from_row(row: RoundRow, *, only: Sequence[str] | None = None) -> Stripped:
    """The row's trays, or some of them, are stripped."""
    _require(row, "strip")
    return Stripped(trays=chosen_trays(row, only))


def discard_from_row(row: RoundRow, *, reason: str, only: Sequence[str] | None = None) -> Discarded:
    """The row's trays, or some of them, are thrown away."""
    _require(row, "discard", "look", "turn", "cut")
    if not reason.strip():
        raise InputError("reason", "nothing", "a discarded tray needs one", "Say in a word, for instance: mould.")
    return Discarded(trays=chosen_trays(row, only), reason=reason)


def wash_from_row(row: RoundRow, *, count: int | None = None, soap: str = "", rinse_c: float | None = None) -> Washed:
    """The row's kit, or `count` of it, is washed."""
    _require(row, "wash")
    return Washed(pool=row.pool, count=row.count if count is None else count, soap=soap, rinse_c=rinse_c)


def sanitise_from_row(
    row: RoundRow,
    *,
    agent: str,
    count: int | None = None,
    strength_ppm: float | None = None,
    contact_min: float | None = None,
) -> Sanitised:
    """The row's kit, or `count` of it, is sanitised. The label, local codes and licensed practice say how."""
    _require(row, "sanitise")
    return Sanitised(
        pool=row.pool,
        count=row.count if count is None else count,
        agent=agent,
        strength_ppm=strength_ppm,
        contact_min=contact_min,
    )


def _require(row: RoundRow, *kinds: RowKind) -> None:
    if row.kind not in kinds:
        raise InputError("row", row.row, f"it is a row to {row.kind}, not to {kinds[0]}", "Look at the round again.")
