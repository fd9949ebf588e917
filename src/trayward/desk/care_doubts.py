"""What looks mistyped in the care of trays: water, height and readings, against the usual and what can be at all."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import islice
from statistics import median

from trayward.desk.doubts import Doubts, Show, doubted, lengths, units_of
from trayward.desk.lookup import facts_of, trays_named
from trayward.farm.state import FarmState, Tray
from trayward.farm.transitions.record import RANGES
from trayward.outlook.doubt import OF_LENGTH, OF_VOLUME, outside
from trayward.rounds.words import between
from trayward.units import show_temperature, show_volume

MEANT_WATER = 10.0
"""No less than such a part of the most a recipe gives at once was meant. Our choice. [-]"""
SHRUNK = 0.5
"""A stand does not shrink to less than this share of what it was. Our choice. [-]"""
TALLEST = 4.0
"""No stand is so many times taller than its crop is cut at. Our choice. [-]"""
MEANT = 1.5
"""Nor was a height meant that is so many times taller. Our choice. [-]"""
GROWN_MM = 10.0
"""A stand shorter than this is not measured well enough to be held against later. [mm]"""

PAST, LEAST_PAST = 60, 10
"""How many earlier readings at a place are looked at, and how many it takes to know what is usual there. Our choice."""
FAR_READING = 6.0
"""A reading so many standard deviations from the middle of the earlier ones is doubted. Our choice. [-]"""
NORMAL_MAD = 1.4826
"""Standard deviation over median absolute deviation of normal figures; the latter minds no wild reading. [-]"""
READINGS = {
    "temperature": (0.0, 45.0, 8.0),
    "humidity": (5.0, 100.0, 40.0),
    "ph": (3.0, 10.0, 1.5),
    "ec": (0.0, 8.0, 2.0),
    "ppfd": (0.0, 2000.0, 300.0),
}
"""By what is read: what a place where trays grow, or the water for them, shows at all; and how far a reading may always
lie from those before it at its place. Our choice. [C, %, pH, dS/m, umol/m2/s]"""
UNITS = {"temperature": "C", "humidity": "%", "ph": "", "ec": "dS/m", "ppfd": "umol/m2/s"}


def water_doubts(state: FarmState, trays: Sequence[str], ml: float | None, what: str = "water") -> Doubts:
    """Water or feed given to each tray, against what a tray holds at all; less is looked at once it is kept. [ml]"""
    if ml is None:
        return
    units = units_of(state)

    def show(value: float, unit: str) -> str:
        return show_volume(value, unit or units.volume)

    for tray in trays_named(state, trays):
        recipe = state.recipe_of(tray)
        holds = recipe.tray.area_cm2 * recipe.tray.depth_mm / 10
        usual = max((stage.water_ml for stage in recipe.stages), default=0.0)
        tried = [(ml * slip.factor, "") for slip in OF_VOLUME if usual / MEANT_WATER <= ml * slip.factor <= usual]
        found = outside(ml, -math.inf, holds, tried)
        if found is not None:
            rule = f"a tray of that size holds {show(holds, '')} to the brim"
            yield doubted((f"tray {tray.tray}", what), ml, "ml", found, (None, holds), rule, show)
            return  # all of them got the same


def feed_doubts(state: FarmState, trays: Sequence[str], ml: float, ph: float | None, ec: float | None) -> Doubts:
    """Feed given to each tray, and its figures. [ml], [pH], [dS/m]"""
    yield from water_doubts(state, trays, ml, "feed")
    for what, value in (("ph", ph), ("ec", ec)):
        if value is not None:
            yield from _reading_doubts(
                state, ("feed", WORDS[what]), what, value, READINGS[what][:2], _at_all(state, what)
            )


def height_doubts(state: FarmState, trays: Sequence[str], height_mm: float | None) -> Doubts:
    """How tall a stand is, against how tall it was and how tall its crop is cut. [mm]"""
    if height_mm is None or height_mm < 0:
        return
    show = lengths(state)
    for tray in trays_named(state, trays):
        before = _height_before(tray)
        cut = facts_of(state, tray.crop).number("harvest_height_mm_high") or math.inf
        low, high = SHRUNK * before, TALLEST * cut
        tried = [(height_mm * slip.factor, slip.unit) for slip in OF_LENGTH if height_mm * slip.factor <= MEANT * cut]
        found = outside(height_mm, low, high, tried)
        if found is not None:
            rule = f"it was {show(before, '')} before"
            if height_mm > high:
                rule = f"{tray.crop} is cut when it is up to {show(cut, '')} tall"
            bounds = (low, high if high < math.inf else None)
            yield doubted((f"tray {tray.tray}", "height"), height_mm, "mm", found, bounds, rule, show)
            return


def _height_before(tray: Tray) -> float:
    """How tall a stand was when it was measured last; 0 where that says nothing of what it is now. [mm]"""
    measured = tray.height_mm if tray.height_mm is not None and not tray.cuts else 0.0
    return measured if measured > GROWN_MM else 0.0


def reading_doubts(state: FarmState, what: str, value: float, where: str) -> Doubts:
    """A reading, against the earlier ones at its place; where there are few, against what such a place can show."""
    past = _past_readings(state, what, where)
    about = (f"{what} at {where}" if where else what, "")
    if len(past) < LEAST_PAST:
        yield from _reading_doubts(state, about, what, value, READINGS[what][:2], _at_all(state, what))
        return
    middle = median(past)
    reach = max(READINGS[what][2], FAR_READING * NORMAL_MAD * median(abs(each - middle) for each in past))
    usual, show = [each for each in past if abs(each - middle) <= reach], _shown(state, what)
    rule = f"earlier readings there went from {between(show(min(usual), ''), show(max(usual), ''))}"
    yield from _reading_doubts(state, about, what, value, (middle - reach, middle + reach), rule)


def tray_temperature_doubts(state: FarmState, trays: Sequence[str], value: float) -> Doubts:
    """A temperature taken of trays, against what a place where trays grow shows at all. [C]"""
    about = (f"tray {trays_named(state, trays)[0].tray}", "temperature")
    bounds, rule = READINGS["temperature"][:2], _at_all(state, "temperature")
    yield from _reading_doubts(state, about, "temperature", value, bounds, rule)


def _reading_doubts(
    state: FarmState, about: tuple[str, str], what: str, value: float, bounds: tuple[float, float], rule: str
) -> Doubts:
    low, high, _ = RANGES[what]
    found = outside(value, *bounds, _meant(value, what))
    if found is not None and low <= value <= high:  # beyond that it cannot be, and the book refuses it
        yield doubted(about, value, UNITS[what], found, bounds, rule, _shown(state, what))


def _past_readings(state: FarmState, what: str, where: str) -> list[float]:
    """The newest readings of a kind at a place, as many as are looked at."""
    alike = (each.value for each in reversed(state.readings) if each.what == what and each.where == where)
    return list(islice(alike, PAST))


def _meant(value: float, what: str) -> list[tuple[float, str]]:
    """What a reading may have been meant as, the likelier first."""
    if what == "temperature":
        return [((value - 32) / 1.8, "F"), (value * 1.8 + 32, "C"), (value / 10, ""), (value * 10, "")]
    factors = {"humidity": (100, 10), "ph": (10, 0.1), "ec": (0.1, 10, 0.001), "ppfd": (0.1, 10)}
    return [(value * factor, "") for factor in factors[what]]


def _shown(state: FarmState, what: str) -> Show:
    if what == "temperature":
        units = units_of(state)
        return lambda value, unit: show_temperature(value, unit or units.temperature)
    return lambda value, unit: f"{value:.3g} {unit or UNITS[what]}".strip()


def _at_all(state: FarmState, what: str) -> str:
    low, high, _ = READINGS[what]
    show = _shown(state, what)
    place = "in water for trays" if what in WORDS else "where trays grow"
    return f"{place} it is {between(show(low, ''), show(high, ''))}"


WORDS = {"ph": "pH", "ec": "EC"}
