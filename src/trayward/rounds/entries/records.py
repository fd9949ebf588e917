"""Words of entries about recalls and hygiene records."""

from __future__ import annotations

from trayward.farm.entries import ContactSet, RecallKept, RecordHabitSet, RecordsReviewed, RecordWritten
from trayward.farm.settings import ShownUnits
from trayward.hygiene.words import habit_words, record_words
from trayward.units import show_mass
from trayward.words import Own, counted, filled, in_a_list, in_a_row


def contact_set(body: ContactSet, units: ShownUnits) -> str:
    del units
    told = body.contact
    ways = told.ways
    customer = Own(told.customer)
    if not ways:
        return filled("nobody knows how to reach {customer}", customer=customer)
    return filled("{customer} is reached by {ways}", customer=customer, ways=in_a_list(map(Own, ways)))


def recall_kept(body: RecallKept, units: ShownUnits) -> str:
    told = body.recall
    of, reason = Own(told.about.partition(":")[2]), Own(told.reason)
    tried = "recall tried out {recall} of {lot}, {reason}" if told.exercise else "recall {recall} of {lot}, {reason}"
    reached, customers = str(sum(each.reached for each in told.told)), counted(len(told.told), "customer")
    grams, cut = show_mass(told.accounted_g, units.mass), show_mass(told.cut_g, units.mass)
    found = in_a_row((
        counted(len(told.packs), "pack lot"),
        filled("{reached} of {customers} reached", reached=reached, customers=customers),
        filled("{grams} of {cut} accounted for", grams=grams, cut=cut),
        f"{told.minutes:.0f} min",
    ))  # fmt: skip
    return in_a_row((filled(tried, recall=Own(told.recall), lot=of, reason=reason), found), ": ")


def record_written(body: RecordWritten, units: ShownUnits) -> str:
    return record_words(body.record, units)


def records_reviewed(body: RecordsReviewed, units: ShownUnits) -> str:
    del units
    reviewed = filled("{records} reviewed", records=counted(len(body.entries), "record"))
    return in_a_row((reviewed, Own(body.note)), ": ")


def record_habit_set(body: RecordHabitSet, units: ShownUnits) -> str:
    return habit_words(body.habit, units)
