"""What people say of water: alkalinity in the units laboratories print, EC in the scales that meters show."""

from __future__ import annotations

import re

from trayward.errors import InputError
from trayward.science.solution_constants import MG_OR_DEGREES_PER_MEQ

ALKALINITY_EXAMPLE = 'For instance "180 mg/l" (as calcium carbonate), "3.6 meq/l", "220 mg/l hco3" or "10 dkh".'
EC_EXAMPLE = 'For instance "1.2 dS/m", "1200 uS/cm" or "600 ppm 500" (a meter\'s ppm with its scale).'

_ALKALINITY = re.compile(
    r"(?P<value>[\d.,]+)\s*(?P<unit>meq(?:/l)?|mval(?:/l)?|mmol/l|mg/l|ppm|dkh|°dh|dh)?\s*(?:as\s*)?"
    r"(?P<kind>caco3|calcium carbonate|hco3|bicarbonate)?"
)
_EC = re.compile(
    r"(?P<value>[\d.,]+)\s*(?P<unit>ds/m|ms/cm|ms|us/cm|µs/cm|us|µs|ec|ppm)?\s*\(?(?:@\s*)?(?P<scale>500|640|700)?\)?"
)
_EC_SIZE = {"ds/m": 1.0, "ms/cm": 1.0, "ms": 1.0, "ec": 1.0, "us/cm": 1e-3, "µs/cm": 1e-3, "us": 1e-3, "µs": 1e-3}


def read_alkalinity(words: str) -> float:
    """
    Alkalinity as a laboratory or a test kit says it. [meq/l]

    Parameters
    ----------
    words : str
        A bare number, and mg/l without more, count as calcium carbonate.

    Raises
    ------
    InputError
        If it is not a number with a unit of alkalinity.

    Examples
    --------
    >>> round(read_alkalinity("180 mg/l"), 2), round(read_alkalinity("61 mg/l hco3"), 2), read_alkalinity("3.6 meq/l")
    (3.6, 1.0, 3.6)
    """
    found = _ALKALINITY.fullmatch(words.strip().lower())
    value = _number(found["value"]) if found else None
    if found is None or value is None:
        raise InputError("alkalinity", repr(words), "must be a number with a unit of alkalinity", ALKALINITY_EXAMPLE)
    return value / MG_OR_DEGREES_PER_MEQ[_reported_in(found["unit"] or "mg/l", found["kind"])]


def _reported_in(unit: str, kind: str | None) -> str:
    if unit.startswith(("meq", "mval", "mmol")):
        return "meq"
    if unit in ("dkh", "°dh", "dh"):
        return "dkh"
    return "hco3" if kind in ("hco3", "bicarbonate") else "caco3"


def read_ec(words: str) -> float:
    """
    Conductivity as a meter shows it. [dS/m]

    Parameters
    ----------
    words : str
        A bare number is dS/m (which is mS/cm); ppm must name its scale.

    Raises
    ------
    InputError
        If it is not a number with a unit of conductivity, or ppm of no named scale.

    Examples
    --------
    >>> read_ec("1.2"), read_ec("1200 uS/cm"), read_ec("600 ppm 500")
    (1.2, 1.2, 1.2)
    """
    found = _EC.fullmatch(words.strip().lower())
    value = _number(found["value"]) if found else None
    if found is None or value is None:
        raise InputError("EC", repr(words), "must be a number with a unit of conductivity", EC_EXAMPLE)
    if found["unit"] != "ppm":
        if found["scale"]:
            raise InputError("EC", repr(words), "a scale goes with ppm only", EC_EXAMPLE)
        return value * _EC_SIZE[found["unit"] or "ds/m"]
    if not found["scale"]:
        rule = "ppm on a meter means one of three scales: 500, 640 or 700"
        raise InputError("EC", repr(words), rule, EC_EXAMPLE)
    return value / float(found["scale"])


def _number(text: str) -> float | None:
    if "," in text and "." in text:
        return None
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return None
