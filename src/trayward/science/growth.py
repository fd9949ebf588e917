"""How temperature sets the pace: rates straight above a base temperature, and thermal time."""

from __future__ import annotations

import math

from trayward.errors import InputError, require_between

LINEAR_TO_C = 25.0
"""Up to here the rate of emergence rises in a straight line; beyond it more warmth is not counted. [°C]

Source: `source("harrington1954")`: R2 0.96 to 1.00 up to about 25 °C for eleven vegetable crops.
"""


def degrees_above(temp_c: float, base_c: float) -> float:
    """
    Degrees that count: above the base, and no more than the straight part of the line gives.

    Parameters
    ----------
    temp_c : float
        Temperature. [°C] Valid -20 to 60.
    base_c : float
        Temperature below which nothing moves. [°C] Valid -10 to 20.

    Returns
    -------
    float
        Degrees, from 0 to 25 °C less the base. [°C]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Examples
    --------
    >>> degrees_above(21.0, 3.0), degrees_above(30.0, 3.0), degrees_above(1.0, 3.0)
    (18.0, 22.0, 0.0)
    """
    require_between("temp_c", temp_c, -20, 60, "°C", "If this is Fahrenheit, convert first.")
    require_between("base_c", base_c, -10, 20, "°C", "If this is Fahrenheit, convert first.")
    return max(min(temp_c, LINEAR_TO_C) - base_c, 0.0)


def days_to_emergence(temp_c: float, base_c: float, thermal_time_c_d: float) -> float:
    """
    Days from sowing until seedlings show, at a steady temperature.

    Parameters
    ----------
    temp_c : float
        Temperature at the seed. [°C] Valid -20 to 60.
    base_c : float
        Temperature below which nothing moves. [°C] Valid -10 to 20.
    thermal_time_c_d : float
        Thermal time above the base until emergence. [°C d] Valid above 0.

    Returns
    -------
    float
        Days; infinite at or below the base. [d]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Notes
    -----
    days = thermal time / (T - base), for T up to 25 °C; warmer counts as 25 °C. Fitted to seed sown 13 mm deep in soil
    [1]_: a root tip on a wet mat shows earlier.

    References
    ----------
    .. [1] J. F. Harrington and P. A. Minges, "Vegetable Seed Germination", California Agricultural Extension mimeo
       leaflet, 1954. (Seen as reprinted in a teaching manual.)

    Examples
    --------
    >>> round(days_to_emergence(20.0, 1.5, 85.0), 1)
    4.6
    """
    if not 0 < thermal_time_c_d < math.inf:
        raise InputError("thermal_time_c_d", f"{thermal_time_c_d:g}", "must be above zero", "", "°C d")
    degrees = degrees_above(temp_c, base_c)
    return thermal_time_c_d / degrees if degrees > 0 else math.inf


def pace(temp_c: float, base_c: float, at_c: float) -> float:
    """
    How fast a stage runs at one temperature, against the temperature its length was given for.

    Parameters
    ----------
    temp_c : float
        Temperature of the tray. [°C] Valid -20 to 60.
    base_c : float
        Temperature below which nothing moves. [°C] Valid -10 to 20.
    at_c : float
        Temperature the known length holds at. [°C] Valid above the base.

    Returns
    -------
    float
        1 at `at_c`, 2 where the stage takes half as long, 0 at or below the base. [-]

    Raises
    ------
    InputError
        If a value is out of range or not a number, or `at_c` is not above the base.

    Notes
    -----
    Rate in proportion to the degrees above the base, up to 25 °C.

    Examples
    --------
    >>> round(pace(12.0, 3.0, 21.0), 2)
    0.5
    """
    reference = degrees_above(at_c, base_c)
    if reference <= 0:
        raise InputError("at_c", f"{at_c:g}", f"must lie above the base temperature, {base_c:g} °C", "", "°C")
    return degrees_above(temp_c, base_c) / reference


def stage_days(days: float, temp_c: float, base_c: float | None, at_c: float | None) -> float:
    """
    Length of a stage at another temperature.

    Parameters
    ----------
    days : float
        Its length at `at_c`. [d] Valid from 0.
    temp_c : float
        Temperature it will run at. [°C] Valid -20 to 60.
    base_c, at_c : float or None
        Base temperature and the temperature `days` holds at [°C]; None: unknown, the stage runs on calendar time.

    Returns
    -------
    float
        Length; infinite at or below the base. [d]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Examples
    --------
    >>> round(stage_days(3.0, 18.0, 2.6, 21.0), 2)
    3.58
    """
    if not 0 <= days < math.inf:
        raise InputError("days", f"{days:g}", "must not be below zero", "", "d")
    if base_c is None or at_c is None:
        return days
    speed = pace(temp_c, base_c, at_c)
    return days / speed if speed > 0 else math.inf


def degree_days(low_c: float, high_c: float, base_c: float) -> float:
    """
    Thermal time of one day from its lowest and highest temperature.

    Parameters
    ----------
    low_c, high_c : float
        Lowest and highest temperature of the day. [°C] Valid -20 to 60, the lowest first.
    base_c : float
        Temperature below which nothing moves. [°C]

    Returns
    -------
    float
        Thermal time of that day, never negative. [°C d]

    Raises
    ------
    InputError
        If a temperature is out of range or not a number, or the lowest is above the highest.

    Notes
    -----
    Single sine: the day is taken as one sine wave between the two temperatures, and the part above the base is
    counted [1]_. No upper limit is applied.

    References
    ----------
    .. [1] J. C. Allen, 1976, Environmental Entomology 5:388, doi 10.1093/ee/5.3.388. (As implemented and described in
       the TrenchR package reference; the paper was not read.)

    Examples
    --------
    >>> round(degree_days(7.0, 14.0, 12.0), 2)
    0.47
    """
    require_between("low_c", low_c, -20, 60, "°C", "If this is Fahrenheit, convert first.")
    require_between("high_c", high_c, low_c, 60, "°C", "The day's highest comes second.")
    middle, swing = (low_c + high_c) / 2, (high_c - low_c) / 2
    if base_c <= low_c:
        return middle - base_c
    if base_c >= high_c:
        return 0.0
    crossing = math.asin((base_c - middle) / swing)
    return ((middle - base_c) * (math.pi / 2 - crossing) + swing * math.cos(crossing)) / math.pi
