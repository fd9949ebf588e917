"""An error of the sums in a grower's words: arguments of functions get names, and the way out is the command's."""

from __future__ import annotations

import re

UNITS = ("c", "pct", "mm", "m", "pa", "ppm", "ml", "g", "h", "min")
"""What ends the name of an argument and says its unit; the value has the unit beside it anyway."""
NAMES = {"temp": "temperature", "tsw": "weight of 1000 seeds", "rh": "humidity", "base": "base temperature"}
WAYS_OUT = {
    "If this is Fahrenheit, convert first.": 'If this is Fahrenheit, say so: "72 F".',
    "If this is feet, convert first.": 'If this is feet, say so: "350 ft".',
}
"""Who calls a function converts; who types a command only has to say the unit."""


def spoken(message: str) -> str:
    """
    A message as a grower reads it.

    Examples
    --------
    >>> spoken("temp_c = 122 °C: must lie in [-20, 60] °C. If this is Fahrenheit, convert first.")
    'temperature = 122 °C: must lie in [-20, 60] °C. If this is Fahrenheit, say so: "72 F".'
    >>> spoken("opening_mm = 0 mm: must be above 0."), spoken("pH = 15: must lie in [4.5, 10.5].")
    ('opening = 0 mm: must be above 0.', 'pH = 15: must lie in [4.5, 10.5].')
    """
    for one, other in WAYS_OUT.items():
        message = message.replace(one, other)
    return re.sub(r"^[a-z]+(?:_[a-z0-9]+)+(?= = )", lambda found: _name(found[0]), message)


def _name(argument: str) -> str:
    words = argument.split("_")
    if len(words) > 1 and words[-1] in UNITS:
        words.pop()
    return NAMES.get(" ".join(words), " ".join(words))
