"""What leaves the farm for other programs: tracing events as a document, and the calendar."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import date, datetime, timedelta
from functools import cache, partial
from typing import TYPE_CHECKING

import msgspec

from trayward.desk.planning import Planning
from trayward.desk.ports import Wanted
from trayward.errors import InputError
from trayward.farm.calendar import day_start
from trayward.farm.entries import Entry, Struck

if TYPE_CHECKING:
    from trayward.exchange.events import Event
    from trayward.exchange.names import Names
    from trayward.farm.state import FarmState
    from trayward.outlook.ahead import Outlook

TICK = timedelta(microseconds=1)
STRIKES_AT_ONCE = 500
CALENDAR = "calendar"
"""The name under which the book keeps which event of the calendar was changed when."""
ASK_AGAIN = timedelta(hours=1)
"""How soon it is worth asking for the calendar again. Our choice."""


class Telling(msgspec.Struct, frozen=True, kw_only=True):
    """What tracing events are told of: the farm and its names at a moment, and which entries were taken back."""

    names: Names
    state: FarmState
    struck: frozenset[str]
    at: datetime


class Exchanging(Planning):
    """Tracing events and the calendar, for programs elsewhere."""

    def tracing_document(self, *, at: datetime, first: date | None = None, last: date | None = None) -> Iterator[bytes]:
        """
        What was received, sown, cut, packed, shipped and thrown away, as an EPCIS 2.0 document in JSON-LD.

        Parameters
        ----------
        at : datetime
            When it is made; what happened later is left out.
        first, last : date, optional
            Only what happened on these days, both included; open where left out.

        Returns
        -------
        iterator of bytes
            The document, a piece at a time. What was taken back is in it once, with the word that it is wrong; also
            what happened before and was taken back within the days.

        Raises
        ------
        InputError
            If the last day comes before the first.
        """
        from trayward.exchange.document import document
        from trayward.exchange.names import Names

        settings = self.settings(at)
        if first is not None and last is not None and last < first:
            raise InputError("last day", last.isoformat(), f"it comes before the first, {first}", "Swap the two.")
        since = day_start(first, settings) if first is not None else None
        until = min(at, day_start(last + timedelta(days=1), settings) - TICK) if last is not None else at
        names = Names(settings, self._farm_mark())
        # Asked before the first piece is: whoever takes the pieces may no longer have the farm to itself.
        told = Telling(names=names, state=self.state(at), struck=self.book.struck(), at=at)
        return document(self._events(told, since, until, self._strikes(told)), names, at)

    def _farm_mark(self) -> str:
        """What no other farm's book begins with."""
        return next((kept.entry.id for kept in self.book.entries(until_seq=1)), "")

    def _events(
        self, told: Telling, since: datetime | None, until: datetime, strikes: dict[str, Entry]
    ) -> Iterator[Event]:
        from trayward.exchange.events import KINDS, told_events

        kinds = tuple(kind.KIND for kind in KINDS)
        entries = self.book.timeline(later_than=None if since is None else since - TICK, until=until, kinds=kinds)
        before = self._struck_before(strikes, since, until)
        for entries_of in (before, entries):
            for entry, event in told_events(iter(entries_of), told.names, told.state):
                if entry.id not in strikes:
                    yield event
                elif (wrong := self._declared(entry, event, strikes[entry.id], told)) is not None:
                    yield wrong

    def _strikes(self, told: Telling) -> dict[str, Entry]:
        """Entry -> what took it back; only of those that count as taken back."""
        found: dict[str, Entry] = {}
        before = None
        while told.struck:
            page = self.book.search(Wanted(kinds=(Struck.KIND,)), before=before, limit=STRIKES_AT_ONCE)
            for kept in page.kept:
                body = kept.entry.body
                if isinstance(body, Struck) and body.entry in told.struck and kept.entry.id not in told.struck:
                    found[body.entry] = kept.entry
            before = page.older
            if before is None:
                break
        return {name: strike for name, strike in found.items() if strike.at <= told.at}

    def _struck_before(self, strikes: dict[str, Entry], since: datetime | None, until: datetime) -> list[Entry]:
        """What happened before some moment and was taken back from then on, the oldest first."""
        if since is None:
            return []
        late = [name for name, strike in strikes.items() if since <= strike.at <= until]
        found = [kept.entry for name in late if (kept := self.book.get(name)) is not None]
        return sorted((entry for entry in found if entry.at < since), key=lambda entry: entry.at)

    def _declared(self, entry: Entry, event: Event, strike: Entry, told: Telling) -> Event | None:
        """An event that was taken back, declared wrong; None where the very same was said again."""
        from trayward.exchange.events import declared_wrong, event_of, same_thing

        subject = same_thing(entry)
        others = [kept.entry for kept in self.book.about(subject)] if subject else []
        right = [
            found["eventID"]
            for each in others
            if each.kind == entry.kind and each.id not in told.struck and each.at <= told.at
            and same_thing(each) == subject and (found := event_of(each, told.names, told.state)) is not None
        ]  # fmt: skip
        if event["eventID"] in right:
            return None
        return declared_wrong(event, strike.recorded, tuple(right))

    # The calendar -----------------------------------------------------------------------------------------------------

    def calendar(
        self,
        at: datetime,
        *,
        without: Iterable[str] = (),
        outlook: Outlook | None = None,
        said: Callable[[str], str] = str,
    ) -> str:
        """
        Sowings planned, cuts and turns expected, deliveries, washes and walks, as a calendar in RFC 5545.

        Parameters
        ----------
        at : datetime
            Now. The plan is the one kept last; without one, cuts are told for trays that stand.
        without : iterable of str
            Sorts to leave out: `sow`, `cut`, `turn`, `deliver`, `wash`, `record`, `round`.
        outlook : Outlook, optional
            What is likely, where it was worked out a little before; that of this moment if left out.
        said : callable
            Makes a sentence of ours that of another language, and leaves the farm's own names alone.

        Returns
        -------
        str
            The same to the letter as long as nothing of it changes. Which event was changed when is kept beside the
            book, for the next time.
        """
        return self.calendar_told(at, without=without, outlook=outlook, said=said)()

    def calendar_told(
        self,
        at: datetime,
        *,
        without: Iterable[str] = (),
        outlook: Outlook | None = None,
        said: Callable[[str], str] = str,
    ) -> Callable[[], str]:
        """The same as `calendar`, written when it is called for: that takes a while and asks nothing of the farm."""
        from trayward.exchange.feed import events, in_language, require_sorts, scene
        from trayward.exchange.ics import calendar
        from trayward.exchange.revised import revised, versions_in, versions_out
        from trayward.farm.calendar import zone

        settings, left_out = self.settings(at), require_sorts(without)
        made = scene(self.state(at), outlook or self.outlook(at), self.kept_plan(at), at)
        known = versions_in(self.book.worked_out(CALENDAR))
        told, kept = revised(events(made, self._farm_mark(), left_out), known, at)
        if kept is not known:
            self.book.keep_worked_out(CALENDAR, versions_out(kept))
        write = partial(calendar, name=settings.name, zone=zone(settings), refresh=ASK_AGAIN)
        # An event's version goes by what it is, not by the language somebody reads it in.
        return cache(lambda: write(in_language(each, said) for each in told))
