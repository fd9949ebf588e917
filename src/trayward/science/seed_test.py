"""Seed tests counted: how sure a share is, whether repeats agree, how many seeds to test, weight from repeats."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import fmean, stdev
from typing import Literal

import msgspec

from trayward.errors import InputError, require_between
from trayward.science.bell import probit

REPEATS_VARY = 4.0
"""Repeats of a counted weight may vary this much, as the seed laboratories' rule has it: from memory. [%]"""

# Mean germination, and its counterpart below 50, against the widest range of 100-seed repeats. [%]
_RANGES_OF_4 = (
    (99, 5), (98, 6), (97, 7), (96, 8), (95, 9), (93, 10), (91, 11), (89, 12), (87, 13), (84, 14), (81, 15), (78, 16),
    (73, 17), (67, 18), (56, 19), (51, 20),
)  # fmt: skip
_RANGES_OF_2 = ((96, 6), (95, 7), (93, 8), (90, 9), (88, 10), (87, 11))
"""Each row holds from its mean up to the row before. 7 CFR 201.55: rows from 87 % up seen, those below from memory."""


def wilson(sprouted: int, tested: int, sure: float = 0.95) -> tuple[float, float]:
    """
    Range of the share of seed that sprouts, from a test: the Wilson score interval.

    Parameters
    ----------
    sprouted, tested : int
        Seeds that sprouted, of those tested. [-] Tested at least 1.
    sure : float
        How sure the range is. [-] Valid above 0 and below 1.

    Returns
    -------
    tuple of float
        Low and high. [-]

    Raises
    ------
    InputError
        If more sprouted than were tested, or none was tested.

    References
    ----------
    .. [1] R. G. Newcombe, 1998, Two-sided confidence intervals for the single proportion, Statistics in Medicine
       17:857-872. (From memory.)

    Examples
    --------
    >>> low, high = wilson(81, 263)
    >>> round(low, 4), round(high, 4)
    (0.2553, 0.3662)
    """
    if tested < 1 or not 0 <= sprouted <= tested:
        raise InputError("sprouted", f"{sprouted} of {tested}", "must lie between none and all", "Count it again.")
    middle, reach = _wilson(sprouted / tested, tested, sure)
    return max(middle - reach, 0.0), min(middle + reach, 1.0)


def _wilson(share: float, tested: int, sure: float) -> tuple[float, float]:
    """Middle of the range and half its width."""
    if not 0 < sure < 1:
        raise InputError("sure", f"{sure:g}", "must lie between 0 and 1", "Give 0.8 for 8 in 10.")
    z = probit((1 + sure) / 2)
    weight = z * z / tested
    reach = z / (1 + weight) * math.sqrt(share * (1 - share) / tested + weight / (4 * tested))
    return (share + weight / 2) / (1 + weight), reach


def seeds_to_test(within: float, share: float = 0.9, sure: float = 0.8) -> int:
    """
    How many seeds to test so that the share is known to within so much either way.

    Parameters
    ----------
    within : float
        Half the width of the range. [-] Valid 0.005 to 0.5.
    share : float
        About what is expected to sprout. [-] Valid 0 to 1.
    sure : float
        How sure the range is. [-] Valid above 0 and below 1.

    Returns
    -------
    int
        Seeds.

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    The smallest number whose Wilson range is no wider, were exactly that share to sprout; found by halving.

    Examples
    --------
    >>> seeds_to_test(0.05), seeds_to_test(0.05, sure=0.95)
    (61, 141)
    """
    require_between("within", within, 0.005, 0.5, "", "Give 0.05 for 5 points either way.")
    require_between("share", share, 0, 1, "", "Give 0.9 for 90 %.")
    low, high = 1, 2
    while _wilson(share, high, sure)[1] > within:
        low, high = high, high * 2
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if _wilson(share, middle, sure)[1] <= within else (middle + 1, high)
    return low


def widest_range(mean_pct: float, repeats: Literal[2, 4] = 4) -> int:
    """
    How far repeats of 100 seeds may lie apart before the test is to be done again.

    Parameters
    ----------
    mean_pct : float
        Mean of the repeats, rounded to a whole per cent as the rule does. [%] Valid 2 to 99, of 2 repeats 4 to 14 and
        87 to 97.
    repeats : {2, 4}
        Repeats of 100 seeds.

    Returns
    -------
    int
        Points between the lowest and the highest that are still allowed. [%]

    Raises
    ------
    InputError
        If the table gives nothing.

    Notes
    -----
    The rule's table is read: a binomial formula gives 3.96 for a mean of 99 %, the table 5.

    References
    ----------
    .. [1] US Department of Agriculture, 7 CFR 201.55, Retests. (Rows from 87 % up seen in a public copy.)

    Examples
    --------
    >>> widest_range(90), widest_range(11), widest_range(99)
    (12, 12, 5)
    """
    require_between("mean", mean_pct, 0, 100, "%")
    mean = math.floor(mean_pct + 0.5)
    mirrored = max(mean, 101 - mean)
    rows, top = (_RANGES_OF_4, 99) if repeats == 4 else (_RANGES_OF_2, 97)
    for least, allowed in rows:
        if least <= mirrored <= top:
            return allowed
    raise InputError("mean", f"{mean_pct:g}", "is not in the rule's table", "Take four repeats of 100.", "%")


class Repeats(msgspec.Struct, frozen=True, kw_only=True):
    """Repeats of a germination test: mean [%], how far apart [%], how far is allowed [%], and whether they agree."""

    mean_pct: float
    range_pct: float
    allowed_pct: int | None
    agree: bool


def compare_repeats(per_cents: Sequence[float]) -> Repeats:
    """
    Whether two or four repeats of 100 seeds agree.

    Parameters
    ----------
    per_cents : sequence of float, length 2 or 4
        Seeds that sprouted of each 100. [%] Valid 0 to 100.

    Returns
    -------
    Repeats
        Where nearly all or nearly none sprout the table says nothing, and they are taken to agree.

    Raises
    ------
    InputError
        If there are not 2 or 4 of them, or one lies out of range.

    Examples
    --------
    >>> compare_repeats([97, 88, 90, 85]).agree
    True
    """
    if len(per_cents) not in (2, 4):
        raise InputError("repeats", len(per_cents), "must be 2 or 4 of 100 seeds each", "Or count all as one test.")
    for value in per_cents:
        require_between("repeat", value, 0, 100, "%", "Say how many of 100 sprouted.")
    mean, apart = fmean(per_cents), max(per_cents) - min(per_cents)
    if mean < 1.5 or mean >= 99.5:
        return Repeats(mean_pct=mean, range_pct=apart, allowed_pct=None, agree=True)
    allowed = widest_range(mean, 4 if len(per_cents) == 4 else 2)
    return Repeats(mean_pct=mean, range_pct=apart, allowed_pct=allowed, agree=apart <= allowed)


class CountedWeight(msgspec.Struct, frozen=True, kw_only=True):
    """Weight of a thousand seeds [g], its standard error [g] and how much repeats vary [%]; None with one repeat."""

    tsw_g: float
    error_g: float | None
    vary_pct: float | None


def weight_of_repeats(seeds: int, grams: Sequence[float]) -> CountedWeight:
    """
    Weight of a thousand seeds from repeats of a counted number.

    Parameters
    ----------
    seeds : int
        Seeds in each repeat. [-] At least 1.
    grams : sequence of float, length n
        What each weighs. [g] Valid above 0.

    Returns
    -------
    CountedWeight

    Raises
    ------
    InputError
        If a value is out of range.

    References
    ----------
    .. [1] International Seed Testing Association, International Rules for Seed Testing, chapter 10: eight repeats of
       100 seeds, to vary by no more than 4 %. (From memory.)

    Examples
    --------
    >>> found = weight_of_repeats(100, [0.31, 0.32, 0.33])
    >>> round(found.tsw_g, 2), round(found.vary_pct, 1)
    (3.2, 3.1)
    """
    if seeds < 1 or not grams:
        raise InputError("seeds", f"{seeds}", "at least one must be counted and weighed", "Count 100.")
    for weight in grams:
        if not 0 < weight < math.inf:
            raise InputError("weight", f"{weight:g}", "must be above zero", "Weigh more seed, or a finer scale.", "g")
    scale = 1000 / seeds
    mean = fmean(grams)
    if len(grams) == 1:
        return CountedWeight(tsw_g=mean * scale, error_g=None, vary_pct=None)
    spread = stdev(grams)
    return CountedWeight(
        tsw_g=mean * scale, error_g=spread * scale / math.sqrt(len(grams)), vary_pct=100 * spread / mean
    )
