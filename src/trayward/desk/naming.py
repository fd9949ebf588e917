"""Short names that can be read aloud: a day and a letter, for sowings, harvest lots, packs and deliveries."""

from __future__ import annotations

import string
import uuid
from collections.abc import Container, Iterable
from datetime import date
from itertools import count

from trayward.desk.ports import Book
from trayward.farm.entries import (
    Body,
    Cut,
    Delivered,
    InvoiceCredited,
    InvoiceMade,
    OrderPlaced,
    Packed,
    RecallKept,
    SowingMade,
    SupplyReceived,
)


def letters(index: int) -> str:
    """A, B, ..., Z, AA, AB, ... for 0, 1, ..., 25, 26, 27, ..."""
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = string.ascii_uppercase[rest] + name
    return name


def next_name(day: date, taken: Container[str], prefix: str = "") -> str:
    """The first free name of a day, for instance `261125A`, or `H261125A` with the prefix `H`."""
    stem = f"{prefix}{day:%y%m%d}"
    return next(name for index in count() if (name := stem + letters(index)) not in taken)


def tray_names(sowing: str, trays: int) -> tuple[str, ...]:
    """Names of the trays of a sowing: `261125A.1`, `261125A.2`, ..."""
    return tuple(f"{sowing}.{number}" for number in range(1, trays + 1))


def new_entry_id() -> str:
    """A fresh entry id, unlike any other made on any device."""
    return uuid.uuid4().hex


class Taken(Container[str]):
    """The names of one kind that the book knows: `held` now, and any it ever mentions.

    The state alone would not do: a name of later today, or one that was struck or cancelled, would be given again.
    """

    def __init__(self, book: Book, kind: str, held: Container[str] = ()) -> None:
        self._book = book
        self._kind = kind
        self._held = held

    def __contains__(self, name: object) -> bool:
        return name in self._held or bool(self._book.about(f"{self._kind}:{name}"))


def names_made(bodies: Iterable[Body]) -> tuple[str, ...]:
    """The names that what was said has made: a sowing and its trays, a harvest lot, a pack lot, ..."""
    return tuple(name for body in bodies for name in _names_made(body))


def _names_made(body: Body) -> tuple[str, ...]:
    match body:
        case SowingMade(sowing=sowing, trays=trays):
            return (sowing, *(tray.tray for tray in trays))
        case Cut(harvest=harvest):
            return (harvest,)
        case Packed(pack=pack):
            return (pack,)
        case Delivered(delivery=delivery):
            return (delivery,)
        case OrderPlaced(order=order):
            return (order.order,)
        case InvoiceMade(bill=bill) | InvoiceCredited(bill=bill):
            return (bill.name,)
        case SupplyReceived(lot=lot):
            return (lot,)
        case RecallKept(recall=recall):
            return (recall.recall,)
    return ()
