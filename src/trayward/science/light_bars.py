"""The light that lamps put on any spot, straight: points and bars in closed form, panels as bars. Loads numpy."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import chain

import msgspec
import numpy as np
from numpy.typing import NDArray

from trayward.science.lamps import Beam, HungLamp, require_lamps

Floats = NDArray[np.float64]

STRIPS = 8
"""A lamp with a width is reckoned as so many bars side by side, placed and weighted by Gauss. [-]"""
TABLE = 1025
"""Points of the table of a beam that has no closed form. [-]"""
POINT_MM = 1e-3
"""A bar with less than this on each side of its middle is a point. [mm]"""
M2 = 1e6
"""Square millimetres in a square metre. [mm2/m2]"""


@lru_cache(maxsize=16)
def gauss(points: int) -> tuple[Floats, Floats]:
    """Points between -1 and 1 and their weights, by which Gauss and Legendre sum a smooth curve. [-]"""
    nodes, weights = np.polynomial.legendre.leggauss(points)
    return np.asarray(nodes, dtype=np.float64), np.asarray(weights, dtype=np.float64)


class Bar(msgspec.Struct, frozen=True):
    """A bar without a width: its middle [mm], the way it lies (a unit vector), half its length [mm], its photons."""

    middle: tuple[float, float, float]
    along: tuple[float, float]
    half: float
    umol_s: float
    beam: Beam


def bars_of(lamp: HungLamp) -> tuple[Bar, ...]:
    """The bars a lamp is made of: itself, or strips side by side where it has a width."""
    turn = math.radians(lamp.angle_deg)
    along = (math.cos(turn), math.sin(turn))
    if lamp.width_mm == 0:
        at: list[tuple[float, float]] = [(0.0, 1.0)]
    else:
        nodes, weights = gauss(STRIPS)
        at = [(float(n) * lamp.width_mm / 2, float(w) / 2) for n, w in zip(nodes, weights, strict=True)]
    return tuple(
        Bar(
            (lamp.x_mm - step * along[1], lamp.y_mm + step * along[0], lamp.height_mm),
            along,
            lamp.length_mm / 2,
            lamp.umol_s * share,
            lamp.beam,
        )
        for step, share in at
    )


def light_on(lamps: Sequence[HungLamp], points_mm: Floats, facing: tuple[float, float, float] = (0, 0, -1)) -> Floats:
    """
    Light that lamps put on spots of flat surfaces that lie alike, straight from the lamps.

    Parameters
    ----------
    lamps : sequence of HungLamp
        The lamps.
    points_mm : array
        Where the spots are, (n, 3). [mm] Every lamp lies on the lit side of the surface.
    facing : (float, float, float)
        The way light goes that strikes the surface square on: (0, 0, -1) for a shelf. [-]

    Returns
    -------
    array
        Light (n,). [umol/m2/s]

    Raises
    ------
    InputError
        If a lamp cannot hang so.

    Notes
    -----
    Light falls off with the square of the distance and the cosines at lamp and surface. Over a bar that is summed in
    closed form: with p the distance from the bar's line, h the drop below it, r the distance from one of its points and
    s the way along it, both of

        integral ds / r^(m+3)   = [C(m+1, angle)] / p^(m+2),  C(k, a) = integral of cos^k from 0 to a
        integral s ds / r^(m+3) = -[1 / r^(m+1)] / (m+1)

    are elementary; C for whole k by the usual recurrence, for others from a table good to 1e-12. A point lamp is a bar
    of no length, a panel is strips side by side.

    Examples
    --------
    >>> lamp = HungLamp(x_mm=0, y_mm=0, height_mm=300, umol_s=44)
    >>> round(float(light_on([lamp], np.array([[0.0, 0.0, 0.0]]))[0]), 1)
    155.6
    """
    require_lamps(lamps)
    points = np.asarray(points_mm, float)
    total = np.zeros(len(points))
    for bar in chain.from_iterable(bars_of(lamp) for lamp in lamps):
        total += _light_of_bar(bar, points, facing)
    return total * M2


def _light_of_bar(bar: Bar, points: Floats, facing: tuple[float, float, float]) -> Floats:
    """Light of one bar. [umol/mm2/s]"""
    m, (ux, uy), half = bar.beam.power, bar.along, bar.half
    x, y, z = (points[:, axis] - bar.middle[axis] for axis in range(3))
    way = x * ux + y * uy
    side = x * -uy + y * ux
    p2 = side * side + z * z
    # How far each spot lies from the bar's line towards the surface, and how much the bar's own direction counts.
    toward = side * (facing[1] * ux - facing[0] * uy) + z * facing[2]
    lengthwise = facing[0] * ux + facing[1] * uy
    strength = bar.umol_s * bar.beam.straight_down
    drop = 1.0 if m == 0 else np.maximum(-z, 0.0) ** m
    found = strength * drop * (_point if half < POINT_MM else _line)(m, way, half, p2, toward, lengthwise)
    return found if bar.beam.all_round else np.where(z < 0, found, 0.0)


def _point(m: float, way: Floats, half: float, p2: Floats, toward: Floats, lengthwise: float) -> Floats:  # noqa: ARG001
    found: Floats = (toward + lengthwise * way) / (p2 + way * way) ** ((m + 3) / 2)
    return found


def _line(m: float, way: Floats, half: float, p2: Floats, toward: Floats, lengthwise: float) -> Floats:
    """The two integrals over the bar, for each mm of it."""
    p2 = np.maximum(p2, 1e-9)  # on the bar's own line the first term is nothing
    p = np.sqrt(p2)
    if m == 1:  # most lamps: sin cos is s p / r^2, and one angle does for the difference of two
        far, near = way + half, way - half
        angle = np.arctan2(2 * half * p, p2 + far * near)
        found = toward * (p * (far / (p2 + far * far) - near / (p2 + near * near)) + angle) / (2 * p2 * p)
    else:
        found = toward * (cosines(m + 1, way + half, p) - cosines(m + 1, way - half, p)) / p2 ** ((m + 2) / 2)
    if abs(lengthwise) > 1e-12:
        ends = [(p2 + end * end) ** (-(m + 1) / 2) for end in (way + half, way - half)]
        found = found + lengthwise * (ends[1] - ends[0]) / (m + 1)
    result: Floats = found / (2 * half)
    return result


def cosines(k: float, s: Floats, p: Floats) -> Floats:
    """
    Integral of cos^k from 0 to the angle whose tangent is s / p.

    Closed form for whole k: C(k) = sin cos^(k-1) / k + (k-1)/k C(k-2), from C(0) = angle and C(1) = sin.

    Examples
    --------
    >>> round(float(cosines(2, np.array([1.0]), np.array([1.0]))[0]), 6)  # pi / 8 + 1 / 4
    0.642699
    """
    if k != round(k) or k > 20:
        return _from_table(k, np.arctan2(s, p))
    r = np.sqrt(s * s + p * p)
    sine, cosine = s / r, p / r
    whole = round(k)
    found: Floats = np.arctan2(s, p) if whole % 2 == 0 else sine
    for step in range(whole % 2 + 2, whole + 1, 2):
        found = sine * cosine ** (step - 1) / step + (step - 1) / step * found
    return found


def _from_table(k: float, angle: Floats) -> Floats:
    """Between the table's points by a cubic that also has the right slope, which is cos^k itself."""
    values, slopes, step = _table(k)
    size = np.abs(angle) / step
    at = np.minimum(size.astype(int), TABLE - 2)
    t = size - at
    left, right = values[at], values[at + 1]
    curve = (
        left * (1 + 2 * t) * (1 - t) ** 2
        + right * t**2 * (3 - 2 * t)
        + step * (slopes[at] * t * (1 - t) ** 2 - slopes[at + 1] * t**2 * (1 - t))
    )
    found: Floats = np.copysign(curve, angle)
    return found


@lru_cache(maxsize=32)
def _table(k: float) -> tuple[Floats, Floats, float]:
    angles = np.linspace(0, np.pi / 2, TABLE)
    step = float(angles[1])
    nodes, weights = gauss(6)
    inside = angles[:-1, None] + step / 2 * (nodes + 1)
    parts = (np.cos(inside) ** k * weights).sum(axis=1) * step / 2
    return np.concatenate(([0.0], np.cumsum(parts))), np.maximum(np.cos(angles), 0.0) ** k, step
