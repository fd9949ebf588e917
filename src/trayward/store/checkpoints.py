"""Folded states kept for speed: a few new ones, and older ones ever further apart."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, exists, select

from trayward.desk.ports import Checkpoint
from trayward.farm.codec import decode_entry
from trayward.farm.entries import Struck
from trayward.store.chain import from_microseconds, to_microseconds
from trayward.store.schema import CHECKPOINT, ENTRY, STRIKES_ONLY

MOST = 8
NEWEST = 3
"""Of these many newest none is thinned out."""


def newest_checkpoint(connection: Connection, until: datetime | None) -> Checkpoint | None:
    """The newest checkpoint whose horizon is not after `until`. Untrue ones were dropped when they became so."""
    query = select(CHECKPOINT).order_by(CHECKPOINT.c.horizon.desc(), CHECKPOINT.c.seq.desc()).limit(1)
    if until is not None:
        query = query.where(CHECKPOINT.c.horizon <= to_microseconds(until))
    row = connection.execute(query).first()
    return None if row is None else Checkpoint(seq=row.seq, horizon=from_microseconds(row.horizon), state=row.state)


def keep_checkpoint(connection: Connection, checkpoint: Checkpoint) -> None:
    """Keep a checkpoint if it is still true, and thin the old ones; the caller holds the writers' lock."""
    if not _still_true(connection, checkpoint):
        return
    connection.execute(CHECKPOINT.delete().where(CHECKPOINT.c.seq == checkpoint.seq))
    connection.execute(
        CHECKPOINT.insert().values(
            seq=checkpoint.seq, horizon=to_microseconds(checkpoint.horizon), state=checkpoint.state
        )
    )
    column = CHECKPOINT.c
    kept = [tuple(row) for row in connection.execute(select(column.horizon, column.seq))]
    for seq in thin(kept):
        connection.execute(CHECKPOINT.delete().where(column.seq == seq))


def thin(kept: list[tuple[int, int]]) -> list[int]:
    """
    Which checkpoints to drop so that no more than `MOST` are left.

    Parameters
    ----------
    kept : list of (horizon, seq)
        Horizon in any unit of time.

    Returns
    -------
    list of int
        The `seq` of each to drop: those that leave the smallest gap for their age, never one of the `NEWEST` or the
        oldest. So the gaps grow with age, and a late entry of any age finds one not far before it.
    """
    left = sorted(kept, reverse=True)
    dropped = []
    while len(left) > MOST:
        now = left[0][0]
        gaps = [
            ((left[place - 1][0] - left[place + 1][0]) / (now - left[place + 1][0] + 1), place)
            for place in range(NEWEST, len(left) - 1)
        ]
        dropped.append(left.pop(min(gaps)[1])[1])
    return dropped


def _still_true(connection: Connection, checkpoint: Checkpoint) -> bool:
    """Nothing kept since happened before its horizon, nothing kept since strikes what it holds, and it is of here."""
    column = ENTRY.c
    if connection.scalar(select(exists().where(column.seq == checkpoint.seq))) is not True:
        return False
    later = column.seq > checkpoint.seq
    if connection.scalar(select(exists().where(later, column.at < to_microseconds(checkpoint.horizon)))):
        return False
    targets = []
    for canonical in connection.scalars(select(column.canonical).where(later, STRIKES_ONLY)):
        body = decode_entry(canonical.encode()).body
        targets += [body.entry] if isinstance(body, Struck) else []
    struck = exists().where(column.id.in_(targets), column.seq <= checkpoint.seq)
    return not (targets and connection.scalar(select(struck)))
