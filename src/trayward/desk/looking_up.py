"""Reading the book back: what a name means, what entries say, and who took which of them back."""

from __future__ import annotations

from collections.abc import Container, Iterable
from datetime import datetime

import msgspec

from trayward.dates import day_words
from trayward.desk.core import call_of
from trayward.desk.planning import Planning
from trayward.desk.ports import Kept
from trayward.errors import NotFoundError, TakenBackError
from trayward.farm.calendar import zone
from trayward.farm.entries import Entry, Struck
from trayward.farm.kit_marks import pool_of
from trayward.farm.state import FarmState
from trayward.rounds.entries.words import entry_words, strike_words
from trayward.rounds.kit_story import MarkStory, kit_story, trays_said
from trayward.rounds.story import StoryLine, harvest_story
from trayward.rounds.words import sentence

DEEDS: dict[str, tuple[str, ...]] = {
    "sown": ("sowing made",),
    "looked at": ("round answered", "measured", "trouble seen", "trouble cleared"),
    "watered": ("watered", "fed"),
    "moved": ("moved", "stage changed"),
    "cut": ("cut",),
    "packed": ("packed",),
    "delivered": ("delivered",),
    "thrown away": ("discarded", "thrown away"),
    "stripped": ("stripped",),
    "washed": (
        "washed",
        "sanitised",
        "kit returned",
        "kit counted",
        "kit marked",
        "kit used",
        "kit retired",
    ),
    "seed": ("seed received", "seed tested", "seed weighed"),
    "orders": (
        "order placed",
        "order changed",
        "order cancelled",
        "standing order set",
        "standing order paused",
    ),
    "notes": ("note",),
    "photos": ("photo",),
    "prices and invoices": (
        "price list set",
        "billing set",
        "buyer set",
        "invoice made",
        "invoice credited",
        "invoice sent",
        "invoice paid",
    ),
    "readings": ("reading taken", "readings summed"),
    "alarms": ("alarm raised", "alarm over", "alarm answered"),
    "plans": ("plan kept",),
    "trials": ("trial set",),
    "setup": (
        "farm set",
        "place set",
        "kit set",
        "recipe set",
        "crop fact set",
        "product set",
        "customer set",
        "contact set",
        "sensor set",
    ),
    "recalls": ("recall kept",),
    "supplies": (
        "supply set",
        "offer set",
        "supply received",
        "supply used",
        "supply counted",
        "supply thrown away",
    ),
    "records": ("record written", "records reviewed", "record habit set"),
    "taken back": ("struck",),
}
"""What growers call what was done, and the kinds of entry that say it; each kind stands under one word."""

NAMED = (
    "tray", "sowing", "lot", "harvest", "pack", "delivery", "customer", "order", "kit", "product", "recipe", "crop",
    "shelf", "place", "trial", "recall", "invoice", "mark",
)  # fmt: skip
"""What can have a name in the book."""


SUBJECTS = {"tray": "tray", "harvest lot": "harvest", "seed lot": "lot", "order": "order"}
"""What an error calls things that are said to be there once, and how the book does."""
BROUGHT = ("sowing made", "cut", "seed received", "order placed")
"""Kinds of entry that say so."""


class TakenBack(msgspec.Struct, frozen=True, kw_only=True):
    """By whom, when and why an entry was struck; `entry` is the id of the entry that says so."""

    by: str
    at: datetime
    reason: str
    entry: str


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """An entry with what it says in a sentence."""

    kept: Kept
    words: str
    taken_back: TakenBack | None = None


class LookingUp(Planning):
    """Reading the book back. Nothing is recorded."""

    def told(self, kept: Iterable[Kept], at: datetime) -> list[Told]:
        """Entries in words, the struck ones with who struck them and why."""
        units, struck = self.settings(at).units, self.book.struck()
        found = []
        for one in kept:
            body = one.entry.body
            target = self.book.get(body.entry) if isinstance(body, Struck) else None
            words = (
                strike_words(body, target.entry.body if target is not None else None, units)
                if isinstance(body, Struck)
                else entry_words(body, units)
            )
            back = self._taken_back(one.entry.id, struck) if one.entry.id in struck else None
            found.append(Told(kept=one, words=sentence(words), taken_back=back))
        return found

    def _taken_back(self, entry_id: str, struck: Container[str]) -> TakenBack | None:
        strike = self._strike_of(entry_id, struck)
        if strike is None:
            return None
        return TakenBack(by=strike[0].by, at=strike[0].at, reason=strike[1].reason, entry=strike[0].id)

    def _strike_of(self, entry_id: str, struck: Container[str]) -> tuple[Entry, Struck] | None:
        """The entry that strikes another, and what it says; None where none is left standing."""
        for one in self.book.about(f"entry:{entry_id}"):
            if isinstance(one.entry.body, Struck) and one.entry.id not in struck:
                return one.entry, one.entry.body
        return None

    def said_with(self, kept: Kept) -> tuple[Kept, ...]:
        """What else was said of the same trays in one breath, and still counts: an answer, the move it brings along."""
        struck, call = self.book.struck(), call_of(kept.entry)
        about = [one for subject in _trays_of(kept) for one in self.book.about(subject)]
        found = {one.entry.id: one for one in about if call_of(one.entry) == call and one.entry.id not in struck}
        return tuple(one for name, one in sorted(found.items(), key=lambda pair: pair[1].seq) if name != kept.entry.id)

    def not_found(self, error: NotFoundError, at: datetime) -> NotFoundError:
        """The same error, or who took back what it speaks of: two people work on one book."""
        subject = SUBJECTS.get(error.kind, "")
        said = self.book.about(f"{subject}:{error.name}") if subject else ()
        back = next((told.taken_back for told in self.told(said, at) if told.kept.entry.body.KIND in BROUGHT), None)
        if back is None:
            return error
        here = back.at.astimezone(zone(self.settings(at)))
        return TakenBackError(error.kind, error.name, back.by, f"{day_words(here.date())}, {here:%H:%M}", back.reason)

    def subjects_of(self, name: str, at: datetime) -> tuple[str, ...]:
        """What a name means in the book, also that of something long gone; empty where nothing is called so.

        Small and capital letters are forgiven where only one of them is a name.
        """
        typed = name.strip()
        for spelt in dict.fromkeys((typed, typed.upper(), typed.lower(), typed.capitalize())):
            state = self.state(at)
            standing = [*subjects_named(state, spelt), *_recipes_of(state, spelt)]
            asked = [spelt] if ":" in spelt else [f"{kind}:{spelt}" for kind in NAMED]
            found = dict.fromkeys((*standing, *self.book.known(asked))) if spelt else {}
            if found:
                return tuple(found)
        return ()

    def kit_story(self, mark: str, at: datetime) -> MarkStory:
        """The history of one marked mat, tray or cover: the trays it held, and how it was cleaned between them."""
        state = self.state(at)
        held = pool_of(state, mark)
        if held is None:
            known = tuple(name for each in state.kit.values() for name in each.marks)
            raise NotFoundError("mark", mark, known, "See them with: trayward kit marks")
        said = self.said_about(f"mark:{mark}", at)
        of_trays = {tray: self.said_about(f"tray:{tray}", at) for tray in trays_said(mark, said)}
        return kit_story(mark, held, said, of_trays, state, self.settings(at), at)

    def harvest_story(self, harvest: str, at: datetime) -> list[StoryLine]:
        """A harvest lot's history in plain words, struck entries included and marked."""
        said = self.said_about(f"harvest:{harvest}", at)
        if not said:
            raise NotFoundError("harvest lot", harvest, tuple(self.state(at).harvests))
        return harvest_story(harvest, said, self.state(at), self.settings(at))


def _trays_of(kept: Kept) -> list[str]:
    return [subject for subject in kept.entry.body.subjects() if subject.startswith("tray:")]


def subjects_named(state: FarmState, name: str) -> list[str]:
    """
    What a name means on the farm now, as subjects of the book (`kind:name`); empty where nothing is called so.

    A spot means the tray on it; a sowing its trays too.
    """
    kinds: dict[str, Container[str]] = {
        "lot": state.seed, "sowing": state.sowings, "shelf": state.shelves, "kit": state.kit, "recipe": state.recipes,
        "customer": state.customers, "order": {**state.orders, **state.standing}, "product": state.products,
        "harvest": state.harvests, "pack": state.packs,
    }  # fmt: skip
    if state.tray(name) is not None:
        return [f"tray:{name}"]
    if name in state.spots:
        return [f"tray:{state.spots[name]}"]
    found = [f"{kind}:{name}" for kind, held in kinds.items() if name in held]
    if pool_of(state, name) is not None:
        found.append(f"mark:{name}")
    if name in state.sowings:
        found += [f"tray:{tray}" for tray in state.sowings[name].trays]
    return found


def _recipes_of(state: FarmState, crop: str) -> list[str]:
    """The recipes of a crop: its sowings are said of them."""
    return [f"recipe:{recipe.name}" for recipe in state.recipes.values() if recipe.crop == crop]
