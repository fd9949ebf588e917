"""Words of notes, photos and kept plans."""

from __future__ import annotations

import msgspec

from trayward.dates import day_words
from trayward.farm.entries import Note, Photo, PlanKept
from trayward.farm.settings import ShownUnits
from trayward.plan.types import Plan
from trayward.rounds.entries.names import names
from trayward.words import Own, counted, filled, in_a_row


def note(body: Note, units: ShownUnits) -> str:
    del units
    about = [subject.partition(":")[2] for subject in body.about]
    said = filled("note about {about}", about=names(about)) if about else "note"
    return in_a_row((said, Own(body.text)), ": ")


def photo(body: Photo, units: ShownUnits) -> str:
    del units
    about = [subject.partition(":")[2] for subject in body.about]
    said = filled("photo of {about}", about=names(about)) if about else "photo"
    return in_a_row((said, Own(body.note)), ": ")


def plan_kept(body: PlanKept, units: ShownUnits) -> str:
    del units
    try:
        plan = msgspec.json.decode(body.plan, type=Plan)
    except msgspec.DecodeError:
        return "a plan kept, in a form that is not read any more"
    met, lines = str(sum(line.met for line in plan.lines)), counted(len(plan.lines), "order line")
    trays = counted(sum(sowing.trays for sowing in plan.sowings), "tray")
    first, last = day_words(plan.first), day_words(plan.last)
    return filled(
        "plan kept, {first} to {last}: {trays} to sow, {met} of {lines} met",
        first=first, last=last, trays=trays, met=met, lines=lines,
    )  # fmt: skip
