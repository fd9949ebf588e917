"""Curves of germination by water potential: hydrotime and hydrothermal time.

They are fitted by `science.time_to_event.fit`. Loads numpy: import it inside the function that needs it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import numpy as np

from trayward.errors import InputError
from trayward.science.counts import Counts, Floats, Kind
from trayward.science.germination_curves import (
    NEVER,
    log_logistic,
    log_logistic_time,
    middle_seen,
    normal,
    normal_back,
    part_of,
)

# Water potential ------------------------------------------------------------------------------------------------------

Base = Literal["normal", "logistic", "gumbel", "log-logistic", "weibull"]
"""How the base water potential is spread over the seeds of a lot."""


def _logistic(z: Floats) -> Floats:
    from scipy.special import expit

    return np.asarray(expit(z))


def _logit(p: Floats) -> Floats:
    return np.asarray(np.log(p) - np.log1p(-p))


def _gumbel(z: Floats) -> Floats:
    return np.asarray(np.exp(-np.exp(-np.clip(z, -700, None))))


def _gumbel_back(p: Floats) -> Floats:
    return np.asarray(-np.log(-np.log(p)))


_SPREADS: dict[str, tuple[Callable[[Floats], Floats], Callable[[Floats], Floats], bool]] = {
    "normal": (normal, normal_back, False),
    "logistic": (_logistic, _logit, False),
    "gumbel": (_gumbel, _gumbel_back, False),
    "log-logistic": (_logistic, _logit, True),
    "weibull": (_gumbel, _gumbel_back, True),
}
"""Distribution, its inverse, and whether it is taken of the logarithm above a lowest base potential."""


class Hydrotime:
    """
    Hydrotime: seeds differ in the water potential below which they do not germinate [1]_.

    P(t, psi) = F[(psi - theta / t - base) / spread]. For "log-logistic" and "weibull", F is taken of
    [ln(psi - theta / t - lowest) - ln(base - lowest)] / spread.

    Parameters: `theta` hydrotime [MPa time], `base` the base water potential of the middle seed [MPa], `spread` [MPa,
    or - for the last two], and for those `gap` = base - lowest [MPa]. The setting is the water potential. [MPa]

    References
    ----------
    .. [1] K. J. Bradford, 1990, Plant Physiology 94:840, doi 10.1104/pp.94.2.840. (As cited in the checks; not read.)
    """

    def __init__(self, base: Base = "normal") -> None:
        self.spread_of = base
        self._f, self._back, self._logs = _SPREADS[base]
        self.names: tuple[str, ...] = ("theta", "base", "spread") + (("gap",) if self._logs else ())
        self.kinds: tuple[Kind, ...] = ("positive", "free", "positive") + (("positive",) if self._logs else ())

    def share(self, values: Floats, time: Floats, setting: Floats) -> Floats:
        """Share of all seeds germinated by `time`. [-]"""
        theta, base, spread = values[:3]
        reach = setting[:, 0] - theta / np.where(time > 0, time, 1.0)
        if not self._logs:
            return np.asarray(np.where(time > 0, self._f((reach - base) / spread), 0.0))
        above = reach - (base - values[3])
        scaled = np.log(np.where(above > 0, above, 1.0) / values[3]) / spread
        return np.asarray(np.where((time > 0) & (above > 0), self._f(scaled), 0.0))

    def time(self, values: Floats, share: Floats, setting: Floats) -> Floats:
        """Time of a share of all seeds; infinite where their base potential is not exceeded. [time]"""
        theta, base, spread = values[:3]
        step = self._back(share) * spread
        needed = base - values[3] + values[3] * np.exp(step) if self._logs else base + step
        excess = setting[:, 0] - needed
        return np.asarray(np.where(excess > 0, theta / np.where(excess > 0, excess, 1.0), NEVER))

    def starts(self, counts: Counts) -> list[list[float]]:
        """Places to begin the search at: the base about where half of the seeds of a level germinate."""
        psi = counts.setting[:, 0]
        middle, width = float(np.mean(psi)), max(float(np.ptp(psi)), 0.2)
        theta = middle_seen(counts) * width / 2
        tail = [[0.3, 0.5 * width], [0.3, 2 * width]] if self._logs else [[0.25 * width]]
        return [[theta, middle - shift * width, *end] for shift in (0.0, 0.3, 1.0) for end in tail]


class HydrotimeLogLogistic:
    """
    Log-logistic time whose final share and rate rise with the water potential.

    final = ceiling * [1 - exp(-(psi - base) / spread)], 1 / median = (psi - base) / theta, both nought up to the base.

    Parameters: `ceiling` [-], `base` [MPa], `spread` [MPa], `theta` [MPa time], `slope` [-]. The setting is the water
    potential. [MPa] The form is that of the fits printed with the rape data (A. Onofri, seed germination tutorial).
    """

    names = ("ceiling", "base", "spread", "theta", "slope")
    kinds: tuple[Kind, ...] = ("share", "free", "positive", "positive", "positive")

    def _final_and_rate(self, values: Floats, setting: Floats) -> tuple[Floats, Floats]:
        ceiling, base, spread, theta, _ = values
        above = np.maximum(setting[:, 0] - base, 0.0)
        return -ceiling * np.expm1(-above / spread), above / theta

    def share(self, values: Floats, time: Floats, setting: Floats) -> Floats:
        """Share of all seeds germinated by `time`. [-]"""
        final, rate = self._final_and_rate(values, setting)
        return final * log_logistic(time, rate, values[4])

    def time(self, values: Floats, share: Floats, setting: Floats) -> Floats:
        """Time of a share of all seeds; infinite where it is not reached. [time]"""
        final, rate = self._final_and_rate(values, setting)
        return log_logistic_time(part_of(share, final), rate, values[4])

    def starts(self, counts: Counts) -> list[list[float]]:
        """Places to begin the search at."""
        psi = counts.setting[:, 0]
        sprouted = psi[np.isfinite(counts.end) & (counts.seeds > 0)]
        lowest, width = float(sprouted.min()), max(float(np.ptp(psi)), 0.2)
        theta = middle_seen(counts) * width / 2
        return [[0.95, lowest - shift * width, 0.1 * width, theta, 4.0] for shift in (0.02, 0.1, 0.3)]


class HydrothermalTime:
    """
    Log-logistic time by water potential and temperature together.

    With above = psi - base - warmth * (T - cold): final = ceiling * [1 - exp(-above / spread)], 1 / median = above *
    (T - cold) / theta; nothing germinates at or below `cold`.

    Parameters: `ceiling` [-], `base` [MPa], `warmth` [MPa/°C], `cold` the base temperature [°C], `spread` [MPa],
    `theta` [MPa °C time], `slope` [-]. The setting is water potential [MPa] and temperature [°C]. The model is that of
    Mesgaran et al. (2017), Ecological Modelling 351:87, as coded in the drcSeedGerm package; the paper was not read.
    """

    names = ("ceiling", "base", "warmth", "cold", "spread", "theta", "slope")
    kinds: tuple[Kind, ...] = ("share", "free", "free", "free", "positive", "positive", "positive")

    def final_and_rate(self, values: Floats, setting: Floats) -> tuple[Floats, Floats]:
        """Final share [-] and rate of the median seed [1/time] at each setting."""
        ceiling, base, warmth, cold, spread, theta, _ = values
        warm = np.maximum(setting[:, 1] - cold, 0.0)
        above = np.where(warm > 0, np.maximum(setting[:, 0] - base - warmth * warm, 0.0), 0.0)
        return -ceiling * np.expm1(-above / spread), above * warm / theta

    def share(self, values: Floats, time: Floats, setting: Floats) -> Floats:
        """Share of all seeds germinated by `time`. [-]"""
        final, rate = self.final_and_rate(values, setting)
        return final * log_logistic(time, rate, values[6])

    def time(self, values: Floats, share: Floats, setting: Floats) -> Floats:
        """Time of a share of all seeds; infinite where it is not reached. [time]"""
        final, rate = self.final_and_rate(values, setting)
        return log_logistic_time(part_of(share, final), rate, values[6])

    def starts(self, counts: Counts) -> list[list[float]]:
        """Places to begin the search at."""
        sprouted = np.isfinite(counts.end) & (counts.seeds > 0)
        dry, cool = float(counts.setting[sprouted, 0].min()), float(counts.setting[sprouted, 1].min())
        width, warm = max(float(np.ptp(counts.setting[:, 0])), 0.2), max(float(np.ptp(counts.setting[:, 1])), 2.0)
        theta = middle_seen(counts) * (width / 2 + 0.5) * (warm / 2 + 4)
        return [[0.9, dry - 0.3 * width - warm * rise, rise, cool - 5.0, 0.3, theta, 4.0] for rise in (0.0, 0.03)]


def hydrotime_by_probit(psi_mpa: Floats, time: Floats, share: Floats) -> tuple[float, float, float, float]:
    """
    Hydrotime by straight regression of the probit of cumulative shares, the older way.

    Parameters
    ----------
    psi_mpa, time, share : array_like, shape (n,)
        Water potential [MPa], time [time], share of the germinable seeds up to then [-]; rows at 0 or 1 are left out.

    Returns
    -------
    tuple of float
        Hydrotime theta [MPa time], base water potential of the middle seed [MPa], its standard deviation [MPa], R2 [-].

    Raises
    ------
    InputError
        If fewer than four usable rows are left.

    Notes
    -----
    probit(P) = (psi - theta / t - base) / spread is a straight line in psi and 1 / t, so theta comes in closed form.
    Counts of one dish follow each other, so this gives no valid errors; `Hydrotime` with `fit` does.

    References
    ----------
    .. [1] K. J. Bradford, 1990, Plant Physiology 94:840, doi 10.1104/pp.94.2.840. (As cited in the checks; not read.)
    """
    psi, times, shares = (np.asarray(each, float) for each in (psi_mpa, time, share))
    used = (shares > 0) & (shares < 1) & (times > 0)
    if used.sum() < 4:
        raise InputError("rows", int(used.sum()), "at least 4 with a share between 0 and 1 are needed")
    probit = normal_back(shares[used])
    design = np.column_stack([np.ones(used.sum()), psi[used], 1 / times[used]])
    (start, by_psi, by_rate), *_ = np.linalg.lstsq(design, probit, rcond=None)
    left = probit - design @ np.array([start, by_psi, by_rate])
    fit = 1 - float(left @ left) / float(np.sum((probit - probit.mean()) ** 2))
    return float(-by_rate / by_psi), float(-start / by_psi), float(1 / by_psi), fit
