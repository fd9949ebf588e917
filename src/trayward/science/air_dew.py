"""How far air is from giving dew: dew point, wet bulb, and relative humidity worked out from either.

Plain numbers or arrays in, the same out. Loads numpy: import it inside the function that needs it.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trayward.errors import InputError
from trayward.science.air import (
    KELVIN,
    MASS_RATIO,
    STANDARD_PA,
    TRIPLE_C,
    TRIPLE_PA,
    Floats,
    checked_humidity,
    checked_pressure,
    checked_temperature,
    in_pieces,
    log_ice,
    log_slope_ice,
    log_slope_water,
    log_water,
    ratio_of,
    require_all,
    saturated,
    vapour_of,
)

Of = Callable[[Floats], Floats]

# Dew point and wet bulb -----------------------------------------------------------------------------------------------

DRIEST_PCT = 0.1
"""Drier air has no dew point that matters to anybody. [%]"""


def dew_point(temp_c: ArrayLike, humidity_pct: ArrayLike) -> Floats:
    """
    Temperature down to which air must be cooled for dew to form.

    Parameters
    ----------
    temp_c : float or array
        Air temperature. [°C] Valid -40 to 80.
    humidity_pct : float or array
        Relative humidity. [%] Valid 0.1 to 100: perfectly dry air has no dew point.

    Returns
    -------
    float or array
        Dew point, below 0.01 °C the frost point; never above the air temperature. [°C]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Notes
    -----
    The saturation vapour pressure is solved for the temperature by Newton's method from a Magnus form, to 1e-5 °C.

    Examples
    --------
    >>> round(float(dew_point(20.0, 50.0)), 2)
    9.27
    """
    temp, humidity = checked_temperature("temp_c", temp_c), checked_humidity(humidity_pct, DRIEST_PCT)
    return in_pieces(_dew_point, temp, humidity)


def _dew_point(temp_c: Floats, humidity_pct: Floats) -> Floats:
    full = log_water(temp_c + KELVIN)
    cold = temp_c < TRIPLE_C
    if cold.any():
        full = np.where(cold, log_ice(temp_c + KELVIN), full)
    return np.minimum(_temperature_of(full + np.log(humidity_pct / 100)), temp_c)


def dew_point_of(vapour_pa: ArrayLike) -> Floats:
    """
    Dew point of air from the pressure of its vapour.

    Parameters
    ----------
    vapour_pa : float or array
        Vapour pressure. [Pa] Valid 1 to 47,000: dew points of about -60 to 80 °C.

    Returns
    -------
    float or array
        Dew point. [°C]

    Raises
    ------
    InputError
        If a pressure is out of range or not a number.

    Examples
    --------
    >>> round(float(dew_point_of(1169.5)), 2)
    9.27
    """
    remedy = "Give pascals: 1 kPa is 1000."
    vapour = require_all("vapour_pa", vapour_pa, 1.0, 47_000.0, "Pa", remedy)
    return in_pieces(lambda held: _temperature_of(np.log(held)), vapour)


def _temperature_of(log_pa: Floats) -> Floats:
    """Temperature whose saturation vapour pressure has this logarithm. [°C]"""
    frozen = log_pa < math.log(TRIPLE_PA)
    kelvin = _solved(log_pa, log_water, log_slope_water, 17.625, 243.04)
    if frozen.any():
        kelvin = np.where(frozen, _solved(log_pa, log_ice, log_slope_ice, 22.587, 273.86), kelvin)
    return np.asarray(kelvin - KELVIN)


def _solved(log_pa: Floats, curve: Of, slope: Of, steep: float, far: float) -> Floats:
    """Newton from a Magnus form (Alduchov and Eskridge 1996, from memory): near enough for one step to do, mostly."""
    lift = np.minimum(log_pa - math.log(610.94), 0.9 * steep)
    kelvin = far * lift / (steep - lift) + KELVIN
    for _ in range(4):
        step = (curve(kelvin) - log_pa) / slope(kelvin)
        kelvin = kelvin - step
        if np.abs(step).max(initial=0.0) < _NEAR_ENOUGH:
            break
    return np.asarray(kelvin)


_NEAR_ENOUGH = 0.02
"""A step as short as this leaves less than 1e-5 °C to go: some 0.004 of its square. [°C]"""


def wet_bulb(temp_c: ArrayLike, humidity_pct: ArrayLike, pressure_pa: ArrayLike = STANDARD_PA) -> Floats:
    """
    Temperature that a wet wick in moving air comes to.

    Parameters
    ----------
    temp_c : float or array
        Air temperature. [°C] Valid -40 to 80.
    humidity_pct : float or array
        Relative humidity. [%] Valid 0.1 to 100.
    pressure_pa : float or array
        Air pressure. [Pa] Valid 50,000 to 120,000.

    Returns
    -------
    float or array
        Thermodynamic wet-bulb temperature, between the dew point and the air temperature. [°C]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Notes
    -----
    Solves the handbook's balance of heat and vapour [1]_ by Newton's method, to 0.001 °C: over water where that gives
    0 °C or more, else over ice. (Just below 0 °C both can be: a wick may hold water still.)

    References
    ----------
    .. [1] ASHRAE Handbook, Fundamentals, 2017, chapter 1, equations 33 and 35. (As in psychrolib 2.5.0; not read.)

    Examples
    --------
    >>> round(float(wet_bulb(20.0, 50.0)), 2)
    13.78
    """
    temp, humidity = checked_temperature("temp_c", temp_c), checked_humidity(humidity_pct, DRIEST_PCT)
    return in_pieces(_wet_bulb, temp, humidity, checked_pressure(pressure_pa))


def _wet_bulb(temp_c: Floats, humidity_pct: Floats, pressure_pa: Floats) -> Floats:
    held = ratio_of(vapour_of(temp_c, humidity_pct), pressure_pa)
    wet = _solved_wet_bulb(temp_c, held, pressure_pa, _OVER_WATER)
    frozen = wet < 0
    if frozen.any():
        wet = np.where(frozen, _solved_wet_bulb(temp_c, held, pressure_pa, _OVER_ICE), wet)
    return np.minimum(wet, temp_c)


_OVER_WATER, _OVER_ICE = (2501.0, 2.326, 4.186), (2830.0, 0.24, 2.1)
"""Heat of evaporation at 0 °C [kJ/kg], its fall with a degree, and the heat of water or ice [kJ/kg/K] [ashrae2017]."""


def _solved_wet_bulb(temp_c: Floats, held: Floats, pressure_pa: Floats, over: tuple[float, float, float]) -> Floats:
    """Newton, from what a straight saturation curve would give: the true one bends one way only, so it arrives."""
    (heat, falls, warms), ice = over, over is _OVER_ICE
    log_of, slope_of = (log_ice, log_slope_ice) if ice else (log_water, log_slope_water)
    wet = _near_wet_bulb(temp_c, held, pressure_pa)
    for _ in range(12):
        pressure = np.exp(log_of(wet + KELVIN))
        full = ratio_of(pressure, pressure_pa)
        rise = full * slope_of(wet + KELVIN) * pressure_pa / (pressure_pa - pressure)
        top, below = (heat - falls * wet) * full - 1.006 * (temp_c - wet), heat + 1.86 * temp_c - warms * wet
        steep = ((heat - falls * wet) * rise - falls * full + 1.006 + warms * top / below) / below
        step = (top / below - held) / steep
        wet = wet - step
        if np.abs(step).max(initial=0.0) < _WET_ENOUGH:
            break
    return np.asarray(wet)


def _near_wet_bulb(temp_c: Floats, held: Floats, pressure_pa: Floats) -> Floats:
    """Deficit over the steepness of the curve (Magnus form) and the psychrometer constant; steepness taken half way."""
    short = np.maximum(_magnus(temp_c) - held * pressure_pa / (MASS_RATIO + held), 0.0)
    constant, half_way = 6.65e-4 * pressure_pa, temp_c
    for _ in range(3):
        slope = _magnus(half_way) * 4283.8 / (half_way + 243.12) ** 2
        half_way = temp_c - short / (constant + slope) / 2
    return np.asarray(2 * half_way - temp_c)


def _magnus(temp_c: Floats) -> Floats:
    return np.asarray(611.2 * np.exp(17.62 * temp_c / (243.12 + temp_c)))


_WET_ENOUGH = 0.2
"""A step as short as this leaves less than 0.001 °C to go: some 0.02 of its square. [°C]"""


def _ratio_of_wet_bulb(temp_c: Floats, wet_c: Floats, pressure_pa: Floats) -> Floats:
    full, found = ratio_of(saturated(wet_c), pressure_pa), []
    for heat, falls, warms in (_OVER_WATER, _OVER_ICE):
        top = (heat - falls * wet_c) * full - 1.006 * (temp_c - wet_c)
        found.append(top / (heat + 1.86 * temp_c - warms * wet_c))
    return np.where(wet_c < 0, found[1], found[0])


def wet_bulb_stull(temp_c: ArrayLike, humidity_pct: ArrayLike) -> Floats:
    """
    Wet-bulb temperature at sea level by one published line, good to about 1 °C; `wet_bulb` is exact.

    Parameters
    ----------
    temp_c : float or array
        Air temperature. [°C] Valid -20 to 50.
    humidity_pct : float or array
        Relative humidity. [%] Valid 5 to 99.

    Returns
    -------
    float or array
        Wet-bulb temperature. [°C]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    References
    ----------
    .. [1] R. Stull, 2011, Journal of Applied Meteorology and Climatology 50:2267, doi 10.1175/JAMC-D-11-0143.1.
       (Formula from memory.)

    Examples
    --------
    >>> round(float(wet_bulb_stull(20.0, 50.0)), 1)
    13.7
    """
    temp = require_all("temp_c", temp_c, -20, 50, "°C", "If this is Fahrenheit, convert first.")
    wet = require_all("humidity_pct", humidity_pct, 5, 99, "%", "Use wet_bulb, which holds further.")
    found = temp * np.arctan(0.151977 * np.sqrt(wet + 8.313659)) + np.arctan(temp + wet) - np.arctan(wet - 1.676331)
    return np.asarray(found + 0.00391838 * wet**1.5 * np.arctan(0.023101 * wet) - 4.686035)[()]


# Humidity, said in other ways -----------------------------------------------------------------------------------------


def humidity_of_wet_bulb(temp_c: ArrayLike, wet_c: ArrayLike, pressure_pa: ArrayLike = STANDARD_PA) -> Floats:
    """
    Relative humidity from a dry and a wet thermometer.

    Parameters
    ----------
    temp_c, wet_c : float or array
        Dry-bulb and wet-bulb temperature. [°C] Valid -40 to 80, the wet one no higher.
    pressure_pa : float or array
        Air pressure. [Pa] Valid 50,000 to 120,000.

    Returns
    -------
    float or array
        Relative humidity. [%]

    Raises
    ------
    InputError
        If a value is out of range, the wet bulb is the warmer, or so cold that no air could be so dry.

    Examples
    --------
    >>> round(float(humidity_of_wet_bulb(40.0, 20.0)), 1)
    14.0
    """
    temp, wet, pressure = (
        checked_temperature("temp_c", temp_c),
        checked_temperature("wet_c", wet_c),
        checked_pressure(pressure_pa),
    )
    if np.any(wet > temp):
        raise InputError("wet_c", _first(wet, wet > temp), "must not lie above the air temperature", _SWAPPED, "°C")
    ratio = _ratio_of_wet_bulb(temp, wet, pressure)
    if np.any(ratio < 0):
        raise InputError("wet_c", _first(wet, ratio < 0), "no air is so dry", "Wet the wick and read again.", "°C")
    humidity = 100 * ratio * pressure / (MASS_RATIO + ratio) / saturated(temp)
    return np.minimum(humidity, 100.0)[()]


_SWAPPED = "A wet wick is never warmer than the air: were the two swapped?"


def _first(values: Floats, where: Floats | NDArray[np.bool_]) -> str:
    wide, marked = np.broadcast_arrays(values, where)
    return f"{wide.ravel()[int(np.argmax(marked.ravel()))]:g}"


def humidity_of_dew_point(temp_c: ArrayLike, dew_c: ArrayLike) -> Floats:
    """
    Relative humidity from the air temperature and the dew point.

    Parameters
    ----------
    temp_c, dew_c : float or array
        Air temperature and dew point. [°C] Valid -40 to 80, the dew point no higher.

    Returns
    -------
    float or array
        Relative humidity. [%]

    Raises
    ------
    InputError
        If a value is out of range, or the dew point lies above the air temperature.

    Examples
    --------
    >>> round(float(humidity_of_dew_point(20.0, 9.27)))
    50
    """
    temp, dew = checked_temperature("temp_c", temp_c), checked_temperature("dew_c", dew_c)
    if np.any(dew > temp):
        rule = "must not lie above the air temperature"
        raise InputError("dew_c", _first(dew, dew > temp), rule, "Air cannot be more than full of vapour.", "°C")
    return np.asarray(100 * saturated(dew) / saturated(temp))[()]
