"""Names: short ones made by the farm, a day and a letter, that can be read aloud; and what no name given may be."""

from __future__ import annotations

import string
import uuid
from collections.abc import Container, Iterable, Mapping, Sequence
from datetime import date
from itertools import count

from trayward.desk.ports import Book
from trayward.errors import InputError
from trayward.farm.entries import (
    Body,
    CropFactSet,
    CustomerSet,
    Cut,
    Delivered,
    InvoiceCredited,
    InvoiceMade,
    KitMarked,
    KitSet,
    OrderChanged,
    OrderPlaced,
    Packed,
    PlaceSet,
    ProductSet,
    RecallKept,
    RecipeSet,
    SeedReceived,
    SensorSet,
    SowingMade,
    StandingOrderSet,
    SupplyReceived,
    SupplySet,
    TrialSet,
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


# Names that people give -----------------------------------------------------------------------------------------------


def require_names(bodies: Iterable[Body]) -> None:
    """Raise `InputError` where something would be kept under no name: it could never be asked for again."""
    for body in bodies:
        for kind, name in _names_given(body):
            if not name.strip():
                raise InputError(kind, "nothing", "it has to be some words", "Give it a name.")


def _names_given(body: Body) -> Sequence[tuple[str, str]]:
    match body:
        case CustomerSet(customer=customer):
            return (("customer", customer.name),)
        case KitSet(pool=pool):
            return (("kit", pool.name),)
        case KitMarked(marks=marks):
            return [("mark", mark) for mark in marks]
        case PlaceSet(shelf=shelf):
            return (("shelf", shelf.name),)
        case ProductSet(product=product):
            return (("product", product.name),)
        case RecipeSet(recipe=recipe):
            return (("recipe", recipe.name), ("crop", recipe.crop))
        case CropFactSet(crop=crop, name=name):
            return (("crop", crop), ("figure", name))
        case SeedReceived(lot=lot, crop=crop):
            return (("lot", lot), ("crop", crop))
        case SupplySet(supply=supply):
            return (("supply", supply.name),)
        case SensorSet(sensor=sensor):
            return (("sensor", sensor.name),)
        case TrialSet(trial=trial):
            return (("trial", trial.name),)
        case OrderPlaced(order=order) | OrderChanged(order=order):
            return (("order", order.order), *(("line", line.line) for line in order.lines))
        case StandingOrderSet(standing=standing):
            return (("standing order", standing.standing), *(("line", line.line) for line in standing.lines))
    return [(_KIND_OF[type(body)], name) for name in _names_made(body)[:1]] if type(body) in _KIND_OF else ()


_KIND_OF: Mapping[type[Body], str] = {SowingMade: "sowing", SupplyReceived: "lot", RecallKept: "recall"}


def require_told_apart(kind: str, name: str, known: Iterable[str]) -> None:
    """Raise `InputError` where a new name is another's but for capitals, blanks or an s at its end."""
    names = tuple(known)
    if name in names:
        return
    meant = next((one for one in names if _bare(one) == _bare(name)), None)
    if meant is not None:
        rule = f"it is hardly told from {meant}"
        raise InputError(kind, name, rule, f"Say {meant}, or take a name that differs more.")


def _bare(name: str) -> str:
    return " ".join(name.casefold().split()).removesuffix("s")
