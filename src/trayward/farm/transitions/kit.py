"""Kit goes round: in use, dirty, washed, drying, ready."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from msgspec.structs import replace

from trayward.errors import Finding
from trayward.farm.entries import Entry, KitBody, KitCounted, KitReturned, Sanitised, Washed
from trayward.farm.kit import GONE, Drying, Mark, PoolState, Where
from trayward.farm.kit_clear import (
    Missed,
    sanitise_missed,
    steps_missed,
    wants_sanitising,
    wash_missed,
)
from trayward.farm.kit_marks import marks_words, moved_marks, to_dry
from trayward.farm.kit_owners import pass_on
from trayward.farm.state import FarmState
from trayward.farm.transitions.say import Findings, listed, more_than_zero, odd, show, twice, wrong


def start_drying(kept: PoolState, count: int, at: datetime) -> None:
    """Some of a pool dries from now; batches that are dry by now are ready and need no more memory."""
    kept.drying = [batch for batch in kept.drying if batch.ready_at > at]
    if count > 0:
        kept.drying.append(Drying(at + timedelta(hours=kept.pool.dry_hours), count))


def check_washed(state: FarmState, body: Washed, entry: Entry) -> Findings:
    found = _pool_problems(state, body, entry)
    if found:
        return found
    held = state.kit[body.pool]
    found = _marks_problems(held, body.marks, "dirty", body, entry)
    found += _too_many(entry, body, held.dirty, "dirty")
    left_out = steps_missed(held.pool, body)
    if left_out:
        message = f"kit {body.pool}, left out = {listed(left_out)}: it is a step of this farm, so they stay dirty."
        found.append(odd(entry, "kit-uncleared", message, "Do it, and record the washing anew."))
    return found + [_missed(entry, body, each, "stay dirty") for each in wash_missed(held.pool, body)]


def apply_washed(state: FarmState, body: Washed, entry: Entry) -> None:
    """Kit with suspected mould waits to be sanitised, where the farm says so; what is not clean stays dirty."""
    kept = state.kit[body.pool]
    if steps_missed(kept.pool, body) or wash_missed(kept.pool, body):
        return
    count = min(body.count, kept.dirty)
    kept.dirty -= count
    marks = moved_marks(kept, "dirty", body.marks, kept.dirty)
    suspect = sum(mark.suspect for mark in marks) if body.marks else count
    suspect = min(suspect, kept.suspect)
    kept.suspect -= suspect
    waits = count if kept.pool.sanitise else suspect if kept.pool.clearing.after_mould else 0
    kept.washed += waits
    waiting = [mark for mark in marks if wants_sanitising(kept.pool, mark)]
    clean = [mark for mark in marks if mark not in waiting]
    waiting_first = pass_on(kept, "dirty", waits, "washed", under=_trays(body, waiting))
    kept.cleaned = waiting_first + pass_on(kept, "dirty", count - waits, under=_trays(body, clean))
    start_drying(kept, count - waits, entry.at)
    to_dry(kept, clean, entry.at)
    for mark in waiting:
        mark.where = "washed"


def _trays(body: Washed | Sanitised | KitReturned, marks: Sequence[Mark]) -> list[str]:
    """The trays that the marks were under which a deed named; none where it named none, for then all is alike."""
    return [mark.tray for mark in marks if mark.tray] if body.marks else []


def check_sanitised(state: FarmState, body: Sanitised, entry: Entry) -> Findings:
    found = _pool_problems(state, body, entry)
    if found:
        return found
    held = state.kit[body.pool]
    found = [_missed(entry, body, each, "are not cleared") for each in sanitise_missed(held.pool, body)]
    if not held.pool.sanitise and not held.washed:
        return found
    return (
        found + _marks_problems(held, body.marks, "washed", body, entry) + _too_many(entry, body, held.washed, "washed")
    )


def apply_sanitised(state: FarmState, body: Sanitised, entry: Entry) -> None:
    """On a farm that only washes, the kit already dries; sanitising it is kept in the book and moves nothing."""
    kept = state.kit[body.pool]
    if sanitise_missed(kept.pool, body):
        return
    count = min(body.count, kept.washed)
    kept.washed -= count
    marks = moved_marks(kept, "washed", body.marks, kept.washed)
    pass_on(kept, "washed", count, under=_trays(body, marks))
    to_dry(kept, marks, entry.at)
    start_drying(kept, count, entry.at)


def check_returned(state: FarmState, body: KitReturned, entry: Entry) -> Findings:
    found = _pool_problems(state, body, entry)
    if found:
        return found
    held = state.kit[body.pool]
    return _marks_problems(held, body.marks, "away", body, entry) + _too_many(entry, body, held.away, "away")


def apply_returned(state: FarmState, body: KitReturned, entry: Entry) -> None:
    kept = state.kit[body.pool]
    count = min(body.count, kept.away)
    kept.away -= count
    kept.dirty += count
    marks = moved_marks(kept, "away", body.marks, kept.away)
    pass_on(kept, "away", count, "dirty", under=_trays(body, marks))
    for mark in marks:
        mark.where = "dirty"


def check_counted(state: FarmState, body: KitCounted, entry: Entry) -> Findings:
    if body.pool not in state.kit:
        return [_unknown(state, body, entry)]
    if body.count < 0:
        return [wrong(entry, "amount", f"kit {body.pool} = {body.count}: cannot be less than 0.", "Count again.")]
    kept = state.kit[body.pool]
    if body.count >= kept.in_use + kept.dirty + kept.washed:
        return []
    message = (
        f"kit {body.pool} = {body.count}: the book has {kept.in_use} in use and {kept.dirty + kept.washed} to wash."
    )
    return [odd(entry, "kit-short", message, "Count those in use too, or record what was stripped and washed.")]


def apply_counted(state: FarmState, body: KitCounted, entry: Entry) -> None:
    kept = state.kit[body.pool]
    kept.pool = replace(kept.pool, count=body.count)
    kept.lost = 0


def _pool_problems(state: FarmState, body: KitBody, entry: Entry) -> Findings:
    if body.pool not in state.kit:
        return [_unknown(state, body, entry)]
    return more_than_zero(entry, f"kit {body.pool}", body.count, "pieces")


def _unknown(state: FarmState, body: KitBody, entry: Entry) -> Finding:
    message = f"kit {body.pool} = none: the farm has no pool of that name."
    return wrong(entry, "kit-unknown", message, f"Pools: {listed(list(state.kit))}.")


def _too_many(entry: Entry, body: KitBody, there: int, condition: str) -> Findings:
    if body.count <= there:
        return []
    message = f"kit {body.pool} = {body.count}: the book has {there} {condition}, so {there} are counted."
    return [odd(entry, "kit-short", message, "Record what was stripped or came back, or count the pool.")]


def _marks_problems(held: PoolState, marks: tuple[str, ...], where: Where, body: KitBody, entry: Entry) -> Findings:
    """Marks the pool does not have, or that are elsewhere by the record."""
    found = twice(entry, "mark", list(marks))
    unknown = [name for name in marks if name not in held.marks]
    if unknown:
        message = f"marks {marks_words(unknown)} = none: no {body.pool} carries them."
        found.append(wrong(entry, "mark-unknown", message, "Check the marks, or give them to the pool first."))
    if len(marks) > body.count:
        message = f"kit {body.pool} = {body.count}: {len(marks)} marks are named."
        found.append(wrong(entry, "marks-many", message, "Name as many as there were."))
    elsewhere = [name for name in marks if name in held.marks and held.marks[name].where != where]
    gone = [name for name in elsewhere if held.marks[name].where in GONE]
    if elsewhere:
        are = "gone" if gone else held.marks[elsewhere[0]].where
        message = f"{body.pool} {marks_words(elsewhere)} = {are}: by the record not {where}, so they stay as they are."
        found.append(odd(entry, "mark-elsewhere", message, "Check the marks, or record what was stripped."))
    return found


def _missed(entry: Entry, body: KitBody, each: Missed, so: str) -> Finding:
    said = "not written down" if each.said is None else f"{show(each.said)} {each.unit}"
    message = f"kit {body.pool}, {each.what} = {said}: this farm wants {each.words}, so they {so}."
    return odd(entry, "kit-uncleared", message, "Measure, do it again by the label, and record that.")
