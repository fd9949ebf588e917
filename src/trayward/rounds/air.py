"""What readings of the air mean for trays: dew, too dry, too warm, too cool; with what to do."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from trayward.errors import Finding
from trayward.farm.last_air import Air, airs, last_of
from trayward.farm.places import shelf_of
from trayward.farm.settings import ShownUnits
from trayward.farm.state import FarmState
from trayward.units import show_temperature

STILL_SO = timedelta(hours=12)
"""Older readings say nothing of the air now: our choice. [h]"""
COOL_C, WARM_C = 15.0, 26.0
"""Trials ran at 17 to 25 °C, a trade guide says 18 to 24 °C [`seedco_density`]: beyond these, worth a look. [°C]"""
TOO_HOT_C = 45.0
"""From here on the book itself asks whether it was Fahrenheit. [°C]"""
NEAR_DEW_C = 2.0
"""Air this near to its dew point wets what is a little colder: our choice, with thermometers half a degree off. [°C]"""
DRY_PCT = 35.0
"""Drier air dries a mat between two rounds: our choice, no source. [%]"""
DRY_IT = "Move the air, warm the room a little or dry it, and leave room between trays: wet leaves bring mould."


def air_findings(state: FarmState, at: datetime, where: str | None = None) -> list[Finding]:
    """
    What is odd about the air, by the last readings of each place.

    Parameters
    ----------
    state : FarmState
        The farm.
    at : datetime
        Now; readings older than half a day are left out.
    where : str, optional
        One place only.

    Returns
    -------
    list of Finding
        `air-wet`, `air-dry`, `air-warm` and `air-cool`, all odd. A dark shelf may be wet: trays are covered there. A
        place that is none of the farm's may be a tank: its temperature is not looked at.
    """
    units = state.settings.units if state.settings is not None else ShownUnits()
    found = [*_of_moisture(state, at, where, units), *_of_warmth(state, at, where, units)]
    return sorted(found, key=lambda finding: finding.message)


def _of_moisture(state: FarmState, at: datetime, where: str | None, units: ShownUnits) -> Iterator[Finding]:
    for air in airs(state, at, at - STILL_SO):
        if _asked(air.where, where) and not _covered(state, air.where) and 0 < air.humidity_pct <= 100:
            yield from _wet(air, units)
    for reading in last_of(state, "humidity", at, at - STILL_SO):
        if _asked(reading.where, where) and reading.value < DRY_PCT:
            message = f"humidity{_place(reading.where)} = {reading.value:.0f} %: mats dry out between rounds."
            yield Finding(code="air-dry", severity="odd", message=message, remedy="Look twice a day and water sooner.")


def _wet(air: Air, units: ShownUnits) -> Iterator[Finding]:
    """Air near its dew point; most readings are far from it, and numpy is then not wanted."""
    if air.humidity_pct < _NEVER_NEAR_PCT:
        return
    from trayward.science.air_dew import dew_point

    dew = float(dew_point(air.temp_c, air.humidity_pct))
    if air.temp_c - dew < NEAR_DEW_C:
        shown = show_temperature(air.temp_c, units.temperature)
        cold = show_temperature(dew, units.temperature)
        message = f"air{_place(air.where)} = {air.humidity_pct:.0f} % at {shown}: dew forms on all below {cold}."
        yield Finding(code="air-wet", severity="odd", message=message, remedy=DRY_IT)


_NEVER_NEAR_PCT = 80.0
"""Below it no air of a grow room lies within two degrees of its dew point: 85 % at 0 °C, 89 % at 40 °C do. [%]"""


def _of_warmth(state: FarmState, at: datetime, where: str | None, units: ShownUnits) -> Iterator[Finding]:
    for reading in last_of(state, "temperature", at, at - STILL_SO):
        if not _asked(reading.where, where) or not _is_place(state, reading.where):
            continue
        shown = f"temperature{_place(reading.where)} = {show_temperature(reading.value, units.temperature)}"
        if WARM_C < reading.value <= TOO_HOT_C:
            remedy = "Air the room, or light it by night: mould gains and some seed fails in the warmth."
            yield Finding(code="air-warm", severity="odd", message=f"{shown}: warmer than trays like.", remedy=remedy)
        elif reading.value < COOL_C:
            remedy = "Expect trays later than planned; see by how much: trayward bench growth warmer."
            yield Finding(code="air-cool", severity="odd", message=f"{shown}: cooler than trays like.", remedy=remedy)


def _asked(place: str, where: str | None) -> bool:
    return where is None or place == where


def _place(where: str) -> str:
    return f" at {where}" if where else ""


def _covered(state: FarmState, where: str) -> bool:
    shelf = state.shelves.get(shelf_of(where))
    return shelf is not None and shelf.kind == "dark"


def _is_place(state: FarmState, where: str) -> bool:
    """Whether it is a room, a rack, a shelf or a spot of the farm, or nobody said."""
    named = {name.casefold() for shelf in state.shelves.values() for name in (shelf.name, shelf.rack, shelf.room)}
    return not where or where.casefold() in named or shelf_of(where).casefold() in named
