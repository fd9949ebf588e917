"""Which records are to be written down now, which were missed, and which wait for a review."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import msgspec

from trayward.errors import Finding
from trayward.farm.calendar import local_day
from trayward.farm.records import Habit, RecordHeld
from trayward.farm.repeats import occurrences
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.hygiene.kinds import title_of

LOOK_BACK = timedelta(days=400)
"""What was missed longer ago is not listed any more: our choice."""


class RecordDue(msgspec.Struct, frozen=True, kw_only=True):
    """A record that is to be written down."""

    kind: str
    title: str
    area: str
    since: date
    """The first day it was due on and was not written down."""
    missed: int
    """Days before today on which it was due and was not written down."""
    last: datetime | None = None


class ReviewDue(msgspec.Struct, frozen=True, kw_only=True):
    """A record that somebody in charge has to look at."""

    held: RecordHeld
    by: date
    """Until when."""
    overdue: bool


def records_due(state: FarmState, settings: FarmSettings, today: date) -> tuple[RecordDue, ...]:
    """What is to be written down today, missed days first."""
    found = [_due(state, settings, habit, today) for habit in state.record_habits.values()]
    return tuple(sorted((each for each in found if each), key=lambda each: (each.since, each.title, each.area)))


def _due(state: FarmState, settings: FarmSettings, habit: Habit, today: date) -> RecordDue | None:
    if habit.ended or not habit.rule:
        return None
    last = state.records_last.get(habit.key)
    first = max(habit.start, today - LOOK_BACK)
    if last is not None:
        first = max(first, local_day(last, settings) + timedelta(days=1))
    days = occurrences(habit.rule, habit.start, first, today) if first <= today else []
    if not days:
        return None
    return RecordDue(
        kind=habit.kind, title=title_of(habit.kind), area=habit.area, since=days[0],
        missed=sum(day < today for day in days), last=last,
    )  # fmt: skip


def reviews_due(state: FarmState, settings: FarmSettings, today: date) -> tuple[ReviewDue, ...]:
    """Records that wait for somebody in charge: out of limits first, then the oldest."""
    found = []
    for held in state.records_open.values():
        by = local_day(held.at, settings) + timedelta(days=held.record.review_days or 0)
        found.append(ReviewDue(held=held, by=by, overdue=by < today))
    return tuple(sorted(found, key=lambda each: (not each.held.record.outside, each.held.at, each.held.entry)))


def record_findings(state: FarmState, settings: FarmSettings, today: date) -> tuple[Finding, ...]:
    """What was missed and what waits too long for a review, for the round."""
    found = []
    for each in records_due(state, settings, today):
        if each.missed:
            where = f", {each.area}" if each.area else ""
            message = f"{each.title}{where}: not written down since {_day(each.since)}."
            found.append(Finding(code="record-missed", severity="odd", message=message, remedy="Write it down now."))
    late = [each for each in reviews_due(state, settings, today) if each.overdue]
    if late:
        oldest = min(local_day(each.held.at, settings) for each in late)
        message = f"Records to review: {len(late)}, the oldest of {_day(oldest)}."
        remedy = "Whoever keeps the farm looks at them under Records."
        found.append(Finding(code="record-review", severity="odd", message=message, remedy=remedy))
    return tuple(found)


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"
