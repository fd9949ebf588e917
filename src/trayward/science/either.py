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


def extremes(value: object) -> tuple[float, float]:
    """The least and the greatest, which stand for all of them: NaN comes through both; (1, 1) of an empty array."""
    if isinstance(value, (int, float)):
        return float(value), float(value)
    import numpy as np

    listed = np.asarray(value, float)
    return (float(listed.min()), float(listed.max())) if listed.size else (1.0, 1.0)


def require_each(
    name: str, value: object, low: float, high: float, unit: str, remedy: str = "", *, above: bool = False
) -> None:
    """Raise `InputError` unless every value lies in [low, high], or above low with `above`; NaN is refused."""
    if not isinstance(value, (int, float)) and not getattr(value, "size", 1):
        return
    wrong = next((one for one in extremes(value) if not _inside(one, low, high, above)), None)
    if wrong is not None:
        raise InputError(name, f"{wrong:g}", _rule(low, high, unit, above), remedy, unit)


def require_positive(name: str, value: object, unit: str, remedy: str = "") -> None:
    """Raise `InputError` unless every value is above zero, and a number."""
    for one in extremes(value):
        if not 0 < one < math.inf:
            raise InputError(name, f"{one:g}", "must be above zero", remedy, unit)


def require_not_negative(name: str, value: object, unit: str, remedy: str = "") -> None:
    """Raise `InputError` where a value is below zero, or no number."""
    for one in extremes(value):
        if not 0 <= one < math.inf:
            raise InputError(name, f"{one:g}", "must not be below zero", remedy, unit)


def _inside(value: float, low: float, high: float, above: bool) -> bool:
    return (low < value if above else low <= value) and value <= high and math.isfinite(value)


def _rule(low: float, high: float, unit: str, above: bool) -> str:
    if high == math.inf:
        return f"must be above {low:g}" if above else f"must be {low:g} or more"
    within = f"must lie above {low:g} and up to {high:g}" if above else f"must lie in [{low:g}, {high:g}]"
    return f"{within} {unit}".strip()
