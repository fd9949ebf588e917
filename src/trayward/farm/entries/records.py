"""Entries about hygiene records."""

from __future__ import annotations

from trayward.farm.entries.body import Body
from trayward.farm.records import Habit, HygieneRecord


class RecordWritten(Body, frozen=True, kw_only=True):
    """A hygiene record: a cleaning, a temperature of the cold room, a water test, a training, ..."""

    KIND = "record written"
    record: HygieneRecord

    def subjects(self) -> tuple[str, ...]:
        area = (f"place:{self.record.area}",) if self.record.area else ()
        return tuple(dict.fromkeys((f"record:{self.record.kind}", *area, *self.record.about)))


class RecordsReviewed(Body, frozen=True, kw_only=True):
    """Somebody in charge looked at records, named by their entries."""

    KIND = "records reviewed"
    entries: tuple[str, ...]
    note: str = ""

    def subjects(self) -> tuple[str, ...]:
        return tuple(f"entry:{name}" for name in self.entries)


class RecordHabitSet(Body, frozen=True, kw_only=True):
    """How often a kind of record is kept somewhere, and its limits there, from now on."""

    KIND = "record habit set"
    VERSION = 2
    habit: Habit

    def subjects(self) -> tuple[str, ...]:
        return (f"record:{self.habit.kind}",)
