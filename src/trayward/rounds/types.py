"""What a round says."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

import msgspec

from trayward.rounds.words import sentences

RowKind = Literal[
    "look", "turn", "sow", "cut", "strip", "wash", "sanitise", "pack", "deliver", "discard", "record"
]  # fmt: skip


class Amount(msgspec.Struct, frozen=True, kw_only=True):
    """Something to measure out, with its unit and the tool: `mist` 30 ml a tray, `seed` 20 g on the scale."""

    what: str
    value: float
    unit: str
    each: bool = True
    """True: for each tray; False: for the row as a whole."""
    note: str = ""


class FieldAsked(msgspec.Struct, frozen=True, kw_only=True):
    """Something a hygiene record is to say."""

    field: str
    title: str
    unit: str = ""
    number: bool = False
    required: bool = False
    low: float | None = None
    """The least within the limits, in `unit`."""
    high: float | None = None
    """The most within them."""
    usual: str = ""
    """What it said last time, where that is usually the same."""


class RoundRow(msgspec.Struct, frozen=True, kw_only=True):
    """One thing to do, for trays that stand together and want the same."""

    row: str
    """Stable name: the same row has the same name all through the round."""
    number: int
    kind: RowKind
    place: str
    """Rack and shelf, or where the job is done."""
    crop: str
    recipe: str = ""
    stage: str = ""
    do: str
    """What to do, in a few words that begin with the verb: `Look: kale, 2 trays`."""
    how: str = ""
    """How, in sentences; of a delivery: what goes out."""
    cue: str = ""
    """A question eyes can answer; empty when there is nothing to judge yet."""
    amounts: tuple[Amount, ...] = ()
    trays: tuple[str, ...] = ()
    spots: tuple[str, ...] = ()
    """Where each tray stands, or is to be put."""
    to: tuple[str, ...] = ()
    """Where each of `trays` goes when it goes on; an empty word for one that stays, nothing at all if none moves."""
    lots: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    """Order lines it is for."""
    pool: str = ""
    """The kit to wash or sanitise."""
    marks: tuple[str, ...] = ()
    """Marked kit to sow on, to wash or to sanitise."""
    product: str = ""
    """What to pack."""
    customer: str = ""
    """Whom it goes to."""
    home: bool = False
    """Of what goes out: whether it is for the household's own table."""
    record: str = ""
    """The kind of hygiene record to write down."""
    area: str = ""
    """Where it is about."""
    asks: tuple[FieldAsked, ...] = ()
    """What the record is to say."""
    opens: datetime | None = None
    """Of a record: from when on one that is written down counts for this row."""
    timed: bool = False
    """Whether the record is due at a time of the day."""
    count: int = 0
    """Trays to sow, things to wash, packs to fill; 0 where `trays` says it."""
    overdue: bool = False
    since: datetime | None = None
    """For overdue rows: since when."""
    lacks: str = ""
    """What is wanting to do it now: a free spot, seed, clean kit; in sentences, of which `why` has none."""
    why: str = ""
    minutes: float = 0.0

    @property
    def words(self) -> str:
        """What to do and how, in one line."""
        return sentences(self.do, self.how)


class Round(msgspec.Struct, frozen=True, kw_only=True):
    """The present round, in walking order, overdue first."""

    round: str
    """Day and walk, for instance `2026-11-25 morning`."""
    at: datetime
    rows: tuple[RoundRow, ...]
    done: int = 0
    """Rows of this round already answered."""
    minutes: float = 0.0
    idle: str = ""
    """Where there is no row: that nothing is due, and when the next round begins, in words."""
    notes: tuple[str, ...] = ()
