"""Supplies other than seed, and what to order of them and of seed, for programs."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.desk.reorder.advice import Advice
from trayward.farm.supplies import (
    Occasion,
    Offer,
    PackPrice,
    Supply,
    SupplyHeld,
    SupplyKind,
    SupplyUnit,
    TakenBy,
)
from trayward.web.api.operation import Nothing, look, tell
from trayward.web.api.telling import Name, Telling, Words
from trayward.web.ask import Ask

Amount = Annotated[float, msgspec.Meta(ge=0, le=1e9)]
Cost = Annotated[str, msgspec.Meta(pattern=r"^[0-9]{1,7}(\.[0-9]{1,6})?$")]
"""An amount of money in text, so that no digit is lost: `3.40`. [farm's currency]"""


class SupplyPage(msgspec.Struct, frozen=True, kw_only=True):
    """Every supply with its deliveries and counts, and what suppliers ask."""

    supplies: tuple[SupplyHeld, ...]
    offers: tuple[Offer, ...]


class OrderPage(msgspec.Struct, frozen=True, kw_only=True):
    """What is there, how long it lasts, when to order and how much: seed of every crop and every supply."""

    order: tuple[Advice, ...]


class TakenTold(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How much one tray, pack, litre of feed or piece of kit takes, in the supply's unit."""

    of: Occasion
    amount: Annotated[float, msgspec.Meta(gt=0, le=1e6)]
    name: Words = ""
    """A recipe or its medium, a product, a feed, a pool or an agent; empty: any."""


class PackTold(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A pack in the supply's unit (seed in g), its price, and from so many packs on."""

    size: Annotated[float, msgspec.Meta(gt=0, le=1e9)]
    price: Cost
    least: Annotated[int, msgspec.Meta(ge=1, le=1_000_000)] = 1


class SetSupply(Telling, frozen=True, kw_only=True):
    """A supply is as said from now on, whole."""

    supply: Name
    kind: SupplyKind = "other"
    unit: SupplyUnit = "pieces"
    taken: Annotated[tuple[TakenTold, ...], msgspec.Meta(max_length=20)] = ()
    keep: Amount = 0.0
    """The least that should be there."""
    surely: Annotated[float, msgspec.Meta(ge=0.5, le=0.999)] = 0.95
    """In what share of cases it is to last until a delivery. [-]"""
    keeps_days: Annotated[int, msgspec.Meta(ge=1, le=36_500)] | None = None
    valued: Literal["average", "lots"] = "average"
    dropped: bool = False


class SetOffer(Telling, frozen=True, kw_only=True):
    """What a supplier asks for a supply, or for seed of a crop, whole."""

    thing: Name
    seed: bool = False
    supplier: Name
    packs: Annotated[tuple[PackTold, ...], msgspec.Meta(min_length=1, max_length=30)]
    lead_days: Annotated[float, msgspec.Meta(ge=0, le=365)] = 7.0
    delivery: Cost = "0"
    dropped: bool = False


class ReceiveSupply(Telling, frozen=True, kw_only=True):
    """A delivery of a supply, here now or on order for a day. `amount` is in the supply's unit."""

    supply: Name
    amount: Amount
    lot: Words = ""
    best_before: date | None = None
    cost: Cost | None = None
    """Of all of it. [farm's currency]"""
    supplier: Words = ""
    supplier_lot: Words = ""
    document: Words = ""
    expected_on: date | None = None


class TakeSupply(Telling, frozen=True, kw_only=True):
    """Some of a supply was used, beside what the book takes off by itself. `amount` is in the supply's unit."""

    supply: Name
    amount: Amount
    lot: Words = ""
    reason: Words = ""


class ThrowSupply(Telling, frozen=True, kw_only=True):
    """Some of a supply was thrown away. `amount` is in the supply's unit."""

    supply: Name
    amount: Amount
    reason: Annotated[Words, msgspec.Meta(min_length=1)]
    lot: Words = ""


class CountSupply(Telling, frozen=True, kw_only=True):
    """What there is of a supply in all, or of one delivery; it holds from now on. `amount` is in the supply's unit."""

    supply: Name
    amount: Amount
    lot: Words = ""
    reason: Words = ""


def _supplies(ask: Ask, _: Nothing) -> SupplyPage:
    state = ask.farm.state(ask.at)
    return SupplyPage(supplies=tuple(state.supplies.values()), offers=tuple(state.offers.values()))


def _order(ask: Ask, _: Nothing) -> OrderPage:
    return OrderPage(order=ask.farm.order_advice(ask.at))


def _set(ask: Ask, told: SetSupply, said: Said) -> Receipt:
    supply = Supply(
        name=told.supply, kind=told.kind, unit=told.unit, keep=told.keep, surely=told.surely, valued=told.valued,
        keeps_days=told.keeps_days,
        taken=tuple(TakenBy(of=each.of, amount=each.amount, name=each.name) for each in told.taken),
    )  # fmt: skip
    return ask.farm.set_supply(supply, dropped=told.dropped, **said)


def _offer(ask: Ask, told: SetOffer, said: Said) -> Receipt:
    offer = Offer(
        thing=told.thing, seed=told.seed, supplier=told.supplier, lead_days=told.lead_days,
        delivery=Decimal(told.delivery),
        packs=tuple(PackPrice(size=each.size, price=Decimal(each.price), least=each.least) for each in told.packs),
    )  # fmt: skip
    return ask.farm.set_offer(offer, dropped=told.dropped, **said)


def _receive(ask: Ask, told: ReceiveSupply, said: Said) -> Receipt:
    return ask.farm.receive_supply(
        told.supply, told.amount, lot=told.lot, best_before=told.best_before,
        cost=None if told.cost is None else Decimal(told.cost), supplier=told.supplier,
        supplier_lot=told.supplier_lot, document=told.document, expected_on=told.expected_on, **said,
    )  # fmt: skip


def _use(ask: Ask, told: TakeSupply, said: Said) -> Receipt:
    return ask.farm.use_supply(told.supply, told.amount, told.reason, lot=told.lot, **said)


def _throw(ask: Ask, told: ThrowSupply, said: Said) -> Receipt:
    return ask.farm.throw_supply(told.supply, told.amount, told.reason, lot=told.lot, **said)


def _count(ask: Ask, told: CountSupply, said: Said) -> Receipt:
    return ask.farm.count_supply(told.supply, told.amount, told.reason, lot=told.lot, **said)


OPERATIONS = (
    look("/supplies", _supplies, SupplyPage, "stores", "Supplies other than seed, and what suppliers ask."),
    look("/stores/order", _order, OrderPage, "stores", "What is there, when to order and how much."),
    tell("/supplies/set", _set, SetSupply, "stores", "A supply is set up.", may="run", kinds=("supply set",)),
    tell("/supplies/offers", _offer, SetOffer, "stores", "What a supplier asks.", may="run", kinds=("offer set",)),
    tell("/supplies/receive", _receive, ReceiveSupply, "stores", "A supply received or on order.", may="run",
         kinds=("supply received",)),
    tell("/supplies/use", _use, TakeSupply, "stores", "Some of a supply was used.", kinds=("supply used",)),
    tell("/supplies/throw", _throw, ThrowSupply, "stores", "Some of a supply was thrown away.",
         kinds=("supply thrown away",)),
    tell("/supplies/count", _count, CountSupply, "stores", "What there is of a supply, as counted.",
         kinds=("supply counted",)),
)  # fmt: skip
