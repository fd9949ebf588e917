"""How much acid or base brings water to a pH, what that leaves in it, and what the water does once it stands open."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from trayward.errors import InputError
from trayward.science.solution import (
    OUTDOOR_CO2_ATM,
    Number,
    Solution,
    alkalinity_left,
    at_ph,
    buffer_strength,
    charge_at,
    plain,
    require_amount,
    require_ph,
    root,
    settle,
)
from trayward.science.solution_constants import CACO3_MG_PER_MEQ
from trayward.science.solution_reagents import Product

LOWEST_TARGET, HIGHEST_TARGET = 3.0, 10.0
MOST = 0.2
"""No nutrient water is dosed with more. [mol/l]"""
NEAR_PH = 0.005
"""Nearer than this nothing needs to be done; no meter shows it. [-]"""


class Dose(NamedTuple):
    """What brings water to a pH, and what comes of it. Numbers, or arrays where the water was given in arrays."""

    product: Product
    amount: Number
    """[ml/l] of a liquid, [g/l] of a powder."""
    mmol: Number
    """Of the acid or base itself. [mmol/l]"""
    ph: Number
    """Right after mixing."""
    ph_stood: Number
    """Once the water has stood open until it gives off no more carbon dioxide."""
    alkalinity_before: Number
    """[meq/l]"""
    alkalinity: Number
    """Carbonate alkalinity left. [meq/l]"""
    buffer: Number
    """Acid or base that moves the pH by one, at the pH reached. [meq/l]"""
    nutrients: dict[str, Number]
    """What it adds of nitrogen, phosphorus, sulfur, potassium. [mg/l of the element]"""
    ionic_strength: Number
    """[mol/l]"""
    solution: Solution
    """The water with the dose in it."""


def with_dose(water: Solution, product: Product, moles: Number) -> Solution:
    """
    Water with some acid or base in it.

    Parameters
    ----------
    water : Solution
        Totals. [mol/l]
    product : Product
        Acid or base.
    moles : float or array
        Of the acid or base itself. [mol/l] Valid from 0.

    Examples
    --------
    >>> from trayward.science.solution_reagents import NITRIC, product_of
    >>> with_dose(Solution(strong=0.003), product_of(NITRIC, molar=1), 0.001).strong
    0.002
    """
    adds = {name: getattr(water, name) + share * moles for name, share in product.reagent.adds.items()}
    return water._replace(**adds)


def dose_to_ph(
    water: Solution, product: Product, target_ph: Number, *, co2_atm: float | None = None, air_atm: float | None = None
) -> Dose:
    """
    How much acid or base brings water to a pH.

    Parameters
    ----------
    water : Solution
        As `water_of` or a blend gives it. [mol/l]
    product : Product
        Acid or base of a named strength.
    target_ph : float or array
        [-] Valid from 3 to 10.
    co2_atm : float or None
        None: the pH is read right after mixing, before carbon dioxide leaves. A number: the pH is to hold in water that
        stands open under air of that much carbon dioxide. [atm]
    air_atm : float or None
        Air under which the water later stands [atm]; None: `OUTDOOR_CO2_ATM`.

    Returns
    -------
    Dose
        Amount [ml/l or g/l], alkalinity left, nutrients added, pH after standing.

    Raises
    ------
    InputError
        If the target lies on the other side of the water's own pH, or cannot be reached with this acid or base.

    Notes
    -----
    At the target pH the charge of everything but the dose is known; the dose is what balances it. Since an acid's own
    ions shift the activities a little, the balance is found by bracketing. The water is taken to be full of what it
    holds: the volume of the dose itself (less than 1 %) is left out.

    References
    ----------
    Constants: `trayward.science.solution_constants`. Held against PHREEQC in the tests: `source("phreeqc")`.

    Examples
    --------
    >>> from trayward.science.solution import water_of
    >>> from trayward.science.solution_reagents import read_product
    >>> dose = dose_to_ph(water_of(7.8, 2.4), read_product("nitric 38 %"), 5.8)
    >>> round(dose.amount, 2)
    0.25
    """
    require_ph(target_ph, "target pH", LOWEST_TARGET, HIGHEST_TARGET)
    began = settle(water, co2_atm=co2_atm)
    moles = _moles(water, product, np.asarray(target_ph, dtype=float), began.ph, co2_atm)
    dosed = with_dose(water, product, moles)
    rest = at_ph(dosed, target_ph, co2_atm=co2_atm)
    stood = settle(dosed, co2_atm=OUTDOOR_CO2_ATM if air_atm is None else air_atm)
    return Dose(
        product=product,
        amount=plain(np.asarray(moles) / product.moles),
        mmol=plain(np.asarray(moles) * 1000),
        ph=rest.ph,
        ph_stood=stood.ph,
        alkalinity_before=alkalinity_left(began),
        alkalinity=alkalinity_left(rest),
        buffer=buffer_strength(dosed, target_ph, co2_atm=co2_atm),
        nutrients=nutrients_of(product, moles),
        ionic_strength=rest.ionic_strength,
        solution=dosed,
    )


def _moles(
    water: Solution, product: Product, target: NDArray[np.float64], own_ph: Number, co2_atm: float | None
) -> Number:
    """What balances the charge at the target. [mol/l]"""
    acid = product.reagent.acid
    away = (np.asarray(own_ph) - target) * (1 if acid else -1)
    if np.any(away < -NEAR_PH):
        side, other = ("above", "a base") if acid else ("below", "an acid")
        rule = f"lies {side} the water's own pH {float(np.min(own_ph)):.2f}, and {product.reagent.name} moves it away"
        raise InputError("target pH", f"{float(np.max(target)):g}", rule, f"Take {other}, or leave the water as it is.")
    sign = 1.0 if acid else -1.0

    def charge(moles: NDArray[np.float64]) -> NDArray[np.float64]:
        return sign * np.asarray(charge_at(with_dose(water, product, moles), target, co2_atm))

    shape = np.broadcast_shapes(target.shape, np.shape(own_ph))
    none = np.zeros(shape)
    # A target within a hair of the water's own pH needs nothing.
    near = away <= 1e-6
    rule = f"cannot be reached with {product.reagent.name}"
    refused = InputError(
        "target pH", f"{float(np.min(target)):g}", rule, "Take another acid or base, or another target."
    )
    found = root(
        lambda moles: np.where(near, -moles, charge(moles)), none, np.full(shape, MOST), refused, tolerance=1e-12
    )
    return plain(found)


def nutrients_of(product: Product, moles: Number) -> dict[str, Number]:
    """
    What a dose adds of each plant food. [mg/l of the element]

    Parameters
    ----------
    product : Product
        Acid or base.
    moles : float or array
        Of the acid or base itself. [mol/l]

    Examples
    --------
    >>> from trayward.science.solution_reagents import NITRIC, product_of
    >>> round(nutrients_of(product_of(NITRIC, molar=1), 0.002)["nitrogen"], 1)
    28.0
    """
    return {name: plain(np.asarray(moles) * grams * 1000) for name, grams in product.reagent.nutrients.items()}


def titration(
    water: Solution, product: Product, most: float, *, points: int = 41, co2_atm: float | None = None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """
    The pH of water as more and more acid or base goes in.

    Parameters
    ----------
    water : Solution
        Totals, as numbers. [mol/l]
    product : Product
        Acid or base.
    most : float
        Up to how much. [ml/l or g/l] Valid above 0.
    points : int
        How many. Valid from 2 to 100000.
    co2_atm : float or None
        Air above [atm]; None: closed.

    Returns
    -------
    amounts, ph : ndarray
        Both (points,). [ml/l or g/l], [-]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> from trayward.science.solution import water_of
    >>> from trayward.science.solution_reagents import read_product
    >>> amounts, ph = titration(water_of(7.8, 2.4), read_product("nitric 38 %"), 0.3, points=4)
    >>> bool(ph[0] > ph[1] > ph[2] > ph[3])
    True
    """
    require_amount("amount", most, product.unit + "/l")
    if not most > 0 or not 2 <= points <= 100_000:
        raise InputError("titration", f"{points} points up to {most:g}", "must be 2 points or more, above zero", "")
    amounts = np.linspace(0.0, most, points)
    return amounts, np.asarray(settle(with_dose(water, product, amounts * product.moles), co2_atm=co2_atm).ph)


def neutralised(product: Product, amount: Number, *, protons: float | None = None) -> Number:
    """
    Alkalinity that an acid takes away when a set number of its protons is counted, as the extension tables do. [mg/l as
    calcium carbonate]

    Parameters
    ----------
    product : Product
        Acid.
    amount : float or array
        [ml/l or g/l] Valid from 0.
    protons : float or None
        Protons counted of each mole; None: all of a strong acid, one of phosphoric (end point near pH 5.8).

    Raises
    ------
    InputError
        If it is no acid, or the amount below zero.

    Examples
    --------
    >>> from trayward.science.solution_reagents import read_product
    >>> round(neutralised(read_product("nitric 67 % 1.40"), 0.1343), 0)
    100.0
    """
    if not product.reagent.acid:
        raise InputError("acid", product.label, "is a base", "Name an acid.")
    require_amount("amount", amount, product.unit + "/l")
    counted = (
        protons if protons is not None else (1 if product.reagent.adds.get("phosphorus") else product.reagent.protons)
    )
    return plain(np.asarray(amount, dtype=float) * product.moles * counted * 1000 * CACO3_MG_PER_MEQ)
