"""A time zone as a calendar tells it: when its clock changed and will change, each change on its own.

References
----------
RFC 5545 (Desruisseaux, ed., 2009), section 3.6.5, VTIMEZONE. IANA time zone database, by way of Python's zoneinfo.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

DAY = timedelta(days=1)
SECOND = timedelta(seconds=1)


def vtimezone(zone: ZoneInfo, first: date, last: date) -> list[str]:
    """
    The lines of a zone's component, good from one day to another.

    Parameters
    ----------
    zone : ZoneInfo
        By its IANA name, which is the TZID too.
    first, last : date
        All changes of the clock between them are listed, and how it stood before.
    """
    begin = datetime.combine(first, time(0), tzinfo=UTC) - DAY
    end = datetime.combine(last, time(0), tzinfo=UTC) + 2 * DAY
    lines = ["BEGIN:VTIMEZONE", f"TZID:{zone.key}"]
    lines += _observance(zone, begin, _offset(zone, begin))
    for at in changes(zone, begin, end):
        lines += _observance(zone, at, _offset(zone, at - SECOND))
    return [*lines, "END:VTIMEZONE"]


def changes(zone: ZoneInfo, begin: datetime, end: datetime) -> Iterator[datetime]:
    """The moments, in UTC, from which on a zone's clock stands otherwise than just before."""
    at = begin
    while at < end:
        if _offset(zone, at) != _offset(zone, at + DAY):
            yield _change_within(zone, at, at + DAY)
        at += DAY


def _change_within(zone: ZoneInfo, low: datetime, high: datetime) -> datetime:
    """The second of a change between two moments of which the offsets differ."""
    was = _offset(zone, low)
    while high - low > SECOND:
        middle = low + timedelta(seconds=int((high - low).total_seconds()) // 2)
        low, high = (middle, high) if _offset(zone, middle) == was else (low, middle)
    return high


def _observance(zone: ZoneInfo, at: datetime, before: timedelta) -> list[str]:
    local = at.astimezone(zone)
    sort = "DAYLIGHT" if local.dst() else "STANDARD"
    # The onset is told by the wall clock as it stood before the change.
    onset = (at + before).replace(tzinfo=None)
    return [
        f"BEGIN:{sort}", f"DTSTART:{onset:%Y%m%dT%H%M%S}", f"TZOFFSETFROM:{_signed(before)}",
        f"TZOFFSETTO:{_signed(_offset(zone, at))}", f"TZNAME:{local.tzname()}", f"END:{sort}",
    ]  # fmt: skip


def _offset(zone: ZoneInfo, at: datetime) -> timedelta:
    return at.astimezone(zone).utcoffset() or timedelta()


def _signed(offset: timedelta) -> str:
    """
    An offset from UTC (section 3.3.14).

    Examples
    --------
    >>> _signed(timedelta(hours=-3, minutes=-30))
    '-0330'
    """
    seconds = round(offset.total_seconds())
    size = abs(seconds)
    rest = f"{size % 60:02}" if size % 60 else ""
    return f"{'-' if seconds < 0 else '+'}{size // 3600:02}{size // 60 % 60:02}{rest}"
