"""The row numbers that stand on a printed sheet, kept beside the book so that the sheet can be entered by them."""

from __future__ import annotations

import re
from datetime import datetime
from typing import TYPE_CHECKING

import msgspec

from trayward.errors import NotFoundError
from trayward.farm.calendar import zone
from trayward.farm.settings import FarmSettings
from trayward.rounds.told import RowTold, told_of
from trayward.rounds.types import Round

if TYPE_CHECKING:
    from trayward.bootstrap import Farm


class _Kept(msgspec.Struct, frozen=True, kw_only=True):
    round: str
    rows: tuple[RowTold, ...]
    asks: tuple[int, ...] = ()
    """Numbers of the rows with a question."""


class _Day(msgspec.Struct, frozen=True, kw_only=True):
    """The sheets of a day by their names."""

    day: str
    sheets: dict[str, _Kept]


DAYS_KEPT = 14
"""So long a sheet can be entered by its numbers. [d]"""


def sheet_name(at: datetime, settings: FarmSettings) -> str:
    """
    What a sheet of a moment is called: the farm's day and minute.

    Examples
    --------
    >>> from datetime import UTC
    >>> sheet_name(datetime(2026, 11, 27, 7, 10, tzinfo=UTC), FarmSettings(name="Lantern Loft"))
    '261127-0710'
    """
    return f"{at.astimezone(zone(settings)):%y%m%d-%H%M}"


def keep_rows(farm: Farm, present: Round, settings: FarmSettings) -> str:
    """Keep what each row number of a round stands for, and give the sheet's name.

    Kept beside the book for two weeks, as all that was worked out; lost when the book is built anew. A second sheet of
    the same minute takes the place of the first.
    """
    name = sheet_name(present.at, settings)
    rows = tuple(told_of(row, present.round, present.at, settings) for row in present.rows)
    asks = tuple(row.number for row in present.rows if row.cue)
    sheets = _sheets(farm, name) | {name: _Kept(round=present.round, rows=rows, asks=asks)}
    farm.book.keep_worked_out(_key(name), msgspec.json.encode(_Day(day=name[:6], sheets=sheets)))
    return name


def sheet_rows(farm: Farm, sheet: str) -> tuple[RowTold, ...]:
    """
    The rows of a sheet as they were when it was printed; the first is number 1.

    Raises
    ------
    NotFoundError
        If no sheet of that name is kept.
    """
    return _kept(farm, sheet).rows


def sheet_questions(farm: Farm, sheet: str) -> frozenset[int]:
    """Numbers of the rows of a sheet that asked a question. Raises as `sheet_rows`."""
    return frozenset(_kept(farm, sheet).asks)


def _kept(farm: Farm, sheet: str) -> _Kept:
    name = sheet.strip()
    sheets = _sheets(farm, name) if re.fullmatch(r"\d{6}-\d{4}", name) else {}
    if name not in sheets:
        remedy = "Its name stands at the foot of the sheet, and holds for two weeks; answer by place if it is lost."
        raise NotFoundError("sheet", sheet, tuple(sheets), remedy)
    return sheets[name]


def _sheets(farm: Farm, name: str) -> dict[str, _Kept]:
    """The sheets kept of the day a name says."""
    found = farm.book.worked_out(_key(name))
    kept = msgspec.json.decode(found, type=_Day) if found is not None else _Day(day="", sheets={})
    return kept.sheets if kept.day == name[:6] else {}


def _key(name: str) -> str:
    """Where a day's sheets are kept: the place is used again, so that old sheets do not pile up."""
    try:
        day = datetime.strptime(name[:6], "%y%m%d").date()  # noqa: DTZ007  a day, not a moment
    except ValueError:
        return "paper rows"
    return f"paper rows {day.toordinal() % DAYS_KEPT}"
