"""
Whether a figure looks mistyped: far outside what is expected, or out of the ordinary and one slip of the hand from it.

An honest figure must pass without a question, however good or bad the tray: the bounds are wide, and a question is
worth asking only where the answer is likely to be "no, I meant ...". All bounds here are our choice; the tests say how
often an honest figure meets them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime

import msgspec

from trayward.farm.recipes import Recipe
from trayward.farm.state import Tray
from trayward.outlook.types import Basis, Range, TrayOutlook
from trayward.units import GRAMS_PER_OUNCE, GRAMS_PER_POUND, MM_PER_INCH

EIGHTY, NINETY_FIVE = 1.2816, 1.9600
"""An 80 % and a 95 % range reach this many standard deviations to either side. [-]"""
FAR_SD = 4.5
"""Beyond so many standard deviations on the log scale a figure is doubted: one honest figure in 150,000. [-]"""
NEAR_SD = 3.0
"""Beyond so many it is doubted where a slip explains it: one honest figure in 370, if that slip happens to fit. [-]"""
LEAST_FACTOR = 2.0
"""Within half and twice the likely figure nothing is doubted: a tray may be as poor or as good as that. [-]"""
FEW_TRAYS, UNTRIED_FACTOR = 5, 4.0
"""With fewer own trays than this a farm may lie so many times off what is printed: sources differ 2 to 4 times. [-]"""
HEAVIEST_G_PER_CM2 = 1.5
"""No tray is that heavy: four times the heaviest of the trials we know, pea at 3.8 kg/m2 (sare_fne20_966). [g/cm2]"""


class Slip(msgspec.Struct, frozen=True):
    """A way to mistype: what was meant is `factor` times what was typed, and said in `unit` (empty: the farm's own)."""

    factor: float
    unit: str = ""
    each: bool = False
    """What was meant for each was taken for all together."""


POINT = (Slip(0.1), Slip(10.0))
"""The decimal point one place off."""
WRONG_UNIT = (
    Slip(1000.0),
    Slip(0.001),
    Slip(GRAMS_PER_OUNCE, "oz"),
    Slip(1 / GRAMS_PER_OUNCE, "g"),
    Slip(GRAMS_PER_POUND, "oz"),
    Slip(1 / GRAMS_PER_POUND, "g"),
)
"""Grams for kilograms, ounces or pounds, and the other way round."""
OF_WEIGHT = (*POINT, Slip(0.01), *WRONG_UNIT)
"""The point one place off or left out, or the wrong unit; the likelier first."""
OF_LENGTH = (Slip(10.0), Slip(0.1), Slip(MM_PER_INCH, "in"), Slip(1 / MM_PER_INCH, "mm"))
"""Centimetres for millimetres, or the point; inches for millimetres and the other way round."""
OF_VOLUME = (*POINT, Slip(1000.0), Slip(0.001))
"""The point; litres for millilitres."""


class Suspicion(msgspec.Struct, frozen=True):
    """A figure looks mistyped; `perhaps` is what was meant, by the likeliest slip that explains it, where one does.

    `unit` is the one it was meant in (empty: the farm's own), `each` says that it was meant for each.
    """

    perhaps: float | None = None
    unit: str = ""
    each: bool = False

    def times(self, sharing: int) -> Suspicion:
        """The same suspicion of what so many share."""
        meant = self.perhaps * sharing if self.perhaps is not None else None
        return Suspicion(meant, self.unit, self.each)


def suspect(
    value: float,
    expected: Range,
    slips: Sequence[Slip] = POINT,
    *,
    only_above: bool = False,
    least_factor: float = LEAST_FACTOR,
) -> Suspicion | None:
    """
    Whether a positive figure looks mistyped against what is expected of it.

    Parameters
    ----------
    value : float
        What is about to be said. Not finite or below zero: None, for such a figure is refused elsewhere.
    expected : Range
        What is likely, with the same unit; lognormal to either side of `likely`.
    slips : sequence of Slip
        What may have gone wrong, the likelier first.
    only_above : bool
        Too little is no wonder here: a second cut, a tray cut before its time.
    least_factor : float
        Within so many times the likely figure nothing is doubted. [-]

    Returns
    -------
    Suspicion or None
        None where it may well be so.

    Examples
    --------
    >>> suspect(950.0, Range(low=70.0, likely=95.0, high=130.0)).perhaps
    95.0
    >>> suspect(45.0, Range(low=70.0, likely=95.0, high=130.0)) is None
    True
    """
    bounds = bounds_of(expected, only_above=only_above, least_factor=least_factor)
    return bounds.suspect(value, slips) if bounds is not None else None


class Bounds(msgspec.Struct, frozen=True, kw_only=True):
    """What `suspect` goes by, for a page that asks before it sends, with no signal too."""

    expected: Range
    sd_below: float
    sd_above: float
    """Standard deviations of the log to either side of the middle. [-]"""
    least_factor: float
    """Within so many times the likely figure nothing is doubted. [-]"""
    only_above: bool

    def suspect(self, value: float, slips: Sequence[Slip]) -> Suspicion | None:
        """Whether a figure looks mistyped; see `suspect`."""
        likely = self.expected.likely
        if not math.isfinite(value) or value < 0 or (self.only_above and value <= likely):
            return None
        far = abs(math.log(value / likely)) if value > 0 else math.inf
        sd = self.sd_above if value > likely else self.sd_below
        least = math.log(self.least_factor)
        if far <= max(NEAR_SD * sd, least):
            return None
        slip = next((slip for slip in slips if self._fits(value * slip.factor)), None)
        if slip is not None:
            return Suspicion(value * slip.factor, slip.unit, slip.each)
        return Suspicion() if far > max(FAR_SD * sd, least) else None

    def _fits(self, value: float) -> bool:
        """Whether 19 of 20 figures lie as near to the middle as this one."""
        if value <= 0:
            return False
        sd = self.sd_above if value > self.expected.likely else self.sd_below
        return abs(math.log(value / self.expected.likely)) <= NINETY_FIVE * max(sd, math.log(1.1))


def bounds_of(expected: Range, *, only_above: bool = False, least_factor: float = LEAST_FACTOR) -> Bounds | None:
    """What `suspect` would go by; None where nothing can be doubted by that range."""
    if not 0 < expected.low <= expected.likely <= expected.high < math.inf:
        return None
    return Bounds(
        expected=expected,
        sd_below=_side_sd(expected, above=False),
        sd_above=_side_sd(expected, above=True),
        least_factor=least_factor,
        only_above=only_above,
    )


def outside(value: float, low: float, high: float, tried: Sequence[tuple[float, str]] = ()) -> Suspicion | None:
    """
    Whether a figure looks mistyped against two bounds; `tried` are what it may have been meant as, with their units.

    Examples
    --------
    >>> outside(70.0, 0.0, 45.0, [((70 - 32) / 1.8, "F")])
    Suspicion(perhaps=21.11111111111111, unit='F', each=False)
    """
    if low <= value <= high or not math.isfinite(value):
        return None
    return next((Suspicion(meant, unit) for meant, unit in tried if low <= meant <= high), Suspicion())


def _side_sd(expected: Range, *, above: bool) -> float:
    """Standard deviation of the log to one side of the middle, by the wider of the two ranges. [-]"""
    most = expected.most or (expected.low, expected.high)
    end, far_end = (expected.high, most[1]) if above else (expected.low, most[0])
    sd = abs(math.log(end / expected.likely)) / EIGHTY
    if expected.most is None or not 0 < far_end < math.inf:
        return sd
    return max(sd, abs(math.log(far_end / expected.likely)) / NINETY_FIVE)


def within_factor(middle: float, factor: float) -> Range:
    """What is expected of a figure of which 8 in 10 lie within a factor of a known one."""
    return Range(low=middle / factor, likely=middle, high=middle * factor)


def least_factor(basis: Basis) -> float:
    """Within so many times what is likely no weight is doubted, by what the outlook rests on. [-]"""
    return LEAST_FACTOR if basis.own_trays >= FEW_TRAYS else UNTRIED_FACTOR


def weight_expected(tray: Tray, recipe: Recipe, ahead: TrayOutlook, at: datetime) -> Range | None:
    """
    What a tray brings, cut at a moment: its outlook, put on from the day it is ready to the day of the cut. [g]

    None where nobody knows; then only `heaviest` holds.
    """
    grams = ahead.grams
    if grams is None:
        return None
    more = (1 + recipe.growth_a_day) ** _days_waited(tray, recipe, at)
    most = (grams.most[0] * more, grams.most[1] * more) if grams.most is not None else None
    return Range(low=grams.low * more, likely=grams.likely * more, high=grams.high * more, most=most)


def weight_bounds(tray: Tray, ahead: TrayOutlook, expected: Range, at: datetime) -> Bounds | None:
    """From where on the weight of a tray cut at a moment is doubted; None where nothing can be by that range."""
    early = at < ahead.ready.low
    return bounds_of(expected, only_above=early or tray.cuts > 0, least_factor=least_factor(ahead.grams_basis))


def heaviest(recipe: Recipe) -> float:
    """More than any tray of this size has been seen to bring. [g]"""
    return HEAVIEST_G_PER_CM2 * recipe.tray.area_cm2


def _days_waited(tray: Tray, recipe: Recipe, at: datetime) -> float:
    """Days it has stood ready, never more than the cut window. [d]"""
    if tray.stage != recipe.stages[-1].name:
        return 0.0
    return recipe.days_waited(tray.stage_since, at)
