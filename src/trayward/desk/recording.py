"""Hygiene records through the desk: written down, reviewed, looked up, and packed for an inspection."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Unpack, cast

from trayward.desk.core import Receipt, Said, worked_out
from trayward.desk.ports import Kept, Wanted
from trayward.desk.ruling import rules_shown
from trayward.desk.tracing import Tracing
from trayward.errors import InputError
from trayward.farm.calendar import day_start, local_day
from trayward.farm.entries import (
    RecordHabitSet,
    RecordsReviewed,
    RecordWritten,
    Sanitised,
    Washed,
)
from trayward.farm.often import often_from_words
from trayward.farm.records import Habit, HygieneRecord, Limit, Value, key_of
from trayward.farm.state import FarmState
from trayward.hygiene.due import RecordDue, ReviewDue, gaps, records_due, reviews_due
from trayward.hygiene.kinds import REVIEW_DAYS, Field, Kind, kind_named, limits_of, read_value
from trayward.hygiene.pack import KIT, Inspection, RecordShown, Review, Strike, kit_record, produce_of, shown_title
from trayward.hygiene.words import figure_words, limit_words

if TYPE_CHECKING:
    from trayward.desk.desk import Desk

RECORDED = (RecordWritten.KIND, Washed.KIND, Sanitised.KIND)
MOST = 100_000
"""So many records of a period at most: more is asked for in parts."""


class Recording(Tracing):
    """Records: what the farm writes down so that others can see it was clean and cold."""

    @worked_out(RecordWritten)
    def write_record(
        self,
        kind: str,
        values: Mapping[str, str | float],
        *,
        area: str = "",
        about: Iterable[str] = (),
        corrective: str = "",
        note: str = "",
        **said: Unpack[Said],
    ) -> Receipt:
        """
        Write a hygiene record down.

        Parameters
        ----------
        kind : str
            Its name in the table of kinds: `cold room`, `cleaning`, ...
        values : mapping
            Field -> what was found: a number in the field's unit, or words with a unit (`41 F`).
        area : str
            Where: a room, a rack, a tap.
        about : iterable of str
            Lots it concerns, by code or name.
        corrective : str
            What was done where a value lies beyond its limit; it is asked for.

        Raises
        ------
        InputError
            If a field is missing or carries another unit, or a value is beyond its limit and nothing was done.
        NotFoundError
            If there is no such kind, field or lot.
        """
        told, place, at = kind_named(kind), " ".join(area.split()), said["at"]
        if told.area and not place:
            raise InputError("area", "nothing", f"{told.title} says where", "Name the room, rack or table.")
        habit = self.state(at).record_habits.get(key_of(told.name, place))
        read = self._values(told, values, habit, at)
        subjects = tuple(dict.fromkeys(self.trace_start(word, at=at).subject for word in about if word.strip()))
        record = HygieneRecord(
            kind=told.name, values=read, area=place, about=subjects, corrective=corrective.strip(),
            review_days=review_days(told, habit), note=note.strip(),
        )  # fmt: skip
        self._ask_what_was_done(told, record, at)
        return self._say(RecordWritten(record=record), **said)

    def _values(
        self, told: Kind, values: Mapping[str, str | float], habit: Habit | None, at: datetime
    ) -> tuple[Value, ...]:
        units = self.settings(at).units.temperature
        said = {told.field(name).name: value for name, value in values.items() if str(value).strip()}
        for field in told.fields:
            if field.required and field.name not in said:
                raise InputError(field.name, "nothing", f"{told.title} says it", "Write down what was found.")
        return tuple(
            _value(field, read_value(field, said[field.name], temperature=units), habit)
            for field in told.fields
            if field.name in said
        )

    def _ask_what_was_done(self, told: Kind, record: HygieneRecord, at: datetime) -> None:
        """Asked for while it is said as it happens; what arrives late is kept, with a finding."""
        horizon = self.book.head().horizon
        if record.corrective or (horizon is not None and at < horizon):
            return
        units = self.settings(at).units
        for value in record.values:
            if value.outside:
                shown = figure_words(value.value, value.unit, units)
                rule = (
                    f"{value.field} {shown} lies beyond the limit, "
                    f"{limit_words(value.low, value.high, value.unit, units)}"
                )
                usual = f" Usually: {told.corrective}." if told.corrective else ""
                raise InputError("corrective", "nothing", rule, f"Say what was done about it.{usual}")

    @worked_out(RecordHabitSet)
    def set_record_habit(
        self,
        kind: str,
        *,
        area: str = "",
        every: str = "",
        start: date | None = None,
        limits: Mapping[str, tuple[float | str | None, float | str | None]] | None = None,
        within_days: int | None = None,
        ended: bool = False,
        **said: Unpack[Said],
    ) -> Receipt:
        """
        How often a kind of record is kept somewhere, and the farm's limits there, from now on (all of it).

        Parameters
        ----------
        every : str
            Plain words (`daily`, `2 a day`, `every 12 h`, `every Mon at 8:00`) or an RFC 5545 rule; empty: whenever
            it happens.
        start : date, optional
            Its first day; the farm's present day if left out.
        limits : mapping, optional
            Field -> (lowest, highest), each None where there is none.
        within_days : int, optional
            Within so many days somebody in charge looks at each; as the kind has it if left out. [d]
        ended : bool
            True: no longer asked for.
        """
        told, at = kind_named(kind), said["at"]
        settings = self.settings(at)
        found = []
        for name, ends in (limits or {}).items():
            field = told.field(name)
            if not field.number:
                raise InputError(name, "a limit", "words have no limit", "Set limits for figures only.")
            low, high = (
                None if end is None else read_value(field, end, temperature=settings.units.temperature) for end in ends
            )
            assert not isinstance(low, str)
            assert not isinstance(high, str)
            found.append(Limit(field=field.name, low=low, high=high))
        often = often_from_words(every, settings)
        habit = Habit(
            kind=told.name, area=" ".join(area.split()), rule=often.rule, times=often.times,
            start=start or local_day(at, settings), limits=tuple(found), review_days=within_days, ended=ended,
        )  # fmt: skip
        return self._say(RecordHabitSet(habit=habit), **said)

    @worked_out(RecordsReviewed)
    def review(self, entries: Sequence[str], *, note: str = "", **said: Unpack[Said]) -> Receipt:
        """
        Somebody in charge looked at these records; who says it (`by`) is who reviewed them.

        Raises
        ------
        NotFoundError
            If there is no such entry.
        InputError
            If it is no record, was struck, or none is named.
        """
        if not entries:
            raise InputError("records", "none", "a review names at least one", "Name the records looked at.")
        named = [self._record_named(word) for word in entries]
        return self._say(RecordsReviewed(entries=tuple(dict.fromkeys(named)), note=note.strip()), **said)

    def _record_named(self, word: str) -> str:
        kept = self.entry_named(word)
        if not isinstance(kept.entry.body, RecordWritten):
            raise InputError("record", word, f"it says {kept.entry.kind}", "See: trayward record")
        if kept.entry.id in self.book.struck():
            raise InputError("record", word, "it was struck", "There is nothing to review.")
        return kept.entry.id

    # Looking up -------------------------------------------------------------------------------------------------------

    def records_due(self, at: datetime) -> tuple[RecordDue, ...]:
        """What is to be written down now, missed days first."""
        return records_due(self.state(at), self.settings(at), at)

    def reviews_due(self, at: datetime) -> tuple[ReviewDue, ...]:
        """Records that wait for somebody in charge."""
        settings = self.settings(at)
        return reviews_due(self.state(at), settings, local_day(at, settings))

    def records(self, first: date, last: date, *, at: datetime, kit: bool = False) -> tuple[RecordShown, ...]:
        """
        The records of some days, both included, in the order of happening; struck ones with them.

        Parameters
        ----------
        kit : bool
            True: washing and sanitising of kit too, as cleaning of trays and mats.
        """
        _in_order(first, last)
        settings = self.settings(at)
        since, until = day_start(first, settings), day_start(last + timedelta(days=1), settings)
        kinds = RECORDED if kit else RECORDED[:1]
        found = self.book.search(Wanted(kinds=kinds, since=since, until=until), limit=MOST)
        if found.older is not None:
            raise InputError("days", f"{first} to {last}", f"more than {MOST} records", "Ask for fewer days.")
        struck, state = self.book.struck(), self.state(at)
        reviews = self._reviews(since, at, struck)
        return tuple(
            _shown(kept, self._strike(kept, struck), reviews.get(kept.entry.id), state)
            for kept in reversed(found.kept)
            if kept.entry.at <= at
        )

    def _strike(self, kept: Kept, struck: Container[str]) -> Strike | None:
        found = self._strike_of(kept.entry.id, struck) if kept.entry.id in struck else None
        return Strike(by=found[0].by, at=found[0].recorded, reason=found[1].reason) if found is not None else None

    def _reviews(self, since: datetime, at: datetime, struck: Container[str]) -> dict[str, Review]:
        """Entry of a record -> its first review."""
        found = {}
        for kept in self.book.search(Wanted(kinds=(RecordsReviewed.KIND,), since=since), limit=MOST).kept:
            entry, body = kept.entry, kept.entry.body
            assert isinstance(body, RecordsReviewed)
            if entry.id not in struck and entry.at <= at:
                found.update(dict.fromkeys(body.entries, Review(by=entry.by, at=entry.at, note=body.note)))
        return found

    def inspection(self, first: date, last: date, *, at: datetime) -> Inspection:
        """The records of some days, both included, for whoever comes to inspect."""
        _in_order(first, last)
        settings = self.settings(at)
        # A reading of the day before may count for the first time of the period, one of the day after for the last.
        near = self.records(first - timedelta(days=1), last + timedelta(days=1), at=at, kit=True)
        counted = ((each.kind, each.record.area, each.at) for each in near if each.struck is None)
        habits = self.state(at).record_habits.values()
        return Inspection(
            farm=settings.name, address=settings.paper.address, timezone=settings.timezone, first=first, last=last,
            made=at, records=tuple(each for each in near if first <= local_day(each.at, settings) <= last),
            missed=tuple(each for each in self.records_due(at) if each.missed and each.since <= last),
            gaps=gaps(habits, counted, settings, first=first, last=last, at=at),
            rules=rules_shown(cast("Desk", self), at),
        )  # fmt: skip


def _in_order(first: date, last: date) -> None:
    if last < first:
        raise InputError("last day", last.isoformat(), f"it comes before the first, {first}", "Swap the two.")


def review_days(kind: Kind, habit: Habit | None) -> int | None:
    """Within how many days somebody in charge looks at a record: as the farm says, else as the kind has it. [d]"""
    if habit is not None and habit.review_days is not None:
        return habit.review_days
    return REVIEW_DAYS if kind.review else None


def _value(field: Field, value: float | str, habit: Habit | None) -> Value:
    low, high = limits_of(field, habit)
    return Value(field=field.name, value=value, unit=field.unit, low=low, high=high)


def _shown(kept: Kept, struck: Strike | None, review: Review | None, state: FarmState) -> RecordShown:
    entry, body = kept.entry, kept.entry.body
    record = kit_record(body) if isinstance(body, Washed | Sanitised) else body.record  # type: ignore[attr-defined]
    kind = KIT if isinstance(body, Washed | Sanitised) else record.kind
    return RecordShown(
        entry=entry.id, kind=kind, title=shown_title(kind), at=entry.at, recorded=entry.recorded, by=entry.by,
        record=record, struck=struck, review=review, produce=produce_of(state, record.about),
    )  # fmt: skip
