"""A row's amounts in words, in the farm's units: what to measure out now, what from then on, and the kit to fetch."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import msgspec

from trayward.farm.settings import ShownUnits
from trayward.rounds.amounts import COVER_WEIGHT, CUT, IF_YES
from trayward.rounds.types import Amount
from trayward.rounds.words import amount_of, likely_weight, sentences
from trayward.units import show_length, show_mass, show_temperature, show_volume
from trayward.words import listed

SHOWN: dict[str, Callable[[float, ShownUnits], str]] = {
    "g": lambda value, units: show_mass(value, units.mass),
    "ml": lambda value, units: show_volume(value, units.volume),
    "mm": lambda value, units: show_length(value, units.length),
    "C": lambda value, units: show_temperature(value, units.temperature),
}
"""How an amount of some unit is shown in the farm's own."""

EXPECT = "expect"
SEED = "seed"
SPOON = "tbsp"
LOT = "of lot "
KIT = "kit: "


def amounts_words(amounts: Iterable[Amount], units: ShownUnits) -> str:
    """
    All of a row's amounts, as few sentences as they take.

    The height of a cut is left out: what the row says to do has it.
    """
    told = [amount for amount in amounts if amount.what != CUT]
    kit = [amount for amount in told if amount.what.startswith(KIT)]
    later = [amount for amount in told if amount.what.startswith(IF_YES)]
    lots = [amount for amount in told if amount.what.startswith(LOT)]
    seed = [amount for amount in told if amount.what.startswith(SEED) and amount.unit != SPOON]
    spoon = [amount for amount in told if amount.unit == SPOON]
    now = [amount for amount in told if amount not in (*kit, *later, *lots, *seed, *spoon)]
    then = [msgspec.structs.replace(amount, what=amount.what.removeprefix(IF_YES)) for amount in later]
    pieces = [f"{amount.value:g} x {amount.what.removeprefix(KIT)}" for amount in kit]
    return sentences(
        ", ".join(part for part in (_joined(seed, units), _lots_words(lots, units)) if part),
        f"without a scale {spoon[0].value:g} level tablespoons a tray" if spoon else "",
        _joined(now, units),
        f"from then on: {_joined(then, units)}" if then else "",
        f"kit: {', '.join(pieces)}" if pieces else "",
    )


def _joined(amounts: Iterable[Amount], units: ShownUnits) -> str:
    return "; ".join(amount_words(amount, units) for amount in amounts)


def _lots_words(lots: list[Amount], units: ShownUnits) -> str:
    """Which lots the seed comes from; how much of each where there are several."""
    names = [amount.what.removeprefix(LOT) for amount in lots]
    if len(lots) < 2:
        return f"from lot {names[0]}" if lots else ""
    return f"from lots {listed(f'{name}, {amount_value(lot, units)}' for name, lot in zip(names, lots, strict=True))}"


def amount_words(amount: Amount, units: ShownUnits) -> str:
    """An amount in the farm's unit, with what it is for."""
    if amount.unit == "pH":
        return f"{amount.what} {amount.note}"
    each = " a tray" if amount.each else ""
    return f"{amount.what} {amount_value(amount, units)}{each}" + (f", {amount.note}" if amount.note else "")


def amount_value(amount: Amount, units: ShownUnits) -> str:
    """How much, in the farm's unit."""
    if amount.what.startswith(EXPECT):
        return likely_weight(amount.value, units.mass)
    if amount.unit in ("pieces", "pH"):
        return f"{amount.value:g}"
    if amount.what == COVER_WEIGHT and units.mass == "g":
        return amount_of(amount.value, "g")  # What is laid on, not weighed: 2.3 kg, as the recipe's own words say.
    show = SHOWN.get(amount.unit)
    return show(amount.value, units) if show else f"{amount.value:g} {amount.unit}"
