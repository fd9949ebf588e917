"""How the plan kept its word: chances that kept plans told of order lines, held against what came of them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Literal

import msgspec

from trayward.farm.state import FarmState
from trayward.plan.came_out import LeftOut, came_out
from trayward.plan.habits import Habit, learned
from trayward.plan.held import AheadBin, Held, between, by_days_ahead, mean_told, range_kept, share_kept
from trayward.words import listed

GROUPS = (
    (0.0, 0.05, "next to none"),
    (0.05, 0.35, "1 to 3 in 10"),
    (0.35, 0.65, "4 to 6 in 10"),
    (0.65, 0.85, "7 or 8 in 10"),
    (0.85, 0.95, "9 in 10"),
    (0.95, 1.0, "as good as sure"),
)
"""Chances told that count together: from, to below, and how they are said. [-]"""
FAR_DAYS = 100
"""No plan looks so far; a span that ends beyond has no end. [d]"""
ENOUGH = 20
"""Groups of promises of fewer lines are shown, and not judged. [-]"""


class WordRow(msgspec.Struct, frozen=True, kw_only=True):
    """Promises of about the same chance. [-]"""

    chance_from: float
    chance_to: float
    chance: str
    """The same in words."""
    told: float
    """Mean chance told."""
    met: float
    """Share of them that was met."""
    low: float
    high: float
    """Where that share may truly lie, 95 %."""
    promises: int
    lines: int
    so: Literal["held", "more", "less", "few"]
    """Whether it came out as told, more or less often, or of too few lines to judge."""


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
    words: tuple[str, ...] = ()
    """What came of it, what is left out, and what chances learn from it."""


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
    groups = [(low, high, said, between(held, low, high, GROUPS[-1][1])) for low, high, said in GROUPS]
    found = KeptWord(
        lines=len(came),
        met=sum(one.met for one in came),
        expected=sum(min(one.promises, key=lambda said: said.ahead).told for one in came),
        promises=len(held),
        rows=tuple(_row(low, high, said, here) for low, high, said, here in groups if here),
        ahead=by_days_ahead(held),
        left_out=left_out,
        habits=learned(came),
    )
    return msgspec.structs.replace(found, words=_words(found))


def _row(low: float, high: float, chance: str, held: Sequence[Held]) -> WordRow:
    told, (least, most), lines = mean_told(held), range_kept(held), len({one.line for one in held})
    so: Literal["held", "more", "less", "few"] = "held"
    if lines < ENOUGH:
        so = "few"
    elif not least <= told <= most:
        so = "more" if told < least else "less"
    return WordRow(
        chance_from=low, chance_to=high, chance=chance, told=told, met=share_kept(held), low=least, high=most,
        promises=len(held), lines=lines, so=so,
    )  # fmt: skip


# Words ----------------------------------------------------------------------------------------------------------------


def _words(found: KeptWord) -> tuple[str, ...]:
    """What came of it, what is left out, and what chances learn from it."""
    if not found.lines:
        told = ["No order line that a kept plan gave a chance can be judged yet."]
    else:
        told = [
            f"{found.met} of {found.lines} order lines that kept plans gave a chance were met in full and on time; the "
            f"last plan before each day counted on {found.expected:.0f} of them."
        ]
    left = _left_words(found.left_out)
    told += [f"Left out: {listed(left, most=len(left))}."] if left else []
    return (*told, *(_habit_words(habit) for habit in found.habits))


def _left_words(left: LeftOut) -> list[str]:
    parts = (
        (left.not_due, f"{left.not_due} not due yet"),
        (left.cancelled, f"{left.cancelled} cancelled"),
        (left.changed, f"{left.changed} changed since"),
        (left.not_written, f"{left.not_written} for customers or of weeks without any delivery written down"),
        (left.changed_promises, f"{left.changed_promises} chances told of an amount that was changed"),
    )
    return [words for count, words in parts if count]


def _habit_words(habit: Habit) -> str:
    low, high = 100 * habit.told(0.0), 100 * habit.told(1.0)
    ahead = f"from {habit.days_from} to {habit.days_to} days ahead"
    if habit.days_to > FAR_DAYS:
        ahead = f"{habit.days_from} days ahead or more"
    return (
        f"Chances {ahead} follow this: what no course meets is told as {low:.0f} in 100, what all meet as {high:.0f} "
        "in 100."
    )
