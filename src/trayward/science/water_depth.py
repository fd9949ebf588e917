"""How deep water stands: in a tray with a mat, in a box, in a lying barrel; and how much a weight says is gone."""

from __future__ import annotations

import math
from itertools import pairwise

from trayward.errors import InputError, require_between
from trayward.science.either import require_positive
from trayward.science.solution_constants import water_density

MM3_PER_ML = 1000.0
MM3_PER_L = 1e6


def tray_ml(
    length_mm: float,
    width_mm: float,
    depth_mm: float,
    *,
    mat_mm: float = 0.0,
    mat_from_mm: float = 0.0,
    mat_solid: float = 0.0,
    ribs: float = 0.0,
    ribs_mm: float = 0.0,
) -> float:
    """
    Water that fills a level tray to a depth. [ml]

    Parameters
    ----------
    length_mm, width_mm : float
        Inside the tray, at the bottom. [mm] Valid above 0.
    depth_mm : float
        Of the water, from the bottom of the tray. [mm] Valid from 0 to 300.
    mat_mm : float
        Thickness of the mat. [mm] Valid from 0 to 100.
    mat_from_mm : float
        How high the mat's underside stands above the bottom. [mm]
    mat_solid : float
        Share of the mat that is not water or air when wet: fibre, wire, seed. [-] Valid from 0 to 0.95.
    ribs : float
        Share of the bottom that ribs take up, up to `ribs_mm`. [-] Valid from 0 to 0.9.
    ribs_mm : float
        Height of the ribs. [mm]

    Returns
    -------
    float
        Volume. [ml] What a dry mat or roots soak up besides is not counted.

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    Geometry: area x depth, less ribs and the solid part of the mat as far as they stand in the water.

    Examples
    --------
    >>> round(tray_ml(520.0, 260.0, 10.0))
    1352
    """
    require_positive("tray length", length_mm, "mm")
    require_positive("tray width", width_mm, "mm")
    require_between("water depth", depth_mm, 0.0, 300.0, "mm", "Measure from the bottom of the tray up.")
    require_between("mat thickness", mat_mm, 0.0, 100.0, "mm")
    require_between("height of the mat", mat_from_mm, 0.0, 300.0, "mm")
    require_between("solid share of the mat", mat_solid, 0.0, 0.95, "", "A wet hemp mat is about 0.1, a wire mesh 0.3.")
    require_between("share of the bottom under ribs", ribs, 0.0, 0.9, "")
    require_between("height of the ribs", ribs_mm, 0.0, 300.0, "mm")
    in_mat = min(max(depth_mm - mat_from_mm, 0.0), mat_mm)
    # Where the mat hangs down between ribs, it fills the gaps alone.
    between = max(min(depth_mm, ribs_mm, mat_from_mm + mat_mm) - mat_from_mm, 0.0)
    clear = depth_mm - ribs * min(depth_mm, ribs_mm) - mat_solid * (in_mat - ribs * between)
    return length_mm * width_mm * clear / MM3_PER_ML


def tray_depth_mm(
    length_mm: float,
    width_mm: float,
    ml: float,
    *,
    mat_mm: float = 0.0,
    mat_from_mm: float = 0.0,
    mat_solid: float = 0.0,
    ribs: float = 0.0,
    ribs_mm: float = 0.0,
) -> float:
    """
    How deep a volume of water stands in a level tray. [mm]

    Parameters
    ----------
    length_mm, width_mm : float
        Inside the tray. [mm]
    ml : float
        Water in it. [ml] Valid from 0.
    mat_mm, mat_from_mm, mat_solid, ribs, ribs_mm : float
        As for `tray_ml`.

    Raises
    ------
    InputError
        If a value is out of range, or so much water does not stay in any tray.

    Examples
    --------
    >>> round(tray_depth_mm(520.0, 260.0, 1352.0), 3)
    10.0
    """

    def held(depth_mm: float) -> float:
        return tray_ml(
            length_mm, width_mm, depth_mm,
            mat_mm=mat_mm, mat_from_mm=mat_from_mm, mat_solid=mat_solid, ribs=ribs, ribs_mm=ribs_mm,
        )  # fmt: skip

    require_between("water", ml, 0.0, held(300.0), "ml", "Measure the tray again.")
    # The volume rises in straight pieces between these heights.
    corners = sorted({0.0, min(ribs_mm, 300.0), mat_from_mm, min(mat_from_mm + mat_mm, 300.0), 300.0})
    for low, high in pairwise(corners):
        if ml <= held(high):
            return low + (high - low) * (ml - held(low)) / (held(high) - held(low))
    return 300.0


def refill_g(weight_now_g: float, weight_full_g: float, weight_empty_g: float = 0.0) -> float:
    """
    Water a tray has lost since it was last full, by the scale. [g]

    Parameters
    ----------
    weight_now_g : float
        Of the whole tray, as it stands. [g] Valid above `weight_empty_g`.
    weight_full_g : float
        Of the same tray right after the last watering. [g]
    weight_empty_g : float
        Of the dry tray, mat and seed. [g]

    Returns
    -------
    float
        To put back. [g = ml] 0 where it has lost nothing.

    Raises
    ------
    InputError
        If a weight is missing, or the tray now weighs more than when full.

    Notes
    -----
    The plants grow meanwhile, by a few grams a day for a tray: that much is put back too little. Weigh the tray
    anew after watering.

    Examples
    --------
    >>> refill_g(2310.0, 2690.0)
    380.0
    """
    require_positive("weight now", weight_now_g, "g")
    require_positive("weight when full", weight_full_g, "g")
    require_between("weight of the dry tray", weight_empty_g, 0.0, weight_now_g, "g", "Is it the same tray?")
    if weight_now_g > weight_full_g:
        rule = f"is more than the {weight_full_g:g} g after the last watering"
        raise InputError("weight now", f"{weight_now_g:g}", rule, "Was it watered since? Then weigh it as full.", "g")
    return weight_full_g - weight_now_g


def litres_of_grams(grams: float, temp_c: float = 20.0) -> float:
    """
    Litres that a weight of water fills. [l]

    Examples
    --------
    >>> round(litres_of_grams(998.2), 3)
    1.0
    """
    require_between("water temperature", temp_c, 0.0, 50.0, "C")
    if not 0 <= grams < math.inf:
        raise InputError("weight", f"{grams:g}", "must not be below zero", "", "g")
    return grams / water_density(temp_c) / 1000


# Tanks ----------------------------------------------------------------------------------------------------------------


def box_litres(length_mm: float, width_mm: float, depth_mm: float, displaced_l: float = 0.0) -> float:
    """
    Water in a box-shaped tank or on a flood table. [l]

    Parameters
    ----------
    length_mm, width_mm : float
        Inside. [mm] Valid above 0.
    depth_mm : float
        Of the water. [mm] Valid from 0.
    displaced_l : float
        What stands in it takes up: trays, a pump. [l] Valid from 0 to what the box holds.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> box_litres(1200.0, 600.0, 25.0), round(box_litres(1200.0, 600.0, 25.0, 8 * 0.9), 1)
    (18.0, 10.8)
    """
    require_positive("tank length", length_mm, "mm")
    require_positive("tank width", width_mm, "mm")
    require_between("water depth", depth_mm, 0.0, 10_000.0, "mm", "Measure from the bottom up.")
    whole = length_mm * width_mm * depth_mm / MM3_PER_L
    require_between("what stands in the water", displaced_l, 0.0, whole, "l", "It cannot take up more than there is.")
    return whole - displaced_l


def box_depth_mm(length_mm: float, width_mm: float, litres: float, displaced_l: float = 0.0) -> float:
    """
    How deep water stands in a box-shaped tank. [mm]

    Parameters
    ----------
    length_mm, width_mm : float
        Inside. [mm] Valid above 0.
    litres : float
        Water. [l] Valid from 0.
    displaced_l : float
        What stands in it takes up. [l] Valid from 0.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(box_depth_mm(1200.0, 600.0, 10.8, 7.2), 6)
    25.0
    """
    require_positive("tank length", length_mm, "mm")
    require_positive("tank width", width_mm, "mm")
    require_between("water", litres, 0.0, 1e6, "l")
    require_between("what stands in the water", displaced_l, 0.0, 1e6, "l")
    return (litres + displaced_l) * MM3_PER_L / (length_mm * width_mm)


def barrel_litres(radius_mm: float, length_mm: float, depth_mm: float) -> float:
    """
    Water in a round tank that lies on its side. [l]

    Parameters
    ----------
    radius_mm, length_mm : float
        Inside. [mm] Valid above 0.
    depth_mm : float
        Of the water at its deepest. [mm] Valid from 0 to twice the radius.

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    Segment of a circle: r^2 arccos((r - h) / r) - (r - h) sqrt(2 r h - h^2). Flat ends.

    Examples
    --------
    >>> round(barrel_litres(300.0, 1000.0, 200.0), 1)
    82.5
    """
    require_positive("tank radius", radius_mm, "mm")
    require_positive("tank length", length_mm, "mm")
    require_between("water depth", depth_mm, 0.0, 2 * radius_mm, "mm", "It cannot stand higher than the tank.")
    below = radius_mm - depth_mm
    chord = math.sqrt(max(depth_mm * (2 * radius_mm - depth_mm), 0.0))
    segment = radius_mm**2 * math.acos(max(min(below / radius_mm, 1.0), -1.0)) - below * chord
    return min(max(segment, 0.0), math.pi * radius_mm**2) * length_mm / MM3_PER_L


def barrel_depth_mm(radius_mm: float, length_mm: float, litres: float) -> float:
    """
    How deep water stands in a round tank that lies on its side. [mm]

    Parameters
    ----------
    radius_mm, length_mm : float
        Inside. [mm] Valid above 0.
    litres : float
        Water. [l] Valid from 0 to what the tank holds.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(barrel_depth_mm(300.0, 1000.0, 82.47), 0)
    200.0
    """
    full = barrel_litres(radius_mm, length_mm, 2 * radius_mm)
    require_between("water", litres, 0.0, full, "l", "It holds no more.")
    low, high = 0.0, 2 * radius_mm
    for _ in range(60):
        middle = (low + high) / 2
        if barrel_litres(radius_mm, length_mm, middle) < litres:
            low = middle
        else:
            high = middle
    return (low + high) / 2
