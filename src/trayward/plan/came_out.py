"""What came of order lines that kept plans promised: met in full and on time, or not, or nobody can tell."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from typing import NamedTuple

import msgspec

from trayward.farm.gone import LITTLE, grams_gone
from trayward.farm.promised import FINE, asked_now
from trayward.farm.state import FarmState, LinePromised


class Told(NamedTuple):
    """One promise of a line whose day is over."""

    ahead: int
    told: float
    read: float


class Came(NamedTuple):
    """A line whose day is over: what was promised of it, and whether it was met in full and on time."""

    line: str
    due: date
    met: bool
    promises: tuple[Told, ...]


class LeftOut(msgspec.Struct, frozen=True, kw_only=True):
    """Lines with promises that cannot be judged."""

    not_due: int = 0
    cancelled: int = 0
    """No longer asked for when their day was over."""
    changed: int = 0
    """Of another amount than was promised when their day was over."""
    not_written: int = 0
    """For customers, or of weeks, for which no delivery at all is written down."""
    changed_promises: int = 0
    """Promises of other amounts, from before the order was changed."""


def came_out(state: FarmState, today: date) -> tuple[list[Came], LeftOut]:
    """Lines whose day is over, with what was promised of them; and how many cannot be judged."""
    over = {name: one for name, one in state.promised.items() if one.due < today}
    open_ = asked_now(state, (one.due for one in over.values() if one.asked is None))
    gone, wrote, weeks = _gone(state, over)
    found, counts = [], dict.fromkeys(("cancelled", "changed", "not_written"), 0)
    for name, one in over.items():
        asked = open_.get(name, 0.0) if one.asked is None else one.asked
        why = _unfit(one, asked, wrote, weeks)
        if why:
            counts[why] += 1
        elif one.ahead:
            met = gone.get(name, 0.0) >= (1 - LITTLE) * one.amount
            found.append(Came(name, one.due, met, _promises(one)))
    changed = sum(one.changed for one in over.values())
    return found, LeftOut(not_due=len(state.promised) - len(over), changed_promises=changed, **counts)


def _unfit(one: LinePromised, asked: float, wrote: set[str], weeks: set[tuple[int, int]]) -> str:
    """Why a line cannot be judged; nothing where it can."""
    if asked <= 0:
        return "cancelled"
    if abs(asked - one.amount) > 1e-6:
        return "changed"
    return "" if one.customer in wrote and _week(one.due) in weeks else "not_written"


def _gone(
    state: FarmState, lines: Mapping[str, LinePromised]
) -> tuple[dict[str, float], set[str], set[tuple[int, int]]]:
    """What went out of lines up to their day [g], [-]; customers and weeks with any delivery."""
    found: dict[str, float] = defaultdict(float)
    for made in state.deliveries:
        for one in made.lines:
            line = lines.get(one.line)
            if line is not None and made.day <= line.due:
                found[one.line] += len(one.trays) if line.live else grams_gone(state, one)
    wrote = {made.customer for made in state.deliveries}
    return found, wrote, {_week(made.day) for made in state.deliveries}


def _week(day: date) -> tuple[int, int]:
    return day.isocalendar()[:2]


def _promises(one: LinePromised) -> tuple[Told, ...]:
    parts = zip(one.ahead, one.told, one.read, strict=True)
    return tuple(Told(ahead, told / FINE, read / FINE) for ahead, told, read in parts)
