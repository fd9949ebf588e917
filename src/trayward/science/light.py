"""Light in photons: the light of a day, and the hours it takes. What lamps give and use is in `light_power`.

PPFD is the photosynthetic photon flux density, 400 to 700 nm [umol/m2/s]; DLI is what of it comes down in a day
[mol/m2/d]. Every function takes a number or a numpy array and gives the like. Loads no numpy for numbers.
"""

from __future__ import annotations

from typing import Any, TypeVar

from trayward.errors import InputError
from trayward.science.either import require_each

Value = TypeVar("Value", float, Any)
"""A number, or a numpy array of them."""

MOL_PER_UMOL_H = 3600 / 1e6
"""Seconds in an hour, over umol in a mol."""
MOST_PPFD = 10_000.0
"""More than four times full sun is a slip of the unit. [umol/m2/s] Our choice."""


def require_ppfd(ppfd: Any) -> None:
    """Refuse what no lamp or sky gives. [umol/m2/s]"""
    remedy = "Full sun at noon is about 2000. If this is lux, turn it into PPFD first."
    require_each("ppfd", ppfd, 0, MOST_PPFD, "umol/m2/s", remedy)


def require_hours(hours: Any) -> None:
    """Refuse more hours than a day has. [h]"""
    require_each("hours", hours, 0, 24, "h", "A day has 24 h; say how many of them the lamps are on.")


# Daily light ----------------------------------------------------------------------------------------------------------


def dli(ppfd: Value, hours: Value) -> Value:
    """
    Daily light integral: the photons that come down on a square metre in a day.

    Parameters
    ----------
    ppfd : float or array
        Light on the crop while the lamps are on. [umol/m2/s] Valid 0 to 10000.
    hours : float or array
        Hours of light a day. [h] Valid 0 to 24.

    Returns
    -------
    float or array
        Daily light. [mol/m2/d]

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    PPFD x hours x 3600 / 1e6, by definition.

    Examples
    --------
    >>> round(dli(350, 12), 2)
    15.12
    """
    require_ppfd(ppfd)
    require_hours(hours)
    return ppfd * hours * MOL_PER_UMOL_H


def hours_for_dli(mol_m2_d: Value, ppfd: Value) -> Value:
    """
    Hours of light a day that bring a daily light.

    Parameters
    ----------
    mol_m2_d : float or array
        Daily light wanted. [mol/m2/d] Valid from 0.
    ppfd : float or array
        Light on the crop while the lamps are on. [umol/m2/s] Valid above 0.

    Returns
    -------
    float or array
        Hours. [h]

    Raises
    ------
    InputError
        If a value is out of range, or the day is too short: the way out says how much light it takes.

    Examples
    --------
    >>> round(hours_for_dli(10, 180), 2)
    15.43
    """
    _require_dli(mol_m2_d)
    require_ppfd(ppfd)
    require_each("ppfd", ppfd, 0, MOST_PPFD, "umol/m2/s", "Without light no hours are enough.", above=True)
    hours = mol_m2_d / (ppfd * MOL_PER_UMOL_H)
    most = hours if isinstance(hours, (int, float)) else hours.max()
    if most > 24:
        need = mol_m2_d / (24 * MOL_PER_UMOL_H)
        shown = f"{need:.0f} umol/m2/s" if isinstance(need, (int, float)) else "more light"
        rule = "the daily light wanted takes more than the 24 h of a day"
        raise InputError("hours", f"{most:.3g}", rule, f"It takes {shown} at least; or want less.", "h")
    return hours


def ppfd_for_dli(mol_m2_d: Value, hours: Value) -> Value:
    """
    Light on the crop that brings a daily light in the hours there are.

    Parameters
    ----------
    mol_m2_d : float or array
        Daily light wanted. [mol/m2/d] Valid from 0.
    hours : float or array
        Hours of light a day. [h] Valid above 0, up to 24.

    Returns
    -------
    float or array
        Light while the lamps are on. [umol/m2/s]

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(ppfd_for_dli(10, 16))
    174
    """
    _require_dli(mol_m2_d)
    require_each("hours", hours, 0, 24, "h", "A day has 24 h; say how many of them the lamps are on.", above=True)
    return mol_m2_d / (hours * MOL_PER_UMOL_H)


def _require_dli(mol_m2_d: Any) -> None:
    remedy = "Outdoors a bright summer day brings about 60; microgreens grow well on 5 to 15."
    require_each("dli", mol_m2_d, 0, 100, "mol/m2/d", remedy)
