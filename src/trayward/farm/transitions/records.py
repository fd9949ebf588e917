"""Hygiene records, their reviews, and how often they are kept."""

from __future__ import annotations

import math

from trayward.errors import Finding, InputError
from trayward.farm.entries import Entry, RecordHabitSet, RecordsReviewed, RecordWritten
from trayward.farm.often import clock_words
from trayward.farm.records import RecordHeld, Value, key_of
from trayward.farm.repeats import check_rule
from trayward.farm.state import FarmState
from trayward.farm.transitions.say import Findings, from_error, show, wrong


def check_record(state: FarmState, body: RecordWritten, entry: Entry) -> Findings:
    told = body.record
    found: Findings = []
    for value in told.values:
        if isinstance(value.value, float) and not math.isfinite(value.value):
            message = f"{told.kind}, {value.field} = {value.value}: must be a number."
            found.append(wrong(entry, "record-number", message, "Measure it again."))
    if not told.values:
        message = f"{told.kind} = nothing: a record says what was done or found."
        found.append(wrong(entry, "record-empty", message, "Write down what was found."))
    if not told.corrective.strip():
        found += [_outside(told.kind, value, entry) for value in told.values if value.outside]
    return found


def _outside(kind: str, value: Value, entry: Entry) -> Finding:
    assert not isinstance(value.value, str)
    message = f"{kind}, {value.field} = {show(value.value)} {value.unit}".rstrip() + f": {limit_words(value)}."
    return wrong(entry, "record-outside", message, "Say what was done about it.")


def limit_words(value: Value) -> str:
    """
    The limits of a value as a rule.

    Examples
    --------
    >>> limit_words(Value(field="temperature", value=9.0, unit="C", high=5.0))
    "the farm's limit is at most 5 C"
    """
    ends = [f"at least {show(value.low)}"] if value.low is not None else []
    ends += [f"at most {show(value.high)}"] if value.high is not None else []
    return f"the farm's limit is {' and '.join(ends)} {value.unit}".rstrip()


def apply_record(state: FarmState, body: RecordWritten, entry: Entry) -> None:
    told = body.record
    key = key_of(told.kind, told.area)
    state.records_last[key] = entry.at
    state.records_words[key] = {value.field: value.value for value in told.values if isinstance(value.value, str)}
    if told.review_days is not None or told.outside:
        state.records_open[entry.id] = RecordHeld(entry=entry.id, at=entry.at, by=entry.by, record=told)


def check_review(state: FarmState, body: RecordsReviewed, entry: Entry) -> Findings:
    if not body.entries:
        message = "records = none: a review names at least one."
        return [wrong(entry, "review-empty", message, "Name the records looked at.")]
    return []


def apply_review(state: FarmState, body: RecordsReviewed, entry: Entry) -> None:
    for name in body.entries:
        state.records_open.pop(name, None)


def check_habit(state: FarmState, body: RecordHabitSet, entry: Entry) -> Findings:
    habit = body.habit
    found: Findings = []
    try:
        if habit.rule:
            check_rule(habit.rule)
    except InputError as error:
        found.append(from_error(entry, "record-rule", habit.kind, error))
    if list(habit.times) != sorted(set(habit.times)) or (habit.times and not habit.rule):
        message = f"{habit.kind}, times = {clock_words(habit.times)}: must run through the days of a rule, each once."
        found.append(wrong(entry, "record-times", message, "Say on which days, and give the times in order."))
    for limit in habit.limits:
        if limit.low is not None and limit.high is not None and limit.low > limit.high:
            message = f"{habit.kind}, {limit.field} = {show(limit.low)} to {show(limit.high)}: the limits are swapped."
            found.append(wrong(entry, "record-limits", message, "Give the lower one first."))
    if habit.review_days is not None and habit.review_days < 0:
        message = f"{habit.kind}, review = {habit.review_days} d: must be 0 or more."
        found.append(wrong(entry, "record-review-days", message, "Say within how many days."))
    return found


def apply_habit(state: FarmState, body: RecordHabitSet, entry: Entry) -> None:
    state.record_habits[body.habit.key] = body.habit
