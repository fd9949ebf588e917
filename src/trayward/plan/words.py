"""How the plan says days, amounts and names."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date

from trayward.dates import day_words
from trayward.farm.settings import MassUnit
from trayward.plan.types import Serve
from trayward.units import GRAMS_PER_OUNCE, show_mass
from trayward.words import counted, listed

FEW = 4
"""So many are named in a sentence of a plan, unless it says otherwise; of the others it says how many they are. [-]"""

_READ_IN: ContextVar[MassUnit] = ContextVar("unit that weights are said in", default="g")


@contextmanager
def weights_in(unit: MassUnit) -> Iterator[None]:
    """
    Say weights in a farm's own unit for as long as this lasts, however deep the sentences are made.

    Examples
    --------
    >>> with weights_in("oz"):
    ...     amount_words(340.0, "g")
    '12 oz'
    """
    before = _READ_IN.set(unit)
    try:
        yield
    finally:
        _READ_IN.reset(before)


def weight_unit() -> MassUnit:
    """The unit that weights are said in now."""
    return _READ_IN.get()


def days_words(first: date, last: date) -> str:
    """`on Fri 4 Dec`, or `from Fri 4 Dec to Mon 7 Dec`."""
    return f"on {day_words(first)}" if first == last else f"from {day_words(first)} to {day_words(last)}"


def evening_words(evening: int, trays: int) -> str:
    """
    Which trays of a sowing wait for the evening; nothing where none does.

    Examples
    --------
    >>> evening_words(2, 5)
    '2 of the 5 trays are sown in the evening, once others have gone on: by day they have no place.'
    """
    if evening <= 0:
        return ""
    if evening >= trays:
        return "It is sown in the evening, once others have gone on: by day it has no place in the dark."
    if evening == 1:
        return f"One of the {trays} trays is sown in the evening, once others have gone on: by day it has no place."
    return (
        f"{evening} of the {trays} trays are sown in the evening, once others have gone on: by day they have no place."
    )


def amount_words(amount: float, unit: str) -> str:
    """An amount and its unit; whole numbers from 10 up, one decimal below. Grams on a farm of ounces are ounces."""
    if unit == "g" and weight_unit() != "g":
        return show_mass(amount, weight_unit(), figures=2 if amount < 10 * GRAMS_PER_OUNCE else 3)
    shown = f"{amount:.0f}" if amount >= 10 or abs(amount - round(amount)) < 0.05 else f"{amount:.1f}"
    return f"{shown} {'spot' if shown == '1' and unit == 'spots' else unit}".strip()


def all_words(amount: float, unit: str) -> str:
    """
    All there is of a limit.

    Examples
    --------
    >>> all_words(28.0, ""), all_words(4.0, "spots"), all_words(1.0, "spots"), all_words(1.0, "")
    ('all 28', 'all 4 spots', 'the only spot', 'the only one')
    """
    shown = amount_words(amount, unit)
    if shown in ("1", "1 spot"):
        return "the only spot" if unit else "the only one"
    return f"all {shown}"


def in_ten(chance: float) -> str:
    """
    A chance as people say it.

    Examples
    --------
    >>> in_ten(0.81), in_ten(0.999), in_ten(0.02), in_ten(0.97), in_ten(0.05)
    ('8 in 10', 'as good as sure', 'next to none', '97 in 100', '1 in 10')
    """
    if chance >= 0.995:
        return "as good as sure"
    if chance >= 0.95 or chance < 0.05:
        return f"{chance * 100:.0f} in 100" if chance >= 0.03 else "next to none"
    return f"{max(1.0, chance * 10):.0f} in 10"


def whom_words(serves: Iterable[Serve], *, most: int = 3) -> str:
    """`Copper Ladle 120 g on Fri 4 Dec and 2 more`: customers by day, those that get most first."""
    grams: dict[tuple[str, date], float] = {}
    trays: dict[tuple[str, date], int] = {}
    for one in serves:
        key = one.customer, one.due
        grams[key] = grams.get(key, 0.0) + one.grams
        trays[key] = trays.get(key, 0) + one.trays
    told = [
        f"{who} {counted(trays[who, due], 'live tray') if trays[who, due] else amount_words(grams[who, due], 'g')}"
        f" on {day_words(due)}"
        for who, due in sorted(grams, key=lambda key: (-trays[key], -grams[key], key[1], key[0]))
    ]
    return listed(told, most=most)
