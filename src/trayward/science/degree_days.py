"""Thermal time: of a day by its extremes, of a day and night schedule, of a temperature log with its gaps.

Loads numpy only for a log, inside the function.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import msgspec

from trayward.errors import InputError, require_between
from trayward.science.growth import LINEAR_TO_C, degrees_above

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

HOURS_A_DAY = 24.0
FAHRENHEIT = "If this is Fahrenheit, convert first."


def degree_days_triangle(low_c: float, high_c: float, base_c: float) -> float:
    """
    Thermal time of one day from its lowest and highest temperature, straight up and straight down between them.

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
    Single triangle; no upper limit is applied. `science.growth.degree_days` takes a sine wave [1]_.

    References
    ----------
    .. [1] TrenchR package reference, degree_days(), Buckley and others. (Seen.)

    Examples
    --------
    >>> round(degree_days_triangle(7.0, 14.0, 12.0), 2)
    0.29
    """
    require_between("low_c", low_c, -20, 60, "°C", FAHRENHEIT)
    require_between("high_c", high_c, low_c, 60, "°C", "The day's highest comes second.")
    if base_c <= low_c:
        return (low_c + high_c) / 2 - base_c
    if base_c >= high_c:
        return 0.0
    return (high_c - base_c) ** 2 / (2 * (high_c - low_c))


def degree_days_mean(mean_c: float, base_c: float) -> float:
    """
    Thermal time of one day from its mean temperature.

    Parameters
    ----------
    mean_c, base_c : float
        Mean of the day, and the temperature below which nothing moves. [°C] Valid -20 to 60.

    Returns
    -------
    float
        Thermal time of that day, never negative. [°C d] Too little where the day crosses the base.

    Raises
    ------
    InputError
        If a temperature is out of range or not a number.

    Notes
    -----
    In Fahrenheit the same day has 9/5 as many degree-days; no 32 is taken off [1]_.

    References
    ----------
    .. [1] University of California IPM, "A simple way to calculate degree-days". (Seen second hand.)

    Examples
    --------
    >>> degree_days_mean(21.0, 5.0)
    16.0
    """
    require_between("mean_c", mean_c, -20, 60, "°C", FAHRENHEIT)
    require_between("base_c", base_c, -20, 60, "°C", FAHRENHEIT)
    return max(mean_c - base_c, 0.0)


class Days(msgspec.Struct, frozen=True, kw_only=True):
    """A shelf's day: so many hours at one temperature, the rest at another. [°C], [h]"""

    day_c: float
    night_c: float
    day_hours: float = 16.0

    @classmethod
    def steady(cls, temp_c: float) -> Days:
        """The same by day and by night. [°C]"""
        return cls(day_c=temp_c, night_c=temp_c)

    @property
    def mean_c(self) -> float:
        """Mean temperature. [°C]"""
        share = self.day_hours / HOURS_A_DAY
        return share * self.day_c + (1 - share) * self.night_c


def degrees_of_day(days: Days, base_c: float) -> float:
    """
    Thermal time that a day of a schedule brings.

    Parameters
    ----------
    days : Days
        Temperatures by day and by night [°C, valid -20 to 60] and the hours of day [h, valid 0 to 24].
    base_c : float
        Temperature below which nothing moves. [°C] Valid -10 to 20.

    Returns
    -------
    float
        Thermal time a day, day and night each counted above the base and up to 25 °C. [°C d/d]

    Raises
    ------
    InputError
        If a value is out of range or not a number.

    Examples
    --------
    >>> degrees_of_day(Days(day_c=22.0, night_c=16.0, day_hours=16.0), 4.0)
    16.0
    """
    require_between("day_hours", days.day_hours, 0, HOURS_A_DAY, "h", "Hours of day out of 24.")
    share = days.day_hours / HOURS_A_DAY
    return share * degrees_above(days.day_c, base_c) + (1 - share) * degrees_above(days.night_c, base_c)


# A log ----------------------------------------------------------------------------------------------------------------


class LogWarmth(msgspec.Struct, frozen=True, kw_only=True):
    """
    Thermal time of a log.

    `hours` (n,) and `piled` (n,): when each reading was taken [h] and the thermal time up to it [°C d], with nothing
    counted across gaps. `gaps` (m, 2): from and to [h]. `gap_c_d`: what the gaps would bring, the temperature straight
    between their ends. [°C d]
    """

    hours: Any
    piled: Any
    gaps: Any
    gap_c_d: float

    @property
    def total_c_d(self) -> float:
        """Thermal time of all that was logged. [°C d]"""
        return float(self.piled[-1])

    @property
    def logged_h(self) -> float:
        """Time that was logged, gaps left out. [h]"""
        gaps = float((self.gaps[:, 1] - self.gaps[:, 0]).sum())
        return float(self.hours[-1] - self.hours[0]) - gaps

    def reached_h(self, thermal_time_c_d: float) -> float:
        """When so much was reached [h], straight between readings; infinite where it was not."""
        import numpy as np

        if thermal_time_c_d > self.total_c_d:
            return math.inf
        place = int(np.searchsorted(self.piled, thermal_time_c_d))
        if place == 0:
            return float(self.hours[0])
        before, after = float(self.piled[place - 1]), float(self.piled[place])
        share = (thermal_time_c_d - before) / (after - before)
        return float(self.hours[place - 1] + share * (self.hours[place] - self.hours[place - 1]))


def thermal_time_of_log(
    hours: ArrayLike, temps_c: ArrayLike, base_c: float, *, top_c: float = LINEAR_TO_C, gap_h: float = 6.0
) -> LogWarmth:
    """
    Thermal time of a temperature log, exact for temperatures that run straight between readings.

    Parameters
    ----------
    hours : array_like, shape (n,)
        When each was read, rising, at any steps. [h]
    temps_c : array_like, shape (n,)
        What was read. [°C] Valid -20 to 60.
    base_c : float
        Temperature below which nothing moves. [°C] Valid -10 to 20.
    top_c : float
        Beyond it more warmth is not counted. [°C] Above the base.
    gap_h : float
        A longer step between readings is a gap: it is named, not counted. [h] Valid above 0.

    Returns
    -------
    LogWarmth
        Thermal time up to each reading, and the gaps.

    Raises
    ------
    InputError
        If there are fewer than two readings, they do not rise in time, or a value is out of range.

    Examples
    --------
    >>> log = thermal_time_of_log([0, 12, 24], [10.0, 20.0, 10.0], 15.0, gap_h=12)
    >>> log.total_c_d, log.reached_h(0.625)
    (1.25, 12.0)
    """
    import numpy as np

    at, temps = _checked_log(hours, temps_c)
    require_between("base_c", base_c, -10, 20, "°C", FAHRENHEIT)
    require_between("top_c", top_c, base_c + 0.1, 60, "°C", "It must lie above the base.")
    require_between("gap_h", gap_h, 1e-6, 1e6, "h")
    steps = np.diff(at)
    parts = _mean_above(temps[:-1], temps[1:], base_c, top_c) * steps / HOURS_A_DAY
    wide = steps > gap_h
    piled = np.concatenate([[0.0], np.cumsum(np.where(wide, 0.0, parts))])
    gaps = np.column_stack([at[:-1][wide], at[1:][wide]])
    return LogWarmth(hours=at, piled=piled, gaps=gaps, gap_c_d=float(parts[wide].sum()))


def _checked_log(hours: ArrayLike, temps_c: ArrayLike) -> tuple[Floats, Floats]:
    import numpy as np

    at, temps = np.asarray(hours, float).ravel(), np.asarray(temps_c, float).ravel()
    if len(at) != len(temps) or len(at) < 2:
        raise InputError("readings", len(temps), "there must be two or more, each with its time", "Log for longer.")
    falls = ~(np.diff(at) > 0)
    if falls.any():
        place = int(np.argmax(falls)) + 1
        raise InputError(f"hours[{place}]", f"{at[place]:g}", "must come after the one before", "Sort the log.", "h")
    outside = ~((temps >= -20) & (temps <= 60))
    if outside.any():
        place = int(np.argmax(outside))
        rule = "must lie in [-20, 60] °C"
        raise InputError(f"temps_c[{place}]", f"{temps[place]:g}", rule, f"Drop the reading. {FAHRENHEIT}", "°C")
    return at, temps


def _mean_above(first: Floats, last: Floats, base_c: float, top_c: float) -> Floats:
    """Mean of the degrees that count along straight lines: the difference of their sum, over the difference."""
    import numpy as np

    def summed(temp: Floats) -> Floats:
        rising = np.clip(temp, base_c, top_c) - base_c
        return np.asarray(rising * rising / 2 + (top_c - base_c) * np.maximum(temp - top_c, 0.0))

    change = last - first
    flat = np.abs(change) < 1e-4
    middle = np.clip((first + last) / 2, base_c, top_c) - base_c
    return np.where(flat, middle, (summed(last) - summed(first)) / np.where(flat, 1.0, change))


def mean_of_log(hours: Sequence[float], temps_c: Sequence[float]) -> float:
    """Mean temperature of a log over its time, straight between readings. [°C]"""
    import numpy as np

    at, temps = _checked_log(hours, temps_c)
    return float(np.sum((temps[1:] + temps[:-1]) / 2 * np.diff(at)) / (at[-1] - at[0]))
