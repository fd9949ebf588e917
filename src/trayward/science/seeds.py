"""Seed arithmetic: weight, count, volume and density on the tray; of one number or of arrays (science.either)."""

from __future__ import annotations

from trayward.errors import InputError, require_between
from trayward.science.either import Either, require_not_negative, require_positive


def _require_live_share(live_share: float) -> None:
    remedy = "Give the share that sprouts, for instance 0.85 for 85 %."
    if not 0 < live_share <= 1:
        raise InputError("live_share", f"{live_share:g}", "must lie above 0 and up to 1", remedy)


def seeds_in_grams(grams: Either, tsw_g: float) -> Either:
    """
    How many seeds a weight of seed holds.

    Parameters
    ----------
    grams : float or array
        Weight of seed. [g] Valid from 0.
    tsw_g : float
        Weight of a thousand seeds. [g] Valid above 0.

    Returns
    -------
    float or array
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
    require_not_negative("grams", grams, "g")
    require_positive("tsw_g", tsw_g, "g", "Count 100 seeds, weigh them, and multiply by 10.")
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
    require_positive("seeds", seeds, "")
    require_positive("grams", grams, "g")
    return grams / seeds * 1000


def grams_for_density(live_seeds_per_cm2: Either, area_cm2: float, tsw_g: float, live_share: float) -> Either:
    """
    Grams of seed that put the wanted number of live seeds on each square centimetre.

    Parameters
    ----------
    live_seeds_per_cm2 : float or array
        Live seeds wanted. [1/cm2] Valid from 0.
    area_cm2 : float
        Growing area of the tray. [cm2] Valid above 0.
    tsw_g : float
        Weight of a thousand seeds. [g] Valid above 0.
    live_share : float
        Share of the seed that sprouts. [-] Valid above 0 and up to 1.

    Returns
    -------
    float or array
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
    require_not_negative("live_seeds_per_cm2", live_seeds_per_cm2, "1/cm2")
    require_positive("area_cm2", area_cm2, "cm2", "Measure the inside of the tray: length x width.")
    require_positive("tsw_g", tsw_g, "g", "Count 100 seeds, weigh them, and multiply by 10.")
    _require_live_share(live_share)
    return live_seeds_per_cm2 * area_cm2 * tsw_g / 1000 / live_share


def density_of_grams(grams: Either, area_cm2: float, tsw_g: float, live_share: float = 1.0) -> Either:
    """
    Live seeds on each square centimetre that a weight of seed gives; with a live share of 1, all seeds.

    Parameters
    ----------
    grams : float or array
        Seed on the tray. [g] Valid from 0.
    area_cm2 : float
        Growing area of the tray. [cm2] Valid above 0.
    tsw_g : float
        Weight of a thousand seeds. [g] Valid above 0.
    live_share : float
        Share of the seed that sprouts. [-] Valid above 0 and up to 1.

    Returns
    -------
    float or array
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
    require_positive("area_cm2", area_cm2, "cm2", "Measure the inside of the tray: length x width.")
    _require_live_share(live_share)
    return seeds_in_grams(grams, tsw_g) * live_share / area_cm2


def volume_of_grams(grams: Either, density_g_per_ml: float) -> Either:
    """
    Volume that seed takes up in a spoon or cup.

    Parameters
    ----------
    grams : float or array
        Weight of seed. [g] Valid from 0.
    density_g_per_ml : float
        Bulk density, air between the seeds included. [g/ml] Valid above 0, up to 2.

    Returns
    -------
    float or array
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
    require_not_negative("grams", grams, "g")
    _require_bulk_density(density_g_per_ml)
    return grams / density_g_per_ml


def grams_of_volume(ml: Either, density_g_per_ml: float) -> Either:
    """
    Weight of a volume of seed.

    Parameters
    ----------
    ml : float or array
        Volume. [ml] Valid from 0.
    density_g_per_ml : float
        Bulk density, air between the seeds included. [g/ml] Valid above 0, up to 2.

    Returns
    -------
    float or array
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
    require_not_negative("ml", ml, "ml")
    _require_bulk_density(density_g_per_ml)
    return ml * density_g_per_ml


def _require_bulk_density(density_g_per_ml: float) -> None:
    remedy = "Fill a level cup with seed, weigh it, divide by the cup's millilitres."
    require_positive("density_g_per_ml", density_g_per_ml, "g/ml", remedy)
    require_between("density_g_per_ml", density_g_per_ml, 0, 2, "g/ml", "If this is kg/m3, divide by 1000.")


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
