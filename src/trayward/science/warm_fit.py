"""Base temperature and thermal time of a stage, from looks at trays that stood at different temperatures.

Loads numpy and scipy: import it inside the function that needs it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import msgspec
import numpy as np

from trayward.errors import InputError, require_between
from trayward.science.counts import Counts, counted
from trayward.science.germination_curves import ThermalTime
from trayward.science.growth import LINEAR_TO_C
from trayward.science.likelihood import Search
from trayward.science.time_to_event import fit, minus_2_log_likelihood

SHARE = 0.8
"""What an interval is meant to hold: 8 in 10."""
LOWEST_BASE_C = -10.0
STEEPEST = 40.0
"""Trays of a crop differ by some 4.5 % or more in their time, however alike they look: our choice. [-]"""
WIDEST_C = 10.0
"""A base that is known no better than this is not known: our choice. [°C]"""
FEWEST = 6
"""Fewer trays say nothing of how much trays differ, and so not how far the rest may be trusted: our choice. [-]"""
APART_C = 3.0
"""Shelves to try must differ by so much: our choice. [°C]"""
_STEP_C = 1.0


class WarmLook(msgspec.Struct, frozen=True, kw_only=True):
    """
    Trays that ended a stage between two looks, at one mean temperature.

    `low_d`: at that look it had not ended [d]. `high_d`: at this one it had; infinite where nobody saw it end. [d]
    """

    temp_c: float
    low_d: float
    high_d: float
    trays: float = 1.0


class Bounds(msgspec.Struct, frozen=True, kw_only=True):
    """A figure and what 8 in 10 such intervals hold; None where the looks set no bound on that side."""

    value: float
    low: float | None
    high: float | None


class WarmFit(msgspec.Struct, frozen=True, kw_only=True):
    """
    A fitted base temperature and thermal time.

    `base` [°C] and `theta` [°C d] with what is known of them; `slope`: how alike trays are [-]. `told`: whether the
    looks tell one from the other. `why`: where they do not, what is missing, in words.
    """

    base: Bounds
    theta: Bounds
    slope: float
    trays: float
    ended: float
    told: bool
    why: str
    minus_2_log_likelihood: float

    def days(self, temp_c: float) -> float:
        """Days of the middle tray at a steady temperature; infinite at and below the base. [d]"""
        above = min(temp_c, LINEAR_TO_C) - self.base.value
        return self.theta.value / above if above > 0 else math.inf


def fit_warmth(looks: Sequence[WarmLook], *, base_c: float | None = None) -> WarmFit:
    """
    Base temperature and thermal time by maximum likelihood, each stage known only to end between two looks.

    Parameters
    ----------
    looks : sequence of WarmLook
        At least one tray must have ended its stage.
    base_c : float, optional
        A base held as known; only the thermal time is then fitted. [°C]

    Returns
    -------
    WarmFit
        Figures with intervals by profile likelihood, and whether the looks can tell them.

    Raises
    ------
    InputError
        If no stage ended, or a look is out of range or backwards.

    Notes
    -----
    1 / median days = (T - base) / theta, log-logistic between trays, warmth beyond 25 °C not counted [1]_. Every look
    is an interval, as in `science.time_to_event.fit`. A base and a thermal time trade off against each other: where
    trays stood at much the same temperature the likelihood has a ridge, and no search finds what is not there. Then
    `told` is false, and the figures are not to be used.

    References
    ----------
    .. [1] A. Onofri, P. Benincasa, M. B. Mesgaran and C. Ritz, 2018, European Journal of Agronomy 101:129,
       doi 10.1016/j.eja.2018.08.011. (Its method as described in the notes of open data; the paper was not read.)

    Examples
    --------
    >>> days = [(t, 60 / (t - 3)) for t in (12, 18, 24)]
    >>> looks = [WarmLook(temp_c=t, low_d=day - 0.2, high_d=day + 0.2, trays=2) for t, day in days]
    >>> found = fit_warmth(looks)
    >>> found.told, round(found.base.value), round(found.theta.value)
    (True, 3, 60)
    """
    counts = _counts(looks)
    fixed = {"final": 1.0} | ({"base": base_c} if base_c is not None else {})
    if base_c is not None:
        require_between("base_c", base_c, LOWEST_BASE_C, 20, "°C", "If this is Fahrenheit, convert first.")
    values, least = _fitted(counts, fixed)
    best = (values, least)
    coolest = float(counts.setting[np.isfinite(counts.end)].min())
    if base_c is not None:
        base, told, why = Bounds(value=base_c, low=base_c, high=base_c), True, ""
    else:
        base = _interval(counts, best, fixed, "base", lambda value: LOWEST_BASE_C <= value <= min(20.0, coolest - 0.2))
        told, why = _judged(base, counts)
    theta = Bounds(value=values["theta"], low=None, high=None)
    if told:
        theta = _interval(counts, best, fixed, "theta", lambda value: 0 < value < 5000)
    return WarmFit(
        base=base,
        theta=theta,
        slope=values["slope"],
        trays=counts.total,
        ended=counts.germinated,
        told=told,
        why=why,
        minus_2_log_likelihood=least,
    )


def _counts(looks: Sequence[WarmLook]) -> Counts:
    if not any(math.isfinite(look.high_d) for look in looks):
        raise InputError("looks", len(looks), "in one at least the stage must have ended", "Look again later.")
    for place, look in enumerate(looks):
        require_between(f"temp_c[{place}]", look.temp_c, -20, 60, "°C", "If this is Fahrenheit, convert first.")
        if not 0 <= look.low_d < look.high_d:
            rule = "the stage must end after the last look that said not yet"
            raise InputError(f"looks[{place}]", f"{look.low_d:g} to {look.high_d:g}", rule, "Were they swapped?", "d")
    return counted(
        [look.low_d for look in looks],
        [look.high_d for look in looks],
        [look.trays for look in looks],
        setting=[min(look.temp_c, LINEAR_TO_C) for look in looks],
    )


class _Stage(ThermalTime):
    """The same law, sought from where the looks themselves put it: far off, the likelihood is a plain without slope."""

    def __init__(self, held: Mapping[str, float]) -> None:
        super().__init__()
        self._held = held

    def starts(self, counts: Counts) -> list[list[float]]:
        """Places to begin the search at: through the middles of the looks, at some bases."""
        ended = np.isfinite(counts.end) & (counts.seeds > 0)
        middle, temp = (counts.start[ended] + counts.end[ended]) / 2, counts.setting[ended, 0]
        if "theta" in self._held:
            bases = [float(np.median(temp - self._held["theta"] / middle))]
        else:
            lowest = float(temp.min())
            bases = [self._held["base"]] if "base" in self._held else [lowest - 2.0, lowest - 8.0, lowest - 16.0]
        found = []
        for base in bases:
            theta = self._held.get("theta", float(np.median(middle * np.maximum(temp - base, 0.1))))
            found += [[1.0, base, theta, self._held.get("slope", slope)] for slope in (8.0,)]
        return found


def _fitted(counts: Counts, fixed: dict[str, float]) -> tuple[dict[str, float], float]:
    """The best values, and -2 log likelihood there.

    Where looks are too coarse to see trays differ, with as much difference as living things have.
    """
    curve = _Stage(fixed)
    if set(curve.names) == set(fixed):
        return fixed, minus_2_log_likelihood(curve, counts, fixed)
    found = fit(curve, counts, fixed=fixed)
    if found.values["slope"] > STEEPEST:
        return _fitted(counts, {**fixed, "slope": STEEPEST})
    return found.values, found.minus_2_log_likelihood


def _interval(
    counts: Counts,
    best: tuple[dict[str, float], float],
    fixed: dict[str, float],
    name: str,
    allowed: Callable[[float], bool],
) -> Bounds:
    """Where -2 log likelihood, best over all else, has risen enough; None on a side where it never does."""
    middle, enough = best[0][name], _enough(counts.germinated, 3 - ("base" in fixed))

    def risen(value: float) -> float:
        return _least(counts, {**fixed, name: value}, best[0]) - best[1] - enough

    step = _STEP_C if name == "base" else max(0.05 * middle, 0.1)
    low, high = (_crossing(risen, middle, sign * step, allowed) for sign in (-1.0, 1.0))
    return Bounds(value=middle, low=low, high=high)


def _least(counts: Counts, held: dict[str, float], near: Mapping[str, float]) -> float:
    """The least -2 log likelihood with some parameters held: one simplex from near by does, for one bound."""
    from scipy.optimize import minimize

    curve = _Stage(held)
    free = [name for name in curve.names if name not in held]
    if not free:
        return minus_2_log_likelihood(curve, counts, held)
    search, guess = Search(curve, counts, held), _moved(counts, held, near)
    start = [guess[name] if name == "base" else math.log(guess[name]) for name in free]
    found = minimize(search.loss, start, method="Nelder-Mead", options=_ROUGH)
    if "slope" in free and search.natural(found.x)[curve.names.index("slope")] > STEEPEST:
        return _least(counts, {**held, "slope": STEEPEST}, near)
    return 2 * float(found.fun)


_ROUGH = {"xatol": 1e-4, "fatol": 1e-5, "maxiter": 600, "maxfev": 600}


def _moved(counts: Counts, held: Mapping[str, float], near: Mapping[str, float]) -> dict[str, float]:
    """A place to begin: with another base, the thermal time that takes as many days where most trays stood."""
    warm = float(np.median(counts.setting[np.isfinite(counts.end)]))
    days = near["theta"] / max(warm - near["base"], 0.1)
    if "theta" in held:
        return {**near, "base": warm - held["theta"] / days}
    return {**near, "theta": days * max(warm - held.get("base", near["base"]), 0.1)}


def _enough(ended: float, fitted: int) -> float:
    """How far -2 log likelihood may rise: as for a normal law with few trays, the chi-square's 1.64 with many. [-]"""
    from scipy.special import stdtrit

    free = ended - fitted
    if free < 1:
        return math.inf
    return float(ended * math.log1p(stdtrit(free, (1 + SHARE) / 2) ** 2 / free))


def _crossing(
    risen: Callable[[float], float], middle: float, step: float, allowed: Callable[[float], bool]
) -> float | None:
    """Step out until it has risen enough, each step longer, then halve; None where that lies beyond what is allowed."""
    inside = middle
    for _ in range(20):
        outside = inside + step
        if not allowed(outside):
            return None
        if risen(outside) > 0:
            break
        inside, step = outside, 1.5 * step
    else:
        return None
    for _ in range(6):
        half = (inside + outside) / 2
        inside, outside = (inside, half) if risen(half) > 0 else (half, outside)
    return (inside + outside) / 2


def _judged(base: Bounds, counts: Counts) -> tuple[bool, str]:
    """Whether the looks tell the base, and in words what keeps them from it."""
    ended = np.isfinite(counts.end)
    if counts.germinated < FEWEST:
        return False, f"Only {counts.germinated:.0f} trays were seen to end: it takes {FEWEST} or more."
    apart = float(np.ptp(counts.setting[ended])) if ended.any() else 0.0
    if apart < 0.05:
        return False, "All trays stood at one temperature: warmth and time cannot be told apart."
    if base.low is None or base.high is None or base.high - base.low > WIDEST_C:
        return (
            False,
            f"The temperatures of the trays lie {apart:.1f} °C apart, too near for looks so far from each other.",
        )
    return True, ""
