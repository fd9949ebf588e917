"""What is different from the plan kept before."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

import msgspec

from trayward.farm.state import FarmState
from trayward.plan.done import sown_against
from trayward.plan.types import Change, Plan, PlannedSowing
from trayward.plan.words import amount_words, count_words, day_words

Trays = dict[tuple[str, date], int]
"""Recipe and day -> trays sown."""


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
            said = f"{count_words(trays, 'tray')} of {recipe} moved from {day_words(day)} to {day_words(moved[1])}."
            found.append(Change(what="sowing moved", message=said))
    found += [Change(what="sowing added", message=f"New: {_sown(*item)}.") for item in added.items()]
    found += [Change(what="sowing gone", message=f"No longer: {_sown(*item)}.") for item in gone.items()]
    for key in sorted(old.keys() & new.keys()):
        if old[key] != new[key]:
            said = f"{key[0]} on {day_words(key[1])}: {count_words(new[key], 'tray')} instead of {old[key]}."
            found.append(Change(what="trays changed", message=said))
    return found


def _sown(key: tuple[str, date], trays: int) -> str:
    return f"{count_words(trays, 'tray')} of {key[0]} on {day_words(key[1])}"


def _line_changes(before: Plan, plan: Plan) -> list[Change]:
    was = {line.line: line for line in before.lines}
    found = []
    for line in plan.lines:
        old = was.get(line.line)
        named = f"{line.customer}, {line.crop} on {day_words(line.due)}"
        if old is not None and line.met and not old.met:
            found.append(Change(what="line met", message=f"Now met: {named}."))
        if old is not None and old.met and not line.met:
            if line.trays:
                short = count_words(line.trays - line.met_trays, "live tray")
            else:
                short = amount_words(line.grams - line.met_grams, "g")
            found.append(Change(what="line unmet", message=f"No longer met: {named}, {short} short."))
    return found
