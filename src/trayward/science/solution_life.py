"""Whether a mixed solution is still good: strips read since it was made, its age, and when it will be too weak."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

import msgspec

from trayward.errors import InputError
from trayward.science.either import require_each

CHANGE_AFTER = 120.0
"""Bleach in use is changed about every two hours: `purdue_vch`. [min]"""

Verdict = Literal["good", "measure", "new", "thin"]
"""Use it; read a strip first; make it new; it is too strong, add water."""


class SolutionCheck(msgspec.Struct, frozen=True, kw_only=True):
    """
    What a solution's log says.

    `last_ppm` the last strip [mg/l], None where none was read; `since_min` time since it, or since it was made [min];
    `fall_per_h` share of the strength lost in an hour [-] and `weak_at_min` age at which it comes to the least strength
    [min], None where the strips do not tell.
    """

    verdict: Verdict
    words: str
    last_ppm: float | None
    since_min: float
    fall_per_h: float | None
    weak_at_min: float | None


def check_solution(
    readings: Sequence[tuple[float, float]],
    age_min: float,
    least_ppm: float,
    most_ppm: float = math.inf,
    *,
    change_after_min: float = CHANGE_AFTER,
) -> SolutionCheck:
    """
    Whether a solution is still good to use.

    Parameters
    ----------
    readings : sequence of (float, float)
        Strips: age when read [min] and strength [mg/l]. In any order; may be empty.
    age_min : float
        Its age now. [min] Valid from the last reading on.
    least_ppm, most_ppm : float
        Weakest and strongest that will do. [mg/l] Least above 0, most above least.
    change_after_min : float
        Age from which it is made new whatever the strip says. [min] Valid above 0.

    Returns
    -------
    SolutionCheck
        The verdict in one word and in a sentence.

    Raises
    ------
    InputError
        If a value is out of range, or a reading lies ahead.

    Notes
    -----
    With two strips and more a straight line is fitted to the logarithm of strength by age (as if the same share were
    lost in every hour), which tells about when it will be too weak. Dirt spends a solution in jumps that no line tells:
    the strip decides.

    Examples
    --------
    >>> check_solution([(0, 200), (60, 160)], 70, 100, 200).words
    'Good to use: 160 ppm by the last strip. At this pace it falls below 100 ppm about 186 min after it was made.'
    """
    read = sorted((float(age), float(ppm)) for age, ppm in readings)
    _check(read, age_min, least_ppm, most_ppm, change_after_min)
    last = read[-1] if read else None
    fall, weak = _pace(read, least_ppm)
    verdict, words = _verdict(last, age_min, least_ppm, most_ppm, change_after_min)
    if verdict == "good" and weak is not None and weak > age_min:
        words += f" At this pace it falls below {least_ppm:g} ppm about {weak:.0f} min after it was made."
    if verdict == "good" and weak is not None and weak <= age_min:
        verdict, words = "measure", f"Read a strip first: at the pace so far it is below {least_ppm:g} ppm by now."
    return SolutionCheck(
        verdict=verdict,
        words=words,
        last_ppm=last[1] if last else None,
        since_min=age_min - (last[0] if last else 0.0),
        fall_per_h=fall,
        weak_at_min=weak,
    )


def _check(read: list[tuple[float, float]], age: float, least: float, most: float, change: float) -> None:
    require_each("least ppm", least, 0, math.inf, "ppm", "Take it from the label.", above=True)
    if not most > least:
        raise InputError(
            "most ppm", f"{most:g}", f"must be above the least, {least:g}", "Take both from the label.", "ppm"
        )
    require_each("age", age, 0, math.inf, "min")
    require_each("change after", change, 0, math.inf, "min", above=True)
    for when, ppm in read:
        require_each("age of a strip", when, 0, age, "min", "It cannot have been read later than now.")
        require_each("strip", ppm, 0, math.inf, "ppm")
    if any(earlier[0] == later[0] for earlier, later in pairwise(read)):
        raise InputError("strips", "twice at one age", "each needs its own moment", "Give the later one alone.")


def _pace(read: list[tuple[float, float]], least: float) -> tuple[float | None, float | None]:
    """Share lost in an hour, and age at which the line comes to the least strength."""
    seen = [(age, math.log(ppm)) for age, ppm in read if ppm > 0]
    if len(seen) < 2:
        return None, None
    mid_age = sum(age for age, _ in seen) / len(seen)
    mid_log = sum(log for _, log in seen) / len(seen)
    spread = sum((age - mid_age) ** 2 for age, _ in seen)
    slope = sum((age - mid_age) * (log - mid_log) for age, log in seen) / spread
    if slope >= -1e-12:
        return 1 - math.exp(60 * slope), None
    return 1 - math.exp(60 * slope), mid_age + (math.log(least) - mid_log) / slope


def _verdict(
    last: tuple[float, float] | None, age: float, least: float, most: float, change: float
) -> tuple[Verdict, str]:
    if last is not None and last[1] < least:
        return "new", f"Make it new: the last strip said {last[1]:g} ppm, {least:g} is the least. Do not top it up."
    if age >= change:
        return "new", f"Make it new: it is {age:.0f} min old, {change:.0f} is the most."
    if last is None:
        return "measure", "Read a strip first: none was read since it was made."
    if last[1] > most:
        return "thin", f"Too strong: the last strip said {last[1]:g} ppm, {most:g} is the most. Add water, read again."
    return "good", f"Good to use: {last[1]:g} ppm by the last strip."
