"""One room's pace as a table over time, for stages that share their temperatures; read late, for it needs numpy."""

from __future__ import annotations

from bisect import bisect_right

import numpy as np
from numpy.typing import NDArray

from trayward.science.growth import LINEAR_TO_C, pace

Floats = NDArray[np.float64]

DAY_S = 86400.0
STRAIGHT_S = 36 * 3600.0
"""Readings no further apart are joined by a straight line: one a day, with a late morning, still is. Ours. [s]"""
LOOK_BACK_S = 7 * DAY_S
"""Over a gap the mean pace of so long before it holds. Ours. [s]"""


class Warmth:
    """
    Standard days since the first reading, as a function of time.

    Parameters
    ----------
    times : array
        Where pieces of the table begin (n,), rising. [s since 1970]
    begin, end : array
        Pace at the beginning and at the end of each piece (n,), straight in between [-]; the last piece never ends.
    done : array
        Standard days at the beginning of each piece (n,). [d]
    """

    def __init__(self, times: Floats, begin: Floats, end: Floats, done: Floats) -> None:
        self._times, self._begin, self._done = times, begin, done
        self._slope = np.append((end[:-1] - begin[:-1]) / np.diff(times), 0.0)
        # Lists: a single look-up with bisect is many times faster than with numpy.
        self._lists: tuple[list[float], ...] = (times.tolist(), begin.tolist(), self._slope.tolist(), done.tolist())

    def standard(self, moment: float) -> float:
        """Standard days at one moment [s since 1970]; before the first reading time passes at pace 1. [d]"""
        times, begin, slope, done = self._lists
        piece = bisect_right(times, moment) - 1
        if piece < 0:
            return (moment - times[0]) / DAY_S
        spent = moment - times[piece]
        return done[piece] + spent * (begin[piece] + slope[piece] * spent / 2) / DAY_S

    def standard_many(self, moments: Floats) -> Floats:
        """Standard days at many moments (m,) [s since 1970]. [d]"""
        piece = np.maximum(np.searchsorted(self._times, moments, side="right") - 1, 0)
        spent = moments - self._times[piece]
        within = spent * (self._begin[piece] + self._slope[piece] * spent / 2) / DAY_S
        return np.asarray(np.where(spent < 0, spent / DAY_S, self._done[piece] + within))

    def moments(self, standard: Floats) -> Floats:
        """The first moments (m,) at which so many standard days (m,) are done [s since 1970]; infinite where never."""
        piece = np.maximum(np.searchsorted(self._done, standard, side="left") - 1, 0)
        left = (standard - self._done[piece]) * DAY_S
        begin = self._begin[piece]
        # The root of begin x + slope x^2 / 2 = left, in the form that loses no digits where the slope is small.
        root = begin + np.sqrt(np.maximum(begin * begin + 2 * self._slope[piece] * left, 0.0))
        with np.errstate(divide="ignore", invalid="ignore"):
            spent = np.where(left > 0, 2 * left / root, np.minimum(left, 0.0))
        return np.asarray(self._times[piece] + spent)


def warmth_of(times_s: list[float], temps_c: list[float], base_c: float, at_c: float) -> Warmth:
    """
    The table of one room from its readings.

    Parameters
    ----------
    times_s, temps_c : list of float
        When [s since 1970], not falling, and how warm [°C]; at least one. Readings of one moment count as their mean.
    base_c, at_c : float
        Base temperature, and the temperature the stage's length holds at. [°C]

    Returns
    -------
    Warmth
        Exact for temperatures straight between readings: a line that crosses the base, or the warmth beyond which more
        does not count, is broken there, so that the pace is straight within each piece.

    Raises
    ------
    InputError
        If `at_c` is not above `base_c`, or one is out of range.
    """
    times, temps = _broken(*_one_each(np.array(times_s), np.array(temps_c)), base_c)
    paces = np.interp(temps, [base_c, LINEAR_TO_C], [0.0, pace(LINEAR_TO_C, base_c, at_c)])
    begin, end = paces.copy(), np.append(paces[1:], paces[-1])
    steps = np.append(np.diff(times) * (begin[:-1] + end[:-1]) / 2 / DAY_S, 0.0)
    gaps = np.flatnonzero(np.diff(times) > STRAIGHT_S)
    done = np.zeros_like(times)
    last = 0
    for piece in [*gaps.tolist(), len(times) - 1]:
        done[last : piece + 1] = done[last] + np.append(0.0, np.cumsum(steps[last:piece]))
        held = _mean_before(times, begin, end, done, piece)
        begin[piece] = end[piece] = held
        if piece + 1 < len(times):
            done[piece + 1] = done[piece] + held * (times[piece + 1] - times[piece]) / DAY_S
            last = piece + 1
    return Warmth(times, begin, end, done)


def _one_each(times: Floats, temps: Floats) -> tuple[Floats, Floats]:
    """One temperature a moment: the mean of those read at it."""
    once, which, count = np.unique(times, return_inverse=True, return_counts=True)
    return once, np.bincount(which, weights=temps) / count


def _broken(times: Floats, temps: Floats, base_c: float) -> tuple[Floats, Floats]:
    """Readings, with one more wherever the line between two crosses a temperature at which the pace bends."""
    for bend in (base_c, LINEAR_TO_C):
        before, after, span = temps[:-1] - bend, temps[1:] - bend, np.diff(times)
        crossing = np.flatnonzero((before * after < 0) & (span <= STRAIGHT_S))
        share = before[crossing] / (before[crossing] - after[crossing])
        times = np.insert(times, crossing + 1, times[crossing] + share * span[crossing])
        temps = np.insert(temps, crossing + 1, bend)
        apart = np.append(True, np.diff(times) > 0)  # a crossing may round onto its neighbour
        times, temps = times[apart], temps[apart]
    return times, temps


def _mean_before(times: Floats, begin: Floats, end: Floats, done: Floats, piece: int) -> float:
    """Mean pace of the last days before a piece begins, as far as there were readings; else the pace at it. [-]"""
    if piece == 0:
        return float(begin[0])
    until = float(times[piece])
    since = max(float(times[0]), until - LOOK_BACK_S)
    first = int(np.searchsorted(times, since, side="right")) - 1
    spent = since - times[first]
    slope = (end[first] - begin[first]) / (times[first + 1] - times[first])
    done_since = done[first] + spent * (begin[first] + slope * spent / 2) / DAY_S
    return float(done[piece] - done_since) / ((until - since) / DAY_S)
