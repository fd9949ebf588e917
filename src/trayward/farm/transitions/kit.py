"""Kit goes round: in use, dirty, washed, drying, ready."""

from __future__ import annotations

from datetime import datetime, timedelta

from msgspec.structs import replace

from trayward.errors import Finding
from trayward.farm.entries import Entry, KitBody, KitCounted, KitReturned, Sanitised, Washed
from trayward.farm.kit import Drying, PoolState
from trayward.farm.state import FarmState
from trayward.farm.transitions.say import Findings, listed, more_than_zero, odd, wrong


def start_drying(kept: PoolState, count: int, at: datetime) -> None:
    """Some of a pool dries from now; batches that are dry by now are ready and need no more memory."""
    kept.drying = [batch for batch in kept.drying if batch.ready_at > at]
    if count > 0:
        kept.drying.append(Drying(at + timedelta(hours=kept.pool.dry_hours), count))


def check_washed(state: FarmState, body: Washed, entry: Entry) -> Findings:
    return _pool_problems(state, body, entry) or _too_many(entry, body, state.kit[body.pool].dirty, "dirty")


def apply_washed(state: FarmState, body: Washed, entry: Entry) -> None:
    kept = state.kit[body.pool]
    count = min(body.count, kept.dirty)
    kept.dirty -= count
    if kept.pool.sanitise:
        kept.washed += count
    else:
        start_drying(kept, count, entry.at)


def check_sanitised(state: FarmState, body: Sanitised, entry: Entry) -> Findings:
    found = _pool_problems(state, body, entry)
    if found or not state.kit[body.pool].pool.sanitise:
        return found
    return _too_many(entry, body, state.kit[body.pool].washed, "washed")


def apply_sanitised(state: FarmState, body: Sanitised, entry: Entry) -> None:
    """On a farm that only washes, the kit already dries; sanitising it is kept in the book and moves nothing."""
    kept = state.kit[body.pool]
    count = min(body.count, kept.washed)
    kept.washed -= count
    start_drying(kept, count, entry.at)


def check_returned(state: FarmState, body: KitReturned, entry: Entry) -> Findings:
    return _pool_problems(state, body, entry) or _too_many(entry, body, state.kit[body.pool].away, "away")


def apply_returned(state: FarmState, body: KitReturned, entry: Entry) -> None:
    kept = state.kit[body.pool]
    count = min(body.count, kept.away)
    kept.away -= count
    kept.dirty += count


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
