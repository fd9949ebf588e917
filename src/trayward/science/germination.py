"""Figures that sum up one germination test: mean and middle time, speed, evenness, and a curve through the counts.

All take the seeds newly germinated at each look. They treat a look as the moment of germination; a fit that knows
better, with valid errors, is `science.time_to_event.fit`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import accumulate
from typing import Literal

import msgspec

from trayward.errors import InputError

Convention = Literal["coolbear", "farooq"]
"""Which seed is the middle one of N: number (N + 1) / 2 ("coolbear") or N / 2 ("farooq")."""


def _checked(times: Sequence[float], counts: Sequence[float]) -> tuple[list[float], list[float]]:
    """Looks and counts as numbers, in order and sane."""
    if len(times) != len(counts):
        raise InputError("looks", len(times), f"must be as many as counts, {len(counts)}")
    if not all(0 < first < second for first, second in zip(times, [*times[1:], math.inf], strict=True)):
        raise InputError("looks", "out of order", "must rise, the first above 0", "Give each look's time from sowing.")
    if not all(0 <= count < math.inf for count in counts) or sum(counts) <= 0:
        raise InputError("counts", f"{sum(counts):g}", "must be 0 or more each, and some seed must have germinated")
    return [float(time) for time in times], [float(count) for count in counts]


def germination_share(counts: Sequence[float], seeds: float) -> float:
    """
    Share of all seeds that germinated.

    Examples
    --------
    >>> germination_share([4, 17, 10, 7, 1, 0, 1], 50)
    0.8
    """
    if not 0 < seeds < math.inf or not 0 <= sum(counts) <= seeds:
        raise InputError("seeds", f"{seeds:g}", f"must be at least as many as germinated, {sum(counts):g}")
    return sum(counts) / seeds


def middle_time(times: Sequence[float], counts: Sequence[float], convention: Convention = "coolbear") -> float:
    """
    Time of half of the *germinated* seeds (often called T50), in a straight line between looks.

    Parameters
    ----------
    times, counts : sequence of float, length n
        Looks [time] and seeds newly germinated at each [-].
    convention : {"coolbear", "farooq"}
        Which seed is the middle one; say which when telling the figure.

    Returns
    -------
    float
        Time. [time]

    Notes
    -----
    Both conventions as in the germinationmetrics package [1]_.

    References
    ----------
    .. [1] J. Aravind and others, germinationmetrics (R package), doi 10.5281/zenodo.1219630.

    Examples
    --------
    >>> round(middle_time(range(5, 12), [4, 17, 10, 7, 1, 0, 1]), 4)
    5.9706
    >>> round(middle_time(range(5, 12), [4, 17, 10, 7, 1, 0, 1], "farooq"), 4)
    5.9412
    """
    looks, fresh = _checked(times, counts)
    wanted = (sum(fresh) + 1) / 2 if convention == "coolbear" else sum(fresh) / 2
    before, since = 0.0, 0.0
    for look, piled in zip(looks, accumulate(fresh), strict=True):
        if piled >= wanted:
            return since + (wanted - before) / (piled - before) * (look - since)
        before, since = piled, look
    return looks[-1]


def mean_time(times: Sequence[float], counts: Sequence[float]) -> float:
    """Mean time of the germinated seeds. [time]"""
    looks, fresh = _checked(times, counts)
    return sum(time * count for time, count in zip(looks, fresh, strict=True)) / sum(fresh)


def time_variance(times: Sequence[float], counts: Sequence[float]) -> float:
    """Variance of the germination time, with one off the number of seeds; needs two germinated seeds. [time²]"""
    looks, fresh = _checked(times, counts)
    if sum(fresh) <= 1:
        raise InputError("counts", f"{sum(fresh):g}", "a variance needs more than one germinated seed")
    return _about_mean(looks, fresh) / (sum(fresh) - 1)


def _about_mean(looks: list[float], fresh: list[float]) -> float:
    middle = mean_time(looks, fresh)
    return sum(count * (time - middle) ** 2 for time, count in zip(looks, fresh, strict=True))


def mean_time_error(times: Sequence[float], counts: Sequence[float]) -> float:
    """Standard error of the mean germination time, as if every seed stood alone. [time]"""
    return math.sqrt(time_variance(times, counts) / sum(counts))


def time_variation(times: Sequence[float], counts: Sequence[float]) -> float:
    """Coefficient of variation of the germination time. [-]"""
    return math.sqrt(time_variance(times, counts)) / mean_time(times, counts)


def speed(times: Sequence[float], counts: Sequence[float]) -> float:
    """Germination speed: seeds newly germinated over their time, summed (give per cent for per cent). [1/time]"""
    looks, fresh = _checked(times, counts)
    return sum(count / time for time, count in zip(looks, fresh, strict=True))


def speed_piled(times: Sequence[float], counts: Sequence[float]) -> float:
    """Accumulated germination speed: seeds germinated up to each look over its time, summed. [1/time]"""
    looks, fresh = _checked(times, counts)
    return sum(piled / time for time, piled in zip(looks, accumulate(fresh), strict=True))


def synchrony(counts: Sequence[float]) -> float:
    """Synchrony Z: the chance that two germinated seeds did so by the same look; 1 when all did at once. [-]"""
    total = sum(counts)
    if total < 2:
        raise InputError("counts", f"{total:g}", "synchrony needs two germinated seeds")
    return sum(count * (count - 1) for count in counts) / (total * (total - 1))


def uncertainty(counts: Sequence[float]) -> float:
    """Uncertainty U: how spread out over the looks germination was; 0 when all at once. [bits]"""
    total = sum(counts)
    if total <= 0:
        raise InputError("counts", f"{total:g}", "some seed must have germinated")
    return -sum(count / total * math.log2(count / total) for count in counts if count > 0)


def velocity(times: Sequence[float], counts: Sequence[float]) -> float:
    """Coefficient of velocity of germination: one over the mean time, in per cent. [%/time]"""
    return 100 / mean_time(times, counts)


def weighted_percent(counts: Sequence[float], seeds: float) -> float:
    """Weighted germination: of n evenly spaced looks the first counts n, the last 1; 100 if all at the first. [%]"""
    germination_share(counts, seeds)
    looks = len(counts)
    return 100 * sum((looks - place) * count for place, count in enumerate(counts)) / (looks * seeds)


def uniformity(times: Sequence[float], counts: Sequence[float]) -> float:
    """Coefficient of uniformity: seeds over their summed squared distance from the mean time. [1/time²]"""
    looks, fresh = _checked(times, counts)
    spread = _about_mean(looks, fresh)
    return sum(fresh) / spread if spread > 0 else math.inf


class HillCurve(msgspec.Struct, frozen=True, kw_only=True):
    """
    A Hill curve through the cumulative germination: share(t) = final * t^slope / (middle^slope + t^slope).

    `final` share of all seeds [-], `slope` [-], `middle` the time of half of the germinated [time].
    """

    final: float
    slope: float
    middle: float

    def time_of_germinated(self, share: float) -> float:
        """Time of a share of the germinated seeds. [time]"""
        return float(self.middle * (share / (1 - share)) ** (1 / self.slope))

    def time_of_all(self, share: float) -> float:
        """Time of a share of all seeds sown; infinite where it is not reached. [time]"""
        return self.time_of_germinated(share / self.final) if share < self.final else math.inf

    @property
    def steepest(self) -> float:
        """Time at which germination runs fastest; 0 where it only slows. [time]"""
        return float(self.middle * (max(self.slope - 1, 0.0) / (self.slope + 1)) ** (1 / self.slope))


def hill_curve(times: Sequence[float], counts: Sequence[float], seeds: float) -> HillCurve:
    """
    Hill curve by least squares on the cumulative shares, its top held at the final share.

    Parameters
    ----------
    times, counts : sequence of float, length n
        Looks [time] and seeds newly germinated at each [-].
    seeds : float
        Seeds sown. [-]

    Returns
    -------
    HillCurve
        Its final share, slope and middle time.

    Raises
    ------
    InputError
        If nothing germinated, or fewer than three looks were made.

    Notes
    -----
    Least squares on cumulative counts ignores that they follow each other and that germination fell between looks: the
    curve describes the dish, and has no valid standard error.

    References
    ----------
    .. [1] El-Kassaby and others, 2008, Seed Science Research. (As cited in the germinationmetrics package; not read.)

    Examples
    --------
    >>> counts = [0, 0, 0, 0, 4, 17, 10, 7, 1, 0, 1, 0, 0, 0]
    >>> round(hill_curve(range(1, 15), counts, 50).middle, 3)
    6.035
    """
    looks, fresh = _checked(times, counts)
    final = germination_share(fresh, seeds)
    if len(looks) < 3:
        raise InputError("looks", len(looks), "a curve needs at least 3")
    import numpy as np
    from scipy.optimize import least_squares

    at, piled = np.array(looks), np.cumsum(fresh) / sum(fresh)

    def left(log_values: object) -> object:
        slope, middle = np.exp(np.clip(np.asarray(log_values), -20, 20))
        return 1 / (1 + (at / middle) ** -slope) - piled

    with np.errstate(over="ignore"):
        found = least_squares(left, [math.log(5.0), math.log(middle_time(looks, fresh))], xtol=1e-14, ftol=1e-14)
    slope, middle = (float(value) for value in np.exp(found.x))
    return HillCurve(final=final, slope=slope, middle=middle)
