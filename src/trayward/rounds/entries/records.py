"""Words of entries about recalls and hygiene records."""

from __future__ import annotations

from trayward.farm.entries import ContactSet, RecallKept, RecordHabitSet, RecordsReviewed, RecordWritten
from trayward.farm.settings import ShownUnits
from trayward.hygiene.words import habit_words, record_words
from trayward.units import show_mass
from trayward.words import counted, listed


def contact_set(body: ContactSet, units: ShownUnits) -> str:
    del units
    told = body.contact
    ways = told.ways
    return f"{told.customer} is reached by {listed(ways)}" if ways else f"nobody knows how to reach {told.customer}"


def recall_kept(body: RecallKept, units: ShownUnits) -> str:
    told = body.recall
    deed = "recall tried out" if told.exercise else "recall"
    reached = sum(each.reached for each in told.told)
    return (
        f"{deed} {told.recall} of {told.about.partition(':')[2]}, {told.reason}: "
        f"{counted(len(told.packs), 'pack lot')}, "
        f"{reached} of {counted(len(told.told), 'customer')} reached, {show_mass(told.accounted_g, units.mass)} of "
        f"{show_mass(told.cut_g, units.mass)} accounted for, {told.minutes:.0f} min"
    )


def record_written(body: RecordWritten, units: ShownUnits) -> str:
    return record_words(body.record, units)


def records_reviewed(body: RecordsReviewed, units: ShownUnits) -> str:
    del units
    note = f": {body.note}" if body.note else ""
    return f"{counted(len(body.entries), 'record')} reviewed{note}"


def record_habit_set(body: RecordHabitSet, units: ShownUnits) -> str:
    return habit_words(body.habit, units)
