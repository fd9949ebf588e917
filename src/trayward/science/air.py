"""Moist air: vapour pressure, dew point, wet bulb, vapour pressure deficit and what else a grow room is judged by.

Plain numbers or arrays in, the same out. A grow room's sums of water are in `science.air_room`. Loads numpy: import it
inside the function that needs it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trayward.errors import InputError

Floats = NDArray[np.float64]
"""A plain float where everything given was a plain number."""

COLDEST_C, WARMEST_C = -40.0, 80.0
"""Air that is reckoned with. [°C] The formula of the vapour pressure holds from -100 to 200 °C."""
STANDARD_PA = 101_325.0
"""Pressure of the standard atmosphere at sea level. [Pa]"""
LEAST_PA, MOST_PA = 50_000.0, 120_000.0
"""Pressures that are reckoned with: up to about 5,500 m above the sea. [Pa]"""
KELVIN = 273.15
TRIPLE_C, TRIPLE_PA = 0.01, 611.657
"""Where ice, water and vapour meet: below, vapour is reckoned over ice. [°C], [Pa]"""
MASS_RATIO = 0.621945
"""Mass of a molecule of water over that of dry air [ashrae2017]. [-]"""
DRY_AIR_J_KG_K = 287.042
"""Gas constant of dry air [ashrae2017]. [J/kg/K]"""
VAPOUR_J_KG_K = 461.5
"""Gas constant of water vapour. [J/kg/K]"""
_CHUNK = 16_384
"""Long arrays are worked through in pieces that stay in the processor's cache: many times faster."""

_WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673)
_ICE = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)
"""ln p = a/T + b + c T + d T^2 + e T^3 (+ f T^4) + g ln T, with p in Pa and T in K [ashrae2017]."""


# What is given --------------------------------------------------------------------------------------------------------


def require_all(name: str, value: ArrayLike, low: float, high: float, unit: str, remedy: str = "") -> Floats:
    """
    A number or an array as an array, every value of it in range.

    Raises
    ------
    InputError
        Naming the first value that is out of range or not a number, with its place where there are several.

    Examples
    --------
    >>> require_all("temp_c", [20, 21], -40, 80, "°C").tolist()
    [20.0, 21.0]
    """
    values = np.asarray(value, float)
    inside = (values >= low) & (values <= high)
    if not inside.all():
        place = int(np.argmin(inside.ravel()))
        where = f"[{place}]" if values.ndim else ""
        rule = f"must lie in [{low:g}, {high:g}] {unit}".strip()
        raise InputError(f"{name}{where}", f"{values.ravel()[place]:g}", rule, remedy, unit)
    return values


def checked_temperature(name: str, temp_c: ArrayLike) -> Floats:
    """A temperature [°C] as an array; raises `InputError` where one is no number or out of the formulas' range."""
    return require_all(name, temp_c, COLDEST_C, WARMEST_C, "°C", "If this is Fahrenheit, convert first.")


def checked_humidity(humidity_pct: ArrayLike, least: float = 0.0) -> Floats:
    """A relative humidity [%] as an array; raises `InputError` where one is no number or not in [`least`, 100] %."""
    return require_all("humidity_pct", humidity_pct, least, 100, "%", "Check the sensor, or drop the reading.")


def checked_pressure(pressure_pa: ArrayLike) -> Floats:
    """An air pressure [Pa] as an array; raises `InputError` where one is no number or no pressure people live at."""
    remedy = "Give pascals: 101325 at sea level, less on a mountain."
    return require_all("pressure_pa", pressure_pa, LEAST_PA, MOST_PA, "Pa", remedy)


# Vapour pressure ------------------------------------------------------------------------------------------------------


def saturation_pressure(temp_c: ArrayLike) -> Floats:
    """
    Pressure of the water vapour in air that can hold no more.

    Parameters
    ----------
    temp_c : float or array
        Temperature. [°C] Valid -40 to 80.

    Returns
    -------
    float or array
        Saturation vapour pressure, over water from 0.01 °C up, over ice below. [Pa]

    Raises
    ------
    InputError
        If a temperature is out of range or not a number.

    Notes
    -----
    The equations of Hyland and Wexler with the coefficients of the handbook [1]_. Weather services give humidity over
    water in frost too, so below 0 °C theirs reads lower than ours.

    References
    ----------
    .. [1] ASHRAE Handbook, Fundamentals, 2017, chapter 1, equations 5 and 6. (Coefficients as in psychrolib 2.5.0,
       Meyer and Thevenard, 2019, Journal of Open Source Software 4(33):1137; the handbook was not read.)

    Examples
    --------
    >>> round(float(saturation_pressure(25.0)), 1)
    3169.2
    """
    return in_pieces(saturated, checked_temperature("temp_c", temp_c))


def saturated(temp_c: Floats) -> Floats:
    """Saturation vapour pressure [Pa] at a temperature that was checked [°C], over ice below the triple point."""
    found = np.exp(log_water(temp_c + KELVIN))
    cold = temp_c < TRIPLE_C
    if cold.any():
        found = np.where(cold, np.exp(log_ice(temp_c + KELVIN)), found)
    return np.asarray(found)


def log_water(kelvin: Floats) -> Floats:
    """Natural log of the saturation vapour pressure [Pa] over water, at a temperature [K]; source at `_WATER`."""
    a, b, c, d, e, g = _WATER
    return np.asarray(a / kelvin + (b + kelvin * (c + kelvin * (d + kelvin * e))) + g * np.log(kelvin))


def log_ice(kelvin: Floats) -> Floats:
    """Natural log of the saturation vapour pressure [Pa] over ice, at a temperature [K]; source at `_ICE`."""
    a, b, c, d, e, f, g = _ICE
    return np.asarray(a / kelvin + (b + kelvin * (c + kelvin * (d + kelvin * (e + kelvin * f)))) + g * np.log(kelvin))


def log_slope_water(kelvin: Floats) -> Floats:
    """How much `log_water` rises with a degree, its derivative. [1/K]"""
    a, _, c, d, e, g = _WATER
    return np.asarray((g - a / kelvin) / kelvin + c + kelvin * (2 * d + kelvin * 3 * e))


def log_slope_ice(kelvin: Floats) -> Floats:
    """How much `log_ice` rises with a degree, its derivative. [1/K]"""
    a, _, c, d, e, f, g = _ICE
    return np.asarray((g - a / kelvin) / kelvin + c + kelvin * (2 * d + kelvin * (3 * e + kelvin * 4 * f)))


def saturation_slope(temp_c: ArrayLike) -> Floats:
    """
    How much the saturation vapour pressure rises with a degree.

    Parameters
    ----------
    temp_c : float or array
        Temperature. [°C] Valid -40 to 80.

    Returns
    -------
    float or array
        The derivative of `saturation_pressure`. [Pa/K]

    Raises
    ------
    InputError
        If a temperature is out of range or not a number.

    Examples
    --------
    >>> round(float(saturation_slope(20.0)))
    145
    """
    temp = checked_temperature("temp_c", temp_c)
    slope = np.where(temp < TRIPLE_C, log_slope_ice(temp + KELVIN), log_slope_water(temp + KELVIN))
    return np.asarray(saturated(temp) * slope)[()]


def vapour_pressure(temp_c: ArrayLike, humidity_pct: ArrayLike) -> Floats:
    """
    Pressure of the water vapour that air of a humidity holds.

    Parameters
    ----------
    temp_c : float or array
        Air temperature. [°C] Valid -40 to 80.
    humidity_pct : float or array
        Relative humidity. [%] Valid 0 to 100.

    Returns
    -------
    float or array
        Vapour pressure. [Pa]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Examples
    --------
    >>> round(float(vapour_pressure(20.0, 50.0)))
    1169
    """
    return in_pieces(vapour_of, checked_temperature("temp_c", temp_c), checked_humidity(humidity_pct))


def vapour_of(temp_c: Floats, humidity_pct: Floats) -> Floats:
    """Vapour pressure [Pa] of air whose temperature [°C] and relative humidity [%] were checked."""
    return np.asarray(saturated(temp_c) * humidity_pct / 100)


def mean_saturation(low_c: ArrayLike, high_c: ArrayLike) -> Floats:
    """
    Saturation vapour pressure of a day: the mean of that at its lowest and highest temperature.

    Parameters
    ----------
    low_c, high_c : float or array
        Lowest and highest temperature. [°C] Valid -40 to 80.

    Returns
    -------
    float or array
        Mean saturation vapour pressure; that at the mean temperature would be too low, for the curve bends. [Pa]

    Raises
    ------
    InputError
        If a temperature is out of range or not a number.

    References
    ----------
    .. [1] R. G. Allen, L. S. Pereira, D. Raes and M. Smith, 1998, Crop evapotranspiration, FAO Irrigation and Drainage
       Paper 56, equation 12. (As in the tests of the PyETo package; the paper was not read.)

    Examples
    --------
    >>> round(float(mean_saturation(15.0, 24.5)) / 1000, 2)
    2.39
    """
    return np.asarray((saturation_pressure(low_c) + saturation_pressure(high_c)) / 2)[()]


def vapour_deficit(temp_c: ArrayLike, humidity_pct: ArrayLike, leaf_c: ArrayLike | None = None) -> Floats:
    """
    How much more vapour the air could hold, or how hard it draws on a leaf: the vapour pressure deficit.

    Parameters
    ----------
    temp_c : float or array
        Air temperature. [°C] Valid -40 to 80.
    humidity_pct : float or array
        Relative humidity. [%] Valid 0 to 100.
    leaf_c : float or array, optional
        Temperature of the leaf [°C]; None: as the air.

    Returns
    -------
    float or array
        Deficit. [kPa] Below zero where the leaf is colder than the dew point: dew forms on it.

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Notes
    -----
    es(leaf) - RH es(air): inside a leaf the air is full of vapour.

    Examples
    --------
    >>> round(float(vapour_deficit(22.0, 60.0)), 3), round(float(vapour_deficit(22.0, 60.0, leaf_c=21.0)), 3)
    (1.058, 0.901)
    """
    temp, humidity = checked_temperature("temp_c", temp_c), checked_humidity(humidity_pct)
    if leaf_c is None:
        return in_pieces(lambda air, wet: saturated(air) * (1 - wet / 100) / 1000, temp, humidity)
    leaf = checked_temperature("leaf_c", leaf_c)
    return in_pieces(lambda air, wet, of: (saturated(of) - vapour_of(air, wet)) / 1000, temp, humidity, leaf)


# Water in the air ----------------------------------------------------------------------------------------------------


def humidity_ratio(vapour_pa: ArrayLike, pressure_pa: ArrayLike = STANDARD_PA) -> Floats:
    """
    Water that comes with a kilogram of dry air.

    Parameters
    ----------
    vapour_pa : float or array
        Vapour pressure. [Pa] Valid from 0, below the air pressure.
    pressure_pa : float or array
        Air pressure. [Pa] Valid 50,000 to 120,000.

    Returns
    -------
    float or array
        Humidity ratio. [kg/kg]

    Raises
    ------
    InputError
        If a pressure is out of range or not a number.

    References
    ----------
    .. [1] ASHRAE Handbook, Fundamentals, 2017, chapter 1, equation 20. (As in psychrolib 2.5.0; not read.)

    Examples
    --------
    >>> round(float(humidity_ratio(3169.7, 95461.0)), 7)
    0.0213604
    """
    pressure = checked_pressure(pressure_pa)
    vapour = require_all(
        "vapour_pa", vapour_pa, 0.0, 0.99 * float(pressure.min()), "Pa", "Give pascals: 1 kPa is 1000."
    )
    return np.asarray(ratio_of(vapour, pressure))[()]


def ratio_of(vapour_pa: Floats, pressure_pa: Floats) -> Floats:
    """Humidity ratio [kg/kg] of air whose vapour pressure and pressure were checked. [Pa]"""
    return np.asarray(MASS_RATIO * vapour_pa / (pressure_pa - vapour_pa))


def absolute_humidity(temp_c: ArrayLike, humidity_pct: ArrayLike) -> Floats:
    """
    Grams of water in a cubic metre of air.

    Parameters
    ----------
    temp_c : float or array
        Air temperature. [°C] Valid -40 to 80.
    humidity_pct : float or array
        Relative humidity. [%] Valid 0 to 100.

    Returns
    -------
    float or array
        Absolute humidity. [g/m3]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Notes
    -----
    The vapour taken as an ideal gas, 461.5 J/kg/K.

    Examples
    --------
    >>> round(float(absolute_humidity(24.0, 75.0)), 1)
    16.3
    """
    return in_pieces(_grams_in_m3, checked_temperature("temp_c", temp_c), checked_humidity(humidity_pct))


def _grams_in_m3(temp_c: Floats, humidity_pct: Floats) -> Floats:
    return 1000 * vapour_of(temp_c, humidity_pct) / (VAPOUR_J_KG_K * (temp_c + KELVIN))


def enthalpy(temp_c: ArrayLike, ratio: ArrayLike) -> Floats:
    """
    Heat in moist air, counted from dry air and liquid water at 0 °C.

    Parameters
    ----------
    temp_c : float or array
        Air temperature. [°C] Valid -40 to 80.
    ratio : float or array
        Humidity ratio. [kg/kg] Valid 0 to 1.

    Returns
    -------
    float or array
        Enthalpy of a kilogram of dry air with its water. [kJ/kg]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    References
    ----------
    .. [1] ASHRAE Handbook, Fundamentals, 2017, chapter 1, equation 30. (As in psychrolib 2.5.0; not read.)

    Examples
    --------
    >>> round(float(enthalpy(40.0, 0.0064)), 1)
    56.7
    """
    temp, water = checked_temperature("temp_c", temp_c), require_all("ratio", ratio, 0, 1, "kg/kg")
    return np.asarray(1.006 * temp + water * (2501 + 1.86 * temp))[()]


def specific_volume(temp_c: ArrayLike, ratio: ArrayLike, pressure_pa: ArrayLike = STANDARD_PA) -> Floats:
    """
    Room that a kilogram of dry air takes with its water.

    Parameters
    ----------
    temp_c : float or array
        Air temperature. [°C] Valid -40 to 80.
    ratio : float or array
        Humidity ratio. [kg/kg] Valid 0 to 1.
    pressure_pa : float or array
        Air pressure. [Pa] Valid 50,000 to 120,000.

    Returns
    -------
    float or array
        Specific volume. [m3/kg]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    References
    ----------
    .. [1] ASHRAE Handbook, Fundamentals, 2017, chapter 1, equation 26. (As in psychrolib 2.5.0; not read.)

    Examples
    --------
    >>> round(float(specific_volume(40.0, 0.0064)), 3)
    0.896
    """
    temp, water = checked_temperature("temp_c", temp_c), require_all("ratio", ratio, 0, 1, "kg/kg")
    return np.asarray(DRY_AIR_J_KG_K * (temp + KELVIN) * (1 + water / MASS_RATIO) / checked_pressure(pressure_pa))[()]


def pressure_at(altitude_m: ArrayLike) -> Floats:
    """
    Air pressure at a height above the sea, in the standard atmosphere.

    Parameters
    ----------
    altitude_m : float or array
        Height. [m] Valid -500 to 5,500.

    Returns
    -------
    float or array
        Pressure; the weather moves it by some 3 %. [Pa]

    Raises
    ------
    InputError
        If a height is out of range or not a number.

    References
    ----------
    .. [1] ASHRAE Handbook, Fundamentals, 2017, chapter 1, equation 3. (As in psychrolib 2.5.0; not read.)

    Examples
    --------
    >>> round(float(pressure_at(500.0)))
    95461
    """
    height = require_all("altitude_m", altitude_m, -500, 5500, "m", "If this is feet, convert first.")
    return np.asarray(STANDARD_PA * (1 - 2.25577e-5 * height) ** 5.2559)[()]


# Long arrays ----------------------------------------------------------------------------------------------------------


def in_pieces(work: Callable[..., Floats], *given: Floats) -> Floats:
    """Work on arrays of one shape, piece by piece where they are long; a plain float for plain numbers."""
    wide = np.broadcast_arrays(*given) if len(given) > 1 else list(given)
    size = wide[0].size
    if size <= _CHUNK:
        return np.asarray(work(*wide))[()]
    flat, found = [each.reshape(-1) for each in wide], np.empty(size)
    for start in range(0, size, _CHUNK):
        found[start : start + _CHUNK] = work(*(each[start : start + _CHUNK] for each in flat))
    return found.reshape(wide[0].shape)
