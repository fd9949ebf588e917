"""What is different from the plan kept before."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

import msgspec

from trayward.dates import day_words
from trayward.farm.state import FarmState
from trayward.plan.done import sown_against
from trayward.plan.types import Change, LineOutlook, Plan, PlannedSowing
from trayward.plan.words import amount_words, in_ten
from trayward.words import counted

Trays = dict[tuple[str, date], int]
"""Recipe and day -> trays sown."""
STEP = 0.1
"""A chance that changed by less than this is told as the same. [-]"""


def find_changes(before: Plan | None, plan: Plan, state: FarmState) -> tuple[Change, ...]:
    """
    Sowings added, gone, moved or of another size, and lines newly met or no longer met.

    Only what both plans could speak of is compared: days from the new plan's first to the old plan's last, and of the
    old plan what has not been sown since; a sowing that was done is neither gone nor moved.
    """
    if before is None:
        return ()
    done, _ = sown_against(before, state)
    left = [msgspec.structs.replace(one.planned, trays=one.left) for one in done if one.left]
    old, new = _trays(left, plan.first, before.last), _trays(plan.sowings, plan.first, before.last)
    return (*_sowing_changes(old, new), *_line_changes(before, plan))


def _trays(sowings: Iterable[PlannedSowing], first: date, last: date) -> Trays:
    found: Trays = {}
    for sowing in sowings:
        if first <= sowing.sow_on and sowing.cut_on <= last:
            key = (sowing.recipe, sowing.sow_on)
            found[key] = found.get(key, 0) + sowing.trays
    return found


def _sowing_changes(old: Trays, new: Trays) -> list[Change]:
    gone = {key: trays for key, trays in sorted(old.items()) if key not in new}
    added = {key: trays for key, trays in sorted(new.items()) if key not in old}
    found = []
    for (recipe, day), trays in list(gone.items()):
        moved = next((key for key, count in added.items() if key[0] == recipe and count == trays), None)
        if moved is not None:
            del gone[recipe, day], added[moved]
            said = f"{counted(trays, 'tray')} of {recipe} moved from {day_words(day)} to {day_words(moved[1])}."
            found.append(Change(what="sowing moved", message=said, day=min(day, moved[1])))
    found += [Change(what="sowing added", message=f"New: {_sown(*item)}.", day=item[0][1]) for item in added.items()]
    found += [
        Change(what="sowing gone", message=f"No longer: {_sown(*item)}.", day=item[0][1]) for item in gone.items()
    ]
    for key in sorted(old.keys() & new.keys()):
        if old[key] != new[key]:
            said = f"{key[0]} on {day_words(key[1])}: {counted(new[key], 'tray')} instead of {old[key]}."
            found.append(Change(what="trays changed", message=said, day=key[1]))
    return found


def _sown(key: tuple[str, date], trays: int) -> str:
    return f"{counted(trays, 'tray')} of {key[0]} on {day_words(key[1])}"


def _line_changes(before: Plan, plan: Plan) -> list[Change]:
    was = {line.line: line for line in before.lines}
    pairs = [(was[line.line], line) for line in plan.lines if line.line in was]
    found = [_line_change(old, line) for old, line in pairs if old.met != line.met]
    return [change for change in found if change is not None]


def _line_change(old: LineOutlook, line: LineOutlook) -> Change | None:
    """A line newly met or no longer met; where both plans say chances, only if the chance changed by a step."""
    named = f"{line.customer}, {line.crop} on {day_words(line.due)}"
    what = "line met" if line.met else "line unmet"
    if old.chance is not None and line.chance is not None:
        if abs(line.chance - old.chance) < STEP:
            return None
        words = "Likelier" if line.met else "Less likely"
        said = f"{words}: {named}, {in_ten(line.chance)} instead of {in_ten(old.chance)}."
        return Change(what=what, message=said, day=line.due)
    if line.met:
        return Change(what=what, message=f"Now met: {named}.", day=line.due)
    short = (
        counted(line.trays - line.met_trays, "live tray")
        if line.trays
        else amount_words(line.grams - line.met_grams, "g")
    )
    return Change(what=what, message=f"No longer met: {named}, {short} short.", day=line.due)
