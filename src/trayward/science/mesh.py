"""What falls through a mesh: sizes of seed against openings, one by one or as a spread; numbers or arrays."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from trayward.errors import InputError
from trayward.science.either import Either, extremes, require_each

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SEED_SOLID_DENSITY = 1.1
"""Density of a seed itself, taken for all crops. [g/cm3] From memory; it turns a seed's mass into a size."""

TEST_SIEVE_MM = {4: 4.75, 5: 4.00, 6: 3.35, 7: 2.80, 10: 2.00, 14: 1.40, 18: 1.00, 20: 0.850}
"""Opening of woven wire test sieves by their number. [mm] Source: `source("astm_e11")`, 2 mm and finer from memory."""


def equivalent_diameter(tsw_g: float, solid_density: float = SEED_SOLID_DENSITY) -> float:
    """
    Diameter of a ball as heavy as one seed.

    Parameters
    ----------
    tsw_g : float
        Weight of a thousand seeds. [g] Valid above 0.
    solid_density : float
        Density of the seed itself. [g/cm3] Valid above 0.

    Returns
    -------
    float
        Diameter. [mm]

    Raises
    ------
    InputError
        If a value is not above zero.

    Notes
    -----
    An upper bound for what decides at a mesh: long or flat seed is thinner than its ball.

    Examples
    --------
    >>> round(equivalent_diameter(3.15), 2)
    1.76
    """
    require_each("tsw_g", tsw_g, 0, math.inf, "g", above=True)
    require_each("solid_density", solid_density, 0, math.inf, "g/cm3", above=True)
    return float((6 * tsw_g / solid_density / math.pi) ** (1 / 3))  # 1 mg / (1 g/cm3) is 1 mm3


def mesh_pass_size(width_mm: Either, thickness_mm: Either | None = None) -> Either:
    """
    Smallest square hole that a dry seed standing on end can fall through.

    Parameters
    ----------
    width_mm : float or array
        The seed's middle measure. [mm] Valid above 0.
    thickness_mm : float, array or None
        Its smallest measure; None: round in section. [mm] Valid above 0, up to the width.

    Returns
    -------
    float or array
        Side of the square hole. [mm]

    Raises
    ------
    InputError
        If a measure is not above zero, or the thickness is more than the width.

    Notes
    -----
    An elliptic section w by t turned by 45 degrees spans sqrt((w^2 + t^2) / 2) each way, so the smaller of that and w
    decides. Derived, not published.

    Examples
    --------
    >>> round(mesh_pass_size(1.2, 0.87), 2)
    1.05
    """
    require_each("width_mm", width_mm, 0, math.inf, "mm", above=True)
    if thickness_mm is None:
        return width_mm
    require_each("thickness_mm", thickness_mm, 0, math.inf, "mm", above=True)
    if extremes(thickness_mm - width_mm)[1] > 0:
        raise InputError("thickness_mm", *_thicker(thickness_mm, width_mm), "", "mm")
    squares = (width_mm**2 + thickness_mm**2) / 2
    if isinstance(squares, (int, float)):
        return math.sqrt(squares)
    import numpy as np

    return np.sqrt(squares)


def _thicker(thickness_mm: Either, width_mm: Either) -> tuple[str, str]:
    """The seed that is thicker than wide, and the rule it breaks."""
    if isinstance(thickness_mm, (int, float)) and isinstance(width_mm, (int, float)):
        return f"{thickness_mm:g}", f"must not be more than the width, {width_mm:g} mm"
    return "some", "must not be more than the width of the same seed"


def sieve_opening(number: int) -> float:
    """
    Opening of a woven wire test sieve. [mm]

    Examples
    --------
    >>> sieve_opening(18)
    1.0
    """
    if number not in TEST_SIEVE_MM:
        listed = ", ".join(str(each) for each in TEST_SIEVE_MM)
        raise InputError(
            "sieve", f"No. {number}", "is not on record here", f"On record: {listed}. Or give the opening."
        )
    return TEST_SIEVE_MM[number]


def falls_through(
    width_mm: NDArray[np.float64],
    opening_mm: float,
    thickness_mm: NDArray[np.float64] | None = None,
    *,
    square_holes: bool = True,
) -> NDArray[np.bool_]:
    """
    Which of many measured seeds fall through a mesh when dry.

    Parameters
    ----------
    width_mm : ndarray, shape (n,)
        Middle measure of each. [mm] Valid above 0.
    opening_mm : float
        Side of a square hole, or diameter of a round one. [mm] Valid above 0.
    thickness_mm : ndarray, shape (n,), or None
        Smallest measure of each; None: round in section. [mm] Valid above 0, up to the width.
    square_holes : bool
        False for round holes, where the width alone decides.

    Returns
    -------
    ndarray of bool, shape (n,)

    Raises
    ------
    InputError
        If a measure is out of range.

    Examples
    --------
    >>> import numpy as np
    >>> falls_through(np.array([0.9, 1.1, 1.3]), 1.0, np.array([0.8, 0.8, 0.9])).tolist()
    [True, True, False]
    """
    require_each("opening_mm", opening_mm, 0, math.inf, "mm", above=True)
    size = mesh_pass_size(width_mm, thickness_mm if square_holes else None)
    return size <= opening_mm


def share_retained(
    width_mean_mm: float,
    width_sd_mm: float,
    opening_mm: Either,
    *,
    thickness_mm: float | None = None,
    square_holes: bool = True,
) -> Either:
    """
    Share of the seed that a mesh holds back, when widths spread normally.

    Parameters
    ----------
    width_mean_mm, width_sd_mm : float
        Mean and standard deviation of the seed's middle measure. [mm] Mean above 0, sd from 0.
    opening_mm : float or array
        Clear opening: side of a square hole, or diameter of a round one. [mm] Valid above 0.
    thickness_mm : float or None
        The seed's smallest measure; None: round in section. It only matters in a square hole. [mm]
    square_holes : bool
        False for round holes, where the width alone decides.

    Returns
    -------
    float or array
        Share held back, 0 to 1. [-]

    Raises
    ------
    InputError
        If a measure is out of range.

    Notes
    -----
    Upper tail of the normal distribution beyond the widest seed that passes. In a square hole a flat seed passes on the
    diagonal, so seed up to sqrt(2 a^2 - t^2) wide falls through.

    Examples
    --------
    >>> round(share_retained(1.6, 0.15, 1.40), 4)
    0.9088
    """
    require_each("width_mean_mm", width_mean_mm, 0, math.inf, "mm", above=True)
    require_each("width_sd_mm", width_sd_mm, 0, math.inf, "mm")
    require_each("opening_mm", opening_mm, 0, math.inf, "mm", "Measure the hole, not the thread.", above=True)
    if thickness_mm is not None:
        require_each("thickness_mm", thickness_mm, 0, math.inf, "mm", above=True)
    if isinstance(opening_mm, (int, float)):
        return _held(
            _widest_that_passes(opening_mm, thickness_mm if square_holes else None), width_mean_mm, width_sd_mm
        )
    import numpy as np
    from scipy.special import ndtr

    through = np.asarray(opening_mm, float)
    if square_holes and thickness_mm is not None:
        through = np.where(thickness_mm >= through, through, np.sqrt(np.maximum(2 * through**2 - thickness_mm**2, 0)))
    if width_sd_mm == 0:
        return np.where(width_mean_mm > through, 1.0, 0.0)
    return np.asarray(ndtr((width_mean_mm - through) / width_sd_mm))


def _held(widest: float, mean: float, sd: float) -> float:
    if sd == 0:
        return 1.0 if mean > widest else 0.0
    return 0.5 * math.erfc((widest - mean) / sd / math.sqrt(2))


def _widest_that_passes(opening_mm: float, thickness_mm: float | None) -> float:
    if thickness_mm is None or thickness_mm >= opening_mm:
        return opening_mm
    return math.sqrt(2 * opening_mm**2 - thickness_mm**2)
