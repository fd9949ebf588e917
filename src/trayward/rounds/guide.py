"""Sentences of the guide to trouble, with temperatures as who reads them has them."""

from __future__ import annotations

import re
from collections.abc import Callable

from trayward.farm.settings import TemperatureUnit
from trayward.units import degrees_in

_NUMBER = r"\d+(?:[.,]\d+)?"
_CELSIUS = re.compile(rf"({_NUMBER})(?: (to|a) ({_NUMBER}))? °C")


def guide_temperatures(sentence: str, unit: TemperatureUnit, number: Callable[[str], str] = str) -> str:
    """
    A sentence of a guide with its temperatures in a reader's unit; each is one, never a difference of two.

    Examples
    --------
    >>> guide_temperatures("Keep the dark phase at 21 to 24 °C.", "F"), guide_temperatures("It is 24 °C.", "C")
    ('Keep the dark phase at 70 to 75 °F.', 'It is 24 °C.')
    """
    if unit == "C":
        return sentence

    def shown(found: re.Match[str]) -> str:
        low, high = (
            f"{degrees_in(float(one.replace(',', '.')), unit):.0f}" if one else "" for one in found.group(1, 3)
        )
        return number(f"{low} {found[2]} {high}" if high else low) + " °F"

    return _CELSIUS.sub(shown, sentence)
