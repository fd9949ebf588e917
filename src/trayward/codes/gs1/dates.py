"""Dates in GS1 fields: six figures YYMMDD, the century by a window, day 00 for the end of a month.

References
----------
GS1 General Specifications, section 7.12, Determination of century in dates (51 to 99 behind the present year: the
century before; 50 to 99 ahead of it: the one after), and 3.4, day 00 (from memory).
"""

from __future__ import annotations

import calendar
from datetime import date

from trayward.errors import InputError


def date_field(day: date) -> str:
    """
    A day as a GS1 field holds it.

    Examples
    --------
    >>> date_field(date(2026, 12, 9))
    '261209'
    """
    return f"{day:%y%m%d}"


def read_date(field: str, *, today: date) -> date:
    """
    The day that a GS1 field names.

    Parameters
    ----------
    field : str
        YYMMDD; 00 as the day means the last of the month.
    today : date
        The window of 100 years lies from 49 years before its year to 50 years after.

    Raises
    ------
    InputError
        If there is no such day.

    Examples
    --------
    >>> read_date("261200", today=date(2026, 11, 25))
    datetime.date(2026, 12, 31)
    """
    if len(field) != 6 or not (field.isascii() and field.isdigit()):
        raise InputError("date field", field, "it is six figures, YYMMDD", "Read the code again.")
    year, month, day = _full_year(int(field[:2]), today.year), int(field[2:4]), int(field[4:])
    try:
        return date(year, month, day or calendar.monthrange(year, month)[1])
    except (ValueError, calendar.IllegalMonthError) as err:
        raise InputError("date field", field, "there is no such day", "Read the code again.") from err


def _full_year(two: int, this_year: int) -> int:
    ahead = two - this_year % 100
    century = this_year - this_year % 100
    if ahead >= 51:
        return century - 100 + two
    return century + 100 + two if ahead <= -50 else century + two
