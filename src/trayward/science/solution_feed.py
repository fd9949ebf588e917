"""Conductivity and feed: what a meter reads, what a concentrate or a salt gives, two waters in one tank."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from trayward.errors import InputError
from trayward.science.solution import Number, Solution, plain, require_amount, require_temperature
from trayward.science.solution_constants import CA_G, CACO3_MG_PER_MEQ, MG_G, N_G, P_G, SO4_G

PPM_SCALES = {"500": 500.0, "640": 640.0, "700": 700.0}
"""How many ppm a meter shows for 1 dS/m, by the name of its scale. Common practice, no source."""
PER_DEGREE = 0.0191
"""Conductivity gained for each degree, of what it is at 25 C. [1/C] ISO 7888, from memory; many meters take 0.02."""
MOST_EC = 20.0
"""No feed is stronger. [dS/m]"""

CONDUCTED = {
    "H": 349.65, "OH": 198.0, "Na": 50.08, "K": 73.48, "NH4": 73.5, "Ca": 2 * 59.47, "Mg": 2 * 53.0, "Cl": 76.31,
    "NO3": 71.42, "HCO3": 44.5, "CO3": 2 * 69.3, "SO4": 2 * 80.0, "H2PO4": 36.0, "HPO4": 2 * 57.0,
}  # fmt: skip
"""Molar conductivity at no ionic strength and 25 C. [mS/cm per mol/l] `source("crc_ions")`, from memory."""
CHARGES = {
    "H": 1, "OH": -1, "Na": 1, "K": 1, "NH4": 1, "Ca": 2, "Mg": 2, "Cl": -1, "NO3": -1, "HCO3": -1, "CO3": -2,
    "SO4": -2, "H2PO4": -1, "HPO4": -2,
}  # fmt: skip


def ec25(reading_ds_m: Number, temp_c: Number, per_degree: float = PER_DEGREE) -> Number:
    """
    What a conductivity reading without compensation would be at 25 C.

    Parameters
    ----------
    reading_ds_m : float or array
        As read. [dS/m = mS/cm] Valid from 0 to 100.
    temp_c : float or array
        Of the water. [C] Valid from 0 to 50.
    per_degree : float
        Gain for each degree. [1/C] Valid from 0.01 to 0.03.

    Returns
    -------
    float or array
        Conductivity at 25 C. [dS/m]

    Raises
    ------
    InputError
        If a value is out of range.

    References
    ----------
    Linear compensation of ISO 7888, from memory: `source("iso_7888")`.

    Examples
    --------
    >>> round(ec25(1.60, 18.0, 0.02), 3)
    1.86
    """
    require_amount("EC", reading_ds_m, "dS/m", 100.0)
    for each in np.ravel(np.asarray(temp_c, dtype=float)):
        require_temperature(float(each))
    if not 0.01 <= per_degree <= 0.03:
        remedy = "Most meters take 0.019 or 0.02; the manual says which."
        raise InputError("gain for each degree", f"{per_degree:g}", "must lie in [0.01, 0.03] 1/C", remedy)
    return plain(np.asarray(reading_ds_m) / (1 + per_degree * (np.asarray(temp_c, dtype=float) - 25)))


def ppm_of_ec(ec_ds_m: Number, scale: str) -> Number:
    """
    What a meter with a ppm scale shows for a conductivity. [ppm of that scale]

    Parameters
    ----------
    ec_ds_m : float or array
        At 25 C. [dS/m] Valid from 0 to 100.
    scale : str
        `500`, `640` or `700`: ppm for 1 dS/m.

    Raises
    ------
    InputError
        If the scale is none of these, or the value out of range.

    Notes
    -----
    A convention of meters, not a measure of any one nutrient. Common practice, no source.

    Examples
    --------
    >>> ppm_of_ec(1.8, "500"), ppm_of_ec(1.8, "700")
    (900.0, 1260.0)
    """
    require_amount("EC", ec_ds_m, "dS/m", 100.0)
    return plain(np.asarray(ec_ds_m, dtype=float) * _scale(scale))


def ec_of_ppm(ppm: Number, scale: str) -> Number:
    """
    The conductivity behind a ppm reading. [dS/m at 25 C]

    Parameters
    ----------
    ppm : float or array
        As shown. Valid from 0.
    scale : str
        `500`, `640` or `700`.

    Raises
    ------
    InputError
        If the scale is none of these, or the value below zero.

    Examples
    --------
    >>> ec_of_ppm(900, "500")
    1.8
    """
    require_amount("ppm", ppm, "ppm", 100_000.0)
    return plain(np.asarray(ppm, dtype=float) / _scale(scale))


def _scale(scale: str) -> float:
    if scale not in PPM_SCALES:
        remedy = f"Take one of {', '.join(PPM_SCALES)}; the meter's manual says which it shows."
        raise InputError("ppm scale", scale, "is none that meters use", remedy)
    return PPM_SCALES[scale]


def ec_of_ions(ions: Mapping[str, Number]) -> Number:
    """
    Conductivity that ions give, roughly. [dS/m at 25 C]

    Parameters
    ----------
    ions : mapping of str to float or array
        Names of `CONDUCTED` and how much of each. [mol/l] Valid to 0.05 mol/l of ionic strength.

    Raises
    ------
    InputError
        If an ion is not listed, or the water too strong.

    Notes
    -----
    Onsager's law for each ion with the square root of ionic strength damped: molar conductivity less (0.229 x its own
    x z + 30.1 z^2) sqrt(I) / (1 + sqrt(I)). Within 1 % for potassium chloride at 0.01 mol/l; for mixed water within
    about 5 %: pairs are left out.

    References
    ----------
    Onsager (1927), Physikalische Zeitschrift 28:277, from memory: `source("onsager1927")`.

    Examples
    --------
    >>> round(ec_of_ions({"K": 0.01, "Cl": 0.01}), 2)
    1.41
    """
    for name, amount in ions.items():
        if name not in CONDUCTED:
            raise InputError("ion", name, "is none that is listed", f"Known: {', '.join(CONDUCTED)}.")
        require_amount(name, amount, "mol/l", 1.0)
    strength = sum((0.5 * CHARGES[name] ** 2 * np.asarray(amount) for name, amount in ions.items()), np.zeros(()))
    if np.any(strength > 0.05):
        rule = "must not exceed 0.05 mol/l of ionic strength"
        raise InputError("water", f"{float(np.max(strength)):.3g}", rule, "Measure it.", "mol/l")
    damped = np.sqrt(strength) / (1 + np.sqrt(strength))
    total = np.zeros_like(strength)
    for name, amount in ions.items():
        charge = abs(CHARGES[name])
        total = total + np.asarray(amount) * (
            CONDUCTED[name] - (0.229 * CONDUCTED[name] * charge + 30.1 * charge**2) * damped
        )
    return plain(total)


def dilution(volume: float, ec_ds_m: float, target_ds_m: float, water_ds_m: float) -> float:
    """
    Water that brings a tank down to a conductivity. [in the unit of the volume]

    Parameters
    ----------
    volume : float
        What is in the tank. Valid from 0, any unit.
    ec_ds_m, target_ds_m, water_ds_m : float
        Of the tank, wanted, and of the water added. [dS/m at 25 C] Valid from 0 to 20.

    Raises
    ------
    InputError
        If the target does not lie between the water's EC and the tank's.

    Notes
    -----
    Conductivity is taken to add up by volume, which is good to a few per cent.

    Examples
    --------
    >>> round(dilution(1000.0, 2.4, 1.6, 0.3), 1)
    615.4
    """
    require_amount("volume", volume, "ml")
    for name, value in (("EC", ec_ds_m), ("target EC", target_ds_m), ("water EC", water_ds_m)):
        require_amount(name, value, "dS/m", MOST_EC)
    if not water_ds_m < target_ds_m <= ec_ds_m:
        rule = f"must lie above the water's {water_ds_m:g} and up to the tank's {ec_ds_m:g} dS/m"
        raise InputError("target EC", f"{target_ds_m:g}", rule, "To raise it, add feed.", "dS/m")
    return volume * (ec_ds_m - target_ds_m) / (target_ds_m - water_ds_m)


def concentrate_for_ec(target_ds_m: float, water_ds_m: float, gain_ds_m: float) -> float:
    """
    Feed concentrate that brings water to a conductivity. [ml/l, or g/l of a dry feed]

    Parameters
    ----------
    target_ds_m, water_ds_m : float
        Wanted, and of the water before. [dS/m at 25 C] Valid from 0 to 20.
    gain_ds_m : float
        What 1 ml (or 1 g) in a litre adds. [dS/m] Valid above 0 and up to 20: from the label, or mix 1 ml in 1 l and
        read the meter.

    Raises
    ------
    InputError
        If the water alone is above the target, or a value is out of range.

    Examples
    --------
    >>> round(concentrate_for_ec(1.2, 0.4, 0.35), 2)
    2.29
    """
    require_amount("target EC", target_ds_m, "dS/m", MOST_EC)
    require_amount("water EC", water_ds_m, "dS/m", MOST_EC)
    if not 0 < gain_ds_m <= MOST_EC:
        remedy = "Mix 1 ml in 1 l, read the meter, and take off what the water reads."
        raise InputError("EC that 1 ml a litre adds", f"{gain_ds_m:g}", "must be above zero", remedy, "dS/m")
    if target_ds_m < water_ds_m:
        rule = f"lies below the water's own {water_ds_m:g} dS/m: feed only raises it"
        raise InputError("target EC", f"{target_ds_m:g}", rule, "Blend with reverse-osmosis or rain water.", "dS/m")
    return (target_ds_m - water_ds_m) / gain_ds_m


class Salt(NamedTuple):
    """What a litre gets of a fertiliser, and what that supplies."""

    mg_l: Number
    """[mg/l]"""
    supplies: dict[str, Number]
    """[mg/l of the element = ppm]"""


def salt_for_ppm(target_ppm: Number, element: str, shares: Mapping[str, float]) -> Salt:
    """
    Fertiliser that gives a nutrient at a strength, and what else comes with it.

    Parameters
    ----------
    target_ppm : float or array
        Of the element. [mg/l] Valid from 0 to 2000.
    element : str
        Which; one of the names in `shares`.
    shares : mapping of str to float
        Of each element in the fertiliser, by weight. [-] Valid above 0, together up to 1. Labels that say P2O5 or K2O
        want them turned into P (x 0.4364) and K (x 0.8301) first.

    Raises
    ------
    InputError
        If the fertiliser does not hold the element, or a value is out of range.

    References
    ----------
    `source("mattson2018")`.

    Examples
    --------
    >>> found = salt_for_ppm(100.0, "N", {"N": 0.155, "Ca": 0.19})
    >>> round(found.mg_l), round(found.supplies["Ca"], 1)
    (645, 122.6)
    """
    require_amount("target", target_ppm, "ppm", 2000.0)
    if not shares or any(not 0 < share <= 1 for share in shares.values()) or sum(shares.values()) > 1 + 1e-9:
        told = ", ".join(f"{name} {share:g}" for name, share in shares.items()) or "nothing"
        raise InputError("fertiliser", told, "shares must lie above 0 and add up to 1 at most", "Read the label again.")
    if element not in shares:
        raise InputError("element", element, f"is not in this fertiliser, which has {', '.join(shares)}", "")
    mg = np.asarray(target_ppm, dtype=float) / shares[element]
    return Salt(plain(mg), {name: plain(mg * share) for name, share in shares.items()})


def stock_strength(mg_l: float, ratio: float) -> float:
    """
    What a litre of stock holds for an injector. [g/l]

    Parameters
    ----------
    mg_l : float
        What a litre of feed gets. [mg/l] Valid from 0.
    ratio : float
        Parts of water to one of stock: 100 for 1:100. Valid from 1 to 1000.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> stock_strength(600.0, 100.0)
    60.0
    """
    require_amount("fertiliser", mg_l, "mg/l")
    if not 1 <= ratio <= 1000:
        raise InputError("injector", f"1:{ratio:g}", "must lie in [1:1, 1:1000]", "Read the injector's dial.")
    return mg_l * ratio / 1000


# Two waters -----------------------------------------------------------------------------------------------------------


def blend(one: Solution, other: Solution, share: Number) -> Solution:
    """
    Two waters in one tank, before any carbon dioxide leaves.

    Parameters
    ----------
    one, other : Solution
        Totals, at the same temperature. [mol/l]
    share : float or array
        How much of the blend is `one`. [-] Valid from 0 to 1.

    Returns
    -------
    Solution
        Totals of the blend. [mol/l] Its pH is `settle(...).ph`.

    Raises
    ------
    InputError
        If the share is out of range, or the temperatures differ.

    Examples
    --------
    >>> from trayward.science.solution import settle, water_of
    >>> tap, pure = water_of(7.8, 4.0), water_of(5.8, 0.05)
    >>> round(settle(blend(tap, pure, 0.5)).ph, 2)
    7.45
    """
    require_amount("share", share, "", 1.0)
    if one.temp_c != other.temp_c:
        rule = f"differs from the other water's {other.temp_c:g} C"
        raise InputError("water temperature", f"{one.temp_c:g}", rule, "Work both at the temperature of the blend.")
    part = np.asarray(share, dtype=float)
    # Straight lines in every total: nothing is made and nothing lost.
    mixed = [plain(part * a + (1 - part) * b) for a, b in zip(one[:-1], other[:-1], strict=True)]
    return Solution._make([*mixed, one.temp_c])


def share_for_alkalinity(one_meq: float, other_meq: float, target_meq: float) -> float:
    """
    How much of the first of two waters a blend of an alkalinity takes. [-]

    Parameters
    ----------
    one_meq, other_meq, target_meq : float
        Of both waters, and wanted. [meq/l] Valid from 0 to 20.

    Raises
    ------
    InputError
        If the target does not lie between the two.

    Examples
    --------
    >>> share_for_alkalinity(4.0, 0.0, 1.0)
    0.25
    """
    for name, value in (("alkalinity", one_meq), ("other alkalinity", other_meq), ("target alkalinity", target_meq)):
        require_amount(name, value, "meq/l", 20.0)
    low, high = sorted((one_meq, other_meq))
    if not low <= target_meq <= high or low == high:
        inside = " and ".join(f"{meq:.3g} meq/l ({meq * CACO3_MG_PER_MEQ:.3g} mg/l)" for meq in (low, high))
        wanted = f"{target_meq:.3g} meq/l ({target_meq * CACO3_MG_PER_MEQ:.3g} mg/l)"
        rule = f"must lie between those of the two waters, {inside}"
        raise InputError("target alkalinity", wanted, rule, "Take other waters, or use acid.")
    return (target_meq - other_meq) / (one_meq - other_meq)


def counted_mg(solution: Solution) -> dict[str, Number]:
    """
    What a litre holds of the ions that are counted one by one. [mg/l]

    Examples
    --------
    >>> from trayward.science.solution import water_of
    >>> round(counted_mg(water_of(7.8, 4.0, calcium_mg=80.0))["calcium"], 1)
    80.0
    """
    return {
        name: plain(np.asarray(amount, dtype=float) * grams * 1000)
        for name, amount, grams in (
            ("calcium", solution.calcium, CA_G),
            ("magnesium", solution.magnesium, MG_G),
            ("sulphate", solution.sulfur, SO4_G),
            ("nitrogen as ammonium", solution.ammonium, N_G),
            ("phosphorus", solution.phosphorus, P_G),
        )
    }
