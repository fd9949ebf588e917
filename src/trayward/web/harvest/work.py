"""Long work of the harvest page: what cuts were expected to bring, by what was known before they were made."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

import msgspec

from trayward.bootstrap import Farm
from trayward.farm.calendar import day_start, local_day
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, HarvestLot
from trayward.outlook.cut_foretold import CutForetold, cut_foretold
from trayward.outlook.memory import Lessons, lessons_upto
from trayward.outlook.types import Range
from trayward.web.ask import Ask
from trayward.web.harvest.view import lots_since
from trayward.web.work import Long, job

_LESSONS: dict[tuple[datetime, int], Lessons] = {}
"""What was known at a moment, for the weeks asked about last; kept in the process that works it out."""
_FORETOLD: dict[tuple[str, float, datetime, int], CutForetold | None] = {}
WEEKS_KEPT, LOTS_KEPT = 3, 5000


def foretold(farm: Farm, at: datetime, *, lots: Sequence[str]) -> dict[str, CutForetold | None]:
    """What some harvest lots were expected to bring, by what was known at the beginning of each one's week."""
    state, settings = farm.state(at), farm.settings(at)
    known = {name: _week_of(lot, settings) for name in lots if (lot := state.harvests.get(name)) is not None}
    ended = {week: _ended_before(state, week) for week in set(known.values())}
    # Week by week, so that what was known at the beginning of each is worked out once.
    return {
        name: _of_lot(state, state.harvests[name], week, ended[week])
        for name, week in sorted(known.items(), key=lambda pair: pair[1])
    }


def _week_of(lot: HarvestLot, settings: FarmSettings) -> datetime:
    day = local_day(lot.cut_at, settings)
    return day_start(day - timedelta(days=day.weekday()), settings)


def _of_lot(state: FarmState, lot: HarvestLot, known: datetime, ended: int) -> CutForetold | None:
    key = (lot.harvest, lot.grams, known, ended)
    if key not in _FORETOLD:
        while len(_FORETOLD) >= LOTS_KEPT:
            _FORETOLD.pop(next(iter(_FORETOLD)))
        _FORETOLD[key] = cut_foretold(state, lot, _lessons(state, known, ended))
    return _FORETOLD[key]


def _ended_before(state: FarmState, known: datetime) -> int:
    """Trays that had ended by then: a late entry or a strike shows in it. [-]"""
    return sum(1 for tray in state.ended.values() if tray.ended_at is not None and tray.ended_at <= known)


def _lessons(state: FarmState, known: datetime, ended: int) -> Lessons:
    key = (known, ended)
    if key not in _LESSONS:
        while len(_LESSONS) >= WEEKS_KEPT:
            _LESSONS.pop(next(iter(_LESSONS)))
        _LESSONS[key] = lessons_upto(state, known)
    return _LESSONS[key]


class CropForetold(msgspec.Struct, frozen=True, kw_only=True):
    """What a tray of a crop was expected to bring, over the trays cut since. [g]"""

    each: Range
    trays: int


def season_foretold(farm: Farm, at: datetime, *, first: date) -> dict[str, CropForetold]:
    """By crop, what a tray was expected to bring at the beginning of the weeks looked back on."""
    state, settings = farm.state(at), farm.settings(at)
    known = day_start(first, settings)
    lessons = _lessons(state, known, _ended_before(state, known))
    ranges: dict[str, list[Range]] = {}
    for lot in lots_since(state, first, settings):
        told = cut_foretold(state, lot, lessons)
        ranges.setdefault(lot.crop, []).extend(told.each.values() if told is not None else ())
    return {crop: CropForetold(each=_mean(each), trays=len(each)) for crop, each in ranges.items() if each}


def _mean(ranges: Sequence[Range]) -> Range:
    count = len(ranges)
    low, likely, high = (sum(getattr(one, part) for one in ranges) / count for part in ("low", "likely", "high"))
    return Range(low=low, likely=likely, high=high)


job("cuts foretold", foretold)
job("season foretold", season_foretold)


def foretold_of(ask: Ask, lots: Sequence[str]) -> Long[dict[str, CutForetold | None]]:
    """What lots were expected to bring; worked out once, as what was known before a cut does not change after it."""
    names = tuple(lots)
    newest: Long[dict[str, CutForetold | None]] = ask.newest("cuts foretold", lots=names)
    if newest.value is not None and all(name in newest.value for name in names):
        return newest
    return ask.long("cuts foretold", lots=names) if names else Long(value={})


def season_of(ask: Ask, first: date) -> Long[dict[str, CropForetold]]:
    """What trays of each crop were expected to bring; worked out anew once a day, or where a crop is missing."""
    newest: Long[dict[str, CropForetold]] = ask.newest("season foretold", first=first)
    if newest.value is not None and newest.as_of is not None and ask.local(newest.as_of).date() == ask.today:
        return newest
    return ask.long("season foretold", first=first)
