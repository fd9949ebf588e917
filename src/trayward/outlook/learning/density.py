"""How many seeds a tray should get on this farm: weight against density, and the density that pays best."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
import numpy as np

from trayward.farm.trials import Lever
from trayward.outlook.learning.points import POINTS, TENTHS
from trayward.outlook.learning.response import Bounds, Response, Worth
from trayward.outlook.terms import Floats
from trayward.outlook.types import Range
from trayward.outlook.wording import moved, moved_between

AT_THE_END = 0.02
"""A best level this near a bound, as a share of the way between them, is the bound. [-]"""

"""A gain that comes in at least 9 of 10 cases is called clear. [-]"""
CURVE_POINTS = 41


class CurvePoint(msgspec.Struct, frozen=True, kw_only=True):
    """One level of the curve: grams a tray on an ordinary day, middle and 80 % range. [g]"""

    level: float
    grams: float
    low: float
    high: float


class TrayPoint(msgspec.Struct, frozen=True, kw_only=True):
    """One tray as it stands beside the curve: its grams with lot, season, sowing and the like taken out. [g]"""

    tray: str
    level: float
    grams: float


class Best(msgspec.Struct, frozen=True, kw_only=True):
    """
    The level that pays best, against the present one. Money is for one tray. [currency]

    `gain` is the mean gain with its 80 % range; `chance` how likely the change pays at all [-]; `peak` is false where
    the curve still pays at the end of what is supported. `settled`: the gain is clear one way or the other.
    """

    level: float
    present: float
    gain: Range
    chance: float
    peak: bool
    profit: float
    words: str


class DensityResponse(msgspec.Struct, frozen=True, kw_only=True):
    """Weight against density for a crop on this farm. `best` is None where money or support is lacking; see `words`."""

    crop: str
    recipe: str
    bounds: Bounds
    curve: tuple[CurvePoint, ...]
    trays: tuple[TrayPoint, ...] = ()
    own_trays: int = 0
    best: Best | None = None
    words: str = ""


def curve_of(response: Response, bounds: Bounds, points: int = CURVE_POINTS) -> tuple[CurvePoint, ...]:
    """The curve with the 80 % range of where it may lie (not of single trays), between the bounds."""
    spaced = np.geomspace if response.what == "density" else np.linspace
    levels = spaced(bounds.low, bounds.high, points)
    logs = response.draws() @ response.basis(levels).T
    low, middle, high = np.exp(np.quantile(logs, TENTHS, axis=0))
    return tuple(
        CurvePoint(level=float(x), grams=float(m), low=float(a), high=float(b))
        for x, m, a, b in zip(levels, middle, low, high, strict=True)
    )


def best_level(response: Response, worth: Worth, bounds: Bounds, present: float) -> Best:
    """
    The level whose trays bring most on average, and how sure it is that they bring more than at present.

    Parameters
    ----------
    response : Response
        What is believed of weight against level.
    worth : Worth
        What a gram brings and the level costs.
    bounds : Bounds
        Nothing outside is looked at.
    present : float
        The level trays are given now; put to the nearer bound if outside.

    Returns
    -------
    Best

    Raises
    ------
    InputError
        If a price is no number, or the bounds are none.

    Notes
    -----
    For each draw of the curve, profit(level) = gram x grams(level) - unit x level. The level with the highest mean over
    the draws is best; the gain over the present level is taken draw by draw, since one curve gives both.
    """
    worth.checked()
    levels = bounds.grid(response.what, present)
    now = float(min(max(present, bounds.low), bounds.high))
    draws = response.draws(POINTS)
    profit = _profit(response, worth, draws, levels)
    top = int(np.argmax(profit.mean(axis=0)))
    level = float(levels[top])
    gain = profit[:, top] - _profit(response, worth, draws, np.array([now]))[:, 0]
    low, middle, high = (float(value) for value in np.quantile(gain, TENTHS))
    peak = inside(level, bounds, response.what)
    best = Best(
        level=level,
        present=now,
        gain=Range(low=low, likely=middle, high=high, mean=float(gain.mean())),
        chance=float(np.mean(gain > 0)),
        peak=peak,
        profit=float(profit[:, top].mean()),
        words="",
    )
    return msgspec.structs.replace(best, words=best_words(best, bounds, response.what))


def _profit(response: Response, worth: Worth, draws: Floats, levels: Floats) -> Floats:
    grams = np.exp(draws @ response.basis(levels).T + response.spread / 2)
    found: Floats = worth.gram * grams - worth.unit * levels
    return found


def inside(level: float, bounds: Bounds, what: Lever) -> bool:
    """Whether a level lies inside the bounds, not at their end."""
    low, high, x = bounds.low, bounds.high, level
    if what == "density":
        low, high, x = math.log(low), math.log(high), math.log(x)
    margin = AT_THE_END * (high - low)
    return low + margin < x < high - margin


UNITS = {"density": "live seeds a cm2", "blackout": "days of blackout"}


def best_words(best: Best, bounds: Bounds, what: Lever) -> str:
    """The advice in two or three sentences."""
    unit = UNITS[what]
    if not bounds.low * 1.02 < bounds.high:
        return f"Stay at {best.present:.3g} {unit}: no other is published or tried here, so only a trial would tell."
    if math.isclose(best.level, best.present, rel_tol=0.02, abs_tol=1e-9):
        first = f"Stay at {best.present:.3g} {unit}: no other level within {bounds.words} is likely to bring more."
    else:
        moved = "up" if best.level > best.present else "down"
        first = (
            f"Go {moved} from {best.present:.3g} to {best.level:.3g} {unit}: likely {best.gain.mean or 0.0:+.2f} "
            f"a tray (8 in 10: {best.gain.low:+.2f} to {best.gain.high:+.2f}), better than now in "
            f"{_of_ten(best.chance)} cases."
        )
        if what == "density" and best.level > best.present:
            first += " A denser stand is damper: look closer for mould, whose losses are not counted here."
    if best.peak:
        return first
    end = "highest" if best.level > math.sqrt(bounds.low * bounds.high) else "lowest"
    return f"{first} No peak inside what is supported: the best is its {end} level, and nothing is said beyond."


def _of_ten(chance: float) -> str:
    if 0.05 < chance < 0.95:
        return f"{chance * 10:.0f} in 10"
    return f"{chance * 100:.0f} in 100"


ALIKE = 0.05
"""Densities that differ by less than this (sd of the log) tell nothing of the answer to density. Our choice. [-]"""


def sown_alike(densities: Sequence[float]) -> bool:
    """Whether trays were sown so much alike that they tell nothing of the answer to density."""
    return len(densities) < 2 or float(np.std(np.log(densities))) < ALIKE


def density_words(crop: str, response: Response, bounds: Bounds, own_trays: int, *, alike: bool = False) -> str:
    """What the curve says, in one or two sentences."""
    at = response.centre
    draws = response.draws()
    elasticity = np.quantile(draws[:, 1], TENTHS)
    if not own_trays or alike:
        sown = f"; this farm's {own_trays} trays of {crop} were sown alike and say nothing of it" if own_trays else ""
        rests = f"by published trials alone{sown}"
    else:
        rests = f"by published trials and {own_trays} trays of {crop} with a known density"
    low, middle, high = (float(1.1**slope) for slope in elasticity)
    sides = ("more", "less")
    return (
        f"About {at:.3g} live seeds a cm2, 10 % more seed gives {moved(middle, sides, 1)} weight "
        f"(8 in 10: {moved_between(low, high, sides, 1)}), {rests}. Looked at within {bounds.words}."
    )


def bounds_of(
    published: tuple[float, float] | None, tried: Sequence[float], present: float, least_trays: int = 3
) -> Bounds:
    """
    Between which densities something can be said: what sources sow and what this farm has tried.

    Parameters
    ----------
    published : (low, high) or None
        What sources print for the crop. [1/cm2]
    tried : sequence of float
        Density of each own tray that was cut. [1/cm2]
    present : float
        The recipe's density. [1/cm2]
    least_trays : int
        A density counts as tried where at least so many trays lie at it or beyond.

    Returns
    -------
    Bounds
        Present to present where nothing else is known.
    """
    known = sorted(density for density in tried if math.isfinite(density) and density > 0)
    own = _tried_between(known, least_trays)
    ranges = [(min(pair), max(pair)) for pair in (published, own) if pair is not None]
    if not ranges:
        words = f"{present:.3g} live seeds a cm2, the only density known here"
        return Bounds(low=present, high=present, words=words)
    low, high = min(present, *(pair[0] for pair in ranges)), max(present, *(pair[1] for pair in ranges))
    said = [f"published {published[0]:.2g} to {published[1]:.2g}"] if published else []
    said += [f"tried here {own[0]:.2g} to {own[1]:.2g}"] if own else []
    said += [f"now {present:.2g}"] if present in (low, high) else []
    return Bounds(low=low, high=high, words=f"{low:.2g} to {high:.2g} live seeds a cm2 ({', '.join(said)})")


def _tried_between(known: Sequence[float], least_trays: int) -> tuple[float, float] | None:
    """From the density that so many trays lie at or below to the one that so many lie at or above."""
    if len(known) < least_trays:
        return None
    low, high = known[least_trays - 1], known[-least_trays]
    middle = known[len(known) // 2]
    return (low, high) if low <= high else (middle, middle)
