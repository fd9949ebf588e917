"""Photons and watts: the energy of a photon, what lamps give, and what they use. Loads no numpy for numbers."""

from __future__ import annotations

import math
from typing import Any

from trayward.science.either import require_each
from trayward.science.light import Value, require_hours, require_ppfd

AVOGADRO = 6.02214076e23
"""[1/mol] Exact by the definition of the mole, SI 2019."""
PLANCK = 6.62607015e-34
"""[J s] Exact by the definition of the kilogram, SI 2019."""
SPEED_OF_LIGHT = 299_792_458.0
"""[m/s] Exact by the definition of the metre."""
MOL_OF_LIGHT = 1e6 * AVOGADRO * PLANCK * SPEED_OF_LIGHT
"""Energy of a mole of photons times their wavelength. [kJ nm/mol]"""
PAR_NM = (400.0, 700.0)
"""Ends of the photons that are counted. [nm]"""
EFFICACY_LIMIT = 1000 * PAR_NM[1] / MOL_OF_LIGHT
"""No lamp gives more counted photons a joule: all its power as light of 700 nm. [umol/J]"""
EFFICACY_OF_LEDS = 4.1
"""Upper limit of blue and red LED lamps as built today. [umol/J] Source: `kusuma2020`, abstract."""


def require_efficacy(efficacy: Any) -> None:
    """Refuse what would take more than all of a lamp's power. [umol/J]"""
    remedy = "Look on the lamp's sheet for umol/J; LED bars have 1.5 to 3."
    require_each("efficacy", efficacy, 0, EFFICACY_LIMIT, "umol/J", remedy, above=True)


def photon_energy(nm: Value) -> Value:
    """
    Energy of a mole of photons of one wavelength.

    Parameters
    ----------
    nm : float or array
        Wavelength in vacuum. [nm] Valid 100 to 3000.

    Returns
    -------
    float or array
        Energy. [kJ/mol]

    Raises
    ------
    InputError
        If the wavelength is out of range.

    References
    ----------
    E = N_A h c / wavelength; the constants are exact by definition (BIPM, The International System of Units, 9th
    edition, 2019, from memory).

    Examples
    --------
    >>> round(photon_energy(450), 2), round(photon_energy(660), 2)
    (265.84, 181.25)
    """
    _require_wavelength(nm)
    return MOL_OF_LIGHT / nm


def ideal_efficacy(nm: Value) -> Value:
    """
    Photons a joule when all power becomes light of one wavelength; no lamp of that colour gives more.

    Parameters
    ----------
    nm : float or array
        Wavelength. [nm] Valid 100 to 3000.

    Returns
    -------
    float or array
        Photons a joule. [umol/J]

    Raises
    ------
    InputError
        If the wavelength is out of range.

    Examples
    --------
    >>> round(ideal_efficacy(450), 3), round(ideal_efficacy(660), 3)
    (3.762, 5.517)
    """
    _require_wavelength(nm)
    return 1000 * nm / MOL_OF_LIGHT


def _require_wavelength(nm: Any) -> None:
    require_each("wavelength", nm, 100, 3000, "nm", "Light that plants use has 400 to 700 nm.")


def photon_output(watts: Value, efficacy: Value) -> Value:
    """
    Photons a second that a lamp gives.

    Parameters
    ----------
    watts : float or array
        Power the lamp takes from the wall. [W] Valid from 0.
    efficacy : float or array
        Photons a joule. [umol/J] Valid above 0, up to 5.85: all power as light of 700 nm.

    Returns
    -------
    float or array
        Photon output. [umol/s]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> photon_output(20.0, 2.5)
    50.0
    """
    _require_watts(watts)
    require_efficacy(efficacy)
    return watts * efficacy


def watts_for(ppfd: Value, area_m2: float, efficacy: float, share_on_shelf: float = 1.0) -> Value:
    """
    Power of the lamps that light an area.

    Parameters
    ----------
    ppfd : float or array
        Light wanted, mean over the area. [umol/m2/s] Valid 0 to 10000.
    area_m2 : float
        The area. [m2] Valid above 0.
    efficacy : float
        Photons a joule. [umol/J] Valid above 0, up to 5.85.
    share_on_shelf : float
        Share of the photons that land on it. [-] Valid above 0, up to 1; without walls 0.4 to 0.8 is usual.

    Returns
    -------
    float or array
        Power. [W]

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    PPFD x area / (efficacy x share), by definition.

    Examples
    --------
    >>> watts_for(200, 1.0, 2.5)
    80.0
    """
    require_ppfd(ppfd)
    require_each("area", area_m2, 0, math.inf, "m2", "Length x width of what is lit.", above=True)
    require_efficacy(efficacy)
    require_each("share on the shelf", share_on_shelf, 0, 1, "", "Give a share, for instance 0.6 for 60 %.", above=True)
    return ppfd * area_m2 / (efficacy * share_on_shelf)


def kwh_a_day(watts: Value, hours: Value) -> Value:
    """
    Energy that lamps use in a day.

    Parameters
    ----------
    watts : float or array
        Power of all lamps, at the wall. [W] Valid from 0.
    hours : float or array
        Hours of light a day. [h] Valid 0 to 24.

    Returns
    -------
    float or array
        Energy. [kWh/d]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(kwh_a_day(80, 16), 2)
    1.28
    """
    _require_watts(watts)
    require_hours(hours)
    return watts * hours / 1000


def kwh_per_mol(efficacy: Value, share_on_shelf: Value = 1.0) -> Value:
    """
    Energy that a mole of photons on the shelf costs.

    Parameters
    ----------
    efficacy : float or array
        Photons a joule. [umol/J] Valid above 0, up to 5.85.
    share_on_shelf : float or array
        Share of the photons that land on the shelf. [-] Valid above 0, up to 1.

    Returns
    -------
    float or array
        Energy. [kWh/mol]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(kwh_per_mol(2.5), 4)
    0.1111
    """
    require_efficacy(efficacy)
    require_each("share on the shelf", share_on_shelf, 0, 1, "", "Give a share, for instance 0.6 for 60 %.", above=True)
    return 1 / (3.6 * efficacy * share_on_shelf)


def _require_watts(watts: Any) -> None:
    require_each("watts", watts, 0, 1e6, "W", "Read the power at the wall from the lamp's label or a meter.")
