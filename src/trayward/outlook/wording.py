"""How the outlook says by how much something is more or less: the side in a word, and no sign."""

from __future__ import annotations

Sides = tuple[str, str]
"""What more of it is called, and what less: heavier and lighter, longer and shorter."""


def moved(factor: float, sides: Sides, places: int = 0) -> str:
    """
    By how much a factor moves something.

    Examples
    --------
    >>> moved(0.9, ("heavier", "lighter")), moved(1.034, ("more", "less"), places=1)
    ('10 % lighter', '3.4 % more')
    >>> moved(0.998, ("heavier", "lighter"))
    'less than 1 % lighter'
    """
    return f"{_size(factor, places)} % {_side(factor, sides)}"


def moved_between(low: float, high: float, sides: Sides, places: int = 0) -> str:
    """
    The range of a move: each end with its side where they differ, else with neither, for the middle has said it.

    Examples
    --------
    >>> sides = ("heavier", "lighter")
    >>> moved_between(0.84, 0.97, sides), moved_between(0.91, 1.06, sides)
    ('3 to 16 %', '9 % lighter to 6 % heavier')
    >>> moved_between(0.998, 1.06, sides), moved_between(0.84, 1.001, sides), moved_between(0.998, 1.002, sides)
    ('up to 6 % heavier', 'up to 16 % lighter', 'less than 1 %')
    """
    least = 10.0**-places
    told = [one for one in (low, high) if abs(one - 1) * 100 >= least / 2]
    if not told:
        return f"less than {least:.{places}f} %"
    if len(told) == 1:
        return f"up to {moved(told[0], sides, places)}"
    if (low - 1) * (high - 1) < 0:
        return f"{moved(low, sides, places)} to {moved(high, sides, places)}"
    first, last = sorted((low, high), key=lambda end: abs(end - 1))
    return f"{_size(first, places)} to {_size(last, places)} %"


def _size(factor: float, places: int) -> str:
    size, least = abs(factor - 1) * 100, 10.0**-places
    return f"{size:.{places}f}" if size >= least / 2 else f"less than {least:.{places}f}"


def _side(factor: float, sides: Sides) -> str:
    return sides[0] if factor >= 1 else sides[1]
