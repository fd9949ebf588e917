"""Rows for the hygiene records that are due: what is read or done there, its limits, and what it said last time."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import NamedTuple

from trayward.errors import InputError
from trayward.farm.calendar import day_start, zone
from trayward.farm.places import Shelf
from trayward.farm.records import key_of
from trayward.farm.settings import METRIC, ShownUnits
from trayward.farm.spots import walking_shelves
from trayward.farm.state import FarmState
from trayward.hygiene.due import RecordDue, records_due
from trayward.hygiene.kinds import Kind, known_kind, limits_of
from trayward.hygiene.words import limit_words
from trayward.rounds.scene import Scene
from trayward.rounds.types import FieldAsked, RoundRow
from trayward.rounds.words import day_of, sentences, slug
from trayward.units import degrees_in
from trayward.words import counted

RECORDS_PLACE = "records"
"""Where rows of records stand that are about no place."""
CLEANING = "cleaning"


def record_rows(scene: Scene) -> list[RoundRow]:
    """One row for each kind and place whose record is due."""
    due = records_due(scene.state, scene.settings, scene.at)
    if not due:
        return []
    shelves = walking_shelves(scene.state)
    known = ((each, known_kind(each.kind)) for each in due)
    return [_row(scene, each, kind, shelves) for each, kind in known if kind is not None]


def _row(scene: Scene, due: RecordDue, kind: Kind, shelves: Sequence[Shelf]) -> RoundRow:
    since = (due.due or day_start(due.since, scene.settings)) if due.late else None
    return RoundRow(
        row=f"record-{slug(due.kind)}{f'-{slug(due.area)}' if due.area else ''}",
        number=0,
        kind="record",
        place=_place(due.area, shelves),
        crop="",
        do=_title(due),
        how=sentences(kind.caution),
        record=due.kind,
        area=due.area,
        asks=asks_of(scene.state, kind, due.area),
        opens=due.opens,
        timed=due.due is not None,
        overdue=due.late,
        since=since,
        why=_why(scene, due),
    )


def _title(due: RecordDue) -> str:
    """What is to be done, as a grower says it."""
    room = due.area
    if due.kind == CLEANING and room:
        return f"Clean: {room}"
    return f"Write down: {due.title}, {room}" if room else f"Write down: {due.title}"


def _place(area: str, shelves: Sequence[Shelf]) -> str:
    """The first shelf of a rack or room that the farm has, else the place as it is called."""
    asked = area.casefold()
    here = (shelf.name for shelf in shelves if asked in (shelf.name.casefold(), shelf.rack.casefold()))
    in_room = (shelf.name for shelf in shelves if asked and asked == shelf.room.casefold())
    return next(here, next(in_room, "")) or area or RECORDS_PLACE


def asks_of(state: FarmState, kind: Kind, area: str) -> tuple[FieldAsked, ...]:
    """What a record of a kind says somewhere, with the farm's limits there and what it said last time."""
    key = key_of(kind.name, area)
    habit, said = state.record_habits.get(key), state.records_words.get(key, {})
    found = []
    for field in kind.fields:
        low, high = limits_of(field, habit)
        found.append(
            FieldAsked(
                field=field.name, title=field.title, unit=field.unit, number=field.number, required=field.required,
                low=low, high=high, usual=said.get(field.name, "") if field.steady else "",
            )
        )  # fmt: skip
    return tuple(found)


def _why(scene: Scene, due: RecordDue) -> str:
    at = _clock(scene, due.due) if due.due is not None else ""
    begins = day_of(due.due or day_start(due.since, scene.settings), scene.settings)
    was = f"was due {begins}, {at}" if at else f"was due {begins}"
    return sentences(
        was if due.late else f"due at {at}" if at else "due today",
        f"missed {counted(due.missed, 'time')}" if due.missed else "",
        f"last written down {day_of(due.last, scene.settings)}, {_clock(scene, due.last)}" if due.last else "",
    )


def _clock(scene: Scene, at: datetime) -> str:
    return f"{at.astimezone(zone(scene.settings)):%H:%M}"


# In words -------------------------------------------------------------------------------------------------------------


def asked_words(asks: Iterable[FieldAsked], units: ShownUnits = METRIC) -> str:
    """
    What a record is to say, with its limits and what it said last time, as sentences.

    Examples
    --------
    >>> asked_words([FieldAsked(field="temperature", title="Temperature", unit="C", number=True, high=5.0)])
    'Temperature, at most 5 C.'
    """
    found = list(asks)
    told = [_asked(each, units) for each in found if not each.usual and (each.required or each.number)]
    usual = [f"{each.title}: {each.usual}" for each in found if each.usual]
    return sentences(*told, *([f"as last time: {'; '.join(usual)}"] if usual else []))


def _asked(each: FieldAsked, units: ShownUnits) -> str:
    if limit := limit_words(each.low, each.high, each.unit, units):
        return f"{each.title}, {limit}"
    unit = units.temperature if each.unit == "C" else each.unit
    title = f"{each.title} [{unit}]" if unit else each.title
    return title if each.required else f"{title}, if measured"


def can_be_ticked(asks: Iterable[FieldAsked]) -> bool:
    """Whether nothing has to be written: all it must say was said last time and is usually the same."""
    return all(each.usual for each in asks if each.required)


class Asked(NamedTuple):
    """The field that a bare figure or word answers."""

    field: str
    number: bool


def main_field(kind: str) -> Asked:
    """The field of a kind that a bare figure answers: its first required figure, else its first required words."""
    fields = known.fields if (known := known_kind(kind)) is not None else ()
    required = [each for each in fields if each.required]
    chosen = next((each for each in required if each.number), required[0] if required else None)
    if chosen is None:
        raise InputError("record", kind, "there is no such kind any more", "See: trayward record kinds")
    return Asked(chosen.name, chosen.number)


def values_said(kind: str, words: Sequence[str]) -> dict[str, str]:
    """
    What some words say to a record: `FIELD=VALUE`, or a bare figure for its main field.

    Raises
    ------
    InputError
        If words are neither.

    Examples
    --------
    >>> values_said("cold room", ["4.2", "C"]), values_said("cleaning", ["strength=80 ppm", "contact=2 min"])
    ({'temperature': '4.2 C'}, {'strength': '80 ppm', 'contact': '2 min'})
    """
    if words and not any("=" in word for word in words):
        return {main_field(kind).field: " ".join(words)}
    found = {}
    for word in words:
        field, sign, value = word.partition("=")
        if not sign or not field.strip():
            rule = "it must be FIELD=VALUE where several are said"
            raise InputError("value", word, rule, 'For instance temperature="4 C" thermometer=T1.')
        found[field.strip()] = value.strip()
    return found


def shown_limit(value: float, unit: str, units: ShownUnits) -> float:
    """A limit in the unit that somebody reads, for a page that looks at what is typed. [unit shown]"""
    shown = degrees_in(value, units.temperature) if unit == "C" else value
    return round(shown, 2) if math.isfinite(shown) else shown
