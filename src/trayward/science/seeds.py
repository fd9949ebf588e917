"""Seed arithmetic: weight, count, volume, density on the tray, and what falls through a mesh."""

from __future__ import annotations

import math

from trayward.errors import InputError, require_between

SEED_SOLID_DENSITY = 1.1
"""Density of a seed itself, taken for all crops. [g/cm3] From memory; it turns a seed's mass into a size."""

TEST_SIEVE_MM = {4: 4.75, 5: 4.00, 6: 3.35, 7: 2.80, 10: 2.00, 14: 1.40, 18: 1.00, 20: 0.850}
"""Opening of woven wire test sieves by their number. [mm] Source: `source("astm_e11")`, 2 mm and finer from memory."""


def _require_positive(name: str, value: float, unit: str, remedy: str = "") -> None:
    if not 0 < value < math.inf:
        raise InputError(name, f"{value:g}", "must be above zero", remedy, unit)


def _require_not_negative(name: str, value: float, unit: str) -> None:
    if not 0 <= value < math.inf:
        raise InputError(name, f"{value:g}", "must not be below zero", "", unit)


def _require_live_share(live_share: float) -> None:
    remedy = "Give the share that sprouts, for instance 0.85 for 85 %."
    if not 0 < live_share <= 1:
        raise InputError("live_share", f"{live_share:g}", "must lie above 0 and up to 1", remedy)


def seeds_in_grams(grams: float, tsw_g: float) -> float:
    """
    How many seeds a weight of seed holds.

    Parameters
    ----------
    grams : float
        Weight of seed. [g] Valid from 0.
    tsw_g : float
        Weight of a thousand seeds. [g] Valid above 0.

    Returns
    -------
    float
        Seeds. [-]

    Raises
    ------
    InputError
        If a weight is out of range.

    Examples
    --------
    >>> round(seeds_in_grams(20.0, 3.17))
    6309
    """
    _require_not_negative("grams", grams, "g")
    _require_positive("tsw_g", tsw_g, "g", "Count 100 seeds, weigh them, and multiply by 10.")
    return grams / tsw_g * 1000


def tsw_of_count(seeds: float, grams: float) -> float:
    """
    Weight of a thousand seeds, from a counted and weighed sample.

    Parameters
    ----------
    seeds : float
        Seeds counted. [-] Valid above 0.
    grams : float
        What they weigh. [g] Valid above 0.

    Returns
    -------
    float
        Weight of a thousand seeds. [g]

    Raises
    ------
    InputError
        If either is not above zero.

    Examples
    --------
    >>> round(tsw_of_count(75, 1.0), 2)
    13.33
    """
    _require_positive("seeds", seeds, "")
    _require_positive("grams", grams, "g")
    return grams / seeds * 1000


def grams_for_density(live_seeds_per_cm2: float, area_cm2: float, tsw_g: float, live_share: float) -> float:
    """
    Grams of seed that put the wanted number of live seeds on each square centimetre.

    Parameters
    ----------
    live_seeds_per_cm2 : float
        Live seeds wanted. [1/cm2] Valid from 0.
    area_cm2 : float
        Growing area of the tray. [cm2] Valid above 0.
    tsw_g : float
        Weight of a thousand seeds. [g] Valid above 0.
    live_share : float
        Share of the seed that sprouts. [-] Valid above 0 and up to 1.

    Returns
    -------
    float
        Seed to weigh out. [g]

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    density x area x thousand-seed weight / 1000 / live share. Seed sold in clusters (beet, chard) counts clusters.

    Examples
    --------
    >>> round(grams_for_density(4.4, 1290.32, 3.15, 0.9), 1)
    19.9
    """
    _require_not_negative("live_seeds_per_cm2", live_seeds_per_cm2, "1/cm2")
    _require_positive("area_cm2", area_cm2, "cm2", "Measure the inside of the tray: length x width.")
    _require_positive("tsw_g", tsw_g, "g", "Count 100 seeds, weigh them, and multiply by 10.")
    _require_live_share(live_share)
    return live_seeds_per_cm2 * area_cm2 * tsw_g / 1000 / live_share


def density_of_grams(grams: float, area_cm2: float, tsw_g: float, live_share: float = 1.0) -> float:
    """
    Live seeds on each square centimetre that a weight of seed gives; with a live share of 1, all seeds.

    Parameters
    ----------
    grams : float
        Seed on the tray. [g] Valid from 0.
    area_cm2 : float
        Growing area of the tray. [cm2] Valid above 0.
    tsw_g : float
        Weight of a thousand seeds. [g] Valid above 0.
    live_share : float
        Share of the seed that sprouts. [-] Valid above 0 and up to 1.

    Returns
    -------
    float
        Live seeds. [1/cm2]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(density_of_grams(20.0, 1290.32, 3.17), 2)
    4.89
    """
    _require_positive("area_cm2", area_cm2, "cm2", "Measure the inside of the tray: length x width.")
    _require_live_share(live_share)
    return seeds_in_grams(grams, tsw_g) * live_share / area_cm2


def volume_of_grams(grams: float, density_g_per_ml: float) -> float:
    """
    Volume that seed takes up in a spoon or cup.

    Parameters
    ----------
    grams : float
        Weight of seed. [g] Valid from 0.
    density_g_per_ml : float
        Bulk density, air between the seeds included. [g/ml] Valid above 0, up to 2.

    Returns
    -------
    float
        Volume. [ml]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(volume_of_grams(20.0, 0.676), 1)
    29.6
    """
    _require_not_negative("grams", grams, "g")
    _require_bulk_density(density_g_per_ml)
    return grams / density_g_per_ml


def grams_of_volume(ml: float, density_g_per_ml: float) -> float:
    """
    Weight of a volume of seed.

    Parameters
    ----------
    ml : float
        Volume. [ml] Valid from 0.
    density_g_per_ml : float
        Bulk density, air between the seeds included. [g/ml] Valid above 0, up to 2.

    Returns
    -------
    float
        Weight. [g]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(grams_of_volume(29.57, 0.676), 1)
    20.0
    """
    _require_not_negative("ml", ml, "ml")
    _require_bulk_density(density_g_per_ml)
    return ml * density_g_per_ml


def _require_bulk_density(density_g_per_ml: float) -> None:
    remedy = "Fill a level cup with seed, weigh it, divide by the cup's millilitres."
    _require_positive("density_g_per_ml", density_g_per_ml, "g/ml", remedy)
    require_between("density_g_per_ml", density_g_per_ml, 0, 2, "g/ml", "If this is kg/m3, divide by 1000.")


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
    _require_positive("tsw_g", tsw_g, "g")
    _require_positive("solid_density", solid_density, "g/cm3")
    return float((6 * tsw_g / solid_density / math.pi) ** (1 / 3))  # 1 mg / (1 g/cm3) is 1 mm3


def mesh_pass_size(width_mm: float, thickness_mm: float | None = None) -> float:
    """
    Smallest square hole that a dry seed standing on end can fall through.

    Parameters
    ----------
    width_mm : float
        The seed's middle measure. [mm] Valid above 0.
    thickness_mm : float or None
        Its smallest measure; None: round in section. [mm] Valid above 0, up to the width.

    Returns
    -------
    float
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
    _require_positive("width_mm", width_mm, "mm")
    if thickness_mm is None:
        return width_mm
    _require_positive("thickness_mm", thickness_mm, "mm")
    if thickness_mm > width_mm:
        raise InputError("thickness_mm", thickness_mm, f"must not be more than the width, {width_mm:g} mm", "", "mm")
    return math.sqrt((width_mm**2 + thickness_mm**2) / 2)


def share_retained(
    width_mean_mm: float,
    width_sd_mm: float,
    opening_mm: float,
    *,
    thickness_mm: float | None = None,
    square_holes: bool = True,
) -> float:
    """
    Share of the seed that a mesh holds back, when widths spread normally.

    Parameters
    ----------
    width_mean_mm, width_sd_mm : float
        Mean and standard deviation of the seed's middle measure. [mm] Mean above 0, sd from 0.
    opening_mm : float
        Clear opening: side of a square hole, or diameter of a round one. [mm] Valid above 0.
    thickness_mm : float or None
        The seed's smallest measure; None: round in section. It only matters in a square hole. [mm]
    square_holes : bool
        False for round holes, where the width alone decides.

    Returns
    -------
    float
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
    _require_positive("width_mean_mm", width_mean_mm, "mm")
    _require_not_negative("width_sd_mm", width_sd_mm, "mm")
    _require_positive("opening_mm", opening_mm, "mm")
    widest = _widest_that_passes(opening_mm, thickness_mm if square_holes else None)
    if width_sd_mm == 0:
        return 1.0 if width_mean_mm > widest else 0.0
    return 0.5 * math.erfc((widest - width_mean_mm) / width_sd_mm / math.sqrt(2))


def _widest_that_passes(opening_mm: float, thickness_mm: float | None) -> float:
    if thickness_mm is None or thickness_mm >= opening_mm:
        return opening_mm
    _require_positive("thickness_mm", thickness_mm, "mm")
    return math.sqrt(2 * opening_mm**2 - thickness_mm**2)


def pure_live_seed(purity: float, germination: float) -> float:
    """
    Share of a seed lot's weight that is seed of the crop and will sprout.

    Parameters
    ----------
    purity : float
        Share of the weight that is seed of the crop. [-] Valid 0 to 1.
    germination : float
        Share of that seed that sprouts. [-] Valid 0 to 1.

    Returns
    -------
    float
        Pure live seed. [-]

    Raises
    ------
    InputError
        If a share lies outside 0 to 1.

    Notes
    -----
    Purity x germination, the usual definition of the seed trade (from memory).

    Examples
    --------
    >>> round(pure_live_seed(0.98, 0.85), 3)
    0.833
    """
    require_between("purity", purity, 0, 1, "", "Give a share, for instance 0.98 for 98 %.")
    require_between("germination", germination, 0, 1, "", "Give a share, for instance 0.85 for 85 %.")
    return purity * germination
