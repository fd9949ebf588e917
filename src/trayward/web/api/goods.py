"""From the cold room to the customer: harvest lots and packs; packed, delivered, thrown away."""

from __future__ import annotations

from datetime import date
from typing import Annotated

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.farm.entries import LineDelivered
from trayward.farm.state import HarvestLot, PackLot
from trayward.web.api.farm import PageAsked, page_of
from trayward.web.api.operation import look, tell
from trayward.web.api.telling import Count, Grams, Name, Telling, Words
from trayward.web.ask import Ask


class HarvestPage(msgspec.Struct, frozen=True, kw_only=True):
    """Harvest lots of which something is left, the oldest first."""

    harvests: tuple[HarvestLot, ...]
    next: str | None


class PackPage(msgspec.Struct, frozen=True, kw_only=True):
    """Pack lots of which something is left, the oldest first."""

    packs: tuple[PackLot, ...]
    next: str | None


class Pack(Telling, frozen=True, kw_only=True):
    """Fill packs from harvest lots, oldest first unless named."""

    product: Name
    packs: Count
    pack_g: Annotated[float, msgspec.Meta(gt=0, le=1e5)] | None = None
    """Net weight of each; the product's, where it is left out. [g]"""
    parts: dict[Name, Grams] | None = None
    """Grams of each harvest lot over all packs. [g]"""
    best_before: date | None = None


class Deliver(Telling, frozen=True, kw_only=True):
    """A delivery, line by line."""

    customer: Name
    lines: Annotated[tuple[LineDelivered, ...], msgspec.Meta(min_length=1, max_length=500)]
    document: Words = ""


class DeliverDue(Telling, frozen=True, kw_only=True):
    """Deliver all that is due to a customer on a day, from what is packed and cut."""

    customer: Name
    day: date
    trays: tuple[Name, ...] = ()
    """Live trays that go out."""
    document: Words = ""


class ThrowAway(Telling, frozen=True, kw_only=True):
    """Cut crop that will not be sold."""

    parts: dict[Name, Grams] = msgspec.field(default_factory=dict)
    """Grams of each harvest lot. [g]"""
    packs: dict[Name, Count] = msgspec.field(default_factory=dict)
    """Packs of each pack lot."""
    reason: Annotated[Words, msgspec.Meta(min_length=1)]


def _harvests(ask: Ask, asked: PageAsked) -> HarvestPage:
    left = [(name, lot) for name, lot in ask.farm.state(ask.at).harvests.items() if lot.left_g > 0]
    page, following = page_of(left, asked.after, asked.limit)
    return HarvestPage(harvests=tuple(page), next=following)


def _packs(ask: Ask, asked: PageAsked) -> PackPage:
    left = [(name, lot) for name, lot in ask.farm.state(ask.at).packs.items() if lot.left > 0]
    page, following = page_of(left, asked.after, asked.limit)
    return PackPage(packs=tuple(page), next=following)


def _pack(ask: Ask, told: Pack, said: Said) -> Receipt:
    return ask.farm.pack(
        told.product, told.packs, pack_g=told.pack_g, parts=told.parts, best_before=told.best_before, **said
    )


def _deliver(ask: Ask, told: Deliver, said: Said) -> Receipt:
    return ask.farm.deliver(told.customer, told.lines, document=told.document, **said)


def _deliver_due(ask: Ask, told: DeliverDue, said: Said) -> Receipt:
    return ask.farm.deliver_due(told.customer, told.day, trays=told.trays, document=told.document, **said)


def _throw_away(ask: Ask, told: ThrowAway, said: Said) -> Receipt:
    return ask.farm.throw_away(told.parts, told.reason, packs=told.packs, **said)


DELIVERED = ("delivered",)
OPERATIONS = (
    look("/harvests", _harvests, HarvestPage, "goods", "Harvest lots in the cold room.", takes=PageAsked, steady=True),
    look("/packs", _packs, PackPage, "goods", "Pack lots.", takes=PageAsked, steady=True),
    tell("/pack", _pack, Pack, "goods", "Fill packs.", kinds=("packed",)),
    tell("/deliver", _deliver, Deliver, "goods", "Deliver, line by line.", kinds=DELIVERED),
    tell("/deliver/due", _deliver_due, DeliverDue, "goods", "Deliver all that is due on a day.", kinds=DELIVERED),
    tell("/throw-away", _throw_away, ThrowAway, "goods", "Throw cut crop away.", kinds=("thrown away",)),
)
