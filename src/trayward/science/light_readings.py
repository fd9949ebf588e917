"""What meters say of light: lux against photons, one lamp at two distances, and how even a shelf is lit."""

from __future__ import annotations

from typing import Any

import msgspec

from trayward.errors import InputError, NotFoundError
from trayward.science.either import require_each
from trayward.science.light import Value, require_ppfd

FARTHEST_MM = 20_000.0
"""No lamp over trays hangs farther. [mm]"""
SIZES_AWAY = 5.0
"""A lamp farther off than so many of its own sizes is as good as a point. [-] A usual value of lighting sums, seen in
`daylight_algorithms`."""

# Lux ------------------------------------------------------------------------------------------------------------------


class LuxFactor(msgspec.Struct, frozen=True, kw_only=True):
    """Lux that one umol/m2/s of a lamp's light shows on a lux meter. [lux/(umol/m2/s)]"""

    factor: float
    source: str
    low: float | None = None
    high: float | None = None
    """Where lamps of that name differ: their usual range."""


LUX_PER_UMOL = {
    "sun": LuxFactor(factor=54, source="thimijan1983"),
    "blue sky": LuxFactor(factor=52, source="thimijan1983"),
    "cool white fluorescent": LuxFactor(factor=74, source="thimijan1983"),
    "high pressure sodium": LuxFactor(factor=82, source="thimijan1983"),
    "metal halide": LuxFactor(factor=71, source="thimijan1983"),
    "incandescent": LuxFactor(factor=50, source="thimijan1983"),
    "white LED": LuxFactor(factor=67, low=60, high=75, source="practice"),
}
"""By light. A pink or purple lamp has no place here: a lux meter hardly sees its red and blue."""


def lux_factor(light: str) -> LuxFactor:
    """
    The factor of a light, by its name in any case.

    Raises
    ------
    NotFoundError
        If no factor of it is known: then only a quantum meter, or the lamp's own sheet, helps.

    Examples
    --------
    >>> lux_factor("Sun").factor
    54
    """
    found = {name.lower(): known for name, known in LUX_PER_UMOL.items()}.get(light.strip().lower())
    if found is None:
        remedy = "For other lamps look on their sheet for both, or measure with a quantum meter."
        raise NotFoundError("light", light, tuple(LUX_PER_UMOL), remedy)
    return found


def ppfd_of_lux(lux: Value, light: str) -> Value:
    """
    PPFD that a reading of a lux meter stands for.

    Parameters
    ----------
    lux : float or array
        The reading. [lux] Valid 0 to 500000.
    light : str
        What shines: `sun`, `blue sky`, `cool white fluorescent`, `high pressure sodium`, `metal halide`,
        `incandescent` or `white LED`.

    Returns
    -------
    float or array
        PPFD. [umol/m2/s]

    Raises
    ------
    InputError
        If the reading is out of range.
    NotFoundError
        If no factor of that light is known.

    References
    ----------
    Thimijan, R. W. and Heins, R. D. (1983), Photometric, Radiometric, and Quantum Light Units of Measure: A Review of
    Procedures for Interconversion, HortScience 18(6):818-822; factors as relayed on two public pages. White LED: common
    practice, no source.

    Examples
    --------
    >>> round(ppfd_of_lux(108_000, "sun")), round(ppfd_of_lux(14_800, "cool white fluorescent"))
    (2000, 200)
    """
    require_each("lux", lux, 0, 500_000, "lux", "Full sun at noon is about 110000 lux.")
    return lux / lux_factor(light).factor


def lux_of_ppfd(ppfd: Value, light: str) -> Value:
    """
    What a lux meter shows in light of some PPFD.

    Parameters
    ----------
    ppfd : float or array
        Light. [umol/m2/s] Valid 0 to 10000.
    light : str
        What shines; see `ppfd_of_lux`.

    Returns
    -------
    float or array
        Reading. [lux]

    Raises
    ------
    InputError
        If the light is out of range.
    NotFoundError
        If no factor of that light is known.

    Examples
    --------
    >>> lux_of_ppfd(200, "sun")
    10800
    """
    require_ppfd(ppfd)
    return ppfd * lux_factor(light).factor


# Distance and evenness ------------------------------------------------------------------------------------------------


def ppfd_at(ppfd: Value, measured_mm: float, distance_mm: Value) -> Value:
    """
    Light of one small lamp at another distance, straight below it.

    Parameters
    ----------
    ppfd : float or array
        Light measured below the lamp. [umol/m2/s] Valid 0 to 10000.
    measured_mm : float
        Distance at which it was measured. [mm] Valid above 0.
    distance_mm : float or array
        The other distance. [mm] Valid above 0.

    Returns
    -------
    float or array
        Light there. [umol/m2/s]

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    The inverse-square law of a point. It holds where both distances are more than about 5 sizes of the lamp: see
    `like_a_point`. Below a long bar light falls with the distance itself, below a wide panel hardly at all.

    Examples
    --------
    >>> ppfd_at(600, 300, 600), round(ppfd_at(600, 300, 900), 1)
    (150.0, 66.7)
    """
    require_ppfd(ppfd)
    for name, value in (("distance measured", measured_mm), ("distance", distance_mm)):
        require_each(name, value, 0, FARTHEST_MM, "mm", "Measure from the lamp's face to the leaves.", above=True)
    return ppfd * (measured_mm / distance_mm) ** 2


def like_a_point(size_mm: float, distance_mm: float) -> bool:
    """
    Whether a lamp is so far off that the inverse-square law holds: over 5 of its longest sides.

    Examples
    --------
    >>> like_a_point(50, 300), like_a_point(600, 300)
    (True, False)
    """
    return distance_mm >= SIZES_AWAY * size_mm


class Evenness(msgspec.Struct, frozen=True, kw_only=True):
    """How even light is over a shelf. `least`, `mean`, `most` in the unit of the map; the others are shares. [-]"""

    least: float
    mean: float
    most: float
    min_mean: float
    """Least over mean: the usual ratio of lighting."""
    min_max: float
    cv: float
    """Standard deviation (n - 1) over mean."""
    christiansen: float
    """1 less the mean distance from the mean, over the mean."""


def uniformity(values: Any) -> Evenness:
    """
    How even light is, from readings or a map.

    Parameters
    ----------
    values : sequence or array
        PPFD at points that stand for equal areas. [umol/m2/s] Valid from 0, at least two, not all 0.

    Returns
    -------
    Evenness
        Least, mean and most, and four ratios. [-]

    Raises
    ------
    InputError
        If there are fewer than two values, one is not a number, below 0, or all are 0.

    References
    ----------
    Christiansen, J. E. (1942), Irrigation by Sprinkling, California Agricultural Experiment Station Bulletin 670.

    Examples
    --------
    >>> found = uniformity([180, 200, 210, 190, 150, 220, 205, 195, 170])
    >>> round(found.mean, 1), round(found.min_mean, 3), round(found.min_max, 3), round(found.cv, 4)
    (191.1, 0.785, 0.682, 0.1131)
    """
    import numpy as np

    light = np.asarray(values, float).ravel()
    if light.size < 2:
        raise InputError("values", light.size, "evenness takes two values or more", "Measure at nine points or more.")
    if not (np.isfinite(light).all() and (light >= 0).all() and light.max() > 0):
        raise InputError("values", "map", "must be light from 0 on, and not all dark", "Look for a reading gone wrong.")
    least, mean, most = float(light.min()), float(light.mean()), float(light.max())
    away = light - mean
    return Evenness(
        least=least,
        mean=mean,
        most=most,
        min_mean=least / mean,
        min_max=least / most,
        cv=float(np.sqrt((away**2).sum() / (light.size - 1))) / mean,
        christiansen=1 - float(np.abs(away).mean()) / mean,
    )
