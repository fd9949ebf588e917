"""Figures of a study with what chance leaves open: everything is drawn anew by seed, all policies of a seed together.

Policies live through the same truths, so their differences vary far less than the seasons do. A *redraw* takes as many
seeds as there are, with repetition, and works every figure out from them as from the seeds themselves.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist, median
from typing import NamedTuple

import msgspec
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
REDRAWS = 10_000
FIXED = 20_261_125
"""Every study draws by the same numbers, so that the same seasons always give the same figures."""
SURE = 0.95
"""Of intervals: how many of so many studies they should hold the truth. [-]"""
FEW_SEEDS = 2
"""From so many seeds on there is an interval at all."""


class Estimate(msgspec.Struct, frozen=True, kw_only=True):
    """A figure over seeds, with its 95 % interval; None where it cannot be told."""

    mean: float | None = None
    low: float | None = None
    high: float | None = None
    seeds: int = 0
    """How many seeds it rests on."""
    why_not: str = ""
    """What keeps it from being told."""


def redraws(seeds: int, generator: np.random.Generator, times: int = REDRAWS) -> Floats:
    """How much each seed counts in each redraw (times, n); rows add up to 1. [-]"""
    drawn = generator.integers(seeds, size=(times, seeds)) + seeds * np.arange(times)[:, None]
    return np.bincount(drawn.ravel(), minlength=times * seeds).reshape(times, seeds) / seeds


def interval(drawn: Floats, seeds: int) -> tuple[float, float]:
    """
    Ends of the 95 % interval of a figure, from its redraws (times,).

    Notes
    -----
    The plain percentile interval is too narrow for few seeds; the levels are moved out as far as a t interval of a mean
    is wider than the normal one with the spread taken over n instead of n - 1.

    References
    ----------
    T. C. Hesterberg, "What teachers should know about the bootstrap: resampling in the undergraduate statistics
    curriculum", The American Statistician 69 (2015) 371-386, "expanded percentile" (from memory).
    """
    from scipy.special import stdtrit

    wide = math.sqrt(seeds / (seeds - 1)) * float(stdtrit(seeds - 1, (1 + SURE) / 2))
    tail = NormalDist().cdf(-wide)
    low, high = np.quantile(drawn, (tail, 1 - tail))
    return float(low), float(high)


def mean_estimate(values: Sequence[float], generator: np.random.Generator) -> Estimate:
    """A mean over seeds, with its interval."""
    if not values:
        return Estimate(why_not="no season of it was lived to its end")
    found = np.asarray(values, dtype=np.float64)
    mean, number = float(found.mean()), len(found)
    if number < FEW_SEEDS:
        return Estimate(mean=mean, seeds=number)
    low, high = interval(redraws(number, generator) @ found, number)
    return Estimate(mean=mean, low=low, high=high, seeds=number)


def gain_over_best(ours: Floats, rules: Floats, generator: np.random.Generator) -> Estimate:
    """How much more (n,) brings a season than the best of the rules (n, b), which is chosen over all seeds at once."""
    number = len(ours)
    mean = float(ours.mean() - rules.mean(axis=0).max())
    if number < FEW_SEEDS:
        return Estimate(mean=mean, seeds=number)
    weights = redraws(number, generator)
    low, high = interval(weights @ ours - (weights @ rules).max(axis=1), number)
    return Estimate(mean=mean, low=low, high=high, seeds=number)


def share_closed(ours: Floats, rules: Floats, most: Floats, generator: np.random.Generator) -> Estimate:
    """
    How much of the way from the best rule to a yardstick a policy goes. [-]

    Parameters
    ----------
    ours : array (n,)
        Margin of the policy at each seed.
    rules : array (n, b)
        Margin of the rule of thumb at each seed, a column for each buffer.
    most : array (n,)
        Margin of the yardstick at each seed.
    generator : numpy.random.Generator
        For the redraws.

    Returns
    -------
    Estimate
        (sum of ours - sum of the best rule) / (sum of the yardstick - sum of the best rule), and its interval.

    Notes
    -----
    The best rule is the one buffer whose sum over all seeds is highest: chosen in hindsight, which favours the rule. A
    redraw chooses its own. It is a ratio of sums, not a mean of ratios: where one season's gap is next to nothing, its
    ratio says nothing. The interval is left out where one redraw in a thousand has no gap to close.
    """
    number, best = len(ours), float(rules.mean(axis=0).max())
    gap = float(most.mean()) - best
    if gap <= 1e-9 * max(1.0, abs(best)):
        return Estimate(seeds=number, why_not="the yardstick does not lie above the best rule of thumb")
    mean = (float(ours.mean()) - best) / gap
    if number < FEW_SEEDS:
        return Estimate(mean=mean, seeds=number, why_not="one seed does not show what chance leaves open")
    weights = redraws(number, generator)
    bests = (weights @ rules).max(axis=1)
    gaps = weights @ most - bests
    some = gaps > 1e-9 * max(1.0, abs(best))
    if float(some.mean()) < 1 - 1e-3:
        return Estimate(mean=mean, seeds=number, why_not="the gap is too small against chance for an interval")
    low, high = interval((weights @ ours - bests)[some] / gaps[some], number)
    return Estimate(mean=mean, low=low, high=high, seeds=number)


def ratio_estimate(part: Sequence[float], whole: Sequence[float], generator: np.random.Generator) -> Estimate:
    """A share of sums over seeds, with its interval: lines in full of lines asked, say. [-]"""
    parts, wholes = np.asarray(part, dtype=np.float64), np.asarray(whole, dtype=np.float64)
    if not len(wholes) or float(wholes.sum()) <= 0:
        return Estimate(seeds=len(wholes), why_not="there was none to count")
    mean, number = float(parts.sum() / wholes.sum()), len(wholes)
    if number < FEW_SEEDS:
        return Estimate(mean=mean, seeds=number)
    weights = redraws(number, generator)
    some = weights @ wholes > 0
    low, high = interval((weights @ parts)[some] / (weights @ wholes)[some], number)
    return Estimate(mean=mean, low=low, high=high, seeds=number)


# When learning pays ---------------------------------------------------------------------------------------------------


class LearningPays(msgspec.Struct, frozen=True, kw_only=True):
    """From when on the plan that learns has earned more than the one that does not, and stays ahead."""

    median_days: float | None
    """Days from the first sowing; None: not in the season, in half of the seeds or more. [d]"""
    seeds: int
    seeds_in_which: int
    """In so many of them it pays before the season ends."""


class Courses(NamedTuple):
    """Two policies' margins so far (days,) in the same season, and when the first of them sowed first. [d]"""

    learning: Sequence[float]
    other: Sequence[float]
    first_sown: int


def pays_from(courses: Courses) -> int | None:
    """
    Days from the first sowing to the first day from which learning stays ahead; None: not in the season. [d]

    Examples
    --------
    >>> pays_from(Courses([0, -5, -6, 2, 9], [0, -5, -5, 1, 3], first_sown=1))
    2
    >>> pays_from(Courses([0, -5, 3], [0, -5, 3], first_sown=0)) is None
    True
    """
    ahead = [one > two for one, two in zip(courses.learning, courses.other, strict=True)]
    if not ahead or not ahead[-1]:
        return None
    last_behind = max((day for day, is_ahead in enumerate(ahead) if not is_ahead), default=-1)
    return last_behind + 1 - courses.first_sown


def learning_pays(seasons: Sequence[Courses]) -> LearningPays | None:
    """The middle over seeds of when learning pays; a season in which it does not counts as later than any."""
    told = [one for one in seasons if one.learning and len(one.learning) == len(one.other)]
    if not told:
        return None
    days = [pays_from(one) for one in told]
    middle = median(math.inf if day is None else float(day) for day in days)
    paid = sum(day is not None for day in days)
    return LearningPays(median_days=middle if math.isfinite(middle) else None, seeds=len(days), seeds_in_which=paid)


def mean_course(courses: Sequence[Sequence[float]]) -> tuple[float, ...]:
    """The margin so far at the end of each day, mean over seeds; up to the last day that all of them have."""
    told = [course for course in courses if course]
    if not told:
        return ()
    days = min(map(len, told))
    return tuple(float(value) for value in np.mean([course[:days] for course in told], axis=0))


def generator_of(what: str) -> np.random.Generator:
    """Chance for a figure: fixed, and for every figure its own, so that adding one does not move the others."""
    return np.random.default_rng([FIXED, *what.encode()])
