"""Curves of germination over time: log-logistic, lognormal, and thermal time at constant temperatures.

They are fitted by `science.time_to_event.fit`. Loads numpy: import it inside the function that needs it.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from trayward.science.counts import Counts, Floats, Kind

NEVER = np.inf
"""A share that is not reached."""


def final_share(counts: Counts) -> float:
    """Share of all seeds that germinated before the last look, kept off 0 and 1. [-]"""
    return min(max(counts.germinated / counts.total, 0.02), 0.98)


def middle_seen(counts: Counts) -> float:
    """A rough time of half of the germinated seeds, from the middles of their intervals. [time]"""
    known = np.isfinite(counts.end) & (counts.seeds > 0)
    middles = (counts.start[known] + counts.end[known]) / 2
    order = np.argsort(middles)
    piled = np.cumsum(counts.seeds[known][order])
    return max(float(middles[order][np.searchsorted(piled, piled[-1] / 2)]), 1e-6)


def log_logistic(time: Floats, rate: Floats, slope: Floats | float) -> Floats:
    """Share of the germinable by `time`, where the median is 1 / `rate`; nought at a rate of nought. [-]"""
    with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
        share = 1 / (1 + (time * rate) ** -slope)
    return np.asarray(np.where((time > 0) & (rate > 0), share, 0.0))


def log_logistic_time(part: Floats, rate: Floats, slope: Floats | float) -> Floats:
    """Time of a part of the germinable; infinite where the part is not reached. [time]"""
    reached = (part > 0) & (part < 1) & (rate > 0)
    safe = np.where(reached, part, 0.5)
    time = (safe / (1 - safe)) ** (1 / slope) / np.where(rate > 0, rate, 1.0)
    return np.asarray(np.where(reached, time, NEVER))


def part_of(share: Floats, final: Floats | float) -> Floats:
    """A share of all seeds as a part of those that germinate in the end; 1 or more is never reached. [-]"""
    ends = np.broadcast_to(np.asarray(final, float), share.shape)
    return np.asarray(share / np.where(ends > 0, ends, 1e-12))


def normal(z: Floats) -> Floats:
    """The standard normal distribution function. [-]"""
    from scipy.special import ndtr

    return np.asarray(ndtr(z))


def normal_back(p: Floats) -> Floats:
    """The standard normal deviate that a share `p` of all lies below; infinite at 0 and 1. [-]"""
    from scipy.special import ndtri

    return np.asarray(ndtri(p))


class LogLogistic:
    """
    Log-logistic time with a share that never germinates: P(t) = final / [1 + (t / median)^-slope].

    Parameters: `slope` [-], `final` the share of all seeds that germinates in the end [-], `median` the time of half of
    those [time].
    """

    names = ("slope", "final", "median")
    kinds: tuple[Kind, ...] = ("positive", "share", "positive")

    def share(self, values: Floats, time: Floats, _setting: Floats) -> Floats:
        """Share of all seeds germinated by `time`. [-]"""
        slope, final, median = values
        return np.asarray(final * log_logistic(time, np.full(time.shape, 1 / median), slope))

    def time(self, values: Floats, share: Floats, _setting: Floats) -> Floats:
        """Time of a share of all seeds; infinite from `final` on. [time]"""
        slope, final, median = values
        return log_logistic_time(part_of(share, final), np.full(share.shape, 1 / median), slope)

    def starts(self, counts: Counts) -> list[list[float]]:
        """Places to begin the search at."""
        return [[slope, final_share(counts), middle_seen(counts)] for slope in (2.0, 8.0)]


class LogNormal:
    """
    Lognormal time with a share that never germinates: P(t) = final * Phi[ln(t / median) / spread].

    Parameters: `spread` the standard deviation of ln t [-], `final` [-], `median` [time].
    """

    names = ("spread", "final", "median")
    kinds: tuple[Kind, ...] = ("positive", "share", "positive")

    def share(self, values: Floats, time: Floats, _setting: Floats) -> Floats:
        """Share of all seeds germinated by `time`. [-]"""
        spread, final, median = values
        safe = np.where(time > 0, time, 1.0)
        return np.asarray(np.where(time > 0, final * normal(np.log(safe / median) / spread), 0.0))

    def time(self, values: Floats, share: Floats, _setting: Floats) -> Floats:
        """Time of a share of all seeds; infinite from `final` on. [time]"""
        spread, final, median = values
        part = part_of(share, final)
        safe = np.where(part < 1, part, 0.5)
        return np.asarray(np.where(part < 1, median * np.exp(spread * normal_back(safe)), NEVER))

    def starts(self, counts: Counts) -> list[list[float]]:
        """Places to begin the search at."""
        return [[spread, final_share(counts), middle_seen(counts)] for spread in (0.2, 0.7)]


Falling = Literal["none", "curved", "broken"]
"""When hot, the rate falls not at all, as a parabola to the ceiling, or straight from a deviation on."""


class ThermalTime:
    """
    Log-logistic time whose rate rises in a straight line above a base temperature.

    1 / median = (T - base) / theta * h(T), with h = 1 ("none"), 1 - (T - base) / (ceiling - base) ("curved"), or 1 -
    max(T - deviation, 0) / (ceiling - deviation) ("broken"). Unless "none", the final share falls towards the ceiling:
    final * [1 - exp(-(ceiling - T) / spread)]. With `widening`, 1 / slope = 1 / slope0 + widening * (T - base).

    Parameters: `final` [-], `base` [°C], `theta` [°C time], `slope` [-]; unless "none" also `ceiling` [°C] and `spread`
    [°C]; for "broken" also `deviation` [°C]; with `widening` also that [1/°C]. The setting is a constant temperature.
    [°C] The forms are those of the fits printed with the barley data (A. Onofri, seed germination tutorial).
    """

    def __init__(self, falling: Falling = "none", *, widening: bool = False) -> None:
        self.falling, self.widening = falling, widening
        hot = falling != "none"
        self.names: tuple[str, ...] = ("final", "base", "theta", "slope")
        self.names += ("ceiling", "spread") if hot else ()
        self.names += ("deviation",) if falling == "broken" else ()
        self.names += ("widening",) if widening else ()
        kinds: dict[str, Kind] = {"final": "share", "theta": "positive", "slope": "positive", "spread": "positive"}
        self.kinds: tuple[Kind, ...] = tuple(kinds.get(name, "free") for name in self.names)

    def _read(self, values: Floats, setting: Floats) -> tuple[Floats, Floats, Floats]:
        """Final share, rate and slope at each temperature."""
        v = dict(zip(self.names, values, strict=True))
        temp = setting[:, 0]
        above = np.maximum(temp - v["base"], 0.0)
        rate, final = above / v["theta"], np.full(temp.shape, v["final"])
        if self.falling != "none":
            hot = temp - v["base"] if self.falling == "curved" else np.maximum(temp - v["deviation"], 0.0)
            width = v["ceiling"] - (v["base"] if self.falling == "curved" else v["deviation"])
            rate = rate * np.maximum(1 - hot / max(width, 1e-9), 0.0)
            final = final * np.maximum(-np.expm1(-np.maximum(v["ceiling"] - temp, 0.0) / v["spread"]), 0.0)
        slope = np.full(temp.shape, v["slope"])
        if self.widening:
            slope = 1 / np.maximum(1 / slope + v["widening"] * above, 1e-6)
        return np.minimum(final, 1.0), rate, slope

    def share(self, values: Floats, time: Floats, setting: Floats) -> Floats:
        """Share of all seeds germinated by `time`. [-]"""
        final, rate, slope = self._read(values, setting)
        return final * log_logistic(time, rate, slope)

    def time(self, values: Floats, share: Floats, setting: Floats) -> Floats:
        """Time of a share of all seeds; infinite where it is not reached. [time]"""
        final, rate, slope = self._read(values, setting)
        return log_logistic_time(part_of(share, final), rate, slope)

    def starts(self, counts: Counts) -> list[list[float]]:
        """Places to begin the search at."""
        sprouted = np.isfinite(counts.end) & (counts.seeds > 0)
        low, high = float(counts.setting[sprouted].min()), float(counts.setting[sprouted].max())
        theta = middle_seen(counts) * (high - low + 2) / 2
        found = []
        for base in (low - 1.0, low - 4.0):
            for ceiling in (high + 1.0, high + 10.0, high + 40.0) if self.falling != "none" else (high,):
                guess = {"final": 0.95, "base": base, "theta": theta, "slope": 4.0, "ceiling": ceiling}
                guess |= {"spread": 5.0, "deviation": (low + 2 * high) / 3, "widening": 0.0}
                found.append([guess[name] for name in self.names])
        return found
