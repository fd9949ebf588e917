"""How yield answers density, light and warmth: laws with few parameters, and what trials imply.

The constants at the end are what the outlook believes before a farm's own trays speak.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from trayward.errors import InputError, require_between


def elasticity(yield_ratio: float, input_ratio: float) -> float:
    """
    Per cent more yield for each per cent more of something, between two levels of it.

    Parameters
    ----------
    yield_ratio : float
        Yield at the higher level over yield at the lower. [-] Valid above 0.
    input_ratio : float
        The higher level over the lower. [-] Valid above 0, not 1.

    Returns
    -------
    float
        ln(yield ratio) / ln(input ratio). [-]

    Raises
    ------
    InputError
        If a ratio is not above 0, or the levels are the same.

    Examples
    --------
    >>> round(elasticity(1.19, 5 / 3), 2)
    0.34
    """
    for name, value in (("yield_ratio", yield_ratio), ("input_ratio", input_ratio)):
        if not 0 < value < math.inf:
            raise InputError(name, f"{value:g}", "must be above 0", "Divide the higher level's figure by the lower's.")
    if input_ratio == 1:
        raise InputError("input_ratio", 1, "the two levels must differ")
    return math.log(yield_ratio) / math.log(input_ratio)


class ReciprocalLaw(msgspec.Struct, frozen=True, kw_only=True):
    """
    The reciprocal yield-density law: one over the yield of a plant rises in a straight line with density.

    1 / w = a + b x, so a plant brings w = 1 / (a + b x) and an area x / (a + b x), which rises with falling return
    towards 1 / b and never falls (Shinozaki and Kira; Holliday; from memory). `a` [1/g], `b` [area/g].
    """

    a: float
    b: float

    def of_plant(self, density: float) -> float:
        """Yield of one plant. [g]"""
        return 1 / (self.a + self.b * density)

    def of_area(self, density: float) -> float:
        """Yield of an area. [g/area]"""
        return density * self.of_plant(density)

    def elasticity_at(self, density: float) -> float:
        """Per cent more yield of an area for each per cent more plants: 1 when thin, towards 0 when crowded. [-]"""
        return self.a * self.of_plant(density)

    @classmethod
    def with_elasticity(cls, elasticity: float, density: float, of_area: float) -> ReciprocalLaw:
        """
        The law that has a given elasticity and yield at one density.

        Examples
        --------
        >>> law = ReciprocalLaw.with_elasticity(0.34, 4.0, 0.2)
        >>> round(law.of_area(4.0), 3), round(law.elasticity_at(4.0), 3)
        (0.2, 0.34)
        """
        require_between("elasticity", elasticity, 0, 1, "")
        return cls(a=elasticity * density / of_area, b=(1 - elasticity) / of_area)


def fit_reciprocal(density: Sequence[float], of_plant: Sequence[float]) -> ReciprocalLaw:
    """
    The reciprocal law by least squares on the logarithm of the yield of a plant.

    Parameters
    ----------
    density : sequence of float, length n
        Plants on an area. [1/area] Valid above 0.
    of_plant : sequence of float, length n
        Yield of one plant. [g] Valid above 0.

    Returns
    -------
    ReciprocalLaw
        With a and b from 0.

    Raises
    ------
    InputError
        If there are fewer than two densities, or a figure is not above 0.

    References
    ----------
    .. [1] D. A. Ratkowsky, 1983, Nonlinear Regression Modeling, Marcel Dekker. (As cited with the agridat data; not
    read.)
    """
    _require_trial(density, of_plant, 2)
    import numpy as np
    from scipy.optimize import least_squares

    x, logs = np.asarray(density, float), np.log(np.asarray(of_plant, float))
    slope, start = np.polyfit(x, np.exp(-logs), 1)
    begin = np.maximum([start, slope], [1e-12, 1e-12])

    def left(parts: object) -> object:
        a, b = np.asarray(parts) * begin
        return -np.log(a + b * x) - logs

    found = least_squares(left, [1.0, 1.0], bounds=([1e-9, 1e-9], [np.inf, np.inf]), xtol=1e-14, ftol=1e-14)
    a, b = (float(value) for value in found.x * begin)
    return ReciprocalLaw(a=a, b=b)


class ExponentialLaw(msgspec.Struct, frozen=True, kw_only=True):
    """Yield of an area that rises and falls again with density: y = x a k^x. `a` [g], `k` within 0 to 1 [-]."""

    a: float
    k: float

    def of_area(self, density: float) -> float:
        """Yield of an area. [g/area]"""
        return density * self.a * float(self.k**density)

    @property
    def best_density(self) -> float:
        """Density of the highest yield; infinite where it never falls. [1/area]"""
        return -1 / math.log(self.k) if self.k < 1 else math.inf


def fit_exponential(density: Sequence[float], of_area: Sequence[float]) -> ExponentialLaw:
    """
    The exponential law y = x a k^x by least squares on the yield of an area.

    Parameters
    ----------
    density, of_area : sequence of float, length n
        Plants on an area [1/area] and its yield [g/area]. Valid above 0.

    Returns
    -------
    ExponentialLaw
        With its best density.

    Raises
    ------
    InputError
        If there are fewer than two densities, or a figure is not above 0.

    References
    ----------
    .. [1] S. G. Carmer and J. A. Jackobs, 1965, Agronomy Journal 57:241,
       doi 10.2134/agronj1965.00021962005700030003x. (As in the agridat help page; not read.)
    """
    _require_trial(density, of_area, 2)
    import numpy as np
    from scipy.optimize import least_squares

    x, y = np.asarray(density, float), np.asarray(of_area, float)
    slope, start = np.polyfit(x, np.log(y / x), 1)
    found = least_squares(
        lambda parts: x * np.exp(parts[0] + parts[1] * x) - y, [start, slope], xtol=1e-14, ftol=1e-14
    )  # fmt: skip
    return ExponentialLaw(a=float(np.exp(found.x[0])), k=float(np.exp(found.x[1])))


def _require_trial(density: Sequence[float], brought: Sequence[float], least: int) -> None:
    if len(density) != len(brought) or len(set(density)) < least:
        raise InputError("densities", len(set(density)), f"at least {least} must differ, each with a yield")
    if not all(0 < value < math.inf for value in (*density, *brought)):
        raise InputError("trial", "a figure", "every density and yield must be above 0")


def warmth_response(temp_c: float, lowest_c: float, best_c: float, highest_c: float) -> float:
    """
    Rate of development at a temperature, against that at the best one.

    Parameters
    ----------
    temp_c : float
        Temperature. [°C]
    lowest_c, best_c, highest_c : float
        Cardinal temperatures, rising. [°C]

    Returns
    -------
    float
        1 at the best, 0 at and beyond the lowest and highest. [-]

    Raises
    ------
    InputError
        If the cardinal temperatures do not rise, or a figure is not a number.

    Notes
    -----
    The beta function of Yan and Hunt [1]_.

    References
    ----------
    .. [1] W. Yan and L. A. Hunt, 1999, Annals of Botany 84:607, doi 10.1006/anbo.1999.0955. (Equation from memory.)

    Examples
    --------
    >>> round(warmth_response(15, 4, 25, 35), 4), round(warmth_response(30, 4, 25, 35), 4)
    (0.5144, 0.783)
    """
    require_between("temp_c", temp_c, -60, 80, "°C", "If this is Fahrenheit, convert first.")
    if not lowest_c < best_c < highest_c:
        raise InputError("best_c", f"{best_c:g}", f"must lie between {lowest_c:g} and {highest_c:g}", "", "°C")
    if not lowest_c < temp_c < highest_c:
        return 0.0
    power = (best_c - lowest_c) / (highest_c - best_c)
    rising = (temp_c - lowest_c) / (best_c - lowest_c)
    return float((highest_c - temp_c) / (highest_c - best_c) * rising**power)


# What trials imply ----------------------------------------------------------------------------------------------------

DENSITY_ELASTICITY = (0.35, 0.2)
"""Per cent more grams per cm2 for each per cent more live seeds, at a microgreens density: mean and sd. [-]

signore2024 (abstract seen): rapini, kale, cress, +19 % from 3 to 5 seeds/cm2, which is 0.34. pill_radicle (abstract
seen): radish from 0.23 to 0.93 seeds/cm2, shoot weights 0.58 and 0.68 of the thin stand's, which is 0.61 and 0.72; so
thin a stand competes less, and the reciprocal law lets the figure fall with density. cowden2024 (abstract seen) gives
+37 % without its densities: twice as many seeds would make it 0.45, three times 0.29. cecilio2025: rising over all of
60 to 300 g/m2. The mean is the one trial at a density that is sown; the sd is that of the three figures, 0.20.
"""
LIGHT_ELASTICITY = (0.27, 0.12)
"""Per cent more grams per cm2 for each per cent more light, from 100 to 600 umol/m2/s: mean and sd. [-]

jonesbaumgardt2019, *from memory, to be confirmed*: kale 0.17, cabbage 0.25, arugula 0.32, mustard 0.33; mean 0.27, sd
0.07, widened for being from memory and for samuoliene2013, who saw no gain above 440 umol/m2/s (in words).
"""
