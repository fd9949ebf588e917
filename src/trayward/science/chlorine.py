"""What free chlorine does in water: how much of it is the quick form, and strength times time."""

from __future__ import annotations

import math

from trayward.science.either import Either, require_each

KELVIN = 273.15
COLDEST, WARMEST = 0.0, 35.0
"""Where the equation of the equilibrium was fitted: 5 to 35 °C (from memory); we let it reach down to 0. [°C]"""
_GAS = "Below pH 4 chlorine comes off as poison gas, and above 11 hardly any of it acts: measure the water again."


def hypochlorous_pka(temp_c: Either) -> Either:
    """
    Where half of the free chlorine is hypochlorous acid.

    Parameters
    ----------
    temp_c : float or array
        Water. [°C] Valid 0 to 35.

    Returns
    -------
    float or array
        pKa. [-]

    Raises
    ------
    InputError
        If the temperature is out of range.

    References
    ----------
    .. [1] J. C. Morris, 1966, The acid ionization constant of HOCl from 5 to 35 °C, J. Phys. Chem. 70:3798-3805.
       (Equation from memory.)

    Examples
    --------
    >>> round(hypochlorous_pka(20.0), 3)
    7.582
    """
    require_each("temp_c", temp_c, COLDEST, WARMEST, "°C", "If this is Fahrenheit, convert first.")
    kelvin = temp_c + KELVIN
    return 3000 / kelvin - 10.0686 + 0.0253 * kelvin


def hypochlorous_share(ph: Either, temp_c: float = 20.0) -> Either:
    """
    Share of the free chlorine that is hypochlorous acid, the form that acts quickly.

    Parameters
    ----------
    ph : float or array
        Of the solution as mixed, not of the tap water. [-] Valid 4 to 11.
    temp_c : float
        Of the solution. [°C] Valid 0 to 35.

    Returns
    -------
    float or array
        Share, 0 to 1; the rest is hypochlorite. [-]

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    1 / (1 + 10^(pH - pKa)), with `hypochlorous_pka`; for thin solutions (activities taken as concentrations).

    Examples
    --------
    >>> [round(hypochlorous_share(ph), 3) for ph in (6.5, 7.0, 7.5, 8.0)]
    [0.923, 0.792, 0.547, 0.276]
    """
    require_each("pH", ph, 4, 11, "", _GAS)
    return 1 / (1 + 10 ** (ph - hypochlorous_pka(temp_c)))


def ph_for_share(share: float, temp_c: float = 20.0, *, pka: float | None = None) -> float:
    """
    pH at which so much of the free chlorine is hypochlorous acid.

    Parameters
    ----------
    share : float
        Share wanted. [-] Valid 0.001 to 0.999.
    temp_c : float
        Of the solution. [°C] Valid 0 to 35.
    pka : float or None
        Where another constant is to be used; else `hypochlorous_pka`. [-]

    Returns
    -------
    float
        pH. [-]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(ph_for_share(0.9), 2)
    6.63
    """
    require_each("share", share, 0.001, 0.999, "", "Give a share, for instance 0.9 for 90 %.")
    return (hypochlorous_pka(temp_c) if pka is None else pka) - math.log10(share / (1 - share))


def contact_minutes(ct: float, ppm: float) -> float:
    """
    Time that a strength must act to reach a product of strength and time.

    Parameters
    ----------
    ct : float
        Strength x time wanted. [mg min/l] Valid above 0.
    ppm : float
        Strength left at the end. [mg/l] Valid above 0.

    Returns
    -------
    float
        Contact time. [min]

    Raises
    ------
    InputError
        If a value is not above zero.

    Examples
    --------
    >>> round(contact_minutes(92.0, 1.5), 1)
    61.3
    """
    require_each("ct", ct, 0, math.inf, "mg min/l", above=True)
    require_each("ppm", ppm, 0, math.inf, "ppm", "Measure what is left with a strip.", above=True)
    return ct / ppm


def tank_minutes(contact_min: float, baffling: float) -> float:
    """
    How long water must stay in a tank on average for nearly all of it to get the contact time.

    Parameters
    ----------
    contact_min : float
        Contact time wanted. [min] Valid from 0.
    baffling : float
        How evenly water moves through: 1 in a long pipe, 0.5 average, 0.1 where it is stirred. [-] Valid above 0 and up
        to 1.

    Returns
    -------
    float
        Volume over flow. [min]

    Raises
    ------
    InputError
        If a value is out of range.

    References
    ----------
    .. [1] US EPA, Disinfection Profiling and Benchmarking Guidance Manual, EPA 815-R-99-013. (Definition from memory.)

    Examples
    --------
    >>> round(tank_minutes(contact_minutes(92.0, 1.5), 0.5), 1)
    122.7
    """
    require_each("contact_min", contact_min, 0, math.inf, "min")
    require_each("baffling", baffling, 0, 1, "", "0.5 is average, 0.1 a stirred tank.", above=True)
    return contact_min / baffling
