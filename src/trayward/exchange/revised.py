"""Which version of each event this is: an event that says the same as before keeps its number and its moment.

References
----------
RFC 5545, sections 3.8.7.3 (LAST-MODIFIED) and 3.8.7.4 (SEQUENCE: 0 at first, one more for each change).
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import datetime, timedelta

import msgspec

from trayward.exchange.ics import NEVER, Event

FORGET = timedelta(days=60)
"""An event that has not stood in the calendar for so long is begun anew if it ever comes back. Our choice."""
STILL = timedelta(days=7)
"""That an event still stands there is written down no more often than this. Our choice."""


class Version(msgspec.Struct, frozen=True, array_like=True):
    """An event as it was told last."""

    digest: str
    sequence: int
    changed: datetime
    seen: datetime


Versions = dict[str, Version]


def revised(events: Iterable[Event], known: Versions, at: datetime) -> tuple[list[Event], Versions]:
    """
    Events with their sequence and the moment they changed, and what to keep for the next time.

    Parameters
    ----------
    events : iterable of Event
        As they are now; their own sequence and moment count for nothing.
    known : dict
        What was kept the time before.
    at : datetime
        Now.

    Returns
    -------
    list of Event, dict
        The second is `known` itself where there is nothing new to keep.
    """
    told, kept, news = [], dict(known), False
    for event in events:
        before, digest = known.get(event.uid), _digest(event)
        if before is None or before.digest != digest or at - before.seen > STILL:
            same = before is not None and before.digest == digest
            number = 0 if before is None else before.sequence + (not same)
            changed = before.changed if before is not None and same else at
            kept[event.uid] = before = Version(digest=digest, sequence=number, changed=changed, seen=at)
            news = True
        told.append(msgspec.structs.replace(event, sequence=before.sequence, changed=before.changed))
    fresh = {uid: version for uid, version in kept.items() if at - version.seen <= FORGET} if news else known
    return told, fresh


def _digest(event: Event) -> str:
    plain = msgspec.structs.replace(event, sequence=0, changed=NEVER)
    return hashlib.sha256(msgspec.json.encode(plain)).hexdigest()[:24]


def versions_in(kept: bytes | None) -> Versions:
    """What was kept; nothing where there is none, or another version wrote it."""
    if kept is None:
        return {}
    try:
        return msgspec.json.decode(kept, type=Versions)
    except msgspec.DecodeError:
        return {}


def versions_out(versions: Versions) -> bytes:
    """What is to be kept."""
    return msgspec.json.encode(versions)
