"""Hygiene records as the book holds them: what was found, whether it lay within the farm's limits, and reviews."""

from __future__ import annotations

from datetime import date, datetime, time

import msgspec


class Value(msgspec.Struct, frozen=True, kw_only=True):
    """One thing a record says, a figure or words, with the limits that held for it on that day."""

    field: str
    """Which field of the kind: `temperature`."""
    value: float | str
    unit: str = ""
    low: float | None = None
    """The least that is within the limits; None: there is none."""
    high: float | None = None
    """The most that is within them."""

    @property
    def outside(self) -> bool:
        """Whether a figure lies beyond a limit."""
        if isinstance(self.value, str):
            return False
        return (self.low is not None and self.value < self.low) or (self.high is not None and self.value > self.high)


class HygieneRecord(msgspec.Struct, frozen=True, kw_only=True):
    """A record of some kind: what was done or found, where, about which lots, and what was done about it."""

    kind: str
    """`cleaning`, `cold room`, ...: see `hygiene.kinds`."""
    values: tuple[Value, ...]
    area: str = ""
    """Where: a room, a rack, a tap."""
    about: tuple[str, ...] = ()
    """Lots and others it concerns, as the book files them: `harvest:H261125A`."""
    corrective: str = ""
    """What was done about what was not right."""
    review_days: int | None = None
    """Within so many days somebody in charge looks at it; None: nobody has to. [d]"""
    note: str = ""

    @property
    def outside(self) -> bool:
        """Whether any figure lies beyond its limits."""
        return any(value.outside for value in self.values)


class Limit(msgspec.Struct, frozen=True, kw_only=True):
    """The farm's own limits for a field, in the field's own unit."""

    field: str
    low: float | None = None
    high: float | None = None


class Habit(msgspec.Struct, frozen=True, kw_only=True):
    """How often a kind of record is kept somewhere, its limits there, and how soon somebody in charge looks at it."""

    kind: str
    area: str = ""
    rule: str = ""
    """RFC 5545 RRULE value; empty: whenever it happens."""
    start: date
    """Its DTSTART."""
    times: tuple[time, ...] = ()
    """When on such a day, on the farm's wall clock; empty: once that day, whenever it is."""
    limits: tuple[Limit, ...] = ()
    review_days: int | None = None
    """[d] None: as the kind has it."""
    ended: bool = False

    @property
    def key(self) -> str:
        """Kind and area."""
        return key_of(self.kind, self.area)


class RecordHeld(msgspec.Struct, frozen=True, kw_only=True):
    """A record that waits for a review, or lay outside its limits and nobody said what was done."""

    entry: str
    """The id of its entry."""
    at: datetime
    by: str
    record: HygieneRecord


def key_of(kind: str, area: str) -> str:
    """
    Kind and area as one, small letters or capital.

    Examples
    --------
    >>> key_of("cleaning", "Grow room ")
    'cleaning @ grow room'
    """
    return f"{kind} @ {area.strip().casefold()}"
