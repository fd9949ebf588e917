"""Words of notes, photos and kept plans."""

from __future__ import annotations

import msgspec

from trayward.dates import day_words
from trayward.farm.entries import Note, Photo, PlanKept
from trayward.farm.settings import ShownUnits
from trayward.plan.types import Plan
from trayward.rounds.entries.names import names
from trayward.words import counted


def note(body: Note, units: ShownUnits) -> str:
    del units
    about = [subject.partition(":")[2] for subject in body.about]
    return f"note{f' about {names(about)}' if about else ''}: {body.text}"


def photo(body: Photo, units: ShownUnits) -> str:
    del units
    about = [subject.partition(":")[2] for subject in body.about]
    return f"photo{f' of {names(about)}' if about else ''}" + (f": {body.note}" if body.note else "")


def plan_kept(body: PlanKept, units: ShownUnits) -> str:
    del units
    try:
        plan = msgspec.json.decode(body.plan, type=Plan)
    except msgspec.DecodeError:
        return "a plan kept, in a form that is not read any more"
    met = f"{sum(line.met for line in plan.lines)} of {counted(len(plan.lines), 'order line')} met"
    trays = counted(sum(sowing.trays for sowing in plan.sowings), "tray")
    return f"plan kept, {day_words(plan.first)} to {day_words(plan.last)}: {trays} to sow, {met}"
