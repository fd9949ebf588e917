"""Values of sensors in whatever unit a device tells them, as the unit of their measure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from trayward.errors import InputError
from trayward.farm.sensors import MEASURES, What

_SAME: Final = {
    "C": ("c", "°c", "degc", "celsius"),
    "%": ("%", "%rh", "% rh", "rh", "percent"),
    "ppm": ("ppm",),
    "umol/m2/s": ("umol/m2/s", "µmol/m²/s", "umol", "ppfd"),
    "lx": ("lx", "lux"),
    "": ("", "ph"),
    "dS/m": ("ds/m", "ms/cm"),
}
_OTHER: Final[tuple[tuple[str, tuple[str, ...], Callable[[float], float]], ...]] = (
    ("C", ("f", "°f", "degf", "fahrenheit"), lambda value: (value - 32) * 5 / 9),
    ("C", ("k",), lambda value: value - 273.15),
    ("dS/m", ("us/cm", "µs/cm"), lambda value: value / 1000),
)


def to_measure(what: What, value: float, unit: str = "") -> float:
    """
    A value in the unit of its measure.

    Raises
    ------
    InputError
        If the unit is none of that measure.

    Examples
    --------
    >>> to_measure("air temperature", 70.7, "F"), to_measure("ec", 1350.0, "uS/cm"), to_measure("humidity", 61.0)
    (21.5, 1.35, 61.0)
    """
    told, own = unit.strip().casefold(), MEASURES[what].unit
    if not told or told in _SAME[own]:
        return value
    for measured, names, convert in _OTHER:
        if measured == own and told in names:
            return convert(value)
    rule = f"it is no unit of {MEASURES[what].title}"
    raise InputError("unit", unit, rule, f"Send it in {own}." if own else "Send the bare number.")
