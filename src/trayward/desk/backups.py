"""When the book is backed up, what became of the last backup, and when that is too long ago.

Kept beside the book's entries, not among them: it says nothing of the crop, and another machine has another disk.
"""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import Protocol
from zoneinfo import ZoneInfo

import msgspec

from trayward.rounds.types import Round

NAME = "backups"
"""What it is kept under."""
AGAIN = timedelta(hours=1)
"""A backup that failed is tried again after this."""


class BackupPlan(msgspec.Struct, frozen=True, kw_only=True):
    """When the book is backed up, where to, and what is kept of it."""

    folder: str
    at: time = time(2, 30)
    """On the farm's own clock, every day."""
    warn_days: float = 2.0
    """The round says so when the last sound backup is older. [d]"""
    days: int = 7
    weeks: int = 4
    months: int = 12
    """The newest of so many days, weeks and months is kept."""


class BackupMade(msgspec.Struct, frozen=True, kw_only=True):
    """A backup that was restored into a book of its own and found whole."""

    file: str
    at: datetime
    entries: int
    hash: str
    """Of its last entry."""
    size: int
    """[byte]"""


class Backups(msgspec.Struct, frozen=True, kw_only=True):
    """The plan, the last backup that was sound, and the last that failed since."""

    plan: BackupPlan | None = None
    last: BackupMade | None = None
    failed: datetime | None = None
    why: str = ""
    since: datetime | None = None
    """When the plan was made: no warning comes before a backup could have been there."""


class _Keeps(Protocol):
    def worked_out(self, name: str) -> bytes | None: ...


def backups_of(book: _Keeps) -> Backups:
    """What is known of a book's backups."""
    return backups_in(book.worked_out(NAME))


def backups_in(kept: bytes | None) -> Backups:
    """What was kept of them; nothing where there is none."""
    if kept is None:
        return Backups()
    try:
        return msgspec.json.decode(kept, type=Backups)
    except msgspec.DecodeError:  # an older or newer Trayward's: the next backup says it anew
        return Backups()


def due_at(plan: BackupPlan, at: datetime, zone: ZoneInfo) -> datetime:
    """
    The last moment before `at` that a backup was planned for.

    Examples
    --------
    >>> from datetime import UTC
    >>> plan = BackupPlan(folder="/mnt/disk")
    >>> due_at(plan, datetime(2026, 11, 25, 1, 0, tzinfo=UTC), ZoneInfo("UTC")).isoformat()
    '2026-11-24T02:30:00+00:00'
    """
    here = at.astimezone(zone)
    today = datetime.combine(here.date(), plan.at, zone)
    return today if today <= here else datetime.combine(here.date() - timedelta(days=1), plan.at, zone)


def is_due(known: Backups, at: datetime, zone: ZoneInfo) -> bool:
    """Whether a backup is to be made now: one was planned since the last, and none failed within the hour."""
    if known.plan is None or (known.failed is not None and timedelta() <= at - known.failed < AGAIN):
        return False
    return known.last is None or known.last.at < due_at(known.plan, at, zone)


def is_late(known: Backups, at: datetime) -> bool:
    """Whether the last sound backup is older than the farm wants."""
    if known.plan is None:
        return False
    since = known.last.at if known.last is not None else known.since
    return since is not None and at - since > timedelta(days=known.plan.warn_days)


def late_note(known: Backups, at: datetime) -> str:
    """What the round says of it; empty where all is well, or no backup is planned."""
    if not is_late(known, at):
        return ""
    if known.last is None:
        return "No sound backup of the book was made yet. Look under Copies why, or make one now."
    days = max(1, (at - known.last.at).days)
    if days == 1:
        return "The last sound backup of the book is a day old. Look under Copies why, or make one now."
    return f"The last sound backup of the book is {days} days old. Look under Copies why, or make one now."


def with_late_backup(made: Round, book: _Keeps, at: datetime) -> Round:
    """A round that says first of all when the book's last sound backup is too old."""
    late = late_note(backups_of(book), at)
    return msgspec.structs.replace(made, notes=(late, *made.notes)) if late else made
