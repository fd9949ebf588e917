"""Who answered a row of the round, too: two people may, one of them hours later from a phone that had no signal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime

import msgspec

from trayward.desk.core import DeskCore, call_of, first_id
from trayward.farm.calendar import local_day, next_round, present_round, rounds_of
from trayward.farm.entries import (
    Body,
    Cut,
    Delivered,
    Discarded,
    Entry,
    Packed,
    RecordWritten,
    RoundAnswered,
    Sanitised,
    SowingMade,
    StageChanged,
    Stripped,
    Washed,
)
from trayward.farm.records import key_of
from trayward.farm.settings import FarmSettings
from trayward.rounds.told import RowTold
from trayward.rounds.types import RowKind

ENDS: tuple[type[Body], ...] = (Cut, Discarded, Delivered)
ANSWERS: dict[RowKind, tuple[type[Body], ...]] = {
    "look": (RoundAnswered, StageChanged, *ENDS),
    "turn": (StageChanged, *ENDS),
    "cut": ENDS,
    "discard": ENDS,
    "strip": (Stripped,),
    "sow": (SowingMade,),
    "wash": (Washed,),
    "sanitise": (Sanitised,),
    "pack": (Packed,),
    "deliver": (Delivered,),
    "record": (RecordWritten,),
}
"""What answers a row of each kind, whoever says it."""
JOBS: tuple[RowKind, ...] = ("sow", "wash", "sanitise", "pack", "deliver", "record")
"""Rows about kit, seed, goods and records; the others are about trays that stand."""


class Other(msgspec.Struct, frozen=True, kw_only=True):
    """Somebody else's answer to the same row."""

    by: str
    at: datetime
    bodies: tuple[Body, ...]
    ids: tuple[str, ...]


class Others(DeskCore):
    """Looks for other answers to a row."""

    def others_of(self, told: RowTold, only: Sequence[str], at: datetime, ids: Sequence[str] = ()) -> tuple[Other, ...]:
        """
        Who answered a row, too: from the beginning of its round to the end of the round a moment lies in.

        What an order line is owed goes out once: of a delivery, whoever took it out later answered it, too.

        Parameters
        ----------
        told : RowTold
            The row.
        only : sequence of str
            Some of its trays; all if empty.
        at : datetime
            When it is answered.
        ids : sequence of str
            Ids of the own answer, which is left out.
        """
        began, until = _window(told.round, at, self.settings(at))
        # Of a record only one that counts for the same time, which may be one of several in a round, or of days ago.
        began = told.opens or began
        struck, mine = self.book.struck(), {first_id(name) for name in ids}
        calls: dict[str, dict[str, Entry]] = {}
        for entry in self._answers_to(told, only):
            in_time = began <= entry.at and (entry.at < until or told.kind == "deliver")
            if in_time and entry.id not in struck and first_id(entry.id) not in mine:
                calls.setdefault(call_of(entry), {})[entry.id] = entry
        found = (_other(tuple(call.values())) for call in calls.values())
        return tuple(sorted(found, key=lambda other: other.at))

    def _answers_to(self, told: RowTold, only: Sequence[str]) -> Iterator[Entry]:
        """Entries that do what the row asks, as the book files them; one about several things comes several times."""
        subjects = told.job if told.kind in JOBS else [f"tray:{name}" for name in only or told.trays]
        for subject in subjects:
            for kept in self.book.about(subject):
                body = kept.entry.body
                if isinstance(body, ANSWERS[told.kind]) and _same_job(told, body):
                    yield kept.entry


def _same_job(told: RowTold, body: Body) -> bool:
    """Whether an entry does the row's job, and not another one of the same kind."""
    if isinstance(body, Delivered) and told.kind == "deliver":
        return bool({line.line for line in body.lines} & set(told.lines)) or not told.lines
    if isinstance(body, RecordWritten):
        return key_of(body.record.kind, body.record.area) == key_of(told.record, told.area)
    return True


def _window(round_name: str, at: datetime, settings: FarmSettings) -> tuple[datetime, datetime]:
    """From when a round began to when the one after the moment's begins."""
    began = present_round(settings, at)[1]
    try:
        day = date.fromisoformat(round_name[:10])
    except ValueError:
        day = local_day(at, settings)
    set_for = next((moment for moment, name in rounds_of(day, settings) if name == round_name), None)
    if set_for is not None:
        began = min(began, present_round(settings, set_for)[1])
    return began, next_round(settings, at)[1]


def _other(call: Sequence[Entry]) -> Other:
    first = call[0]
    return Other(
        by=first.by, at=first.at, ids=tuple(entry.id for entry in call), bodies=tuple(entry.body for entry in call)
    )
