"""How honest the doubt was: ranges foretold in past weeks, held against what happened since.

For every week past, the outlook is made as the book stood at its beginning, and asked about the trays then sown. A
range for 80 in 100 should hold about 80 of 100 of them. Ready is seen only on rounds, so a tray counts as held by the
part of its last look-to-look span that lies in the range.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Literal

import msgspec
import numpy as np

from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState, Tray
from trayward.outlook.clock import Climate
from trayward.outlook.memory import Lessons, lessons_upto
from trayward.outlook.row_reader import RowReader
from trayward.outlook.rows import Rows
from trayward.outlook.terms import Floats
from trayward.outlook.times import Clocked, EvenChances, Wait
from trayward.outlook.types import Calibration, Held
from trayward.outlook.yields import WAITED, asked_of

WEEK = timedelta(days=7)
DAY = timedelta(days=1)
PROMISED = (0.5, 0.8, 0.95)
What = Literal["days", "grams"]


class Foretold(msgspec.Struct, frozen=True):
    """One tray: where what happened fell among what was foretold, as the share of cases below, from `low` to `high`."""

    what: What
    sowing: str
    low: float
    high: float

    @property
    def middle(self) -> float:
        """The middle of the span. [-]"""
        return (self.low + self.high) / 2

    def held_by(self, promised: float) -> float:
        """How much of it the middle range of that share holds, 0 to 1. [-]"""
        least, most = 0.5 - promised / 2, 0.5 + promised / 2
        if self.high <= self.low:
            return float(least <= self.low <= most)
        return max(0.0, min(self.high, most) - max(self.low, least)) / (self.high - self.low)


def calibration(state: FarmState, at: datetime, *, weeks: int = 12) -> Calibration:
    """
    Hold the ranges of past weeks against what happened.

    Parameters
    ----------
    state : FarmState
        The farm as it is now.
    at : datetime
        Now.
    weeks : int
        How many weeks to look back. [-] Valid from 1.

    Returns
    -------
    Calibration
        Shares held, with what chance alone would make of so few sowings.

    Notes
    -----
    Trays of one sowing succeed or fail together, so the error of a share is reckoned over sowings. Trays thrown away,
    and those of recipes nobody says anything of, are left out.
    """
    trays = sorted((*state.ended.values(), *state.trays.values()), key=lambda tray: tray.sown_at)
    told: list[Foretold] = []
    for number in range(weeks, 0, -1):
        begin = at - WEEK * number
        fresh = [tray for tray in trays if begin <= tray.sown_at < begin + WEEK and tray.recipe in state.recipes]
        if fresh and trays[0].sown_at < begin:
            told += foretold(state, fresh, begin, at)
    return summed_up(told, weeks)


def foretold(state: FarmState, trays: Iterable[Tray], known: datetime, now: datetime) -> list[Foretold]:
    """Trays sown after a moment, held against the outlook of that moment."""
    lessons, today = lessons_upto(state, known), RowReader(state, Climate(state))
    clocked, days = Clocked(lessons), dict[tuple[str, str, str], Floats]()
    found = []
    for tray in trays:
        recipe = state.recipes[tray.recipe]
        birth = lessons.reader.birth(tray)
        key = (recipe.name, birth.lot, str(birth.season))
        if key not in days:
            wait = _fresh(recipe, *key[1:], tray.sown_at, lessons)
            ends = clocked.ends(wait, EvenChances())
            days[key] = np.sort(ends[:, -1]) if ends.shape[1] else np.zeros(0)
        found += _ready(tray, recipe, days[key], birth.group, now, lessons)
        found += _weighed(tray, recipe, today, lessons)
    return found


def _fresh(recipe: Recipe, lot: str, season: str, sown_at: datetime, lessons: Lessons) -> Wait:
    room = lessons.climate.room_of(None)
    return Wait(
        recipe=recipe, since=sown_at, stages=recipe.growing_stages, now=sown_at, room=room, lot=lot, season=season
    )


def _ready(tray: Tray, recipe: Recipe, days: Floats, sowing: str, now: datetime, lessons: Lessons) -> list[Foretold]:
    """Where the moment it was seen ready falls; of one that still grows only that it takes longer is known."""
    last = recipe.stages[-1].name
    if not len(days) or (tray.fate == "discarded" and tray.stage != last):
        return []
    step = next((step for step in tray.steps if step.stage == last), None)
    if step is None:
        if tray.fate != "growing" or (now - tray.sown_at) / DAY < 2 * recipe.days_to_ready:
            return []  # too young to tell, or cut before its time
        return [Foretold("days", sowing, share_of(days, (now - tray.sown_at) / DAY), 1.0)]
    high = (step.since - tray.sown_at) / DAY
    looked = lessons.reader.looked_before(tray, tray.steps.index(step) - 1)
    low = (looked - tray.sown_at) / DAY if looked is not None else high
    return [Foretold("days", sowing, share_of(days, min(low, high)), share_of(days, high))]


def _weighed(tray: Tray, recipe: Recipe, today: RowReader, lessons: Lessons) -> list[Foretold]:
    rows, model = Rows.none(), lessons.yields
    today.read(tray, rows)  # by what is known today: as of that moment it was not cut yet
    if not rows.yields or not model.knows(recipe):
        return []
    row = rows.yields[0]
    slope = float(model.fit.fixed[model.fixed_names.index(WAITED)]) if model.fit is not None else 0.0
    grown = (math.log1p(recipe.growth_a_day) + slope) * row.waited_days
    law = model.law(asked_of(recipe, row.lot, str(row.season), "", tray, lessons.reader)).tray()
    share = law.share_below(math.exp(row.log_grams_per_cm2 - grown) * recipe.tray.area_cm2)
    return [Foretold("grams", row.sowing, share, share)]


def share_of(days: Floats, value: float) -> float:
    """Share of sorted cases (n,) below a value, straight between them. [-]"""
    places = (np.arange(len(days)) + 0.5) / len(days)
    return float(np.interp(value, days, places, left=0.0, right=1.0))


def summed_up(told: Sequence[Foretold], weeks: int) -> Calibration:
    """Shares held, of days and of grams."""
    rows = [held for what in ("days", "grams") for held in _held(what, [one for one in told if one.what == what])]
    pits = {what: tuple(one.middle for one in told if one.what == what) for what in ("days", "grams")}
    return Calibration(rows=tuple(rows), pits=pits, weeks=weeks, words=_words(rows))


def _held(what: str, told: Sequence[Foretold]) -> list[Held]:
    if not told:
        return []
    sowings: dict[str, list[Foretold]] = {}
    for one in told:
        sowings.setdefault(one.sowing, []).append(one)
    found = []
    for promised in PROMISED:
        held = sum(one.held_by(promised) for one in told) / len(told)
        # Error of a ratio over clusters: sowings are drawn, not trays (a standard survey estimate).
        off = [sum(one.held_by(promised) - held for one in group) for group in sowings.values()]
        error = math.sqrt(sum(x * x for x in off)) / len(told)
        error = max(error, math.sqrt(promised * (1 - promised) / len(sowings)) / 2 if len(sowings) < 8 else 0.0)
        found.append(
            Held(
                what="days" if what == "days" else "grams",
                promised=promised,
                held=held,
                low=max(0.0, held - 2 * error),
                high=min(1.0, held + 2 * error),
                trays=len(told),
                sowings=len(sowings),
            )
        )
    return found


def _words(rows: Sequence[Held]) -> str:
    eighty = [row for row in rows if row.promised == 0.8]
    if not eighty:
        return "No tray sown in these weeks has come to its end yet: nothing can be held against what was foretold."
    said = [
        f"{round(100 * row.held)} of 100 for {row.what} ({row.trays} trays, {row.sowings} sowings)" for row in eighty
    ]
    verdict = "as promised" if all(row.low <= 0.8 <= row.high for row in eighty) else _off(eighty)
    return f"Ranges for 80 in 100 held {' and '.join(said)}: {verdict}."


def _off(rows: Sequence[Held]) -> str:
    wide = [row.what for row in rows if row.low > 0.8]
    narrow = [row.what for row in rows if row.high < 0.8]
    parts = [
        f"too narrow for {' and '.join(narrow)}" if narrow else "",
        f"wider than need be for {' and '.join(wide)}" if wide else "",
    ]
    return ", ".join(part for part in parts if part)
