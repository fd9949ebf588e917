"""Water and what is dissolved in it: how carbonate, phosphate, sulphate, citrate and ammonium share out the protons.

Everything is counted per litre and in equilibrium; solids that might form are not. Strong ions (sodium, potassium,
chloride, nitrate) take no part but in charge and ionic strength. All functions take numbers or arrays.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from trayward.errors import InputError, require_between
from trayward.science.either import require_each, require_not_negative
from trayward.science.solution_constants import (
    CA_G,
    COLDEST_C,
    LIGANDS,
    METALS,
    MG_G,
    MG_OR_DEGREES_PER_MEQ,
    N_G,
    SO4_G,
    SPECIES,
    WARMEST_C,
    debye_a,
    log_k,
    log_k_henry,
    log_k_water,
)

Number = float | NDArray[np.float64]
"""A number, or an array of them."""

OUTDOOR_CO2_ATM = 420e-6
"""Carbon dioxide in outdoor air. [atm] About 420 parts in a million, from memory; a room with people has more."""
STRONGEST = 0.5
"""Davies's law holds up to about this ionic strength. [mol/l]"""
LOWEST_PH, HIGHEST_PH = 0.0, 14.0
LEAST = 1e-30
"""Stands for nothing of it where a logarithm is taken. [mol/l]"""
MOST_CARBON = 0.5
"""More carbon dioxide than water holds under the pressure of fizzy drinks. [mol/l]"""
CHECK_UNIT = "Check the number and its unit."
STEPS = 120
COMB = 65
DAVIES = 0.3
TEN = float(np.log(10.0))


class Solution(NamedTuple):
    """Totals of what is dissolved. [mol/l], temperature [C]

    `strong` is the charge of the ions that never change (sodium + potassium - chloride - nitrate); `ions` is how much
    of them there is, counted for ionic strength alone.
    """

    carbon: Number = 0.0
    phosphorus: Number = 0.0
    sulfur: Number = 0.0
    citrate: Number = 0.0
    ammonium: Number = 0.0
    calcium: Number = 0.0
    magnesium: Number = 0.0
    strong: Number = 0.0
    ions: Number = 0.0
    temp_c: float = 25.0


class Equilibrium(NamedTuple):
    """A solution at rest.

    `species` holds what there is of each of `SPECIES` [mol/l], shape (..., 33); `hydrogen` and `hydroxide` are
    concentrations, not activities [mol/l]; `charge` is the sum over all ions, 0 where it balances [mol/l].
    """

    ph: Number
    species: NDArray[np.float64]
    hydrogen: Number
    hydroxide: Number
    ionic_strength: Number
    charge: Number

    def of(self, name: str) -> Number:
        """What there is of one species. [mol/l]"""
        return plain(self.species[..., _NAMES.index(name)])


_NAMES = [each.name for each in SPECIES]
_PROTONS = np.array([each.protons for each in SPECIES], dtype=float)
_CHARGE = np.array([each.charge for each in SPECIES], dtype=float)
_LIGAND = np.array([[each.ligand == name for name in LIGANDS] for each in SPECIES], dtype=float)
_METAL = np.array([[each.metal == name for name in METALS] for each in SPECIES], dtype=float)
_LIGAND_CHARGE = np.array([-2.0, -3.0, -2.0, -3.0, 1.0])
_SQUARES = (_LIGAND @ _LIGAND_CHARGE) ** 2 + 4.0 * _METAL.sum(axis=1) - _CHARGE**2
"""How many steps of activity lie between a species and its parts."""
_PAIRED = np.concatenate([_LIGAND * _METAL[:, [which]] for which in range(2)], axis=1)
"""Which species holds which metal with which ligand; (33, 10), calcium's five first."""
_SQUARED = _CHARGE**2
_ALKALINE = np.array([(2.0 - each.protons) * (each.ligand == "carbon") for each in SPECIES])
"""Protons that a species of carbon takes up on its way to carbon dioxide."""
_METALS_AT, _LIGANDS_AT = _METAL.T.copy(), _LIGAND.T.copy()
_CARBON = LIGANDS.index("carbon")
_CO2 = _NAMES.index("CO2")


@lru_cache(maxsize=256)
def _formed(temp_c: float) -> tuple[NDArray[np.float64], float, float, float]:
    """Natural logarithms of the formation constants, of water's, of Henry's, and the slope of Debye and Hueckel."""
    formed = np.array([log_k(each, temp_c) for each in SPECIES]) * TEN
    return formed, log_k_water(temp_c) * TEN, log_k_henry(temp_c) * TEN, debye_a(temp_c) * TEN


def plain(value: Any) -> Number:
    """A number where there is but one, else the array."""
    return float(value) if np.ndim(value) == 0 else np.asarray(value, dtype=float)


def require_temperature(temp_c: float) -> None:
    """Raise `InputError` where the constants do not hold."""
    remedy = "Give the water's temperature as it is mixed."
    require_between("water temperature", temp_c, COLDEST_C, WARMEST_C, "C", remedy)


def require_ph(ph: Number, name: str = "pH", low: float = LOWEST_PH, high: float = HIGHEST_PH) -> None:
    """Raise `InputError` where a pH cannot be, or lies outside what a task allows; NaN is refused."""
    require_each(name, ph, low, high, "", "Read the meter again.")


def require_amount(name: str, value: Number, unit: str, most: float = np.inf) -> None:
    """Raise `InputError` unless a value is a number from 0 to `most`; NaN is refused."""
    if most == np.inf:
        require_not_negative(name, value, unit, CHECK_UNIT)
    else:
        require_each(name, value, 0.0, most, unit, CHECK_UNIT)


# At rest, at a given pH -----------------------------------------------------------------------------------------------


def at_ph(solution: Solution, ph: Number, *, co2_atm: float | None = None) -> Equilibrium:
    """
    What there is of each species at a given pH; the charge may be out of balance.

    Parameters
    ----------
    solution : Solution
        Totals. [mol/l] Ionic strength valid up to 0.5.
    ph : float or array
        The pH, as a meter reads it (activity). [-] Valid from 0 to 14.
    co2_atm : float or None
        Carbon dioxide of the air that the water stands open to [atm]; None: closed, carbon stays as it is.

    Returns
    -------
    Equilibrium
        Species, ionic strength and charge. [mol/l]

    Raises
    ------
    InputError
        If a value is out of range, or the water is too strong for Davies's law.

    Notes
    -----
    Activity coefficients by Davies's law, log g = -A z^2 (sqrt(I) / (1 + sqrt(I)) - 0.3 I), and 0.1 I for what has no
    charge; mass balances of calcium and magnesium by Newton's method on their logarithms.

    References
    ----------
    Davies (1962), Ion Association, from memory: `source("davies1962")`. Constants: `solution_constants.SPECIES`.

    Examples
    --------
    >>> rest = at_ph(Solution(carbon=2e-3, strong=2e-3, ions=2e-3), 8.3)
    >>> round(1000 * rest.of("HCO3"), 2)
    1.96
    """
    rest = _at_ph(solution, ph, co2_atm)
    if np.any(np.asarray(rest.ionic_strength) > STRONGEST):
        rule = f"must not exceed {STRONGEST:g} mol/l of ionic strength, up to which the activities hold"
        strongest = f"{float(np.max(rest.ionic_strength)):.3g}"
        raise InputError("water", strongest, rule, "Work with weaker water.", "mol/l")
    return rest


def _at_ph(solution: Solution, ph: Number, co2_atm: float | None) -> Equilibrium:
    """As `at_ph`; beyond the strength up to which the activities hold they stay as they are there."""
    require_temperature(solution.temp_c)
    require_ph(ph)
    totals = np.broadcast_arrays(*(np.asarray(value, dtype=float) for value in (*solution[:9], ph)))
    for name, value in zip(Solution._fields[:9], totals, strict=False):
        if name != "strong":
            require_amount(name, value, "mol/l", 20.0)
    return _settle(np.stack(totals, axis=-1), solution.temp_c, co2_atm)


def _settle(given: NDArray[np.float64], temp_c: float, co2_atm: float | None) -> Equilibrium:
    """`given` (..., 10): five ligands, two metals, strong, ions, pH."""
    formed, ln_water, ln_henry, slope = _formed(temp_c)
    ligands, metals = given[..., :5], np.maximum(given[..., 5:7], LEAST)
    strong, ions, ph = given[..., 7], given[..., 8], given[..., 9]
    proton = -ph * TEN
    ions = np.maximum(ions, np.abs(strong))
    # Near enough to begin with: every ligand as an ion of charge 1.
    strength = np.clip(0.5 * (ions + 4 * metals.sum(axis=-1) + ligands.sum(axis=-1)), 1e-7, STRONGEST)
    free, paired = np.log(metals), bool(np.any(metals > LEAST))
    bare = formed + _PROTONS * proton[..., None]
    for _ in range(STEPS):
        step = _davies(strength, slope)
        weight = np.exp(bare - step[..., None] * _SQUARES)
        with_metal = weight * np.exp(free @ _METALS_AT)
        asked = with_metal @ _LIGAND
        share = ligands / asked
        if co2_atm is not None:
            share[..., _CARBON] = np.exp(ln_henry - 0.1 * TEN * strength) * co2_atm / weight[..., _CO2]
        species = with_metal * (share @ _LIGANDS_AT)
        moved = 0.0
        if paired:
            free, moved = _newton(free, species, metals, with_metal, asked, co2_atm)
        hydrogen = np.exp(proton + step)
        hydroxide = np.exp(ln_water - proton + step)
        held = np.exp(free)
        new = 0.5 * (species @ _SQUARED + 4 * held.sum(axis=-1) + ions + hydrogen + hydroxide)
        held_to = np.minimum(new, STRONGEST)
        settled = np.abs(held_to - strength) <= 1e-13 + 1e-9 * strength
        strength = held_to
        if np.all(settled) and moved < 1e-8:
            break
    else:
        raise InputError(
            "water", "no balance found", "is too strong or too strange to be worked out", "Check the salts."
        )
    charge = species @ _CHARGE + 2 * held.sum(axis=-1) + strong + hydrogen - hydroxide
    return Equilibrium(
        plain(ph), species, plain(hydrogen), plain(hydroxide), plain(new), plain(charge)
    )  # fmt: skip


def _davies(strength: NDArray[np.float64], slope: float) -> NDArray[np.float64]:
    """-ln of the activity coefficient of an ion of charge 1."""
    root_of = np.sqrt(strength)
    return np.asarray(slope * (root_of / (1 + root_of) - DAVIES * strength))


def _newton(
    free: NDArray[np.float64],
    species: NDArray[np.float64],
    metals: NDArray[np.float64],
    with_metal: NDArray[np.float64],
    asked: NDArray[np.float64],
    co2_atm: float | None,
) -> tuple[NDArray[np.float64], float]:
    """One step of both metals' mass balances on their logarithms, held back where it would leap."""
    shape = (*species.shape[:-1], 2, 5)
    bound = (species @ _PAIRED).reshape(shape)
    gap = np.exp(free) + bound.sum(axis=-1)
    part = (with_metal @ _PAIRED).reshape(shape) / asked[..., None, :]
    if co2_atm is not None:
        part[..., _CARBON] = 0.0
    cross = bound @ np.swapaxes(part, -1, -2)
    a, d = gap[..., 0] - cross[..., 0, 0], gap[..., 1] - cross[..., 1, 1]
    b, c = -cross[..., 0, 1], -cross[..., 1, 0]
    gap -= metals
    size = a * d - b * c
    step = np.stack([d * gap[..., 0] - b * gap[..., 1], a * gap[..., 1] - c * gap[..., 0]], axis=-1) / size[..., None]
    step = np.minimum(np.maximum(step, -2.0), 2.0)
    return free - step, float(np.abs(step).max(initial=0.0))


# At rest, at the pH that balances -------------------------------------------------------------------------------------


def settle(solution: Solution, *, co2_atm: float | None = None) -> Equilibrium:
    """
    The pH at which a solution's charges balance, and what there is then of each species.

    Parameters
    ----------
    solution : Solution
        Totals. [mol/l]
    co2_atm : float or None
        Carbon dioxide of the air that the water stands open to [atm]; None: closed.

    Returns
    -------
    Equilibrium
        The solution at rest. [mol/l]

    Raises
    ------
    InputError
        If no pH from 0 to 14 balances it, or a value is out of range.

    Examples
    --------
    >>> round(settle(Solution(), co2_atm=420e-6).ph, 2)  # rain
    5.6
    """

    def charge(ph: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(_at_ph(solution, ph, co2_atm).charge)

    shape = np.broadcast_shapes(*(np.shape(value) for value in solution[:9]))
    low, high = np.full(shape, 1.0), np.full(shape, 12.5)
    rule = "no pH from 1 to 12.5 balances its charges"
    refused = InputError("water", "as given", rule, "Check the pH, the alkalinity and the units.")
    found = root(charge, low, high, refused, tolerance=1e-9)
    return at_ph(solution, plain(found), co2_atm=co2_atm)


def root(
    work: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    low: NDArray[np.float64],
    high: NDArray[np.float64],
    refused: InputError,
    *,
    tolerance: float = 1e-10,
) -> NDArray[np.float64]:
    """Where a falling function crosses zero between `low` and `high`, for arrays; Chandrupatla's method.

    Raises `refused` where it does not.

    References
    ----------
    Chandrupatla (1997), Advances in Engineering Software 28:145-149, from memory.
    """
    if not np.ndim(low):
        return _root_of_one(work, float(low), float(high), refused)
    one, other = np.array(high, dtype=float), np.array(low, dtype=float)
    at_one, at_other = work(one), work(other)
    if np.any(at_one > 0) or np.any(at_other < 0):
        raise refused
    third, at_third, part = one, at_one, np.full_like(one, 0.5)
    for _ in range(100):
        new = one + part * (other - one)
        at_new = work(new)
        same = np.sign(at_new) == np.sign(at_one)
        third, at_third = np.where(same, one, other), np.where(same, at_one, at_other)
        other, at_other = np.where(same, other, one), np.where(same, at_other, at_one)
        one, at_one = new, at_new
        best = np.where(np.abs(at_one) < np.abs(at_other), one, other)
        width = np.abs(other - one)
        near = tolerance * (1 + np.abs(best))
        if np.all((width <= near) | (at_one == 0) | (at_other == 0)):
            return best
        part = _inward(one, other, third, at_one, at_other, at_third)
        least = np.minimum(0.5 * near / np.maximum(width, 1e-300), 0.5)
        part = np.clip(part, least, 1 - least)
    return best


def _root_of_one(
    work: Callable[[NDArray[np.float64]], NDArray[np.float64]], low: float, high: float, refused: InputError
) -> NDArray[np.float64]:
    """For a single number: all of a comb at once, three times finer; an array's work costs hardly more than one's."""
    for _ in range(3):
        comb = np.linspace(low, high, COMB)
        found = work(comb)
        if not found[0] >= 0 >= found[-1]:
            raise refused
        at = min(int(np.searchsorted(-found, 0.0, side="right")) - 1, COMB - 2)
        low, high, above, below = comb[at], comb[at + 1], found[at], found[at + 1]
    return np.asarray(low + (high - low) * (above / (above - below) if above > below else 0.0))


def _inward(
    one: NDArray[np.float64],
    other: NDArray[np.float64],
    third: NDArray[np.float64],
    at_one: NDArray[np.float64],
    at_other: NDArray[np.float64],
    at_third: NDArray[np.float64],
) -> NDArray[np.float64]:
    with np.errstate(divide="ignore", invalid="ignore"):
        xi = (one - other) / (third - other)
        phi = (at_one - at_other) / (at_third - at_other)
        fits = (phi**2 < xi) & ((1 - phi) ** 2 < 1 - xi)
        first = at_one / (at_other - at_one) * at_third / (at_other - at_third)
        second = (third - one) / (other - one) * at_one / (at_third - at_one) * at_other / (at_third - at_other)
        fitted = first + second
    return np.where(fits & np.isfinite(fitted), fitted, 0.5)


# Water as growers know it ---------------------------------------------------------------------------------------------


def water_of(
    ph: Number,
    alkalinity_meq: Number,
    *,
    temp_c: float = 25.0,
    calcium_mg: Number = 0.0,
    magnesium_mg: Number = 0.0,
    sulfate_mg: Number = 0.0,
    ammonium_n_mg: Number = 0.0,
    ec_ds_m: Number | None = None,
) -> Solution:
    """
    Water as a test strip, a meter or a laboratory tells of it.

    Parameters
    ----------
    ph : float or array
        [-] Valid from 4.5 to 10.5.
    alkalinity_meq : float or array
        Alkalinity. [meq/l] Valid from 0 to 20; 1 meq/l is 50.04 mg/l as calcium carbonate.
    temp_c : float
        [C] Valid from 0 to 50.
    calcium_mg, magnesium_mg, sulfate_mg, ammonium_n_mg : float or array
        Calcium, magnesium, sulphate, and nitrogen as ammonium. [mg/l] Valid from 0.
    ec_ds_m : float, array or None
        Conductivity at 25 C [dS/m]; gives ionic strength (1 dS/m: 0.016 mol/l). None: from what is known of the ions.

    Returns
    -------
    Solution
        Totals. [mol/l]

    Raises
    ------
    InputError
        If a value is out of range, or pH and alkalinity cannot go together.

    Notes
    -----
    Carbon is what makes the alkalinity balance at the pH. 0.016 mol/l for 1 dS/m: `source("griffin1973")`, from memory.

    Examples
    --------
    >>> water = water_of(8.0, 3.0)
    >>> round(1000 * water.carbon, 2)
    3.05
    """
    require_ph(ph, "water pH", 4.5, 10.5)
    require_amount("alkalinity", alkalinity_meq, "meq/l", 20.0)
    require_temperature(temp_c)
    calcium = _dissolved("calcium", calcium_mg, CA_G)
    magnesium = _dissolved("magnesium", magnesium_mg, MG_G)
    sulfur = _dissolved("sulphate", sulfate_mg, SO4_G)
    ammonium = _dissolved("ammonium nitrogen", ammonium_n_mg, N_G)
    alkalinity = np.asarray(alkalinity_meq, dtype=float) / 1000
    strong = alkalinity - 2 * calcium - 2 * magnesium - ammonium + 2 * sulfur
    ions = np.abs(strong)
    if ec_ds_m is not None:
        require_amount("EC", ec_ds_m, "dS/m", 20.0)
        others = 4 * calcium + 4 * magnesium + 4 * sulfur + ammonium + alkalinity
        ions = np.maximum(ions, 2 * 0.016 * np.asarray(ec_ds_m, dtype=float) - others)
    bare = Solution(0.0, 0.0, sulfur, 0.0, ammonium, calcium, magnesium, strong, ions, temp_c)
    return bare._replace(carbon=_carbon_of(bare, ph, alkalinity))


def _dissolved(name: str, mg: Number, molar: float) -> NDArray[np.float64]:
    require_amount(name, mg, "mg/l", 2000.0)
    return np.asarray(mg, dtype=float) / molar / 1000


def _carbon_of(bare: Solution, ph: Number, alkalinity: NDArray[np.float64]) -> Number:
    """The carbon with which the alkalinity balances at the pH. [mol/l]"""

    def charge(carbon: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(_at_ph(bare._replace(carbon=carbon), ph, None).charge)

    shape = np.broadcast_shapes(*(np.shape(value) for value in (*bare[1:9], ph, alkalinity)))
    lowest = np.asarray(np.broadcast_to(charge(np.zeros(shape)), shape))
    # Nearly pure water above pH 7 holds a trace of lye that no test of alkalinity shows: it is taken for pure.
    few = (lowest < 0) & (alkalinity < 2e-5)
    if np.any((lowest < 0) & ~few):
        rule = "is too high for this alkalinity: that much hydroxide alone is more"
        raise InputError("water pH", f"{float(np.max(ph)):g}", rule, "Test the alkalinity again.")
    return plain(_rooted(charge, shape, few))


def _rooted(
    charge: Callable[[NDArray[np.float64]], NDArray[np.float64]], shape: tuple[int, ...], few: NDArray[np.bool_]
) -> NDArray[np.float64]:
    def work(carbon: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.where(few, -carbon, charge(carbon))

    rule = "is too low for this alkalinity: no water holds that much carbon dioxide"
    refused = InputError("water pH", "as given", rule, "Test pH and alkalinity again.")
    return root(work, np.zeros(shape), np.full(shape, MOST_CARBON), refused, tolerance=1e-13)


def alkalinity_left(rest: Equilibrium) -> Number:
    """
    Alkalinity that carbonate, bicarbonate and hydroxide make up. [meq/l] Below zero where free acid outweighs them.

    Examples
    --------
    >>> water = water_of(8.0, 3.0)
    >>> round(alkalinity_left(at_ph(water, 8.0)), 3)
    3.0
    """
    return plain(1000 * (rest.species @ _ALKALINE + np.asarray(rest.hydroxide) - np.asarray(rest.hydrogen)))


def buffer_strength(solution: Solution, ph: Number, *, co2_atm: float | None = None) -> Number:
    """
    Acid or base that moves the pH by one. [meq/l]

    Parameters
    ----------
    solution : Solution
        Totals. [mol/l]
    ph : float or array
        Where it is asked. [-]
    co2_atm : float or None
        Carbon dioxide of the air above [atm]; None: closed.

    Examples
    --------
    >>> water = water_of(8.0, 3.0)
    >>> buffer_strength(water, 6.35) > buffer_strength(water, 8.3)
    True
    """
    step = 1e-3
    shape = np.broadcast_shapes(*(np.shape(value) for value in (*solution[:9], ph)))
    both = np.broadcast_to(np.asarray(ph, dtype=float), shape) + np.reshape([-step, step], (2, *(1,) * len(shape)))
    lower, higher = np.asarray(at_ph(solution, both, co2_atm=co2_atm).charge)
    return plain((lower - higher) / (2 * step) * 1000)


def alkalinity_from(value: Number, unit: str) -> Number:
    """
    Alkalinity as it is reported, in milliequivalents. [meq/l]

    Parameters
    ----------
    value : float or array
        As reported. Valid from 0.
    unit : str
        `meq` (meq/l), `caco3` (mg/l as calcium carbonate), `hco3` (mg/l as bicarbonate), `dkh` (German degrees).

    Raises
    ------
    InputError
        If the unit is none of these, or the value below zero.

    Examples
    --------
    >>> round(alkalinity_from(50.04, "caco3"), 3), round(alkalinity_from(61.0, "hco3"), 3)
    (1.0, 1.0)
    """
    if unit not in MG_OR_DEGREES_PER_MEQ:
        known = ", ".join(MG_OR_DEGREES_PER_MEQ)
        raise InputError("alkalinity unit", unit, "is none that is known", f"Take one of {known}.")
    require_amount("alkalinity", value, unit)
    return plain(np.asarray(value, dtype=float) / MG_OR_DEGREES_PER_MEQ[unit])


def charge_at(solution: Solution, ph: Number, co2_atm: float | None) -> Number:
    """The charge that is left over at a pH. [mol/l] For finding what balances it: strength is not looked at."""
    return _at_ph(solution, ph, co2_atm).charge
