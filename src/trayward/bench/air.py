"""Sums of the air: its state, its dew point, dew on a cover, its pressure. A room's water is in `air_room`."""

from __future__ import annotations

from trayward.bench.types import Amount, Sheet
from trayward.errors import Finding, InputError
from trayward.science.air import (
    STANDARD_PA,
    absolute_humidity,
    enthalpy,
    humidity_ratio,
    pressure_at,
    specific_volume,
    vapour_deficit,
    vapour_pressure,
)
from trayward.science.air_dew import dew_point, humidity_of_wet_bulb, wet_bulb
from trayward.science.air_room import BLOWN_FILM, STILL_FILM, cover_temperature, dew_margin, humidity_for_dew

NEAR_DEW_C = 2.0
"""Air this near to its dew point wets what is a little colder, and thermometers are half a degree off: ours. [°C]"""
UNDER_COVER_PCT = 95.0
"""Humidity under a cover over wet seed: our choice, no source. [%]"""
SENSOR_C = 0.5
"""How far off a household thermometer reads: our choice. [°C]"""
NO_TARGET = "No source was found that gives microgreens a target; trials ran at 17 to 25 °C and 50 to 80 %."
ICE = "Over water, below freezing over ice."


def warmth(name: str, value: float, note: str = "") -> Amount:
    """A temperature of a sheet. [C]"""
    return Amount(name=name, value=value, unit="C", kind="temperature", note=note)


def humid(name: str, value: float, note: str = "") -> Amount:
    """A relative humidity of a sheet, from per cent, to a tenth of one: no sensor is better. [-]"""
    return Amount(name=name, value=round(value / 100, 3), unit="-", kind="share", note=note)


def air_of(temp_c: float, humidity_pct: float | None, wet_bulb_c: float | None, pressure_pa: float) -> float:
    """Relative humidity of air that is given by it, or by a wet thermometer; one of the two. [%]"""
    if (humidity_pct is None) == (wet_bulb_c is None):
        rule = "say either how humid it is, or what a wet thermometer shows"
        raise InputError("humidity", "both" if humidity_pct is not None else "none", rule, 'For instance "60 %".')
    if humidity_pct is not None:
        return humidity_pct
    assert wet_bulb_c is not None
    return float(humidity_of_wet_bulb(temp_c, wet_bulb_c, pressure_pa))


def _given(temp_c: float, humidity_pct: float, wet_bulb_c: float | None, altitude_m: float) -> list[Amount]:
    how = "from the wet thermometer" if wet_bulb_c is not None else ""
    found = [warmth("air", temp_c), humid("humidity", humidity_pct, how)]
    if wet_bulb_c is not None:
        found.append(warmth("wet thermometer", wet_bulb_c))
    if altitude_m:
        found.append(Amount(name="altitude", value=altitude_m, unit="m"))
    return found


def near_dew(temp_c: float, humidity_pct: float) -> tuple[Finding, ...]:
    """Air so near to its dew point that what is a little colder gets wet."""
    if temp_c - float(dew_point(temp_c, humidity_pct)) >= NEAR_DEW_C:
        return ()
    message = f"air = {humidity_pct:.0f} %: what is only a little colder than it gathers dew."
    return (Finding(code="air-near-dew", severity="odd", message=message, remedy=DRY_IT),)


DRY_IT = "Move the air, warm it a little, or dry it; leave more room between trays."


def state_sheet(
    temp_c: float,
    humidity_pct: float | None = None,
    *,
    wet_bulb_c: float | None = None,
    leaf_c: float | None = None,
    altitude_m: float = 0.0,
) -> Sheet:
    """
    All that is to be said of air.

    Parameters
    ----------
    temp_c : float
        Air temperature. [°C]
    humidity_pct, wet_bulb_c : float, optional
        Relative humidity [%], or what a wet thermometer shows [°C]: one of the two.
    leaf_c : float, optional
        Temperature of the leaves. [°C]
    altitude_m : float
        Height above the sea. [m]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If the air is out of range, or both or neither of humidity and wet thermometer are given.
    """
    pressure = float(pressure_at(altitude_m))
    humidity = air_of(temp_c, humidity_pct, wet_bulb_c, pressure)
    ratio = float(humidity_ratio(vapour_pressure(temp_c, humidity), pressure))
    given = _given(temp_c, humidity, wet_bulb_c, altitude_m)
    given += [warmth("leaf", leaf_c)] if leaf_c is not None else []
    return Sheet(
        bench="air",
        task="state",
        title="What the air is like: how hard it draws water from leaves, and how near it is to dew.",
        given=tuple(given),
        found=(
            *_deficits(temp_c, humidity, leaf_c),
            warmth("dew point", float(dew_point(temp_c, humidity))),
            warmth("wet bulb", float(wet_bulb(temp_c, humidity, pressure))),
            Amount(name="water in the air", value=float(absolute_humidity(temp_c, humidity)), unit="g/m3"),
            Amount(name="humidity ratio", value=1000 * ratio, unit="g/kg", note="to a kilogram of dry air"),
            Amount(name="heat in the air", value=float(enthalpy(temp_c, ratio)), unit="kJ/kg"),
            Amount(name="volume", value=float(specific_volume(temp_c, ratio, pressure)), unit="m3/kg"),
            Amount(name="air pressure", value=pressure / 100, unit="hPa"),
        ),
        holds=(f"From -40 to 80 °C. {ICE}", NO_TARGET),
        findings=near_dew(temp_c, humidity),
        sources=("ashrae2017",),
    )


def _deficits(temp_c: float, humidity_pct: float, leaf_c: float | None) -> list[Amount]:
    found = [Amount(name="vapour pressure deficit", value=float(vapour_deficit(temp_c, humidity_pct)), unit="kPa")]
    if leaf_c is not None:
        at_leaf = float(vapour_deficit(temp_c, humidity_pct, leaf_c))
        note = "below nought: dew forms on the leaf" if at_leaf < 0 else ""
        found.insert(0, Amount(name="deficit at the leaf", value=at_leaf, unit="kPa", note=note))
    return found


def dew_sheet(
    temp_c: float,
    humidity_pct: float | None = None,
    *,
    wet_bulb_c: float | None = None,
    surface_c: float | None = None,
    altitude_m: float = 0.0,
) -> Sheet:
    """
    The dew point, and whether a surface gathers dew.

    Parameters
    ----------
    temp_c : float
        Air temperature. [°C]
    humidity_pct, wet_bulb_c : float, optional
        Relative humidity [%], or what a wet thermometer shows [°C]: one of the two.
    surface_c : float, optional
        Temperature of a wall, pipe, window or leaf. [°C]
    altitude_m : float
        Height above the sea; it only matters with a wet thermometer. [m]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If the air is out of range, or both or neither of humidity and wet thermometer are given.
    """
    humidity = air_of(temp_c, humidity_pct, wet_bulb_c, float(pressure_at(altitude_m)))
    dew = float(dew_point(temp_c, humidity))
    given = _given(temp_c, humidity, wet_bulb_c, altitude_m)
    found = [warmth("dew point", dew), _colder("air above its dew point", temp_c - dew)]
    if surface_c is not None:
        given.append(warmth("surface", surface_c))
        found = [*_on_surface(surface_c, temp_c, humidity), *found]
    return Sheet(
        bench="air",
        task="dew",
        title="What is colder than the dew point gets wet.",
        given=tuple(given),
        found=tuple(found),
        holds=(f"From -40 to 80 °C. {ICE}", _off_by()),
        findings=near_dew(temp_c, humidity),
        sources=("ashrae2017",),
    )


def _off_by() -> str:
    return f"A thermometer is often {SENSOR_C:g} °C off, a humidity sensor 3 to 5 %: leave {NEAR_DEW_C:g} °C between."


def _colder(name: str, degrees: float, note: str = "") -> Amount:
    return Amount(name=name, value=degrees, unit="C", kind="degrees", note=note)


def _on_surface(surface_c: float, temp_c: float, humidity_pct: float) -> list[Amount]:
    margin = float(dew_margin(surface_c, temp_c, humidity_pct))
    note = "below nought: wet" if margin <= 0 else "too little to trust" if margin < NEAR_DEW_C else ""
    return [
        Amount(name="dew forms", value=margin <= 0, note="close to it" if 0 < margin < NEAR_DEW_C else ""),
        _colder("surface above the dew point", margin, note),
        humid("dry up to a humidity of", float(humidity_for_dew(surface_c, temp_c))),
    ]


def cover_sheet(
    inside_c: float,
    room_c: float,
    *,
    inside_pct: float = UNDER_COVER_PCT,
    surface_c: float | None = None,
    blown: bool = False,
) -> Sheet:
    """
    Whether dew forms under a cover, and how warm the cover must be.

    Parameters
    ----------
    inside_c, room_c : float
        Air under the cover, as warm as the seed, and air of the room around it. [°C]
    inside_pct : float
        Relative humidity under the cover. [%]
    surface_c : float, optional
        Temperature of the cover, measured; None: worked out. [°C]
    blown : bool
        A fan blows on the cover.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range.
    """
    film = BLOWN_FILM if blown else STILL_FILM
    cover = surface_c if surface_c is not None else float(cover_temperature(inside_c, room_c, outside_film=film))
    margin = float(dew_margin(cover, inside_c, inside_pct))
    how = "as measured" if surface_c is not None else "worked out"
    return Sheet(
        bench="air",
        task="cover",
        title="Whether dew forms under a cover and drips on the stand.",
        given=(
            warmth("under the cover", inside_c),
            humid("humidity under the cover", inside_pct),
            warmth("room", room_c),
            Amount(name="fan on the cover", value=blown),
        ),
        found=(
            *_on_surface(cover, inside_c, inside_pct),
            warmth("cover", cover, how),
            warmth("dew point under the cover", float(dew_point(inside_c, inside_pct))),
        ),
        steps=_cover_steps(margin),
        holds=(
            "The cover itself holds no warmth back: true of thin plastic, not of a tray with a weight on it.",
            "Seed that germinates warms itself by a degree or more: measure under the cover, not in the room.",
            "Drops are usual while seed is covered; wet that stays on open leaves is what brings mould (practice).",
        ),
        sources=("ashrae2017", "iso6946") if surface_c is None else ("ashrae2017",),
    )


def _cover_steps(margin: float) -> tuple[str, ...]:
    if margin > NEAR_DEW_C:
        return ()
    return (
        "Wipe or shake the drops off the cover at each look, away from the stand.",
        "Prop the cover open by a finger's breadth once shoots stand.",
        "Keep the room about as warm as the seed: a colder room means a colder, wetter cover.",
    )


def pressure_sheet(altitude_m: float) -> Sheet:
    """
    Air pressure at an altitude, and what it changes.

    Parameters
    ----------
    altitude_m : float
        Height above the sea. [m]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If the height is out of range.
    """
    pressure = float(pressure_at(altitude_m))
    thin = pressure / STANDARD_PA
    return Sheet(
        bench="air",
        task="pressure",
        title="Air pressure at a height above the sea.",
        given=(Amount(name="altitude", value=altitude_m, unit="m"),),
        found=(
            Amount(name="air pressure", value=pressure / 100, unit="hPa"),
            Amount(name="of that at the sea", value=thin, unit="-", kind="share"),
            Amount(
                name="a fan moves", value=thin, unit="-", kind="share", note="of the air by weight it moves at the sea"
            ),
        ),
        holds=(
            "The standard atmosphere; the weather moves it by some 3 %.",
            "Dew point and deficit do not change with it.",
        ),
        sources=("ashrae2017",),
    )
