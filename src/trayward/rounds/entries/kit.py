"""Words of entries about kit: washed, sanitised, counted, marked."""

from __future__ import annotations

from trayward.farm.entries import KitBody, KitMarked, KitRetired, KitReturned, KitUsed, Sanitised, Washed
from trayward.farm.kit_marks import marks_words
from trayward.farm.settings import ShownUnits
from trayward.rounds.sayings import joined, sanitise_details, wash_details
from trayward.words import counted


def washed(body: Washed, units: ShownUnits) -> str:
    details = wash_details(body, units)
    return joined(f"{body.count} x {body.pool} washed", marks_words(body.marks), *details, body.note)


def sanitised(body: Sanitised, units: ShownUnits) -> str:
    return joined(
        f"{body.count} x {body.pool} sanitised with {body.agent}",
        marks_words(body.marks),
        *sanitise_details(body, units),
        body.note,
    )


def kit_counted(body: KitBody, units: ShownUnits) -> str:
    del units
    if isinstance(body, KitReturned):
        return joined(f"{body.count} x {body.pool} came back, to be washed", marks_words(body.marks))
    return joined(f"{body.count} x {body.pool} counted in all", getattr(body, "reason", ""))


def kit_marked(body: KitMarked, units: ShownUnits) -> str:
    del units
    before = f"used {counted(body.uses, 'time')} before" if body.uses else ""
    return joined(f"{body.pool} marked {marks_words(body.marks)}", before)


def kit_used(body: KitUsed, units: ShownUnits) -> str:
    del units
    return f"{body.tray} is on {marks_words(body.marks)}"


def kit_retired(body: KitRetired, units: ShownUnits) -> str:
    del units
    instead = f"{marks_words(body.replaced_by)} instead" if body.replaced_by else ""
    return joined(f"{body.pool} {marks_words(body.marks)} {body.fate}", body.reason, instead)
