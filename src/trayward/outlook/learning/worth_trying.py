"""The next trial worth making: what it would teach is weighed against what its trays and the waiting cost."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise, product

import msgspec
import numpy as np

from trayward.errors import InputError
from trayward.farm.trials import Lever
from trayward.outlook.learning.density import UNITS
from trayward.outlook.learning.points import POINTS, normal_points, root_of
from trayward.outlook.learning.response import Bounds, Response, Worth, expected_profit, grams_expected
from trayward.outlook.terms import Floats

WEEKS = 26
"""What is learned is counted for half a year: seed lots, customers and habits change. Our assumption. [weeks]"""
LEAST_BLOCKS = 2
"""One day cannot tell a level from a day."""
MOST_WEEKS = 4
"""A trial takes no more trays than the farm sows of the recipe in so many weeks."""
WORTH_IT = 0.01
"""A gain below this share of what the recipe brings in the time is not worth the trouble of a trial. [-]"""


class Candidate(msgspec.Struct, frozen=True, kw_only=True):
    """A trial that could be made: levels, days (blocks) and trays of each level a day."""

    levels: tuple[float, ...]
    blocks: int
    trays_each: int

    @property
    def trays(self) -> int:
        """Trays in all."""
        return len(self.levels) * self.blocks * self.trays_each


class Worthwhile(msgspec.Struct, frozen=True, kw_only=True):
    """
    A candidate with what it is expected to bring over the horizon. [currency]

    `gain_a_tray` is what the better choice after the trial brings on average, a tray; `cost` what its trays bring less
    than they would otherwise; `net` the gain over all later trays less that cost.
    """

    recipe: str
    what: Lever
    candidate: Candidate
    gain_a_tray: float
    trays_later: float
    cost: float
    net: float
    words: str = ""


class NextTrial(msgspec.Struct, frozen=True, kw_only=True):
    """Trials by what they are expected to bring, the best first; `best` is None where none is worth making."""

    best: Worthwhile | None
    ranked: tuple[Worthwhile, ...] = ()
    words: str = ""


class Pace(msgspec.Struct, frozen=True, kw_only=True):
    """How the farm sows a recipe: trays and sowing days a week, and days from sowing to cut. [1/week], [d]"""

    trays_a_week: float
    days_a_week: float
    days_to_cut: float
    weeks: float = WEEKS


def covariance_after(response: Response, candidate: Candidate) -> Floats:
    """
    How well the coefficients will be known once a trial is cut. (p, p)

    The days' own effects are unknown, normal with `day_sd`; levels are compared within days, so a day's shared part
    matters little. In a linear normal model this does not depend on what the trial finds.
    """
    basis = response.basis(np.array(candidate.levels))
    told = basis.T @ np.linalg.solve(_day_cov(response, candidate), basis) * candidate.blocks
    # With the covariance as a factor on the left, a coefficient that is known for certain does no harm.
    found: Floats = np.linalg.solve(np.eye(len(response.mean)) + response.cov @ told, response.cov)
    return (found + found.T) / 2


def _day_cov(response: Response, candidate: Candidate) -> Floats:
    """Covariance of the level means of one day."""
    levels = len(candidate.levels)
    own = np.eye(levels) * response.tray_sd**2 / candidate.trays_each
    found: Floats = own + response.day_sd**2
    return found


def means_ahead(mean: Floats, before: Floats, after: Floats, count: int = POINTS) -> Floats:
    """Where the trial may put the coefficients' mean: normal about it now, with what the trial takes from the doubt."""
    found: Floats = mean + normal_points(count, len(mean)) @ root_of(before - after).T
    return found


def gain_of_knowing(payoffs: Floats, now: Floats) -> float:
    """
    Expected value of sample information: the mean of the best payoff after, less the best mean payoff now.

    Parameters
    ----------
    payoffs : array (n, k)
        Expected payoff of each of k choices, for each of n results a trial may have. [currency]
    now : array (k,)
        Expected payoff of each choice without it. [currency]

    Returns
    -------
    float
        Never below 0 [currency]: knowing more can be ignored.

    References
    ----------
    H. Raiffa and R. Schlaifer (1961), Applied Statistical Decision Theory, Harvard (from memory).
    """
    # A choice's payoffs average to what it pays now; held to that exactly, points spread a little unevenly do no harm.
    level = payoffs - payoffs.mean(axis=0) + now
    return max(0.0, float(level.max(axis=1).mean() - now.max()))


def gain_a_tray(response: Response, worth: Worth, bounds: Bounds, candidate: Candidate) -> float:
    """What a trial's better choice brings on average, a tray. [currency]"""
    levels = bounds.grid(response.what, *candidate.levels)
    after = covariance_after(response, candidate)
    ahead = means_ahead(response.mean, response.cov, after)
    basis = response.basis(levels)
    payoffs = worth.gram * grams_expected(basis, ahead, after, response.spread) - worth.unit * levels
    return gain_of_knowing(payoffs, expected_profit(response, worth, levels))


def weigh(
    recipe: str, response: Response, worth: Worth, bounds: Bounds, pace: Pace, candidate: Candidate
) -> Worthwhile:
    """What one candidate is expected to bring, all told."""
    grid = bounds.grid(response.what, *candidate.levels)
    otherwise = float(expected_profit(response, worth, grid).max())
    at_levels = expected_profit(response, worth, np.array(candidate.levels))
    cost = float((otherwise - at_levels).sum()) * candidate.blocks * candidate.trays_each
    taken = candidate.blocks / max(pace.days_a_week, 1e-9) + pace.days_to_cut / 7
    later = max(0.0, pace.weeks - taken) * pace.trays_a_week
    gain = gain_a_tray(response, worth, bounds, candidate)
    return Worthwhile(
        recipe=recipe,
        what=response.what,
        candidate=candidate,
        gain_a_tray=gain,
        trays_later=later,
        cost=cost,
        net=gain * later - cost,
    )


def candidates(bounds: Bounds, what: Lever, present: float, pace: Pace) -> tuple[Candidate, ...]:
    """
    Small blocked trials about the present level that the farm could make.

    Two or three levels, the present one among them where the bounds allow; 2 to 6 days; 1 to 3 trays of each a day. No
    day takes more trays than the farm sows in a week, and no trial more than in four.
    """
    found = (
        Candidate(levels=levels, blocks=blocks, trays_each=each)
        for levels, blocks, each in product(_level_sets(bounds, what, present), (2, 3, 4, 6), (1, 2, 3))
        if blocks >= LEAST_BLOCKS
    )
    a_week = pace.trays_a_week
    return tuple(
        one for one in found if len(one.levels) * one.trays_each <= a_week and one.trays <= MOST_WEEKS * a_week
    )


def _level_sets(bounds: Bounds, what: Lever, present: float) -> tuple[tuple[float, ...], ...]:
    """Sets of levels worth comparing: the present with one lower, one higher, or both, in two widths."""
    if what == "density":
        pairs = [(present / step, present * step) for step in (1.3, 1.7)]
    else:
        pairs = [(present - step, present + step) for step in (1.0, 2.0)]
    sets = []
    for low, high in pairs:
        near_low, near_high = max(low, bounds.low), min(high, bounds.high)
        sets += [(near_low, present), (present, near_high), (near_low, present, near_high)]
    told = (tuple(dict.fromkeys(_round(level) for level in levels)) for levels in sets)
    apart = 0.08 if what == "density" else 0.4
    good = (levels for levels in told if len(levels) > 1 and _apart(levels, what) >= apart)
    return tuple(dict.fromkeys(good))


def _round(level: float) -> float:
    """A level as it can be weighed out: three figures."""
    return float(f"{level:.3g}")


def _apart(levels: Sequence[float], what: Lever) -> float:
    """The least distance between neighbours; as a share of the lower for densities."""
    return min((high / low - 1 if what == "density" else high - low) for low, high in pairwise(levels))


def next_trial(weighed: Sequence[Worthwhile], brings: dict[str, float]) -> NextTrial:
    """
    The best of the trials weighed, or that none is worth making.

    Parameters
    ----------
    weighed : sequence of Worthwhile
        For any recipes.
    brings : dict of str to float
        What each recipe brings over the horizon [currency]: a gain that is a trifle beside it is not worth a trial.
    """
    ranked = sorted(weighed, key=lambda one: -one.net)
    ranked = [msgspec.structs.replace(one, words=candidate_words(one)) for one in ranked]
    good = [one for one in ranked if one.net > WORTH_IT * max(brings.get(one.recipe, 0.0), 0.0) and one.net > 0]
    if good:
        return NextTrial(best=good[0], ranked=tuple(ranked), words=good[0].words)
    if not ranked:
        return NextTrial(
            best=None, words="No trial can be weighed yet: a recipe with a price and a few sowings is needed."
        )
    words = (
        "No trial is worth making now: the best one would bring "
        f"{ranked[0].net:+.2f} ({ranked[0].recipe}), less than its trouble."
    )
    return NextTrial(best=None, ranked=tuple(ranked), words=words)


def candidate_words(one: Worthwhile) -> str:
    """A trial in a sentence a grower can act on."""
    levels = ", ".join(f"{level:.3g}" for level in one.candidate.levels[:-1]) + f" and {one.candidate.levels[-1]:.3g}"
    each = one.candidate.trays_each
    return (
        f"Try {levels} {UNITS[one.what]} with {one.recipe}: {each} tray{'' if each == 1 else 's'} of each on "
        f"{one.candidate.blocks} sowing days, {one.candidate.trays} trays in all; likely {one.net:+.2f} over "
        f"the next {one.trays_later:.0f} trays, its cost of {one.cost:.2f} taken off."
    )


def shuffled(levels: Sequence[float], blocks: int, rng: np.random.Generator) -> tuple[tuple[float, ...], ...]:
    """For each day, the order in which the levels are sown and put on their spots. Every day has every level."""
    if blocks < LEAST_BLOCKS:
        raise InputError("blocks", blocks, f"at least {LEAST_BLOCKS} days tell a level from a day", "Take more days.")
    if len(set(levels)) < 2:
        raise InputError("levels", f"{list(levels)}", "at least 2 different ones are compared", "Name another level.")
    return tuple(tuple(float(levels[k]) for k in rng.permutation(len(levels))) for _ in range(blocks))
