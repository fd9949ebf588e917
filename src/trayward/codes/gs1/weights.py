"""Net weight in GS1 fields: (310n) kilograms with n figures behind the point, (320n) pounds.

References
----------
GS1 General Specifications, section 3.6.2, trade measures (from memory).
"""

from __future__ import annotations

from trayward.codes.gs1.elements import Element
from trayward.errors import InputError
from trayward.units import GRAMS_PER_POUND


def weight_element(grams: float) -> Element:
    """
    A net weight as a field, to the gram. [g]

    Examples
    --------
    >>> weight_element(189.0)
    Element(ai='3103', value='000189')
    """
    if not 0 < grams < 999_999.5:
        raise InputError("net weight", grams, "must lie between 0 and 999,999 g", "Weigh the pack again.", "g")
    return Element("3103", f"{round(grams):06d}")


def read_weight(element: tuple[str, str]) -> float:
    """The net weight that a field says. [g]"""
    ai, value = element
    amount: float = int(value) * 10.0 ** -float(ai[3])
    return amount * 1000.0 if ai.startswith("310") else amount * GRAMS_PER_POUND
