"""What kept plans promised of each order line, day by day, so that it can be held against what went out."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

import msgspec

from trayward.farm.due import lines_due
from trayward.farm.state import FarmState, LinePromised

KEPT_DAYS = 182
"""Promises are remembered until the line's day is so long ago: a farm of last year promised otherwise. The book has all
of them. [d]"""
FINE = 10_000
"""Chances are held in whole parts of so many: what they are read off is coarser. [-]"""


class _LineSaid(msgspec.Struct, frozen=True):
    """What a plan says of a line, as far as it is a promise."""

    line: str
    due: date
    customer: str = ""
    grams: float = 0.0
    trays: int = 0
    chance: float | None = None
    read: float | None = None


class _PlanSaid(msgspec.Struct, frozen=True):
    first: date
    lines: tuple[_LineSaid, ...] = ()


def note_plan(state: FarmState, plan: bytes) -> None:
    """
    Note what a kept plan promises of its lines.

    A line is noted once a day: a plan kept later on the day says it anew. What was said of another amount than the
    newest plan knows is let go and counted, for the customer changed the order. Plans over one future only, and plans
    of another shape, promise no chance.
    """
    try:
        said = msgspec.json.decode(plan, type=_PlanSaid)
    except (msgspec.DecodeError, UnicodeDecodeError):
        return
    _close(state, said.first)
    for line in said.lines:
        if line.chance is not None and line.due >= said.first:
            state.promised[line.line] = _noted(state.promised.get(line.line), line, (line.due - said.first).days)


def _noted(before: LinePromised | None, line: _LineSaid, ahead: int) -> LinePromised:
    chance, read = line.chance or 0.0, line.chance if line.read is None else line.read
    told, drawn = round(FINE * chance), round(FINE * (read or 0.0))
    amount, changed = float(line.trays) if line.trays else line.grams, 0
    days: dict[int, tuple[int, int]] = {}
    if before is not None:
        changed = before.changed
        if before.due == line.due and abs(before.amount - amount) < 1e-6:
            days = dict(zip(before.ahead, zip(before.told, before.read, strict=True), strict=True))
        else:
            changed += len(before.ahead)
    days[ahead] = told, drawn
    return LinePromised(
        due=line.due,
        customer=line.customer,
        live=line.trays > 0,
        amount=amount,
        ahead=tuple(days),
        told=tuple(one for one, _ in days.values()),
        read=tuple(one for _, one in days.values()),
        changed=changed,
    )


def _close(state: FarmState, today: date) -> None:
    """Note what was asked for of lines whose day is over, as it stands now; let go of those long over."""
    over = {name: one for name, one in state.promised.items() if one.due < today}
    for name in [name for name, one in over.items() if one.due < today - timedelta(days=KEPT_DAYS)]:
        del state.promised[name], over[name]
    fresh = {name: one for name, one in over.items() if one.asked is None}
    asked = asked_now(state, (one.due for one in fresh.values()))
    for name, one in fresh.items():
        state.promised[name] = msgspec.structs.replace(one, asked=asked.get(name, 0.0))


def asked_now(state: FarmState, days: Iterable[date]) -> dict[str, float]:
    """Lines due between the first and the last of some days -> grams, or live trays, asked for as orders stand now."""
    known = sorted(days)
    if not known:
        return {}
    return {line.line: float(line.trays) if line.live else line.grams for line in lines_due(state, known[0], known[-1])}
