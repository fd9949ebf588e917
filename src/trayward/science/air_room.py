"""Water in the air of a grow room: what trays give off, what leaks and fans carry away, what a dehumidifier takes out.

Loads numpy: import it inside the function that needs it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from trayward.errors import InputError
from trayward.science.air import (
    STANDARD_PA,
    Floats,
    checked_humidity,
    checked_pressure,
    checked_temperature,
    humidity_ratio,
    require_all,
    saturated,
    saturation_slope,
    specific_volume,
    vapour_of,
    vapour_pressure,
)
from trayward.science.air_dew import DRIEST_PCT, dew_point

LATENT_J_G = 2450.0
"""Heat that a gram of water takes up as it evaporates, at about 20 °C [fao56, from memory]. [J/g]"""
AIR_HEAT_J_M3_K = 1200.0
"""Heat that warms a cubic metre of air by a degree (from memory). [J/m3/K]"""
PSYCHROMETER_PA_K = 66.5
"""Psychrometer constant at sea level, as the source of the transpiration model takes it. [Pa/K]"""
LAMP_J_UMOL = 0.2
"""Energy of a micromole of lamp light: 120 W/m2 at 600 umol/m2/s [graamans2017]. [J/umol]"""
REFLECTED = 0.05
"""Share of the lamps' light that leaves send back [graamans2017]. [-]"""
AIR_RESISTANCE = 100.0
"""Resistance of the still air at a leaf, among shelves [graamans2017]. [s/m]"""
LEAF_AREA = 2.0
"""Leaf over a lit tray, in tray areas: our choice, between a stand just uncovered and one to be cut. [-]"""

# Trays ----------------------------------------------------------------------------------------------------------------


def stomatal_resistance(ppfd: ArrayLike) -> Floats:
    """
    How hard leaves make it for water to leave, in the light and in the dark.

    Parameters
    ----------
    ppfd : float or array
        Light on the leaves. [umol/m2/s] Valid 0 to 2,000.

    Returns
    -------
    float or array
        Resistance of the stomata of lettuce. [s/m]

    Raises
    ------
    InputError
        If a light is out of range or not a number.

    References
    ----------
    .. [1] L. Graamans, A. van den Dobbelsteen, E. Meinen and C. Stanghellini, 2017, Plant factories; crop transpiration
       and energy balance, Agricultural Systems 153:138. (As coded by other readers of it; the paper was not read.)

    Examples
    --------
    >>> round(float(stomatal_resistance(600.0)), 1), float(stomatal_resistance(0.0))
    (157.5, 450.0)
    """
    light = require_all("ppfd", ppfd, 0, 2000, "umol/m2/s", "Give the light on the shelf, not that of the lamp.")
    return np.asarray(60 * (1500 + light) / (200 + light))[()]


def transpiration(
    temp_c: ArrayLike,
    humidity_pct: ArrayLike,
    ppfd: ArrayLike,
    *,
    leaf_area: float = LEAF_AREA,
    air_resistance: float = AIR_RESISTANCE,
) -> Floats:
    """
    Water that a lit stand gives off.

    Parameters
    ----------
    temp_c : float or array
        Air temperature. [°C] Valid 0 to 50.
    humidity_pct : float or array
        Relative humidity. [%] Valid 0 to 100.
    ppfd : float or array
        Light on the leaves. [umol/m2/s] Valid 0 to 2,000; 0 in the dark hours.
    leaf_area : float
        Leaf over the tray, in tray areas. [-] Valid 0 to 10.
    air_resistance : float
        Resistance of the air at the leaves. [s/m] Valid 10 to 500; lower where fans blow.

    Returns
    -------
    float or array
        Transpiration of a square metre of trays, never negative. [g/m2/h]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Notes
    -----
    Penman and Monteith's balance for a leaf area L: the light taken up leaves as vapour and as warmth, L d (X + e T) /
    (rs + ra) and L c T / ra, with T how much warmer the leaf is than the air, X the air's deficit, e the rise of the
    saturation curve; solved for T [1]_. Fitted to lettuce: microgreens were not measured. What wet mats give off
    between the stems is not in it.

    References
    ----------
    .. [1] L. Graamans, A. van den Dobbelsteen, E. Meinen and C. Stanghellini, 2017, Plant factories; crop transpiration
       and energy balance, Agricultural Systems 153:138. (As coded by other readers of it; the paper was not read.)

    Examples
    --------
    >>> round(float(transpiration(21.0, 60.0, 150.0)))
    102
    """
    temp = require_all("temp_c", temp_c, 0, 50, "°C", "If this is Fahrenheit, convert first.")
    deficit = saturated(temp) - vapour_of(temp, checked_humidity(humidity_pct))
    leaf = float(require_all("leaf_area", leaf_area, 0, 10, "", "2 is a stand about half grown."))
    still = float(require_all("air_resistance", air_resistance, 10, 500, "s/m"))
    if leaf == 0:
        return np.zeros(np.broadcast(temp, deficit, np.asarray(ppfd)).shape)[()]
    through = stomatal_resistance(ppfd) + still
    light = np.asarray(ppfd, float) * LAMP_J_UMOL * (1 - REFLECTED) * _shaded(leaf)
    rise = saturation_slope(temp) / PSYCHROMETER_PA_K
    drawn = AIR_HEAT_J_M3_K * deficit / PSYCHROMETER_PA_K / through
    warmer = (light / leaf - drawn) / (AIR_HEAT_J_M3_K * (1 / still + rise / through))
    latent = leaf * (drawn + AIR_HEAT_J_M3_K * rise * warmer / through)
    return np.maximum(latent / LATENT_J_G * 3600, 0.0)[()]


def _shaded(leaf_area: float) -> float:
    """Share of the light that so much leaf takes up: none passes where it covers the tray more than once."""
    return min(leaf_area, 1.0)


# Leaks and fans -------------------------------------------------------------------------------------------------------


def carried_by_air(
    air_m3_h: ArrayLike,
    inside: tuple[ArrayLike, ArrayLike],
    outside: tuple[ArrayLike, ArrayLike],
    pressure_pa: ArrayLike = STANDARD_PA,
) -> Floats:
    """
    Water that moving air carries out of a room.

    Parameters
    ----------
    air_m3_h : float or array
        Air that leaves, at the room's temperature; as much dry air comes in. [m3/h] Valid 0 to 1,000,000.
    inside, outside : pair of float or array
        Temperature [°C] and relative humidity [%] of the room and of the air that comes in.
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Water carried out; below zero where the air outside is the wetter. [g/h]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Examples
    --------
    >>> round(float(carried_by_air(100.0, (22.0, 70.0), (10.0, 60.0))))
    824
    """
    flow = require_all("air_m3_h", air_m3_h, 0, 1e6, "m3/h")
    full, empty = (humidity_ratio(vapour_pressure(*state), pressure_pa) for state in (inside, outside))
    return np.asarray(1000 * flow * (full - empty) / specific_volume(inside[0], full, pressure_pa))[()]


def fan_flow(
    grams_h: float, inside: tuple[float, float], outside: tuple[float, float], pressure_pa: float = STANDARD_PA
) -> float:
    """
    Air that must be changed to carry off so much water.

    Parameters
    ----------
    grams_h : float
        Water to carry off. [g/h] Valid from 0.
    inside, outside : pair of float
        Temperature [°C] and relative humidity [%] to hold in the room, and of the air that comes in.
    pressure_pa : float
        Air pressure. [Pa]

    Returns
    -------
    float
        Air, at the room's temperature. [m3/h]

    Raises
    ------
    InputError
        If the air outside holds as much water as that to be held, or a value is out of range.

    Examples
    --------
    >>> round(fan_flow(824.0, (22.0, 70.0), (10.0, 60.0)))
    100
    """
    need = float(require_all("grams_h", grams_h, 0, 1e6, "g/h"))
    by_100 = float(carried_by_air(100.0, inside, outside, pressure_pa))
    if by_100 <= 0:
        rule = "the air outside holds as much water as the room is to hold, so no fan can dry it"
        raise InputError("outside", f"{outside[0]:g} °C, {outside[1]:g} %", rule, "Use a dehumidifier, or cool.")
    return 100 * need / by_100


# Dehumidifier ---------------------------------------------------------------------------------------------------------

RATED_C, RATED_PCT = 26.7, 60.0
"""Air that a dehumidifier's litres a day are given for, where its plate says no other: 80 °F. [°C], [%]"""
_REMOVED = (-1.162525707, 0.02271469, -0.000113208, 0.021110538, -0.0000693034, 0.000378843)
WORKS_C, WORKS_PCT = (15.0, 35.0), (40.0, 100.0)
"""Air that the curve is used for, our bounds: in colder or drier air it runs to nought and below. [°C], [%]"""


def dehumidifier_share(
    temp_c: ArrayLike, humidity_pct: ArrayLike, rated_c: float = RATED_C, rated_pct: float = RATED_PCT
) -> Floats:
    """
    What a dehumidifier takes out of a room's air, against what its plate says.

    Parameters
    ----------
    temp_c, humidity_pct : float or array
        Air of the room [°C], [%]. Valid 15 to 35 °C and 40 to 100 %.
    rated_c, rated_pct : float
        Air that the plate's figure holds for. [°C], [%] The same range.

    Returns
    -------
    float or array
        Share of the plate's litres a day. [-]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Notes
    -----
    A curve of six coefficients measured on home dehumidifiers with a compressor [1]_; other kinds differ.

    References
    ----------
    .. [1] J. Winkler, D. Christensen and J. Tomerlin, 2011, Laboratory test report for six ENERGY STAR dehumidifiers,
       National Renewable Energy Laboratory. (Coefficients as coded in OpenStudio-HPXML, title from memory; not read.)

    Examples
    --------
    >>> round(float(dehumidifier_share(21.0, 60.0)), 2), round(float(dehumidifier_share(21.0, 60.0, 30.0, 80.0)), 2)
    (0.77, 0.48)
    """
    return np.asarray(_removed(temp_c, humidity_pct) / _removed(rated_c, rated_pct))[()]


def _removed(temp_c: ArrayLike, humidity_pct: ArrayLike) -> Floats:
    remedy = "A compressor ices up in colder and drier air: look at the maker's own curve."
    temp = require_all("temp_c", temp_c, *WORKS_C, "°C", remedy)
    wet = require_all("humidity_pct", humidity_pct, *WORKS_PCT, "%", remedy)
    a, b, c, d, e, f = _REMOVED
    return np.asarray(a + temp * (b + c * temp) + wet * (d + e * wet) + f * temp * wet)


# Surfaces -------------------------------------------------------------------------------------------------------------

STILL_FILM, BLOWN_FILM = 0.10, 0.04
"""Resistance of the air on a surface, still and blown at: ISO 6946, from memory. [m2 K/W]"""


def cover_temperature(
    inside_c: ArrayLike, outside_c: ArrayLike, *, outside_film: float = STILL_FILM, inside_film: float = STILL_FILM
) -> Floats:
    """
    Temperature of a thin cover between two airs.

    Parameters
    ----------
    inside_c, outside_c : float or array
        Air under the cover and around it. [°C] Valid -40 to 80.
    outside_film, inside_film : float
        Resistance of the air on its two sides. [m2 K/W] Valid 0.01 to 0.5.

    Returns
    -------
    float or array
        Temperature of the cover, which itself is taken to hold no warmth back. [°C]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Examples
    --------
    >>> float(cover_temperature(24.0, 20.0)), round(float(cover_temperature(24.0, 20.0, outside_film=BLOWN_FILM)), 1)
    (22.0, 21.1)
    """
    warm, cool = checked_temperature("inside_c", inside_c), checked_temperature("outside_c", outside_c)
    inner = float(require_all("inside_film", inside_film, 0.01, 0.5, "m2 K/W"))
    outer = float(require_all("outside_film", outside_film, 0.01, 0.5, "m2 K/W"))
    return np.asarray(warm - (warm - cool) * inner / (inner + outer))[()]


def dew_margin(surface_c: ArrayLike, temp_c: ArrayLike, humidity_pct: ArrayLike) -> Floats:
    """
    How far a surface is from gathering dew.

    Parameters
    ----------
    surface_c : float or array
        Temperature of the surface. [°C] Valid -40 to 80.
    temp_c, humidity_pct : float or array
        Air at it. [°C], [%] Valid -40 to 80 and 0.1 to 100.

    Returns
    -------
    float or array
        Surface less dew point; at and below 0 dew forms. [°C]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Examples
    --------
    >>> round(float(dew_margin(22.0, 24.0, 95.0)), 1)
    -1.1
    """
    return np.asarray(checked_temperature("surface_c", surface_c) - dew_point(temp_c, humidity_pct))[()]


def humidity_for_dew(surface_c: ArrayLike, temp_c: ArrayLike) -> Floats:
    """
    Relative humidity of the air from which on dew forms on a surface.

    Parameters
    ----------
    surface_c, temp_c : float or array
        Temperature of the surface and of the air. [°C] Valid -40 to 80.

    Returns
    -------
    float or array
        Relative humidity, at most 100: on a surface warmer than the air no dew forms. [%]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Examples
    --------
    >>> round(float(humidity_for_dew(22.0, 24.0)))
    89
    """
    surface, air = checked_temperature("surface_c", surface_c), checked_temperature("temp_c", temp_c)
    return np.minimum(100 * saturated(surface) / saturated(air), 100.0)[()]


# Left to itself -------------------------------------------------------------------------------------------------------


def settled_humidity(
    temp_c: float,
    outside: tuple[float, float],
    air_m3_h: float,
    given_off: float | Trays,
    pressure_pa: float = STANDARD_PA,
) -> float:
    """
    Relative humidity that a room comes to where only moving air carries its water off.

    Parameters
    ----------
    temp_c : float
        Temperature the room is held at. [°C]
    outside : pair of float
        Temperature [°C] and relative humidity [%] of the air that comes in.
    air_m3_h : float
        Air changed, by leaks and fans. [m3/h] Valid above 0.
    given_off : float or Trays
        Water that gets into the air [g/h], or the trays that give it off: the less, the wetter it is already.
    pressure_pa : float
        Air pressure. [Pa]

    Returns
    -------
    float
        Relative humidity; 100 where walls and covers run with water. [%]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Examples
    --------
    >>> round(settled_humidity(22.0, (10.0, 60.0), 100.0, 824.0))
    70
    """
    checked_pressure(pressure_pa)
    low, high = DRIEST_PCT, 100.0
    for _ in range(50):
        middle = (low + high) / 2
        gain = given_off if isinstance(given_off, int | float) else given_off.grams_h(temp_c, middle)
        if gain > float(carried_by_air(air_m3_h, (temp_c, middle), outside, pressure_pa)):
            low = middle
        else:
            high = middle
    return high


class Trays:
    """
    Trays in a room, and what they give off over a day.

    Parameters
    ----------
    area_m2 : float
        Area of all lit trays together. [m2]
    ppfd : float
        Light on them while it is on. [umol/m2/s]
    hours : float
        Hours of light a day. [h] Valid 0 to 24.
    leaf_area, air_resistance : float
        As for `transpiration`.
    """

    def __init__(
        self,
        area_m2: float,
        ppfd: float,
        hours: float,
        *,
        leaf_area: float = LEAF_AREA,
        air_resistance: float = AIR_RESISTANCE,
    ) -> None:
        self.area_m2 = float(require_all("area_m2", area_m2, 0, 1e5, "m2"))
        self.ppfd = ppfd
        self.hours = float(require_all("hours", hours, 0, 24, "h"))
        self.leaf_area, self.air_resistance = leaf_area, air_resistance

    def in_light(self, temp_c: float, humidity_pct: float) -> float:
        """Water given off in an hour of light. [g/h]"""
        return self._given_off(temp_c, humidity_pct, self.ppfd)

    def in_dark(self, temp_c: float, humidity_pct: float) -> float:
        """Water given off in a dark hour. [g/h]"""
        return self._given_off(temp_c, humidity_pct, 0.0)

    def grams_h(self, temp_c: float, humidity_pct: float) -> float:
        """Water given off in an hour, on the mean over the day. [g/h]"""
        lit = self.hours / 24
        return lit * self.in_light(temp_c, humidity_pct) + (1 - lit) * self.in_dark(temp_c, humidity_pct)

    def _given_off(self, temp_c: float, humidity_pct: float, ppfd: float) -> float:
        each = transpiration(temp_c, humidity_pct, ppfd, leaf_area=self.leaf_area, air_resistance=self.air_resistance)
        return self.area_m2 * float(each)
