"""What a setup file says of supplies: what they are, what takes of them, what is there, and what suppliers ask."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from decimal import Decimal
from typing import Literal, TypeVar, cast

import msgspec

from trayward.desk.setup.model import parse_days
from trayward.desk.setup.orders import Grown, check_crop
from trayward.desk.setup.table import Table
from trayward.desk.stores_typed import typed_amount, typed_pack, typed_taken
from trayward.errors import InputError
from trayward.farm.entries import Body, OfferSet, SupplyReceived, SupplySet
from trayward.farm.supplies import (
    SUPPLY_KINDS,
    SUPPLY_UNITS,
    Offer,
    PackPrice,
    Supply,
    SupplyKind,
    SupplyUnit,
    TakenBy,
)
from trayward.money.coins import money_of
from trayward.units import parse_share

T = TypeVar("T")
VALUED = ("average", "lots")
MOST = 1e9
"""More than this of a supply is a slip of the pen. [unit]"""
MOST_MONEY = 1e7
LONGEST_DAYS, LONGEST_LEAD = 36_500.0, 365.0


def read_supplies(root: Table, grown: Grown) -> tuple[Body, ...]:
    """The `[[supply]]` tables with their lots and offers, then the `[[seed_offer]]` tables."""
    told = [_supply(table) for table in root.tables("supply")]
    offers = [_seed_offer(table, grown) for table in root.tables("seed_offer")]
    _refuse_two(root.tables("seed_offer"), ("crop", "supplier"), "supplier")
    supplies, lots, asked = zip(*told, strict=True) if told else ((), (), ())
    return (
        *(SupplySet(supply=supply) for supply in supplies),
        *(OfferSet(offer=offer) for offer in (*(each for group in asked for each in group), *offers)),
        *(lot for group in lots for lot in group),
    )


def _supply(table: Table) -> tuple[Supply, list[SupplyReceived], list[Offer]]:
    name = table.text("name", None, remedy="Name it as on its pack.")
    unit = cast("SupplyUnit", table.choice("unit", SUPPLY_UNITS, "pieces"))
    read = _Reader(unit if table.raw("unit") in (None, *SUPPLY_UNITS) else None)
    supply = Supply(
        name=name,
        kind=cast("SupplyKind", table.choice("kind", SUPPLY_KINDS, "other")),
        unit=unit,
        taken=tuple(_read_each(table, "takes", read.taken)),
        keep=table.amount("keep", read.amount, unit, 0.0, high=MOST),
        surely=table.amount("surely", parse_share, "as a share", 0.95, low=0.5, high=0.999),
        keeps_days=_whole_days(table, "keeps") if table.has("keeps") else None,
        valued=cast("Literal['average', 'lots']", table.choice("valued", VALUED, "average")),
    )
    lots = [_lot(each, name, unit, read) for each in table.tables("lot")]
    offers = [_asked(each, Offer(thing=name, supplier="", packs=()), read) for each in table.tables("offer")]
    for key, label in (("lot", "lot"), ("offer", "supplier")):
        _refuse_two(table.tables(key), (label,), label)
    table.finish()
    return supply, lots, offers


class _Reader:
    """
    Reads amounts in the unit of one supply.

    Where that unit could not be read itself, whatever is an amount of any unit passes: it is one mistake, not ten.
    """

    def __init__(self, unit: SupplyUnit | None) -> None:
        self.units = SUPPLY_UNITS if unit is None else (unit,)

    def amount(self, text: str) -> float:
        """An amount. [unit]"""
        return self._first(typed_amount, text)

    def taken(self, text: str) -> TakenBy:
        """What takes of it."""
        found = self._first(typed_taken, text)
        if found.amount <= 0:
            raise InputError("takes", text, "must take more than nothing", "For instance tray 120 g, or pack 1.")
        return found

    def pack(self, text: str) -> PackPrice:
        """A pack and its price."""
        found = self._first(typed_pack, text)
        if found.size <= 0 or found.least < 1:
            raise InputError("packs", text, "must hold more than nothing, from 1 pack on", "For instance 1 kg 14.00.")
        return found

    def _first(self, read: Callable[[str, SupplyUnit], T], text: str) -> T:
        for unit in self.units[:-1]:
            with suppress(InputError):
                return read(text, unit)
        return read(text, self.units[-1])


def _read_each(table: Table, key: str, read: Callable[[str], T]) -> Iterator[T]:
    """Each of a list of words as `read` understands it; what it does not is noted."""
    for words in table.texts(key):
        try:
            yield read(words)
        except InputError as error:
            table.wrong(key, error.rule, error.remedy, words)


def _whole_days(table: Table, key: str) -> int:
    days = table.amount(key, parse_days, "days", low=1.0, high=LONGEST_DAYS)
    if days != round(days):
        table.wrong(key, "must be whole days", 'Write for instance "365 d".')
    return round(days)


def _lot(table: Table, supply: str, unit: SupplyUnit, read: _Reader) -> SupplyReceived:
    lot = SupplyReceived(
        supply=supply,
        lot=table.text("lot", None, remedy="Give the delivery a name of your own."),
        amount=table.amount("amount", read.amount, unit, high=MOST),
        unit=unit,
        best_before=table.day("best_before", needed=False),
        cost=_money(table, "cost"),
        supplier=table.text("supplier"),
        supplier_lot=table.text("supplier_lot"),
        document=table.text("document"),
        expected_on=table.day("expected", needed=False),
    )
    if table.has("amount") and not lot.amount:
        table.wrong("amount", "must be more than 0", "Leave out a delivery of which nothing is left.")
    table.finish()
    return lot


# What suppliers ask ---------------------------------------------------------------------------------------------------


def _seed_offer(table: Table, grown: Grown) -> Offer:
    crop = table.text("crop", None, remedy="Name the crop.")
    check_crop(table, "crop", crop, grown)
    return _asked(table, Offer(thing=crop, seed=True, supplier="", packs=()), _Reader("g"))


def _asked(table: Table, offer: Offer, read: _Reader) -> Offer:
    told = msgspec.structs.replace(
        offer,
        supplier=table.text("supplier", None, remedy="Name who sells it."),
        packs=tuple(_read_each(table, "packs", read.pack)),
        lead_days=table.amount("lead", parse_days, "days", 7.0, high=LONGEST_LEAD),
        delivery=_money(table, "delivery") or Decimal(0),
    )
    if not table.has("packs"):
        table.missing("packs", 'Say what a pack holds and its price: packs = ["1 kg 14.00"].')
    elif not told.packs and not table.raw("packs"):
        table.wrong("packs", "an offer has a pack and a price", 'Write for instance ["1 kg 14.00"].')
    table.finish()
    return told


def _money(table: Table, key: str) -> Decimal | None:
    """An amount of money to its last digit, as a number or in quotes; None where it is not said. [currency]"""
    if not table.has(key):
        return None
    value = table.raw(key)
    words = value if isinstance(value, str) else repr(value)
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        table.wrong(key, "must be an amount of money", "Write for instance 31.00.")
        return None
    try:
        found = money_of(words, key)
    except InputError as error:
        table.wrong(key, error.rule, error.remedy)
        return None
    if found > Decimal(MOST_MONEY):
        table.wrong(key, f"must lie in [0, {MOST_MONEY:.0f}]", "Check what was typed.")
    return found


def _refuse_two(tables: list[Table], keys: tuple[str, ...], label: str) -> None:
    """Two tables that say the same of all of `keys`: the second would quietly take the place of the first."""
    seen: set[tuple[object, ...]] = set()
    for table in tables:
        named = tuple(str(table.values.get(key)) for key in keys)
        if named in seen and label in table.values:
            table.wrong(label, "another one has that name", "Give each its own name, or say it once.")
        seen.add(named)
