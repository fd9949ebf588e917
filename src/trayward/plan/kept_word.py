"""How the plan kept its word: chances that kept plans told of order lines, held against what came of them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import pairwise
from typing import Literal

import msgspec

from trayward.farm.state import FarmState
from trayward.plan.came_out import LeftOut, came_out
from trayward.plan.habits import Habit, learned
from trayward.plan.held import AheadBin, Held, between, by_days_ahead, mean_told, range_kept, share_kept

EDGES = (0.0, 0.05, 0.35, 0.65, 0.85, 0.95, 1.0)
"""Ends of the groups of chances told: as good as none, 1 to 3 in 10, 4 to 6, 7 to 8, 9 in 10, as good as sure. [-]"""
ENOUGH = 20
"""Groups of promises of fewer lines are shown, and not judged. [-]"""


class WordRow(msgspec.Struct, frozen=True, kw_only=True):
    """Promises of about the same chance. [-]"""

    chance_from: float
    chance_to: float
    told: float
    """Mean chance told."""
    met: float
    """Share of them that was met."""
    low: float
    high: float
    """Where that share may truly lie, 95 %."""
    promises: int
    lines: int
    so: Literal["as told", "more often", "less often", "too few"]


class KeptWord(msgspec.Struct, frozen=True, kw_only=True):
    """How the plan kept its word."""

    lines: int
    """Lines whose day is over and that were promised."""
    met: int
    """Of them, so many were met in full and on time."""
    expected: float
    """So many were to be, by what the last plan before each day told. [-]"""
    promises: int
    rows: tuple[WordRow, ...]
    ahead: tuple[AheadBin, ...]
    left_out: LeftOut
    habits: tuple[Habit, ...]
    """What chances follow by now."""


def kept_word(state: FarmState, today: date) -> KeptWord:
    """
    Hold what kept plans told against what came of it.

    Parameters
    ----------
    state : FarmState
        The farm; it remembers promises of the last 26 weeks.
    today : date
        Lines due before it are over.

    Returns
    -------
    KeptWord
        By chance told and by how long before. A line counts once for each day on which a plan was kept.
    """
    came, left_out = came_out(state, today)
    held = [
        Held(one.due.toordinal() // 7, one.line, said.told, one.met, said.ahead)
        for one in came
        for said in one.promises
    ]
    groups = [(low, high, between(held, low, high, EDGES[-1])) for low, high in pairwise(EDGES)]
    return KeptWord(
        lines=len(came),
        met=sum(one.met for one in came),
        expected=sum(min(one.promises, key=lambda said: said.ahead).told for one in came),
        promises=len(held),
        rows=tuple(_row(low, high, here) for low, high, here in groups if here),
        ahead=by_days_ahead(held),
        left_out=left_out,
        habits=learned(came),
    )


def _row(low: float, high: float, held: Sequence[Held]) -> WordRow:
    told, (least, most), lines = mean_told(held), range_kept(held), len({one.line for one in held})
    so: Literal["as told", "more often", "less often", "too few"] = "as told"
    if lines < ENOUGH:
        so = "too few"
    elif not least <= told <= most:
        so = "more often" if told < least else "less often"
    return WordRow(
        chance_from=low, chance_to=high, told=told, met=share_kept(held), low=least, high=most,
        promises=len(held), lines=lines, so=so,
    )  # fmt: skip
