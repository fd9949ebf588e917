"""Amounts of supplies, packs and what takes of them, as people type them."""

from __future__ import annotations

import re
from decimal import Decimal

from trayward.errors import InputError
from trayward.farm.supplies import OCCASIONS, PackPrice, SupplyUnit, TakenBy
from trayward.money.coins import money_of
from trayward.units import parse_mass, parse_volume, require_one_meaning

_FROM = re.compile(r"^(?P<pack>.+?)\s+(?P<price>[\d.,]+)(?:\s+(?:from|desde)\s+(?P<least>\d+))?$")
"""The page speaks Spanish too."""
_PIECES = re.compile(r"\s*(pieces?|pcs|stk)\s*$", re.IGNORECASE)


def typed_amount(text: str, unit: SupplyUnit, name: str = "amount") -> float:
    """
    An amount of a supply, in its unit; a bare number is in that unit too. [unit]

    Raises
    ------
    InputError
        If it is no amount of that kind.

    Examples
    --------
    >>> typed_amount("2.5 kg", "g"), typed_amount("500", "pieces")
    (2500.0, 500.0)
    """
    if unit == "g":
        return parse_mass(text, default="g", name=name)
    if unit == "ml":
        return parse_volume(text, default="ml", name=name)
    plain = _PIECES.sub("", text).strip()
    require_one_meaning(plain, name=name)
    try:
        found = float(plain.replace(",", "."))
    except ValueError:
        raise InputError(name, text.strip() or "nothing", "must be a number of pieces", "For instance 40.") from None
    if not 0 <= found < float("inf"):
        raise InputError(name, text.strip(), "must be 0 or more", "Check what was typed.")
    return found


def typed_pack(text: str, unit: SupplyUnit) -> PackPrice:
    """
    A pack, its price, and from so many packs on.

    Examples
    --------
    >>> typed_pack("1 kg 12.50 from 4", "g")
    PackPrice(size=1000.0, price=Decimal('12.50'), least=4)
    """
    found = _FROM.match(text.strip())
    if found is None:
        rule = "must be what a pack holds and its price"
        raise InputError("pack", text.strip() or "nothing", rule, "For instance 1 kg 14.00, or 1 kg 12.50 from 4.")
    size = typed_amount(found["pack"], unit, "pack")
    return PackPrice(size=size, price=money_of(found["price"], "price"), least=int(found["least"] or 1))


def typed_taken(text: str, unit: SupplyUnit) -> TakenBy:
    """
    What takes of a supply: the occasion, how much, and of what name alone.

    Examples
    --------
    >>> typed_taken("tray 120 g of coir", "g")
    TakenBy(of='tray', amount=120.0, name='coir')
    >>> typed_taken("pack 1", "pieces")
    TakenBy(of='pack', amount=1.0, name='')
    """
    word, _, rest = text.strip().partition(" ")
    amount, _, name = rest.partition(" of ")
    occasion = next((each for each in OCCASIONS if each == word.lower()), None)
    if occasion is None or not amount.strip():
        rule = f"begins with one of {', '.join(OCCASIONS)}, then says how much"
        remedy = "For instance tray 120 g, or pack 1 of radish box."
        raise InputError("takes", text.strip() or "nothing", rule, remedy)
    return TakenBy(of=occasion, amount=typed_amount(amount, unit), name=name.strip())


def typed_cost(text: str, name: str = "cost") -> Decimal | None:
    """What all of a delivery cost; None where nothing was typed. [currency]"""
    return money_of(text, name) if text.strip() else None
