"""The calendar a phone subscribes to, the page where its address is made, and tracing events as a file."""

from __future__ import annotations

import hashlib
from datetime import timedelta

from starlette.responses import RedirectResponse, Response, StreamingResponse

from trayward.exchange.document import MEDIA_TYPE as EVENTS_TYPE
from trayward.exchange.feed import SORTS, require_sorts
from trayward.exchange.ics import MEDIA_TYPE as CALENDAR_TYPE
from trayward.store.people import CalendarKey
from trayward.web.ask import Ask
from trayward.web.exchange.view import left_out, subscription
from trayward.web.faults import ShutError
from trayward.web.handed import file_headers
from trayward.web.look.locales import Tongue
from trayward.web.people.given import keeper_of, kept_of, myself, words_of
from trayward.web.people.keeper import FarmPeople
from trayward.web.routing import act, page

LATELY = timedelta(days=27)
"""Tracing events are of four weeks, today's among them, where nobody says days: a large farm's book has a million."""
FRESH = timedelta(minutes=10)
"""For so long a phone need not ask again."""


# The calendar ---------------------------------------------------------------------------------------------------------


def _whose(ask: Ask) -> tuple[str, str]:
    """Id and name of whom a calendar is; nobody's id where the pages know no people."""
    if not keeper_of(ask).anyone():
        return "", ask.who.name
    me = myself(ask)
    return me.id, me.name


def calendar_page(ask: Ask) -> Response:
    """Whether one has a calendar to subscribe to, and how to get one."""
    kept: CalendarKey | None = None
    mine = isinstance(ask.people, FarmPeople) and not ask.who.by_token
    if mine:
        kept = kept_of(ask).calendars.of(_whose(ask)[0])
    return ask.show("exchange/calendar.html", mine=mine, kept=kept, sorts=SORTS)


def make(ask: Ask) -> Response:
    """A new address, as a picture. It stands on this page alone, and the one before is worthless."""
    words = words_of(ask)
    without = left_out([sort for sort in SORTS if words.ticked(sort)])
    person, name = _whose(ask)
    key = kept_of(ask).calendars.make(person, at=ask.now, by=name)
    url, language = ask.request.url, ask.tongue.language
    some = without if len(without) < len(SORTS) else ()
    shown = subscription(f"{url.scheme}://{url.netloc}", key, some, "" if language == "en" else language)
    response = ask.show("exchange/made.html", made=shown)
    response.headers["Cache-Control"] = "no-store"
    return response


def to_calendar(ask: Ask) -> Response:  # noqa: ARG001
    """An address is shown once; who asks for its page again gets the one before."""
    return RedirectResponse("/calendar", status_code=303)


def end(ask: Ask) -> Response:
    """The address opens nothing any more."""
    person, name = _whose(ask)
    kept_of(ask).calendars.end(person, at=ask.now, by=name)
    return ask.go("/calendar", ask._("The calendar is ended. Take it out of your phone's calendars."))


def feed(ask: Ask) -> Response:
    """The calendar itself, for a phone that has its address; nothing else of the farm, and nothing to write."""
    key = str(ask.path["key"]).removesuffix(".ics")
    whose = kept_of(ask).calendars.check(key, ask.now) if isinstance(ask.people, FarmPeople) else None
    if whose is None:
        raise ShutError("There is no such calendar.", "It was ended, or made anew: take it out, and add the new one.",
                        status=404)  # fmt: skip
    told = _told(ask, _tongue(ask, whose))
    mark = f'"{hashlib.sha256(told.encode()).hexdigest()[:32]}"'
    headers = {
        "ETag": mark, "Cache-Control": f"private,max-age={int(FRESH.total_seconds())}",
        "Content-Disposition": 'inline; filename="farm.ics"',
    }  # fmt: skip
    if mark in ask.request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    return Response(told.encode(), headers={**headers, "Content-Type": CALENDAR_TYPE})


def _tongue(ask: Ask, whose: CalendarKey) -> Tongue:
    """The language its person chose; of who chose none, that of the page its address was made on."""
    chosen = kept_of(ask).persons.get(whose.person).language if whose.person else ""
    return ask.tongue_of(chosen, ask.query.text("in"))


def _told(ask: Ask, tongue: Tongue) -> str:
    """Made once for each version of the book, each hour and language: what is likely goes with the time."""
    asked = ask.query.text("without")
    without = tuple(sorted(require_sorts(asked.split(",")))) if asked else ()
    hour = ask.at.replace(minute=0, second=0, microsecond=0)
    told = ask.kept(
        ("calendar", without, hour, tongue.locale),
        lambda: ask.farm.calendar_told(
            ask.at, without=without, outlook=ask.farm.outlook_soon(ask.at), said=ask.sayer(tongue)
        ),
    )
    ask.done()  # others go on working while it is written
    return told()


# Tracing events -------------------------------------------------------------------------------------------------------


def exchange_page(ask: Ask) -> Response:
    """Tracing events as a file, for some days."""
    return ask.show("exchange/page.html", first=ask.today - LATELY, last=ask.today)


def events(ask: Ask) -> Response:
    """The tracing events of some days, written while they are sent; of the last four weeks where no day is said."""
    query = ask.query
    first, last = query.maybe(query.day, "from"), query.maybe(query.day, "to")
    if first is None and last is None and not query.ticked("all"):
        first = ask.today - LATELY
    pieces = ask.farm.tracing_document(at=ask.at, first=first, last=last)
    name = f"events-{first or 'all'}-{last or ask.today}.jsonld"
    return StreamingResponse(pieces, media_type=EVENTS_TYPE, headers=file_headers(name))


ROUTES = (
    page("/calendar", calendar_page, may="look"),
    page("/calendar/make", to_calendar, may="look"),
    act("/calendar/make", make, may="look", again=calendar_page),
    act("/calendar/end", end, may="look", again=calendar_page),
    page("/calendar/{key}", feed, may="anyone", warm=True),
    page("/exchange", exchange_page, may="run"),
    page("/exchange/events.jsonld", events, may="run"),
)
