"""Rows of the round whose trays find no room, and the moves of other trays that would make some."""

from __future__ import annotations

from collections.abc import Iterable

from trayward.farm.state import FarmState
from trayward.rounds.moves import must_move, restack_to_turn
from trayward.rounds.restack import Restack, restack_to_sow
from trayward.rounds.scene import follows, is_last
from trayward.rounds.types import RoundRow

MOST = 5
"""So many rows without room are helped on a page: the moves for the first of them often help the others, too. [-]"""


def stacking_of(rows: Iterable[RoundRow], state: FarmState) -> dict[str, Restack]:
    """Row -> moves, for the first rows that would be refused for want of room, where restacking makes some."""
    found: dict[str, Restack] = {}
    tried = 0
    for row in rows:
        if not _without_room(row, state):
            continue
        made = _to_sow(row, state) if row.kind == "sow" else restack_to_turn(state, row.trays)
        if made is not None:
            found[row.row] = made
        tried += 1
        if tried == MOST:
            break
    return found


def _without_room(row: RoundRow, state: FarmState) -> bool:
    """Whether the round found no spot for some of its trays. Told from the row, without looking for spots again."""
    if row.kind == "sow":
        return len(row.spots) < row.count
    recipe = state.recipes.get(row.recipe)
    after = follows(recipe, row.stage) if recipe is not None else None
    asks = row.kind == "turn" or (bool(row.cue) and not is_last(recipe, row.stage))
    if after is None or not asks:
        return False
    given = {tray for tray, spot in zip(row.trays, row.to, strict=False) if spot}
    return not given.issuperset(must_move(state, dict.fromkeys(row.trays, after)))


def _to_sow(row: RoundRow, state: FarmState) -> Restack | None:
    recipe = state.recipes.get(row.recipe)
    begin = recipe.stages[0] if recipe is not None else None
    if begin is None or begin.ground == "bench":
        return None
    return restack_to_sow(state, begin.ground, begin.stack, row.count)
