"""Words of entries about kit: washed, sanitised, counted, marked."""

from __future__ import annotations

from trayward.farm.entries import KitBody, KitMarked, KitRetired, KitReturned, KitUsed, Sanitised, Washed
from trayward.farm.kit_marks import marks_words
from trayward.farm.settings import ShownUnits
from trayward.rounds.sayings import joined, sanitise_details, wash_details
from trayward.words import Own, counted, filled


def washed(body: Washed, units: ShownUnits) -> str:
    details = wash_details(body, units)
    washed = filled("{count} x {pool} washed", count=str(body.count), pool=body.pool)
    return joined(washed, Own(marks_words(body.marks)), *details, Own(body.note))


def sanitised(body: Sanitised, units: ShownUnits) -> str:
    return joined(
        filled("{count} x {pool} sanitised with {agent}", count=str(body.count), pool=body.pool, agent=Own(body.agent)),
        Own(marks_words(body.marks)),
        *sanitise_details(body, units),
        Own(body.note),
    )


def kit_counted(body: KitBody, units: ShownUnits) -> str:
    del units
    if isinstance(body, KitReturned):
        back = filled("{count} x {pool} came back, to be washed", count=str(body.count), pool=body.pool)
        return joined(back, Own(marks_words(body.marks)))
    found = filled("{count} x {pool} counted in all", count=str(body.count), pool=body.pool)
    return joined(found, getattr(body, "reason", ""))


def kit_marked(body: KitMarked, units: ShownUnits) -> str:
    del units
    before = f"used {counted(body.uses, 'time')} before" if body.uses else ""
    return joined(filled("{pool} marked {marks}", pool=body.pool, marks=Own(marks_words(body.marks))), before)


def kit_used(body: KitUsed, units: ShownUnits) -> str:
    del units
    return filled("{tray} is on {marks}", tray=Own(body.tray), marks=Own(marks_words(body.marks)))


def kit_retired(body: KitRetired, units: ShownUnits) -> str:
    del units
    instead = filled("{} instead", Own(marks_words(body.replaced_by))) if body.replaced_by else ""
    gone = filled("{pool} {marks} {fate}", pool=body.pool, marks=Own(marks_words(body.marks)), fate=body.fate)
    return joined(gone, body.reason, instead)
