"""A tray's or a lot's whole history in plain words, one sentence an entry, struck ones included and marked."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime

import msgspec

from trayward.dates import day_words
from trayward.farm.calendar import local_day, present_round
from trayward.farm.entries import Body, Entry, Struck
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.rounds.sayings import Life, lot_words, tray_words
from trayward.rounds.words import day_number
from trayward.words import filled, in_a_row


class StoryLine(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that happened, in words."""

    at: datetime
    words: str
    entry: str
    """Id of the entry that says so."""
    struck: bool = False
    """Taken back by a later entry; it stays in the story, and counts no more."""


def tray_story(tray: str, entries: Iterable[Entry], state: FarmState, settings: FarmSettings) -> list[StoryLine]:
    """
    A tray's whole history.

    Parameters
    ----------
    tray : str
        Its name.
    entries : iterable of Entry
        The entries about it, with those that strike them, in the order of happening; others are passed over.
    state : FarmState
        The farm now, for what its recipe says.
    settings : FarmSettings
        The farm's day, rounds and units.

    Returns
    -------
    list of StoryLine
        One line an entry, for instance "Wed 25 Nov, morning, day 1: sown, 20 g of lot B1, on A1.1a, covered and
        weighted." Days count from sowing, which is day 1.
    """
    return _told(f"tray:{tray}", tray_words, entries, state, settings)


def lot_story(lot: str, entries: Iterable[Entry], state: FarmState, settings: FarmSettings) -> list[StoryLine]:
    """The whole history of a seed lot: received, tested, weighed, and every sowing it went into; see `tray_story`."""
    return _told(f"lot:{lot}", lot_words, entries, state, settings)


def harvest_story(harvest: str, entries: Iterable[Entry], state: FarmState, settings: FarmSettings) -> list[StoryLine]:
    """The whole history of a harvest lot: cut, packed, gone out or thrown away; see `tray_story`."""
    return _told(f"harvest:{harvest}", lot_words, entries, state, settings)


def _told(
    subject: str,
    words: Callable[[Body, Life], str],
    entries: Iterable[Entry],
    state: FarmState,
    settings: FarmSettings,
) -> list[StoryLine]:
    told = list(entries)
    about = {entry.id: entry for entry in told if subject in entry.body.subjects()}
    struck = struck_among(told)
    life = Life(name=subject.partition(":")[2], state=state, units=settings.units)
    lines: list[StoryLine] = []
    for entry in told:
        body = entry.body
        if isinstance(body, Struck) and body.entry in about:
            moment = story_moment(about[body.entry].at, settings)
            said: str = filled("taken back what was said of {moment}: {reason}", moment=moment, reason=body.reason)
        elif entry.id in about:
            said = words(body, life)
            if entry.id not in struck and words is tray_words:
                life.follow(body, entry.at)
        else:
            continue
        when = _when(entry.at, life, settings)
        told_now = in_a_row((when, _stopped(said)), ": ")
        lines.append(StoryLine(at=entry.at, words=told_now, entry=entry.id, struck=entry.id in struck))
    return lines


def struck_among(entries: Iterable[Entry]) -> frozenset[str]:
    """Ids of the entries taken back by another of these that is not itself taken back."""
    strikes = [entry for entry in entries if isinstance(entry.body, Struck)]
    struck: set[str] = set()
    for strike in sorted(strikes, key=lambda entry: (entry.recorded, entry.at), reverse=True):
        if isinstance(strike.body, Struck) and strike.id not in struck:
            struck.add(strike.body.entry)
    return frozenset(struck)


def _when(at: datetime, life: Life, settings: FarmSettings) -> str:
    moment = story_moment(at, settings)
    return moment if life.sown_at is None else f"{moment}, day {day_number(life.sown_at, at, settings)}"


def story_moment(at: datetime, settings: FarmSettings) -> str:
    """Day and walk, as a grower names a moment; `early` before the first walk of the day."""
    day = local_day(at, settings)
    walked, _, walk = present_round(settings, at)[0].partition(" ")
    return f"{day_words(day)}, {walk if walked == day.isoformat() else 'early'}"


def _stopped(words: str) -> str:
    return words if words.endswith((".", "?", "!")) else in_a_row((words, "."), "")
