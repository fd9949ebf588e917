"""Constants of water chemistry: what forms from what, how strongly, and how that moves with warmth."""

from __future__ import annotations

import math
from typing import NamedTuple

COLDEST_C, WARMEST_C = 0.0, 50.0
"""The constants hold between these. [C]"""
KELVIN = 273.15
GAS_J = 8.314462618
"""Gas constant. [J/mol/K] CODATA 2018, from memory."""
CAL_J = 4.184
"""A calorie. [J]"""

N_G, P_G, S_G, K_G, CA_G, MG_G, NA_G = 14.007, 30.974, 32.06, 39.098, 40.078, 24.305, 22.990
"""Molar masses. [g/mol] IUPAC, from memory."""
CACO3_G, HCO3_G, SO4_G, CL_G, CAO_G = 100.087, 61.017, 96.06, 35.45, 56.077
CACO3_MG_PER_MEQ = CACO3_G / 2
"""What a milliequivalent of alkalinity is as calcium carbonate. [mg/meq]"""
MG_OR_DEGREES_PER_MEQ = {"meq": 1.0, "caco3": CACO3_MG_PER_MEQ, "hco3": HCO3_G, "dkh": CAO_G / 2 / 10}
"""What a milliequivalent of alkalinity is in the units it is reported in: itself, mg as calcium carbonate, mg as
bicarbonate, German degrees (each 10 mg of lime)."""

LIGANDS = ("carbon", "phosphorus", "sulfur", "citrate", "ammonium")
"""What has a total and takes up or gives off protons; written here as CO3, PO4, SO4, citrate and NH4."""
METALS = ("calcium", "magnesium")
"""What pairs with them."""


class Species(NamedTuple):
    """One thing dissolved: its parts, charge, and how strongly it forms from them at no ionic strength.

    `analytic` has the five coefficients of log10 K = a + b T + c/T + d log10 T + e/T^2 (T in K); where there is none,
    `log_k` [log10, 25 C] goes with warmth by van 't Hoff's rule and `heat_kj` [kJ/mol].
    """

    name: str
    ligand: str
    metal: str
    protons: int
    charge: int
    log_k: float
    heat_kj: float = 0.0
    analytic: tuple[float, float, float, float, float] | None = None


def _cal(kilocalories: float) -> float:
    return kilocalories * CAL_J


SPECIES = (
    # Carbonate: Plummer and Busenberg (1982), as phreeqc.dat carries it.
    Species("CO3", "carbon", "", 0, -2, 0.0),
    Species(
        "HCO3", "carbon", "", 1, -1, 10.329, analytic=(107.8871, 0.03252849, -5151.79, -38.92561, 563713.9)
    ),
    Species(
        "CO2", "carbon", "", 2, 0, 16.681, analytic=(464.1965, 0.09344813, -26986.16, -165.75951, 2248628.9)
    ),
    Species("CaCO3", "carbon", "calcium", 0, 0, 3.224, analytic=(-1228.732, -0.299440, 35512.75, 485.818, 0.0)),
    Species(
        "CaHCO3", "carbon", "calcium", 1, 1, 11.435,
        analytic=(1317.0071, 0.34546894, -39916.84, -517.70761, 563713.9),
    ),
    Species("MgCO3", "carbon", "magnesium", 0, 0, 2.98, analytic=(0.9910, 0.00667, 0.0, 0.0, 0.0)),
    Species(
        "MgHCO3", "carbon", "magnesium", 1, 1, 11.399,
        analytic=(48.6721, 0.03252849, -2614.335, -18.00263, 563713.9),
    ),
    # Phosphate: phreeqc.dat; the third step from minteq.v4.dat (NIST46.3).
    Species("PO4", "phosphorus", "", 0, -3, 0.0),
    Species("HPO4", "phosphorus", "", 1, -2, 12.346, _cal(-3.530)),
    Species("H2PO4", "phosphorus", "", 2, -1, 19.553, _cal(-4.520)),
    Species("H3PO4", "phosphorus", "", 3, 0, 21.721, -10.1),
    # A pair with HPO4 or H2PO4 is written from PO4: its own constant and that of the proton steps, added up.
    Species("CaPO4", "phosphorus", "calcium", 0, -1, 6.459, _cal(3.10)),
    Species("CaHPO4", "phosphorus", "calcium", 1, 0, 2.739 + 12.346, _cal(3.3 - 3.530)),
    Species("CaH2PO4", "phosphorus", "calcium", 2, 1, 1.408 + 19.553, _cal(3.4 - 4.520)),
    Species("MgPO4", "phosphorus", "magnesium", 0, -1, 6.589, _cal(3.10)),
    Species("MgHPO4", "phosphorus", "magnesium", 1, 0, 2.87 + 12.346, _cal(3.3 - 3.530)),
    Species("MgH2PO4", "phosphorus", "magnesium", 2, 1, 1.513 + 19.553, _cal(3.4 - 4.520)),
    # Sulphate: phreeqc.dat.
    Species("SO4", "sulfur", "", 0, -2, 0.0),
    Species("HSO4", "sulfur", "", 1, -1, 1.988, analytic=(-56.889, 0.006473, 2307.9, 19.8858, 0.0)),
    Species("CaSO4", "sulfur", "calcium", 0, 0, 2.25, _cal(1.325)),
    Species("MgSO4", "sulfur", "magnesium", 0, 0, 2.37, _cal(4.550)),
    # Citrate: minteq.v4.dat (NIST46.2, two pairs SCD2.62).
    Species("Cit", "citrate", "", 0, -3, 0.0),
    Species("HCit", "citrate", "", 1, -2, 6.396, 3.3472),
    Species("H2Cit", "citrate", "", 2, -1, 11.157, 1.297),
    Species("H3Cit", "citrate", "", 3, 0, 14.285, -2.7614),
    Species("CaCit", "citrate", "calcium", 0, -1, 4.87, -8.368),
    Species("CaHCit", "citrate", "calcium", 1, 0, 9.26, -0.8368),
    Species("CaH2Cit", "citrate", "calcium", 2, 1, 12.257),
    Species("MgCit", "citrate", "magnesium", 0, -1, 4.89, 8.368),
    Species("MgHCit", "citrate", "magnesium", 1, 0, 8.91, 3.3472),
    Species("MgH2Cit", "citrate", "magnesium", 2, 1, 12.2),
    # Ammonium gives off a proton: -1 of them. phreeqc.dat.
    Species("NH4", "ammonium", "", 0, 1, 0.0),
    Species("NH3", "ammonium", "", -1, 0, -9.252, analytic=(0.6322, -0.001225, -2835.76, 0.0, 0.0)),
)  # fmt: skip
"""All that is counted. Source: `source("phreeqc_dat")`, citrate `source("minteq_v4")`, seen in both files."""


def log_k(species: Species, temp_c: float) -> float:
    """
    How strongly a species forms from its parts, at no ionic strength. [log10]

    Parameters
    ----------
    species : Species
        One of `SPECIES`.
    temp_c : float
        Temperature. [C] Valid from 0 to 50.

    Examples
    --------
    >>> round(log_k(SPECIES[1], 25.0), 3), round(log_k(SPECIES[1], 10.0), 3)
    (10.329, 10.488)
    """
    kelvin = temp_c + KELVIN
    if species.analytic is None:
        step = 1 / kelvin - 1 / (25.0 + KELVIN)
        return species.log_k - species.heat_kj * 1000 / (GAS_J * math.log(10)) * step
    a, b, c, d, e = species.analytic
    return a + b * kelvin + c / kelvin + d * math.log10(kelvin) + e / kelvin**2


def log_k_water(temp_c: float) -> float:
    """
    The ion product of water at no ionic strength. [log10]

    Notes
    -----
    The form that phreeqc.dat carries: `source("phreeqc_dat")`.

    Examples
    --------
    >>> round(log_k_water(25.0), 2)
    -13.99
    """
    kelvin = temp_c + KELVIN
    flat = 293.29227 + 0.1360833 * kelvin - 10576.913 / kelvin
    return flat - 123.73158 * math.log10(kelvin) - 6.996455e-5 * kelvin**2


def log_k_henry(temp_c: float) -> float:
    """
    How much carbon dioxide water takes up from air. [log10 of mol/l/atm]

    Notes
    -----
    The form that phreeqc.dat carries: `source("phreeqc_dat")`.

    Examples
    --------
    >>> round(log_k_henry(25.0), 2)
    -1.47
    """
    kelvin = temp_c + KELVIN
    return 10.5624 - 2.3547e-2 * kelvin - 3972.8 / kelvin + 5.8746e5 / kelvin**2 + 1.9194e-5 * kelvin**2


def water_density(temp_c: float) -> float:
    """
    Density of water. [g/ml] Valid from 0 to 50 C, within 0.0002.

    Notes
    -----
    1 - (t + 288.9414)(t - 3.9863)^2 / (508929.2 (t + 68.12963)), from memory: `source("water_density")`.

    Examples
    --------
    >>> round(water_density(4.0), 4), round(water_density(25.0), 4)
    (1.0, 0.9971)
    """
    return 1 - (temp_c + 288.9414) * (temp_c - 3.9863) ** 2 / (508929.2 * (temp_c + 68.12963))


def debye_a(temp_c: float) -> float:
    """
    The slope of Debye and Hueckel's law. [(l/mol)^0.5, log10]

    Notes
    -----
    1.8248e6 density^0.5 / (dielectric constant x T)^1.5, with the dielectric constant of water of Malmberg and Maryott:
    `source("malmberg1956")`, from memory.

    Examples
    --------
    >>> round(debye_a(25.0), 3), round(debye_a(10.0), 3)
    (0.511, 0.499)
    """
    dielectric = 87.740 - 0.40008 * temp_c + 9.398e-4 * temp_c**2 - 1.410e-6 * temp_c**3
    return float(1.8248e6 * math.sqrt(water_density(temp_c)) / (dielectric * (temp_c + KELVIN)) ** 1.5)
