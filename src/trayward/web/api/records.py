"""Hygiene records, for programs."""

from __future__ import annotations

from datetime import date
from typing import Annotated

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.hygiene.due import RecordDue, ReviewDue
from trayward.hygiene.kinds import CHECKED, KINDS, Kind
from trayward.hygiene.pack import RECENT, Inspection, RecordShown
from trayward.web.api.operation import Nothing, look, tell
from trayward.web.api.telling import Name, Names, Telling, Words
from trayward.web.ask import Ask

Figure = Annotated[float, msgspec.Meta(ge=-1e9, le=1e9)]


class DaysAsked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which days, both included; those since 30 days ago where nothing is said."""

    first: date | None = None
    last: date | None = None


class KindPage(msgspec.Struct, frozen=True, kw_only=True):
    """Kinds of record, with where they come from."""

    kinds: tuple[Kind, ...]
    checked: date
    """When the sources were last checked."""


class RecordPage(msgspec.Struct, frozen=True, kw_only=True):
    """Records in the order of happening, struck ones with them."""

    records: tuple[RecordShown, ...]


class DuePage(msgspec.Struct, frozen=True, kw_only=True):
    """What is to be written down now, and what waits for a review."""

    records: tuple[RecordDue, ...]
    reviews: tuple[ReviewDue, ...]


class WriteRecord(Telling, frozen=True, kw_only=True):
    """A record of some kind. A value beyond its limit needs `corrective`."""

    kind: Name
    values: dict[str, Figure | Words]
    """Field -> a figure in the field's unit, or words; words of a figure may carry a unit (`41 F`)."""
    area: Words = ""
    about: tuple[Name, ...] = ()
    """Lots it concerns, by code or name."""
    corrective: Words = ""
    note: Words = ""


class ReviewRecords(Telling, frozen=True, kw_only=True):
    """Whoever keeps the farm looked at these records."""

    entries: Names
    """By the ids of their entries."""
    note: Words = ""


class LimitSaid(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The farm's limits of a field, in the field's unit."""

    low: Figure | None = None
    high: Figure | None = None


class SetRecordHabit(Telling, frozen=True, kw_only=True):
    """How often a kind is written down somewhere, and the farm's limits there, whole."""

    kind: Name
    area: Words = ""
    every: Words = ""
    """Plain words (`daily`, `2 a day`, `every 12 h`) or an RFC 5545 rule; empty: whenever it happens."""
    start: date | None = None
    limits: dict[str, LimitSaid] = msgspec.field(default_factory=dict)
    """Field -> its limits."""
    within_days: Annotated[int, msgspec.Meta(ge=0, le=3650)] | None = None
    """Reviewed within so many days. [d]"""
    ended: bool = False


def _kinds(ask: Ask, _: Nothing) -> KindPage:  # noqa: ARG001
    return KindPage(kinds=KINDS, checked=CHECKED)


def _due(ask: Ask, _: Nothing) -> DuePage:
    return DuePage(records=ask.farm.records_due(ask.at), reviews=ask.farm.reviews_due(ask.at))


def _records(ask: Ask, asked: DaysAsked) -> RecordPage:
    return RecordPage(records=ask.farm.records(*_days(ask, asked), at=ask.at))


def _inspection(ask: Ask, asked: DaysAsked) -> Inspection:
    return ask.farm.inspection(*_days(ask, asked), at=ask.at)


def _days(ask: Ask, asked: DaysAsked) -> tuple[date, date]:
    last = asked.last or ask.today
    return asked.first or last - RECENT, last


def _write(ask: Ask, told: WriteRecord, said: Said) -> Receipt:
    return ask.farm.write_record(
        told.kind, told.values, area=told.area, about=told.about, corrective=told.corrective, note=told.note, **said
    )


def _review(ask: Ask, told: ReviewRecords, said: Said) -> Receipt:
    return ask.farm.review(told.entries, note=told.note, **said)


def _habit(ask: Ask, told: SetRecordHabit, said: Said) -> Receipt:
    limits = {name: (each.low, each.high) for name, each in told.limits.items()}
    return ask.farm.set_record_habit(
        told.kind, area=told.area, every=told.every, start=told.start, limits=limits, within_days=told.within_days,
        ended=told.ended, **said,
    )  # fmt: skip


OPERATIONS = (
    look("/records/kinds", _kinds, KindPage, "records", "Kinds of hygiene record.", steady=True),
    look("/records/due", _due, DuePage, "records", "What is to be written down or reviewed."),
    look("/records", _records, RecordPage, "records", "Hygiene records of some days.", takes=DaysAsked),
    look("/records/inspection", _inspection, Inspection, "records", "Everything of an inspection pack.",
         takes=DaysAsked, may="run"),
    tell("/records", _write, WriteRecord, "records", "Write a hygiene record down.", kinds=("record written",)),
    tell("/records/reviews", _review, ReviewRecords, "records", "Records were reviewed.", may="run",
         kinds=("records reviewed",)),
    tell("/records/habits", _habit, SetRecordHabit, "records", "How often a kind is written down.", may="run",
         kinds=("record habit set",)),
)  # fmt: skip
