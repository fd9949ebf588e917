"""What the search of the book is asked: fields of the address into what is wanted, and back into addresses."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

import msgspec

from trayward.desk.looking_up import DEEDS
from trayward.desk.ports import Place, Wanted
from trayward.errors import InputError
from trayward.web.typed import Typed

LONGEST_WORDS = 120
FIELDS = ("find", "what", "by", "since", "until", "about", "in")


class Asked(msgspec.Struct, frozen=True, kw_only=True):
    """What was asked, as it stands in the address."""

    find: str = ""
    """A name or words of a note."""
    what: tuple[str, ...] = ()
    """Deeds: sown, cut, ..."""
    by: str = ""
    about: str = ""
    """A subject (`lot:B1`), where a link leads here."""
    since: str = ""
    until: str = ""
    in_notes: bool = False
    """Look for the words in notes, although something is called so."""

    @property
    def narrowed(self) -> bool:
        """Whether less than everything is asked for."""
        return bool(self.find or self.what or self.by or self.about or self.since or self.until)

    @property
    def first_day(self) -> date | None:
        """The first day asked for."""
        return date.fromisoformat(self.since) if self.since else None

    @property
    def last_day(self) -> date | None:
        """The last day asked for."""
        return date.fromisoformat(self.until) if self.until else None

    def address(self, path: str = "/book", **other: str) -> str:
        """The address that asks the same, with some fields said anew."""
        held = [
            ("find", self.find), *(("what", each) for each in self.what), ("by", self.by), ("about", self.about),
            ("since", self.since), ("until", self.until), ("in", "notes" if self.in_notes else ""),
        ]  # fmt: skip
        words = [(name, value) for name, value in held if value and name not in other]
        words += [(name, value) for name, value in other.items() if value]
        return f"{path}?{urlencode(words)}" if words else path


def asked_in(query: Typed) -> Asked:
    """What the address asks. Raises `InputError` where it makes no sense."""
    since, until = query.maybe(query.day, "since"), query.maybe(query.day, "until")
    if since is not None and until is not None and until < since:
        raise InputError("until", until.isoformat(), "the last day lies before the first", "Swap them.")
    return Asked(
        find=query.text("find")[:LONGEST_WORDS],
        what=tuple(what for what in DEEDS if what in query.all("what")),
        by=query.text("by"),
        about=query.text("about"),
        since=since.isoformat() if since is not None else "",
        until=until.isoformat() if until is not None else "",
        in_notes=query.text("in") == "notes",
    )


def wanted_by(asked: Asked, subjects: Sequence[str], zone: ZoneInfo) -> Wanted:
    """What the store is to look for; `subjects`: what the name asked for means, none where it is words."""
    return Wanted(
        kinds=tuple(kind for what in asked.what for kind in DEEDS[what]),
        by=asked.by,
        about=tuple(subjects),
        words=() if subjects else tuple(asked.find.split()),
        since=_midnight(asked.since, zone),
        until=_midnight(asked.until, zone, days=1),
    )


def _midnight(day: str, zone: ZoneInfo, *, days: int = 0) -> datetime | None:
    """Where a day of the farm begins, or the one so many days later."""
    if not day:
        return None
    begins = datetime.combine(datetime.fromisoformat(day).date() + timedelta(days=days), time(), tzinfo=zone)
    return begins.astimezone(UTC)


def place_word(place: Place) -> str:
    """A place in the book, for an address."""
    return f"{place.at.isoformat()}~{place.seq}"


def place_in(query: Typed) -> Place | None:
    """The place that an address says to go on from. Raises `InputError` where it is none."""
    said = query.text("before")
    if not said:
        return None
    at, _, seq = said.partition("~")
    try:
        found = Place(at=datetime.fromisoformat(at.replace(" ", "+")), seq=int(seq))
    except ValueError as error:
        raise InputError("before", said, "is no place in the book", "Begin at the newest.") from error
    if found.at.tzinfo is None:
        raise InputError("before", said, "is no place in the book", "Begin at the newest.")
    return found
