"""Names in a sentence about an entry, and the story that a tray's or a lot's words ask for."""

from __future__ import annotations

from collections.abc import Iterable

from trayward.farm.settings import ShownUnits
from trayward.farm.state import FarmState
from trayward.rounds.sayings import Life
from trayward.words import Filled, Own, filled, in_a_list

MOST = 8
"""So many names are told one by one."""


def names(told: Iterable[str]) -> Filled:
    """Names joined as a sentence joins them, the first few of many."""
    return in_a_list(map(Own, told), most=MOST)


def amounts(told: Iterable[tuple[str, str]]) -> Filled:
    """So much of each: an amount and what it is of, in words."""
    return in_a_list((filled("{amount} of {harvest}", amount=much, harvest=Own(of)) for much, of in told), most=MOST)


def new_life(name: str, units: ShownUnits) -> Life:
    """A story that has told nothing yet."""
    return Life(name=name, state=FarmState(), units=units)
