"""Calendars as RFC 5545 writes them: lines folded, text escaped, days and wall-clock times said rightly.

References
----------
RFC 5545 (Desruisseaux, ed., 2009), Internet Calendaring and Scheduling Core Object Specification. Sections as named.
RFC 7986 (Daboo, 2016), New Properties for iCalendar: NAME and REFRESH-INTERVAL.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

import msgspec

from trayward.exchange.zone import vtimezone

CRLF: Final = "\r\n"
OCTETS: Final = 75
"""Most octets of a line, its end not counted. RFC 5545, section 3.1."""
MEDIA_TYPE: Final = "text/calendar; charset=utf-8"
MAKER: Final = "-//Trayward//Trayward//EN"
NEVER: Final = datetime(1970, 1, 1, tzinfo=UTC)
"""When an event was changed that nobody looked at yet, to say which version it is."""
_CONTROLS: Final = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")
"""Characters that no text may hold. RFC 5545, section 3.3.11."""


class Event(msgspec.Struct, frozen=True, kw_only=True):
    """Something of the calendar: on whole days, or at a time on the wall that comes again."""

    uid: str
    summary: str
    first: date
    last: date
    """Of whole days, both included. At a time on the wall: the day it begins and until when it comes again."""
    at: time | None = None
    """A time on the farm's wall; None: whole days."""
    rule: str = ""
    """How whole days come again; an RRULE value."""
    words: str = ""
    sort: str = ""
    likely: bool = False
    """Whether the day is only likely."""
    sequence: int = 0
    """How often it was changed."""
    changed: datetime = NEVER
    """When it was changed last."""


def calendar(events: Iterable[Event], *, name: str, zone: ZoneInfo, refresh: timedelta) -> str:
    """
    A calendar to subscribe to.

    Parameters
    ----------
    events : iterable of Event
        What stands in it.
    name : str
        How a phone calls it.
    zone : ZoneInfo
        The farm's. Times on the wall are told in it, with the changes of its clock: told in UTC, a walk at 07:00 would
        be at 06:00 or 08:00 after the change (section 3.3.5, form 3).
    refresh : timedelta
        How soon it is worth asking again.

    Returns
    -------
    str
        It has no METHOD, so each event's DTSTAMP is when it was changed last (section 3.8.7.2): a calendar in which
        nothing changed is the same to the letter.
    """
    told = list(events)
    asked_again = duration(refresh)
    lines = [
        "BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{MAKER}", "CALSCALE:GREGORIAN", f"NAME:{text(name)}",
        f"X-WR-CALNAME:{text(name)}", f"REFRESH-INTERVAL;VALUE=DURATION:{asked_again}",
        f"X-PUBLISHED-TTL:{asked_again}",
    ]  # fmt: skip
    timed = [event for event in told if event.at is not None]
    if timed and zone.key != "UTC":
        first, last = min(event.first for event in timed), max(event.last for event in timed)
        lines += vtimezone(zone, first, last)
    for event in told:
        lines += _event(event, zone)
    lines.append("END:VCALENDAR")
    return "".join(f"{fold(line)}{CRLF}" for line in lines)


def _event(event: Event, zone: ZoneInfo) -> Iterator[str]:
    changed = moment(event.changed)
    yield from ("BEGIN:VEVENT", f"UID:{text(event.uid)}", f"DTSTAMP:{changed}", f"LAST-MODIFIED:{changed}")
    yield f"SEQUENCE:{event.sequence}"
    yield from _when(event, zone)
    yield f"SUMMARY:{text(event.summary)}"
    if event.words:
        yield f"DESCRIPTION:{text(event.words)}"
    if event.sort:
        yield f"CATEGORIES:{text(event.sort)}"
    yield f"STATUS:{'TENTATIVE' if event.likely else 'CONFIRMED'}"
    # None of it keeps anybody from another appointment (section 3.8.2.7).
    yield from ("TRANSP:TRANSPARENT", "END:VEVENT")


def _when(event: Event, zone: ZoneInfo) -> Iterator[str]:
    if event.at is None:
        # The end of whole days is the day after the last of them (sections 3.6.1 and 3.8.2.2).
        yield f"DTSTART;VALUE=DATE:{event.first:%Y%m%d}"
        yield f"DTEND;VALUE=DATE:{event.last + timedelta(days=1):%Y%m%d}"
        if event.rule:
            yield f"RRULE:{event.rule}"
        return
    begins = f"{event.first:%Y%m%d}T{event.at:%H%M%S}"
    yield f"DTSTART:{begins}Z" if zone.key == "UTC" else f"DTSTART;TZID={zone.key}:{begins}"
    # UNTIL is in UTC where the start is a time on a wall (section 3.3.10).
    until = datetime.combine(event.last, event.at, tzinfo=zone)
    yield f"RRULE:FREQ=DAILY;UNTIL={moment(until)}"


def moment(at: datetime) -> str:
    """
    A moment in UTC (section 3.3.5, form 2).

    Examples
    --------
    >>> moment(datetime(2026, 11, 25, 7, 30, tzinfo=UTC))
    '20261125T073000Z'
    """
    return f"{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def duration(length: timedelta) -> str:
    """
    A length of time in whole minutes (section 3.3.6).

    Examples
    --------
    >>> duration(timedelta(minutes=90))
    'PT90M'
    """
    return f"PT{round(length.total_seconds() / 60)}M"


def text(value: str) -> str:
    r"""
    Words with the characters escaped that mean something (section 3.3.11).

    Examples
    --------
    >>> print(text("Sow; water, cover"))
    Sow\; water\, cover
    """
    plain = _CONTROLS.sub("", value.replace("\r\n", "\n").replace("\r", "\n"))
    return plain.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def fold(line: str) -> str:
    """A line cut into pieces of at most 75 octets, never within a character; each but the first behind a blank."""
    if len(line) <= OCTETS and line.isascii():
        return line
    octets, pieces, begin, room = line.encode(), [], 0, OCTETS
    while len(octets) - begin > room:
        end = begin + room
        while octets[end] & 0b1100_0000 == 0b1000_0000:  # within a character (UTF-8, RFC 3629)
            end -= 1
        pieces.append(octets[begin:end].decode())
        begin, room = end, OCTETS - 1
    return f"{CRLF} ".join([*pieces, octets[begin:].decode()])
