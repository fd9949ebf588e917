"""The book: entries looked for, one whole, struck; stories of trays and lots."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Any

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.desk.looking_up import DEEDS, TakenBack, Told
from trayward.farm.entries import PlanKept
from trayward.rounds.story import StoryLine
from trayward.web.api.operation import Nothing, look, tell
from trayward.web.api.telling import Telling, Words
from trayward.web.ask import Ask
from trayward.web.book.asked import Asked, place_in, place_word, wanted_by
from trayward.web.faults import ShutError

MOST = 500


class EntriesAsked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which entries; what is left out keeps none away."""

    find: Annotated[str, msgspec.Meta(max_length=120)] = ""
    """A name, or words of a note."""
    what: Annotated[str, msgspec.Meta(max_length=40)] = ""
    """A deed: sown, looked at, watered, moved, cut, packed, delivered, thrown away, washed, seed, orders, notes, ..."""
    by: Annotated[str, msgspec.Meta(max_length=200)] = ""
    about: Annotated[str, msgspec.Meta(max_length=200)] = ""
    """A name, or a subject as `kind:name`."""
    since: date | None = None
    until: date | None = None
    """The last day, included."""
    before: Annotated[str, msgspec.Meta(max_length=80)] = ""
    """The `older` of the page before."""
    limit: Annotated[int, msgspec.Meta(ge=1, le=MOST)] = 50


class EntryTold(msgspec.Struct, frozen=True, kw_only=True):
    """An entry of the book."""

    id: str
    seq: int
    hash: str
    """Chains it to the one before: SHA-256, hex."""
    kind: str
    at: datetime
    """When it happened."""
    recorded: datetime
    """When it was said."""
    by: str
    words: str
    body: dict[str, Any]
    """What it says, by field. [g], [ml], [mm], [C], [dS/m]"""
    taken_back: TakenBack | None


class EntryPage(msgspec.Struct, frozen=True, kw_only=True):
    """Entries, the newest first in the order of happening."""

    entries: tuple[EntryTold, ...]
    older: str | None
    """What `before` is to be for older ones; None where the book was looked through to its beginning."""
    full: bool
    """False: the search for words stopped early so as not to take too long; go on with `older`."""


class Story(msgspec.Struct, frozen=True, kw_only=True):
    """A history in plain words, struck entries included and marked."""

    lines: tuple[StoryLine, ...]


class StrikeEntry(Telling, frozen=True, kw_only=True):
    """Take an entry back. It stays in the book, and counts no more."""

    reason: Annotated[Words, msgspec.Meta(min_length=1)]


def _entries(ask: Ask, query: EntriesAsked) -> EntryPage:
    before = place_in(ask.query)
    asked = Asked(
        find=query.find.strip(), what=(query.what,) if query.what else (), by=query.by, about=query.about,
        since=query.since.isoformat() if query.since else "", until=query.until.isoformat() if query.until else "",
    )  # fmt: skip
    if query.what and query.what not in DEEDS:
        return EntryPage(entries=(), older=None, full=True)
    found = ask.farm.book.search(wanted_by(asked, _subjects(ask, asked), ask.zone), before=before, limit=query.limit)
    return EntryPage(
        entries=tuple(_told(one) for one in ask.farm.told(found.kept, ask.at)),
        older=place_word(found.older) if found.older is not None else None, full=found.full,
    )  # fmt: skip


def _subjects(ask: Ask, asked: Asked) -> tuple[str, ...]:
    if asked.about:
        return ask.farm.subjects_of(asked.about, ask.at) or (asked.about,)
    return ask.farm.subjects_of(asked.find, ask.at) if asked.find else ()


def _entry(ask: Ask, _: Nothing) -> EntryTold:
    return _told(ask.farm.told([ask.farm.entry_named(str(ask.path["id"]))], ask.at)[0])


def _told(told: Told) -> EntryTold:
    entry = told.kept.entry
    body = {"plan": msgspec.json.decode(entry.body.plan)} if isinstance(entry.body, PlanKept) else None
    return EntryTold(
        id=entry.id, seq=told.kept.seq, hash=told.kept.hash, kind=entry.kind, at=entry.at, recorded=entry.recorded,
        by=entry.by, words=told.words, body=body or msgspec.to_builtins(entry.body), taken_back=told.taken_back,
    )  # fmt: skip


def _strike(ask: Ask, told: StrikeEntry, said: Said) -> Receipt:
    entry = ask.farm.entry_named(str(ask.path["id"])).entry
    if not ask.may("run") and entry.by != ask.who.name:
        raise ShutError(f"{entry.by} said this, not you.", "Ask who keeps the farm to strike it.")
    return ask.farm.strike(entry.id, told.reason, **said)


def _story(ask: Ask, _: Nothing) -> Story:
    return Story(lines=tuple(ask.farm.story(str(ask.path["name"]), ask.at)))


def _lot(ask: Ask, _: Nothing) -> Story:
    return Story(lines=tuple(ask.farm.lot_story(str(ask.path["name"]), ask.at)))


def _harvest(ask: Ask, _: Nothing) -> Story:
    return Story(lines=tuple(ask.farm.harvest_story(str(ask.path["name"]), ask.at)))


OPERATIONS = (
    look("/entries", _entries, EntryPage, "book", "Entries, looked for, the newest first.", takes=EntriesAsked,
         steady=True),
    look("/entries/{id}", _entry, EntryTold, "book", "One entry, by its id or the first letters of it.", steady=True),
    tell("/entries/{id}/strike", _strike, StrikeEntry, "book", "Strike an entry: one's own, or as owner any.",
         kinds=("struck",)),
    look("/story/tray/{name:path}", _story, Story, "book", "The story of a tray.", steady=True),
    look("/story/seed/{name:path}", _lot, Story, "book", "The story of a seed lot.", steady=True),
    look("/story/harvest/{name:path}", _harvest, Story, "book", "The story of a harvest lot.", steady=True),
)  # fmt: skip
