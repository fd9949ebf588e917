"""From the strength on a label to the strength in the bucket: what to measure out, and what came of it."""

from __future__ import annotations

import math

from trayward.errors import InputError
from trayward.science.either import Either, require_each

PPM_PER_PERCENT = 10_000.0
"""Milligrams per litre in one per cent of weight by volume: 1 g in 100 ml. [mg/l]"""
CHLORINE_PER_HYPOCHLORITE = 70.906 / 74.442
"""Available chlorine, as Cl2, of a weight of sodium hypochlorite: molar masses, from memory. [-]"""

_READ = "Read the strength on the label."


def strength_of_percent(percent: Either, *, density_g_per_ml: float = 1.0, active_share: float = 1.0) -> Either:
    """
    Strength of a liquid product, from the per cent on its label.

    Parameters
    ----------
    percent : float or array
        What the label says. [%] Valid above 0 and up to 100.
    density_g_per_ml : float
        Density of the product, where the label's per cent is by weight; 1 where it is weight by volume. [g/ml] Valid
        0.7 to 2.
    active_share : float
        Share of what the label counts that is counted here: `CHLORINE_PER_HYPOCHLORITE` turns sodium hypochlorite into
        available chlorine. [-] Valid above 0 and up to 1.

    Returns
    -------
    float or array
        Strength: milligrams in a litre, which in water is the trade's ppm. [mg/l]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> strength_of_percent(5.25)
    52500.0
    >>> round(strength_of_percent(5.25, density_g_per_ml=1.08))
    56700
    """
    require_each("label strength", percent, 0, 100, "%", _READ, above=True)
    require_each("density_g_per_ml", density_g_per_ml, 0.7, 2, "g/ml", "If this is kg/m3, divide by 1000.")
    require_each("active_share", active_share, 0, 1, "", "Give a share, for instance 0.95.", above=True)
    return percent * PPM_PER_PERCENT * density_g_per_ml * active_share


def product_for(target_ppm: Either, strength_ppm: float, total_ml: float) -> Either:
    """
    Product to measure out, for a volume made up to the mark with water.

    Parameters
    ----------
    target_ppm : float or array
        Strength wanted. [mg/l] Valid above 0, up to the product's own.
    strength_ppm : float
        Strength of the product. [mg/l] Valid above 0.
    total_ml : float
        Volume wanted in all, product and water. [ml] Valid above 0.

    Returns
    -------
    float or array
        Product. [ml]

    Raises
    ------
    InputError
        If a value is out of range, or the product is weaker than what is wanted.

    Notes
    -----
    What is in it stays the same: strength x product = target x total. Poured *into* the wanted volume of water, the
    same product makes it weaker by the product's share of the whole (0.2 % at 1 in 400, 10 % at 1 in 10).

    Examples
    --------
    >>> round(product_for(200.0, 82500.0, 3785.41), 2)
    9.18
    """
    require_each("strength_ppm", strength_ppm, 0, math.inf, "ppm", _READ, above=True)
    require_each("target_ppm", target_ppm, 0, math.inf, "ppm", "Take the strength from the label.", above=True)
    require_each("total_ml", total_ml, 0, math.inf, "ml", "Say how much is to be made.", above=True)
    strongest = _greatest(target_ppm)
    if strongest > strength_ppm:
        rule = f"must not be above the product's own strength, {strength_ppm:g} ppm"
        raise InputError("target", f"{strongest:g}", rule, "Use a stronger product, or ask for less.", "ppm")
    return target_ppm * total_ml / strength_ppm


def _greatest(value: object) -> float:
    if isinstance(value, (int, float)):
        return float(value)
    import numpy as np

    return float(np.max(np.asarray(value, float), initial=0.0))


def ppm_made(product_ml: Either, strength_ppm: float, water_ml: float) -> Either:
    """
    Strength of a product poured into water.

    Parameters
    ----------
    product_ml : float or array
        Product. [ml] Valid from 0.
    strength_ppm : float
        Strength of the product. [mg/l] Valid above 0.
    water_ml : float
        Water it is poured into. [ml] Valid from 0, not both 0.

    Returns
    -------
    float or array
        Strength of the whole. [mg/l]

    Raises
    ------
    InputError
        If a value is out of range, or there is nothing at all.

    Notes
    -----
    Volumes add up, which holds for thin solutions; strong alcohol and water shrink by up to 4 % (from memory).

    Examples
    --------
    >>> round(ppm_made(14.79, 52500.0, 3785.41), 1)
    204.3
    """
    require_each("product_ml", product_ml, 0, math.inf, "ml")
    require_each("strength_ppm", strength_ppm, 0, math.inf, "ppm", _READ, above=True)
    require_each("water_ml", water_ml, 0, math.inf, "ml")
    whole = product_ml + water_ml
    require_each("product and water", whole, 0, math.inf, "ml", "Say how much of each.", above=True)
    return product_ml * strength_ppm / whole


def ppm_of_parts(strength_ppm: float, parts_in_all: float) -> float:
    """
    Strength of one part of product in so many parts in all: `1:10` is 1 part in 10, not 1 and 10.

    Parameters
    ----------
    strength_ppm : float
        Strength of the product. [mg/l] Valid above 0.
    parts_in_all : float
        Parts of the whole, the product's own one included. [-] Valid from 1.

    Returns
    -------
    float
        Strength of the whole. [mg/l]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> ppm_of_parts(52500.0, 10)
    5250.0
    """
    require_each("strength_ppm", strength_ppm, 0, math.inf, "ppm", _READ, above=True)
    require_each("parts_in_all", parts_in_all, 1, math.inf, "", "One part of product is one of the parts.")
    return strength_ppm / parts_in_all


def powder_for(target_ppm: Either, active_share: float, total_ml: float) -> Either:
    """
    Powder or granules to weigh out, for instance calcium hypochlorite by its available chlorine.

    Parameters
    ----------
    target_ppm : float or array
        Strength wanted. [mg/l] Valid above 0, up to 1,000,000 x `active_share`.
    active_share : float
        What the label says is active, as a share of the weight. [-] Valid above 0 and up to 1.
    total_ml : float
        Volume wanted. [ml] Valid above 0.

    Returns
    -------
    float or array
        Powder. [g]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(powder_for(200.0, 0.65, 10_000.0), 2)
    3.08
    """
    require_each("active_share", active_share, 0, 1, "", "Give a share, for instance 0.65 for 65 %.", above=True)
    most = 1e6 * active_share
    require_each("target_ppm", target_ppm, 0, most, "ppm", "Take the strength from the label.", above=True)
    require_each("total_ml", total_ml, 0, math.inf, "ml", "Say how much is to be made.", above=True)
    return target_ppm * total_ml / 1e6 / active_share


def ppm_of_powder(grams: Either, active_share: float, water_ml: float) -> Either:
    """
    Strength that a weight of powder gives.

    Parameters
    ----------
    grams : float or array
        Powder. [g] Valid from 0.
    active_share : float
        What the label says is active, as a share of the weight. [-] Valid above 0 and up to 1.
    water_ml : float
        Water. [ml] Valid above 0.

    Returns
    -------
    float or array
        Strength. [mg/l]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(ppm_of_powder(7.09, 0.70, 7570.8))
    656
    """
    require_each("grams", grams, 0, math.inf, "g")
    require_each("active_share", active_share, 0, 1, "", "Give a share, for instance 0.65 for 65 %.", above=True)
    require_each("water_ml", water_ml, 0, math.inf, "ml", above=True)
    return grams * active_share / water_ml * 1e6
