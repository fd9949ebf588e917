"""A lot's place in line: what goes off first is used first, then what came first."""

from __future__ import annotations

from datetime import date, datetime

Place = tuple[date, datetime, str]


def place_in_line(goes_off: date | None, came: datetime, name: str) -> Place:
    """
    A lot's place among others, to sort by: what goes off first, then what came first, then by name.

    Parameters
    ----------
    goes_off : date or None
        The day it goes off; None: it does not, or nobody knows.
    came : datetime
        When it came.
    name : str
        Its name, which decides between lots of one delivery.

    Examples
    --------
    >>> came = datetime(2026, 11, 1)
    >>> place_in_line(date(2027, 1, 1), came, "B") < place_in_line(None, came, "A")
    True
    """
    return goes_off or date.max, came, name
