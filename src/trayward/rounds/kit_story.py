"""The history of one marked mat, tray or cover: where it is, which trays it held, how it was cleaned between them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import singledispatch

import msgspec

from trayward.dates import day_words
from trayward.farm.entries import (
    Body,
    Cut,
    Delivered,
    Discarded,
    Entry,
    KitMarked,
    KitRetired,
    KitReturned,
    KitUsed,
    Sanitised,
    SowingMade,
    Stripped,
    Struck,
    Washed,
)
from trayward.farm.holds import hold_of, suspects_mould
from trayward.farm.kit import PoolState
from trayward.farm.kit_clear import on_the_wall, sanitise_missed, steps_missed, wash_missed
from trayward.farm.kit_marks import dry, marks_told
from trayward.farm.settings import FarmSettings, ShownUnits
from trayward.farm.state import FarmState
from trayward.rounds.sayings import joined, sanitise_details, wash_details
from trayward.rounds.story import StoryLine, story_moment, struck_among
from trayward.words import in_a_row, listed

ENDS = (Cut, Discarded, Delivered, Stripped)
"""What ends the time of a tray on its mat, or says how it ended."""


@dataclass(frozen=True)
class MarkLife:
    """What the sentences of a history lean on."""

    name: str
    trays: frozenset[str]
    """The trays it was truly under."""
    state: FarmState
    units: ShownUnits


class MarkUse(msgspec.Struct, frozen=True, kw_only=True):
    """A tray that a marked thing held."""

    tray: str
    crop: str
    sown_at: datetime
    ended_at: datetime | None
    fate: str
    suspect: bool = False
    """Mould was suspected on it."""


class MarkStory(msgspec.Struct, frozen=True, kw_only=True):
    """One marked thing and all that was done with it."""

    mark: str
    pool: str
    where: str
    now: str
    """Where it is and what it lacks, in words."""
    uses: int
    lasts_uses: int
    """Uses that one is expected to last; 0: not said. [-]"""
    suspect: bool
    """It held a tray with suspected mould, and was not sanitised since."""
    cleared: bool
    replaces: str
    trays: tuple[MarkUse, ...]
    """The trays it held, the oldest first."""
    lines: tuple[StoryLine, ...]

    @property
    def worn(self) -> float | None:
        """Share of the uses it is expected to last. [-]"""
        return self.uses / self.lasts_uses if self.lasts_uses else None


def kit_story(
    mark: str,
    held: PoolState,
    said: Sequence[Entry],
    of_trays: Mapping[str, Sequence[Entry]],
    state: FarmState,
    settings: FarmSettings,
    at: datetime,
) -> MarkStory:
    """
    The history of a marked thing.

    Parameters
    ----------
    said : sequence of Entry
        What was said about the mark, with what strikes it.
    of_trays : mapping of str to sequence of Entry
        What was said about each tray it was ever said to hold, with what strikes it.
    """
    own, struck = held.marks[mark], struck_among(said)
    struck |= frozenset(entry for entries in of_trays.values() for entry in struck_among(entries))
    on = [
        tray
        for tray, entries in of_trays.items()
        if mark in marks_told(state, tray, (entry for entry in entries if entry.id not in struck))
    ]
    told = {entry.id: entry for entry in said}
    for tray, entries in of_trays.items():
        kinds = ENDS if tray in on else KitUsed
        told |= {entry.id: entry for entry in entries if isinstance(entry.body, kinds)}
    life = MarkLife(name=mark, trays=frozenset(on), state=state, units=settings.units)
    return MarkStory(
        mark=mark, pool=held.pool.name, where=own.where, now=mark_now(state, held, mark, at), uses=own.uses,
        lasts_uses=held.pool.lasts_uses, suspect=own.suspect, cleared=own.where == "ready" and dry(own, at),
        replaces=own.replaces, trays=tuple(_uses(state, on)),
        lines=tuple(_lines(told.values(), struck, life, settings, held)),
    )  # fmt: skip


def trays_said(mark: str, entries: Iterable[Entry]) -> list[str]:
    """The trays that a mark was ever said to be under."""
    found: dict[str, None] = {}
    for entry in entries:
        if isinstance(entry.body, SowingMade):
            found |= dict.fromkeys(on.tray for on in entry.body.marks if mark in on.marks)
        elif isinstance(entry.body, KitUsed) and mark in entry.body.marks:
            found[entry.body.tray] = None
    return list(found)


def mark_now(state: FarmState, held: PoolState, mark: str, at: datetime) -> str:
    """Where a marked thing is and what it lacks, in words."""
    own = held.marks[mark]
    after = ", after suspected mould" if own.suspect else ""
    match own.where:
        case "in use":
            return f"under tray {own.tray}"
        case "dirty":
            return f"dirty{after}"
        case "washed":
            return f"washed, to be sanitised{after}"
        case "away":
            return f"with a customer, under tray {own.tray}"
        case "retired" | "lost":
            return joined(own.where, own.reason)
    if not dry(own, at):
        assert own.since is not None
        until = on_the_wall(state, own.since)
        return f"drying until {day_words(until.date())}, {until:%H:%M}"
    return f"cleared since {day_words(on_the_wall(state, own.since).date())}" if own.since is not None else "cleared"


def _uses(state: FarmState, trays: Iterable[str]) -> Iterable[MarkUse]:
    for name in trays:
        tray = state.tray(name)
        if tray is not None:
            mould = suspects_mould(tray.reason) or suspects_mould(hold_of(tray))
            yield MarkUse(
                tray=name, crop=tray.crop, sown_at=tray.sown_at, ended_at=tray.ended_at, fate=tray.fate, suspect=mould
            )


def _lines(
    told: Iterable[Entry], struck: frozenset[str], life: MarkLife, settings: FarmSettings, held: PoolState
) -> Iterable[StoryLine]:
    for entry in sorted(told, key=lambda each: each.at):
        body = entry.body
        if isinstance(body, Struck):
            said = f"taken back what was said: {body.reason}"
        else:
            said = joined(mark_words(body, life), _lacks(body, held), f"by {entry.by}")
        words = in_a_row((in_a_row((story_moment(entry.at, settings), said), ": "), "."), "")
        yield StoryLine(at=entry.at, words=words, entry=entry.id, struck=entry.id in struck)


def _lacks(body: Body, held: PoolState) -> str:
    """That a cleaning cleared nothing, by the farm's limits of today."""
    if isinstance(body, Washed):
        missed = bool(steps_missed(held.pool, body) or wash_missed(held.pool, body))
    else:
        missed = isinstance(body, Sanitised) and bool(sanitise_missed(held.pool, body))
    return "outside this farm's limits" if missed else ""


# Words ----------------------------------------------------------------------------------------------------------------


@singledispatch
def mark_words(body: Body, life: MarkLife) -> str:
    """What an entry says of a marked thing."""
    del life
    return body.KIND


@mark_words.register
def _(body: SowingMade, life: MarkLife) -> str:
    trays = [on.tray for on in body.marks if life.name in on.marks]
    recipe = life.state.recipes.get(body.recipe)
    return f"sown on: tray {listed(trays)}, {recipe.crop if recipe is not None else body.recipe}"


@mark_words.register
def _(body: KitUsed, life: MarkLife) -> str:
    if life.name in body.marks:
        return f"said to be under tray {body.tray}"
    return f"put right: tray {body.tray} is on {listed(body.marks)}"


@mark_words.register
def _(body: Cut, life: MarkLife) -> str:
    mine = _mine(life, [cut.tray for cut in body.trays])
    return f"tray {listed(mine)} cut into {body.harvest}"


@mark_words.register
def _(body: Discarded, life: MarkLife) -> str:
    return f"tray {listed(_mine(life, body.trays))} thrown away: {body.reason}"


@mark_words.register
def _(body: Stripped, life: MarkLife) -> str:
    return f"tray {listed(_mine(life, body.trays))} stripped, to be washed"


@mark_words.register
def _(body: Delivered, life: MarkLife) -> str:
    del life
    return f"gone out with a live tray to {body.customer}"


@mark_words.register
def _(body: Washed, life: MarkLife) -> str:
    return joined("washed", *wash_details(body, life.units))


@mark_words.register
def _(body: Sanitised, life: MarkLife) -> str:
    return joined(f"sanitised with {body.agent}", *sanitise_details(body, life.units))


@mark_words.register
def _(body: KitReturned, life: MarkLife) -> str:
    del body, life
    return "came back from a customer, to be washed"


@mark_words.register
def _(body: KitMarked, life: MarkLife) -> str:
    return joined(f"marked {life.name}, of {body.pool}", f"used {body.uses} times before" if body.uses else "")


@mark_words.register
def _(body: KitRetired, life: MarkLife) -> str:
    if life.name in body.replaced_by:
        return f"new, instead of {listed(body.marks)}"
    return joined(body.fate, body.reason, f"{listed(body.replaced_by)} instead" if body.replaced_by else "")


def _mine(life: MarkLife, trays: Iterable[str]) -> list[str]:
    """Of some trays those the marked thing held."""
    return [tray for tray in trays if tray in life.trays]
