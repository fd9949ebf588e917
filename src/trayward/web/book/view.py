"""What the pages of the book show, from entries told in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

import msgspec

from trayward.desk.backups import Backups, is_late
from trayward.desk.looking_up import DEEDS, TakenBack, Told
from trayward.errors import Finding
from trayward.farm.entries import Body, PlanKept, Struck
from trayward.farm.state import FarmState
from trayward.rounds.story import StoryLine

LATE = timedelta(minutes=10)
"""What is written down this long after it happened is said to be so."""
DEED_OF = {kind: deed for deed, kinds in DEEDS.items() for kind in kinds}


class Line(msgspec.Struct, frozen=True, kw_only=True):
    """An entry in a list."""

    id: str
    at: datetime
    words: str
    by: str
    deed: str
    late: bool
    """Written down well after it happened."""
    taken_back: TakenBack | None


class Day(msgspec.Struct, frozen=True, kw_only=True):
    """A day of the farm with its entries, the newest first."""

    day: date
    lines: tuple[Line, ...]


class Link(msgspec.Struct, frozen=True, kw_only=True):
    """Something an entry is about, and where its own page is."""

    kind: str
    name: str
    where: str


class Figure(msgspec.Struct, frozen=True, kw_only=True):
    """One figure of an entry as it is kept."""

    name: str
    value: str


class Whole(msgspec.Struct, frozen=True, kw_only=True):
    """All of an entry."""

    id: str
    seq: int
    hash: str
    kind: str
    deed: str
    words: str
    by: str
    at: datetime
    recorded: datetime
    late: bool
    about: tuple[Link, ...]
    figures: tuple[Figure, ...]
    taken_back: TakenBack | None
    takes_back: str
    """Id of the entry that it takes back; empty for most."""


class Odd(msgspec.Struct, frozen=True, kw_only=True):
    """Something that does not add up, with the entries that said it."""

    message: str
    remedy: str
    wrong: bool
    lines: tuple[Line, ...]


class Story(msgspec.Struct, frozen=True, kw_only=True):
    """The story of a lot."""

    name: str
    kind: str
    crop: str
    left_g: float | None
    """What is left of it; None where that is not known any more. [g]"""
    lines: tuple[StoryLine, ...]


class BackupsShown(msgspec.Struct, frozen=True, kw_only=True):
    """When the book was last backed up, and when it will be."""

    planned: time | None
    """The time of day; None: no backups are planned."""
    folder: str
    last: datetime | None
    entries: int
    """In the last one that was sound."""
    failed: datetime | None
    why: str
    late: bool
    """Older than the farm wants."""


def backups_shown(known: Backups, at: datetime) -> BackupsShown:
    """What the pages show of a book's backups."""
    plan, last = known.plan, known.last
    return BackupsShown(
        planned=plan.at if plan else None, folder=plan.folder if plan else "", last=last.at if last else None,
        entries=last.entries if last else 0, failed=known.failed, why=known.why, late=is_late(known, at),
    )  # fmt: skip


def line_of(told: Told) -> Line:
    """An entry as a list shows it."""
    entry = told.kept.entry
    return Line(
        id=entry.id, at=entry.at, words=told.words, by=entry.by, deed=DEED_OF[entry.kind],
        late=entry.recorded - entry.at > LATE, taken_back=told.taken_back,
    )  # fmt: skip


def days_of(told: Iterable[Told], zone: ZoneInfo) -> tuple[Day, ...]:
    """Entries by the farm's days, in the order given."""
    lines = [line_of(one) for one in told]
    by_day = groupby(lines, key=lambda line: line.at.astimezone(zone).date())
    return tuple(Day(day=day, lines=tuple(found)) for day, found in by_day)


def whole_of(told: Told, links: Sequence[Link]) -> Whole:
    """All of an entry."""
    entry = told.kept.entry
    return Whole(
        id=entry.id, seq=told.kept.seq, hash=told.kept.hash, kind=entry.kind, deed=DEED_OF[entry.kind],
        words=told.words, by=entry.by, at=entry.at, recorded=entry.recorded, late=entry.recorded - entry.at > LATE,
        about=tuple(links), figures=figures_of(entry.body), taken_back=told.taken_back,
        takes_back=entry.body.entry if isinstance(entry.body, Struck) else "",
    )  # fmt: skip


def figures_of(body: Body) -> tuple[Figure, ...]:
    """
    Every figure of an entry, as it is kept: one a line, the parts of a list one after another; blanks left out.

    Examples
    --------
    >>> from trayward.farm.entries import Watered
    >>> [(each.name, each.value) for each in figures_of(Watered(trays=("261125A.1",), ml=30.0, way="mist"))]
    [('trays 1', '261125A.1'), ('ml', '30.0'), ('way', 'mist')]
    """
    if isinstance(body, PlanKept):
        return (Figure(name="plan", value=f"{len(bytes(body.plan)):,} letters of JSON, in the export"),)
    return tuple(_flat("", msgspec.to_builtins(body)))


def _flat(name: str, value: object) -> Iterable[Figure]:
    if isinstance(value, dict):
        for key, held in value.items():
            yield from _flat(f"{name} {str(key).replace('_', ' ')}".strip(), held)
    elif isinstance(value, list | tuple):
        for number, held in enumerate(value, start=1):
            yield from _flat(f"{name} {number}", held)
    elif value not in (None, ""):
        shown = {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)
        yield Figure(name=name, value=shown)


def odd_of(finding: Finding, told: Iterable[Told]) -> Odd:
    """A finding with its entries."""
    return Odd(
        message=finding.message, remedy=finding.remedy, wrong=finding.severity == "wrong",
        lines=tuple(line_of(one) for one in told),
    )  # fmt: skip


def story_of(name: str, state: FarmState, lines: Sequence[StoryLine], *, harvest: bool) -> Story:
    """The story of a seed lot or a harvest lot; the newest last, as it went."""
    lot = state.harvests.get(name) if harvest else state.seed.get(name)
    return Story(
        name=name, kind="harvest" if harvest else "lot", crop=lot.crop if lot is not None else "",
        left_g=lot.left_g if lot is not None else None, lines=tuple(lines),
    )  # fmt: skip
