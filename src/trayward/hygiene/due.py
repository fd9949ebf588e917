"""Which records are to be written down now, which were missed, and which wait for a review."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from itertools import pairwise

import msgspec

from trayward.errors import Finding
from trayward.farm.calendar import day_start, local_day
from trayward.farm.often import Often, due_moments, early
from trayward.farm.records import Habit, RecordHeld, key_of
from trayward.farm.repeats import occurrences
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.hygiene.kinds import title_of

LOOK_BACK = timedelta(days=400)
"""What was missed longer ago is not listed any more: our choice."""
AHEAD = timedelta(days=35)
"""Where the time after the last one is looked for: a month is the longest that rules with times usually leave."""
LATE = timedelta(hours=1)
"""So long after its time a reading that is due at a time counts as overdue: our choice."""


class RecordDue(msgspec.Struct, frozen=True, kw_only=True):
    """A record that is to be written down."""

    kind: str
    title: str
    area: str
    since: date
    """The first day it was due on and was not written down."""
    missed: int
    """Days before today on which it was due and was not written down; of one with times, so many of them."""
    last: datetime | None = None
    due: datetime | None = None
    """Of one with times: the first of them that is open."""
    late: bool = False
    """Whether it is overdue."""
    opens: datetime
    """From when on a record counts for the newest of what is due now."""


class ReviewDue(msgspec.Struct, frozen=True, kw_only=True):
    """A record that somebody in charge has to look at."""

    held: RecordHeld
    by: date
    """Until when."""
    overdue: bool


class Gap(msgspec.Struct, frozen=True, kw_only=True):
    """That a record was not written down when it was due, whether or not it was afterwards."""

    kind: str
    title: str
    area: str
    asked: int
    """How many times it was due in the period, up to now."""
    days: tuple[date, ...]
    """The days on which it was not written down."""
    times: tuple[datetime, ...] = ()
    """Of one with times: which of them."""

    @property
    def count(self) -> int:
        """How many times it was not written down."""
        return len(self.times) or len(self.days)


def records_due(state: FarmState, settings: FarmSettings, at: datetime) -> tuple[RecordDue, ...]:
    """What is to be written down now, missed days first."""
    found = [_due(state, settings, habit, at) for habit in state.record_habits.values()]
    return tuple(sorted((each for each in found if each), key=lambda each: (each.since, each.title, each.area)))


def _due(state: FarmState, settings: FarmSettings, habit: Habit, at: datetime) -> RecordDue | None:
    if habit.ended or not habit.rule:
        return None
    last = state.records_last.get(habit.key)
    return _due_at_times(habit, settings, last, at) if habit.times else _due_on_days(habit, settings, last, at)


def _due_on_days(habit: Habit, settings: FarmSettings, last: datetime | None, at: datetime) -> RecordDue | None:
    today = local_day(at, settings)
    first = max(habit.start, today - LOOK_BACK)
    if last is not None:
        first = max(first, local_day(last, settings) + timedelta(days=1))
    days = occurrences(habit.rule, habit.start, first, today) if first <= today else []
    if not days:
        return None
    missed = sum(day < today for day in days)
    return RecordDue(
        kind=habit.kind, title=title_of(habit.kind), area=habit.area, since=days[0], missed=missed, last=last,
        late=missed > 0, opens=day_start(days[-1], settings),
    )  # fmt: skip


def _due_at_times(habit: Habit, settings: FarmSettings, last: datetime | None, at: datetime) -> RecordDue | None:
    """Open are the times since the last reading, up to now; all of them but the newest were missed."""
    before, today = early(habit.times), local_day(at, settings)
    first = max(habit.start, today - LOOK_BACK, local_day(last, settings) if last is not None else date.min)
    # A time of tomorrow is near enough when the first one of a day comes soon after midnight.
    moments = due_moments(_often(habit), habit.start, first, local_day(at + before, settings), settings)
    done = last + before if last is not None else None
    opened = [due for due in moments if due - before <= at and (done is None or due > done)]
    if not opened:
        return None
    missed = len(opened) - 1
    return RecordDue(
        kind=habit.kind, title=title_of(habit.kind), area=habit.area, since=local_day(opened[0], settings),
        missed=missed, last=last, due=opened[0], late=missed > 0 or at > opened[-1] + LATE,
        opens=opened[-1] - before,
    )  # fmt: skip


def _often(habit: Habit) -> Often:
    return Often(rule=habit.rule, times=habit.times)


def reviews_due(state: FarmState, settings: FarmSettings, today: date) -> tuple[ReviewDue, ...]:
    """Records that wait for somebody in charge: out of limits first, then the oldest."""
    found = []
    for held in state.records_open.values():
        by = local_day(held.at, settings) + timedelta(days=held.record.review_days or 0)
        found.append(ReviewDue(held=held, by=by, overdue=by < today))
    return tuple(sorted(found, key=lambda each: (not each.held.record.outside, each.held.at, each.held.entry)))


def review_findings(state: FarmState, settings: FarmSettings, at: datetime) -> tuple[Finding, ...]:
    """What waits too long for a review, for the round; records that are due are rows of it."""
    late = [each for each in reviews_due(state, settings, local_day(at, settings)) if each.overdue]
    if not late:
        return ()
    oldest = min(local_day(each.held.at, settings) for each in late)
    message = f"Records to review: {len(late)}, the oldest of {_day(oldest)}."
    remedy = "Whoever keeps the farm looks at them under Records."
    return (Finding(code="record-review", severity="odd", message=message, remedy=remedy),)


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


# What was missed in a period --------------------------------------------------------------------------------------


def gaps(
    habits: Iterable[Habit], written: Iterable[tuple[str, str, datetime]], settings: FarmSettings, *,
    first: date, last: date, at: datetime,
) -> tuple[Gap, ...]:  # fmt: skip
    """
    When records were due on some days and were not written down, also where they were again afterwards.

    Parameters
    ----------
    habits : iterable of Habit
        As they hold now: each counts from its own start.
    written : iterable of (str, str, datetime)
        Kind, area and moment of each record that counts.
    first, last : date
        The days, both included.
    at : datetime
        What is due later than this is not missed yet, nor is the newest time or day, which is still open.

    Notes
    -----
    A reading belongs to the time before which it was taken by `early` at most, or after which, until the next.
    """
    by_key: dict[str, list[datetime]] = {}
    for kind, area, moment in written:
        by_key.setdefault(key_of(kind, area), []).append(moment)
    found = [_gap(each, sorted(by_key.get(each.key, [])), settings, first, last, at) for each in habits
             if each.rule and not each.ended]  # fmt: skip
    return tuple(each for each in found if each is not None)


def _gap(
    habit: Habit, written: list[datetime], settings: FarmSettings, first: date, last: date, at: datetime
) -> Gap | None:
    today = local_day(at, settings)
    end = min(last, today)
    begin = max(first, habit.start)
    if begin > end:
        return None
    if not habit.times:
        days = occurrences(habit.rule, habit.start, begin, end + AHEAD)
        done = {local_day(moment, settings) for moment in written}
        spans = [(day, after) for day, after in pairwise([*days, date.max]) if day <= end and day < today]
        # Written down late, but before it was due again, is not missed.
        lost = tuple(day for day, after in spans if not any(day <= each < after for each in done))
        return _made(habit, len(spans), lost)
    before = early(habit.times)
    # The time after the last one of these days says until when that one could still be written down.
    moments = due_moments(_often(habit), habit.start, begin, end + AHEAD, settings)
    slots = [(due, due - before, after - before) for due, after in pairwise([*moments, *_after(moments)])]
    closed = [slot for slot in slots if local_day(slot[0], settings) <= end and slot[2] <= at]
    missed = tuple(due for due, opens, closes in closed if not _any_within(written, opens, closes))
    return _made(habit, len(closed), tuple(dict.fromkeys(local_day(due, settings) for due in missed)), missed)


def _after(moments: list[datetime]) -> list[datetime]:
    """When the last time of a rule that ends is over."""
    return [moments[-1] + timedelta(days=1)] if moments else []


def _any_within(written: list[datetime], opens: datetime, closes: datetime) -> bool:
    place = bisect_left(written, opens)
    return place < len(written) and written[place] < closes


def _made(habit: Habit, asked: int, days: tuple[date, ...], times: tuple[datetime, ...] = ()) -> Gap | None:
    title = title_of(habit.kind)
    return Gap(kind=habit.kind, title=title, area=habit.area, asked=asked, days=days, times=times) if days else None
