"""Light and its exchange in closed form: what maps are checked against, and what walls give one another. Loads numpy.

A matt (Lambertian) surface with exitance M [umol/m2/s] looks as bright from every side and puts E = M F on a spot: F is
the share of the spot's half sky that it fills, weighted by the cosine. Lengths in any one unit.
"""

from __future__ import annotations

import math
from itertools import product

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trayward.science.either import require_each

Floats = NDArray[np.float64]
TINY = 1e-300
"""Keeps a logarithm from nothing; what it is multiplied by is nothing too. [-]"""


def below_point(umol_s: float, height_m: float, aside_m: ArrayLike = 0.0, power: float = 1.0) -> Floats:
    """
    Light below one point lamp whose light goes as cos^power.

    Parameters
    ----------
    umol_s : float
        Photon output. [umol/s] Valid from 0.
    height_m : float
        Height of the lamp. [m] Valid above 0.
    aside_m : array_like
        How far aside of it. [m]
    power : float
        1 for a Lambertian lamp. [-] Valid from 0.

    Returns
    -------
    array
        Light. [umol/m2/s]

    Raises
    ------
    InputError
        If a value is out of range.

    References
    ----------
    Inverse-square and cosine laws: output x (power + 1) / (2 pi) x h^(power+1) / r^(power+3).

    Examples
    --------
    >>> round(float(below_point(100, 0.5)), 2), round(float(below_point(100, 1.0)), 2)
    (127.32, 31.83)
    """
    _require(output=umol_s, power=power)
    _require_height(height_m)
    r = np.hypot(height_m, np.asarray(aside_m, float))
    return np.asarray(umol_s * (power + 1) / (2 * math.pi) * height_m ** (power + 1) / r ** (power + 3))


def below_endless_bar(umol_s_m: float, height_m: float, aside_m: ArrayLike = 0.0) -> Floats:
    """
    Light below a Lambertian bar that has no end.

    Parameters
    ----------
    umol_s_m : float
        Photons from each metre of it. [umol/s/m] Valid from 0.
    height_m : float
        Height. [m] Valid above 0.
    aside_m : array_like
        How far aside of it. [m]

    Returns
    -------
    array
        Light. [umol/m2/s]

    Raises
    ------
    InputError
        If a value is out of range.

    References
    ----------
    The limit of the bar's closed form: output x h^2 / (2 (h^2 + aside^2)^(3/2)); straight below it output / (2 h).

    Examples
    --------
    >>> float(below_endless_bar(60, 0.3))
    100.0
    """
    _require(output=umol_s_m)
    _require_height(height_m)
    p = np.hypot(height_m, np.asarray(aside_m, float))
    return np.asarray(umol_s_m * height_m**2 / (2 * p**3))


def disc_share(radius: float, height: float) -> float:
    """
    Share of its light that a matt disc puts on a spot straight below its middle: E / M.

    Parameters
    ----------
    radius, height : float
        Of the disc, and above the spot. Both above 0, in one unit.

    Returns
    -------
    float
        E / M. [-]

    Raises
    ------
    InputError
        If a value is out of range.

    References
    ----------
    r^2 / (r^2 + h^2): Howell, J. R., A Catalog of Radiation Heat Transfer Configuration Factors (formula from memory).

    Examples
    --------
    >>> round(1000 * disc_share(0.20, 0.30), 1)
    307.7
    """
    _require_height(radius, "radius")
    _require_height(height)
    return radius**2 / (radius**2 + height**2)


def strip_share(width: float, height: float, aside: float = 0.0) -> float:
    """
    E / M below a matt strip without end: half the difference of the sines of the angles to its edges.

    Parameters
    ----------
    width, height, aside : float
        Width of the strip, its height above the spot, and how far aside of its middle the spot is. One unit.

    Returns
    -------
    float
        E / M. [-]

    Raises
    ------
    InputError
        If a value is out of range.

    References
    ----------
    (sin b - sin a) / 2: Howell's catalog, or the crossed strings of Hottel (both from memory).

    Examples
    --------
    >>> round(strip_share(2.0, 1.0), 4)
    0.7071
    """
    _require_height(width, "width")
    _require_height(height)
    edges = (aside - width / 2, aside + width / 2)
    low, high = (edge / math.hypot(edge, height) for edge in edges)
    return (high - low) / 2


def corner_share(x: ArrayLike, y: ArrayLike, z: ArrayLike) -> Floats:
    """
    E / M on a spot parallel to a matt rectangle x by y, at distance z below one of its corners.

    Negative x or y turn the sign, so that any rectangle is a sum of four corners.

    Parameters
    ----------
    x, y : array_like
        Sides. One unit.
    z : array_like
        Distance. Above 0.

    Returns
    -------
    array
        E / M. [-]

    References
    ----------
    Howell's catalog; Siegel and Howell, Thermal Radiation Heat Transfer (both from memory).

    Examples
    --------
    >>> round(float(4 * corner_share(1e6, 1e6, 1.0)), 6), round(float(corner_share(1.0, 1.0, 1.0)), 4)
    (1.0, 0.1385)
    """
    x, y, z = (np.asarray(value, float) for value in (x, y, z))
    over_x, over_y = np.hypot(x, z), np.hypot(y, z)
    return np.asarray((x / over_x * np.arctan(y / over_x) + y / over_y * np.arctan(x / over_y)) / (2 * math.pi))


def side_corner_share(y: ArrayLike, z: ArrayLike, away: ArrayLike) -> Floats:
    """
    E / M on a spot square to a matt rectangle that begins in the spot's own plane: y along it, z up it, `away` off.

    Parameters
    ----------
    y, z : array_like
        Sides, from the foot of the spot's perpendicular on; negative y turns the sign. One unit.
    away : array_like
        Distance of the spot from the rectangle's plane. Above 0.

    Returns
    -------
    array
        E / M. [-]

    References
    ----------
    Howell's catalog; Siegel and Howell, Thermal Radiation Heat Transfer (both from memory).

    Examples
    --------
    >>> round(float(2 * side_corner_share(1e6, 1e6, 1.0)), 4)  # a wall without end fills half the sky
    0.5
    """
    y, z, away = (np.asarray(value, float) for value in (y, z, away))
    far = np.hypot(z, away)
    return np.asarray((np.arctan2(y, away) - away / far * np.arctan2(y, far)) / (2 * math.pi))


# Exchange between rectangles ------------------------------------------------------------------------------------------


def exchange_parallel(one: ArrayLike, other: ArrayLike, apart: float) -> Floats:
    """
    Area x view factor between rectangles in two parallel planes, all sides along x and y.

    Parameters
    ----------
    one, other : array_like
        Rectangles (n, 4) and (k, 4): x from, x to, y from, y to. One unit.
    apart : float
        Distance of the planes. Above 0.

    Returns
    -------
    array
        A F, (n, k); the same both ways. [unit^2]

    Raises
    ------
    InputError
        If the distance is not above 0.

    References
    ----------
    Howell's catalog, C-13; Ehlert, J. R. and Smith, T. F. (1993), View Factors for Perpendicular and Parallel
    Rectangular Plates, Journal of Thermophysics and Heat Transfer 7(1):173-175 (formulas from memory).

    Examples
    --------
    >>> round(float(exchange_parallel([[0, 1, 0, 1]], [[0, 1, 0, 1]], 1.0)[0, 0]), 4)
    0.1998
    """
    require_each("distance", apart, 0, math.inf, "", "Planes that touch have no light between them.", above=True)

    def corner(x: Floats, y: Floats) -> Floats:
        over_x, over_y = np.hypot(x, apart), np.hypot(y, apart)
        logs = apart**2 / 2 * np.log(x * x + y * y + apart**2)
        return np.asarray(y * over_x * np.arctan(y / over_x) + x * over_y * np.arctan(x / over_y) - logs)

    return _over_corners(np.asarray(one, float), np.asarray(other, float), lambda x, a, y, b: corner(x - a, y - b))


def exchange_square(one: ArrayLike, other: ArrayLike) -> Floats:
    """
    Area x view factor between rectangles in two planes that meet at a right angle.

    Parameters
    ----------
    one, other : array_like
        Rectangles (n, 4) and (k, 4): distance from the common line from, to; along the line from, to. One unit.

    Returns
    -------
    array
        A F, (n, k); the same both ways. [unit^2]

    References
    ----------
    Howell's catalog; Ehlert and Smith (1993), as for `exchange_parallel` (from memory).

    Examples
    --------
    >>> round(float(exchange_square([[0, 1, 0, 1]], [[0, 1, 0, 1]])[0, 0]), 4)
    0.2
    """

    def corner(x: Floats, a: Floats, y: Floats, b: Floats) -> Floats:
        off2 = x * x + a * a
        off, along = np.sqrt(off2), y - b
        return np.asarray(along * off * np.arctan2(along, off) - (off2 - along**2) / 4 * np.log(off2 + along**2 + TINY))

    return _over_corners(np.asarray(one, float), np.asarray(other, float), corner)


def _over_corners(one: Floats, other: Floats, corner: object) -> Floats:
    """Sum over both ends of all four sides, with the sign of each."""
    assert callable(corner)
    total = np.zeros((len(one), len(other)))
    for i, j, k, m in product(range(2), repeat=4):
        sign = -1.0 if (i + j + k + m) % 2 else 1.0
        x, y = one[:, None, i], one[:, None, 2 + j]
        a, b = other[None, :, k], other[None, :, 2 + m]
        total += sign * corner(x, a, y, b)
    return total / (2 * math.pi)


def _require(**values: float) -> None:
    for name, value in values.items():
        require_each(name, value, 0, math.inf, "", "Give a number from 0 on.")


def _require_height(value: float, name: str = "height") -> None:
    require_each(name, value, 0, math.inf, "", "Give a number above 0.", above=True)
