"""The farm's own day: local dates, hours of work and the walks of the round, safe over clock changes.

A round is at a wall-clock time: the 07:00 walk stays at 07:00 when summer time begins. Moments given back are in UTC,
so that differences between them are real hours (two moments in one local zone would subtract by their wall clocks).
"""

from __future__ import annotations

from calendar import monthrange
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from itertools import pairwise
from zoneinfo import ZoneInfo

from trayward.errors import InputError
from trayward.farm.settings import FarmSettings, RoundTime


def zone(settings: FarmSettings) -> ZoneInfo:
    """The farm's time zone. Raises `InputError` for a name the IANA tz database does not have."""
    try:
        return ZoneInfo(settings.timezone)
    except (KeyError, ValueError, OSError) as err:
        rule = "must be a name of the IANA time zone database"
        raise InputError("timezone", settings.timezone, rule, "For instance Europe/Berlin.") from err


def local_day(at: datetime, settings: FarmSettings) -> date:
    """The date on the farm's wall at that moment."""
    return at.astimezone(zone(settings)).date()


def moment(day: date, wall_clock: time, settings: FarmSettings) -> datetime:
    """
    When the farm's wall clock shows a time on a day.

    Parameters
    ----------
    day : date
        Day on the farm's wall.
    wall_clock : time
        Time on the farm's wall, without offset. A time the clock shows twice means the first; a time it skips
        means as long after the skip as it would have been.

    Returns
    -------
    datetime
        The moment, in UTC.
    """
    return _moment(day, wall_clock, zone(settings))


def _moment(day: date, wall_clock: time, where: ZoneInfo) -> datetime:
    return datetime.combine(day, wall_clock, tzinfo=where).astimezone(UTC)


def day_start(day: date, settings: FarmSettings) -> datetime:
    """When that day begins on the farm, in UTC."""
    return moment(day, time(0), settings)


def month_end(day: date) -> date:
    """
    The last day of the month a day lies in.

    Examples
    --------
    >>> month_end(date(2028, 2, 3))
    datetime.date(2028, 2, 29)
    """
    return day.replace(day=monthrange(day.year, day.month)[1])


def work_minutes(settings: FarmSettings, day: date) -> float:
    """Minutes of hands there are on a day; 0 on days off. [min]"""
    return 0.0 if day in settings.days_off else settings.work_minutes[day.weekday()]


def is_work_day(settings: FarmSettings, day: date) -> bool:
    """Whether anybody sows, cuts, washes or delivers that day."""
    return work_minutes(settings, day) > 0


def rounds_of(day: date, settings: FarmSettings) -> tuple[tuple[datetime, str], ...]:
    """The walks of a day in the order they come: when each begins, in UTC, and its name (`2026-11-25 morning`)."""
    return _walks(day, settings.rounds, zone(settings))


EARLY = timedelta(hours=1)
"""How long before its set time a walk may begin and still be that walk: growers get up early, too."""


def present_round(settings: FarmSettings, at: datetime) -> tuple[str, datetime]:
    """
    The round that is on at a moment: the last one that has begun.

    A walk may begin up to an hour early, or half the time since the one before where they follow closely. Before the
    first round of a day that is the last round of the day before.

    Returns
    -------
    name : str
        Local day and walk, for instance `2026-11-25 morning`.
    began : datetime
        From when on what is said belongs to it, in UTC.

    Raises
    ------
    InputError
        If the farm has no rounds.
    """
    today = local_day(at, settings)
    walks = [walk for days in (-2, -1, 0, 1) for walk in rounds_of(today + timedelta(days=days), settings)]
    if not walks:
        raise InputError("rounds", "none", "a farm walks at least one round a day", "Set the rounds in its settings.")
    early = [(set_for - min(EARLY, (set_for - last) / 2), name) for (last, _), (set_for, name) in pairwise(walks)]
    began, name = max(walk for walk in early if walk[0] <= at)
    return name, began


def next_round(settings: FarmSettings, at: datetime) -> tuple[str, datetime]:
    """The round after the present one: its name, and from when on what is said belongs to it, in UTC."""
    mine, today = present_round(settings, at)[0], local_day(at, settings)
    walks = (walk for ahead in range(3) for walk in rounds_of(today + timedelta(days=ahead), settings))
    begun = (present_round(settings, set_for) for set_for, _ in walks if set_for > at)
    return next(walk for walk in begun if walk[0] != mine)


@lru_cache(maxsize=1024)
def _walks(day: date, walks: tuple[RoundTime, ...], where: ZoneInfo) -> tuple[tuple[datetime, str], ...]:
    """Kept, for a round of a large farm and the story of a tray ask for the same few days hundreds of times."""
    return tuple(sorted((_moment(day, walk.at, where), f"{day.isoformat()} {walk.name}") for walk in walks))
