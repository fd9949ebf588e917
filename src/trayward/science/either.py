"""Sums that take one number or an array of them, and the checks of what they are given."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, TypeVar

from trayward.errors import InputError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Either = TypeVar("Either", float, "NDArray[np.float64]")
"""One number, or an array of them: what goes in comes out."""


def require_each(
    name: str, value: object, low: float, high: float, unit: str, remedy: str = "", *, above: bool = False
) -> None:
    """Raise `InputError` unless every value lies in [low, high], or above low with `above`; NaN is refused."""
    if isinstance(value, (int, float)):
        lowest = highest = float(value)
    else:
        import numpy as np

        listed = np.asarray(value, float)
        if listed.size == 0:
            return
        # The least and the greatest stand for all: NaN comes through both.
        lowest, highest = float(listed.min()), float(listed.max())
    wrong = next((one for one in (lowest, highest) if not _inside(one, low, high, above)), None)
    if wrong is not None:
        raise InputError(name, f"{wrong:g}", _rule(low, high, unit, above), remedy, unit)


def _inside(value: float, low: float, high: float, above: bool) -> bool:
    return (low < value if above else low <= value) and value <= high and math.isfinite(value)


def _rule(low: float, high: float, unit: str, above: bool) -> str:
    if high == math.inf:
        return f"must be above {low:g}" if above else f"must be {low:g} or more"
    within = f"must lie above {low:g} and up to {high:g}" if above else f"must lie in [{low:g}, {high:g}]"
    return f"{within} {unit}".strip()
