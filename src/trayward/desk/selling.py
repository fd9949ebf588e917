"""Orders in, packs and deliveries out."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Unpack

import msgspec

from trayward.desk.core import DeskCore, Receipt, Said
from trayward.desk.lookup import trays_named
from trayward.desk.naming import next_name
from trayward.desk.ports import Book
from trayward.errors import InputError, NotFoundError
from trayward.farm.calendar import local_day
from trayward.farm.due import lines_due
from trayward.farm.entries import (
    CustomerSet,
    Delivered,
    LineDelivered,
    LotGrams,
    OrderCancelled,
    OrderChanged,
    OrderPlaced,
    PackCount,
    Packed,
    StandingOrderPaused,
    StandingOrderSet,
    ThrownAway,
)
from trayward.farm.orders import Customer, LineAsked, LineDue, Order, Pause, Product, StandingOrder
from trayward.farm.state import FarmState


class Selling(DeskCore):
    """Orders, standing orders, packing, delivering and throwing away."""

    def place_order(
        self,
        customer: str,
        due: date,
        lines: Sequence[LineAsked],
        *,
        order: str = "",
        note: str = "",
        source: str = "",
        **said: Unpack[Said],
    ) -> Receipt:
        """Somebody wants something on a day. `names` of the receipt holds the order."""
        state = self.state(said["at"])
        self._known_customer(state, customer)
        name = order or next_name(due, state.orders, "O")
        placed = Order(order=name, customer=customer, due=due, lines=tuple(lines), note=note, source=source)
        return self.record(OrderPlaced(order=placed), **said, names=(name,))

    def change_order(self, order: Order, **said: Unpack[Said]) -> Receipt:
        """The order is as said from now on."""
        return self.record(OrderChanged(order=order), **said, names=(order.order,))

    def cancel_order(self, order: str, reason: str = "", **said: Unpack[Said]) -> Receipt:
        """The order is off."""
        return self.record(OrderCancelled(order=order, reason=reason), **said)

    def set_standing(self, standing: StandingOrder, **said: Unpack[Said]) -> Receipt:
        """A repeating order is as said from now on."""
        self._known_customer(self.state(said["at"]), standing.customer)
        body = StandingOrderSet(standing=standing)
        return self.record(body, **said, names=(standing.standing,))

    def pause_standing(self, standing: str, first: date, last: date, **said: Unpack[Said]) -> Receipt:
        """No deliveries of a repeating order from `first` to `last`, both included."""
        if last < first:
            raise InputError("last day", last.isoformat(), f"it comes before the first, {first}", "Swap the two.")
        body = StandingOrderPaused(standing=standing, pause=Pause(first=first, last=last))
        return self.record(body, **said)

    def end_standing(self, standing: str, **said: Unpack[Said]) -> Receipt:
        """A repeating order comes to its end: nothing more is due for it."""
        held = self.state(said["at"]).standing
        if standing not in held:
            raise NotFoundError(
                "standing order", standing, tuple(held), "See them with: trayward order list --standing"
            )
        ended = msgspec.structs.replace(held[standing], ended=True)
        return self.record(StandingOrderSet(standing=ended), **said, names=(standing,))

    def set_customer(self, customer: Customer, **said: Unpack[Said]) -> Receipt:
        """A customer is as said from now on."""
        return self.record(CustomerSet(customer=customer), **said, names=(customer.name,))

    def due(self, first: date, last: date, *, at: datetime) -> list[LineDue]:
        """Order lines due from one day to another, standing orders spelt out."""
        return lines_due(self.state(at), first, last)

    def pack(
        self,
        product: str,
        packs: int,
        *,
        pack_g: float | None = None,
        parts: Mapping[str, float] | None = None,
        best_before: date | None = None,
        **said: Unpack[Said],
    ) -> Receipt:
        """Fill packs from harvest lots, oldest first unless `parts` names them (grams in all). [g]

        Returns
        -------
        Receipt
            `names` holds the pack lot.
        """
        state = self.state(said["at"])
        made = state.products.get(product) or Product(name=product, parts=())
        net = pack_g if pack_g is not None else made.pack_g
        if net is None or net <= 0 or packs < 1:
            raise InputError(
                "pack", f"{packs} of {net}", "both must be more than 0", "Say how many and their net weight.", "g"
            )
        lots = dict(parts) if parts else oldest_lots(state, made, net * packs)
        taken = tuple(LotGrams(harvest=lot, grams=grams) for lot, grams in lots.items())
        name = next_name(local_day(said["at"], self.settings(said["at"])), state.packs, "P")
        body = Packed(
            pack=name,
            product=product,
            packs=packs,
            pack_g=net,
            parts=taken,
            best_before=best_before or keeps_until(state, lots),
        )
        return self.record(body, **said, names=(name,))

    def deliver(
        self, customer: str, lines: Sequence[LineDelivered], *, document: str = "", **said: Unpack[Said]
    ) -> Receipt:
        """A delivery to a customer, line by line. `names` of the receipt holds the delivery."""
        state = self.state(said["at"])
        self._known_customer(state, customer)
        name = next_name(local_day(said["at"], self.settings(said["at"])), _Deliveries(self.book), "D")
        body = Delivered(delivery=name, customer=customer, lines=tuple(lines), document=document)
        return self.record(body, **said, names=(name,))

    def deliver_due(
        self, customer: str, day: date, *, trays: Sequence[str] = (), document: str = "", **said: Unpack[Said]
    ) -> Receipt:
        """Deliver everything due to a customer on a day, from what is packed and cut; live trays are named.

        Raises
        ------
        InputError
            If nothing is due, or there is nothing to deliver.
        """
        state = self.state(said["at"])
        due = [line for line in lines_due(state, day, day) if line.customer == customer]
        if not due:
            remedy = "See what is due with: trayward order list"
            raise InputError("delivery", f"{customer} on {day}", "nothing is due", remedy)
        named = [tray.tray for tray in trays_named(state, trays)] if trays else []
        lines = fill_lines(state, due, named)
        if not lines:
            remedy = "Cut and pack first, or name what goes out."
            raise InputError("delivery", f"{customer} on {day}", "there is nothing cut or packed for it", remedy)
        return self.deliver(customer, lines, document=document, **said)

    def throw_away(
        self, parts: Mapping[str, float], reason: str, *, packs: Mapping[str, int] | None = None, **said: Unpack[Said]
    ) -> Receipt:
        """Cut crop that will not be sold: grams of each harvest lot [g], and packs of each pack lot."""
        lots = tuple(LotGrams(harvest=lot, grams=grams) for lot, grams in parts.items())
        counts = tuple(PackCount(pack=pack, packs=number) for pack, number in (packs or {}).items())
        return self.record(ThrownAway(parts=lots, packs=counts, reason=reason), **said)

    @staticmethod
    def _known_customer(state: FarmState, customer: str) -> None:
        if customer not in state.customers:
            remedy = "Add one with: trayward order customer"
            raise NotFoundError("customer", customer, tuple(state.customers), remedy)


class _Deliveries(Container[object]):
    """The names of deliveries the book holds, looked up one by one."""

    def __init__(self, book: Book) -> None:
        self._book = book

    def __contains__(self, name: object) -> bool:
        return bool(self._book.about(f"delivery:{name}"))


def oldest_lots(state: FarmState, product: Product, grams: float) -> dict[str, float]:
    """Harvest lots to take `grams` of a product from: each crop its share, oldest cut first. [g]

    Raises
    ------
    InputError
        If the cold room does not hold enough of a crop.
    """
    taken: dict[str, float] = {}
    shares = {part.crop: part.share for part in product.parts} or {product.name: 1.0}
    for crop, share in shares.items():
        taken |= _oldest_of(state, crop, grams * share)
    return taken


def _oldest_of(state: FarmState, crop: str, grams: float) -> dict[str, float]:
    lots = sorted(
        (lot for lot in state.harvests.values() if lot.crop == crop), key=lambda lot: (lot.cut_at, lot.harvest)
    )
    taken: dict[str, float] = {}
    for lot in lots:
        part = min(lot.left_g, grams - sum(taken.values()))
        if part > 0.005:
            taken[lot.harvest] = round(part, 3)
    held = sum(lot.left_g for lot in lots)
    if held < grams - 0.01:
        raise InputError(f"cut {crop}", f"{held:.0f}", f"this takes {grams:.0f} g", "Cut more, or pack fewer.", "g")
    return taken


def keeps_until(state: FarmState, lots: Mapping[str, float]) -> date | None:
    """The last good day of what is made from these lots: the first of theirs, by the recipe's cold-room life."""
    days = [
        (lot.cut_at + timedelta(days=lot.cold_room_days)).date()
        for name in lots
        if (lot := state.harvests.get(name)) is not None
    ]
    return min(days) if days else None


def fill_lines(state: FarmState, due: Sequence[LineDue], trays: Sequence[str]) -> list[LineDelivered]:
    """What goes out for each line: packs of its product first, then loose grams, oldest first; live trays as named."""
    packs_left = {name: lot.left for name, lot in sorted(state.packs.items()) if lot.left > 0}
    loose_left = {name: lot.left_g for name, lot in state.harvests.items() if lot.left_g > 0.05}
    trays_left = list(trays)
    filled: list[LineDelivered] = []
    for line in due:
        if line.live:
            mine = _matching_trays(state, line, trays_left)
            made = LineDelivered(line=line.line, trays=tuple(mine))
        else:
            made = _fill_cut_line(state, line, packs_left, loose_left)
        if made.packs or made.loose or made.trays:
            filled.append(made)
    return filled


def _matching_trays(state: FarmState, line: LineDue, trays_left: list[str]) -> list[str]:
    crops = {part.crop for part in line.parts}
    fitting = [name for name in trays_left if (tray := state.tray(name)) is not None and tray.crop in crops]
    mine = fitting[: max(line.trays - line.done_trays, 0)]
    for name in mine:
        trays_left.remove(name)
    return mine


def _fill_cut_line(
    state: FarmState, line: LineDue, packs_left: dict[str, int], loose_left: dict[str, float]
) -> LineDelivered:
    wanted = line.grams - line.done_g
    packs: list[PackCount] = []
    for name in list(packs_left):
        lot = state.packs[name]
        fits = lot.product == line.product and (line.pack_g is None or abs(lot.pack_g - line.pack_g) < 0.5)
        count = min(packs_left[name], int((wanted + 0.01) // lot.pack_g)) if fits else 0
        if count > 0:
            packs.append(PackCount(pack=name, packs=count))
            packs_left[name] -= count
            wanted -= count * lot.pack_g
    loose: list[LotGrams] = []
    # A line asked for in packs goes out in packs; loose grams fill only what was asked for by weight.
    if line.pack_g is None and wanted > 0.05:
        loose = _loose_for(state, line, wanted, loose_left)
    return LineDelivered(line=line.line, packs=tuple(packs), loose=tuple(loose))


def _loose_for(state: FarmState, line: LineDue, wanted: float, loose_left: dict[str, float]) -> list[LotGrams]:
    held = {
        part.crop: sum(left for name, left in loose_left.items() if state.harvests[name].crop == part.crop)
        for part in line.parts
    }
    # A mix goes out in its shares: the scarcest part decides how much of the whole can.
    whole = min([wanted, *(held[part.crop] / part.share for part in line.parts if part.share > 0)])
    loose: list[LotGrams] = []
    for part in line.parts:
        need = whole * part.share
        for name in sorted(loose_left, key=lambda lot: (state.harvests[lot].cut_at, lot)):
            take = min(loose_left[name], need) if state.harvests[name].crop == part.crop else 0.0
            if take > 0.005:
                loose.append(LotGrams(harvest=name, grams=round(take, 3)))
                loose_left[name] -= take
                need -= take
    return loose
