"""What the study is to show, beside what it shows."""

from __future__ import annotations

import msgspec

from trayward.study.figures import Estimate
from trayward.study.reliability import ENOUGH, Promises

SHARE, SHARE_KNOWN, FULL, FULL_OF_BOUND, POINTS = 0.75, 0.9, 0.98, 0.995, 3.0
"""Goals: share of the gap closed against knowing all and against known biology, lines in full and on time where the
all-knowing reach so many, and how far promised chances may be off. [-], [%]"""


class Goal(msgspec.Struct, frozen=True, kw_only=True):
    """A goal, what was found, and whether it is met."""

    what: str
    wanted: float
    found: float | None
    met: bool | None
    """None: cannot be told, or is not asked here."""
    words: str
    """The verdict."""


def goals_of(
    share: Estimate, share_known: Estimate, full: Estimate, full_of_bound: float | None, promises: Promises
) -> tuple[Goal, ...]:
    """Every goal beside its figure."""
    return (
        _at_least("share of the gap closed, against knowing all", SHARE, share),
        _at_least("share of the gap closed, against known biology", SHARE_KNOWN, share_known),
        _full(full, full_of_bound),
        _promises(promises),
    )


def _at_least(what: str, wanted: float, found: Estimate) -> Goal:
    if found.mean is None:
        return Goal(what=what, wanted=wanted, found=None, met=None, words=f"cannot be told: {found.why_not}")
    met = found.mean >= wanted
    return Goal(what=what, wanted=wanted, found=found.mean, met=met, words=_verdict(met, wanted, found))


def _verdict(met: bool, wanted: float, found: Estimate) -> str:
    said = "met" if met else "not met"
    if found.low is None or found.high is None:
        return f"{said}, but one season proves nothing" if found.seeds < 2 else said
    return f"{said}, but chance leaves it open" if found.low < wanted <= found.high else said


def _full(found: Estimate, of_bound: float | None) -> Goal:
    what = "lines in full and on time"
    if found.mean is None:
        return Goal(what=what, wanted=FULL, found=None, met=None, words="cannot be told: no line was counted")
    if of_bound is None:
        words = "cannot be told: how many lines can be met at all is not known"
        return Goal(what=what, wanted=FULL, found=found.mean, met=None, words=words)
    if of_bound < FULL_OF_BOUND:
        words = f"not asked here: knowing all, only {100 * of_bound:.1f} % can be met"
        return Goal(what=what, wanted=FULL, found=found.mean, met=None, words=words)
    return _at_least(what, FULL, found)


def _promises(promises: Promises) -> Goal:
    what, off = "promised chances off by at most, in points", promises.largest_off_points
    if off is None:
        words = f"cannot be told: no chance was promised {ENOUGH} times"
        return Goal(what=what, wanted=POINTS, found=None, met=None, words=words)
    met, surely = off <= POINTS, promises.surely_off_points or 0.0
    words = "met" if met else "not met" if surely > POINTS else "not met, but chance leaves it open"
    return Goal(what=what, wanted=POINTS, found=off, met=met, words=words)
