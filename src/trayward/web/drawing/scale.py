"""From figures to places on a drawing, and the round figures that stand along its edge."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
"""Steps that people count in, times a power of ten."""


class Scale(msgspec.Struct, frozen=True, kw_only=True):
    """A straight scale: `low` stands at `start`, `high` at `end`. [px]"""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """
        Where a figure stands, held within the drawing. [px]

        Examples
        --------
        >>> Scale(low=0.0, high=200.0, start=100.0, end=300.0).at(50.0)
        150.0
        """
        share = (value - self.low) / ((self.high - self.low) or 1.0)
        return self.start + min(1.0, max(0.0, share)) * (self.end - self.start)


def round_figures(low: float, high: float, most: int = 6) -> tuple[float, ...]:
    """
    Round figures from `low` to `high`, at most so many.

    Examples
    --------
    >>> round_figures(0.0, 231.0)
    (0.0, 50.0, 100.0, 150.0, 200.0)
    >>> round_figures(0.83, 1.36, 4)
    (1.0, 1.2)
    """
    if not (math.isfinite(low) and math.isfinite(high)) or high <= low:
        return ()
    wanted = (high - low) / most
    power = 10.0 ** math.floor(math.log10(wanted))
    step = next(power * each for each in STEPS if power * each >= wanted * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return tuple(round(number * step, 12) for number in range(first, last + 1))


def around(values: Sequence[float], *, also: float | None = None, room: float = 0.04) -> tuple[float, float]:
    """
    The ends of a scale that holds all these figures, with a little room, and one more where it must be on it.

    Examples
    --------
    >>> around([80.0, 220.0], also=0.0)
    (0.0, 228.8)
    """
    held = [value for value in (*values, *(() if also is None else (also,))) if math.isfinite(value)]
    if not held:
        return 0.0, 1.0
    low, high = min(held), max(held)
    more = (high - low) * room or abs(high) * room or 1.0
    return (low if low == also else low - more), (high if high == also else high + more)
